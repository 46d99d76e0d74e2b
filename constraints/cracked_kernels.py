"""Compiled inner loops of cracked bending: one candidate a call (sources stand in the public functions)."""

import numpy as np
from numba import njit

from longvault.sections.kernels import usable

CRACKED_FIELDS = 8
STEEPEST = 1.5
"""Steepest neutral axis that is looked at [rad]."""


@njit(cache=True, error_model="numpy")
def prepare(x, z, first, second, t, boxes):
    """Fill ``boxes`` (7, e): middle, half along, half across (x and z each) and area of every strip."""
    for e in range(first.size):
        i, j = first[e], second[e]
        ux, uz = 0.5 * (x[j] - x[i]), 0.5 * (z[j] - z[i])
        half = np.sqrt(ux * ux + uz * uz)
        boxes[0, e], boxes[1, e] = 0.5 * (x[i] + x[j]), 0.5 * (z[i] + z[j])
        boxes[2, e], boxes[3, e] = ux, uz
        boxes[4, e], boxes[5, e] = -0.5 * t[e] * uz / half, 0.5 * t[e] * ux / half
        boxes[6, e] = 2.0 * half * t[e]


@njit(cache=True, error_model="numpy")
def project(boxes, nx, nz, spans):
    """Distance along (nx, nz) of each strip's middle, and its reach, into ``spans`` (2, e); the two edges."""
    edge, other = -np.inf, np.inf
    for e in range(boxes.shape[1]):
        middle = boxes[0, e] * nx + boxes[1, e] * nz
        reach = abs(boxes[2, e] * nx + boxes[3, e] * nz) + abs(boxes[4, e] * nx + boxes[5, e] * nz)
        spans[0, e], spans[1, e] = middle, reach
        edge, other = max(edge, middle + reach), min(other, middle - reach)
    return edge, other


@njit(cache=True, error_model="numpy")
def cut(boxes, e, nx, nz, above):
    """Area and first moments of the part of a strip where x nx + z nz > its middle - ``above``."""
    ux, uz, vx, vz = boxes[2, e], boxes[3, e], boxes[4, e], boxes[5, e]
    twice = by_x = by_z = 0.0
    # edge by edge round the part; the closing edge along the level comes last
    enter_x = enter_z = leave_x = leave_z = 0.0
    ax, az = -ux - vx, -uz - vz
    for k in range(4):
        bx, bz = (ux - vx, uz - vz) if k == 0 else (ux + vx, uz + vz) if k == 1 else (vx - ux, vz - uz)
        if k == 3:
            bx, bz = -ux - vx, -uz - vz
        a, b = above + ax * nx + az * nz, above + bx * nx + bz * nz
        px, pz, qx, qz = ax, az, bx, bz
        ax, az = bx, bz
        if a <= 0.0 and b <= 0.0:
            continue
        if a <= 0.0:
            share = a / (a - b)
            px, pz = px + share * (qx - px), pz + share * (qz - pz)
            enter_x, enter_z = px, pz
        elif b <= 0.0:
            share = a / (a - b)
            qx, qz = px + share * (qx - px), pz + share * (qz - pz)
            leave_x, leave_z = qx, qz
        cross = px * qz - qx * pz
        twice += cross
        by_x += cross * (px + qx)
        by_z += cross * (pz + qz)
    cross = leave_x * enter_z - enter_x * leave_z
    twice += cross
    by_x += cross * (leave_x + enter_x)
    by_z += cross * (leave_z + enter_z)
    area = 0.5 * twice
    return area, by_x / 6.0 + area * boxes[0, e], by_z / 6.0 + area * boxes[1, e]


