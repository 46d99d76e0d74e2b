"""Compiled inner loops of bending both ways at once: one candidate a call (sources in `sideways`)."""

import numpy as np
from numba import njit

from longvault.constraints.kernels import positive_part
from longvault.sections.kernels import flow_row, usable

OBLIQUE_FIELDS = 10
"""Compression, tension under sagging and hogging, pull of main and of other steel; each with its pair."""
SHEAR_FIELDS = 4


@njit(cache=True, error_model="numpy")
def pair_rows(dead, live, right, whole, ends, upright, level):
    """Lay pairs (C, S, R E) out of the loads of combinations (C, R) and influences (S,), (S, E)."""
    for c in range(dead.shape[0]):
        for s in range(whole.size):
            k = 0
            for r in range(dead.shape[1]):
                for e in range(ends.shape[1]):
                    upright[c, s, k] = dead[c, r] * whole[s] + live[c, r] * ends[s, e]
                    level[c, s, k] = right[c, r] * ends[s, e]
                    k += 1


@njit(cache=True, error_model="numpy")
def fields_row(x, z, first, second, t, props, lines):
    """Fill ``lines`` (7, e): f and g at both ends, half their change through the thickness, area.

    Stress is -M f + H g for a sagging moment M and a moment H that pulls the right side.
    """
    cx, cz, ixx, izz, ixz = props
    determinant = ixx * izz - ixz * ixz
    down, across, right = izz / determinant, ixz / determinant, ixx / determinant
    for e in range(first.size):
        i, j = first[e], second[e]
        dx, dz = x[j] - x[i], z[j] - z[i]
        length = np.sqrt(dx * dx + dz * dz)
        half = 0.5 * t[e] / length
        lines[0, e] = down * (z[i] - cz) - across * (x[i] - cx)
        lines[1, e] = down * (z[j] - cz) - across * (x[j] - cx)
        lines[2, e] = right * (x[i] - cx) - across * (z[i] - cz)
        lines[3, e] = right * (x[j] - cx) - across * (z[j] - cz)
        lines[4, e] = half * (down * dx + across * dz)
        lines[5, e] = -half * (right * dz + across * dx)
        lines[6, e] = length * t[e]


@njit(cache=True, error_model="numpy")
def reach(lines):
    """Largest |g| at corners, and the pull of a unit moment of either kind."""
    level = pull = pull_side = 0.0
    for e in range(lines.shape[1]):
        level = max(level, max(abs(lines[2, e]), abs(lines[3, e])) + abs(lines[5, e]))
        pull += lines[6, e] * positive_part(-lines[0, e], -lines[1, e])[0]
        pull_side += lines[6, e] * positive_part(lines[2, e], lines[3, e])[0]
    return level, pull, pull_side


@njit(cache=True, error_model="numpy")
def stress_of(lines, moment, side):
    """Largest compression and tension at corners under both moments, and the pull of what is in tension."""
    highest = lowest = pull = 0.0
    for e in range(lines.shape[1]):
        a = side * lines[2, e] - moment * lines[0, e]
        b = side * lines[3, e] - moment * lines[1, e]
        across = abs(side * lines[5, e] - moment * lines[4, e])
        highest, lowest = max(highest, max(a, b) + across), min(lowest, min(a, b) - across)
        if a > 0.0 or b > 0.0:
            pull += lines[6, e] * positive_part(a, b)[0]
    return -lowest, highest, pull


@njit(cache=True, error_model="numpy")
def bounds(props):
    """Upper bounds of |g| at any corner, and of the pull of a unit sideways moment, by the outline alone.

    |g| on the box round the section; the pull is half the integral of |g|, at most sqrt(A I) / 2 with I =
    I_xx / D the integral of g^2 (Cauchy-Schwarz).
    """
    cx, cz, ixx, izz, ixz, area, top, bottom, left, right = props
    determinant = ixx * izz - ixz * ixz
    wide, high = max(right - cx, cx - left), max(top - cz, cz - bottom)
    return (ixx * wide + abs(ixz) * high) / determinant, 0.5 * np.sqrt(area * ixx / determinant)


@njit(cache=True, error_model="numpy")
def asks(moment, side, fibres, known, per_moment, sign, out):
    """Whether a pair may ask for more than ``out``.

    ``fibres``: largest f and -f, ``known``: largest |g|, pull of a unit moment of either kind.
    """
    size, push = abs(moment), abs(side)
    across, pull = push * known[0], push * known[2]
    main = 0 if moment * sign >= 0.0 else 1
    if moment >= 0.0:
        more = size * fibres[0] + across > out[0] or size * fibres[1] + across > out[2]
    else:
        more = size * fibres[1] + across > out[0] or size * fibres[0] + across > out[4]
    return push > 0.0 and (more or size * per_moment[main] + pull > out[6 + 2 * main])


