"""Compiled inner loops over the heights at which the area of a section lies.

A strip is a rectangle, so the heights of its area have a trapezoid for a density: the sum of two uniform
spreads, |dz| along the strip and t |dx| / length through its thickness. Derived; checked against polygons.
"""

import numpy as np
from numba import njit

from longvault.sections.kernels import usable


@njit(cache=True, error_model="numpy")
def share_below(y, long, short):
    """Share of the area below y, measured from the middle of the trapezoid of spreads long >= short."""
    reach, flat = 0.5 * (long + short), 0.5 * (long - short)
    d = abs(y)
    if d <= flat:
        return 0.5 + (y / long if long > 0.0 else 0.0)
    if d >= reach:
        return 1.0 if y > 0.0 else 0.0
    tail = (reach - d) ** 2 / (2.0 * long * short)
    return 1.0 - tail if y > 0.0 else tail


@njit(cache=True, error_model="numpy")
def depth_below(y, long, short):
    """Mean depth under y of the area below it: the integral of `share_below`."""
    reach, flat = 0.5 * (long + short), 0.5 * (long - short)
    d = abs(y)
    if d <= flat:
        return (
            0.5 * y
            + 0.125 * long
            + (0.5 * y * y / long + short * short / (24.0 * long) if long > 0.0 else 0.0)
        )
    tail = (reach - d) ** 3 / (6.0 * long * short) if d < reach else 0.0
    return y + tail if y > 0.0 else tail


@njit(cache=True, error_model="numpy")
def spreads(x, z, first, second, t, e):
    """Middle height, area and the two spreads of strip e, the longer first."""
    i, j = first[e], second[e]
    dx, dz = x[j] - x[i], z[j] - z[i]
    length = np.sqrt(dx * dx + dz * dz)
    along, through = abs(dz), t[e] * abs(dx) / length
    return 0.5 * (z[i] + z[j]), length * t[e], max(along, through), min(along, through)


@njit(cache=True, error_model="numpy")
def area_below_row(x, z, first, second, t, levels, out):
    """Area of the strips below each level."""
    out[:] = 0.0 if usable(x, z, first, second, t) else np.nan
    for e in range(first.size):
        middle, area, long, short = spreads(x, z, first, second, t, e)
        for k in range(levels.size):
            out[k] += area * share_below(levels[k] - middle, long, short)


@njit(cache=True, error_model="numpy")
def area_below_rows(x, z, first, second, t, levels, out):
    """Run `area_below_row` over candidates: x, z (N, n), t (N, e), levels, out (N, k)."""
    for c in range(x.shape[0]):
        area_below_row(x[c], z[c], first, second, t[c], levels[c], out[c])


@njit(cache=True, error_model="numpy")
def plastic_row(x, z, first, second, t, out, work):
    """Height of the equal-area axis and the plastic modulus about it into ``out`` (2,); ``work`` (e, 4)."""
    if not usable(x, z, first, second, t):
        out[:] = np.nan
        return
    low, high, total, moment = np.inf, -np.inf, 0.0, 0.0
    for e in range(first.size):
        middle, area, long, short = spreads(x, z, first, second, t, e)
        work[e, 0], work[e, 1], work[e, 2], work[e, 3] = middle, area, long, short
        low, high = min(low, middle - 0.5 * (long + short)), max(high, middle + 0.5 * (long + short))
        total += area
    for _ in range(54):  # halving, to the last bit: the area below grows with the level
        level = 0.5 * (low + high)
        below = 0.0
        for e in range(first.size):
            below += work[e, 1] * share_below(level - work[e, 0], work[e, 2], work[e, 3])
        if below < 0.5 * total:
            low = level
        else:
            high = level
    axis = 0.5 * (low + high)
    for e in range(first.size):
        y = axis - work[e, 0]
        # |axis - z| = 2 (axis - z)+ - (axis - z)
        moment += work[e, 1] * (2.0 * depth_below(y, work[e, 2], work[e, 3]) - y)
    out[0], out[1] = axis, moment


@njit(cache=True, error_model="numpy")
def plastic_rows(x, z, first, second, t, out):
    """Run `plastic_row` over candidates: x, z (N, n), t (N, e), out (N, 2)."""
    work = np.empty((t.shape[1], 4))
    for c in range(x.shape[0]):
        plastic_row(x[c], z[c], first, second, t[c], out[c], work)


@njit(cache=True, error_model="numpy")
def fewest_crossings_row(z, first, second):
    """Smallest number of strips that any level between bottom and top cuts."""
    heights = np.sort(z)
    fewest = first.size
    for k in range(heights.size - 1):
        if heights[k + 1] - heights[k] <= 1e-12 * (heights[-1] - heights[0]):
            continue
        level, cut = 0.5 * (heights[k] + heights[k + 1]), 0
        for e in range(first.size):
            if (z[first[e]] - level) * (z[second[e]] - level) < 0.0:
                cut += 1
        fewest = min(fewest, cut)
    return fewest


@njit(cache=True, error_model="numpy")
def fewest_crossings_rows(z, first, second, out):
    """Run `fewest_crossings_row` over candidates: z (N, n), out (N,); a NaN height gives 0."""
    for c in range(z.shape[0]):
        out[c] = fewest_crossings_row(z[c], first, second) if np.isfinite(z[c]).all() else 0
