"""Effects along the span on the sheet: any support, every combination, with sums a checker redoes."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from longvault.constraints.actions import CHARACTERISTIC, EQUILIBRIUM, SUSTAINED, ULTIMATE
from longvault.constraints.combinations import Combined, all_combined
from longvault.constraints.spans import unit_response
from longvault.sections.symbols import Array
from longvault.studies.checked import Checked
from longvault.studies.sheet_table import KN, SheetTable, digits, kilo

STATE_WORDS = {
    ULTIMATE: "ultimate",
    CHARACTERISTIC: "characteristic",
    SUSTAINED: "quasi-permanent",
    EQUILIBRIUM: "equilibrium",
}


@dataclass(frozen=True, slots=True)
class Row:
    """One combination: factors on permanent load where it adds and where it helps, variable load [N/m]."""

    name: str
    state: str
    adds: float
    helps: float
    variable: float


@dataclass(frozen=True, slots=True)
class Peak:
    """Largest (sign 1) or smallest (sign -1) response: size, place, unit loads with and against it."""

    value: float
    y: float
    along: float
    against: float


def rows_of(checked: Checked) -> Iterator[Row]:
    """Every combination of the standard with every choice of cases."""
    if checked.variable is None:
        return
    found = all_combined(checked.basis.combinations, checked.variable.cases)
    for state in STATE_WORDS:
        rules: Combined = found[state]
        for name, adds, helps, factors in zip(
            rules.names, rules.permanent, rules.relieving, rules.variable, strict=True
        ):
            variable = float((factors * checked.variable.down).sum())
            yield Row(name, state, float(adds), float(helps), variable)


def peak(row: Row, permanent: float, y: Array, response: Array, sign: float) -> Peak:
    """Largest response (sign 1) or smallest (sign -1) to permanent load everywhere, variable where it adds.

    ``response`` (F, S) is that to 1 N/m on each field at each station.
    """
    plus = np.maximum(sign * response, 0.0).sum(axis=0)
    minus = np.minimum(sign * response, 0.0).sum(axis=0)
    varied = row.variable * plus if row.variable > 0 else row.variable * minus
    total = permanent * (row.adds * plus + row.helps * minus) + varied
    k = int(total.argmax())
    return Peak(float(sign * total[k]), float(y[k]), float(sign * plus[k]), float(sign * minus[k]))


def effects_along(checked: Checked) -> SheetTable:
    """List every combination with its extreme moments, shear and reactions."""
    basis, g = checked.basis, float(checked.loads.permanent)
    unit, supports = unit_response(basis.line), np.array(basis.line.supports)
    kinds = {
        "sagging": (unit.y, unit.moment, 1.0),
        "hogging": (unit.y, unit.moment, -1.0),
        "push": (supports, unit.reaction, 1.0),
        "pull": (supports, unit.reaction, -1.0),
    }
    rows: list[tuple[str, ...]] = []
    largest: dict[str, tuple[float, int, Row, Peak]] = {}
    for row in rows_of(checked):
        found = {key: peak(row, g, *how) for key, how in kinds.items()}
        ends = [peak(row, g, unit.y, unit.shear, sign) for sign in (1.0, -1.0)]
        shear = max(ends, key=lambda one: abs(one.value))
        values = [found[key].value for key in ("sagging", "hogging")]
        cells = (row.variable, *values, shear.value, *(found[key].value for key in ("push", "pull")))
        rows.append((row.name, STATE_WORDS[row.state], *(digits(v * KN) for v in cells)))
        if row.state == ULTIMATE:
            for key, one in (found | {"shear": shear}).items():
                size = -one.value if key in ("hogging", "pull") else abs(one.value)
                if key not in largest or size > largest[key][0]:
                    largest[key] = (size, len(rows) - 1, row, one)
    header = (
        "combination", "state", "variable [kN/m]", "M most [kNm]", "M least [kNm]", "V [kN]",
        "R most [kN]", "R least [kN]",
    )  # fmt: skip
    notes = (
        f"Combinations of {basis.standard.key} (from memory). {basis.standard.note}",
        f"G = {kilo(g, 'kN/m')} everywhere, variable "
        "load on the fields of the span where it adds; sagging is +, a push on a support is +.",
        *(_worked(key, g, row, one) for key, (size, _, row, one) in largest.items() if size > 1e-6),
    )
    marked = tuple(sorted({at for size, at, _, _ in largest.values() if size > 1e-6}))
    return SheetTable("Combinations and effects", header, tuple(rows), notes, marked, words=(0, 1))


_NAMES = {
    "sagging": ("sagging moment", "kNm", "m²"),
    "hogging": ("hogging moment", "kNm", "m²"),
    "shear": ("shear", "kN", "m"),
    "push": ("push on a support", "kN", "m"),
    "pull": ("pull on a support, ultimate", "kN", "m"),
}


def _worked(key: str, permanent: float, row: Row, one: Peak) -> str:
    """Write the sum of the largest effect of a kind with its numbers."""
    name, unit, per = _NAMES[key]
    g = permanent * KN
    parts = [f"{row.adds:g} x {digits(g)} kN/m x {digits(one.along)} {per}"]
    if one.against:
        parts.append(f"{row.helps:g} x {digits(g)} kN/m x ({digits(one.against)} {per})")
    acts = one.along if row.variable > 0 else one.against
    if row.variable:
        parts.append(f"{kilo(row.variable, 'kN/m')} x ({digits(acts)} {per})")
    value = f"{digits(one.value * KN)} {unit} at y = {one.y:.2f} m"
    return f"Largest {name}: {' + '.join(parts)} = {value} ({row.name})."
