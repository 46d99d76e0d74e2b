"""Compiled search for the ends, ridges and valleys of a roof surface."""

import numpy as np
from numba import njit


@njit(cache=True, error_model="numpy")
def turn(x, z, sign, way, at, level):
    """Highest (sign 1) or lowest (-1) place on one side of ``at``; of a level one the middle."""
    top = -np.inf
    for n in range(x.size):
        if way * (x[n] - at) >= 0.0:
            top = max(top, sign * z[n])
    first, last = np.inf, -np.inf
    for n in range(x.size):
        if way * (x[n] - at) >= 0.0 and sign * z[n] >= top - level:
            first, last = min(first, x[n]), max(last, x[n])
    return 0.5 * (first + last), sign * top


@njit(cache=True, error_model="numpy")
def lowest(x, z, level):
    """Lowest place: an end that is as low, else the middle of a level floor or one of separate valleys."""
    first, last, low = np.argmin(x), np.argmax(x), z.min()
    if z[first] <= low + level:
        return x[first], low
    if z[last] <= low + level:
        return x[last], low
    middle, _ = turn(x, z, -1.0, 1.0, x[first], level)
    if z[np.argmin(np.abs(x - middle))] <= low + level:
        return middle, low
    return x[np.argmin(z)], low


@njit(cache=True, error_model="numpy")
def turn_rows(x, z, level, out):
    """Fill ``out`` (N, 2, 7), places and heights as `RoofLine` lists them, from nodes x, z (N, n)."""
    for c in range(x.shape[0]):
        if not (np.isfinite(x[c]).all() and np.isfinite(z[c]).all()):
            out[c] = np.nan
            continue
        first, last = np.argmin(x[c]), np.argmax(x[c])
        x0, z0 = lowest(x[c], z[c], level)
        x1, z1 = turn(x[c], z[c], 1.0, -1.0, x0, level)
        x2, z2 = turn(x[c], z[c], 1.0, 1.0, x0, level)
        x3, z3 = turn(x[c], z[c], -1.0, -1.0, x1, level)
        x4, z4 = turn(x[c], z[c], -1.0, 1.0, x2, level)
        out[c, 0] = np.array([x[c, first], x3, x1, x0, x2, x4, x[c, last]])
        out[c, 1] = np.array([z[c, first], z3, z1, z0, z2, z4, z[c, last]])
