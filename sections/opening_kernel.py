"""Compiled inner loop of the slot between two modules: one candidate a call."""

import numpy as np
from numba import njit

from longvault.sections.kernels import measure_strips


@njit(cache=True, error_model="numpy")
def corner(x1, z1, x2, z2, t, k):
    """Corner k (0 to 3, in order round the rectangle) of a strip of thickness t."""
    dx, dz = x2 - x1, z2 - z1
    scale = 0.5 * t / np.sqrt(dx * dx + dz * dz)
    up = scale if k < 2 else -scale
    x, z = (x1, z1) if k == 0 or k == 3 else (x2, z2)
    return x - up * dz, z + up * dx


@njit(cache=True, error_model="numpy")
def mark_edge(lines, across, kerb, side, marked):
    """List the strips of one slot edge: kerbs of that half, strips at the tip, the furthest outline.

    ``side`` is +1 for the right edge, -1 for the left one. Fills ``marked`` and returns how many there are.
    """
    x1, x2 = lines[0], lines[2]
    tip, other, furthest = -np.inf, np.inf, -np.inf
    for e in range(across.size):
        a, b = side * x1[e], side * x2[e]
        tip, other = max(tip, max(a, b)), min(other, min(a, b))
        furthest = max(furthest, max(a, b) + across[e])
    size, count = tip - other, 0
    for e in range(across.size):
        outer = max(side * x1[e], side * x2[e])
        at_tip, at_face = outer >= tip - 1e-9 * size, outer + across[e] >= furthest - 1e-9 * size
        at_kerb = kerb[e] and 0.5 * side * (x1[e] + x2[e]) > tip - 0.5 * size
        if at_tip or at_face or at_kerb:
            marked[count] = e
            count += 1
    return count


@njit(cache=True, error_model="numpy")
def rectangle(x1, z1, x2, z2, t, box):
    """Fill ``box`` (14,): middle, direction, half length, half thickness, the four corners."""
    length = np.sqrt((x2 - x1) ** 2 + (z2 - z1) ** 2)
    box[0], box[1] = 0.5 * (x1 + x2), 0.5 * (z1 + z2)
    box[2], box[3] = (x2 - x1) / length, (z2 - z1) / length
    box[4], box[5] = 0.5 * length, 0.5 * t
    for k in range(4):
        box[6 + 2 * k], box[7 + 2 * k] = corner(x1, z1, x2, z2, t, k)


@njit(cache=True, error_model="numpy")
def separation(box, other):
    """Largest gap between two rectangles along the two axes of the first one."""
    low_s = low_n = np.inf
    high_s = high_n = -np.inf
    for k in range(6, 14, 2):
        px, pz = other[k] - box[0], other[k + 1] - box[1]
        s, n = px * box[2] + pz * box[3], pz * box[2] - px * box[3]
        low_s, high_s, low_n, high_n = min(low_s, s), max(high_s, s), min(low_n, n), max(high_n, n)
    return max(max(low_s, -high_s) - box[4], max(low_n, -high_n) - box[5])


@njit(cache=True, error_model="numpy")
def nearest_in(box, x, z):
    """Point of a rectangle nearest to (x, z)."""
    ax, az = box[2], box[3]
    px, pz = x - box[0], z - box[1]
    s = min(max(px * ax + pz * az, -box[4]), box[4])
    n = min(max(pz * ax - px * az, -box[5]), box[5])
    return box[0] + s * ax - n * az, box[1] + s * az + n * ax


@njit(cache=True, error_model="numpy")
def keep_nearest(gap, xa, za, xb, zb, best):
    """Take a line across the slot into ``best`` if it is shorter, or as short and higher up."""
    width = np.sqrt((xb - xa) ** 2 + (zb - za) ** 2) if gap > 0.0 else gap
    level = 1e-9 * abs(best[0])
    if width < best[0] - level or (width <= best[0] + level and za + zb > best[2] + best[4]):
        best[0], best[1], best[2], best[3], best[4] = min(width, best[0]), xa, za, xb, zb


@njit(cache=True, error_model="numpy")
def pair_gap(one, two, best):
    """Take the line between two rectangles into ``best``: (width, x, z on one, x, z on two)."""
    gap = max(separation(one, two), separation(two, one))
    if gap > best[0] + 1e-8 * abs(best[0]):  # no line across is shorter than the gap along an axis
        return
    for k in range(6, 14, 2):
        xa, za = one[k], one[k + 1]
        xb, zb = nearest_in(two, xa, za)
        keep_nearest(gap, xa, za, xb, zb, best)
        xb, zb = two[k], two[k + 1]
        xa, za = nearest_in(one, xb, zb)
        keep_nearest(gap, xa, za, xb, zb, best)


@njit(cache=True, error_model="numpy")
def slot_row(lines, t, kerb, pitch, across, marked, boxes, out):
    """Fill ``out`` with (width, x, z on this module, x, z on the next one).

    ``across`` (e,), ``marked`` (2, e) and ``boxes`` (2, e, 14) are room to work in.
    """
    x1, z1, x2, z2, length = lines[0], lines[1], lines[2], lines[3], lines[4]
    for e in range(t.size):
        across[e] = 0.5 * t[e] * abs(z2[e] - z1[e]) / length[e]
    right = mark_edge(lines, across, kerb, 1.0, marked[0])
    left = mark_edge(lines, across, kerb, -1.0, marked[1])
    for a in range(right):
        e = marked[0, a]
        rectangle(x1[e], z1[e], x2[e], z2[e], t[e], boxes[0, a])
    for b in range(left):
        e = marked[1, b]
        rectangle(x1[e] + pitch, z1[e], x2[e] + pitch, z2[e], t[e], boxes[1, b])
    out[0], out[1], out[2], out[3], out[4] = np.inf, np.nan, -np.inf, np.nan, -np.inf
    for a in range(right):
        for b in range(left):
            pair_gap(boxes[0, a], boxes[1, b], out)


@njit(cache=True, error_model="numpy")
def slot_rows(x, z, first, second, chain, t, kerb, pitch, out):
    """Run `slot_row` over candidates: x, z (N, n), t (N, e), pitch (N,), out (N, 5)."""
    count = first.size
    lines, across = np.empty((5, count)), np.empty(count)
    marked, boxes = np.empty((2, count), np.intp), np.empty((2, count, 14))
    for c in range(x.shape[0]):
        if measure_strips(x[c], z[c], first, second, chain, t[c], lines) and np.isfinite(pitch[c]):
            slot_row(lines, t[c], kerb, pitch[c], across, marked, boxes, out[c])
        else:
            out[c] = np.nan
