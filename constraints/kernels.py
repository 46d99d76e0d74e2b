"""Compiled inner loops of the checks: one candidate a call (sources stand in the public functions)."""

import numpy as np
from numba import njit

from longvault.sections.kernels import flow_row, usable

MAKING_FIELDS = 7
BEAM_FIELDS = 8


@njit(cache=True, error_model="numpy")
def making_row(x, z, first, second, t, surface, doubled, corners, tree, bend_radius, steep_sine, out):
    """Fill ``out`` with the fields of ``Making`` for one open section.

    ``corners`` rows are (strip, strip, sign, sign, smooth): strips that meet at a node of two, the signs
    that make the first run into the node and the second out of it.
    """
    if not usable(x, z, first, second, t):
        out[:] = np.nan
        return
    developed = steep = sine = 0.0
    thinnest = np.inf
    for e in range(first.size):
        dx, dz = x[second[e]] - x[first[e]], z[second[e]] - z[first[e]]
        length = np.sqrt(dx * dx + dz * dz)
        thinnest = min(thinnest, 2.0 * t[e] if doubled[e] else t[e])
        if surface[e]:
            developed += length
            sine = max(sine, abs(dz) / length)
            if abs(dz) > steep_sine * length * (1.0 + 1e-12):
                steep += length
    tightness = taper = 0.0
    folded = corners.shape[0] != first.size - 1
    heading = 0.0
    for k in range(corners.shape[0]):
        e, g, into, out_of, smooth = corners[k]
        ax, az = into * (x[second[e]] - x[first[e]]), into * (z[second[e]] - z[first[e]])
        bx, bz = out_of * (x[second[g]] - x[first[g]]), out_of * (z[second[g]] - z[first[g]])
        heading = ax if ax != 0.0 else heading
        folded = folded or ax * bx + az * bz < 0.0 or heading * bx < 0.0
        if smooth:
            bend, change = bend_and_taper(ax, az, bx, bz, t[e], t[g], bend_radius)
            tightness, taper = max(tightness, bend), max(taper, change)
    out[0], out[1], out[2] = developed, np.arcsin(min(sine, 1.0)), steep / max(developed, 1e-300)
    out[3], out[4], out[5] = thinnest, tightness, taper
    out[6] = self_clearance(x, z, first, second, t, tree) if folded else 2.0


@njit(cache=True, error_model="numpy")
def bend_and_taper(ax, az, bx, bz, t1, t2, bend_radius):
    """Curvature x (bend radius + t/2), and change of thickness per length, where strip a runs on into b."""
    a, b = np.sqrt(ax * ax + az * az), np.sqrt(bx * bx + bz * bz)
    step = 0.5 * (a + b)
    cross, dot = ax * bz - az * bx, ax * bx + az * bz
    # curvature through three points: 2 tan(turn / 2) / step, with tan(turn / 2) = |sin| / (1 + cos)
    curvature = 2.0 * abs(cross) / (a * b + dot) / step if a * b + dot > 0.0 else 1e9
    return curvature * (bend_radius + 0.5 * max(t1, t2)), abs(t2 - t1) / step


@njit(cache=True, error_model="numpy")
def self_clearance(x, z, first, second, t, tree):
    """Least distance over mean thickness among stretches further apart along the profile than three of it."""
    order, tip, root, _ = tree
    along = np.zeros(x.size)
    for k in range(order.size - 1, -1, -1):
        i, j = tip[k], root[k]
        along[i] = along[j] + np.sqrt((x[j] - x[i]) ** 2 + (z[j] - z[i]) ** 2)
    clearance = 2.0
    for one in range(first.size):
        for other in range(one + 1, first.size):
            # e is the strip nearer to the root, from i to j; g the farther one, from k to m outwards
            e, g = one, other
            if min(along[first[e]], along[second[e]]) > min(along[first[g]], along[second[g]]):
                e, g = g, e
            i, j, k, m = first[e], second[e], first[g], second[g]
            if along[k] > along[m]:
                k, m = m, k
            mean = 0.5 * (t[e] + t[g])
            apart = along[k] - max(along[i], along[j])
            trim = max(0.0, 3.0 * mean - apart) / (along[m] - along[k])
            if apart < -1e-9 * mean or trim >= 1.0:
                continue
            kx, kz = x[k] + trim * (x[m] - x[k]), z[k] + trim * (z[m] - z[k])
            reach = clearance * mean
            if (
                max(x[i], x[j]) + reach >= min(kx, x[m])
                and min(x[i], x[j]) - reach <= max(kx, x[m])
                and max(z[i], z[j]) + reach >= min(kz, z[m])
                and min(z[i], z[j]) - reach <= max(kz, z[m])
            ):
                gap = segment_distance(x[i], z[i], x[j], z[j], kx, kz, x[m], z[m])
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
    return min(
        min(point_distance(ax, az, cx, cz, dx, dz), point_distance(bx, bz, cx, cz, dx, dz)),
        min(point_distance(cx, cz, ax, az, bx, bz), point_distance(dx, dz, ax, az, bx, bz)),
    )


@njit(cache=True, error_model="numpy")
def point_distance(px, pz, ax, az, bx, bz):
    """Distance of a point from segment ab."""
    dx, dz = bx - ax, bz - az
    u = ((px - ax) * dx + (pz - az) * dz) / (dx * dx + dz * dz)
    u = min(max(u, 0.0), 1.0)
    return np.sqrt((px - ax - u * dx) ** 2 + (pz - az - u * dz) ** 2)


