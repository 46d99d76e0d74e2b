"""Compiled quick look at buckling along one walk of strips; one candidate a call.

Formulas, their source and what the numbers mean stand in `stability_screen`.
"""

from typing import Any

import numpy as np
from numba import njit
from numba.extending import register_jitable


@register_jitable(error_model="numpy")
def panel(thickness: Any, width: Any, curvature: Any, modulus: Any, poisson: Any) -> Any:
    """Return the stress of `stability.panel_stress`; arithmetic that serves arrays and, compiled, numbers."""
    flat = (np.pi * thickness / width) ** 2
    bent = 12.0 * (1.0 - poisson**2) * (thickness * curvature) ** 2
    return modulus / (6.0 * (1.0 - poisson**2)) * (np.sqrt(bent + flat * flat) + flat)


@njit(cache=True, error_model="numpy")
def _ends(joined, first, last):
    """Fill the first and the last strip of the joined run that each strip stands in."""
    for i in range(first.size):
        first[i] = first[i - 1] if i > 0 and joined[i - 1] else i
    for i in range(last.size - 1, -1, -1):
        last[i] = last[i + 1] if i < last.size - 1 and joined[i] else i


@njit(cache=True, error_model="numpy")
def _run(values, first, last, out):
    """Fill ``out`` with the sum of ``values`` over the run each strip stands in."""
    for i in range(values.size):
        if first[i] < i:
            out[i] = out[i - 1]
            continue
        out[i] = 0.0
        for j in range(i, last[i] + 1):
            out[i] += values[j]


@njit(cache=True, error_model="numpy")
def _shape(own, t, angle, smooth, rounded, long, share, straight, facet, bent, level, in_line, bounds, room):
    """Fill ``facet`` width, its curvature ``bent`` and whether it is ``level``, flat within its panel."""
    first, last = bounds
    count = own.size
    panel_width, swept, halved = room[0], room[1], room[2]
    for p in range(count - 1):
        in_line[p] = smooth[p] and t[p] == t[p + 1] and angle[p] * min(own[p], own[p + 1]) <= rounded
    halved[:] = 0.0
    for p in range(count - 1):
        half = 0.5 * angle[p] if smooth[p] else 0.0
        halved[p] += half
        halved[p + 1] += half
    _ends(smooth, first, last)
    _run(own, first, last, panel_width)
    _run(halved, first, last, swept)
    _ends(in_line, first, last)
    _run(own, first, last, facet)
    for i in range(count):
        turning, near = np.inf, np.inf
        for p, beside in ((first[i] - 1, -1), (last[i], 1)):
            if 0 <= p < count - 1 and smooth[p] and not in_line[p]:
                turning = min(turning, 2.0 * angle[p] / (facet[p] + facet[p + 1]))
                near = min(near, facet[p] if beside < 0 else facet[p + 1])
        bent[i] = 0.0 if turning == np.inf else turning
        level[i] = long * near <= facet[i] or bent[i] * panel_width[i] <= share * swept[i] + straight


@njit(cache=True, error_model="numpy", nogil=True)
def walk_rows(
    length, thickness, turn, joined, order, passages, free, held, modulus, poisson, rounded, long, share,
    straight, critical, curvature, width, flat,
):  # fmt: skip
    """Fill critical stress, curvature, width and flatness (D, e) of the strips of one walk.

    ``length, thickness`` (D, e), ``turn, joined`` (D, p); ``order`` (m,) strips and ``passages`` (m - 1,) in
    walking order, ``free`` (2,) whether its ends are free edges, ``held`` the share of the stress that a free
    edge leaves; the thresholds stand in `stability_screen`.
    """
    count = order.size
    bounds = np.empty(count, dtype=np.intp), np.empty(count, dtype=np.intp)
    facet, bent, stretch, room = np.empty(count), np.empty(count), np.empty(count), np.empty((3, count))
    level, in_line, same = np.zeros((3, count), dtype=np.bool_)
    for d in range(length.shape[0]):
        own, t = length[d][order], thickness[d][order]
        angle, smooth = turn[d][passages], joined[d][passages]
        _shape(
            own, t, angle, smooth, rounded, long, share, straight, facet, bent, level, in_line, bounds, room
        )
        first, last = bounds
        line_first, line_last = first.copy(), last.copy()
        for p in range(count - 1):
            same[p] = smooth[p] and level[p] == level[p + 1]
        _ends(same, first, last)
        _run(own, first, last, stretch)
        for i in range(count):
            one = panel(t[i], stretch[i], bent[i], modulus, poisson)
            if (free[0] and first[i] == 0) or (free[1] and last[i] == count - 1):
                one *= held
            two = panel(t[i], facet[i], 0.0, modulus, poisson)
            if (free[0] and line_first[i] == 0) or (free[1] and line_last[i] == count - 1):
                two *= held
            e = order[i]
            critical[d, e] = two if two < one else one
            curvature[d, e], width[d, e], flat[d, e] = bent[i], stretch[i], level[i]
