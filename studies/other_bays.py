"""Bays of a row that no limit looks at: what a section would break there."""

from dataclasses import replace

import numpy as np

from longvault.constraints.plates_row import Bay
from longvault.constraints.proof import proof_limits
from longvault.studies.checked import Checked, LimitRow, limit_rows

IN_A_ROW: tuple[Bay, ...] = ("interior", "end")


def broken_elsewhere(checked: Checked) -> dict[Bay, tuple[LimitRow, ...]]:
    """Limits of the folded plate that the section breaks in bays the brief does not prove, the worst first.

    A bay between neighbours is held by them; the end bay of the same row has one neighbour only, and may
    need edge members of its own.
    """
    proving = checked.proving
    if proving is None:
        return {}
    found: dict[Bay, tuple[LimitRow, ...]] = {}
    for bay in IN_A_ROW:
        if bay in checked.proved_bays or bay not in checked.plates:
            continue
        measures = dict(checked.measures) | dict(checked.plates[bay])
        limits = proof_limits(checked.basis, replace(proving, bays=(bay,)))
        margins = [float(limit.margin({k: np.array(v) for k, v in measures.items()})) for limit in limits]
        rows = limit_rows(limits, measures, margins, -1)
        broken = sorted((row for row in rows if not row.holds), key=lambda row: -row.margin)
        if broken:
            found[bay] = tuple(broken)
    return found


def other_bay_lines(checked: Checked) -> tuple[str, ...]:
    """Say it, a sentence a bay."""
    judged = " and ".join(checked.proved_bays)
    lines = []
    for bay, rows in broken_elsewhere(checked).items():
        words = ", ".join(f"{row.limit.title.split(',')[0]} x{row.margin + 1.0:.2g}" for row in rows)
        lines.append(
            f"The {bay} bay of the same row would not hold: {words} of what is allowed. The limits look at "
            f"the {judged} bay; the {bay} bay needs edge members or a section of its own (proved_bays in the "
            "brief)."
        )
    return tuple(lines)
