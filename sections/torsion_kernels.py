"""Compiled inner loops for torsion and for the shear flow round closed cells: one candidate a call.

Every formula here has its source in the public function that calls it. Places in arrays are taken as unsigned
numbers (`np.uintp`): they need no look whether they count from the end.
"""

import numpy as np
from numba import njit

TORSION_FIELDS = 5


@njit(cache=True, error_model="numpy")
def solve_cells(matrix, rhs):
    """Solve a small symmetric positive definite system in place by Cholesky's method."""
    n = rhs.size
    for j in range(n):
        for k in range(j):
            matrix[j, j] -= matrix[j, k] * matrix[j, k]
        matrix[j, j] = np.sqrt(matrix[j, j])
        for i in range(j + 1, n):
            for k in range(j):
                matrix[i, j] -= matrix[i, k] * matrix[j, k]
            matrix[i, j] /= matrix[j, j]
    for i in range(n):
        for k in range(i):
            rhs[i] -= matrix[i, k] * rhs[k]
        rhs[i] /= matrix[i, i]
    for i in range(n - 1, -1, -1):
        for k in range(i + 1, n):
            rhs[i] -= matrix[k, i] * rhs[k]
        rhs[i] /= matrix[i, i]


@njit(cache=True, error_model="numpy")
def fill_cells(ratio, start, strip, sign, sign_of, matrix):
    """Sum length / thickness round each cell and along the walls two cells share."""
    cells = start.size - 1
    for i in range(cells):
        sign_of[:] = 0.0
        for k in range(start[i], start[i + 1]):
            sign_of[strip[k]] = sign[k]
        for j in range(i + 1):
            total = 0.0
            for k in range(start[j], start[j + 1]):
                total += sign[k] * sign_of[strip[k]] * ratio[strip[k]]
            matrix[i, j] = total
            matrix[j, i] = total


@njit(cache=True, error_model="numpy")
def cut_flow(area, f1, f2, second, order, tip, root, forward, closing, flow1, flow2, node_flow):
    """Shear flow with every closing strip cut at its first end."""
    node_flow[:] = 0.0
    for e in closing:
        flow1[e], flow2[e] = 0.0, 0.5 * area[e] * (f1[e] + f2[e])
        node_flow[second[e]] += flow2[e]
    for k in range(order.size):
        e = order[k]
        before = node_flow[tip[k]]
        after = before + 0.5 * area[e] * (f1[e] + f2[e])
        node_flow[root[k]] += after
        flow1[e], flow2[e] = (before, after) if forward[k] else (-after, -before)


@njit(cache=True, error_model="numpy")
def cell_flow_row(
    area,
    ratio,
    f1,
    f2,
    second,
    order,
    tip,
    root,
    forward,
    closing,
    start,
    strip,
    sign,
    flow1,
    flow2,
    peak,
    work,
):
    """Shear flow with the circulation that keeps every cell from twisting."""
    node_flow, sign_of, matrix, rhs = work
    cut_flow(area, f1, f2, second, order, tip, root, forward, closing, flow1, flow2, node_flow)
    fill_cells(ratio, start, strip, sign, sign_of, matrix)
    for c in range(start.size - 1):
        rhs[c] = 0.0
        for k in range(start[c], start[c + 1]):
            e = strip[k]
            rhs[c] -= sign[k] * ratio[e] * (flow1[e] + area[e] * (f1[e] / 3.0 + f2[e] / 6.0))
    solve_cells(matrix, rhs)
    for c in range(start.size - 1):
        for k in range(start[c], start[c + 1]):
            flow1[strip[k]] += sign[k] * rhs[c]
            flow2[strip[k]] += sign[k] * rhs[c]
    for e in range(area.size):
        largest = max(abs(flow1[e]), abs(flow2[e]))
        if f1[e] * f2[e] < 0.0:
            largest = max(largest, abs(flow1[e] + 0.5 * area[e] * f1[e] * f1[e] / (f1[e] - f2[e])))
        peak[e] = largest


@njit(cache=True, error_model="numpy")
def cell_flow_rows(
    area,
    ratio,
    f1,
    f2,
    second,
    order,
    tip,
    root,
    forward,
    closing,
    start,
    strip,
    sign,
    nodes,
    flow1,
    flow2,
    peak,
):
    """Run `cell_flow_row` over candidates: area, ratio, f1, f2 and the results (N, e)."""
    cells = closing.size
    work = np.empty(nodes), np.empty(area.shape[1]), np.empty((cells, cells)), np.empty(cells)
    for c in range(area.shape[0]):
        cell_flow_row(
            area[c],
            ratio[c],
            f1[c],
            f2[c],
            second,
            order,
            tip,
            root,
            forward,
            closing,
            start,
            strip,
            sign,
            flow1[c],
            flow2[c],
            peak[c],
            work,
        )


