"""Low places of the roof on the sheet: how deep water stands in each, and what it weighs."""

from longvault.constraints.drainage import low_places
from longvault.constraints.load_cases import WATER
from longvault.studies.checked import Checked
from longvault.studies.sheet_table import KN, SheetTable, mm


def water_tables(checked: Checked) -> list[SheetTable]:
    """List the low places of the section (of a taper: of its root); nothing where there are none."""
    try:
        found = low_places(checked.section.strips)
    except ValueError:  # a surface with branches has no one upper side to follow
        return []
    if not found:
        return []
    rows = tuple(
        (
            f"{one.x:.2f}",
            "gutter, if its outlets are blocked" if one.gutter else "no gutter",
            mm(one.depth),
            f"{one.area:.3f}",
            f"{WATER * KN:g} kN/m³ x {one.area:.3f} m² = {WATER * KN * one.area:.2f}",
        )
        for one in found
    )
    notes = (
        "Full to where they run over; slopes along the span are not counted. The load of blocked outlets is "
        "water_depth_mm in the brief, a limit on places without gutter pond_depth_max_mm: "
        f"{_asked(checked)}.",
    )
    header = ("x [m]", "place", "depth", "water [m²]", "weight per metre of span [kN/m]")
    return [SheetTable("Low places of the roof", header, rows, notes, words=(1, 4))]


def _asked(checked: Checked) -> str:
    """Say what the brief asks of the two."""
    water, most = checked.basis.loads.water, checked.basis.requirements.pond_depth_max
    load = f"water of {mm(water)} is a load here" if water else "no water is a load here"
    return f"{load}; {'no limit is set' if most is None else f'the limit is {mm(most)}'}"
