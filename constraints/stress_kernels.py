"""Compiled inner loops of section stresses: one candidate a call (sources in the public functions)."""

import numpy as np
from numba import njit

from longvault.sections.kernels import flow_row, usable

STRESS_FIELDS = 6
POINTS = 3
"""Points looked at along a strip: first end, middle, second end."""


@njit(cache=True, error_model="numpy")
def side_row(x, z, first, second, tree, props, work, side):
    """Sideways bending at three points of each strip, after `shapes_row`: g, its flow, g off the mid-line."""
    g, q, gn = side
    cx, cz, ixx, izz, ixz = props
    determinant = ixx * izz - ixz * ixz
    per_x, per_z = ixx / determinant, ixz / determinant
    area, one, two, flow1, flow2, peak, node_flow = work
    order, tip, root, forward = tree
    for e in range(first.size):
        i, j = first[e], second[e]
        dx, dz = x[j] - x[i], z[j] - z[i]
        one[e] = per_x * (x[i] - cx) - per_z * (z[i] - cz)
        two[e] = per_x * (x[j] - cx) - per_z * (z[j] - cz)
        g[e, 0], g[e, 1], g[e, 2] = one[e], 0.5 * (one[e] + two[e]), two[e]
        gn[e] = -(per_x * dz + per_z * dx) / np.sqrt(dx * dx + dz * dz)
    flow_row(area, one, two, order, tip, root, forward, flow1, flow2, peak, node_flow)
    for e in range(first.size):
        half = 0.125 * area[e] * (3.0 * one[e] + two[e])
        q[e, 0], q[e, 1], q[e, 2] = flow1[e], flow1[e] + half, flow2[e]


@njit(cache=True, error_model="numpy")
def shapes_row(x, z, first, second, t, tree, props, pole, omega, held, work, shapes):
    """Stress shapes of one section at the three points of each strip.

    ``f, q, g``: fibre field, its shear flow and the warping of its shear strain; ``w, qw, gw``: the same of
    the sectorial coordinate; ``fn, wn``: the change of f and w per distance off the mid-line, to the left
    of the strip's direction.
    """
    f, q, g, w, qw, gw, fn, wn = shapes
    cx, cz, ixx, izz, ixz = props
    per_z, per_x = 1.0 / ixx, 0.0
    if not held:
        determinant = ixx * izz - ixz * ixz
        per_z, per_x = izz / determinant, ixz / determinant
    area, one, two, flow1, flow2, peak, node_flow = work
    order, tip, root, forward = tree
    for e in range(first.size):
        i, j = first[e], second[e]
        dx, dz = x[j] - x[i], z[j] - z[i]
        length = np.sqrt(dx * dx + dz * dz)
        area[e] = length * t[e]
        one[e] = per_z * (z[i] - cz) - per_x * (x[i] - cx)
        two[e] = per_z * (z[j] - cz) - per_x * (x[j] - cx)
        f[e, 0], f[e, 1], f[e, 2] = one[e], 0.5 * (one[e] + two[e]), two[e]
        w[e, 0], w[e, 1], w[e, 2] = omega[i], 0.5 * (omega[i] + omega[j]), omega[j]
        fn[e] = (per_z * dx + per_x * dz) / length
        along = ((x[i] - pole[0]) * dx + (z[i] - pole[1]) * dz) / length
        wn[e, 0], wn[e, 1], wn[e, 2] = along, along + 0.5 * length, along + length
    flow_row(area, one, two, order, tip, root, forward, flow1, flow2, peak, node_flow)
    for e in range(first.size):
        half = 0.125 * area[e] * (3.0 * one[e] + two[e])
        q[e, 0], q[e, 1], q[e, 2] = flow1[e], flow1[e] + half, flow2[e]
        one[e], two[e] = w[e, 0], w[e, 2]
    flow_row(area, one, two, order, tip, root, forward, flow1, flow2, peak, node_flow)
    for e in range(first.size):
        half = 0.125 * area[e] * (3.0 * one[e] + two[e])
        qw[e, 0], qw[e, 1], qw[e, 2] = flow1[e], flow1[e] + half, flow2[e]
    shear_warping(x, z, first, second, t, tree, props, held, area, w, q, node_flow, g)
    shear_warping(x, z, first, second, t, tree, props, held, area, w, qw, node_flow, gw)


