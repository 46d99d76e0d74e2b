"""``longvault prove``: folded-plate analysis of any section file, no brief needed."""

import json
import math
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from longvault.sections.symbols import CAUTION
from longvault.studies.cli.common import BadInput, judged_section

if TYPE_CHECKING:
    from longvault.constraints.plates_proof import Proof
    from longvault.sections import Section

CLOSES, OPEN = 1e-6, 1e-2
"""Equilibrium that closes no better than the first is told, no better than the second is refused."""

RANGES = {
    "--span-m": (0.5, 500.0, "m", "is it in metres?"),
    "--modulus-GPa": (0.01, 1000.0, "GPa", "is it in GPa?"),
    "--surface-load-kN-m2": (-1000.0, 1000.0, "kN/m²", "is it in kN per square metre?"),
}
"""Numbers that are taken, and what to ask where one is not: its unit is doubtful."""

WIDTH = 110
"""The table is never cut to fewer columns than this; a narrow terminal wraps it."""

SIGNS = (
    "x right, z up, y along the span; movement + right and up (down is negative), rotation + from x to z. "
    "n_y along the span and n_s across: tension +. m_s: + with tension on the upper face (the left face "
    "of a vertical strip). n_ys: shear at 0.1 L, + where it points right (up, in a vertical strip) on a cut "
    "that faces the far end. Load: vertical, per area of mid-surface, down +. "
    "n_y, n_s, m_s and movement at mid-span."
)


@click.command(short_help="Folded-plate analysis of any section file, no brief needed.")
@click.argument("section", metavar="FILE|DIR:ID")
@click.option("--span-m", "span", type=float, required=True, help="Distance of the end diaphragms [m].")
@click.option("--surface-load-kN-m2", "load", type=float, required=True,
              help="Vertical load per area of mid-surface, down positive [kN/m2].")  # fmt: skip
@click.option("--modulus-GPa", "modulus", type=float, required=True, help="Young's modulus [GPa].")
@click.option(
    "--poisson", type=float, required=True, help="Poisson's ratio, 0 to below 0.5 (concrete: 0 to 0.2)."
)
@click.option("--bay", type=click.Choice(["lone", "interior", "end"]), default="lone", show_default=True,
              help="Who the neighbours are; other than lone needs joints in the file.")  # fmt: skip
@click.option("--pitch-m", "pitch", type=float,
              help="Distance of the modules [m]: struts then reach to the next one as it stands in a row "
              "[default: to the plane of symmetry mid-slot].")  # fmt: skip
@click.option("--harmonics", type=click.IntRange(1, 500), default=25, show_default=True,
              help="Number of odd harmonics along the span.")  # fmt: skip
@click.option("--json", "as_json", is_flag=True, help="Print one JSON document and nothing else.")
@click.option("--draw", type=click.Path(path_type=Path), metavar="FILE.png|svg",
              help="Draw how the section loses its shape, in every bay the file describes.")  # fmt: skip
def command(
    section: str,
    span: float,
    load: float,
    modulus: float,
    poisson: float,
    bay: str,
    pitch: float | None,
    harmonics: int,
    as_json: bool,
    draw: Path | None,
) -> None:
    """Analyse a section (file, or design DIR:ID of a run) as a folded plate.

    It spans simply between two end diaphragms. They hold the section in its plane and let it warp; long
    edges are free unless a joint of the file and --bay say otherwise. Beam theory stands beside every value.

    Preliminary design only: local codes and a licensed engineer decide.
    """
    from longvault.constraints.plates_proof import prove

    for name, value in (("--span-m", span), ("--surface-load-kN-m2", load), ("--modulus-GPa", modulus)):
        if not math.isfinite(value) or (value <= 0 and name != "--surface-load-kN-m2"):
            raise BadInput(
                f"{name}: got {value:g}; must be a finite number" + (" above 0" if value <= 0 else "")
            )
    _check_ranges({"--span-m": span, "--modulus-GPa": modulus, "--surface-load-kN-m2": load})
    read, said = judged_section(section, pitch)
    try:
        proof = prove(
            read, span=span, surface_load=load * 1e3, modulus=modulus * 1e9, poisson=poisson,
            bay=bay, pitch=pitch, harmonics=harmonics,  # type: ignore[arg-type]
        )  # fmt: skip
    except ValueError as error:
        raise BadInput(f"{section}: {error}") from None
    _check_balance(section, float(proof.balance.worst))
    asked = {
        "span_m": span, "surface_load_kN_m2": load, "modulus_GPa": modulus, "poisson": poisson, "bay": bay,
        "pitch_m": pitch, "harmonics": harmonics,
    }  # fmt: skip
    if draw is not None:
        _draw(draw, read, proof, asked)
    if as_json:
        shown = {"note": said or None} | document(read, proof, asked)
        click.echo(json.dumps(shown, indent=1, allow_nan=False))
    else:
        _show(read, proof, asked, said)


