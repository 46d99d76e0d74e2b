"""Figures of a run: the front, its growth, the picked sections to scale with their stresses."""

from pathlib import Path
from typing import TYPE_CHECKING, Any

from longvault.constraints.basis import Basis
from longvault.constraints.concrete_checks import torsion_covered
from longvault.constraints.measures import MEASURES
from longvault.optimise import Outcome
from longvault.sections import Section
from longvault.studies import plots
from longvault.studies.brief_basis import basis_of, proving_of
from longvault.studies.brief_units import UNITS
from longvault.studies.checked import check_section
from longvault.studies.isostatics_figure import isostatics_figure
from longvault.studies.light_figures import light_figure
from longvault.studies.record_designs import Delivered
from longvault.studies.record_write import drop_others
from longvault.studies.shape_figure import shape_figure, shapes_of
from longvault.studies.sheet_light import light_question

if TYPE_CHECKING:
    from longvault.studies.run import Job

KINDS = ("png", "svg")


def draw_figures(job: "Job", folder: Path, outcome: Outcome, delivered: Delivered) -> None:
    """Draw everything a run shows into ``folder``; drop figures of an earlier stop."""
    figures: dict[str, Any] = {}
    if delivered.picks:  # a front whose every chosen design the folded plate refuses has none
        figures["front"] = _front(job, delivered)
    if len(outcome.front):
        figures["convergence"] = plots.convergence_figure(outcome.history)
    basis = basis_of(job.brief)
    sign = 1.0 if basis.support.moment > 0 else -1.0
    for place in sorted({delivered.names.index(name) for name in delivered.picks.values()} or {0}):
        moment = sign * delivered.measures(place)["ultimate_moment"]
        figure = plots.section_figure(delivered.section(place), bay=basis.pitch, moment=moment)
        figures[f"section-{delivered.names[place]}"] = figure
    figures |= _shape(job, delivered)
    figures |= closer_figures(_first(delivered), basis)
    paths = {folder / f"{name}.{kind}": figure for name, figure in figures.items() for kind in KINDS}
    for path, figure in paths.items():
        plots.save(figure, path)
    drop_others(folder, set(paths))


def _shape(job: "Job", delivered: Delivered) -> dict[str, Any]:
    """Draw how the design to look at first loses its shape, where it was proved as a folded plate."""
    proving = proving_of(job.brief)
    if proving is None:
        return {}
    name = delivered.picks.get("knee", delivered.names[0])
    section = delivered.section(delivered.names.index(name))
    checked = check_section(section, basis_of(job.brief), proving)
    load = f"elastic, heaviest characteristic combination, mid-span of {checked.basis.span:g} m"
    title = f"{section.name}: how it loses its shape"
    return {f"shape-{name}": shape_figure(section, shapes_of(checked), title=title, load=load)}


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


def _first(delivered: Delivered) -> Section:
    """Return the design to look at first: the knee, or the only one."""
    return delivered.section(delivered.names.index(delivered.picks.get("knee", delivered.names[0])))


def _front(job: "Job", delivered: Delivered) -> Any:
    keys = job.brief.search.objectives
    values = delivered.evaluation.measures
    shown = [
        plots.Measure(
            MEASURES[key].title, values[key] * MEASURES[key].per_si, UNITS.get(MEASURES[key].unit, "")
        )
        for key in keys[:3]
    ]
    height = job.brief.limits.height_max_m if keys[:2] == ("area", "section_modulus") else None
    middle = delivered.names.index(delivered.picks["knee"])
    third = shown[2] if len(shown) > 2 else None
    title = f"{job.brief.name}: {len(delivered.names)} designs of the front"
    return plots.front_figure(shown[0], shown[1], third, knee=middle, height=height, title=title)
