"""Compiled inner loops of daylight: one candidate a call, so a row never depends on its batch.

A roof piece whose corners (x, h above the point) all lie above the working plane hides one interval of r
= tan t from a point at x0: t is the angle from the zenith, r of a corner is (x + u)/h with u = k pitch -
x0 for the k-th module of the row. So the edges of the interval are the upper and lower envelope of
straight lines in u. Sources stand in `longvault.constraints.daylight`; the plain twin is
`longvault.constraints.visibility`.
"""

import numpy as np
from numba import njit

from longvault.sections.kernels import usable
from longvault.sections.opening_kernel import corner

FAR = 200  # modules to either side at most; beyond them a slot adds less than 1e-6
DONE, MIXED = 0, 1


@njit(cache=True, error_model="numpy")
def fill_corners(x, z, first, second, t, level, cx, ch):
    """Corners of the strips, four each: x and the height above ``level``."""
    for e in range(first.size):
        i, j = first[e], second[e]
        for k in range(4):
            cx[4 * e + k], v = corner(x[i], z[i], x[j], z[j], t[e], k)
            ch[4 * e + k] = v - level


@njit(cache=True, error_model="numpy")
def highest_line(a, b, u):
    """Find the line a + b u that is highest at u; four at a time, for a strip has four corners."""
    m0 = m1 = m2 = m3 = -np.inf
    for v in range(0, a.size, 4):
        f0, f1 = a[v] + b[v] * u, a[v + 1] + b[v + 1] * u
        f2, f3 = a[v + 2] + b[v + 2] * u, a[v + 3] + b[v + 3] * u
        m0, m1 = f0 if f0 > m0 else m0, f1 if f1 > m1 else m1
        m2, m3 = f2 if f2 > m2 else m2, f3 if f3 > m3 else m3
    top = max(max(m0, m1), max(m2, m3))
    for v in range(a.size):
        if a[v] + b[v] * u == top:
            return v
    return 0


@njit(cache=True, error_model="numpy")
def kink(a, b, i, j, u):
    """Where lines i and j cross (u if they do not), and the height there."""
    if b[i] != b[j]:
        u = (a[i] - a[j]) / (b[j] - b[i])
    return u, min(a[i] + b[i] * u, a[j] + b[j] * u)


@njit(cache=True, error_model="numpy")
def sorted_candidates(a, b, low, high, order):
    """Fill ``order`` with the lines that may be highest in [low, high], by rising slope; returns how many.

    The highest lines at both ends and in the middle bound the envelope from below; a line that rises above
    all three does so where two of them cross.
    """
    middle = 0.5 * (low + high)
    i, m, j = highest_line(a, b, low), highest_line(a, b, middle), highest_line(a, b, high)
    u1, least1 = kink(a, b, i, m, low)
    u2, least2 = kink(a, b, m, j, high)
    count = 0
    for v in range(a.size):
        if a[v] + b[v] * u1 >= least1 or a[v] + b[v] * u2 >= least2:
            k = count
            while k > 0 and b[order[k - 1]] > b[v]:
                order[k] = order[k - 1]
                k -= 1
            order[k] = v
            count += 1
    return count


@njit(cache=True, error_model="numpy")
def upper_envelope(a, b, low, high, order, lines):
    """Fill ``lines`` (2, n) with the lines a + b u that are highest in [low, high]; returns how many.

    They come by rising slope. Andrew's monotone chain on the points (b, a).
    """
    count = 0
    for v in order[: sorted_candidates(a, b, low, high, order)]:
        while count > 0 and lines[1, count - 1] == b[v] and lines[0, count - 1] <= a[v]:
            count -= 1
        if count > 0 and lines[1, count - 1] == b[v]:
            continue
        while count > 1:
            rise, run = lines[0, count - 1] - lines[0, count - 2], lines[1, count - 1] - lines[1, count - 2]
            if rise * (b[v] - lines[1, count - 1]) > (a[v] - lines[0, count - 1]) * run:
                break
            count -= 1
        lines[0, count], lines[1, count] = a[v], b[v]
        count += 1
    return count


