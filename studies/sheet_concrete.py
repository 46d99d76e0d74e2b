"""Closer checks of concrete on the sheet: torsion, cracked bending, steel laid out, prestress, amounts."""

from math import pi

import numpy as np

from longvault.constraints.bars import gathered_bars
from longvault.constraints.concrete_checks import Demand, layout_of, load_centre, provided, stress_block
from longvault.constraints.concrete_settings import ConcreteSettings
from longvault.constraints.details import demand_of
from longvault.constraints.forms import CLASS_WORDS, form_areas
from longvault.constraints.materials import STEEL_DENSITY
from longvault.constraints.quantities import quantities
from longvault.constraints.steel_layout import SteelLayout
from longvault.constraints.twisting import counts_one_side
from longvault.sections.torsion import torsion_properties
from longvault.studies.checked import Checked
from longvault.studies.sheet_prestress import prestress_table
from longvault.studies.sheet_table import SheetTable, digits

KN = 1e-3
TWIST = 1e-6
"""Torque over the largest moment below which a module counts as not twisted."""


def concrete_tables(checked: Checked) -> list[SheetTable]:
    """Tables of the closer checks that were made, in the order of reading."""
    m, settings = checked.measures, checked.basis.concrete_settings
    if settings is None or "cracked_steel" not in m:
        return []
    tables = [cracked_table(checked, settings), layout_table(checked, settings)]
    aside = m.get("side_torque", 0.0) if counts_one_side(checked.basis) else 0.0
    if max(m.get("end_torque", 0.0), aside) > TWIST * m["ultimate_moment"]:
        tables.insert(0, torsion_table(checked))
    if settings.tensioning is not None:
        tables.append(prestress_table(checked, settings))
    return [*tables, amounts_table(checked, settings)]


def torsion_table(checked: Checked) -> SheetTable:
    """Torque about the shear centre and the stresses with it."""
    m, strips = checked.measures, checked.section.strips
    centre = float(load_centre(strips, checked.properties, checked.loads))
    shear = float(torsion_properties(strips).shear_centre_x)
    lever, load, one_side = abs(centre - shear), m["ultimate_load"], counts_one_side(checked.basis)
    rows = (
        (
            "line of the load",
            "own weight in the centroid, finish on the surface, rest mid-width",
            f"{centre:.3f} m",
        ),
        ("shear centre", "thin-walled open section", f"{shear:.3f} m"),
        (
            "torque per metre, full load, ultimate",
            f"{digits(load * KN)} kN/m x {lever:.3f} m",
            f"{digits(load * lever * KN)} kNm/m",
        ),
        (
            "torque at the support, full load, ultimate",
            "St Venant and warping part together",
            f"{digits(m['end_torque'] * KN)} kNm",
        ),
        (
            "the same, load on one side of the module",
            f"the combination that twists most; its stress {'counts' if one_side else 'is left out'}",
            f"{digits(m['side_torque'] * KN)} kNm",
        ),
        (
            "compression with torsion, ultimate",
            "|M f + B omega / Gamma|, largest corner",
            _mpa(m["edge_compression"]),
        ),
        ("compression by bending alone", "as in the table of stresses", _mpa(m["compression"])),
        ("tension with torsion, characteristic", "uncracked", _mpa(m["edge_tension"])),
        (
            "largest principal tension",
            f"over f_ctm: {digits(m['cracked_use'], 3)}",
            _mpa(m["principal_tension"]),
        ),
        (
            "shear with torsion, ultimate",
            "|V q_1 - T_w S_omega / Gamma| / t + T_s t / J",
            _mpa(m["torsion_shear"]),
        ),
    )
    notes = (
        "B is the bimoment, omega the sectorial coordinate, Gamma the warping constant, J the torsion "
        "constant; supports that hold twist and leave warping free, or a fixed root.",
        "Nothing keeps the module from twisting: stresses are the largest of full load and load on one side."
        if one_side
        else "Neighbours along both valleys, or a declared restraint, take the torque of load on one side.",
    )
    return SheetTable("Torsion and warping", ("item", "formula", "value"), rows, notes, words=(0, 1))


def _whole(value: float) -> str:
    return f"{value:.0f}" if np.isfinite(value) else "-"


def _mpa(value: float) -> str:
    return f"{digits(value / 1e6)} MPa"


