"""Nearest points between flat walls: the least-distance problems by which polishing and descents step."""

import numpy as np
from scipy.optimize import nnls

from longvault.sections.symbols import Array

STIFFNESS = 1e8
"""Weight of linearised limits that no step can keep, against the length of the step."""
ADDED = 12
"""Walls taken in at a time: those that the last point breaks most."""
FLAT = 1e-12
"""A wall whose slope is smaller cannot be moved by any step: it asks nothing."""


def nearest_point(
    wish: Array, normal: Array, reach: Array, *, stiffness: float = STIFFNESS, rounds: int | None = None
) -> tuple[Array, Array] | None:
    """Point (d,) nearest to ``wish`` with normal . p <= reach (R,), and the forces of the walls on it (R,).

    Where no point keeps all walls, the sum of their squared excesses, times ``stiffness``, and of the
    squared distance is least. None where it takes too long.

    Least-distance problem, solved as non-negative least squares (Lawson & Hanson, Solving Least Squares
    Problems, Prentice-Hall 1974, ch. 23), with the walls taken in as they are broken: one that is not
    broken at the end has no force.

    Parameters
    ----------
    wish : array (d,)
    normal : array (R, d)
        Of unit length.
    reach : array (R,)
        Distance of each wall from the origin; inf for one that asks nothing.
    stiffness : float
    rounds : int, optional
        How often walls are taken in at most; None goes on until none is broken.

    Examples
    --------
    >>> p, force = nearest_point(np.ones(2), np.array([[1.0, 0.0]]), np.array([0.5]))
    >>> p.round(6).tolist(), force.round(6).tolist()
    ([0.5, 1.0], [0.5])
    """
    taken, forces, point = np.zeros(0, dtype=np.intp), np.zeros(len(reach)), wish
    for _ in range(len(reach) if rounds is None else rounds):
        over = normal @ point - reach
        over[taken] = 0.0
        broken = np.flatnonzero(over > 1e-9)
        if not len(broken):
            break
        worst = broken[np.argsort(-over[broken], kind="stable")[:ADDED]]
        taken = np.sort(np.concatenate([taken, worst]))
        found = _forces(wish, normal[taken], reach[taken], stiffness)
        if found is None:
            return None
        forces[taken], point = found, wish - found @ normal[taken]
    return point, forces


def _forces(wish: Array, normal: Array, reach: Array, stiffness: float) -> Array | None:
    """Find the forces of the walls on the nearest point; None where it takes too long."""
    root = np.sqrt(stiffness)
    matrix = np.concatenate([normal.T, np.diag(np.full(len(reach), 1.0 / root))])
    try:
        force, _ = nnls(matrix, np.concatenate([wish, -root * reach]))
    except RuntimeError:
        return None
    found: Array = force
    return found


def nearest_allowed(wish: Array, slope: Array, room: Array, low: Array, high: Array) -> Array:
    """Points nearest to ``wish`` (B, d) with slope . p <= room (B, R) and low <= p <= high.

    Rows whose room is infinite ask nothing. Where no point keeps all rows, the sum of the squared excesses
    is least (see `nearest_point`); one that takes too long stays where it is.

    Examples
    --------
    >>> wish, slope, room = np.ones((1, 2)), np.ones((1, 1, 2)), np.ones((1, 1))
    >>> nearest_allowed(wish, slope, room, -2 * wish, 2 * wish).round(6)
    array([[0.5, 0.5]])
    """
    size = np.sqrt((slope * slope).sum(axis=2))
    asks = np.isfinite(room) & (size > FLAT)
    straight = np.clip(wish, low, high)
    broken = asks & (np.einsum("brd,bd->br", slope, straight) > room)
    unit = np.eye(wish.shape[1])
    for i in np.flatnonzero(broken.any(axis=1)):
        rows = np.flatnonzero(asks[i])
        normal = np.concatenate([slope[i, rows] / size[i, rows, None], unit, -unit])
        found = nearest_point(
            wish[i], normal, np.concatenate([room[i, rows] / size[i, rows], high[i], -low[i]])
        )
        straight[i] = 0.0 if found is None else np.clip(found[0], low[i], high[i])
    return straight