@njit(cache=True, error_model="numpy")
def forces_at(boxes, spans, bars, count, block, steel, nx, nz, edge, depth, out):
    """Resultants with the neutral axis at ``depth`` below the compressed edge, into ``out`` (7,).

    Compression C and its first moments; steel force T (tension +) and its first moments; a factor 1.
    """
    ratio, stress, strain = block
    yield_stress, modulus = steel
    level = edge - ratio * depth
    area = by_x = by_z = 0.0
    for e in range(boxes.shape[1]):
        above = spans[0, e] - level
        if above <= -spans[1, e]:
            continue
        if above >= spans[1, e]:
            part, part_x, part_z = boxes[6, e], boxes[6, e] * boxes[0, e], boxes[6, e] * boxes[1, e]
        else:
            part, part_x, part_z = cut(boxes, e, nx, nz, above)
        area, by_x, by_z = area + part, by_x + part_x, by_z + part_z
    out[0], out[1], out[2] = stress * area, stress * by_x, stress * by_z
    out[3] = out[4] = out[5] = 0.0
    out[6] = 1.0
    for b in range(count):
        sigma = modulus * strain * (edge - bars[0, b] * nx - bars[1, b] * nz - depth) / depth
        force = bars[2, b] * min(max(sigma, -yield_stress), yield_stress)
        out[3] += force
        out[4] += force * bars[0, b]
        out[5] += force * bars[1, b]


@njit(cache=True, error_model="numpy")
def misfit(boxes, spans, bars, count, block, steel, nx, nz, edge, depth, sign, moment, out):
    """Return what the neutral axis must bring to zero: C - T over C, or with a moment M / moment - 1.

    With a moment the steel is scaled to balance the concrete; T and its moments are scaled with it.
    """
    forces_at(boxes, spans, bars, count, block, steel, nx, nz, edge, depth, out)
    if moment == 0.0:
        return (out[0] - out[3]) / (out[0] + abs(out[3]))
    out[6] = out[0] / out[3]
    out[3] *= out[6]
    out[4] *= out[6]
    out[5] *= out[6]
    return sign * (out[2] - out[5]) / moment - 1.0


@njit(cache=True, error_model="numpy")
def at_angle(boxes, spans, bars, count, block, steel, angle, sign, moment, out):
    """Solve the neutral axis at one inclination: its depth, the effective depth and the limit depth.

    The limit depth is where the centroid of the bars just yields. Illinois rule, a halving every third step.
    """
    nx, nz = sign * np.sin(angle), sign * np.cos(angle)
    edge, other = project(boxes, nx, nz, spans)
    total = down = 0.0
    for b in range(count):
        total += bars[2, b]
        down += bars[2, b] * (edge - bars[0, b] * nx - bars[1, b] * nz)
    effective = down / total
    limit = effective * block[2] / (block[2] + steel[0] / steel[1])
    a, b = 1e-6 * (edge - other), limit if moment > 0.0 else 2.0 * (edge - other) / block[0]
    fb = misfit(boxes, spans, bars, count, block, steel, nx, nz, edge, b, sign, moment, out)
    if not fb > 0.0:
        return b, effective, limit
    fa = misfit(boxes, spans, bars, count, block, steel, nx, nz, edge, a, sign, moment, out)
    if fa > 0.0:
        return a, effective, limit
    side, smallest, c = 0, 1e-13 * b, b
    for step in range(100):
        c = (fa * b - fb * a) / (fa - fb) if step % 3 != 2 else 0.5 * (a + b)
        fc = misfit(boxes, spans, bars, count, block, steel, nx, nz, edge, c, sign, moment, out)
        if abs(fc) < 1e-11 or b - a < smallest:
            break
        if fc > 0.0:
            fa = 0.5 * fa if side == 1 else fa
            b, fb, side = c, fc, 1
        else:
            fb = 0.5 * fb if side == -1 else fb
            a, fa, side = c, fc, -1
    return c, effective, limit


@njit(cache=True, error_model="numpy")
def lean(out, slant):
    """Sideways distance of the compression resultant from where it stands in line with the tension one.

    ``slant`` is the sideways moment over the vertical one, both with their signs: upright for 0.
    """
    return out[1] / out[0] - out[4] / out[3] + slant * (out[2] / out[0] - out[5] / out[3])