def _check_balance(section: str, worst: float) -> None:
    """Refuse a solution that is none; tell of one that closes badly."""
    if not worst < math.inf:
        raise BadInput(
            f"{section}: has no finite solution; look for strips far shorter or thinner than the others"
        )
    if worst > OPEN:
        raise BadInput(
            f"{section}: equilibrium does not close ({worst:.1e} of the load is left over), so nothing of "
            "the solution holds; look for strips far shorter or thinner than the others, and for the units "
            "(m, kN)"
        )
    if worst > CLOSES:
        click.echo(
            f"note: equilibrium closes only to {worst:.1e}: a strip is very short for its thickness", err=True
        )


def _check_ranges(given: dict[str, float]) -> None:
    """Refuse numbers that no roof has, and say what may have been meant."""
    from longvault.studies.brief_units import likely_slip

    for name, value in given.items():
        low, high, unit, doubt = RANGES[name]
        if not low <= value <= high:
            slip = likely_slip(value, unit, low, high) or doubt
            raise BadInput(f"{name}: got {value:g} {unit}; must be {low:g} to {high:g} {unit}; {slip}")


def _draw(path: Path, section: "Section", proof: "Proof", asked: dict[str, Any]) -> None:
    """Draw the bays that the section describes side by side, each proved like the one asked for."""
    from longvault.constraints.plates_proof import prove
    from longvault.studies.checked import described_bays
    from longvault.studies.plots import FORMATS, save
    from longvault.studies.shape_figure import ORDER, proof_shape, shape_figure

    if path.suffix.lower().lstrip(".") not in FORMATS:
        raise BadInput(f"--draw: got {path.name!r}; must end in .{' or .'.join(FORMATS)}")
    load = asked["surface_load_kN_m2"]
    shapes = []
    for bay in described_bays(section, ORDER):
        one = proof if bay == asked["bay"] else prove(
            section, span=asked["span_m"], surface_load=load * 1e3, modulus=asked["modulus_GPa"] * 1e9,
            poisson=asked["poisson"], bay=bay, pitch=asked["pitch_m"], harmonics=asked["harmonics"],
        )  # fmt: skip
        shapes.append(proof_shape(section, one, bay))
    words = f"elastic, {load:g} kN/m² of surface, mid-span of {asked['span_m']:g} m"
    try:
        save(shape_figure(section, shapes, title=f"{section.name}: how it loses its shape", load=words), path)
    except OSError as error:
        raise BadInput(f"{path}: cannot be written ({error.strerror or error})") from None
    click.echo(f"{path}: how the section loses its shape", err=True)


def document(section: "Section", proof: "Proof", asked: dict[str, Any]) -> dict[str, Any]:
    """Return the JSON document of a proof: flat keys with their units."""
    moved = proof.moved
    columns: dict[str, list[Any]] = {
        "x_m": proof.x.tolist(),
        "z_m": proof.z.tolist(),
        "part": list(proof.part),
        "ux_m": moved[:, 0].tolist(),
        "uz_m": moved[:, 2].tolist(),
        "rotation_rad": moved[:, 3].tolist(),
        "n_y_kN_m": (proof.n_y / 1e3).tolist(),
        "n_s_kN_m": (proof.n_s / 1e3).tolist(),
        "m_s_kNm_m": (proof.m_s / 1e3).tolist(),
        "n_ys_0p1L_kN_m": (proof.n_ys / 1e3).tolist(),
    }
    rows = zip(*columns.values(), strict=True)
    return {
        "caution": CAUTION,
        "name": section.name,
        **asked,
        "signs": SIGNS,
        "nodes": [dict(zip(columns, row, strict=True)) for row in rows],
        "reaction_total_kN": float(proof.balance.reaction) / 1e3,
        "equilibrium_residual": float(proof.balance.worst),
        "convergence_change": proof.change,
        "strips_used": len(proof.solved.strips.ends),
        "beam": _beam(section, proof, asked["span_m"]),
        "not_covered": _not_covered(section, asked["span_m"]),
    }


