"""Compiled inner loop of the cracked section in service: one candidate a call (sources in `service`)."""

import numpy as np
from numba import njit

from longvault.sections.kernels import usable

STEPS = 100
"""Newton steps at most; some four are needed."""
CLOSE = 1e-8
"""A step below this share of the distance from the bars ends them: the second moment is least at the neutral
axis, so its error is of the order of the square."""


@njit(cache=True, error_model="numpy")
def spread_heights(x, z, first, second, t, sign, out):
    """Fill ``out`` (3, e) with lower and upper end of the strips' rectangles and half their mean width.

    Heights are taken times ``sign``, the compressed side up. Returns the centroid's height.
    """
    area, moment = 0.0, 0.0
    for e in range(first.size):
        i, j = first[e], second[e]
        dx, dz = x[j] - x[i], z[j] - z[i]
        length = np.sqrt(dx * dx + dz * dz)
        reach = 0.5 * (abs(dz) + t[e] * abs(dx) / length)
        middle = 0.5 * sign * (z[i] + z[j])
        out[0, e], out[1, e], out[2, e] = middle - reach, middle + reach, 0.25 * t[e] * length / reach
        area += t[e] * length
        moment += t[e] * length * middle
    return moment / area


@njit(cache=True, error_model="numpy")
def cracked_row(lines, start, bars, heavy):
    """Second moment about the own neutral axis of concrete above it and steel ``heavy`` at height ``bars``.

    Returns it and the height of the axis.

    ``lines`` comes from `spread_heights`. The first moment less that of the steel is convex and falls with
    the axis, so Newton's steps come up to its root from below, after at most one from above.
    """
    axis = max(start, bars)
    inertia = 0.0
    for _ in range(STEPS):
        area, first, second = 0.0, 0.0, 0.0
        for e in range(lines.shape[1]):
            b = lines[1, e] - axis
            if b > 0.0:
                a, half = max(lines[0, e] - axis, 0.0), lines[2, e]
                area += 2.0 * half * (b - a)
                first += half * (b * b - a * a)
                second += half * (b * b * b - a * a * a)
        inertia = second / 1.5 + heavy * (axis - bars) ** 2
        step = max((first - heavy * (axis - bars)) / (area + heavy), bars - axis)
        last = not abs(step) > CLOSE * (axis - bars)
        axis += step
        if last:
            break
    return inertia, axis


@njit(cache=True, error_model="numpy")
def cracked_rows(x, z, first, second, t, sign, bars, heavy, out):
    """Fill ``out`` (N, 2), second moment and height of the axis above the bars.

    From heights of bars (N,) and their area times the ratio of moduli (N,).
    """
    lines = np.empty((3, first.size))
    for c in range(x.shape[0]):
        out[c] = np.nan, np.nan
        if np.isfinite(bars[c]) and np.isfinite(heavy[c]) and usable(x[c], z[c], first, second, t[c]):
            centre = spread_heights(x[c], z[c], first, second, t[c], sign, lines)
            inertia, axis = cracked_row(lines, centre, sign * bars[c], heavy[c])
            out[c] = inertia, axis - sign * bars[c]
