"""Deflections on the sheet: elastic, long term with the steps between, sideways, against a neighbour."""

from dataclasses import replace

import numpy as np

from longvault.constraints.actions import CHARACTERISTIC, SUSTAINED
from longvault.constraints.beam import SUPPORTS
from longvault.constraints.effects import Effects, signs_of
from longvault.constraints.evaluate import evaluate, heaviest
from longvault.constraints.evaluate_member import evaluate_member
from longvault.constraints.service import States, long_term_of, states_of, stays_whole
from longvault.constraints.strength import ROUND_OFF
from longvault.studies.checked import Checked
from longvault.studies.place_words import place_rows
from longvault.studies.sheet_table import SheetTable, cm2, digits, kilo, mm


def deflection_table(checked: Checked) -> SheetTable:
    """Elastic and long-term deflection, sideways movement, difference at the glass."""
    basis, m = checked.basis, checked.measures
    need, alike = basis.requirements, basis.plain and basis.support.key in SUPPORTS and basis.arch is None
    alike = alike and checked.member is None
    rows = [*(_by_table(checked) if alike else _along(checked)), *late_rows(checked)]
    if need.camber:
        words = f"camber {need.camber * 1e3:g} mm less the elastic deflection, before it cracks and creeps"
        rows.append(("upward at first", words, mm(m["upward"])))
    rows += place_rows(checked)
    if not alike or m["sideways"]:
        words = "I_xz / I_zz x vertical, free sideways" + (", and wind" if basis.pushed else "")
        rows.append(("sideways, elastic, characteristic", words, mm(m["sideways"])))
    if not alike or need.glass_difference_max is not None:
        words = "variable load on one module, none on its neighbour; down and sideways together"
        rows.append(("difference at the glass, elastic", words, mm(m["glass_difference"])))
    rows += _holding_rows(checked)
    which = "I_xx" if basis.held else "(I_xx I_zz - I_xz²) / I_zz"
    notes = (f"E = {basis.concrete.modulus_words}; I = {which}, uncracked.",)
    return SheetTable("Deflection", ("deflection", "formula", "value"), tuple(rows), notes, words=(0, 1))


def _holding_rows(checked: Checked) -> list[tuple[str, str, str]]:
    """Sideways force that holds a section without symmetry straight, or that would if anything held it."""
    basis, m, p = checked.basis, checked.measures, checked.properties
    force = m["holding_force"]
    if abs(force) <= ROUND_OFF * m["characteristic_load"]:
        return []
    held = "force that holds it straight" if basis.held else "force that would hold it straight (it is free)"
    words = "w I_xz / I_xx"
    if basis.held and basis.loads.pushes:
        words += " + push of wind"
    elif checked.member is None:
        words += f" = {kilo(m['characteristic_load'], 'kN/m')} x {float(p.ixz):.5f} / {float(p.ixx):.5f}"
    return [(held, words, kilo(force, "kN/m"))]


def _by_table(checked: Checked) -> list[tuple[str, str, str]]:
    """Elastic deflections by the beam table."""
    basis, m = checked.basis, checked.measures
    share = "5/384" if basis.support.key == "simple" else "1/8"
    loads = [kilo(float(heaviest(checked.loads, basis, s)), "kN/m") for s in (CHARACTERISTIC, SUSTAINED)]
    stiff = f"({basis.concrete.ecm / 1e9:.2f} GPa x {float(checked.beam.inertia):.5f} m⁴)"
    words = f"{share} w L⁴ / (E I) = {share} x w x {basis.span:g}⁴ m⁴ / {stiff}, w = {loads[0]}"
    return [
        ("elastic, characteristic", words, mm(m["deflection_short"])),
        ("elastic, quasi-permanent", f"the same with w = {loads[1]}", mm(m["deflection_sustained"])),
    ]


def _along(checked: Checked) -> list[tuple[str, str, str]]:
    """Elastic deflections of any support, of a taper, of a beam-arch."""
    basis, m, e = checked.basis, checked.measures, checked.effects
    over = f"({basis.concrete.ecm / 1e9:.2f} GPa x {float(checked.beam.inertia):.5f} m⁴)"
    if e is None:
        how = dict.fromkeys(("sag", "sag_sustained"), "double integral of M / (E I) over the stations")
    else:
        states = {"sag": CHARACTERISTIC, "sag_sustained": SUSTAINED}
        how = {
            key: f"E I f = {kilo(float(e.sag[state]), 'kNm³')} over E I = {over}, {_case(e, key)}"
            for key, state in states.items()
        }
    if basis.arch is not None:
        how = {key: f"{text}, less the share that the thrust takes" for key, text in how.items()}
    return [
        ("elastic, characteristic", how["sag"], mm(m["deflection_short"])),
        ("elastic, quasi-permanent", how["sag_sustained"], mm(m["deflection_sustained"])),
    ]