@njit(cache=True, error_model="numpy")
def take_pair(lines, height, per_moment, sign, known, pair, number, out):
    """Let one pair (moment, side) raise ``out`` (OBLIQUE_FIELDS,) under its ``number``.

    ``per_moment`` = pull of the main and of the other steel per unit of moment; ``sign`` the main sign.
    """
    moment, side = pair
    solid = known[1] * height < 1.0  # a slab almost flat: its mid-line has no arm; both pulls are added
    squeezed, stretched, both = stress_of(lines, moment, side)
    bent, main = (2 if moment >= 0.0 else 4), moment * sign >= 0.0
    steel, size = (6 if main else 8), abs(moment)
    more = abs(side) * known[2] if solid else max(both - size * known[1], 0.0)
    force = size * per_moment[0 if main else 1] + more
    if squeezed > out[0]:
        out[0], out[1] = squeezed, number
    if stretched > out[bent]:
        out[bent], out[bent + 1] = stretched, number
    if force > out[steel]:
        out[steel], out[steel + 1] = force, number


@njit(cache=True, error_model="numpy")
def next_corner(moments, sides, count, at):
    """Corner after ``at`` of the convex hull of ``count`` points, turning left; the farthest of a line."""
    best = -1
    for i in range(count):
        dx, dz = moments[i] - moments[at], sides[i] - sides[at]
        if dx == 0.0 and dz == 0.0:
            continue
        if best < 0:
            best = i
            continue
        ex, ez = moments[best] - moments[at], sides[best] - sides[at]
        turn = ex * dz - ez * dx
        if turn < 0.0 or (turn == 0.0 and dx * dx + dz * dz > ex * ex + ez * ez):
            best = i
    return best


@njit(cache=True, error_model="numpy")
def corners(moments, sides, count, found):
    """Write the corners of the convex hull of ``count`` points into ``found``; returns how many."""
    at = 0
    for i in range(1, count):
        if moments[i] < moments[at] or (moments[i] == moments[at] and sides[i] < sides[at]):
            at = i
    begin, many = at, 0
    while many < count:
        found[many] = at
        many += 1
        at = next_corner(moments, sides, count, at)
        if at < 0 or (moments[at] == moments[begin] and sides[at] == sides[begin]):
            break
    return many


@njit(cache=True, error_model="numpy")
def gather(section, k, moments, sides, fibres, known, per_moment, sign, out, kept):
    """Gather the pairs (S, J) of section ``k`` that may ask for more than ``out`` into ``kept`` (2, 3, S J).

    Sagging and hogging apart, each both moments and the number of the pair; returns how many of either.
    """
    pairs, sagging, hogging = moments.shape[1], 0, 0
    for s in range(section.size):
        for j in range(pairs if section[s] == k else 0):
            moment, side = moments[s, j], sides[s, j]
            if not asks(moment, side, fibres, known, per_moment, sign, out):
                continue
            if moment >= 0.0:
                kept[0, 0, sagging], kept[0, 1, sagging], kept[0, 2, sagging] = moment, side, s * pairs + j
                sagging += 1
            else:
                kept[1, 0, hogging], kept[1, 1, hogging], kept[1, 2, hogging] = moment, side, s * pairs + j
                hogging += 1
    return sagging, hogging


@njit(cache=True, error_model="numpy")
def still_asking(kept, count, fibres, known, per_moment, sign, out):
    """Keep of gathered pairs (3, N) those that may ask for more by closer bounds; returns how many."""
    many = 0
    for i in range(count):
        if asks(kept[0, i], kept[1, i], fibres, known, per_moment, sign, out):
            kept[0, many], kept[1, many], kept[2, many] = kept[0, i], kept[1, i], kept[2, i]
            many += 1
    return many