@njit(cache=True, error_model="numpy")
def beam_row(x, z, first, second, t, surface, doubled, tree, props, sign, held, bars, work, out):
    """Fill ``out`` with the fields of ``BeamSection`` for one open section.

    ``props`` = (cx, cz, ixx, izz, ixz, top, bottom); ``bars`` = (cover, mesh, bar, clear, zone).
    """
    if np.isnan(props[0]) or not usable(x, z, first, second, t):
        out[:] = np.nan
        return
    cx, cz, ixx, izz, ixz, top, bottom = props
    per_z, per_x = 1.0 / ixx, 0.0
    inertia, sway = ixx, 0.0
    if not held:
        determinant = ixx * izz - ixz * ixz
        per_z, per_x = izz / determinant, ixz / determinant
        inertia, sway = determinant / izz, ixz / izz
    area, f1, f2, flow1, flow2, peak, node_flow = work
    tension = push = push_z = 0.0
    for e in range(first.size):
        x1, z1, x2, z2 = x[first[e]], z[first[e]], x[second[e]], z[second[e]]
        area[e] = t[e] * np.sqrt((x2 - x1) ** 2 + (z2 - z1) ** 2)
        a = sign * (per_z * (z1 - cz) - per_x * (x1 - cx))
        b = sign * (per_z * (z2 - cz) - per_x * (x2 - cx))
        f1[e], f2[e] = a, b
        total, at = positive_part(a, b)
        push += area[e] * total
        push_z += area[e] * total * (z1 + at * (z2 - z1))
        total, at = positive_part(-a, -b)
        tension += area[e] * total
    flow_row(area, f1, f2, tree[0], tree[1], tree[2], tree[3], flow1, flow2, peak, node_flow)
    flow = stress = 0.0
    for e in range(first.size):
        if surface[e]:
            flow = max(flow, peak[e])
        stress = max(stress, peak[e] / t[e])
    room, bars_z = bar_room(x, z, first, second, t, doubled, top, bottom, sign, bars)
    out[0], out[1] = 1.0 / tension, sign * (push_z / push - bars_z)
    out[2], out[3], out[4], out[5] = room, bars_z, flow, stress
    out[6], out[7] = inertia, sway


@njit(cache=True, error_model="numpy")
def positive_part(a, b):
    """Mean of max(f, 0) for f linear from a to b, and where along the strip its resultant stands."""
    if a >= 0.0 and b >= 0.0:
        total = 0.5 * (a + b)
        return total, ((a + 2.0 * b) / (3.0 * (a + b)) if total > 0.0 else 0.5)
    if a <= 0.0 and b <= 0.0:
        return 0.0, 0.5
    if a > 0.0:
        cut = a / (a - b)
        return 0.5 * a * cut, cut / 3.0
    cut = b / (b - a)
    return 0.5 * b * cut, 1.0 - cut / 3.0


@njit(cache=True, error_model="numpy")
def bar_room(x, z, first, second, t, doubled, top, bottom, sign, bars):
    """Area of main bars that fits in the tension zone, and the height of its centroid."""
    cover, mesh, bar, clear, zone = bars
    bar_area = 0.25 * np.pi * bar * bar
    depth = zone * (top - bottom)
    inset = cover + mesh + 0.5 * bar
    room = moment = 0.0
    for e in range(first.size):
        z1, z2 = z[first[e]], z[second[e]]
        length = np.sqrt((x[second[e]] - x[first[e]]) ** 2 + (z2 - z1) ** 2)
        # heights measured up from the tension edge
        a, b = (z1 - bottom, z2 - bottom) if sign > 0 else (top - z1, top - z2)
        low, high = min(a, b), max(a, b)
        share = 1.0 if high <= depth else (0.0 if low >= depth else (depth - low) / (high - low))
        whole = 2.0 * t[e] if doubled[e] else t[e]
        rows = np.floor((whole - 2.0 * (cover + mesh) + clear) / (bar + clear) + 1e-9)
        if share <= 0.0 or rows < 1.0:
            continue
        fits = share * length * rows * bar_area / (bar + clear) * (0.5 if doubled[e] else 1.0)
        room += fits
        moment += fits * max(low + 0.5 * share * (high - low), inset)
    centre = moment / room if room > 0.0 else inset
    return room, (bottom + centre if sign > 0 else top - centre)


@njit(cache=True, error_model="numpy")
def making_rows(x, z, first, second, t, surface, doubled, corners, tree, bend_radius, steep_sine, out):
    """Run `making_row` over candidates (N, ...)."""
    for c in range(x.shape[0]):
        making_row(
            x[c], z[c], first, second, t[c], surface, doubled, corners, tree, bend_radius, steep_sine, out[c]
        )


@njit(cache=True, error_model="numpy")
def beam_rows(x, z, first, second, t, surface, doubled, tree, props, sign, held, bars, out):
    """Run `beam_row` over candidates (N, ...); ``props`` (N, 7)."""
    count = first.size
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
        beam_row(
            x[c], z[c], first, second, t[c], surface, doubled, tree, numbers, sign, held, bars, work, out[c]
        )
