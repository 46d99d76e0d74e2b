"""Designs of a roof's search problem, one family or several: each with its family and its own variables."""

from dataclasses import dataclass, replace

import numpy as np

from longvault.constraints.effects import Governing
from longvault.constraints.evaluate import Evaluation
from longvault.constraints.proof import Proving
from longvault.optimise.families import Families
from longvault.optimise.problem import Problem
from longvault.optimise.section_problem import SectionScores
from longvault.sections.families.tapered import Tapered
from longvault.sections.member import Member
from longvault.sections.section_file import Section
from longvault.sections.symbols import Array, IntArray


@dataclass(frozen=True, slots=True, eq=False)
class Design:
    """One design: the scores of its family, and its variables (d,)."""

    scores: SectionScores
    x: Array

    def section(self, name: str) -> Section:
        """Return it as a section (of the root, for a taper)."""
        family = self.scores.family
        return Section(name, family.strips(self.x), family.joints)

    @property
    def variables(self) -> dict[str, float]:
        """Value of each variable, SI."""
        names = (variable.name for variable in self.scores.family.variables)
        return dict(zip(names, self.x.tolist(), strict=True))

    @property
    def member(self) -> Member | None:
        """All sections of a design that varies along the span."""
        family = self.scores.family
        return family.member(self.x) if isinstance(family, Tapered) else None


def scores_of(problem: Problem) -> tuple[SectionScores, ...]:
    """Scores of each family of a section problem."""
    one = problem.evaluate
    found = [p.evaluate for p in one.problems] if isinstance(one, Families) else [one]
    scores = tuple(each for each in found if isinstance(each, SectionScores))
    if len(scores) != len(found):
        raise TypeError("problem: must be a section problem")
    return scores


def parts_of(problem: Problem, x: Array) -> list[tuple[SectionScores, IntArray, Array]]:
    """For each family that occurs in x (N, d): its scores, its rows, their own variables."""
    scores = scores_of(problem)
    if problem.kinds is None:
        return [(scores[0], np.arange(len(x)), x)]
    return [(scores[number], rows, own) for number, rows, own in problem.kinds.split(x)]


def designs_of(problem: Problem, x: Array) -> tuple[Design, ...]:
    """Designs of x (N, d), in that order."""
    placed = {
        int(row): Design(scores, design)
        for scores, rows, own in parts_of(problem, x)
        for row, design in zip(rows, own, strict=True)
    }
    return tuple(placed[row] for row in range(len(x)))


def judged(problem: Problem, x: Array, proving: Proving | None = None) -> Evaluation:
    """All measures and margins of x (N, d); with ``proving`` each is proved at fine resolution."""

    def one(scores: SectionScores, own: Array) -> Evaluation:
        return scores.evaluation(own, every=True) if proving is None else scores.proved(own, proving)

    return merged(len(x), [(rows, one(scores, own)) for scores, rows, own in parts_of(problem, x)])


def merged(count: int, parts: list[tuple[IntArray, Evaluation]]) -> Evaluation:
    """Join evaluations of some rows each into one of all rows."""
    if len(parts) == 1:
        return parts[0][1]
    first = parts[0][1]
    measures = {key: np.full(count, np.nan) for key in first.measures}
    margins = np.full((count, first.margins.shape[1]), np.nan)
    for rows, part in parts:
        margins[rows] = part.margins
        for key, values in part.measures.items():
            measures[key][rows] = values
    cases = {key: _case(count, key, parts) for key in first.cases}
    return replace(first, measures=measures, margins=margins, cases=cases)


def _case(count: int, key: str, parts: list[tuple[IntArray, Evaluation]]) -> Governing:
    names: tuple[str, ...] = ()
    index, y = np.zeros(count, dtype=np.intp), np.zeros(count)
    for rows, part in parts:
        case = part.cases[key]
        index[rows], y[rows] = case.index + len(names), case.y
        names += case.names
    return Governing(names, index, y)