@njit(cache=True, error_model="numpy")
def balanced(boxes, spans, bars, count, block, steel, sign, slant, width, moment, out):
    """Neutral axis turned until compression stands above tension: angle and what `at_angle` returns."""
    a, b = 0.0, 0.0
    found = at_angle(boxes, spans, bars, count, block, steel, 0.0, sign, moment, out)
    fa = fb = lean(out, slant)
    if abs(fa) <= 1e-9 * width:
        return 0.0, found
    step = -0.3 if fa * sign > 0.0 else 0.3
    while fa * fb > 0.0 and abs(b) < STEEPEST:
        a, fa = b, fb
        b += step
        found = at_angle(boxes, spans, bars, count, block, steel, b, sign, moment, out)
        fb = lean(out, slant)
    if not fa * fb <= 0.0:
        return np.nan, found
    side, c = 0, b
    for _ in range(60):
        c = (fa * b - fb * a) / (fa - fb)
        found = at_angle(boxes, spans, bars, count, block, steel, c, sign, moment, out)
        fc = lean(out, slant)
        if abs(fc) <= 1e-9 * width or abs(b - a) < 1e-12:
            break
        if fc * fb > 0.0:
            fa = 0.5 * fa if side == 1 else fa
            b, fb, side = c, fc, 1
        else:
            fb = 0.5 * fb if side == -1 else fb
            a, fa, side = c, fc, -1
    return c, found


@njit(cache=True, error_model="numpy")
def cracked_row(boxes, spans, bars, count, block, steel, sign, slant, held, width, moment, forces, out):
    """Fill ``out`` (CRACKED_FIELDS,): moment, C, arm, depth, d, limit depth, angle, steel area."""
    if held:
        angle, found = 0.0, at_angle(boxes, spans, bars, count, block, steel, 0.0, sign, moment, forces)
    else:
        angle, found = balanced(boxes, spans, bars, count, block, steel, sign, slant, width, moment, forces)
    if np.isnan(angle):
        out[:] = np.nan
        return
    reached = sign * (forces[2] - forces[5])
    total = 0.0
    for b in range(count):
        total += bars[2, b]
    out[0], out[1], out[2] = reached, forces[0], reached / forces[0]
    out[3], out[4], out[5] = found
    out[6] = angle
    # beyond the limit depth steel does not help; the figure grows on so that the search sees a slope
    out[7] = forces[6] * total * (max(moment / reached, 1.0) if moment > 0.0 else 1.0)


@njit(cache=True, error_model="numpy")
def bars_row(bar_x, bar_z, bar_area, bars):
    """Write the groups of bars that hold any steel into ``bars`` (3, B): x, z, area; returns how many."""
    count = 0
    for b in range(bar_x.size):
        if bar_area[b] > 0.0:
            bars[0, count], bars[1, count], bars[2, count] = bar_x[b], bar_z[b], bar_area[b]
            count += 1
    return count


@njit(cache=True, error_model="numpy")
def cracked_rows(
    x, z, first, second, t, bar_x, bar_z, bar_area, block, steel, sign, slants, held, moments, out
):
    """Run `cracked_row` over candidates; ``slants``, ``moments`` (N,), 0: resistance of the bars given."""
    boxes, spans = np.empty((7, first.size)), np.empty((2, first.size))
    bars, forces = np.empty((3, bar_x.shape[1])), np.empty(7)
    for c in range(x.shape[0]):
        bad = np.isnan(moments[c]) or np.isnan(bar_area[c].sum())
        if bad or not usable(x[c], z[c], first, second, t[c]):
            out[c] = np.nan
            continue
        count = bars_row(bar_x[c], bar_z[c], bar_area[c], bars)
        prepare(x[c], z[c], first, second, t[c], boxes)
        width = max(x[c].max() - x[c].min(), z[c].max() - z[c].min())
        cracked_row(
            boxes, spans, bars, count, block, steel, sign, slants[c], held, width, moments[c], forces, out[c]
        )


