"""Compiled reading of a roof surface, and of the snow that gathers on it."""

import numpy as np
from numba import njit

STEEPEST = 3.0
"""Slope up to which the surface is followed: steeper clefts fill, edges that lean back count by it."""


@njit(cache=True, error_model="numpy")
def surface_rows(x, z, ends, out):
    """Fill ``out`` (N, 2, g) with even places on plan and the upper surface there.

    ``ends`` (s, 2) are the strips of the surface, x and z (N, n) the nodes; a gap between strips is bridged.
    Clefts steeper than `STEEPEST` are filled to it; at either end the foot counts, also where it leans back.
    """
    count = out.shape[2]
    for c in range(x.shape[0]):
        at, top = out[c, 0], out[c, 1]
        left, right, sound = np.inf, -np.inf, True
        for e in range(ends.shape[0]):
            for side in range(2):
                n = ends[e, side]
                left, right = min(left, x[c, n]), max(right, x[c, n])
                sound = sound and np.isfinite(x[c, n]) and np.isfinite(z[c, n])
        if not sound:
            out[c] = np.nan
            continue
        step = (right - left) / (count - 1)
        for k in range(count):
            at[k], top[k] = left + step * k, -np.inf
        at[count - 1] = right
        for e in range(ends.shape[0]):
            i, j = ends[e, 0], ends[e, 1]
            if x[c, i] > x[c, j]:
                i, j = j, i
            cover(x[c, i], z[c, i], x[c, j], z[c, j], left, step, top)
        bridge(top)
        soften(x[c], z[c], ends, left, step, top)


@njit(cache=True, error_model="numpy")
def cover(x0, z0, x1, z1, left, step, top):
    """Raise the surface at the places under one strip, whose first end lies to the left."""
    hair = 1e-9 * step
    first = int(np.ceil((x0 - left - hair) / step)) if step > 0.0 else 0
    last = int(np.floor((x1 - left + hair) / step)) if step > 0.0 else top.size - 1
    for k in range(max(first, 0), min(last, top.size - 1) + 1):
        if x1 - x0 <= hair:
            z = max(z0, z1)
        else:
            z = z0 + (z1 - z0) * min(max((left + step * k - x0) / (x1 - x0), 0.0), 1.0)
        top[k] = max(top[k], z)


@njit(cache=True, error_model="numpy")
def bridge(top):
    """Join places that no strip covers by a straight line between their neighbours; both ends are covered."""
    k = 1
    while k < top.size:
        if top[k] > -np.inf:
            k += 1
            continue
        after = k
        while top[after] == -np.inf:
            after += 1
        for m in range(k, after):
            top[m] = top[k - 1] + (top[after] - top[k - 1]) * (m - k + 1) / (after - k + 1)
        k = after


@njit(cache=True, error_model="numpy")
def soften(x, z, ends, left, step, top):
    """Let every point hold up the surface beside it at the steepest slope, and find the feet at both ends."""
    last = top.size - 1
    right = left + step * last
    foot, far = np.inf, np.inf
    for n in ends.ravel():
        k = min(max(int((x[n] - left) / step), 0), last - 1) if step > 0.0 else 0
        for m in (k, k + 1):
            top[m] = max(top[m], z[n] - STEEPEST * abs(left + step * m - x[n]))
        foot = min(foot, z[n] + STEEPEST * (x[n] - left))
        far = min(far, z[n] + STEEPEST * (right - x[n]))
    for k in range(1, last + 1):
        top[k] = max(top[k], top[k - 1] - STEEPEST * step)
    for k in range(last - 1, -1, -1):
        top[k] = max(top[k], top[k + 1] - STEEPEST * step)
    top[0], top[last] = min(top[0], foot), min(top[last], far)


@njit(cache=True, error_model="numpy")
def gathered_rows(x, z, counted, even, levels, share, slope):
    """Fill ``share`` (N, p) and ``slope`` (N,), as `longvault.constraints.snow.gathered_share` lists them."""
    mass = np.empty((2, levels + 1))
    for c in range(x.shape[0]):
        low, rise = z[c].min(), max(z[c].max() - z[c].min(), 1e-9)
        if not np.isfinite(low + rise):
            share[c], slope[c] = np.nan, np.nan
            continue
        run, climb = np.zeros(2), np.zeros(2)
        mass[:] = 0.0
        for k in range(x.shape[1] - 1):
            wide, up = x[c, k + 1] - x[c, k], z[c, k + 1] - z[c, k]
            rising = rising_share(wide, up, even)
            climb[0], climb[1] = climb[0] + max(up, 0.0), climb[1] + max(-up, 0.0)
            for way in range(2):
                part = counted[c, k] * wide * (rising if way == 0 else 1.0 - rising)
                run[way] += part
                put(mass[way], (z[c, k] - low) / rise * levels, 0.5 * part)
                put(mass[way], (z[c, k + 1] - low) / rise * levels, 0.5 * part)
        slope[c] = 0.5 * (np.arctan2(climb[0], run[0]) + np.arctan2(climb[1], run[1]))
        above(mass)
        place_shares(x[c], z[c], (low, rise, even), mass, share[c])


