"""The least value of one objective near a design, all limits kept: for prices, where small differences count.

Sequential quadratic programming in a trust region, with the curvature of the Lagrangian by damped BFGS
updates (M. J. D. Powell, in Numerical Analysis, Dundee 1977, Springer 1978, 144-157) and steps bent back to
the limits (R. Fletcher, Practical Methods of Optimization, 2nd ed., Wiley 1987, sec. 14.4). What is the
largest of several values has kinks: give such a limit piece by piece where the pieces are known; for others
the linearisations at the last points stay in force, as in `longvault.optimise.polish`. Steps of variables
are ignored: prices are slopes. Descents from several starts go side by side, so that each evaluation is one
batch; by the law of batches none depends on the others.
"""

from collections.abc import Callable, Generator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from longvault.optimise.linear_model import SPARE as AIMED
from longvault.optimise.linear_model import Model, model_of, neighbours
from longvault.optimise.problem import UNKNOWN, Designs, Problem, Scores
from longvault.optimise.walls import ADDED, nearest_point
from longvault.sections.symbols import Array, IntArray

ITERATIONS = 120
"""Quadratic programmes of a descent."""
LENGTHS = np.array([1.0, 0.5, 0.2, 0.05])
"""Shares of a step tried at once."""
BENT = 2
"""How many of them are tried again, bent back to the limits."""
PENALTY = 30.0
"""Weight of a margin above 0 against the objective over its scale."""
TRUST = (1e-6, 0.05, 0.2)
"""Least, first and greatest trust region, as shares of the ranges."""
KEPT = 8
"""Linearisations that stay in force."""
SPARE = 1e-7
"""How far inside its limits a point is aimed."""
CURVED = (1e-2, 1e2)
"""Least and greatest curvature believed, objective over its scale and shares of the ranges."""
STIFFNESS = 1e10
"""Weight of limits that no step can keep."""
FLAT = 1e-100
"""Slope of a limit below which it does not move."""
STALE, GAIN = 4, 1e-8
"""A descent holds after so many steps in a row that gain less than this, as a share of the objective."""
AGAIN = 1e-6
"""It goes on, kinks that held it up in mind, unless it gained less than this since it last held."""


Descent = Generator[Array, Designs, Designs]
"""Asks for snapped designs, is sent their scores, and returns where it ended."""


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


def least(problem: Problem, starts: ArrayLike, *, iterations: int = ITERATIONS) -> Designs:
    """Designs of least first objective, all limits kept, near each of k starts (k, d), in their order.

    A descent ends in the hollow it is in. Steps of variables are ignored.

    Examples
    --------
    >>> from longvault.optimise import Objective
    >>> def corner(x):
    ...     return Scores(x, (1.0 - x[:, :1] * x[:, 1:]))    # limit: x y >= 1
    >>> two = (Objective("x"), Objective("y"))
    >>> least(Problem([0.1, 0.1], [4.0, 2.0], two, corner, ("product",)), [[2.0, 1.0]]).x.round(4).tolist()
    [[0.5, 2.0]]
    """
    smooth = replace(problem, step=None)
    begin = smooth.score(smooth.snap(np.atleast_2d(np.asarray(starts, dtype=np.float64))))
    scale = np.maximum(np.abs(begin.objectives[0]), 1e-12)
    under_way = {i: _descent(smooth, begin.take([i]), scale, iterations) for i in range(len(begin))}
    asked = {i: next(descent) for i, descent in under_way.items()}
    ends: dict[int, Designs] = {}
    while asked:
        scored = smooth.score(np.concatenate(list(asked.values())))
        cuts = np.cumsum([0, *map(len, asked.values())])
        for i, low, high in zip(list(asked), cuts[:-1], cuts[1:], strict=True):
            try:
                asked[i] = under_way[i].send(scored.take(slice(low, high)))
            except StopIteration as end:
                ends[i] = end.value
                del asked[i]
    return smooth.empty.joined(*(ends[i] for i in sorted(ends)))