@njit(cache=True, error_model="numpy")
def climb(lines, count, u, j):
    """Find the line of an envelope that is highest at u, looking from line j onwards."""
    value = lines[0, j] + lines[1, j] * u
    while j + 1 < count and lines[0, j + 1] + lines[1, j + 1] * u >= value:
        j += 1
        value = lines[0, j] + lines[1, j] * u
    while j > 0 and lines[0, j - 1] + lines[1, j - 1] * u >= value:
        j -= 1
        value = lines[0, j] + lines[1, j] * u
    return j


@njit(cache=True, error_model="numpy")
def envelopes(x, h, low, high, shift, lines):
    """Edges of a piece as envelopes: the right one in [low, high], the left one ``shift`` further on.

    Fills ``lines`` (2 sides, 2, n), those of the left edge negated.
    """
    b = 1.0 / h
    a = x * b
    order = np.empty(a.size, np.int64)
    right = upper_envelope(a, b, low, high, order, lines[0])
    return right, upper_envelope(-a, -b, low + shift, high + shift, order, lines[1])


@njit(cache=True, error_model="numpy")
def sight_range(xp, hp, xq, hq, shift):
    """Range of u in which sky can show between piece p and piece q standing ``shift`` further on.

    Each pair of corners bounds it; the lowest against the highest corner serves best.
    """
    low_p, high_p, low_q, high_q = np.argmin(hp), np.argmax(hp), np.argmin(hq), np.argmax(hq)
    start, stop = -np.inf, np.inf
    x1, h1, x2, h2 = xp[low_p], hp[low_p], xq[high_q] + shift, hq[high_q]
    if h2 > h1:
        stop = (x2 / h2 - x1 / h1) / (1.0 / h1 - 1.0 / h2)
    x1, h1, x2, h2 = xp[high_p], hp[high_p], xq[low_q] + shift, hq[low_q]
    if h1 > h2:
        start = (x1 / h1 - x2 / h2) / (1.0 / h2 - 1.0 / h1)
    return start, stop


@njit(cache=True, error_model="numpy")
def roof_range(cx, ch, bounds, pitch):
    """Range of u in which sky can show between any two pieces, in this module or across to the next."""
    start, stop = np.inf, -np.inf
    for p in range(bounds.size - 1):
        xp, hp = cx[bounds[p] : bounds[p + 1]], ch[bounds[p] : bounds[p + 1]]
        for q in range(bounds.size - 1):
            xq, hq = cx[bounds[q] : bounds[q + 1]], ch[bounds[q] : bounds[q + 1]]
            if p != q:
                low, high = sight_range(xp, hp, xq, hq, 0.0)
                start, stop = min(start, low), max(stop, high)
            if pitch > 0.0:
                low, high = sight_range(xp, hp, xq, hq, pitch)
                start, stop = min(start, low), max(stop, high)
    return start, stop


@njit(cache=True, error_model="numpy")
def module_range(start, stop, x0, pitch, neighbours, margin):
    """First and last module of the row that matter to a point at x0."""
    if not pitch > 0.0:
        return 0, 0
    far = neighbours if neighbours >= 0 else FAR
    here = 0.0 if neighbours >= 0 else np.floor(x0 / pitch)
    low = max((start + x0) / pitch, here - far)
    high = min((stop + x0) / pitch, here + far)
    first, last = max(np.floor(low) - margin, here - far), min(np.ceil(high) + 1 + margin, here + far)
    return int(first), int(last)


@njit(cache=True, error_model="numpy")
def add_interval(lo, hi, low, high, count):
    """Insert an interval into lists kept in order of ``lo``."""
    i = count
    while i > 0 and lo[i - 1] > low:
        lo[i], hi[i] = lo[i - 1], hi[i - 1]
        i -= 1
    lo[i], hi[i] = low, high


