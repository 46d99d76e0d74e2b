"""The least value of one objective near a design, all limits kept: for prices, where small differences count.

Sequential linear programming in a trust region (R. Fletcher & E. Sainz de la Maza, Math. Program. 43 (1989)
235-256). The linearisations at the last points stay in force, as in `longvault.optimise.polish`: objectives
and limits that are the largest of several values have kinks. Steps are ignored: prices are slopes.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike
from scipy.optimize import linprog

from longvault.optimise.polish import Model, linearised
from longvault.optimise.problem import UNKNOWN, Designs, Problem, Scores
from longvault.sections.symbols import Array

ITERATIONS = 60
"""Linearisations."""
LENGTHS = np.array([1.0, 0.5, 0.2])
"""Shares of a step tried at once."""
PENALTY = 30.0
"""Weight of a margin above 0 against the objective over its scale."""
TRUST = (1e-6, 0.05, 0.2)
"""Least, first and greatest trust region, as shares of the ranges."""
SHAKEN = 0.02
"""How far a design is shaken, as a share of the ranges."""
KEPT = 40
"""Linearisations that stay in force."""
SPARE = 1e-7
"""How far inside its limits a point is aimed."""


@dataclass(frozen=True, slots=True, eq=False)
class Held:
    """Scores with one objective over its scale, and caps on any numbers among the limits.

    Parameters
    ----------
    evaluate : callable
        x (N, d) -> values (N, V) and margins (N, K).
    cost : array (V,)
        Weights of the values in the objective to make small.
    caps : array (V,)
        Most each value may be; inf for none. Margins are in units of ``scale``.
    scale : array (V,)
    """

    evaluate: Callable[[Array], tuple[Array, Array]]
    cost: Array
    caps: Array
    scale: Array

    def __call__(self, x: Array) -> Scores:
        """Score designs x (N, d): the objective twice, and all margins."""
        values, margins = self.evaluate(x)
        objective = (values * self.cost).sum(axis=1)[:, None]
        capped = np.isfinite(self.caps)
        over = (values[:, capped] - self.caps[capped]) / self.scale[capped]
        return Scores(np.repeat(objective, 2, axis=1), np.concatenate([margins, over], axis=1))


def least(problem: Problem, x: ArrayLike, *, iterations: int = ITERATIONS, shakes: int = 0) -> Designs:
    """Design near x (d,) of least first objective, all limits kept; steps of variables are ignored.

    Kinks can hold a descent up: ``shakes`` times the design found is shaken and the descent begun again.

    Examples
    --------
    >>> from longvault.optimise import Objective
    >>> def corner(x):
    ...     return Scores(x, (1.0 - x[:, :1] * x[:, 1:]))    # limit: x y >= 1
    >>> two = (Objective("x"), Objective("y"))
    >>> least(Problem([0.1, 0.1], [4.0, 2.0], two, corner, ("product",)), [2.0, 1.0]).x.round(4).tolist()
    [[0.5, 2.0]]
    """
    smooth = replace(problem, step=None)
    begin = smooth.score(smooth.snap(np.atleast_2d(np.asarray(x, dtype=np.float64))))
    scale = np.maximum(np.abs(begin.objectives[0]), 1e-12)
    best, rng = _descent(smooth, begin, scale, iterations), np.random.default_rng(0)
    for _ in range(shakes):
        shaken = best.x + SHAKEN * (smooth.upper - smooth.lower) * rng.standard_normal(best.x.shape)
        other = _descent(smooth, smooth.score(smooth.snap(shaken)), scale, iterations)
        best = other if _merit(other, scale)[0] < _merit(best, scale)[0] else best
    return best


def _descent(smooth: Problem, point: Designs, scale: Array, iterations: int) -> Designs:
    """Follow linear programmes from a point until the trust region closes."""
    span = np.where(smooth.upper > smooth.lower, smooth.upper - smooth.lower, 1.0)
    trust, merit = TRUST[1], _merit(point, scale)[0]
    centre, _ = linearised(smooth, point, scale, smooth.score)
    models = [centre]
    for _ in range(iterations):
        step = _step(centre, models, len(scale), trust)
        ahead = smooth.score(smooth.snap(smooth.lower + (centre.point + LENGTHS[:, None] * step) * span))
        merits = _merit(ahead, scale)
        best = int(np.argmin(merits))
        better = merits[best] < merit - 1e-10
        factor = (2.0 if best == 0 else 1.0) if better else 0.5
        trust = float(np.clip(trust * factor, TRUST[0], TRUST[2]))
        probe = ahead.take([best])
        model, _ = linearised(smooth, probe, scale, smooth.score)
        models = [*models, model][-KEPT:]
        if better:
            point, centre, merit = probe, model, merits[best]
        elif trust <= TRUST[0]:
            break
    return point


def _merit(designs: Designs, scale: Array) -> Array:
    excess = np.clip(designs.margins + SPARE, 0.0, UNKNOWN).sum(axis=1)
    merit: Array = designs.objectives[:, 0] / scale[0] + PENALTY * excess
    return np.where(np.isfinite(merit), merit, np.inf)


def _step(model: Model, models: list[Model], objectives: int, trust: float) -> Array:
    """Step (d,) of the linear programme: least objective, limits kept as far as the trust region allows.

    Unknowns: the step, the objective, the excess over the limits.
    """
    size = model.point.shape[1]
    slopes, rooms = [], []
    for one in [model, *(other for other in models if other is not model)]:
        value = one.seen_from(model)[0]
        kinked = one.kinked(model)[0] | (one is model)
        rows = np.flatnonzero(kinked & np.isfinite(value) & (np.arange(len(value)) >= objectives))
        rows = rows[value[rows] + trust * np.abs(one.slope[0, rows]).sum(axis=1) > 0]
        slopes.append(np.c_[one.slope[0, rows], np.zeros(len(rows)), -np.ones(len(rows))])
        rooms.append(-value[rows])
        slopes.append(np.r_[one.slope[0, 0], -1.0, 0.0][None])
        rooms.append(-value[:1])
    low, high = np.maximum(-trust, -model.point[0]), np.minimum(trust, 1.0 - model.point[0])
    bounds = [*zip(low, high, strict=True), (None, None), (0.0, None)]
    found = linprog(
        np.r_[np.zeros(size), 1.0, 10.0 * PENALTY],
        A_ub=np.concatenate(slopes),
        b_ub=np.concatenate(rooms),
        bounds=bounds,
    )
    step: Array = found.x[:size] if found.status == 0 else np.zeros(size)
    return step
