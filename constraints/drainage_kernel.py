"""Compiled inner loop of the drainage check: one candidate a call (sources stand in the public functions)."""

import numpy as np
from numba import njit

POND_FIELDS = 4
SHALLOW = 1e-3
"""A hollow below 1 mm is a building tolerance [m]."""


@njit(cache=True, error_model="numpy")
def pond_row(x, z, gutter, level, out):
    """Fill ``out`` with the fields of ``Ponds``: water over each node up to where it runs over.

    The level of standing water at a node is the lowest barrier on its way to an outlet, and never below
    the surface: running maxima from the outlets, left and right (the ends and every gutter node drain).
    """
    n = x.size
    total = 0.0
    for i in range(n):
        total += x[i] + z[i]
    if np.isnan(total):
        out[:] = np.nan
        return
    barrier = -np.inf
    for i in range(n):
        barrier = z[i] if i == 0 or gutter[i] else max(barrier, z[i])
        level[i] = barrier
    for i in range(n - 1, -1, -1):
        barrier = z[i] if i == n - 1 or gutter[i] else max(barrier, z[i])
        level[i] = min(level[i], barrier)
    count, deepest, area, place, wet = 0.0, 0.0, 0.0, np.nan, False
    for i in range(n):
        depth = level[i] - z[i]
        if depth > SHALLOW:
            count += 0.0 if wet else 1.0
            if depth > deepest:
                deepest, place = depth, x[i]
        wet = depth > SHALLOW
        if i + 1 < n:
            area += pond_area(x[i + 1] - x[i], z[i], z[i + 1], depth, level[i + 1] - z[i + 1])
    out[0], out[1], out[2], out[3] = count, deepest, area, place


@njit(cache=True, error_model="numpy")
def pond_area(width, z1, z2, d1, d2):
    """Water over one step of the surface; at the rim of a pond only its wet part."""
    if d1 <= 0.0 and d2 <= 0.0:
        return 0.0
    if d1 > 0.0 and d2 > 0.0:
        return 0.5 * abs(width) * (d1 + d2)
    deep = max(d1, d2)
    rise = abs(z2 - z1)
    share = min(deep / rise, 1.0) if rise > 0.0 else 1.0
    return 0.5 * abs(width) * share * deep


@njit(cache=True, error_model="numpy")
def pond_rows(x, z, gutter, out):
    """Run `pond_row` over candidates (N, m)."""
    level = np.empty(x.shape[1])
    for c in range(x.shape[0]):
        pond_row(x[c], z[c], gutter, level, out[c])