def cracked_table(checked: Checked, settings: ConcreteSettings) -> SheetTable:
    """Cracked bending at the ultimate state, and the least main steel."""
    basis, m = checked.basis, checked.measures
    block = stress_block(basis)
    fyd = basis.strengths.steel
    force = m["cracked_steel"] * fyd
    demand = _demand(checked)
    layout = _layout(checked, settings)
    concrete, steel = basis.concrete, basis.steel
    depth = (
        float(layout.least_main) / max(0.26 * concrete.fctm / steel.fyk, 0.0013) / float(layout.tension_width)
    )
    rows = (
        (
            "A_s, cracked section",
            f"M_d / (z f_yd) = {digits(float(demand.moment) * KN)} kNm / ({digits(m['cracked_arm'], 5)} m x "
            f"{fyd / 1e6:.1f} MPa)",
            _cm2(m["cracked_steel"]),
        ),
        (
            "force in concrete and steel",
            f"{digits(m['cracked_steel'] * 1e4)} cm² x {fyd / 1e6:.1f} MPa",
            f"{digits(force * KN)} kN",
        ),
        ("stress block", f"over {block.depth_ratio:g} x; {block.source}", _mpa(block.stress)),
        ("compression zone", "x / x_yield; x_yield: the bars just yield", digits(m["neutral_depth"])),
        (
            "least main steel",
            f"max(0.26 f_ctm / f_yk, 0.0013) b_t d = max(0.26 x {concrete.fctm / 1e6:.2f} / "
            f"{steel.fyk / 1e6:g}, 0.0013) x {digits(float(layout.tension_width))} m x {digits(depth)} m",
            _cm2(m["least_steel"]),
        ),
        ("A_s of the beam checks", "the less favourable elastic lever arm", _cm2(m["steel_area"])),
    )
    notes: tuple[str, ...] = (
        "Plane sections, concrete in tension left out, bars from the tension edge up with cover and spacing; "
        "b_t is the mean width of the tension zone. EN 1992-1-1, 6.1 and 9.2.1.1.",
    )
    if "cracked_steel_reverse" in m:
        other = _cm2(m["cracked_steel_reverse"])
        notes += (f"For the main sign of moment; the other one asks for {other} by the cracked section.",)
    return SheetTable("Cracked bending", ("item", "formula", "value"), rows, notes, words=(0, 1))


def _cm2(value: float) -> str:
    return f"{digits(value * 1e4)} cm²"


def _demand(checked: Checked) -> Demand:
    arrays = {key: np.asarray(value) for key, value in checked.measures.items()}
    return demand_of(checked.section.strips, checked.properties, arrays, checked.basis)


def _layout(checked: Checked, settings: ConcreteSettings) -> SteelLayout:
    basis, strips, demand = checked.basis, checked.section.strips, _demand(checked)
    laid = gathered_bars(
        strips, checked.properties, area=demand.steel, detailing=basis.detailing, sagging=basis.sagging
    )
    return layout_of(strips, checked.properties, basis, _provided(checked), settings, laid)


def _provided(checked: Checked) -> Demand:
    return provided(_demand(checked), {key: np.asarray(value) for key, value in checked.measures.items()})


