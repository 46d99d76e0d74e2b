"""The ends of the roof on the sheet: traverse, tie, columns, and the member that holds the last bay."""

from functools import lru_cache
from typing import Any

from longvault.constraints.end_structure import EndStructure, LastBay, end_structure
from longvault.constraints.quantities import Apart, apart
from longvault.studies.checked import Checked
from longvault.studies.sheet_plates import finite
from longvault.studies.sheet_table import KN, SheetTable, cm2, digits, kilo, mm

NOTE = (
    "Ultimate, heaviest combination, from the end shear flow of the folded plate. A tie at the columns' "
    "feet, hinge at the highest place; beside it w b²/(8 rise) over half the span (Ketchum, design notes "
    '"Barrel shells"). Sizes of wall and member are a first guess (common practice), not a design; their '
    "quantities stand apart from the shell's own and enter no objective."
)


@lru_cache(maxsize=2)
def ends_of(checked: Checked) -> EndStructure | None:
    """End structure of a section that was proved as a folded plate, else None."""
    if checked.proving is None or not checked.plates:
        return None
    return end_structure(checked.section, checked.measures, checked.basis, checked.proving)


def ends_table(checked: Checked, ends: EndStructure) -> SheetTable:
    """Tell the forces of one end and of the last bay, each with its sum."""
    t, basis = ends.traverse, checked.basis
    rows = [
        ("end shear of the shell, down", "sum over the strips", kilo(t.reaction)),
        ("half the load", f"w x {basis.span:g} m / 2", kilo(t.expected)),
        ("end shear sideways", "sum over the strips, right +", kilo(t.sideways)),
    ]
    for x, push in t.columns:
        rows.append((f"column at x = {x:.2f} m", "balance of the traverse", kilo(push)))
    if t.tie_at == "columns":
        rows.append(("tie between the columns", "moment of one side about the top / rise", kilo(t.tie)))
        rows.append(("the same, estimated", "w b²/(8 rise)", kilo(t.estimate)))
    else:
        rows.append(("traverse, moment over the column", "one side", kilo(t.bending, "kNm")))
        rows.append(("tie along the top of the traverse", "M / z", kilo(t.tie)))
    rows.append(("steel of the tie", "|T| / f_yd", cm2(t.steel)))
    rows += _last_rows(ends.last, checked) if ends.last else []
    rows += _amounts(ends, checked)
    header = ("end structure", "from", "value")
    return SheetTable("Ends of the roof", header, tuple(rows), (NOTE,), words=(0, 1))


def _last_rows(last: LastBay, checked: Checked) -> list[tuple[str, str, str]]:
    span = checked.basis.span
    return [
        (
            f"neighbour on the right edge ({last.kind}), folded plate",
            "at mid-span",
            f"{kilo(abs(last.plate), 'kN/m')}, {_way(last.plate)}",
        ),
        ("the same, transverse slice", "", f"{kilo(abs(last.cut), 'kN/m')}, {_way(last.cut)}"),
        (
            "last bay: moment of a horizontal member",
            "folded plate, as it lies along the span",
            kilo(abs(last.moment_plate), "kNm"),
        ),
        (
            "the same, transverse slice",
            f"h x {span:g}² m² / 8",
            kilo(abs(last.moment_cut), "kNm"),
        ),
        (
            "that member",
            "L / 20 deep sideways; M / (0.8 d f_yd)",
            f"{last.depth:.2f} m, {cm2(last.steel)}",
        ),
    ]


def apart_of(ends: EndStructure, checked: Checked) -> dict[str, Apart]:
    """Concrete, steel, cost and carbon beside the shell: traverses of one module, one outer edge's member."""
    basis = checked.basis
    plan, factors = basis.span * basis.pitch, getattr(basis.concrete_settings, "factors", None)
    amounts = {
        "traverses": (ends.traverse_concrete * plan, ends.traverse_steel * plan),
        "last_bay_member": (ends.member_concrete * basis.span, ends.member_steel * basis.span),
    }
    return {
        name: apart(concrete=concrete, steel_volume=steel, factors=factors)
        for name, (concrete, steel) in amounts.items()
        if concrete > 0.0
    }


def _amounts(ends: EndStructure, checked: Checked) -> list[tuple[str, str, str]]:
    """Tell the quantities of the ends, apart from the shell's own."""
    words = {
        "traverses": ("both traverses of a module", "walls to the lowest point, ties, least wall steel"),
        "last_bay_member": ("member of one outer edge", "depth x 0.20 m x span, steel on both sides"),
    }
    plan = checked.basis.span * checked.basis.pitch
    rows = []
    for name, one in apart_of(ends, checked).items():
        title, how = words[name]
        amount = f"{digits(one.concrete)} m³, {digits(one.steel)} kg"
        if name == "traverses":
            amount += f" ({mm(one.concrete / plan)} and {digits(one.steel / plan)} kg/m² of plan)"
        rows.append((title, how, amount))
        price = f"{digits(one.cost)} money, {digits(one.carbon)} kgCO2e"
        rows.append(("the same, cost and carbon", "prices of the brief, without forms", price))
    return rows


def _way(force: float) -> str:
    return "pulls outward" if force > 0 else "pushes inward"


def ends_document(checked: Checked) -> dict[str, Any] | None:
    """Return the same as a JSON object with flat keys and units; None without an end structure."""
    ends = ends_of(checked)
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
        "tie_estimate_kN": finite(t.estimate * KN),
        "traverse_moment_kNm": t.bending * KN,
        "tie_steel_cm2": t.steel * 1e4,
        "traverse_concrete_mm": ends.traverse_concrete * 1e3,
        "quantities_apart": {
            name: {
                "concrete_m3": one.concrete,
                "steel_kg": one.steel,
                "cost": one.cost,
                "carbon_kgCO2e": one.carbon,
            }
            for name, one in apart_of(ends, checked).items()
        },
        "last_bay": None,
    }
    if last is not None:
        found["last_bay"] = {
            "joint": last.kind,
            "outward_force_plate_kN_m": last.plate * KN,
            "outward_force_slice_kN_m": finite(last.cut * KN),
            "moment_plate_kNm": last.moment_plate * KN,
            "moment_slice_kNm": finite(last.moment_cut * KN),
            "depth_m": last.depth,
            "steel_cm2": last.steel * 1e4,
            "concrete_m2": ends.member_concrete,
        }
    return found
