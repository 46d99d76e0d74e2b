"""Along the span on the sheet: the stations of a taper, what governs each limit, and the row as a whole."""

import numpy as np

from longvault.constraints.evaluate_member import station_measures
from longvault.constraints.restraint import Climate, restraint
from longvault.studies.checked import Checked
from longvault.studies.sheet_table import KN, SheetTable, digits
from longvault.studies.stations import station_places

COLUMNS = (
    ("height", "h [m]", 1.0),
    ("area", "A [m²]", 1.0),
    ("thickness", "t min [mm]", 1e3),
    ("permanent_load", "G [kN/m]", KN),
    ("sagging", "M_d sag [kNm]", KN),
    ("hogging", "M_d hog [kNm]", KN),
    ("shear", "V_d [kN]", KN),
    ("compression", "compression [MPa]", 1e-6),
    ("steel_area", "A_s [cm²]", 1e4),
    ("bar_room", "room [cm²]", 1e4),
    ("shear_stress", "shear [MPa]", 1e-6),
)


def stations_table(checked: Checked) -> SheetTable:
    """List each section of a taper with its size, effects and stresses; those that govern stand out."""
    if checked.member is None:
        raise ValueError("checked: has one section from end to end; a taper has stations")
    values = station_measures(checked.member, checked.basis)
    where = station_places(checked.basis, checked.member.stations)
    rows = [
        (_place(first, last), *(digits(float(values[key][k]) * unit, 3) for key, _, unit in COLUMNS))
        for k, (first, last) in enumerate(where)
    ]
    largest = {int(np.argmax(values[key])) for key in ("compression", "shear_stress")}
    largest.add(int(np.argmax(values["steel_area"] / np.maximum(values["bar_room"], 1e-9))))
    notes = (
        f"{checked.note}: each station is a beam section of its own; y from the start of the module.",
        "Moments are the largest of all combinations and load patterns at the station; stresses ultimate; "
        "A_s by the smaller lever arm of the main sign of moment. The geometry above is that of the root.",
    )
    header = ("y [m]", *(head for _, head, _ in COLUMNS))
    return SheetTable("Stations along the span", header, tuple(rows), notes, tuple(sorted(largest)))


def _place(first: float, last: float) -> str:
    return f"{first:.2f}" if first == last else f"{first:.2f}-{last:.2f}"


def cases_table(checked: Checked) -> SheetTable:
    """Name the combination and the place that govern each limit which loads enter."""
    rows = tuple(
        (row.limit.title, row.case, "" if row.place is None else f"{row.place:.2f}")
        for row in checked.rows
        if row.case
    )
    notes = ("y runs from the start of the module; limits without a load are left out.",)
    return SheetTable("What governs", ("limit", "combination", "y [m]"), rows, notes, words=(0, 1))


def restraint_table(checked: Checked, bays: int) -> SheetTable:
    """Temperature and shrinkage across the row of bays, and along the span."""
    basis, climate = checked.basis, Climate()
    length = basis.line.length
    across = (bays * basis.pitch, checked.measures["thickness"] * length)
    rows = []
    for name, (whole, area) in (
        (f"across {bays} bays", across),
        ("along the span", (length, checked.measures["area"])),
    ):
        found = restraint(length=whole, area=area, concrete=basis.concrete, climate=climate)
        rows.append(
            (
                name,
                f"{whole:g}",
                f"{found.movement * 1e3:.1f}",
                digits(found.stress / 1e6),
                digits(found.force * KN),
                f"{found.joint_spacing:.0f}",
            )
        )
    strain, concrete = climate.shortening * 1e3, basis.concrete
    notes = (
        f"Strain {climate.expansion * 1e3:g} ‰/K x {climate.cooling:g} K + {climate.shrinkage * 1e3:g} ‰ = "
        f"{strain:.2f} ‰; held: strain x E / (1 + {climate.creep:g}), E {concrete.ecm / 1e9:.1f} GPa.",
        "The force acts on the least thickness times the length of the module, or on one module. More than "
        f"the {concrete.cracking_words}, {concrete.cracking / 1e6:.2f} MPa, cracks. Joints open 20 mm. EN "
        "1992-1-1, 3.1.3(5), 3.1.4, (7.20), from memory; common practice. No limit looks at this.",
    )
    header = ("row", "length [m]", "shortens [mm]", "held [MPa]", "force [kN]", "joints at most [m]")
    return SheetTable("Temperature and shrinkage", header, tuple(rows), notes)
