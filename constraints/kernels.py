"""Compiled inner loops of the checks: one candidate a call (sources stand in the public functions)."""

import numpy as np
from numba import njit

from longvault.constraints.making_kernels import corner_bend, fill_facets
from longvault.sections.kernels import flow_row, measure_strips

MAKING_FIELDS = 7
BEAM_FIELDS = 8
RUN = 8
"""Strips in a run that `self_clearance` rejects by one box."""


@njit(cache=True, error_model="numpy")
def making_row(lines, t, surface, doubled, corners, tree, bend_radius, steep_sine, work, out):
    """Fill ``out`` with the fields of ``Making`` for one open section.

    ``corners`` rows are (strip, strip, sign, sign, smooth): strips that meet at a node of two, the signs
    that make the first run into the node and the second out of it.
    """
    x1, z1, x2, z2, length = lines[0], lines[1], lines[2], lines[3], lines[4]
    developed = steep = sine = 0.0
    thinnest = np.inf
    for e in range(t.size):
        thinnest = min(thinnest, 2.0 * t[e] if doubled[e] else t[e])
        if surface[e]:
            rise = abs(z2[e] - z1[e])
            developed += length[e]
            sine = max(sine, rise / length[e])
            steep += length[e] if rise > steep_sine * length[e] * (1.0 + 1e-12) else 0.0
    tightness = taper = 0.0
    folded = corners.shape[0] != t.size - 1
    facet = work[0][0]
    fill_facets(lines, t, surface, doubled, corners, facet, work[0][1])
    heading = 0.0
    for k in range(corners.shape[0]):
        e, g, into, out_of, smooth = corners[k]
        ax, az = into * (x2[e] - x1[e]), into * (z2[e] - z1[e])
        bx, bz = out_of * (x2[g] - x1[g]), out_of * (z2[g] - z1[g])
        heading = ax if ax != 0.0 else heading
        dot = ax * bx + az * bz
        folded = folded or dot < 0.0 or heading * bx < 0.0
        if smooth:
            tightness = max(tightness, corner_bend(lines, t, facet, corners[k], bend_radius))
            taper = max(taper, abs(t[g] - t[e]) / (0.5 * (facet[e] + facet[g])))
    out[0], out[1], out[2] = developed, np.arcsin(min(sine, 1.0)), steep / max(developed, 1e-300)
    out[3], out[4], out[5] = thinnest, tightness, taper
    out[6] = self_clearance(lines, t, tree, work) if folded else 2.0


@njit(cache=True, error_model="numpy")
def order_along(lines, t, tree, work):
    """Fill ``work`` with the strips in the order of their near ends along the profile from the root.

    Rows: distance from the root at the near and at the far end, x and z there, thickness.
    """
    order, tip, root, forward = tree
    x1, z1, x2, z2, length = lines[0], lines[1], lines[2], lines[3], lines[4]
    along = work[7]
    along[root[order.size - 1]] = 0.0
    for filled in range(order.size):
        k = order.size - 1 - filled  # from the root outwards
        e = order[k]
        start = along[root[k]]
        end = start + length[e]
        along[tip[k]] = end
        place = filled
        while place > 0 and work[0, place - 1] > start:
            work[:7, place] = work[:7, place - 1]
            place -= 1
        work[0, place], work[1, place], work[6, place] = start, end, t[e]
        if forward[k]:
            work[2, place], work[3, place], work[4, place], work[5, place] = x2[e], z2[e], x1[e], z1[e]
        else:
            work[2, place], work[3, place], work[4, place], work[5, place] = x1[e], z1[e], x2[e], z2[e]


