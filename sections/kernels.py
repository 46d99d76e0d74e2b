"""Compiled inner loops: one candidate a call, so a row never depends on the batch it stands in.

Every formula here has its source in the public function that calls it; the plain numpy twins that these
loops are checked against live with the tests.
"""

import numpy as np
from numba import njit

SECTION_FIELDS = 25
SUMS = {"contract", "reassoc", "arcp", "nsz"}
"""Sums along the strips may be taken in any fixed order; NaN and infinity keep their meaning."""


@njit(cache=True, error_model="numpy")
def usable(x, z, first, second, t):
    """Whether every value is finite, every thickness and every length above zero."""
    for e in range(first.size):
        i, j = first[e], second[e]
        length2 = (x[j] - x[i]) ** 2 + (z[j] - z[i]) ** 2
        if not (length2 > 0.0 and np.isfinite(length2) and t[e] > 0.0 and np.isfinite(t[e])):
            return False
    return True


@njit(cache=True, error_model="numpy")
def measure_strips(x, z, first, second, chain, t, lines):
    """Fill ``lines`` (5, e) with x1, z1, x2, z2 and the length of each strip; whether they are `usable`.

    ``chain`` says that strip e joins node e to node e + 1.
    """
    x1, z1, x2, z2, length = lines[0], lines[1], lines[2], lines[3], lines[4]
    if chain:
        for e in range(t.size):
            x1[e], z1[e], x2[e], z2[e] = x[e], z[e], x[e + 1], z[e + 1]
    else:
        for e in range(t.size):
            i, j = first[e], second[e]
            x1[e], z1[e], x2[e], z2[e] = x[i], z[i], x[j], z[j]
    bad = 0
    for e in range(t.size):
        dx, dz = x2[e] - x1[e], z2[e] - z1[e]
        length2 = dx * dx + dz * dz
        length[e] = np.sqrt(length2)
        good = (length2 > 0.0) & (length2 < np.inf) & (t[e] > 0.0) & (t[e] < np.inf)
        bad += 0 if good else 1
    return bad == 0


@njit(cache=True, error_model="numpy")
def section_row(lines, t, slender, out):
    """Fill ``out`` (SECTION_FIELDS,) in the order of the fields of ``Properties``.

    ``lines`` comes from `measure_strips`; ``slender`` (e,) is room for thickness over length.
    """
    area, developed, cx, cz = first_moments(lines, t, slender)
    top, bottom, left, right = outline(lines, slender)
    ixx, izz, ixz = second_moments(lines, t, slender, cx, cz)
    cx += lines[0, 0]
    cz += lines[1, 0]
    determinant = ixx * izz - ixz * ixz
    per_z, per_x = izz / determinant, ixz / determinant
    compressed, stretched = extreme_fibres(lines, slender, cx, cz, per_z, per_x)
    height, upper, lower = top - bottom, top - cz, cz - bottom
    product = 0.0 if abs(ixz) <= 1e-12 * (ixx + izz) else ixz
    mean, half = 0.5 * (ixx + izz), 0.5 * (ixx - izz)
    radius = np.sqrt(half * half + product * product)
    out[0], out[1], out[2], out[3], out[4], out[5] = area, cx, cz, ixx, izz, ixz
    out[6], out[7] = mean + radius, mean - radius
    out[8] = 0.5 * np.arctan2(product if half <= 0.0 else -product, abs(half))
    out[9], out[10], out[11], out[12], out[13], out[14] = top, bottom, height, left, right, right - left
    out[15], out[16], out[17] = developed, ixx / upper, ixx / lower
    out[18], out[19] = 1.0 / compressed, 1.0 / stretched
    out[20] = 1.0 / max(compressed, stretched)
    out[21], out[22] = ixx / (lower * area), ixx / (upper * area)
    out[23] = ixx / (area * upper * lower)
    out[24] = out[20] / (area * height)


@njit(cache=True, error_model="numpy", fastmath=SUMS)
def first_moments(lines, t, slender):
    """Area, developed length, centroid from the first node; fill ``slender`` with thickness over length."""
    x1, z1, x2, z2, length = lines[0], lines[1], lines[2], lines[3], lines[4]
    ox, oz = x1[0], z1[0]
    area = sx = sz = developed = 0.0
    for e in range(t.size):
        a = length[e] * t[e]
        slender[e] = t[e] / length[e]
        area += a
        developed += length[e]
        sx += a * (0.5 * (x1[e] + x2[e]) - ox)
        sz += a * (0.5 * (z1[e] + z2[e]) - oz)
    return area, developed, sx / area, sz / area


