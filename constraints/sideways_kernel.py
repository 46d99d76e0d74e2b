"""Compiled inner loops of bending both ways at once: one candidate a call (sources in `sideways`)."""

import numpy as np
from numba import njit

from longvault.constraints.kernels import positive_part
from longvault.sections.kernels import flow_row, usable

OBLIQUE_FIELDS = 10
"""Compression, tension under sagging and hogging, pull of main and of other steel; each with its pair."""
SHEAR_FIELDS = 4


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
    if push == 0.0:
        return False
    main, down = moment * sign >= 0.0, moment >= 0.0
    squeezed, stretched = fibres[0 if down else 1], fibres[1 if down else 0]
    return (
        size * squeezed + push * known[0] > out[0]
        or size * stretched + push * known[0] > out[2 if down else 4]
        or size * per_moment[0 if main else 1] + push * known[2] > out[6 if main else 8]
    )


@njit(cache=True, error_model="numpy")
def oblique_row(lines, height, fibres, per_moment, sign, known, moments, sides, start, out):
    """Take the pairs (J,) of one place along the span into ``out`` (OBLIQUE_FIELDS,), counted from ``start``.

    ``per_moment`` = pull of the main and of the other steel per unit of moment; ``sign`` the main sign.
    """
    solid = known[1] * height < 1.0  # a slab almost flat: its mid-line has no arm; both pulls are added
    for j in range(moments.size):
        moment, side = moments[j], sides[j]
        if not asks(moment, side, fibres, known, per_moment, sign, out):
            continue
        squeezed, stretched, both = stress_of(lines, moment, side)
        bent, main = (2 if moment >= 0.0 else 4), moment * sign >= 0.0
        steel, size = (6 if main else 8), abs(moment)
        more = abs(side) * known[2] if solid else max(both - size * known[1], 0.0)
        force = size * per_moment[0 if main else 1] + more
        if squeezed > out[0]:
            out[0], out[1] = squeezed, start + j
        if stretched > out[bent]:
            out[bent], out[bent + 1] = stretched, start + j
        if force > out[steel]:
            out[steel], out[steel + 1] = force, start + j


@njit(cache=True, error_model="numpy")
def oblique_rows(x, z, first, second, t, props, fibres, per_moment, sign, section, moments, sides, out):
    """Run `oblique_row` over candidates and their sections.

    Rows of x, z, t, ``props`` (C K, 10), ``fibres`` (largest f and -f), ``per_moment`` (C K, 2) and ``out``
    are the K sections of each of C candidates; pairs (C, S, J) at S places, ``section`` (S,) says which
    section stands there. ``out`` holds what is known already, with -1 for its pairs. Sections of which no
    pair can ask for more, by bounds that need no look at the strips, are left as they are.
    """
    lines, count = np.empty((7, first.size)), moments.shape[2]
    many = x.shape[0] // moments.shape[0]
    for c in range(x.shape[0]):
        p, k, at = props[c], c % many, c // many
        if np.isnan(p[2]) or not usable(x[c], z[c], first, second, t[c]):
            out[c] = np.nan
            continue
        row = (p[0], p[1], p[2], p[3], p[4], p[5], p[6], p[7], p[8], p[9])
        level, pull = bounds(row)
        loose, more = (level, 0.0, pull), False
        for s in range(section.size):
            if section[s] == k and not more:
                for j in range(count):
                    more = more or asks(
                        moments[at, s, j], sides[at, s, j], fibres[c], loose, per_moment[c], sign, out[c]
                    )
        if not more:
            continue
        fields_row(x[c], z[c], first, second, t[c], (p[0], p[1], p[2], p[3], p[4]), lines)
        known = reach(lines)
        for s in range(section.size):
            if section[s] == k:
                turned = moments[at, s], sides[at, s]
                oblique_row(
                    lines, p[6] - p[7], fibres[c], per_moment[c], sign, known, *turned, s * count, out[c]
                )


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
