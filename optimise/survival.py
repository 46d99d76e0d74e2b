"""Who survives a generation: constraint domination, fronts and crowding, all on whole arrays."""

import numpy as np

from longvault.optimise.front import rank
from longvault.sections.symbols import Array, IntArray


def quality_order(costs: Array, violation: Array) -> IntArray:
    """Rows from best to worst by constraint domination.

    Feasible rows first, by front and then by crowding distance (sparser first); then the infeasible ones
    by their graded violation; rows that are not finite last. Ties keep the order of the rows.

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
    Deb, Pratap, Agarwal & Meyarivan, IEEE Trans. Evol. Comput. 6 (2002) 182-197.

    Examples
    --------
    >>> quality_order(np.array([[1.0, 1.0], [0.0, 0.0], [2.0, 2.0]]), np.array([0.0, 0.5, 0.0])).tolist()
    [0, 2, 1]
    """
    feasible = np.flatnonzero(violation == 0)
    infeasible = np.flatnonzero(violation != 0)
    front = rank(costs[feasible])
    sparse = crowding(costs[feasible], front)
    best = feasible[np.lexsort((-sparse, front))]
    rest = infeasible[np.argsort(violation[infeasible], kind="stable")]
    return np.concatenate([best, rest])


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