@njit(cache=True, error_model="numpy")
def centred(x, z, first, second, t, cx, cz, along):
    """Fill coordinates from the centroid; of strips dx, dz, length, area, 1 / length, middle x and z, (7, e).

    Returns area, centroid and second moments about it; area is NaN where a strip has no size or a value is
    not finite.
    """
    ox, oz = x[first[0]], z[first[0]]
    for e in range(first.size):
        i, j = np.uintp(first[e]), np.uintp(second[e])
        along[0, e], along[1, e] = x[j] - x[i], z[j] - z[i]
        along[5, e], along[6, e] = 0.5 * (x[i] + x[j]) - ox, 0.5 * (z[i] + z[j]) - oz
    unsound = 0
    for e in range(first.size):  # element by element: taken several at a time
        length = np.sqrt(along[0, e] * along[0, e] + along[1, e] * along[1, e])
        along[2, e], along[3, e], along[4, e] = length, length * t[e], 1.0 / length
        unsound += 0 if (length > 0.0) & (t[e] > 0.0) else 1
    area = sx = sz = 0.0
    for e in range(first.size):
        area += along[3, e]
        sx += along[3, e] * along[5, e]
        sz += along[3, e] * along[6, e]
    if unsound or not (np.isfinite(area) and np.isfinite(sx) and np.isfinite(sz)):
        return np.nan, 0.0, 0.0, 0.0, 0.0, 0.0
    sx, sz = sx / area, sz / area
    for n in range(x.size):
        cx[n], cz[n] = x[n] - ox - sx, z[n] - oz - sz
    ixx = izz = ixz = 0.0
    for e in range(first.size):
        dx, dz, a, thin = along[0, e], along[1, e], along[3, e], (t[e] * along[4, e]) ** 2
        ux, uz = along[5, e] - sx, along[6, e] - sz
        ixx += a * (uz * uz + (dz * dz + thin * dx * dx) * (1.0 / 12.0))
        izz += a * (ux * ux + (dx * dx + thin * dz * dz) * (1.0 / 12.0))
        ixz += a * (ux * uz + (1.0 - thin) * dx * dz * (1.0 / 12.0))
    return area, ox + sx, oz + sz, ixx, izz, ixz


@njit(cache=True, error_model="numpy")
def cell_twist(cx, cz, first, second, t, along, start, strip, sign, flow, work):
    """Bredt's flow of each strip per unit of G times twist into ``flow``; return the cells' constant."""
    ratio, sign_of, matrix, rhs, twice = work
    flow[:] = 0.0
    if start.size == 1:
        return 0.0
    for e in range(first.size):
        ratio[e] = along[2, e] / t[e]
    fill_cells(ratio, start, strip, sign, sign_of, matrix)
    for c in range(start.size - 1):
        twice[c] = 0.0
        for k in range(start[c], start[c + 1]):
            i, j = first[strip[k]], second[strip[k]]
            twice[c] += sign[k] * (cx[i] * cz[j] - cx[j] * cz[i])
        rhs[c] = twice[c]
    solve_cells(matrix, rhs)
    constant = 0.0
    for c in range(start.size - 1):
        constant += rhs[c] * twice[c]
        for k in range(start[c], start[c + 1]):
            flow[strip[k]] += sign[k] * rhs[c]
    for e in range(first.size):
        flow[e] *= ratio[e]
    return constant


@njit(cache=True, error_model="numpy")
def sectorial(cx, cz, first, second, order, tip, root, forward, slip, omega):
    """Sectorial coordinate of the nodes about the centroid, zero at the root, into ``omega``.

    ``slip`` is the flow of the cells times length / thickness of each strip.
    """
    omega[:] = 0.0
    at, value = np.uintp(root[-1]), 0.0
    for k in range(order.size - 1, -1, -1):
        e, inner = np.uintp(order[k]), np.uintp(root[k])
        i, j = np.uintp(first[e]), np.uintp(second[e])
        gain = cx[i] * cz[j] - cx[j] * cz[i] - slip[e]
        if inner != at:  # a chain goes on from the node just filled
            value = omega[inner]
        value += -gain if forward[k] else gain
        at = np.uintp(tip[k])
        omega[at] = value