@njit(cache=True, error_model="numpy")
def shear_warping(x, z, first, second, t, tree, props, held, area, w, q, node, g):
    """Integral of q / t along the mid-line into ``g`` (e, 3), free of its parts in 1, x, z and omega."""
    cx, cz, ixx, izz, ixz = props
    order, tip, root, forward = tree
    node[:] = 0.0
    for k in range(order.size - 1, -1, -1):
        e = order[k]
        scale = area[e] / (t[e] * t[e])
        start, middle, end = scale * q[e, 0], scale * q[e, 1], scale * q[e, 2]
        gain = (start + 4.0 * middle + end) / 6.0
        half = (5.0 * start + 8.0 * middle - end) / 24.0  # of a parabola, to its middle
        if forward[k]:
            node[tip[k]] = node[root[k]] - gain
        else:
            node[tip[k]] = node[root[k]] + gain
        g[e, 0] = node[first[e]]
        g[e, 1], g[e, 2] = g[e, 0] + half, node[second[e]]
    whole = mean = by_x = by_z = by_w = own = 0.0
    for e in range(first.size):
        for p in range(POINTS):
            a = area[e] * (4.0 if p == 1 else 1.0) / 6.0
            px, pz = place(x, z, first[e], second[e], p)
            whole += a
            mean += a * g[e, p]
            by_x += a * g[e, p] * (px - cx)
            by_z += a * g[e, p] * (pz - cz)
            by_w += a * g[e, p] * w[e, p]
            own += a * w[e, p] * w[e, p]
    determinant = ixx * izz - ixz * ixz
    along_x, along_z = (ixx * by_x - ixz * by_z) / determinant, (izz * by_z - ixz * by_x) / determinant
    if held:
        along_x, along_z = 0.0, by_z / ixx
    for e in range(first.size):
        for p in range(POINTS):
            px, pz = place(x, z, first[e], second[e], p)
            g[e, p] -= mean / whole + along_x * (px - cx) + along_z * (pz - cz)
            if own > 0.0:
                g[e, p] -= by_w / own * w[e, p]


@njit(cache=True, error_model="numpy")
def place(x, z, i, j, p):
    """Coordinates of point p of the strip from node i to node j."""
    return x[i] + 0.5 * p * (x[j] - x[i]), z[i] + 0.5 * p * (z[j] - z[i])


@njit(cache=True, error_model="numpy")
def extremes_row(t, area, stiff, forces, shapes, pushed, aside, out):
    """Extremes of one section at each station into ``out`` (k, STRESS_FIELDS).

    ``stiff`` = (warping constant, St Venant constant, E / G); ``forces`` (k, 10) = axial, moment, shear,
    bimoment, warping torque, St Venant torque, load V', change of the warping torque B'', moment and shear
    sideways, which count where the section is ``pushed``.
    """
    gamma, constant, ratio = stiff
    side, side_flow, side_across = aside
    f, q, g, w, qw, gw, fn, wn = shapes
    for k in range(forces.shape[0]):
        axial, moment, shear = forces[k, 0] / area, forces[k, 1], forces[k, 2]
        warp, warp_flow, twist = forces[k, 3] / gamma, forces[k, 4] / gamma, forces[k, 5] / constant
        spread, warp_spread = ratio * forces[k, 6], ratio * forces[k, 7] / gamma
        turned, push = forces[k, 8], forces[k, 9]
        highest = lowest = major = minor = largest = 0.0
        where = -1
        for e in range(t.size):
            half = 0.5 * t[e]
            skin = abs(twist) * t[e]
            for p in range(POINTS):
                middle = axial - moment * f[e, p] + warp * w[e, p]
                middle += spread * g[e, p] - warp_spread * gw[e, p]
                across, flow = warp * wn[e, p] - moment * fn[e], shear * q[e, p] - warp_flow * qw[e, p]
                if pushed:
                    middle += turned * side[e, p]
                    across, flow = across + turned * side_across[e], flow - push * side_flow[e, p]
                change = half * abs(across)
                tau = abs(flow) / t[e] + skin
                # the radius of Mohr's circle grows with |sigma|: the two faces hold both extremes
                high, low = middle + change, middle - change
                highest, lowest, largest = max(highest, high), min(lowest, low), max(largest, tau)
                # a principal stress is at most the stress and the shear together: most points need no root
                if max(high, 0.0) + tau > major:
                    tension = 0.5 * high + np.sqrt(0.25 * high * high + tau * tau)
                    if tension > major:
                        major, where = tension, e
                if min(low, 0.0) - tau < minor:
                    minor = min(minor, 0.5 * low - np.sqrt(0.25 * low * low + tau * tau))
        out[k, 0], out[k, 1], out[k, 2], out[k, 3], out[k, 4] = highest, -lowest, major, -minor, largest
        out[k, 5] = where


