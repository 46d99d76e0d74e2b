"""Figures of a run: the front, its growth, the picked sections to scale with their stresses."""

from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from longvault.constraints.basis import Basis
from longvault.constraints.concrete_checks import torsion_covered
from longvault.constraints.measures import MEASURES
from longvault.optimise import Outcome
from longvault.sections import Section
from longvault.studies import plots
from longvault.studies.brief_units import UNITS
from longvault.studies.checked import Checked
from longvault.studies.end_figure import draw_end_structure
from longvault.studies.front_figure import Measure, front_figure
from longvault.studies.ideal_share import ideal_line, ideal_lines
from longvault.studies.isostatics_figure import isostatics_figure
from longvault.studies.light_figures import light_figure
from longvault.studies.record_designs import Delivered
from longvault.studies.record_write import drop_others
from longvault.studies.shape_figure import shape_figure, shapes_of
from longvault.studies.sheet_ends import ends_of
from longvault.studies.sheet_light import light_question
from longvault.studies.steel_drawing import draw_steel
from longvault.studies.taper_drawing import draw_taper

if TYPE_CHECKING:
    from longvault.studies.run import Job

KINDS = ("png", "svg")


def draw_figures(job: "Job", folder: Path, outcome: Outcome, delivered: Delivered, checked: Checked) -> None:
    """Draw everything a run shows into ``folder``; drop figures of an earlier stop.

    ``checked`` is the design to look at first: it is drawn in all ways.
    """
    figures: dict[str, Any] = {}
    if delivered.picks:  # a front whose every chosen design the folded plate refuses has none
        figures["front"] = _front(job, delivered)
    if len(outcome.front):
        figures["convergence"] = plots.convergence_figure(outcome.history)
    figures |= _sections(delivered, checked.basis)
    figures |= first_figures(checked)
    paths = {folder / f"{name}.{kind}": figure for name, figure in figures.items() for kind in KINDS}
    for path, figure in paths.items():
        plots.save(figure, path)
    drop_others(folder, set(paths))


def _sections(delivered: Delivered, basis: Basis) -> dict[str, Any]:
    """Draw every picked section (the root of a taper) with the stresses of its ultimate moment."""
    sign = 1.0 if basis.support.moment > 0 else -1.0
    figures = {}
    for place in sorted({delivered.names.index(name) for name in delivered.picks.values()} or {0}):
        section, moment = delivered.section(place), sign * delivered.measures(place)["ultimate_moment"]
        if delivered.member(place) is not None:
            section = replace(section, name=f"{section.name}: root")
        figure = plots.section_figure(section, bay=basis.pitch, moment=moment)
        figures[f"section-{delivered.names[place]}"] = figure
    return figures


def first_figures(checked: Checked) -> dict[str, Any]:
    """Draw one checked design: its steel, its taper, how it loses its shape, its isostatics and light."""
    section, basis = checked.section, checked.basis
    name = section.name.rpartition(", ")[2]
    figures: dict[str, Any] = {f"steel-{name}": plots.scene_figure(draw_steel(checked))}
    if checked.member is not None:
        figures[f"taper-{name}"] = plots.scene_figure(draw_taper(checked))
    if checked.plates:
        load = f"elastic, heaviest characteristic combination, mid-span of {basis.span:g} m"
        title = f"{section.name}: how it loses its shape"
        figures[f"shape-{name}"] = shape_figure(section, shapes_of(checked), title=title, load=load)
    ends = ends_of(checked)
    if ends is not None:
        figures[f"ends-{name}"] = plots.scene_figure(draw_end_structure(checked, ends))
    return figures | closer_figures(section, basis)


def closer_figures(section: Section, basis: Basis) -> dict[str, Any]:
    """Isostatics of a single span, and light with sun and foci where a working plane is given."""
    figures: dict[str, Any] = {}
    name = section.name.rpartition(", ")[2]
    if torsion_covered(basis):
        title = f"{section.name}: isostatics"
        figures[f"isostatics-{name}"] = isostatics_figure(
            section.strips, span=basis.span, support=basis.support.key, held=basis.held, title=title
        )
    question = light_question(section, basis)
    if question is not None:
        figures[f"light-{name}"] = light_figure(section, question)
    return figures


def _front(job: "Job", delivered: Delivered) -> Any:
    keys = job.brief.search.objectives
    values = delivered.evaluation.measures
    shown = [
        Measure(MEASURES[key].title, values[key] * MEASURES[key].per_si, UNITS.get(MEASURES[key].unit, ""))
        for key in keys[:3]
    ]
    most = job.brief.limits.height_max_m
    bounded = keys[:2] == ("area", "section_modulus") and delivered.member(0) is None
    binding = [delivered.evaluation.limits[int(i)].key for i in delivered.evaluation.governing]
    return front_figure(
        shown[0],
        shown[1],
        shown[2] if len(shown) > 2 else None,
        knee=delivered.names.index(delivered.picks["knee"]),
        height=most if bounded else None,
        ideal=lambda areas: ideal_line(delivered.designs, areas, most),
        families=delivered.families,
        note=ideal_lines(delivered.ideal_ratios, binding),
        title=f"{job.brief.name}: {len(delivered.names)} designs of the front",
    )
