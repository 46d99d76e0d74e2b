"""Compiled inner loop of the steel layout: one candidate a call (sources stand in the public functions)."""

import numpy as np
from numba import njit

from longvault.sections.kernels import flow_row, usable

LAYOUT_FIELDS = 11


@njit(cache=True, error_model="numpy")
def excess(demand, provided):
    """Mean over a length on which a demand falls from ``demand`` to 0 of what exceeds ``provided``."""
    return (demand - provided) ** 2 / (2.0 * demand) if demand > provided else 0.0


@njit(cache=True, error_model="numpy")
def layout_row(x, z, first, second, t, shares, doubled, tree, props, sign, held, shear, rules, work, out):
    """Fill ``out`` (LAYOUT_FIELDS,) for one open section.

    ``shares`` (e,) is 0 for roof surface, else the share of the strip in its beam or kerb; ``props`` = (cx,
    cz, ixx, izz, ixz); ``shear`` = V_d / f_yd; ``rules`` = (mesh area per metre of one direction, least
    stirrup ratio, the two covers, least stirrups of a whole member per metre of span, least ratio of the
    mesh, least ratio of bars along a member, four corner bars, length of the hooks of one stirrup).
    """
    cx, cz, ixx, izz, ixz = props
    mesh, least, cover, legs, ratio, skin, corners, hooks = rules
    per_z, per_x = 1.0 / ixx, 0.0
    if not held:
        determinant = ixx * izz - ixz * ixz
        per_z, per_x = izz / determinant, ixz / determinant
    area, f1, f2, flow1, flow2, peak, node_flow = work
    tension = whole_area = deepest = highest = net = more = stirrups = members = run = 0.0
    thickest, thinnest = 0.0, np.inf
    for e in range(first.size):
        i, j = first[e], second[e]
        length = np.sqrt((x[j] - x[i]) ** 2 + (z[j] - z[i]) ** 2)
        area[e] = t[e] * length
        a = sign * (per_z * (z[i] - cz) - per_x * (x[i] - cx))
        b = sign * (per_z * (z[j] - cz) - per_x * (x[j] - cx))
        f1[e], f2[e] = a, b
        low, high = min(a, b), max(a, b)
        stretched = 1.0 if high <= 0.0 else (0.0 if low >= 0.0 else low / (low - high))
        tension += area[e] * stretched
        across = 0.5 * t[e] * abs(per_z * (x[j] - x[i]) + per_x * (z[j] - z[i])) / length
        deepest, highest = max(deepest, across - low), max(highest, across + high)
        whole_area += area[e]
    flow_row(area, f1, f2, tree[0], tree[1], tree[2], tree[3], flow1, flow2, peak, node_flow)
    for e in range(first.size):
        length = area[e] / t[e]
        middle = abs(flow1[e] + 0.125 * area[e] * (3.0 * f1[e] + f2[e]))
        demand = shear * (abs(flow1[e]) + 4.0 * middle + abs(flow2[e])) / 6.0
        if shares[e] == 0.0:
            run += length
            laid = max(mesh, ratio * t[e])
            net += length * laid
            more += length * excess(demand, laid)
            thickest, thinnest = max(thickest, t[e]), min(thinnest, t[e])
            continue
        whole = 2.0 * t[e] if doubled[e] else t[e]
        half = 0.5 if doubled[e] else 1.0
        # stirrups of the whole member: two legs along its strips, two across it
        needed = demand / half
        provided = max(least * whole, legs)
        mean = provided + excess(needed, provided)
        stirrups += half * mean * (length + shares[e] * max(whole - cover, 0.0))
        stirrups += half * shares[e] * 0.5 * legs * hooks
        members += max(skin * area[e], half * shares[e] * corners)
    slope = np.sqrt(per_z * per_z + per_x * per_x)
    out[0], out[1], out[2], out[3] = net, more, stirrups, members
    out[4], out[5] = tension / (deepest / slope), deepest / slope
    out[6], out[7] = (whole_area - tension) / (highest / slope), highest / slope
    out[8], out[9] = 1.0 / thickest, thinnest
    out[10] = run


@njit(cache=True, error_model="numpy")
def layout_rows(x, z, first, second, t, shares, doubled, tree, props, sign, held, shear, rules, out):
    """Run `layout_row` over candidates."""
    n = first.size
    work = (
        np.empty(n),
        np.empty(n),
        np.empty(n),
        np.empty(n),
        np.empty(n),
        np.empty(n),
        np.empty(x.shape[1]),
    )
    for c in range(x.shape[0]):
        p = props[c]
        if np.isnan(p[2]) or not usable(x[c], z[c], first, second, t[c]):
            out[c] = np.nan
            continue
        row = (p[0], p[1], p[2], p[3], p[4])
        layout_row(
            x[c],
            z[c],
            first,
            second,
            t[c],
            shares[c],
            doubled,
            tree,
            row,
            sign,
            held,
            shear[c],
            rules,
            work,
            out[c],
        )