@njit(cache=True, error_model="numpy")
def shapes_rows(
    x, z, first, second, t, tree, props, poles, omega, held, f, q, g, w, qw, gw, fn, wn, side, side_q, side_n
):
    """Run `shapes_row` and `side_row` over candidates."""
    work = workspace(first.size, x.shape[1])
    for c in range(x.shape[0]):
        shapes = (f[c], q[c], g[c], w[c], qw[c], gw[c], fn[c], wn[c])
        if not usable(x[c], z[c], first, second, t[c]):
            for part in (f, q, g, w, qw, gw, wn, side, side_q):
                part[c] = np.nan
            fn[c] = side_n[c] = np.nan
            continue
        p = props[c]
        row, pole = (p[0], p[1], p[2], p[3], p[4]), (poles[c, 0], poles[c, 1])
        shapes_row(x[c], z[c], first, second, t[c], tree, row, pole, omega[c], held, work, shapes)
        side_row(x[c], z[c], first, second, tree, row, work, (side[c], side_q[c], side_n[c]))


@njit(cache=True, error_model="numpy")
def extremes_rows(x, z, first, second, t, tree, props, poles, stiff, omega, held, pushed, forces, out):
    """Run `shapes_row` and `extremes_row` over candidates; ``forces`` (N, k, 10), ``out`` (N, k, fields)."""
    count = first.size
    work = workspace(count, x.shape[1])
    shapes = (
        np.empty((count, 3)),
        np.empty((count, 3)),
        np.empty((count, 3)),
        np.empty((count, 3)),
        np.empty((count, 3)),
        np.empty((count, 3)),
        np.empty(count),
        np.empty((count, 3)),
    )
    aside = np.empty((count, 3)), np.empty((count, 3)), np.empty(count)
    for c in range(x.shape[0]):
        p = props[c]
        if np.isnan(p[2]) or not usable(x[c], z[c], first, second, t[c]):
            out[c] = np.nan
            continue
        row, pole = (p[0], p[1], p[2], p[3], p[4]), (poles[c, 0], poles[c, 1])
        stiffness = (stiff[c, 0], stiff[c, 1], stiff[c, 2])
        shapes_row(x[c], z[c], first, second, t[c], tree, row, pole, omega[c], held, work, shapes)
        if pushed:
            side_row(x[c], z[c], first, second, tree, row, work, aside)
        extremes_row(t[c], p[5], stiffness, forces[c], shapes, pushed, aside, out[c])


@njit(cache=True, error_model="numpy")
def workspace(count, nodes):
    """Arrays that `shapes_row` writes over."""
    return (
        np.empty(count),
        np.empty(count),
        np.empty(count),
        np.empty(count),
        np.empty(count),
        np.empty(count),
        np.empty(nodes),
    )
