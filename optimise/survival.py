"""Who survives a generation: constraint domination, fronts, what each adds to the best; on whole arrays."""

import numpy as np

from longvault.optimise.front import contributions, rank
from longvault.sections.symbols import Array, IntArray

EXACT = 3
"""Objectives up to which the volume that a design alone dominates is quick to find."""
BEYOND = 0.1
"""How far the reference point of that volume lies beyond the worst of the front, as a share of its range."""


def quality_order(costs: Array, violation: Array) -> IntArray:
    """Rows from best to worst by constraint domination.

    Feasible rows first, by front; within the best front by what each alone adds to the volume it dominates
    (`worth`), within the others, and with four objectives or more, by crowding distance, sparser first. Then
    the infeasible ones by their graded violation; rows that are not finite last. Ties keep the order of the
    rows.

    Parameters
    ----------
    costs : array (N, M)
        Objectives, all to be made small.
    violation : array (N,)
        0 for a feasible row, inf for a row that is not finite.

    Returns
    -------
    int array (N,)

    Notes
    -----
    Deb, Pratap, Agarwal & Meyarivan, IEEE Trans. Evol. Comput. 6 (2002) 182-197; choice by volume: Beume,
    Naujoks & Emmerich, Eur. J. Oper. Res. 181 (2007) 1653-1669, here all at a time.

    Examples
    --------
    >>> quality_order(np.array([[1.0, 1.0], [0.0, 0.0], [2.0, 2.0]]), np.array([0.0, 0.5, 0.0])).tolist()
    [0, 2, 1]
    """
    feasible = np.flatnonzero(violation == 0)
    infeasible = np.flatnonzero(violation != 0)
    front = rank(costs[feasible])
    by_volume = (front == 0) & (costs.shape[1] <= EXACT)
    sparse = np.empty(len(feasible))
    sparse[by_volume] = worth(costs[feasible[by_volume]])
    sparse[~by_volume] = crowding(costs[feasible[~by_volume]], front[~by_volume])
    best = feasible[np.lexsort((-sparse, front))]
    rest = infeasible[np.argsort(violation[infeasible], kind="stable")]
    return np.concatenate([best, rest])


def worth(costs: Array) -> Array:
    """Volume that each row of one front alone dominates (N,), ranges brought to 1; inf at the ends.

    Examples
    --------
    >>> worth(np.array([[0.0, 4.0], [1.0, 2.0], [3.0, 1.0], [4.0, 0.0]])).round(4).tolist()
    [inf, 0.25, 0.0625, inf]
    """
    if not len(costs):
        return np.zeros(0)
    low = costs.min(axis=0)
    span = np.ptp(costs, axis=0)
    unit = (costs - low) / np.where(span > 0, span, 1.0)
    alone = contributions(unit, np.full(costs.shape[1], 1.0 + BEYOND))
    alone[unit.argmin(axis=0)] = np.inf
    return alone


def crowding(costs: Array, front: IntArray) -> Array:
    """Crowding distance of each row within its front (N,): inf at the ends, 0 for the second of two twins.

    The side lengths of the box to the two neighbours in each objective, as shares of the front's range,
    added up (Deb et al. 2002, section III B).

    Examples
    --------
    >>> crowding(np.array([[0.0, 1.0], [0.4, 0.5], [1.0, 0.0]]), np.zeros(3, dtype=int)).tolist()
    [inf, 2.0, inf]
    """
    distance = np.zeros(len(costs))
    if not len(costs):
        return distance
    for column in np.ascontiguousarray(costs.T):
        order = np.lexsort((column, front))
        value, group = column[order], front[order]
        starts = np.flatnonzero(np.r_[True, group[1:] != group[:-1]])
        ends = np.r_[starts[1:], len(order)] - 1
        span = np.repeat(value[ends] - value[starts], ends - starts + 1)
        gap = np.zeros(len(order))
        gap[1:-1] = value[2:] - value[:-2]
        gap /= np.where(span > 0, span, 1.0)
        gap[starts] = gap[ends] = np.inf
        distance[order] += gap
    return distance