@njit(cache=True, error_model="numpy")
def oblique_rows(x, z, first, second, t, props, fibres, per_moment, sign, section, moments, sides, out):
    """Take the pairs of moments into what candidates and their sections are asked for.

    Rows of x, z, t, ``props`` (C K, 10), ``fibres`` (largest f and -f), ``per_moment`` (C K, 2) and ``out``
    are the K sections of each of C candidates; pairs (C, S, J) at S places, ``section`` (S,) says which
    section stands there. ``out`` holds what is known already, with -1 for its pairs. Sections of which no
    pair can ask for more, by bounds that need no look at the strips, are left as they are. Stress and pull
    are convex in both moments of one sign, so that only corners of the hull of the pairs are looked at.
    """
    lines, kept = np.empty((7, first.size)), np.empty((2, 3, moments.shape[1] * moments.shape[2]))
    found, many = np.empty(kept.shape[2], np.int64), x.shape[0] // moments.shape[0]
    for c in range(x.shape[0]):
        p, k, at = props[c], c % many, c // many
        if np.isnan(p[2]) or not usable(x[c], z[c], first, second, t[c]):
            out[c] = np.nan
            continue
        level, pull = bounds((p[0], p[1], p[2], p[3], p[4], p[5], p[6], p[7], p[8], p[9]))
        limits = per_moment[c], sign, out[c]
        counts = gather(section, k, moments[at], sides[at], fibres[c], (level, 0.0, pull), *limits, kept)
        if counts[0] + counts[1] == 0:
            continue
        fields_row(x[c], z[c], first, second, t[c], (p[0], p[1], p[2], p[3], p[4]), lines)
        known = reach(lines)
        for way in range(2):
            count = still_asking(kept[way], counts[way], fibres[c], known, *limits)
            for i in found[: corners(kept[way, 0], kept[way, 1], count, found) if count else 0]:
                pair, number = (kept[way, 0, i], kept[way, 1, i]), kept[way, 2, i]
                take_pair(lines, p[6] - p[7], per_moment[c], sign, known, pair, number, out[c])


@njit(cache=True, error_model="numpy")
def sheared(force, side, peak, peak_side, thick, surface, mean):
    """Largest shear stress, and flow in the roof surface, of two shear forces."""
    stress = through = 0.0
    for e in range(thick.size):
        aside = side * peak_side[e]
        upright = force * (mean * thick[e] if mean > 0.0 else peak[e])
        stress = max(stress, (upright + aside) / thick[e])
        if surface[e]:
            through = max(through, force * peak[e] + aside)
    return stress, through


@njit(cache=True, error_model="numpy")
def shear_rows(x, z, first, second, t, surface, tree, props, known, section, shears, sides, out):
    """Shear stress and flow in the roof surface of pairs of shear forces, as `oblique_rows` takes them.

    Both flows count in the same direction on each strip, each at its own peak: on the safe side. A slab
    almost flat has 1.5 V / A of the vertical one. ``known`` (C K, 2): stress and flow per vertical force.
    ``out`` (C K, 4): stress, its pair, flow, its pair.
    """
    count, pairs = first.size, shears.shape[2]
    lines, many = np.empty((7, count)), x.shape[0] // shears.shape[0]
    one, two, peak, peak_side = np.empty(count), np.empty(count), np.empty(count), np.empty(count)
    node = np.empty(x.shape[1])
    for c in range(x.shape[0]):
        p, k, at = props[c], c % many, c // many
        if np.isnan(p[2]) or not usable(x[c], z[c], first, second, t[c]):
            out[c] = np.nan
            continue
        # no flow of a unit force is above half the integral of |g|: it is 0 at the tips and at the root
        flow_side = bounds((p[0], p[1], p[2], p[3], p[4], p[5], p[6], p[7], p[8], p[9]))[1]
        stress_side, mean, ready = flow_side / t[c].min(), 0.0, False
        for s in range(section.size):
            for j in range(pairs if section[s] == k else 0):
                force, side = abs(shears[at, s, j]), abs(sides[at, s, j])
                high, wide = force * known[c, 0] + side * stress_side, force * known[c, 1] + side * flow_side
                if side == 0.0 or (high <= out[c, 0] and wide <= out[c, 2]):
                    continue
                if not ready:
                    fields_row(x[c], z[c], first, second, t[c], (p[0], p[1], p[2], p[3], p[4]), lines)
                    flow_row(lines[6], lines[0], lines[1], *tree, one, two, peak, node)
                    flow_row(lines[6], lines[2], lines[3], *tree, one, two, peak_side, node)
                    mean = 1.5 / lines[6].sum() if reach(lines)[1] * (p[6] - p[7]) < 1.0 else 0.0
                    stress_side, ready = 0.0, True
                    for e in range(count):
                        stress_side = max(stress_side, peak_side[e] / t[c, e])
                stress, through = sheared(force, side, peak, peak_side, t[c], surface, mean)
                if stress > out[c, 0]:
                    out[c, 0], out[c, 1] = stress, s * pairs + j
                if through > out[c, 2]:
                    out[c, 2], out[c, 3] = through, s * pairs + j