def _not_covered(section: "Section", span: float) -> list[str]:
    from longvault.studies.not_covered import NOT_COVERED

    return [*_short(section, span), *NOT_COVERED]


def _short(section: "Section", span: float) -> list[str]:
    from longvault.studies.not_covered import short_vault

    short = short_vault(section.strips, span)
    return [short] if short else []


def _beam(section: "Section", proof: "Proof", span: float) -> dict[str, Any]:
    from longvault.constraints.plates_beam import length_label, mean_radius, verdict

    stress, deflection = float(proof.share.stress), float(proof.share.deflection)
    return {
        "sideways": "held" if proof.held else "free",
        "moment_kNm": float(proof.beam.moment) / 1e3,
        "ux_m": float(proof.beam.right),
        "uz_m": float(proof.beam.up),
        "n_y_kN_m": (proof.beam_n_y / 1e3).tolist(),
        "share_stress": stress if math.isfinite(stress) else None,
        "share_deflection": deflection if math.isfinite(deflection) else None,
        "label": length_label(span, mean_radius(section.strips)),
        "verdict": verdict(proof.share),
    }


def _show(section: "Section", proof: "Proof", asked: dict[str, Any], said: str) -> None:
    from rich.console import Console
    from rich.table import Table

    beam = _beam(section, proof, asked["span_m"])
    table = Table(
        title=f"{section.name}: folded plate, {asked['bay']} bay, span {asked['span_m']:g} m", box=None
    )
    heads = "x m|z m|part|ux mm|uz mm|rot mrad|n_y kN/m|beam n_y|n_s kN/m|m_s kNm/m|n_ys kN/m"
    for head in heads.split("|"):
        table.add_column(head, justify="left" if head == "part" else "right", no_wrap=True)
    for i, part in enumerate(proof.part):
        right, _, up, turn = proof.moved[i] * 1e3
        n_y, beam_n_y, n_s, m_s, n_ys = (
            float(values[i]) / 1e3 for values in (proof.n_y, proof.beam_n_y, proof.n_s, proof.m_s, proof.n_ys)
        )
        table.add_row(
            f"{proof.x[i]:.3f}", f"{proof.z[i]:.3f}", part, f"{right:.2f}", f"{up:.2f}", f"{turn:.3f}",
            f"{n_y:.2f}", f"{beam_n_y:.2f}", f"{n_s:.2f}", f"{m_s:.3f}", f"{n_ys:.2f}",
        )  # fmt: skip
    console = Console(highlight=False)
    console.width = max(console.width, WIDTH)
    console.print(table)
    for line in (
        f"Total reaction {float(proof.balance.reaction) / 1e3:.2f} kN; "
        f"equilibrium closes to {float(proof.balance.worst):.0e}.",
        f"Fineness: {len(proof.solved.strips.ends)} strips, {asked['harmonics']} odd harmonics; "
        f"halving the strips changed the largest values by {100 * proof.change:.2f} %.",
        f"Beam theory, {beam['sideways']} sideways: M {beam['moment_kNm']:.1f} kNm, "
        f"ux {beam['ux_m'] * 1e3:.2f} mm, uz {beam['uz_m'] * 1e3:.2f} mm.",
        f"Vault: {beam['label']}. It {beam['verdict']}.",
        *_short(section, asked["span_m"]),
        *([f"{said}."] if said else []),
        f"Signs: {SIGNS}",
        CAUTION,
    ):
        console.print(line, soft_wrap=True)
