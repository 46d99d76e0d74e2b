"""Support forces of a taper on the sheet: push and pull of every support, each with its sum."""

from collections.abc import Iterator

import numpy as np

from longvault.constraints.actions import EQUILIBRIUM, ULTIMATE
from longvault.constraints.member_along import Along
from longvault.sections.symbols import Array
from longvault.studies.checked import Checked
from longvault.studies.sheet_effects import STATE_WORDS
from longvault.studies.sheet_table import KN, SheetTable, digits, kilo

Extreme = tuple[float, str]
"""A reaction [N], and its combination with the sum it comes from."""


def supports_table(checked: Checked) -> SheetTable:
    """List the least and the largest reaction of each support of a taper, the one that lifts most first."""
    if checked.member is None:
        raise ValueError("checked: has one section from end to end; its combinations list the reactions")
    along, places = Along.measure(checked.member, checked.basis), checked.basis.line.supports
    least = [min(_extremes(along, k, False, (ULTIMATE, EQUILIBRIUM))) for k in range(len(places))]
    most = [max(_extremes(along, k, True, (ULTIMATE,))) for k in range(len(places))]
    rows = []
    for k in sorted(range(len(places)), key=lambda k: least[k][0]):
        pulled = least[k][0] < 0.0
        name = f"y = {places[k]:.2f} m{', tie-down' if pulled else ''}"
        rows.append((name, "pull" if pulled else "least push", least[k][1], digits(least[k][0] * KN)))
        rows.append((name, "push" if most[k][0] > 0.0 else "least pull", most[k][1], digits(most[k][0] * KN)))
    notes = (
        "A push on the support is +. Sum: the permanent load that adds, the permanent load that helps and "
        "the variable load on the fields of the span where it adds, each with its factor; by the balance of "
        f"{'moments about the other support' if len(places) > 1 else 'loads'}.",
        f"Largest push {kilo(checked.measures['reaction'])}, largest pull "
        f"{kilo(checked.measures['tie_down'])}.{_tie_words(min(least)[0])}",
    )
    header = ("support", "kind", "sum", "force [kN]")
    return SheetTable("Support forces", header, tuple(rows), notes, marked=(0,), words=(0, 1, 2))


def _extremes(along: Along, support: int, up: bool, states: tuple[str, ...]) -> Iterator[Extreme]:
    """Largest (``up``) or least reaction of one support in each state, with its sum in words [kN]."""
    dead: Array = along.beam.permanent.reaction[:, support]
    push, pull = float(np.maximum(dead, 0.0).sum()), float(np.minimum(dead, 0.0).sum())
    for state in states:
        rules, found = along.rules[state], along.beam.envelope("reaction", along.rules[state])
        value = float((found.most if up else found.least)[support])
        c = int((found.most_case if up else found.least_case)[support])
        adds, helps = float(rules.permanent[c]), float(rules.relieving[c])
        parts = [(adds, push if up else pull), (helps, pull if up else push)]
        variable = value - sum(factor * load for factor, load in parts)
        said = [f"{factor:g} x {_signed(load)}" for factor, load in parts if load]
        said += [_signed(variable)] if abs(variable) > 1e-6 * abs(value) else []
        yield value, f"{' + '.join(said)}; {rules.names[c]} ({STATE_WORDS[state]})"


def _tie_words(least: float) -> str:
    return " A pull needs a tie-down, and a footing that holds it." if least < 0.0 else ""


def _signed(force: float) -> str:
    text = digits(force * KN)
    return f"({text})" if force < 0 else text
