"""Which design to look at first: knee, best under a cap, by weights, spread over the front.

All functions take the objectives of a front (N, M) and the senses, and return row numbers. Ties go to
the smaller row number, so a pick never depends on chance. A row that is not finite is never picked.
"""

import numpy as np
from numpy.typing import ArrayLike

from longvault.optimise.front import costs
from longvault.sections.symbols import Array, IntArray


def normalised(values: ArrayLike, /, *, maximise: ArrayLike = False) -> Array:
    """Scale a front to costs in 0..1: 0 is the best value met, 1 the worst; 0 where all are equal.

    Examples
    --------
    >>> normalised([[1.0, 5.0], [3.0, 7.0]], maximise=[False, True]).tolist()
    [[0.0, 1.0], [1.0, 0.0]]
    """
    cost = costs(np.asarray(values, dtype=np.float64), maximise)
    cost = np.where(np.isfinite(cost).all(axis=1, keepdims=True), cost, np.nan)
    if not np.isfinite(cost).any():
        return cost
    best, worst = np.nanmin(cost, axis=0), np.nanmax(cost, axis=0)
    scaled: Array = (cost - best) / np.where(worst > best, worst - best, 1.0)
    return scaled


def knee(values: ArrayLike, /, *, maximise: ArrayLike = False) -> int:
    """Row that bulges furthest towards the ideal from the plane through the extremes.

    Objectives are normalised to 0..1 first. The plane passes through the best row of each objective;
    where those rows do not span a plane that faces the ideal, the plane sum(f) = 1 takes its place.

    Source: I. Das, On characterizing the "knee" of the Pareto curve based on normal-boundary
    intersection, Structural Optimization 18 (1999) 107-115.

    Examples
    --------
    >>> knee([[0.0, 1.0], [0.2, 0.3], [0.9, 0.1], [1.0, 0.0]])
    1
    """
    cost = normalised(values, maximise=maximise)
    normal = _plane_normal(cost)
    return _first_min((cost * normal).sum(axis=1))


def _plane_normal(cost: Array) -> Array:
    count = cost.shape[1]
    flat: Array = np.ones(count)
    good = np.flatnonzero(np.isfinite(cost).all(axis=1))
    if not len(good):
        return flat
    finite = cost[good]
    extremes = finite[[int(np.lexsort((finite.sum(axis=1), finite[:, m]))[0]) for m in range(count)]]
    if np.linalg.matrix_rank(extremes, tol=1e-6) < count:
        return flat
    normal = np.asarray(np.linalg.solve(extremes, flat), dtype=np.float64)
    return normal if (normal > 1e-9).all() else flat


def by_weights(values: ArrayLike, weights: ArrayLike, /, *, maximise: ArrayLike = False) -> int:
    """Row with the least weighted sum of normalised objectives.

    Parameters
    ----------
    values : array (N, M)
    weights : array (M,)
        How much each objective matters; finite, 0 or more, not all 0. Only their ratios count.
    maximise : bool or array (M,)

    Examples
    --------
    >>> by_weights([[0.0, 1.0], [0.4, 0.4], [1.0, 0.0]], [1, 1])
    1
    """
    weight = np.asarray(weights, dtype=np.float64)
    if not np.isfinite(weight).all() or (weight < 0).any() or not weight.any():
        raise ValueError(f"weights: got {weight.tolist()}; must be finite, 0 or more and not all 0")
    cost = normalised(values, maximise=maximise)
    if weight.shape != (cost.shape[1],):
        raise ValueError(
            f"weights: got shape {weight.shape}; must be one for each of the {cost.shape[1]} objectives"
        )
    return _first_min((cost * (weight / weight.sum())).sum(axis=1))


def best_under(
    values: ArrayLike, caps: ArrayLike, /, *, best: int, maximise: ArrayLike = False
) -> int | None:
    """Best row in objective ``best`` among those that keep every cap; None when no row does.

    Parameters
    ----------
    values : array (N, M)
    caps : array (M,)
        Worst value allowed of each objective in its own sense (a cap for ``min``, a floor for ``max``);
        NaN where there is none.
    best : int
        Column to improve.
    maximise : bool or array (M,)

    Examples
    --------
    >>> best_under([[1.0, 5.0], [2.0, 6.0], [3.0, 9.0]], [2.5, np.nan], best=1, maximise=[False, True])
    1
    """
    cost = costs(np.asarray(values, dtype=np.float64), maximise)
    limit = costs(np.asarray(caps, dtype=np.float64), maximise)
    keeps = (np.isnan(limit) | (cost <= limit)).all(axis=1) & np.isfinite(cost).all(axis=1)
    rows = np.flatnonzero(keeps)
    if not len(rows):
        return None
    order = np.lexsort((cost[rows].sum(axis=1), cost[rows, best]))
    return int(rows[order[0]])


