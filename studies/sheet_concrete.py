"""Closer checks of concrete on the sheet: which tables there are, cracked bending, steel laid out."""

import numpy as np

from longvault.constraints.concrete_checks import stress_block
from longvault.constraints.concrete_settings import ConcreteSettings, SteelPractice
from longvault.constraints.laps import anchorage_length, lap_length, lap_share
from longvault.constraints.materials import STEEL_DENSITY
from longvault.sections.parts import surface_edges
from longvault.studies.checked import Checked
from longvault.studies.mean_amounts import amounts_of, provided_of, root_amounts
from longvault.studies.sheet_amounts import MEANS, amounts_table
from longvault.studies.sheet_cracks import crack_tables
from longvault.studies.sheet_prestress import prestress_table
from longvault.studies.sheet_table import SheetTable, cm2, digits, kilo, mpa
from longvault.studies.sheet_torsion import torsion_table

TWIST = 1e-6
"""Torque over the largest moment below which a module counts as not twisted."""


def concrete_tables(checked: Checked) -> list[SheetTable]:
    """Tables of the closer checks that were made, in the order of reading."""
    m, settings = checked.measures, checked.basis.concrete_settings
    if settings is None or "cracked_steel" not in m:
        return []
    tables = [cracked_table(checked), *crack_tables(checked), layout_table(checked, settings)]
    aside = m.get("side_torque", 0.0) if checked.basis.alone else 0.0
    if max(m.get("end_torque", 0.0), aside) > TWIST * m["ultimate_moment"]:
        tables.insert(0, torsion_table(checked))
    if settings.tensioning is not None:
        tables.append(prestress_table(checked, settings))
    return [*tables, amounts_table(checked, settings)]


def _whole(value: float) -> str:
    return f"{value:.0f}" if np.isfinite(value) else "-"


def cracked_table(checked: Checked) -> SheetTable:
    """Cracked bending at the ultimate state, and the least main steel."""
    basis, m = checked.basis, checked.measures
    block = stress_block(basis)
    fyd = basis.strengths.steel
    force = m["cracked_steel"] * fyd
    layout = root_amounts(checked).layout
    concrete, steel = basis.concrete, basis.steel
    depth = float(layout.least_main) / concrete.least_tension(steel.fyk) / float(layout.tension_width)
    rows = (
        (
            "A_s, cracked section",
            f"M_d / (z f_yd) = {_cracked_moment(checked)} / ({digits(m['cracked_arm'], 5)} m x "
            f"{fyd / 1e6:.1f} MPa)",
            cm2(m["cracked_steel"]),
        ),
        (
            "force in concrete and steel",
            f"{cm2(m['cracked_steel'])} x {fyd / 1e6:.1f} MPa",
            kilo(force),
        ),
        ("stress block", f"over {block.depth_ratio:g} x; {block.source}", mpa(block.stress)),
        ("compression zone", "x / x_yield; x_yield: the bars just yield", digits(m["neutral_depth"])),
        (
            "least main steel",
            f"{concrete.least_words} = {concrete.least_sum(steel.fyk)} x "
            f"{digits(float(layout.tension_width))} m x {digits(depth)} m",
            cm2(m["least_steel"]),
        ),
        ("A_s of the beam checks", "the less favourable elastic lever arm", cm2(m["steel_area"])),
    )
    notes: tuple[str, ...] = (
        "Plane sections, concrete in tension left out, bars from the tension edge up with cover and spacing; "
        "b_t is the mean width of the tension zone. EN 1992-1-1, 6.1; least steel by "
        f"{concrete.least_source}.",
    )
    if basis.arch is not None:
        notes += (
            "Beam-arch: M_d is the full moment of the straight module; the thrust relieves neither cracked "
            "bending nor the steel to provide, on the safe side.",
        )
    if "cracked_steel_reverse" in m:
        other, least = cm2(m["cracked_steel_reverse"]), cm2(float(layout.least_reverse))
        width = digits(float(layout.reverse_width))
        notes += (
            f"For the main sign of moment; the other one asks for {other} by the cracked section, and for "
            f"{least} at least (b_t {width} m).",
        )
    return SheetTable("Cracked bending", ("item", "formula", "value"), rows, notes, words=(0, 1))


def _cracked_moment(checked: Checked) -> str:
    """Moment of the cracked section, and the sideways one that stands with it where both ask for most."""
    m, demand = checked.measures, provided_of(checked)
    upright, side = (float(v) for v in demand.oblique or (0.0, 0.0))
    carried = m["cracked_steel"] * checked.basis.strengths.steel * m["cracked_arm"]
    if side and abs(carried - float(demand.moment)) >= abs(carried - abs(upright)):
        return f"{kilo(abs(upright), 'kNm')} (with {kilo(abs(side), 'kNm')} sideways)"
    return kilo(float(demand.moment), "kNm")


