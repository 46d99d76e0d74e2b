"""Compiled inner loop of the slot between two modules: one candidate a call."""

import numpy as np
from numba import njit

from longvault.sections.kernels import usable


@njit(cache=True, error_model="numpy")
def corner(x1, z1, x2, z2, t, k):
    """Corner k (0 to 3, in order round the rectangle) of a strip of thickness t."""
    dx, dz = x2 - x1, z2 - z1
    scale = 0.5 * t / np.sqrt(dx * dx + dz * dz)
    up = scale if k < 2 else -scale
    x, z = (x1, z1) if k == 0 or k == 3 else (x2, z2)
    return x - up * dz, z + up * dx


@njit(cache=True, error_model="numpy")
def reach(x1, z1, x2, z2, t, side):
    """How far the outline of a strip reaches to the right (side +1) or to the left (-1)."""
    dx, dz = x2 - x1, z2 - z1
    return max(side * x1, side * x2) + 0.5 * t * abs(dz) / np.sqrt(dx * dx + dz * dz)


@njit(cache=True, error_model="numpy")
def mark_edge(x, z, first, second, t, kerb, side, marked):
    """Mark the strips of one slot edge: kerbs of that half, strips at the tip, the furthest outline."""
    tip, other, furthest = -np.inf, np.inf, -np.inf
    for e in range(first.size):
        i, j = first[e], second[e]
        tip, other = max(tip, side * x[i], side * x[j]), min(other, side * x[i], side * x[j])
        furthest = max(furthest, reach(x[i], z[i], x[j], z[j], t[e], side))
    size = tip - other
    for e in range(first.size):
        i, j = first[e], second[e]
        at_tip = max(side * x[i], side * x[j]) >= tip - 1e-9 * size
        at_face = reach(x[i], z[i], x[j], z[j], t[e], side) >= furthest - 1e-9 * size
        at_kerb = kerb[e] and 0.5 * side * (x[i] + x[j]) > tip - 0.5 * size
        marked[e] = at_tip or at_face or at_kerb


@njit(cache=True, error_model="numpy")
def separation(box, points):
    """Largest gap between a rectangle (x1, z1, x2, z2, t) and four points along the rectangle's two axes."""
    x1, z1, x2, z2, t = box
    length = np.sqrt((x2 - x1) ** 2 + (z2 - z1) ** 2)
    ax, az = (x2 - x1) / length, (z2 - z1) / length
    low_s = low_n = np.inf
    high_s = high_n = -np.inf
    for k in range(4):
        px, pz = points[k, 0] - 0.5 * (x1 + x2), points[k, 1] - 0.5 * (z1 + z2)
        s, n = px * ax + pz * az, pz * ax - px * az
        low_s, high_s, low_n, high_n = min(low_s, s), max(high_s, s), min(low_n, n), max(high_n, n)
    return max(max(low_s, -high_s) - 0.5 * length, max(low_n, -high_n) - 0.5 * t)


@njit(cache=True, error_model="numpy")
def nearest_in(box, x, z):
    """Point of a rectangle (x1, z1, x2, z2, t) nearest to (x, z)."""
    x1, z1, x2, z2, t = box
    length = np.sqrt((x2 - x1) ** 2 + (z2 - z1) ** 2)
    ax, az = (x2 - x1) / length, (z2 - z1) / length
    px, pz = x - 0.5 * (x1 + x2), z - 0.5 * (z1 + z2)
    s = min(max(px * ax + pz * az, -0.5 * length), 0.5 * length)
    n = min(max(pz * ax - px * az, -0.5 * t), 0.5 * t)
    return 0.5 * (x1 + x2) + s * ax - n * az, 0.5 * (z1 + z2) + s * az + n * ax


@njit(cache=True, error_model="numpy")
def keep_nearest(width, xa, za, xb, zb, best):
    """Take a line across the slot into ``best`` if it is shorter, or as short and higher up."""
    level = 1e-9 * abs(best[0])
    if width < best[0] - level or (width <= best[0] + level and za + zb > best[2] + best[4]):
        best[0], best[1], best[2], best[3], best[4] = min(width, best[0]), xa, za, xb, zb


@njit(cache=True, error_model="numpy")
def pair_gap(one, two, corners, best):
    """Take the line between two rectangles into ``best``: (width, x, z on one, x, z on two)."""
    for k in range(4):
        corners[0, k] = corner(*one, k)
        corners[1, k] = corner(*two, k)
    gap = max(separation(one, corners[1]), separation(two, corners[0]))
    for k in range(4):
        xa, za = corners[0, k]
        xb, zb = nearest_in(two, xa, za)
        keep_nearest(np.hypot(xb - xa, zb - za) if gap > 0.0 else gap, xa, za, xb, zb, best)
        xb, zb = corners[1, k]
        xa, za = nearest_in(one, xb, zb)
        keep_nearest(np.hypot(xb - xa, zb - za) if gap > 0.0 else gap, xa, za, xb, zb, best)


@njit(cache=True, error_model="numpy")
def slot_row(x, z, first, second, t, kerb, pitch, out):
    """Fill ``out`` with (width, x, z on this module, x, z on the next one)."""
    out[:] = np.nan
    if not (usable(x, z, first, second, t) and np.isfinite(pitch)):
        return
    right, left = np.empty(first.size, np.bool_), np.empty(first.size, np.bool_)
    mark_edge(x, z, first, second, t, kerb, 1.0, right)
    mark_edge(x, z, first, second, t, kerb, -1.0, left)
    corners = np.empty((2, 4, 2))
    out[0], out[2], out[4] = np.inf, -np.inf, -np.inf
    for a in range(first.size):
        if right[a]:
            one = (x[first[a]], z[first[a]], x[second[a]], z[second[a]], t[a])
            for b in range(first.size):
                if left[b]:
                    i, j = first[b], second[b]
                    pair_gap(one, (x[i] + pitch, z[i], x[j] + pitch, z[j], t[b]), corners, out)


@njit(cache=True, error_model="numpy")
def slot_rows(x, z, first, second, t, kerb, pitch, out):
    """Run `slot_row` over candidates: x, z (N, n), t (N, e), pitch (N,), out (N, 5)."""
    for c in range(x.shape[0]):
        slot_row(x[c], z[c], first, second, t[c], kerb, pitch[c], out[c])
