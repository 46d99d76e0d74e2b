"""What would mend a section: the least change of its variables that holds every limit of a brief."""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from longvault.constraints.remedies import outer_edges
from longvault.optimise import Problem, Scores, SearchSettings, search
from longvault.optimise.given_section import GivenSection
from longvault.optimise.mend import bounds_around, mended
from longvault.optimise.section_designs import Design, scores_of
from longvault.optimise.section_problem import section_problem
from longvault.sections.families import Family, Variable
from longvault.sections.families.registry import FAMILIES, make_family
from longvault.sections.section_file import Section
from longvault.sections.symbols import Array
from longvault.studies.brief_basis import basis_of, proving_of, setting_of, variable_key, variables_of
from longvault.studies.brief_model import Brief
from longvault.studies.brief_units import unit_of, with_unit
from longvault.studies.checked import Checked, check_section, described_bays

SPARES = (0.0, 0.02, 0.05, 0.1)
"""What is kept in hand where the fine proof refuses what the analysis of the search lets through."""
LOOK_ROUND = SearchSettings(evaluations=4000, seed=1, population=100)
"""Search for designs to begin from, where none is found near the starts of the family."""
OBJECTIVES = ("area", "height")


@dataclass(frozen=True, slots=True, eq=False)
class Mend:
    """The least change found.

    Parameters
    ----------
    checked : Checked
        The mended section, proved at fine resolution; it holds every limit.
    design : Design
        Its family and variables.
    changes : mapping of variable key to (float, float)
        From and to, in the unit of the key; unchanged variables are left out.
    distance : float
        Norm of the changes as shares of the ranges of the variables.
    """

    checked: Checked
    design: Design
    changes: Mapping[str, tuple[float, float]]
    distance: float


@dataclass(frozen=True, slots=True, eq=False)
class _Spared:
    """Scores with all margins raised, so that something is kept in hand."""

    problem: Problem
    spare: float

    def __call__(self, x: Array) -> Scores:
        scores = self.problem.evaluate(x)
        return Scores(scores.objectives, scores.margins + self.spare)


def mend_section(section: Section, data: Mapping[str, Any], brief: Brief) -> Mend | None:
    """Find the least change of a section that holds every limit of a brief; None where none is found.

    A design file of a family is changed in the variables of that family. Any other section is made taller
    and its parts thicker; if that is not enough, it is given upright members at its outer edges.

    Parameters
    ----------
    section : Section
    data : mapping
        What its file holds: ``family`` and ``variables``, if it is a design.
    brief : Brief
    """
    known = design_of(data, brief)
    if known is not None:
        return _mend(*known, brief)
    plain = GivenSection(section)
    found = _mend(plain, plain.variables, plain.unchanged, brief)
    if found is None and len(outer_edges(section.strips)) == 2:
        edged = GivenSection(section, edged=True)
        found = _mend(edged, edged.variables, edged.unchanged, brief)
    return found


def design_of(data: Mapping[str, Any], brief: Brief) -> tuple[Family, tuple[Variable, ...], Array] | None:
    """Family, variables with the ranges of the brief, and values of a design file; None for another one."""
    if data.get("family") not in FAMILIES or not isinstance(data.get("variables"), Mapping):
        return None
    family = make_family(data["family"], setting_of(brief))
    variables = variables_of(brief, family)
    try:
        return family, variables, np.array([float(data["variables"][v.name]) for v in variables])
    except (KeyError, TypeError, ValueError):
        return None


def roof_problem_of(
    family: Family, variables: tuple[Variable, ...], x: Array, brief: Brief, *, always: bool = True
) -> Problem:
    """Make the problem of one family with every limit worked out for every design, bounds that take in x."""
    proving, basis = proving_of(brief), basis_of(brief)
    looked = Section("module", family.strips(x), family.joints)
    if proving is not None:
        proving = replace(proving, bays=described_bays(looked, proving.bays))
    if basis.crosswise is not None:
        crosswise = replace(basis.crosswise, bays=described_bays(looked, basis.crosswise.bays))
        basis = replace(basis, crosswise=crosswise)
    one = section_problem(family, variables, basis, OBJECTIVES, proving=proving, always=always)
    low, high = bounds_around(one, x)
    return replace(one, lower=low, upper=high)


def _mend(family: Family, variables: tuple[Variable, ...], x: Array, brief: Brief) -> Mend | None:
    problem = roof_problem_of(family, variables, x, brief)
    starts: Array | None = None
    for spare in SPARES:
        spared = replace(problem, evaluate=_Spared(problem, spare))
        found = mended(spared, x, starts=starts)
        if found is None and starts is None:
            staged = roof_problem_of(family, variables, x, brief, always=False)
            starts = _nearest_few(problem, x, search(staged, LOOK_ROUND).front.x)
            found = mended(spared, x, starts=starts) if len(starts) else None
        if found is None:
            return None
        design = Design(scores_of(problem)[0], found.design.x[0])
        section = design.section("mended section")
        checked = check_section(section, basis_of(brief), proving_of(brief), member=design.member)
        if checked.feasible:
            return Mend(
                checked, design, _changes(variables, problem.snap(x[None])[0], design.x), found.distance
            )
    return None


def _nearest_few(problem: Problem, x: Array, found: Array) -> Array:
    """Take the designs nearest to x, as shares of the ranges."""
    span = np.where(problem.upper > problem.lower, problem.upper - problem.lower, 1.0)
    return found[np.argsort((((found - x) / span) ** 2).sum(axis=1), kind="stable")[:8]]


def _changes(variables: tuple[Variable, ...], old: Array, new: Array) -> dict[str, tuple[float, float]]:
    found = {}
    for variable, a, b in zip(variables, old.tolist(), new.tolist(), strict=True):
        key, per_si = variable_key(variable)
        if abs(b - a) > 1e-6 * (variable.upper - variable.lower):
            found[key] = (a * per_si, b * per_si)
    return found


def mend_lines(mend: Mend | None) -> list[str]:
    """Say in words what the least change is, the largest first by what it is of its range."""
    if mend is None:
        return ["No change of its variables was found that holds every limit."]
    lines = [
        f"The least change found that holds every limit (size {mend.distance:.2f}: norm of the changes, "
        "each as a share of its range):"
    ]
    for key, (old, new) in mend.changes.items():
        unit = unit_of(key)
        shown = (with_unit(float(f"{value:.4g}"), unit) for value in (old, new))
        lines.append(f"  {key.removesuffix(f'_{unit}').replace('_', ' ')}: {' -> '.join(shown)}")
    governing = mend.checked.governing
    lines.append(f"Then {governing.limit.title} governs, with {-100 * governing.margin:.1f} % in hand.")
    return lines


def mend_document(mend: Mend | None) -> dict[str, Any] | None:
    """Return the same as a JSON object; None where nothing was found."""
    if mend is None:
        return None
    return {
        "distance": mend.distance,
        "changes": {key: {"from": old, "to": new} for key, (old, new) in mend.changes.items()},
        "governing": mend.checked.governing.limit.key,
        "margins": {row.limit.key: row.margin for row in mend.checked.rows},
    }
