"""Every load case and combination as JSON: factors, load, moments and shear along the span."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from longvault.constraints.combinations import STATES, Combined, all_combined
from longvault.constraints.load_cases import CaseLoads
from longvault.constraints.member_along import Along
from longvault.constraints.spans import Response, unit_response
from longvault.constraints.twisting import half_cases
from longvault.sections.symbols import Array, BoolArray
from longvault.studies.checked import Checked
from longvault.studies.sheet_table import KN


@dataclass(frozen=True, slots=True, eq=False)
class Line:
    """Responses of the module along its span: F fields of load, S stations, K variable cases.

    Parameters
    ----------
    y : array (S,)
        Stations [m].
    shown : bool array (S,)
        Those that are written out.
    permanent : mapping of ``moment`` and ``shear`` to array (F, S)
        To permanent load on each field.
    cases : mapping of the same to array (K, F, S)
        To each variable case on each field.
    load : float
        Mean permanent load [N/m].
    variable : CaseLoads
        Variable cases (of the root, for a taper).
    """

    y: Array
    shown: BoolArray
    permanent: dict[str, Array]
    cases: dict[str, Array]
    load: float
    variable: CaseLoads


def line_of(checked: Checked) -> Line:
    """Solve the module for each load on each field of its span."""
    if checked.variable is None:
        raise ValueError("checked: has no variable load cases")
    kinds = ("moment", "shear")
    load, down = float(checked.loads.permanent), checked.variable.down
    if checked.member is None:
        unit = unit_response(checked.basis.line)
        one = {kind: getattr(unit, kind) for kind in kinds}
        dead = {kind: load * one[kind] for kind in kinds}
        live = {kind: down[:, None, None] * one[kind] for kind in kinds}
        return _with_halves(Line(unit.y, _tenths(checked, unit), dead, live, load, checked.variable), checked)
    found = Along.measure(checked.member, checked.basis)
    beam = found.beam
    dead = {kind: getattr(beam.permanent, kind) for kind in kinds}
    live = {kind: _by_case(getattr(beam.variable, kind), dead[kind], beam.cases) for kind in kinds}
    every = np.ones(beam.permanent.y.size, dtype=np.bool_)
    return _with_halves(Line(beam.permanent.y, every, dead, live, load, checked.variable), checked)


def _with_halves(line: Line, checked: Checked) -> Line:
    """Add snow and maintenance on either half of the bay, half of the whole: torque may let them govern."""
    halves, cases = half_cases(checked.basis.loads), line.variable.cases
    whole = [next(k for k, case in enumerate(cases) if case.kind == half.kind) for half in halves]
    down = np.concatenate([line.variable.down, 0.5 * line.variable.down[whole]])
    live = {kind: np.concatenate([one, 0.5 * one[whole]]) for kind, one in line.cases.items()}
    return replace(line, cases=live, variable=CaseLoads(cases + halves, down, None))


def _by_case(response: Array, dead: Array, cases: Array | None) -> Array:
    """Response (K, F, S) to each case: uniform cases scale that to 1 N/m."""
    if cases is not None:
        return np.asarray(cases[:, None, None] * response)
    return response.reshape(-1, *dead.shape)


def _tenths(checked: Checked, unit: Response) -> BoolArray:
    """Stations at tenths of the fields."""
    shown = np.zeros(unit.y.size, dtype=np.bool_)
    for a, b in checked.basis.line.fields:
        share = 10.0 * (unit.y - a) / (b - a)
        shown |= (np.abs(share - np.round(share)) < 1e-6) & (share > -1e-6) & (share < 10.0 + 1e-6)
    return shown


def load_cases_document(checked: Checked) -> list[dict[str, Any]]:
    """Characteristic loads of one module, full everywhere: permanent, then each variable case."""
    line = line_of(checked)
    first = {"name": "permanent", "kind": "permanent", "load_kN_m": line.load * KN}
    pairs = zip(line.variable.cases, line.variable.down, strict=True)
    return [
        first,
        *({"name": case.name, "kind": case.kind, "load_kN_m": float(load) * KN} for case, load in pairs),
    ]


def combinations_document(checked: Checked) -> dict[str, Any]:
    """Stations, and every combination of every state with its factors, load, moments and shear there.

    Permanent load is everywhere, with its relieving factor where that helps; variable load is on the fields
    of the span where it adds: largest and smallest effect at each station by itself.
    """
    line = line_of(checked)
    note = "permanent load everywhere, variable load on the fields of the span where it adds; sagging +"
    if checked.basis.arch is not None:
        note += "; moments before the thrust takes its share"
    rules = all_combined(checked.basis.combinations, line.variable.cases)
    rows = [row for state in STATES for row in _rows(line, rules[state], state)]
    return {"standard": checked.basis.standard.key, "note": note, "y_m": _out(line, line.y), "rows": rows}


def _rows(line: Line, rules: Combined, state: str) -> Iterator[dict[str, Any]]:
    names = [f"{case.kind}: {case.name}" for case in line.variable.cases]
    for c, name in enumerate(rules.names):
        factors = rules.variable[c]
        row: dict[str, Any] = {
            "name": name,
            "state": state,
            "factor_permanent": float(rules.permanent[c]),
            "factor_relieving": float(rules.relieving[c]),
            "factors": {key: float(f) for key, f in zip(names, factors, strict=True) if f},
            "load_kN_m": float(rules.permanent[c] * line.load + factors @ line.variable.down) * KN,
        }
        for kind, unit in (("moment", "kNm"), ("shear", "kN")):
            most, least = _extremes(line, rules, c, kind)
            row |= {
                f"{kind}_most_{unit}": _out(line, most * KN),
                f"{kind}_least_{unit}": _out(line, least * KN),
            }
        yield row


def _extremes(line: Line, rules: Combined, c: int, kind: str) -> tuple[Array, Array]:
    """Largest and smallest effect at each station (S,)."""
    dead, live = line.permanent[kind], np.einsum("k,kfs->fs", rules.variable[c], line.cases[kind])
    up, down = float(rules.permanent[c]), float(rules.relieving[c])
    plus, minus = np.maximum(dead, 0.0).sum(axis=0), np.minimum(dead, 0.0).sum(axis=0)
    most = up * plus + down * minus + np.maximum(live, 0.0).sum(axis=0)
    least = down * plus + up * minus + np.minimum(live, 0.0).sum(axis=0)
    return most, least


def _out(line: Line, values: Array) -> list[float]:
    """Values at the stations shown, to six digits."""
    return [float(f"{value:.6g}") + 0.0 for value in values[line.shown]]