def _case(e: Effects, key: str) -> str:
    return f"{e.governing[key].name()} at y = {e.governing[key].place():.2f} m"


def late_rows(checked: Checked) -> list[tuple[str, str, str]]:
    """Long-term deflection with its steps; where a factor is chosen, the cracked states stand beside it."""
    basis, m = checked.basis, checked.measures
    need, rule = basis.requirements, long_term_of(basis)
    less = f", less camber {need.camber * 1e3:g} mm" if need.camber else ""
    if need.long_term == "factor":
        words = f"{need.long_term_factor:g} x {mm(m['deflection_sustained'])} (the brief's factor){less}"
        beside = f"{rule.formula}, {rule.source}{less}: no limit looks at it"
        return [
            ("long term, by the factor", words, mm(m["deflection"])),
            ("the same by cracked states", beside, mm(cracked_deflection(checked))),
        ]
    if checked.member is not None:
        words = f"each section by its own states: {rule.formula}, {rule.source}{less}"
        return [("long term, cracked", words, mm(m["deflection"]))]
    if signs_of(basis).both:
        late = (m["deflection"] + need.camber) / m["deflection_sustained"]
        words = f"{digits(late)} x elastic, of both signs that last the larger: {rule.formula}, {rule.source}"
        return [("long term, cracked", words + less, mm(m["deflection"]))]
    return _steps(checked, less)


def _steps(checked: Checked, less: str) -> list[tuple[str, str, str]]:
    """Both states of the section and what lies between, with numbers."""
    basis, m, p = checked.basis, checked.measures, checked.properties
    rule, concrete, moment = long_term_of(basis), basis.concrete, m["characteristic_moment"]
    found = states_of(
        checked.section.strips, p, checked.beam, moment=np.array(moment),
        lasting=np.array(m["sustained_moment"]), steel=np.array(m["steel_area"]), basis=basis,
        sagging=basis.sagging,
    )  # fmt: skip
    elastic, share, cracking = mm(m["deflection_sustained"]), float(found.share), float(found.cracking)
    words = f"{concrete.cracking / 1e6:.3f} MPa x {cracking / concrete.cracking:.4f} m³"
    words += f", {concrete.cracking_words} x S_t"
    first = ("moment that cracks, M_cr", words, kilo(cracking, "kNm"))
    drawn, more = _shrinkage(checked, found)
    if not share:
        why = "prestress keeps it whole" if stays_whole(basis) else "M_k does not crack it"
        words = f"{why}: {rule.times:g} x {elastic}{more}, {rule.source}{less}"
        return [first, *drawn, ("long term, uncracked", words, mm(m["deflection"]))]
    ratio = rule.softer * basis.steel.modulus / concrete.ecm
    bars = f"A_s = {cm2(m['steel_area'])} at z = {float(checked.beam.bars_z):.3f} m, {ratio:.2f} times"
    between = f"1 - {rule.bond:.4g} ({kilo(cracking, 'kNm')} / {kilo(moment, 'kNm')})²"
    inertia, whole = float(found.inertia), float(p.ixx)
    late = f"{rule.times:g} x ({share:.4f} x {whole:.5f} / {inertia:.5f} + {1 - share:.4f}) x {elastic}{more}"
    return [
        first,
        (
            "cracked section, I_cr",
            f"{bars}; where the first moments balance",
            f"{inertia:.5f} m⁴",
        ),
        ("share cracked, zeta", between, f"{share:.4f}"),
        *drawn,
        ("long term, cracked", f"{late}, {rule.source}{less}", mm(m["deflection"])),
    ]


def _shrinkage(checked: Checked, found: States) -> tuple[list[tuple[str, str, str]], str]:
    """Sag by shrinkage, and how it enters the long-term deflection; nothing where the rule holds it."""
    basis, m, bent = checked.basis, checked.measures, float(found.shrunk)
    if not bent:
        return [], ""
    elastic = m["sustained_moment"] / (basis.concrete.ecm * float(checked.beam.inertia))
    sag = bent / elastic * m["deflection_sustained"]
    words = (
        f"{basis.requirements.shrinkage * 1e3:g} mm/m x alpha_e S / I of both states, zeta between them: "
        f"{bent * 1e3:.4f} over {elastic * 1e3:.4f} mm/m² elastic, x {mm(m['deflection_sustained'])}"
    )
    return [("sag by shrinkage", words, mm(sag))], f" + {mm(sag)}"


def cracked_deflection(checked: Checked) -> float:
    """Long-term deflection by cracked states, whatever the brief chose [m]."""
    need = replace(checked.basis.requirements, long_term="cracked")
    basis = replace(checked.basis, requirements=need)
    if checked.member is not None:
        return float(evaluate_member(checked.member, basis).measures["deflection"])
    return float(evaluate(checked.section.strips, basis).measures["deflection"])