@njit(cache=True, error_model="numpy")
def shelves(x, z, first, second, t, doubled, edge, sign, rules, table):
    """List the strips that hold bars in ``table`` (e, 5): low, high, first level, bars per depth, strip.

    ``rules`` = (cover, mesh, bar, clear). Levels are heights above the tension edge.
    """
    cover, mesh, bar, clear = rules
    start = cover + mesh - 0.5 * clear  # half a layer below the first one
    count = 0
    for e in range(first.size):
        whole = 2.0 * t[e] if doubled[e] else t[e]
        rows = np.floor((whole - 2.0 * (cover + mesh) + clear) / (bar + clear) + 1e-9)
        if rows < 1.0:
            continue
        i, j = first[e], second[e]
        a, b = sign * (z[i] - edge), sign * (z[j] - edge)
        length = np.sqrt((x[j] - x[i]) ** 2 + (z[j] - z[i]) ** 2)
        table[count, 0], table[count, 1] = min(a, b), max(a, b)
        table[count, 2] = min(max(start, min(a, b)), max(a, b)) if a != b else a
        half = 0.5 if doubled[e] else 1.0
        table[count, 3] = half * length * rows * 0.25 * np.pi * bar * bar / (bar + clear)
        table[count, 4] = e
        count += 1
    return count


@njit(cache=True, error_model="numpy")
def shelf_share(low, high, begin, depth):
    """Shares of a strip's length where bars begin and end, filled up to ``depth``."""
    if high <= low:
        return 0.0, 1.0 if low <= depth else 0.0
    bare = (begin - low) / (high - low)
    upto = min(max((depth - low) / (high - low), 0.0), 1.0)
    return bare, max(upto, bare)


@njit(cache=True, error_model="numpy")
def room(table, count, depth):
    """Area of bars that fit up to ``depth``."""
    total = 0.0
    for k in range(count):
        bare, upto = shelf_share(table[k, 0], table[k, 1], table[k, 2], depth)
        total += (upto - bare) * table[k, 3]
    return total


@njit(cache=True, error_model="numpy")
def gather_row(
    x, z, first, second, t, doubled, edge, height, sign, rules, wanted, table, bar_x, bar_z, bar_area
):
    """Lay bars of area ``wanted`` into the section from its tension edge up.

    Return the depth they take, and their distance over the closest one.
    """
    bar_area[:] = 0.0
    for e in range(first.size):
        bar_x[e], bar_z[e] = 0.5 * (x[first[e]] + x[second[e]]), 0.5 * (z[first[e]] + z[second[e]])
    inset = rules[0] + rules[1] + 0.5 * rules[2]
    count = shelves(x, z, first, second, t, doubled, edge, sign, rules, table)
    low, high = 0.0, height
    for _ in range(20):  # to a millionth of the height
        middle = 0.5 * (low + high)
        if room(table, count, middle) < wanted:
            low = middle
        else:
            high = middle
    total = room(table, count, high)
    if total > 0.0:
        for k in range(count):
            e = int(table[k, 4])
            bare, upto = shelf_share(table[k, 0], table[k, 1], table[k, 2], high)
            centre = 0.5 * (bare + upto)
            level = table[k, 0] + centre * (table[k, 1] - table[k, 0])
            i, j = first[e], second[e]
            along = centre if sign * z[i] <= sign * z[j] else 1.0 - centre
            bar_x[e], bar_z[e] = x[i] + along * (x[j] - x[i]), edge + sign * max(level, inset)
            bar_area[e] = (upto - bare) * table[k, 3] * wanted / total
        return high, max(total / wanted, 1.0)
    # no room anywhere: all in one line at the inset, in the lowest strip
    nearest = 0
    for e in range(first.size):
        nearest = e if sign * bar_z[e] < sign * bar_z[nearest] else nearest
    bar_area[nearest] = wanted
    bar_z[nearest] = edge + sign * inset
    return np.inf, 1.0


@njit(cache=True, error_model="numpy")
def gather_rows(
    x, z, first, second, t, doubled, edges, heights, sign, rules, wanted, bar_x, bar_z, bar_area, out
):
    """Run `gather_row` over candidates; ``out`` (N, 2) takes what it returns."""
    table = np.empty((first.size, 5))
    for c in range(x.shape[0]):
        if np.isnan(edges[c]) or np.isnan(wanted[c]) or not usable(x[c], z[c], first, second, t[c]):
            bar_x[c], bar_z[c], bar_area[c], out[c] = np.nan, np.nan, np.nan, np.nan
            continue
        out[c, 0], out[c, 1] = gather_row(
            x[c], z[c], first, second, t[c], doubled, edges[c], heights[c], sign, rules, wanted[c], table,
            bar_x[c], bar_z[c], bar_area[c],
        )  # fmt: skip
