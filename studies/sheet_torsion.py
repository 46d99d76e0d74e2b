"""Torsion on the sheet: torque about the shear centre, and the stresses with it."""

from collections.abc import Mapping

from longvault.constraints.concrete_checks import load_centre
from longvault.constraints.load_cases import wind_push
from longvault.sections.torsion import torsion_properties
from longvault.studies.checked import Checked
from longvault.studies.sheet_table import SheetTable, digits, fixed, kilo, mpa


def torsion_table(checked: Checked) -> SheetTable:
    """Torque about the shear centre and the stresses with it."""
    m, strips = checked.measures, checked.section.strips
    hung = checked.basis.loads.services_x
    centre = float(load_centre(strips, checked.properties, checked.loads, services_x=hung))
    shear = float(torsion_properties(strips).shear_centre_x)
    lever, load, one_side = abs(centre - shear), m["ultimate_load"], checked.basis.alone
    rows = (
        (
            "line of the load",
            "own weight in the centroid, finish on the surface, rest mid-width"
            + (f", services {fixed(hung, 2)} m beside it" if hung and checked.loads.services else ""),
            f"{fixed(centre, 3)} m",
        ),
        ("shear centre", "thin-walled open section", f"{fixed(shear, 3)} m"),
        (
            "torque per metre, full load, ultimate",
            f"{kilo(load, 'kN/m')} x {fixed(lever, 3)} m",
            kilo(load * lever, "kNm/m"),
        ),
        (
            "torque at the support, full load, ultimate",
            "St Venant and warping part together",
            kilo(m["end_torque"], "kNm"),
        ),
        (
            "the same, load on one side of the module",
            f"{_ways(checked)}; its stress {'counts' if one_side else 'is left out'}",
            kilo(m["side_torque"], "kNm"),
        ),
        *_stress_rows(m, pushed=checked.basis.pushed),
    )
    notes = (
        "B is the bimoment, omega the sectorial coordinate, Gamma the warping constant, J the torsion "
        "constant; supports that hold twist and leave warping free, or a fixed root.",
        "Nothing keeps the module from twisting: stresses are the largest of full load and load on one side."
        if one_side
        else "Neighbours along both valleys, or a declared restraint, take the torque of load on one side.",
        *wind_words(checked),
    )
    return SheetTable("Torsion and warping", ("item", "formula", "value"), rows, notes, words=(0, 1))


def _ways(checked: Checked) -> str:
    """Say which loads on one side are meant."""
    if len(checked.basis.line.fields) == 1:
        return "the combination that twists most"
    return "on every span the side, or none, that adds most to what is looked at"


def wind_words(checked: Checked) -> tuple[str, ...]:
    """Say what is done with the sideways part of wind, and how much of it there is; nothing without wind."""
    loads, strips, pitch = checked.basis.loads, checked.section.strips, checked.basis.pitch
    if not loads.wind:
        return ()
    pushes = [(abs(float(wind_push(wind, strips, pitch=pitch)[0])), wind.name) for wind in loads.wind]
    most, name = max(pushes)
    size = f"at most {kilo(most, 'kN/m')} ({name})" if most > 1.0 else "none here"
    return (
        "Wind presses square to roof, glass and kerbs. Its sideways part counts in the torque, by its height "
        f"over the shear centre, and bends a module that nothing holds sideways ({size}).",
    )


def _stress_rows(m: Mapping[str, float], *, pushed: bool) -> tuple[tuple[str, str, str], ...]:
    """Stresses with torsion, beside those of bending alone."""
    return (
        (
            "compression with torsion, ultimate",
            f"|M f {'- H g - ' if pushed else '- '}B omega / Gamma|, largest corner",
            mpa(m["edge_compression"]),
        ),
        ("compression by bending alone", "as in the table of stresses", mpa(m["compression"])),
        ("tension with torsion, characteristic", "uncracked", mpa(m["edge_tension"])),
        (
            "largest principal tension",
            f"over f_ctm: {digits(m['cracked_use'], 3)}",
            mpa(m["principal_tension"]),
        ),
        (
            "shear with torsion, ultimate",
            "|V q_1 - T_w S_omega / Gamma| / t + T_s t / J",
            mpa(m["torsion_shear"]),
        ),
    )
