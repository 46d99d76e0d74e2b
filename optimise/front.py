"""Non-dominated sets and their hypervolume: the one place that calls `moocore`."""

import moocore
import numpy as np
from numpy.typing import ArrayLike

from longvault.sections.symbols import Array, BoolArray, IntArray


def nondominated(values: ArrayLike, /, *, maximise: ArrayLike = False) -> BoolArray:
    """Tell which rows no other row dominates; of exact duplicates only the first is kept.

    Parameters
    ----------
    values : array (N, M)
        Objective values. A row holding NaN or an infinity is never in the set and dominates nothing.
    maximise : bool or array (M,)
        Which objectives are to be made large.

    Returns
    -------
    bool array (N,)

    Notes
    -----
    Dimension sweep, O(N log N) for M <= 3 (Kung, Luccio & Preparata, J. ACM 22, 1975).

    Examples
    --------
    >>> nondominated([[1, 3], [2, 2], [2, 2], [3, 3], [np.nan, 0]]).tolist()
    [True, True, False, False, False]
    """
    points = np.ascontiguousarray(values, dtype=np.float64)
    finite = np.isfinite(points).all(axis=1)
    mask = np.zeros(len(points), dtype=bool)
    if finite.any():
        mask[finite] = moocore.is_nondominated(points[finite], maximise=_flags(maximise, points.shape[1]))
    return mask


def rank(costs: Array) -> IntArray:
    """Assign front numbers to finite costs (N, M), all to be made small: 0 is best, twins share one."""
    if not len(costs):
        return np.zeros(0, dtype=np.intp)
    return np.asarray(moocore.pareto_rank(costs), dtype=np.intp)


def hypervolume(values: ArrayLike, reference: ArrayLike, /, *, maximise: ArrayLike = False) -> float:
    """Volume that a set of points dominates, up to a reference point.

    Parameters
    ----------
    values : array (N, M)
        Objective values; rows that are not finite, or not better than the reference, add nothing.
    reference : array (M,)
        The reference point, in the same units and senses.
    maximise : bool or array (M,)
        Which objectives are to be made large.

    Returns
    -------
    float
        0.0 for an empty set.

    Notes
    -----
    Zitzler & Thiele, IEEE Trans. Evol. Comput. 3 (1999); exact algorithms of `moocore`.

    Examples
    --------
    >>> hypervolume([[1, 3], [2, 2], [3, 1]], [4, 4])
    6.0
    >>> hypervolume([[1, -3], [2, -2], [3, -1]], [4, -4], maximise=[False, True])
    6.0
    """
    points = np.ascontiguousarray(values, dtype=np.float64)
    points = points[np.isfinite(points).all(axis=1)]
    if not len(points):
        return 0.0
    flags = _flags(maximise, points.shape[1])
    return float(moocore.hypervolume(points, ref=np.asarray(reference, dtype=float), maximise=flags))


def costs(values: Array, maximise: ArrayLike) -> Array:
    """Objective values (N, M) as costs, all to be made small."""
    return np.where(np.asarray(maximise, dtype=bool), -values, values)


def contributions(costs: Array, reference: Array) -> Array:
    """Volume (N,) that each of a set of costs (N, M) alone dominates, up to a reference point (M,).

    All to be made small. A row that another dominates, or equals, adds nothing; of twins the first counts.

    Notes
    -----
    Emmerich & Fonseca, EMO 2011, LNCS 6576, 121-135: O(N log N) for M <= 3. From four objectives on the time
    grows much faster.

    Examples
    --------
    >>> costs = np.array([[0.0, 2.0], [1.0, 1.0], [1.0, 1.0], [2.0, 0.0]])
    >>> contributions(costs, np.array([3.0, 3.0])).tolist()
    [1.0, 1.0, 0.0, 1.0]
    """
    alone = np.zeros(len(costs))
    rows = np.flatnonzero(nondominated(costs))
    if len(rows):
        alone[rows] = moocore.hv_contributions(costs[rows], ref=reference)
    return alone


def _flags(maximise: ArrayLike, count: int) -> list[bool]:
    return [bool(flag) for flag in np.broadcast_to(np.asarray(maximise, dtype=bool), (count,))]