@njit(cache=True, error_model="numpy")
def outline(lines, slender):
    """Top, bottom, left and right of the rectangles."""
    x1, z1, x2, z2 = lines[0], lines[1], lines[2], lines[3]
    top, bottom, left, right = -np.inf, np.inf, np.inf, -np.inf
    for e in range(slender.size):
        up, across = 0.5 * slender[e] * abs(x2[e] - x1[e]), 0.5 * slender[e] * abs(z2[e] - z1[e])
        top, bottom = max(top, max(z1[e], z2[e]) + up), min(bottom, min(z1[e], z2[e]) - up)
        left, right = min(left, min(x1[e], x2[e]) - across), max(right, max(x1[e], x2[e]) + across)
    return top, bottom, left, right


@njit(cache=True, error_model="numpy", fastmath=SUMS)
def second_moments(lines, t, slender, cx, cz):
    """Second moments of area about a centroid that is given from the first node."""
    x1, z1, x2, z2, length = lines[0], lines[1], lines[2], lines[3], lines[4]
    ox, oz = x1[0], z1[0]
    ixx = izz = ixz = 0.0
    for e in range(t.size):
        dx, dz = x2[e] - x1[e], z2[e] - z1[e]
        a, thin = length[e] * t[e], slender[e] * slender[e]
        ux, uz = 0.5 * (x1[e] + x2[e]) - ox - cx, 0.5 * (z1[e] + z2[e]) - oz - cz
        ixx += a * (uz * uz + (dz * dz + thin * dx * dx) / 12.0)
        izz += a * (ux * ux + (dx * dx + thin * dz * dz) / 12.0)
        ixz += a * (ux * uz + (1.0 - thin) * dx * dz / 12.0)
    return ixx, izz, ixz


@njit(cache=True, error_model="numpy")
def extreme_fibres(lines, slender, cx, cz, per_z, per_x):
    """Largest f and largest -f at the corners of the strips."""
    x1, z1, x2, z2 = lines[0], lines[1], lines[2], lines[3]
    compressed = stretched = -np.inf
    for e in range(slender.size):
        f1 = per_z * (z1[e] - cz) - per_x * (x1[e] - cx)
        f2 = per_z * (z2[e] - cz) - per_x * (x2[e] - cx)
        across = 0.5 * slender[e] * abs(per_z * (x2[e] - x1[e]) + per_x * (z2[e] - z1[e]))
        compressed = max(compressed, max(f1, f2) + across)
        stretched = max(stretched, across - min(f1, f2))
    return compressed, stretched


@njit(cache=True, error_model="numpy")
def flow_row(area, f1, f2, order, tip, root, forward, flow1, flow2, peak, node_flow):
    """Shear flow over an open tree: strips taken from the tips to the root.

    ``order``, ``tip``, ``root`` and ``forward`` come from `longvault.sections.topology.tree_order`.
    """
    node_flow[:] = 0.0
    for k in range(order.size):
        e = order[k]
        near, far = (f1[e], f2[e]) if forward[k] else (f2[e], f1[e])
        before = node_flow[tip[k]]
        after = before + 0.5 * area[e] * (near + far)
        node_flow[root[k]] += after
        largest = max(abs(before), abs(after))
        if near * far < 0.0:
            largest = max(largest, abs(before + 0.5 * area[e] * near * near / (near - far)))
        peak[e] = largest
        flow1[e], flow2[e] = (before, after) if forward[k] else (-after, -before)


@njit(cache=True, error_model="numpy")
def section_rows(x, z, first, second, chain, t, out):
    """Run `section_row` over candidates: x, z (N, n), t (N, e), out (N, SECTION_FIELDS)."""
    lines, slender = np.empty((5, first.size)), np.empty(first.size)
    for c in range(x.shape[0]):
        if measure_strips(x[c], z[c], first, second, chain, t[c], lines):
            section_row(lines, t[c], slender, out[c])
        else:
            out[c] = np.nan


@njit(cache=True, error_model="numpy")
def flow_rows(area, f1, f2, order, tip, root, forward, nodes, flow1, flow2, peak):
    """Run `flow_row` over candidates: area, f1, f2 and the results (N, e)."""
    node_flow = np.empty(nodes)
    for c in range(area.shape[0]):
        flow_row(area[c], f1[c], f2[c], order, tip, root, forward, flow1[c], flow2[c], peak[c], node_flow)


@njit(cache=True, error_model="numpy")
def combine_rows(controls, matrix, out):
    """Multiply controls (N, k) by matrix (s, k) into out (N, s), in one fixed order of sums."""
    for c in range(controls.shape[0]):
        for s in range(matrix.shape[0]):
            total = 0.0
            for k in range(matrix.shape[1]):
                total += controls[c, k] * matrix[s, k]
            out[c, s] = total