@njit(cache=True, error_model="numpy")
def warping_moments(cx, cz, first, second, t, along, omega):
    """Integrals of omega, omega x and omega z over the thick strips, coordinates from the centroid."""
    mean = by_x = by_z = 0.0
    for e in range(first.size):
        i, j = np.uintp(first[e]), np.uintp(second[e])
        dx, dz = along[0, e], along[1, e]
        a, w1, w2 = along[3, e] * (1.0 / 6.0), omega[i], omega[j]
        mean += a * (w1 + w2)
        skin = 0.25 * ((cx[i] + cx[j]) * dx + (cz[i] + cz[j]) * dz) * (t[e] * along[4, e]) ** 2
        by_x += a * (w1 * (2.0 * cx[i] + cx[j]) + w2 * (cx[i] + 2.0 * cx[j]) - skin * dz)
        by_z += a * (w1 * (2.0 * cz[i] + cz[j]) + w2 * (cz[i] + 2.0 * cz[j]) + skin * dx)
    return 3.0 * mean, by_x, by_z


@njit(cache=True, error_model="numpy")
def warping_constant(cx, cz, first, second, t, along, in_cell, omega, px, pz):
    """Integral of the squared warping over the thick strips about the pole; and of t^2 outside cells."""
    total = opened = 0.0
    for e in range(first.size):
        i, j = np.uintp(first[e]), np.uintp(second[e])
        w1, w2, square = omega[i], omega[j], t[e] * t[e]
        p1 = ((cx[i] - px) * along[0, e] + (cz[i] - pz) * along[1, e]) * along[4, e]
        p2 = p1 + along[2, e]
        skin = square * (1.0 / 12.0) * (p1 * p1 + p1 * p2 + p2 * p2)
        total += along[3, e] * (w1 * w1 + w1 * w2 + w2 * w2 + skin)
        if not in_cell[e]:
            opened += along[3, e] * square
    return total / 3.0, opened


@njit(cache=True, error_model="numpy")
def torsion_row(
    x,
    z,
    first,
    second,
    t,
    order,
    tip,
    root,
    forward,
    start,
    strip,
    sign,
    in_cell,
    out,
    omega,
    cx,
    cz,
    along,
    flow,
    work,
):
    """Fill ``out`` (TORSION_FIELDS,) in the order of ``TorsionProperties`` and ``omega`` (n,)."""
    area, x0, z0, ixx, izz, ixz = centred(x, z, first, second, t, cx, cz, along)
    if np.isnan(area):
        out[:] = np.nan
        omega[:] = np.nan
        return
    cells = cell_twist(cx, cz, first, second, t, along, start, strip, sign, flow, work)
    sectorial(cx, cz, first, second, order, tip, root, forward, flow, omega)
    mean, by_x, by_z = warping_moments(cx, cz, first, second, t, along, omega)
    determinant = ixx * izz - ixz * ixz
    px, pz = (izz * by_z - ixz * by_x) / determinant, (ixz * by_z - ixx * by_x) / determinant
    for n in range(x.size):
        omega[n] += pz * cx[n] - px * cz[n] - mean / area
    out[0], out[1] = x0 + px, z0 + pz
    out[4], opened = warping_constant(cx, cz, first, second, t, along, in_cell, omega, px, pz)
    out[2], out[3] = cells + opened / 3.0, cells


@njit(cache=True, error_model="numpy")
def torsion_rows(x, z, first, second, t, order, tip, root, forward, start, strip, sign, in_cell, out, omega):
    """Run `torsion_row` over candidates: x, z, omega (N, n), t (N, e), out (N, TORSION_FIELDS)."""
    nodes, count, cells = x.shape[1], t.shape[1], start.size - 1
    cx, cz, along, flow = np.empty(nodes), np.empty(nodes), np.empty((7, count)), np.empty(count)
    work = np.empty(count), np.empty(count), np.empty((cells, cells)), np.empty(cells), np.empty(cells)
    for c in range(x.shape[0]):
        torsion_row(
            x[c],
            z[c],
            first,
            second,
            t[c],
            order,
            tip,
            root,
            forward,
            start,
            strip,
            sign,
            in_cell,
            out[c],
            omega[c],
            cx,
            cz,
            along,
            flow,
            work,
        )