@njit(cache=True, error_model="numpy")
def box_runs(work, count, boxes):
    """Fill ``boxes`` with left, right, bottom, top and largest thickness of each run of strips."""
    for r in range((count + RUN - 1) // RUN):
        left = low = np.inf
        right = high = thick = -np.inf
        for e in range(r * RUN, min(r * RUN + RUN, count)):
            left, right = min(left, min(work[2, e], work[4, e])), max(right, max(work[2, e], work[4, e]))
            low, high = min(low, min(work[3, e], work[5, e])), max(high, max(work[3, e], work[5, e]))
            thick = max(thick, work[6, e])
        boxes[r, 0], boxes[r, 1], boxes[r, 2], boxes[r, 3], boxes[r, 4] = left, right, low, high, thick


@njit(cache=True, error_model="numpy")
def self_clearance(lines, t, tree, room):
    """Least distance over mean thickness among stretches further apart along the profile than three of it.

    Runs of strips whose boxes are further apart than the least so far hold no nearer pair.
    """
    work, boxes = room
    order_along(lines, t, tree, work)
    box_runs(work, t.size, boxes)
    runs = (t.size + RUN - 1) // RUN
    clearance = 2.0
    for p in range(runs):
        for q in range(p, runs):
            reach = 0.5 * clearance * (boxes[p, 4] + boxes[q, 4]) * (1.0 + 1e-9)
            if (
                boxes[p, 1] + reach >= boxes[q, 0]
                and boxes[q, 1] + reach >= boxes[p, 0]
                and boxes[p, 3] + reach >= boxes[q, 2]
                and boxes[q, 3] + reach >= boxes[p, 2]
            ):
                clearance = run_clearance(work, p * RUN, q * RUN, t.size, clearance)
    return clearance


@njit(cache=True, error_model="numpy")
def run_clearance(work, start, other, count, clearance):
    """Take the pairs of two runs into the least clearance so far."""
    near, far, x1, z1, x2, z2 = work[0], work[1], work[2], work[3], work[4], work[5]
    t = work[6]
    for e in range(start, min(start + RUN, count)):
        left, right = min(x1[e], x2[e]), max(x1[e], x2[e])
        low, high = min(z1[e], z2[e]), max(z1[e], z2[e])
        for g in range(max(other, e + 1), min(other + RUN, count)):
            mean = 0.5 * (t[e] + t[g])
            apart = near[g] - far[e]
            short, length = 3.0 * mean - apart, far[g] - near[g]
            if apart < -1e-9 * mean or short >= length:
                continue
            kx, kz = x1[g], z1[g]
            if short > 0.0:
                kx, kz = kx + short / length * (x2[g] - kx), kz + short / length * (z2[g] - kz)
            reach = clearance * mean * (1.0 + 1e-9)
            if (
                right + reach >= min(kx, x2[g])
                and left - reach <= max(kx, x2[g])
                and high + reach >= min(kz, z2[g])
                and low - reach <= max(kz, z2[g])
            ):
                gap = segment_distance(x2[e], z2[e], x1[e], z1[e], kx, kz, x2[g], z2[g])
                clearance = min(clearance, gap / mean)
    return clearance


@njit(cache=True, error_model="numpy")
def segment_distance(ax, az, bx, bz, cx, cz, dx, dz):
    """Distance between segments ab and cd; 0 when they cross."""
    one = (bx - ax) * (cz - az) - (bz - az) * (cx - ax)
    two = (bx - ax) * (dz - az) - (bz - az) * (dx - ax)
    three = (dx - cx) * (az - cz) - (dz - cz) * (ax - cx)
    four = (dx - cx) * (bz - cz) - (dz - cz) * (bx - cx)
    if one * two < 0.0 and three * four < 0.0:
        return 0.0
    square = min(
        min(point_distance2(ax, az, cx, cz, dx, dz), point_distance2(bx, bz, cx, cz, dx, dz)),
        min(point_distance2(cx, cz, ax, az, bx, bz), point_distance2(dx, dz, ax, az, bx, bz)),
    )
    return np.sqrt(square)


@njit(cache=True, error_model="numpy")
def point_distance2(px, pz, ax, az, bx, bz):
    """Square of the distance of a point from segment ab."""
    dx, dz = bx - ax, bz - az
    u = ((px - ax) * dx + (pz - az) * dz) / (dx * dx + dz * dz)
    u = min(max(u, 0.0), 1.0)
    return (px - ax - u * dx) ** 2 + (pz - az - u * dz) ** 2


@njit(cache=True, error_model="numpy")
def beam_row(lines, t, surface, doubled, tree, props, sign, held, bars, work, out):
    """Fill ``out`` with the fields of ``BeamSection`` for one open section.

    ``props`` = (cx, cz, ixx, izz, ixz, top, bottom); ``bars`` = (cover, mesh, bar, clear, zone).
    """
    x1, z1, x2, z2, length = lines[0], lines[1], lines[2], lines[3], lines[4]
    cx, cz, ixx, izz, ixz, top, bottom = props
    per_z, per_x = 1.0 / ixx, 0.0
    inertia, sway = ixx, 0.0
    if not held:
        determinant = ixx * izz - ixz * ixz
        per_z, per_x = izz / determinant, ixz / determinant
        inertia, sway = determinant / izz, ixz / izz
    area, f1, f2, flow1, flow2, peak, node_flow = work
    for e in range(t.size):
        area[e] = t[e] * length[e]
        f1[e] = sign * (per_z * (z1[e] - cz) - per_x * (x1[e] - cx))
        f2[e] = sign * (per_z * (z2[e] - cz) - per_x * (x2[e] - cx))
    tension = push = push_z = 0.0
    for e in range(t.size):
        total, moment = positive_part(f1[e], f2[e])
        push += area[e] * total
        push_z += area[e] * (total * z1[e] + moment * (z2[e] - z1[e]))
        # what is not compression is tension: max(-f, 0) = max(f, 0) - f
        tension += area[e] * max(total - 0.5 * (f1[e] + f2[e]), 0.0)
    flow_row(area, f1, f2, tree[0], tree[1], tree[2], tree[3], flow1, flow2, peak, node_flow)
    flow = stress = 0.0
    for e in range(t.size):
        if surface[e]:
            flow = max(flow, peak[e])
        stress = max(stress, peak[e] / t[e])
    room, bars_z = bar_room(lines, t, doubled, top, bottom, sign, bars)
    height = top - bottom
    if tension * height < 1.0:  # a slab almost flat: stress varies through its thickness, not along the line
        push, push_z = 1.0, (top - height / 6.0 if sign > 0 else bottom + height / 6.0)
        tension, stress = 1.5 / height, 1.5 / area.sum()
    out[0], out[1] = 1.0 / tension, sign * (push_z / push - bars_z)
    out[2], out[3], out[4], out[5] = room, bars_z, flow, stress
    out[6], out[7] = inertia, sway


@njit(cache=True, error_model="numpy")
def positive_part(a, b):
    """Integrals of max(f, 0) and u max(f, 0) over u from 0 to 1, for f linear from a to b."""
    if a >= 0.0 and b >= 0.0:
        return 0.5 * (a + b), (a + 2.0 * b) / 6.0
    if a <= 0.0 and b <= 0.0:
        return 0.0, 0.0
    if a > 0.0:
        cut = a / (a - b)
        total = 0.5 * a * cut
        return total, total * (cut / 3.0)
    cut = b / (b - a)
    total = 0.5 * b * cut
    return total, total * (1.0 - cut / 3.0)


@njit(cache=True, error_model="numpy")
def bar_room(lines, t, doubled, top, bottom, sign, bars):
    """Area of main bars that fits in the tension zone, and the height of its centroid.

    The zone holds one layer at least. Of a strip whose mid-line lies beyond it, the layer at its face counts.
    """
    x1, z1, x2, z2, length = lines[0], lines[1], lines[2], lines[3], lines[4]
    cover, mesh, bar, clear, zone = bars
    bar_area = 0.25 * np.pi * bar * bar
    inset = cover + mesh + 0.5 * bar
    depth = max(zone * (top - bottom), inset + 0.5 * bar)
    room = moment = 0.0
    for e in range(t.size):
        # heights measured up from the tension edge
        a, b = (z1[e] - bottom, z2[e] - bottom) if sign > 0 else (top - z1[e], top - z2[e])
        low, high = min(a, b), max(a, b)
        whole = 2.0 * t[e] if doubled[e] else t[e]
        rows = np.floor((whole - 2.0 * (cover + mesh) + clear) / (bar + clear) + 1e-9)
        if rows < 1.0:
            continue
        if low >= depth and high > depth:
            nearer = max(0.5 * t[e] - inset, 0.0) * abs(x2[e] - x1[e]) / length[e]
            low, high, rows = low - nearer, high - nearer, 1.0
            if low >= depth and high > depth:
                continue
        share = 1.0 if high <= depth else (depth - low) / (high - low)
        fits = share * length[e] * rows * bar_area / (bar + clear) * (0.5 if doubled[e] else 1.0)
        room += fits
        moment += fits * max(low + 0.5 * share * (high - low), inset)
    centre = moment / room if room > 0.0 else inset
    return room, (bottom + centre if sign > 0 else top - centre)


@njit(cache=True, error_model="numpy")
def making_rows(x, z, first, second, chain, t, surface, doubled, corners, tree, bend_radius, steep_sine, out):
    """Run `making_row` over candidates (N, ...)."""
    count = first.size
    lines = np.empty((5, count))
    work = np.empty((8, x.shape[1])), np.empty((count // RUN + 1, 5))
    for c in range(x.shape[0]):
        if measure_strips(x[c], z[c], first, second, chain, t[c], lines):
            making_row(lines, t[c], surface, doubled, corners, tree, bend_radius, steep_sine, work, out[c])
        else:
            out[c] = np.nan


@njit(cache=True, error_model="numpy")
def beam_rows(x, z, first, second, chain, t, surface, doubled, tree, props, sign, held, bars, out):
    """Run `beam_row` over candidates (N, ...); ``props`` (N, 7)."""
    count = first.size
    lines = np.empty((5, count))
    work = (
        np.empty(count),
        np.empty(count),
        np.empty(count),
        np.empty(count),
        np.empty(count),
        np.empty(count),
        np.empty(x.shape[1]),
    )
    for c in range(x.shape[0]):
        row = props[c]
        numbers = (row[0], row[1], row[2], row[3], row[4], row[5], row[6])
        if measure_strips(x[c], z[c], first, second, chain, t[c], lines) and not np.isnan(row[0]):
            beam_row(lines, t[c], surface, doubled, tree, numbers, sign, held, bars, work, out[c])
        else:
            out[c] = np.nan