@njit(cache=True, error_model="numpy")
def rising_share(wide, up, even):
    """How far a piece of roof counts as rising to the right: a level one, to ``even``, half."""
    if wide <= 0.0:
        return 0.5
    return min(max(0.5 + up / (wide * even), 0.0), 1.0)


@njit(cache=True, error_model="numpy")
def put(mass, at, part):
    """Share a width out to the two levels about its height."""
    k = min(max(int(at), 0), mass.size - 2)
    mass[k] += part * (k + 1.0 - at)
    mass[k + 1] += part * (at - k)


@njit(cache=True, error_model="numpy")
def above(mass):
    """Turn widths at levels into the share that lies above each, half of its own counted."""
    for way in range(2):
        whole, higher = max(mass[way].sum(), 1e-12), 0.0
        for k in range(mass.shape[1] - 1, -1, -1):
            own = mass[way, k]
            mass[way, k] = (higher + 0.5 * own) / whole
            higher += own


@njit(cache=True, error_model="numpy")
def place_shares(x, z, scale, ranks, share):
    """Share of what gathers at each place, by the ranks of its height; the first and last are one."""
    low, rise, even = scale
    levels = ranks.shape[1] - 1
    share[:] = 0.0
    width = np.zeros(x.size)
    for k in range(x.size - 1):
        wide = x[k + 1] - x[k]
        rising = rising_share(wide, z[k + 1] - z[k], even)
        for n in (k, k + 1):
            at = (z[n] - low) / rise * levels
            j = min(max(int(at), 0), levels - 1)
            both = ranks[:, j] * (j + 1.0 - at) + ranks[:, j + 1] * (at - j)
            share[n] += wide * (rising * both[0] + (1.0 - rising) * both[1])
            width[n] += wide
    share[0], width[0] = share[0] + share[-1], width[0] + width[-1]
    share[-1], width[-1] = share[0], width[0]
    for n in range(x.size):
        share[n] = share[n] / width[n] if width[n] > 0.0 else share[max(n - 1, 0)]


@njit(cache=True, error_model="numpy")
def integral_rows(x, q, at, out):
    """Integral of a piecewise linear load from its first knot to each place; x, q (N, k), at, out (N, e)."""
    for c in range(x.shape[0]):
        for e in range(at.shape[1]):
            total = 0.0
            for k in range(x.shape[1] - 1):
                step = x[c, k + 1] - x[c, k]
                reach = min(max(at[c, e] - x[c, k], 0.0), step)
                steep = (q[c, k + 1] - q[c, k]) / (step if step > 0.0 else 1.0)
                total += reach * (q[c, k] + 0.5 * steep * reach)
            out[c, e] = total


@njit(cache=True, error_model="numpy")
def height_rows(x, z, ends, kerbs, pitch, places, out):
    """Height of the surface over a bay at ``places`` (S,), shares from its left edge, into ``out`` (N, S).

    ``ends`` (s, 2) are the strips of the surface and ``kerbs`` the nodes of kerbs. Between two modules the
    glass runs straight from edge to edge or between the tops of kerbs; a kerb stands on the roof's side.
    """
    for c in range(x.shape[0]):
        left, right = np.inf, -np.inf
        for n in ends.ravel():
            left, right = min(left, x[c, n]), max(right, x[c, n])
        hair, middle = 1e-9 * (right - left), 0.5 * (left + right)
        low, far = np.inf, np.inf
        for n in ends.ravel():
            low = min(low, z[c, n]) if x[c, n] <= left + hair else low
            far = min(far, z[c, n]) if x[c, n] >= right - hair else far
        for n in kerbs:
            if x[c, n] < middle:
                low = max(low, z[c, n])
            else:
                far = max(far, z[c, n])
        mean, gap = 0.5 * (low + far), max(left - (middle - 0.5 * pitch), 1e-12)
        for s in range(places.size):
            at = middle + (places[s] - 0.5) * pitch
            beyond = max(left - at, at - right)
            if beyond >= -hair:
                edge = low if at < middle else far
                out[c, s] = mean + (1.0 - min(max(beyond, 0.0) / gap, 1.0)) * (edge - mean)
            else:
                out[c, s] = height_at(x[c], z[c], ends, at)


@njit(cache=True, error_model="numpy")
def height_at(x, z, ends, at):
    """Highest place of the surface at ``at``; over a gap, straight between the ends of its neighbours."""
    top, before, after = -np.inf, -np.inf, np.inf
    height_before = height_after = 0.0
    for e in range(ends.shape[0]):
        i, j = ends[e, 0], ends[e, 1]
        if x[i] > x[j]:
            i, j = j, i
        if x[i] <= at <= x[j]:
            wide = x[j] - x[i]
            share = (at - x[i]) / wide if wide > 0.0 else 0.0
            top = max(top, z[i] + share * (z[j] - z[i]) if wide > 0.0 else max(z[i], z[j]))
        elif x[j] < at and x[j] > before:
            before, height_before = x[j], z[j]
        elif x[i] > at and x[i] < after:
            after, height_after = x[i], z[i]
    if top > -np.inf:
        return top
    return height_before + (at - before) / (after - before) * (height_after - height_before)