def _descent(smooth: Problem, point: Designs, scale: Array, iterations: int) -> Descent:
    """Follow quadratic programmes from a point until they gain nothing or the trust region closes."""
    centre = yield from _linear(smooth, point, scale)
    merit, trust, stale = _merit(point, scale)[0], TRUST[1], 0
    models, curvature, last = [centre], np.eye(len(smooth.lower)), np.inf
    for _ in range(iterations):
        slopes, rooms, rows = _cuts(centre, models, len(scale), trust)
        low = np.maximum(-trust, -centre.point[0])
        high = np.minimum(trust, 1.0 - centre.point[0])
        step, forces = _programme(centre.slope[0, 0], curvature, slopes, rooms, low, high)
        ahead = yield from _tried(smooth, centre, step, rows[rows >= len(scale)], scale)
        merits = _merit(ahead, scale)
        best = int(np.argmin(merits))
        gain = merit - merits[best]
        probe = ahead.take([best])
        model = yield from _linear(smooth, probe, scale)
        curvature = _curved(curvature, centre, model, rows, forces)
        length = float(np.abs(step).max()) * LENGTHS[best % len(LENGTHS)]
        trust = float(np.clip(_trusted(trust, length, best % len(LENGTHS) == 0, gain > 0.0), *TRUST[::2]))
        models = [*models, model][-KEPT:]
        if gain > 0.0:
            point, centre, merit = probe, model, merits[best]
        stale = 0 if gain > GAIN else stale + 1
        if stale >= STALE or (gain <= 0.0 and trust <= TRUST[0]):
            if last - merit < AGAIN:
                break
            last, trust, stale, curvature = merit, TRUST[1], 0, np.eye(len(curvature))
    return point


def _trusted(trust: float, length: float, whole: bool, better: bool) -> float:
    """Trust region after a step whose best point lay at ``length``, at the whole step or on the way."""
    if not better:
        return 0.5 * min(trust, 2.0 * length)
    if whole:
        return 2.0 * trust if length > 0.5 * trust else trust
    return max(0.25 * trust, 1.5 * length)


def _linear(smooth: Problem, designs: Designs, scale: Array) -> Generator[Array, Designs, Model]:
    """Linearise about a design; what is kept in hand is that of this module."""
    near = yield neighbours(smooth, designs)
    model = model_of(smooth, designs, near, scale)
    value = model.value.copy()
    value[:, len(scale) :] += SPARE - AIMED
    return replace(model, value=value)


def _merit(designs: Designs, scale: Array) -> Array:
    excess = np.clip(designs.margins + SPARE, 0.0, UNKNOWN).sum(axis=1)
    merit: Array = designs.objectives[:, 0] / scale[0] + PENALTY * excess
    return np.where(np.isfinite(merit), merit, np.inf)


def _cuts(centre: Model, models: list[Model], objectives: int, trust: float) -> tuple[Array, Array, IntArray]:
    """Linearised limits that a step within the trust region can reach: slopes, rooms, and whose they are.

    Rows of other models than the centre are pieces of kinked limits; of the objective too, which may not rise
    above its value at the centre.
    """
    slopes, rooms, owners = [], [], []
    for one in [centre, *(other for other in models if other is not centre)]:
        value = one.seen_from(centre)[0]
        value = np.r_[value[:1] - centre.value[0, 0], value[1:]]
        asks = np.isfinite(value) & (one.kinked(centre)[0] | (one is centre))
        asks[1:objectives] = False
        asks[0] &= one is not centre
        rows = np.flatnonzero(asks & (value + trust * np.abs(one.slope[0]).sum(axis=1) > 0.0))
        slopes.append(one.slope[0, rows])
        rooms.append(-value[rows])
        owners.append(rows)
    return np.concatenate(slopes), np.concatenate(rooms), np.concatenate(owners)