def layout_table(checked: Checked, settings: ConcreteSettings) -> SheetTable:
    """Steel by bands: main bars, mesh, shear steel, bars across, stirrups, laps; with its weight."""
    basis, m, practice = checked.basis, checked.measures, settings.practice
    d, layout = basis.detailing, amounts_of(checked).layout

    def band(name: str, how: str, volume: object) -> tuple[str, str, str, str]:
        value = float(volume)  # type: ignore[arg-type]
        return name, how, digits(value * 1e4), digits(value * STEEL_DENSITY / basis.pitch)

    rows = (
        band("main bars", _bar_words(checked, settings), layout.main),
        band(
            "mesh, both ways",
            f"{d.mesh_area * 1e4:.2f} cm²/m each way{_thick_words(checked, practice)}",
            layout.mesh,
        ),
        band(
            "diagonal or added mesh at the supports",
            f"what q_d / {basis.strengths.words_shear_steel} asks beyond the mesh; most "
            f"{cm2(m['web_steel'], 'cm²/m')} each way",
            layout.shear,
        ),
        band("bars across beyond the mesh", "none: bending across has to stay within the mesh", 0.0),
        band(
            "stirrups of beams and kerbs",
            f"two legs of {practice.stirrup_bar * 1e3:g} mm at {practice.stirrup_spacing * 1e3:g} mm "
            "or more, with hooks",
            layout.stirrups,
        ),
        band(
            "bars along beams and kerbs",
            f"{practice.skin_ratio:g} of the section, at least 4 of {practice.corner_bar * 1e3:g} mm",
            layout.skin,
        ),
        band("laps and anchorage of main bars", _bar_laps(checked, practice), layout.bar_laps),
        band("laps and anchorage of the mesh", _mesh_laps(checked, practice), layout.mesh_laps),
        band("spacers, chairs, trimmers", f"{practice.allowance:g} of the above", layout.extra),
        band("all steel", "sum", layout.volume),
    )
    notes = (
        *((MEANS,) if checked.member is not None else ()),
        f"Spacing of the mesh {m['mesh_spacing']:.2f} of the largest allowed. Laps l_0 and anchorage l_b by "
        "EN 1992-1-1, 8.4 and 8.7; lengths of bars and sheets are common practice, shares for curtailed bars "
        "and stirrups from memory: settings all. Waste of cutting is not counted unless the share of spacers "
        "and the like holds it.",
    )
    header = ("band", "how much", "mean section [cm²]", "per plan area [kg/m²]")
    return SheetTable("Reinforcement", header, rows, notes, marked=(len(rows) - 1,), words=(0, 1))


def _thick_words(checked: Checked, practice: SteelPractice) -> str:
    """Say what thick parts of the surface get beyond the mesh, where there are such parts."""
    area, needed = checked.basis.detailing.mesh_area, checked.measures["mesh_needed"]
    if needed <= area:
        return f", {practice.shell_ratio:g} of the thickest surface or more"
    return (
        f"; mesh needed: {practice.shell_ratio:g} t in parts thicker than "
        f"{area / practice.shell_ratio * 1e3:.0f} mm, up to {needed * 1e6:.0f} mm²/m"
    )


def _bar_words(checked: Checked, settings: ConcreteSettings) -> str:
    """How many main bars, and how many of them there are in the mean over the span."""
    d, count = checked.basis.detailing, _whole(checked.measures["bars"])
    if checked.member is not None:
        return f"at most {count} of {d.main_bar * 1e3:g} mm; as much at each station as it asks for"
    needed = provided_of(checked)
    main = max(float(needed.steel), checked.measures["least_steel"])
    main += checked.measures["main_steel_reverse"]
    return (
        f"{count} of {d.main_bar * 1e3:g} mm ({digits(main * 1e4)} / {d.bar_area * 1e4:.3f} cm²); "
        f"mean over the span {settings.practice.curtailed:g} of it"
    )


def _lengths(checked: Checked, bar: float) -> tuple[float, float]:
    """Anchorage and lap of a bar [m]."""
    concrete, stress = checked.basis.concrete, checked.basis.strengths.steel
    anchor = anchorage_length(bar, concrete=concrete, stress=stress)
    return anchor, lap_length(bar, concrete=concrete, stress=stress)


def _bar_laps(checked: Checked, practice: SteelPractice) -> str:
    anchor, lap = _lengths(checked, checked.basis.detailing.main_bar)
    return f"l_0 {lap:.2f} m where bars are longer than {practice.stock:g} m; l_b {anchor:.2f} m at both ends"


def _mesh_laps(checked: Checked, practice: SteelPractice) -> str:
    anchor, lap = _lengths(checked, checked.basis.detailing.mesh_bar)
    edges = surface_edges(checked.section.strips)
    wide, long, words = practice.sheet_width, practice.sheet_length, "sheets"
    if min(wide, long) <= 2.0 * lap:
        wide, long, words = practice.stock, practice.stock, "loose bars"
    run = checked.measures["surface"] / max(0.5 * edges, 1.0)
    along = lap_share(checked.basis.line.length, piece=wide, lap=lap, whole=True)
    across = lap_share(run, piece=long, lap=lap)
    return (
        f"{words} of {long:g} m across, {wide:g} m along, l_0 {lap:.2f} m: {100 * float(across):.1f} and "
        f"{100 * float(along):.1f} %; l_b {anchor:.2f} m at both ends and {edges} edges"
    )