def spread(
    values: ArrayLike, count: int, /, *, maximise: ArrayLike = False, first: int | None = None
) -> IntArray:
    """Pick up to ``count`` rows far apart: the best of each objective, then farthest-point traversal.

    Each pick maximises the distance, in normalised objectives, to the picks before it
    (T. F. Gonzalez, Theor. Comput. Sci. 38 (1985) 293-306: within a factor 2 of the best covering).

    Parameters
    ----------
    values : array (N, M)
    count : int
        How many rows at most; rows that coincide with a pick are not added.
    maximise : bool or array (M,)
    first : int, optional
        Row to start from (the knee, say); the extremes follow it.

    Returns
    -------
    int array (<= count,)
        Rows in the order they were picked.

    Examples
    --------
    >>> spread([[0.0, 1.0], [0.1, 0.9], [0.5, 0.5], [1.0, 0.0]], 3).tolist()
    [0, 3, 2]
    """
    cost = normalised(values, maximise=maximise)
    finite = np.isfinite(cost).all(axis=1)
    starts = [] if first is None else [first]
    starts += [_first_min(cost[:, m]) for m in range(cost.shape[1])] if finite.any() else []
    distance = np.where(finite, np.inf, -np.inf)
    picks: list[int] = []
    while len(picks) < count and (distance > 0).any():
        row = next((s for s in starts if distance[s] > 0), None)
        row = int(np.argmax(distance)) if row is None else row
        picks.append(row)
        distance = np.minimum(distance, ((cost - cost[row]) ** 2).sum(axis=1), where=finite, out=distance)
    return np.array(picks, dtype=np.intp)


def clusters(values: ArrayLike, picks: ArrayLike, /, *, maximise: ArrayLike = False) -> IntArray:
    """Say which pick represents each row (N,): the nearest in normalised objectives, -1 if not finite.

    Examples
    --------
    >>> clusters([[0.0, 1.0], [0.1, 0.9], [0.5, 0.5], [1.0, 0.0]], [0, 3]).tolist()
    [0, 0, 0, 1]
    """
    cost = normalised(values, maximise=maximise)
    chosen = cost[np.asarray(picks, dtype=np.intp)]
    label = np.full(len(cost), -1, dtype=np.intp)
    nearest = np.full(len(cost), np.inf)
    for number, point in enumerate(chosen):
        distance = ((cost - point) ** 2).sum(axis=1)
        closer = distance < nearest
        label[closer], nearest[closer] = number, distance[closer]
    return label


def medoids(points: ArrayLike, count: int) -> tuple[IntArray, IntArray]:
    """Rows that represent N points best, and which of them represents each point.

    The sum of the distances to the nearest representative is made small: greedily, then by swaps until none
    helps (L. Kaufman & P. J. Rousseeuw, Finding Groups in Data, Wiley 1990, ch. 2).

    Parameters
    ----------
    points : array (N, m)
        In any space where distance means likeness: normalised objectives, descriptions of shape; finite.
    count : int
        Representatives, 1 to N.

    Returns
    -------
    int array (count,), int array (N,)
        Rows in growing order; for each point the place of its representative in them.

    Examples
    --------
    >>> rows, group = medoids([[0.0], [0.1], [0.2], [5.0], [5.1]], 2)
    >>> rows.tolist(), group.tolist()
    ([1, 3], [0, 0, 0, 1, 1])
    """
    values = np.asarray(points, dtype=np.float64)
    if not 1 <= count <= len(values):
        raise ValueError(f"count: got {count}; must be 1 to the {len(values)} points there are")
    apart = np.sqrt(((values[:, None] - values) ** 2).sum(axis=-1))
    chosen: list[int] = []
    for _ in range(count):
        near = apart[:, chosen].min(axis=1, initial=np.inf)
        cost = np.minimum(near[:, None], apart).sum(axis=0)
        cost[chosen] = np.inf
        chosen.append(int(np.argmin(cost)))
    while (better := _swap(apart, chosen)) is not None:
        chosen = better
    rows = np.sort(np.array(chosen, dtype=np.intp))
    return rows, np.argmin(apart[:, rows], axis=1)


def _swap(apart: Array, chosen: list[int]) -> list[int] | None:
    """Best exchange of one representative for another point; None if none lowers the sum."""
    best, found = apart[:, chosen].min(axis=1).sum() * (1.0 - 1e-12), None
    for place in range(len(chosen)):
        others = chosen[:place] + chosen[place + 1 :]
        near = apart[:, others].min(axis=1, initial=np.inf)
        cost = np.minimum(near[:, None], apart).sum(axis=0)
        if cost.min() < best:
            best, found = cost.min(), [*others, int(np.argmin(cost))]
    return found


def _first_min(score: Array) -> int:
    if not np.isfinite(score).any():
        raise ValueError("values: no row is finite, so there is nothing to pick")
    return int(np.nanargmin(score))