def _tried(smooth: Problem, centre: Model, step: Array, rows: IntArray, scale: Array) -> Descent:
    """Designs along a step; where the whole step is not the best, the first of them also bent back.

    ``rows`` are the limits that bent steps are brought back to.
    """
    span = smooth.upper - smooth.lower
    points = centre.point + LENGTHS[:, None] * step
    ahead = yield smooth.snap(smooth.lower + points * span)
    if np.argmin(_merit(ahead, scale)) == 0:
        return ahead
    rows = np.unique(rows)
    size, slope, bent = len(step), centre.slope[0, rows], []
    first = centre.value.shape[1] - ahead.margins.shape[1]
    for point, margins in zip(points[:BENT], ahead.margins, strict=False):
        room = -(margins[rows - first] + SPARE)
        known = np.isfinite(room)
        back, _ = _programme(np.zeros(size), np.eye(size), slope[known], room[known], -point, 1.0 - point)
        bent.append(point + back)
    back_again = yield smooth.snap(smooth.lower + np.array(bent) * span)
    return ahead.joined(back_again)


def _programme(
    gradient: Array, curvature: Array, slopes: Array, rooms: Array, low: Array, high: Array
) -> tuple[Array, Array]:
    """Least of g p + p H p / 2 with slopes p <= rooms (soft) and low <= p <= high: p (d,), forces (R,).

    Least-distance problem in the metric of H, solved as non-negative least squares (Lawson & Hanson, Solving
    Least Squares Problems, Prentice-Hall 1974, ch. 23), with the limits taken in as they are broken.

    Examples
    --------
    >>> p, force = _programme(-np.ones(2), np.eye(2), np.ones((1, 2)), np.ones(1), -np.ones(2), np.ones(2))
    >>> p.round(6).tolist(), force.round(6).tolist()
    ([0.5, 0.5], [0.5])
    """
    size, unit = len(gradient), np.eye(len(gradient))
    back = np.linalg.inv(np.linalg.cholesky(curvature)).T  # p = back y, H = back^-T back^-1
    walls, far = np.concatenate([slopes, unit, -unit]), np.concatenate([rooms, high, -low])
    turned = walls @ back
    length = np.maximum(np.sqrt((turned * turned).sum(axis=1)), FLAT)
    reach = np.where(length > FLAT, far / length, np.inf)  # no step helps a limit that no step moves
    turned, wish = turned / length[:, None], -(gradient @ back)
    found = nearest_point(wish, turned, reach, stiffness=STIFFNESS, rounds=len(reach) // ADDED + 1)
    if found is None:
        return np.zeros(size), np.zeros(len(rooms))
    y, forces = found
    return np.clip(back @ y, low, high), (forces / length)[: len(rooms)]


def _curved(curvature: Array, centre: Model, model: Model, rows: IntArray, forces: Array) -> Array:
    """Damped BFGS update by the Lagrangian's slopes at two points; rows with a kink between are left out."""
    weight = np.zeros(centre.value.shape[1])
    np.add.at(weight, rows, forces)
    weight = np.where(model.kinked(centre)[0], 0.0, np.minimum(weight, PENALTY))
    weight[0] = 1.0
    moved, turned = model.point[0] - centre.point[0], weight @ (model.slope[0] - centre.slope[0])
    bent = curvature @ moved
    own, seen = float(moved @ bent), float(moved @ turned)
    if own < 1e-20:
        return curvature
    share = 1.0 if seen >= 0.2 * own else 0.8 * own / (own - seen)
    mixed = share * turned + (1.0 - share) * bent
    with np.errstate(all="ignore"):
        updated = curvature - np.outer(bent, bent) / own + np.outer(mixed, mixed) / (moved @ mixed)
    if not np.isfinite(updated).all():  # a design that could not be judged
        return curvature
    value, axis = np.linalg.eigh(0.5 * (updated + updated.T))
    believed: Array = (axis * np.clip(value, *CURVED)) @ axis.T
    return believed