@njit(cache=True, error_model="numpy")
def wedge(r):
    """Antiderivative of the light on a level plane at t = atan r: overcast, uniform."""
    c = 1.0 / np.sqrt(1.0 + r * r)
    s = r * c
    return (3.0 / 14.0) * s + (4.0 / (7.0 * np.pi)) * (np.arctan(r) + s * c), 0.5 * s


@njit(cache=True, error_model="numpy")
def add_sky(lo, hi, count, light):
    """Add the light of the sky between the hidden intervals to ``light`` (overcast, uniform)."""
    reach = hi[0]
    for i in range(1, count):
        if lo[i] > reach:
            over1, even1 = wedge(reach)
            over2, even2 = wedge(lo[i])
            light[0] += over2 - over1
            light[1] += even2 - even1
        reach = max(reach, hi[i])


@njit(cache=True, error_model="numpy")
def pieces_above(cx, ch, bounds, ax, ah, part_bounds):
    """Copy the corners of the pieces that rise above the working plane; -1 if one passes through it."""
    pieces = filled = 0
    part_bounds[0] = 0
    for p in range(bounds.size - 1):
        part = slice(bounds[p], bounds[p + 1])
        if ch[part].max() <= 0.0:
            continue
        if ch[part].min() <= 0.0:
            return -1
        size = bounds[p + 1] - bounds[p]
        ax[filled : filled + size], ah[filled : filled + size] = cx[part], ch[part]
        filled += size
        pieces += 1
        part_bounds[pieces] = filled
    return pieces


@njit(cache=True, error_model="numpy")
def row_of_one(cx, ch, start, stop, px, pitch, neighbours, out):
    """Add the sky seen between neighbouring modules to ``out`` (points, 2), each module being one piece.

    Modules of one shape stand in order: sky shows from the right edge of one to the left edge of the next.
    """
    lowest, _ = module_range(start, stop, px.min(), pitch, neighbours, 0.0)
    _, highest = module_range(start, stop, px.max(), pitch, neighbours, 0.0)
    start, stop = max(start, lowest * pitch - px.max()), min(stop, highest * pitch - px.min())
    if stop < start:
        return
    lines = np.empty((2, 2, cx.size))
    rights, lefts = envelopes(cx, ch, start, stop, pitch, lines)
    i = j = np.int64(0)
    for k in range(lowest, highest):
        for p in range(px.size):
            u = k * pitch - px[p]
            first, last = module_range(start, stop, px[p], pitch, neighbours, 0.0)
            if first <= k < last and start <= u <= stop:
                i, j = climb(lines[0], rights, u, i), climb(lines[1], lefts, u + pitch, j)
                right = lines[0, 0, i] + lines[0, 1, i] * u
                left = -lines[1, 0, j] - lines[1, 1, j] * (u + pitch)
                if left > right:
                    over1, even1 = wedge(right)
                    over2, even2 = wedge(left)
                    out[p, 0] += over2 - over1
                    out[p, 1] += even2 - even1


