"""The least change that mends a design: the nearest point of its space that holds every limit.

Distance is the Euclidean norm of the changes as shares of the ranges of the variables. From several points
the limits are linearised again and again and the nearest point that keeps them is taken, within a trust
region (sequential projection: a least-distance problem a step, as in `longvault.optimise.polish`). Every
point tried counts, so what is returned holds the limits at the points it was evaluated at, not by a model.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from longvault.optimise.linear_model import Model, linearised
from longvault.optimise.polish import MEMORY
from longvault.optimise.problem import UNKNOWN, Designs, Problem, frozen
from longvault.optimise.walls import nearest_allowed
from longvault.sections.symbols import Array

ITERATIONS = 20
"""Linearisations from each point."""
BEGIN = 4
"""Points begun from: the design itself, and the best of those between it and the starts."""
LENGTHS = np.array([1.0, 0.5, 0.2, 0.05])
"""Shares of a step tried at once."""
PENALTY = 20.0
"""Weight of a margin above 0 against distance."""
TRUST = (1e-5, 0.1, 0.5)
"""Least, first and greatest trust region, as shares of the ranges."""
BETWEEN = 8
"""Points tried on the line from the design to each start."""
SPARE = 1e-6
"""How far inside its limits a point is aimed."""

Score = Callable[[Array], Designs]


@dataclass(frozen=True, slots=True, eq=False)
class Mended:
    """The least change found.

    Parameters
    ----------
    design : Designs
        One design, which holds every limit.
    distance : float
        Norm of its changes, as shares of the ranges.
    evaluations : int
        Designs tried.
    """

    design: Designs
    distance: float
    evaluations: int


def mended(
    problem: Problem, x: ArrayLike, *, starts: ArrayLike | None = None, iterations: int = ITERATIONS
) -> Mended | None:
    """Find the nearest design that holds every limit; None where none is found.

    Parameters
    ----------
    problem : Problem
        All its limits must be worked out for every design (no staging).
    x : array (d,)
        The design to mend; clipped to the bounds and rounded to the steps first.
    starts : array (k, d), optional
        Designs to begin from besides x; those of the problem otherwise. Good ones hold the limits.
    iterations : int

    Examples
    --------
    >>> from longvault.optimise import Objective, Scores
    >>> goals = (Objective("x"), Objective("y"))
    >>> def short(x):
    ...     return Scores(x, 1.0 - x.sum(axis=1)[:, None])   # limit: x + y >= 1
    >>> mended(Problem([0.0, 0.0], [1.0, 1.0], goals, short, ("sum",)), [0.2, 0.4]).design.x.round(3).tolist()
    [[0.4, 0.6]]
    """
    tried = _Tried(problem, problem.snap(np.atleast_2d(np.asarray(x, dtype=np.float64))))
    begin = np.asarray(problem.seeds if starts is None else starts).reshape(-1, len(problem.lower))
    share = np.linspace(0.0, 1.0, BETWEEN + 1)[1:, None, None]
    line = tried.score(problem.snap((tried.x0 + share * (begin - tried.x0)).reshape(-1, len(problem.lower))))
    own = tried.score(tried.x0)
    if own.feasible[0]:
        return Mended(own, 0.0, tried.count)
    points = own.joined(_best_of_each(tried, line, len(begin)))
    points = points.take(np.argsort(np.r_[-1.0, tried.merit(points)[1:]], kind="stable")[:BEGIN])
    _project(problem, tried, points, iterations)
    _pull_back(problem, tried)
    if tried.best is None:
        return None
    return Mended(tried.best, float(tried.distance(tried.best.x)[0]), tried.count)


class _Tried:
    """Scores designs and keeps the nearest one that holds every limit."""

    def __init__(self, problem: Problem, x0: Array) -> None:
        self.problem, self.x0, self.count = problem, x0, 0
        self.best: Designs | None = None
        self.span = np.where(problem.upper > problem.lower, problem.upper - problem.lower, 1.0)

    def distance(self, x: Array) -> Array:
        change = (x - self.x0) / self.span
        size: Array = np.sqrt((change * change).sum(axis=-1))
        return size

    def score(self, x: Array) -> Designs:
        designs = self.problem.score(x)
        self.count += len(x)
        holding = designs.take(designs.feasible)
        if len(holding):
            far = self.distance(holding.x)
            near = holding.take([int(np.argmin(far))])
            if self.best is None or far.min() < self.distance(self.best.x)[0]:
                self.best = near
        return designs

    def merit(self, designs: Designs) -> Array:
        """Distance and penalised excess of each design."""
        merit: Array = self.distance(designs.x) + PENALTY * np.minimum(designs.violation, UNKNOWN)
        return merit


def _best_of_each(tried: _Tried, line: Designs, count: int) -> Designs:
    """Best point of each line; the rows of ``line`` run over the lines first."""
    if not count:
        return line
    merit = tried.merit(line).reshape(-1, count)
    return line.take(merit.argmin(axis=0) * count + np.arange(count))


def _project(problem: Problem, tried: _Tried, points: Designs, iterations: int) -> None:
    """Step from each point to the nearest point that keeps the linearised limits, again and again."""
    count = len(points)
    ones, rows = np.ones(len(problem.objectives)), np.arange(count)
    aim = (tried.x0 - problem.lower) / tried.span
    trust, merit = np.full(count, TRUST[1]), tried.merit(points)
    models: list[Model] = []
    for _ in range(iterations):
        model, _ = linearised(problem, points, ones, tried.score)
        models = [*models, model][-MEMORY:]
        step = _step(problem, model, models, aim, trust)
        x = problem.lower + (model.point[:, None] + LENGTHS[:, None] * step[:, None]) * tried.span
        ahead = tried.score(problem.snap(x.reshape(-1, x.shape[-1])))
        merits = tried.merit(ahead).reshape(count, len(LENGTHS))
        best = merits.argmin(axis=1)
        better = merits[rows, best] < merit - 1e-9
        trust = np.clip(trust * np.where(better, np.where(best == 0, 2.0, 1.0), 0.4), TRUST[0], TRUST[2])
        chosen = ahead.take(rows * len(LENGTHS) + best)
        points = chosen.joined(points).take(np.where(better, rows, count + rows))
        merit = np.where(better, merits[rows, best], merit)


def _step(problem: Problem, model: Model, models: list[Model], aim: Array, trust: Array) -> Array:
    """Step (B, d) towards the aim, brought back to what the last linearisations of the limits allow."""
    first = len(problem.objectives)
    room = np.concatenate([-SPARE - one.seen_from(model) for one in models], axis=1)
    slope = np.concatenate([one.slope for one in models], axis=1)
    own = np.concatenate([one.kinked(model) | (one is model) for one in models], axis=1)
    limit = np.tile(np.arange(model.value.shape[1]) >= first, len(models))
    reach = (np.abs(slope) * trust[:, None, None]).sum(axis=2)
    room = np.where(own & limit & (room < reach), room, np.inf)
    low = np.maximum(-trust[:, None], -model.point)
    high = np.minimum(trust[:, None], 1.0 - model.point)
    return nearest_allowed(np.clip(aim - model.point, low, high), slope, room, low, high)


def _pull_back(problem: Problem, tried: _Tried) -> None:
    """Bring single variables of the nearest design back, all the way or by a step, while it holds."""
    while tried.best is not None:
        x, before = tried.best.x[0], tried.distance(tried.best.x)[0]
        step = np.where(np.asarray(problem.step) > 0, np.asarray(problem.step), 0.02 * tried.span)
        back = np.clip(tried.x0[0] - x, -step, step)
        moved = [x + np.diag(move) for move in (tried.x0[0] - x, back, 0.1 * back)]
        tried.score(problem.snap(np.concatenate(moved)))
        if not tried.distance(tried.best.x)[0] < before - 1e-6:
            return


def bounds_around(problem: Problem, x: ArrayLike) -> tuple[Array, Array]:
    """Bounds that take a design in which lies outside those of the problem."""
    x = np.asarray(x, dtype=np.float64)
    return frozen(np.minimum(problem.lower, x)), frozen(np.maximum(problem.upper, x))
