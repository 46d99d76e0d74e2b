"""Several families of designs in one search: problems with other variables, one vector, one archive.

The vector is [number of the family, its variables as shares of their ranges, zeros to the longest]. All else
of the search is unchanged: the archive compares objectives, whatever family they come from; parents are of
one family, and no slope is taken along its number (`longvault.optimise.problem.Problem.kinds`).
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from longvault.optimise.problem import Evaluate, Problem, Scores, frozen
from longvault.sections.symbols import Array, IntArray


@dataclass(frozen=True, slots=True, eq=False)
class Families:
    """The batched function of several problems with the same objectives and limits.

    Parameters
    ----------
    problems : tuple of Problem
        One a family.
    """

    problems: tuple[Problem, ...]

    def split(self, x: Array) -> list[tuple[int, IntArray, Array]]:
        """For each family that occurs in x (N, 1 + d): its number, its rows, their own variables."""
        numbers = np.clip(np.rint(x[:, 0]), 0, len(self.problems) - 1)
        parts = []
        for number, problem in enumerate(self.problems):
            rows = np.flatnonzero(numbers == number)
            if len(rows):
                share = x[rows, 1 : 1 + len(problem.lower)]
                own = problem.lower + share * (problem.upper - problem.lower)
                parts.append((number, rows, problem.snap(own)))
        return parts

    def rows_of(self, number: int, own: Array) -> Array:
        """Vectors (N, 1 + d) of designs of one family, from their own variables."""
        problem = self.problems[number]
        span = np.where(problem.upper > problem.lower, problem.upper - problem.lower, 1.0)
        rows = np.zeros((len(own), 1 + max(len(one.lower) for one in self.problems)))
        rows[:, 0] = number
        rows[:, 1 : 1 + len(span)] = (own - problem.lower) / span
        return rows

    def rounded(self, x: Array) -> Array:
        """Vectors with stepped variables on their steps and nothing behind the last variable."""
        result = np.empty_like(x)
        for number, rows, own in self.split(x):
            problem = self.problems[number]
            result[rows] = self.rows_of(number, own)
            free = 1 + np.flatnonzero((np.asarray(problem.step) == 0) & (problem.upper > problem.lower))
            result[np.ix_(rows, free)] = x[np.ix_(rows, free)]  # as they were: rounding twice changes nothing
        return result

    def steps(self, x: Array) -> Array:
        """Step of each variable of each vector, as a share of its range; 0 for a continuous one."""
        result = np.zeros(x.shape)
        for number, rows, _ in self.split(x):
            problem = self.problems[number]
            span = np.where(problem.upper > problem.lower, problem.upper - problem.lower, 1.0)
            result[rows, 1 : 1 + len(span)] = np.asarray(problem.step) / span
        return result

    def __call__(self, x: Array) -> Scores:
        """Score vectors x (N, 1 + d), each by the function of its family."""
        return self._scored(x, lambda problem: problem.evaluate)

    def screen(self, x: Array) -> Scores:
        """Score vectors x (N, 1 + d), each by the screen of its family where it has one."""
        return self._scored(x, lambda problem: problem.screen or problem.evaluate)

    def pieces(self, x: Array) -> Array:
        """Pieces of vectors x (N, 1 + d), each by those of its family, -1 (holding) to the most of any."""
        found = [(one, one.pieces) for one in self.problems]
        widths = [
            0 if pieces is None else pieces(one.snap(one.lower[None])).shape[1] for one, pieces in found
        ]
        result = np.full((len(x), max(widths)), -1.0)
        for number, rows, own in self.split(x):
            pieces = found[number][1]
            if pieces is not None:
                result[rows, : widths[number]] = pieces(own)
        return result

    def _scored(self, x: Array, function: Callable[[Problem], Evaluate]) -> Scores:
        first = self.problems[0]
        objectives = np.full((len(x), len(first.objectives)), np.nan)
        margins = np.full((len(x), len(first.margin_names)), np.nan)
        for number, rows, own in self.split(x):
            scores = function(self.problems[number])(own)
            objectives[rows], margins[rows] = scores.objectives, scores.margins
        return Scores(objectives, margins)


def united(problems: Sequence[Problem]) -> Problem:
    """Join problems of several families into one.

    Raises
    ------
    ValueError
        If they do not have the same objectives and limits, or there is none.

    Examples
    --------
    >>> from longvault.optimise import Objective, Scores
    >>> goals = (Objective("near 0"), Objective("near 2"))
    >>> def parabolas(x):
    ...     return Scores(np.hstack([x[:, :1]**2, (x[:, :1] - 2) ** 2]), np.empty((len(x), 0)))
    >>> one, two = Problem([-3.0], [3.0], goals, parabolas), Problem([0.0, 0.0], [1.0, 1.0], goals, parabolas)
    >>> both = united([one, two])
    >>> both.evaluate(both.snap(np.array([[0.2, 0.5, 7.0], [1.0, 0.5, 0.5]]))).objectives.tolist()
    [[0.0, 4.0], [0.25, 2.25]]
    """
    if not problems:
        raise ValueError("problems: got none; there must be one a family")
    first = problems[0]
    for other in problems[1:]:
        if (other.objectives, other.margin_names) != (first.objectives, first.margin_names):
            raise ValueError("problems: families searched together must have the same objectives and limits")
    families = Families(tuple(problems))
    longest = max(len(problem.lower) for problem in problems)
    seeds = [
        families.rows_of(i, problem.snap(np.asarray(problem.seeds))) for i, problem in enumerate(problems)
    ]
    return replace(
        first,
        lower=frozen([-0.5, *np.zeros(longest)]),
        upper=frozen([len(problems) - 0.5, *np.ones(longest)]),
        step=frozen([1.0, *np.zeros(longest)]),
        evaluate=families,
        seeds=_in_turn(seeds),
        kinds=families,
    )


def _in_turn(seeds: list[Array]) -> Array:
    """Rows of several arrays, one of each in turn, so that a small first generation holds every family."""
    places = np.concatenate([np.arange(len(rows)) for rows in seeds])
    return np.concatenate(seeds)[np.argsort(places, kind="stable")]
