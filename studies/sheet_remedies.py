"""The price of a remedy on the sheet: what brings failing folded-plate limits back, in concrete and steel."""

import math
from dataclasses import replace
from typing import Any

from longvault.constraints.remedies import Remedy, remedies
from longvault.studies.checked import Checked
from longvault.studies.sheet_limits import percent
from longvault.studies.sheet_table import SheetTable

NOTE = (
    "Each kind at the least size tried that mends the folded-plate limits which fail, else at the largest. "
    "Own weight counted; edge members 0.20 m thick, at both outer edges. Concrete per plan area; steel: main "
    "steel by the folded plate, and what struts or collars need to be that stiff; their push at mid-span, "
    "ultimate. Cost by the prices of the brief. Limits named "
    "last still fail, of any kind."
)


def remedies_of(checked: Checked) -> tuple[Remedy, ...]:
    """Remedies of a checked section; empty where no folded-plate limit fails, or none was looked at."""
    plates = ("plate-", "transverse", "slot-movement", "buckling")
    failing = any(not row.holds and row.limit.key.startswith(plates) for row in checked.rows)
    if checked.proving is None or not failing:
        return ()
    return remedies(checked.section, checked.basis, replace(checked.proving, bays=checked.proved_bays))


def remedies_table(found: tuple[Remedy, ...], spacing: float = 3.0) -> SheetTable:
    """One row a kind of remedy; struts and collars stand ``spacing`` [m] apart."""
    rows = tuple(
        (
            one.what,
            one.size + _pushed(one.push, spacing),
            "mends" if one.mends else "does not mend",
            percent(one.worst),
            f"{one.concrete * 1e3:+.1f} mm",
            f"{one.steel:+.1f} kg/m²",
            f"{one.cost:+.1f}",
            ", ".join(one.left) or "none",
        )
        for one in found
    )
    header = (
        "remedy",
        "size",
        "",
        "worst folded-plate margin",
        "concrete",
        "steel",
        "cost per m²",
        "still failing",
    )
    return SheetTable("What would mend it", header, rows, (NOTE,), words=(0, 2, 7))


def _pushed(push: float, spacing: float) -> str:
    if not push:
        return ""
    return f", {push / 1e3:.1f} kN/m, {push * spacing / 1e3:.1f} kN each at {spacing:g} m"


def remedies_document(found: tuple[Remedy, ...]) -> list[dict[str, Any]]:
    """Return the same as JSON objects."""
    return [
        {
            "remedy": one.what,
            "size": one.size,
            "mends": one.mends,
            "worst_margin": one.worst,
            "concrete_mm": one.concrete * 1e3,
            "steel_kg_m2": one.steel,
            "cost_per_m2": one.cost if math.isfinite(one.cost) else None,
            "strut_push_kN_m": one.push / 1e3,
            "still_failing": list(one.left),
        }
        for one in found
    ]