def layout_table(checked: Checked, settings: ConcreteSettings) -> SheetTable:
    """Steel by bands: main bars, mesh, shear steel near the supports, stirrups; with its weight."""
    basis, m, practice = checked.basis, checked.measures, settings.practice
    d, layout = basis.detailing, _layout(checked, settings)
    bar = pi / 4 * d.main_bar**2
    needed = _provided(checked)
    main = max(float(needed.steel + needed.reverse), m["least_steel"])
    mesh = d.mesh_layers * pi / 4 * d.mesh_bar**2 / d.mesh_spacing

    def band(name: str, how: str, volume: object) -> tuple[str, str, str, str]:
        value = float(volume)  # type: ignore[arg-type]
        return name, how, digits(value * 1e4), digits(value * STEEL_DENSITY / basis.pitch)

    rows = (
        band(
            "main bars",
            f"{_whole(m['bars'])} of {d.main_bar * 1e3:g} mm ({digits(main * 1e4)} / {bar * 1e4:.3f} cm²); "
            f"mean over the span {practice.curtailed:g} of it",
            layout.main,
        ),
        band(
            "mesh, both ways",
            f"{mesh * 1e4:.2f} cm²/m each way, at least {practice.shell_ratio:g} of the thickness",
            layout.mesh,
        ),
        band(
            "diagonal or added mesh at the supports",
            f"what q_d / f_yd asks beyond the mesh; most {digits(m['web_steel'] * 1e4)} cm²/m each way",
            layout.shear,
        ),
        band(
            "stirrups and bars along beams and kerbs",
            f"two legs of {practice.stirrup_bar * 1e3:g} mm at {practice.stirrup_spacing * 1e3:g} mm "
            f"or more; {practice.skin_ratio:g} of the section",
            layout.stirrups,
        ),
        band("laps, top bars, trimmers, chairs", f"{practice.allowance:g} of the above", layout.extra),
        band("all steel", "sum", layout.volume),
    )
    notes = (
        f"Mesh over the thickest surface {m['mesh_ratio'] * 100:.2f} %; spacing {m['mesh_spacing']:.2f} of "
        "the largest allowed. Shares for curtailed bars, laps and stirrups are from memory, and settings.",
    )
    header = ("band", "how much", "mean section [cm²]", "per plan area [kg/m²]")
    return SheetTable("Reinforcement", header, rows, notes, marked=(5,), words=(0, 1))


def amounts_table(checked: Checked, settings: ConcreteSettings) -> SheetTable:
    """Quantities of one bay per plan area with the factors that make cost and carbon of them."""
    basis, m, f = checked.basis, checked.measures, settings.factors
    forms, pitch = form_areas(checked.section.strips), basis.pitch
    strands = m.get("strands", 0.0) * (settings.tensioning.strand.area if settings.tensioning else 0.0)
    q = quantities(
        area=m["area"],
        steel_volume=_layout(checked, settings).volume,
        forms=forms,
        pitch=pitch,
        uses=settings.uses,
        strand_area=strands,
        factors=f,
    )
    made = f"made new once in {settings.uses:g} uses"

    def row(name: str, amount: str, price: float, kilos: float, how: str) -> tuple[str, str, str, str, str]:
        return name, amount, how, digits(price), digits(kilos)

    concrete, steel, strand = float(q.concrete), float(q.steel), float(q.strand)
    rows = [
        row(
            "concrete",
            f"{concrete:.4f} m³/m²",
            float(q.cost_concrete),
            float(q.carbon_concrete),
            f"{f.concrete_price:g} and {f.concrete_carbon:g} kgCO2e per m³",
        ),
        row(
            "reinforcement",
            f"{digits(steel)} kg/m²",
            f.steel_price * steel,
            f.steel_carbon * steel,
            f"{f.steel_price:g} and {f.steel_carbon:g} kgCO2e per kg",
        ),
    ]
    if strand > 0.0:
        how = f"{f.strand_price:g} and {f.strand_carbon:g} kgCO2e per kg"
        rows.append(
            row("strands", f"{strand:.2f} kg/m²", f.strand_price * strand, f.strand_carbon * strand, how)
        )
    rows.append(
        row(
            "forms",
            f"{float(q.form):.3f} m²/m²",
            float(q.cost_form),
            float(q.carbon_form),
            f"{f.open_form:g}, {f.inclined_form:g}, 2 x {f.steep_form:g}, beams {f.beam_form:g} per m² new, "
            f"{f.form_use:g} a use; {f.form_carbon:g} kgCO2e per m² new; {made}",
        )
    )
    rows.append(row("sum", "", float(q.cost), float(q.carbon), ""))
    classes = (forms.flat, forms.inclined, forms.steep)
    surfaces = "; ".join(
        f"{float(area):.2f} m {words}" for area, words in zip(classes, CLASS_WORDS, strict=True)
    )
    notes = (
        f"Form area per metre of span: {surfaces}; beams and kerbs {float(forms.beams):.2f} m.",
        "Prices and carbon factors are settings of the brief; defaults are from memory and differ by place "
        "and year by more than designs do.",
    )
    header = ("item", "per plan area", "factors", "cost [money/m²]", "carbon [kgCO2e/m²]")
    return SheetTable("Quantities", header, tuple(rows), notes, marked=(len(rows) - 1,), words=(0, 1, 2))
