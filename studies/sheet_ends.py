"""The ends of the roof on the sheet: traverse, tie, columns, and the member that holds the last bay."""

import math
from typing import Any

from longvault.constraints.end_structure import EndStructure, LastBay, end_structure
from longvault.studies.checked import Checked
from longvault.studies.sheet_table import SheetTable, digits

KN = 1e-3
NOTE = (
    "Ultimate, heaviest combination, from the end shear flow of the folded plate. A tie at the columns' "
    "feet, hinge at the highest place; beside it w b²/(8 rise) over half the span (Ketchum, design notes "
    '"Barrel shells"). Sizes of wall and member are a first guess (common practice), not a design.'
)


def ends_of(checked: Checked) -> EndStructure | None:
    """End structure of a section that was proved as a folded plate, else None."""
    if checked.proving is None or not checked.plates:
        return None
    return end_structure(checked.section, checked.measures, checked.basis, checked.proving)


def ends_table(checked: Checked, ends: EndStructure) -> SheetTable:
    """Tell the forces of one end and of the last bay, each with its sum."""
    t, basis = ends.traverse, checked.basis
    rows = [
        ("end shear of the shell, down", "sum over the strips", f"{digits(t.reaction * KN)} kN"),
        ("half the load", f"w x {basis.span:g} m / 2", f"{digits(t.expected * KN)} kN"),
        ("end shear sideways", "sum over the strips, right +", f"{digits(t.sideways * KN)} kN"),
    ]
    for x, push in t.columns:
        rows.append((f"column at x = {x:.2f} m", "balance of the traverse", f"{digits(push * KN)} kN"))
    if t.tie_at == "columns":
        rows.append(
            ("tie between the columns", "moment of one side about the top / rise", f"{digits(t.tie * KN)} kN")
        )
        rows.append(("the same, estimated", "w b²/(8 rise)", f"{digits(t.estimate * KN)} kN"))
    else:
        rows.append(("traverse, moment over the column", "one side", f"{digits(t.bending * KN)} kNm"))
        rows.append(("tie along the top of the traverse", "M / z", f"{digits(t.tie * KN)} kN"))
    rows.append(("steel of the tie", "|T| / f_yd", f"{digits(t.steel * 1e4)} cm²"))
    rows += _last_rows(ends.last, checked) if ends.last else []
    rows.append(
        (
            "concrete of both traverses",
            "walls down to the lowest point",
            f"{digits(ends.traverse_concrete * 1e3)} mm of plan",
        )
    )
    header = ("end structure", "from", "value")
    return SheetTable("Ends of the roof", header, tuple(rows), (NOTE,), words=(0, 1))


def _last_rows(last: LastBay, checked: Checked) -> list[tuple[str, str, str]]:
    span = checked.basis.span
    return [
        (
            f"neighbour on the right edge ({last.kind}), folded plate",
            "at mid-span",
            f"{digits(abs(last.plate) * KN)} kN/m, {_way(last.plate)}",
        ),
        ("the same, transverse slice", "", f"{digits(abs(last.cut) * KN)} kN/m, {_way(last.cut)}"),
        (
            "last bay: moment of a horizontal member",
            "folded plate, as it lies along the span",
            f"{digits(abs(last.moment_plate) * KN)} kNm",
        ),
        (
            "the same, transverse slice",
            f"h x {span:g}² m² / 8",
            f"{digits(abs(last.moment_cut) * KN)} kNm",
        ),
        (
            "that member",
            "L / 20 deep sideways; M / (0.8 d f_yd)",
            f"{last.depth:.2f} m, {digits(last.steel * 1e4)} cm²",
        ),
    ]


def _way(force: float) -> str:
    return "pulls outward" if force > 0 else "pushes inward"


def ends_document(ends: EndStructure | None) -> dict[str, Any] | None:
    """Return the same as a JSON object with flat keys and units."""
    if ends is None:
        return None
    t, last = ends.traverse, ends.last
    found: dict[str, Any] = {
        "end_shear_down_kN": t.reaction * KN,
        "half_load_kN": t.expected * KN,
        "end_shear_right_kN": t.sideways * KN,
        "columns": [{"x_m": x, "push_kN": push * KN} for x, push in t.columns],
        "tie_kN": t.tie * KN,
        "tie_at": t.tie_at,
        "tie_estimate_kN": t.estimate * KN if math.isfinite(t.estimate) else None,
        "traverse_moment_kNm": t.bending * KN,
        "tie_steel_cm2": t.steel * 1e4,
        "traverse_concrete_mm": ends.traverse_concrete * 1e3,
        "last_bay": None,
    }
    if last is not None:
        found["last_bay"] = {
            "joint": last.kind,
            "outward_force_plate_kN_m": last.plate * KN,
            "outward_force_slice_kN_m": last.cut * KN,
            "moment_plate_kNm": last.moment_plate * KN,
            "moment_slice_kNm": last.moment_cut * KN,
            "depth_m": last.depth,
            "steel_cm2": last.steel * 1e4,
            "concrete_m2": ends.member_concrete,
        }
    return found