@njit(cache=True, error_model="numpy")
def row_of_many(cx, ch, bounds, start, stop, px, pitch, neighbours, out):
    """Add the sky seen between the pieces of the whole row to ``out`` (points, 2)."""
    # np.int64(0): for a plain 0 numba compiles the function called once more
    pieces = bounds.size - 1
    lowest, _ = module_range(start, stop, px.min(), pitch, neighbours, 2.0)
    _, highest = module_range(start, stop, px.max(), pitch, neighbours, 2.0)
    size = pieces * max(highest - lowest + 1, 0)
    lines, counts = np.empty((pieces, 2, 2, cx.size)), np.empty((pieces, 2), np.int64)
    low, high = lowest * pitch - px.max(), highest * pitch - px.min()
    for p in range(pieces):
        part = slice(bounds[p], bounds[p + 1])
        counts[p, 0], counts[p, 1] = envelopes(cx[part], ch[part], low, high, 0.0, lines[p])
    lo, hi = np.empty(size), np.empty(size)
    for i in range(px.size):
        first, last = module_range(start, stop, px[i], pitch, neighbours, 2.0)
        count = np.int64(0)
        for k in range(first, last + 1):
            u = k * pitch - px[i]
            for p in range(pieces):
                right = climb(lines[p, 0], counts[p, 0], u, np.int64(0))
                left = climb(lines[p, 1], counts[p, 1], u, np.int64(0))
                high = lines[p, 0, 0, right] + lines[p, 0, 1, right] * u
                low = -lines[p, 1, 0, left] - lines[p, 1, 1, left] * u
                add_interval(lo, hi, low, high, count)
                count += 1
        if count > 0:
            add_sky(lo, hi, count, out[i])


@njit(cache=True, error_model="numpy")
def sky_row(x, z, first, second, t, bounds, px, level, pitch, neighbours, out):
    """Fill ``out`` (points, 2) with the overcast and uniform sky component of one section.

    Strips come sorted by piece; ``bounds`` are the corner numbers at which pieces begin.
    """
    known = np.isfinite(level) and np.isfinite(pitch) and np.all(np.abs(px) < 1e9)
    if not (known and usable(x, z, first, second, t)):
        out[:] = np.nan
        return DONE
    size = 4 * first.size
    cx, ch, ax, ah = np.empty(size), np.empty(size), np.empty(size), np.empty(size)
    fill_corners(x, z, first, second, t, level, cx, ch)
    part_bounds = np.empty(bounds.size, np.int64)
    pieces = pieces_above(cx, ch, bounds, ax, ah, part_bounds)
    if pieces < 0:
        return MIXED
    out[:] = 0.0
    if pieces == 0:
        return DONE
    part_bounds = part_bounds[: pieces + 1]
    ax, ah = ax[: part_bounds[-1]], ah[: part_bounds[-1]]
    start, stop = roof_range(ax, ah, part_bounds, pitch)
    if pieces > 1:
        row_of_many(ax, ah, part_bounds, start, stop, px, pitch, neighbours, out)
    elif pitch > 0.0:
        row_of_one(ax, ah, start, stop, px, pitch, neighbours, out)
    return DONE


@njit(cache=True, error_model="numpy")
def sky_rows(x, z, first, second, t, bounds, px, level, pitch, neighbours, out, status):
    """Run `sky_row` over candidates: x, z (N, n), t (N, e), px (N, P), level, pitch (N,), out (N, P, 2)."""
    for c in range(x.shape[0]):
        status[c] = sky_row(
            x[c], z[c], first, second, t[c], bounds, px[c], level[c], pitch[c], neighbours, out[c]
        )


@njit(cache=True, error_model="numpy")
def glass_rows(x, z, first, second, t, pitch, line, out):
    """Edges r = tan t of the sky seen from the middle of the glass: line (N, 5) of a slot, out (N, 2).

    This module bounds the view on the left, the next one on the right, each by its corners above the middle.
    """
    for c in range(x.shape[0]):
        middle_x, middle_z = 0.5 * (line[c, 1] + line[c, 3]), 0.5 * (line[c, 2] + line[c, 4])
        start, stop = -np.inf, np.inf
        for e in range(first.size):
            i, j = first[e], second[e]
            for k in range(4):
                px, pz = corner(x[c, i], z[c, i], x[c, j], z[c, j], t[c, e], k)
                h = pz - middle_z
                if h > 1e-9 * abs(line[c, 0]):
                    start, stop = max(start, (px - middle_x) / h), min(stop, (px + pitch[c] - middle_x) / h)
        out[c, 0], out[c, 1] = (start, stop) if np.isfinite(line[c, 0]) else (np.nan, np.nan)
