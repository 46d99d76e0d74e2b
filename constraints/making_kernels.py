"""Compiled inner loops of bends and form areas: one candidate a call (sources in the public functions)."""

import numpy as np
from numba import njit

from longvault.sections.kernels import measure_strips, usable

FORM_FIELDS = 4

IN_LINE = 4e-6
"""Strips that leave a straight line by no more than this are one facet [m]."""


@njit(cache=True, error_model="numpy")
def in_line(ax, az, bx, bz):
    """Whether two vectors, one after the other, run straight on."""
    reach = np.sqrt(max(ax * ax + az * az, bx * bx + bz * bz))
    return ax * bx + az * bz > 0.0 and abs(ax * bz - az * bx) <= IN_LINE * reach


@njit(cache=True, error_model="numpy")
def fill_facets(lines, t, surface, doubled, corners, facet, group):
    """Fill ``facet`` with the length of the straight stretch of one thickness that each strip stands in.

    So does it not matter into how many strips a stretch is cut. ``corners`` as for `making_row`; ``group`` is
    room to work in.
    """
    x1, z1, x2, z2, length = lines[0], lines[1], lines[2], lines[3], lines[4]
    for e in range(t.size):
        facet[e], group[e] = length[e], e
    for k in range(corners.shape[0]):
        e, g, into, out_of, _ = corners[k]
        ax, az, bx, bz = x2[e] - x1[e], z2[e] - z1[e], x2[g] - x1[g], z2[g] - z1[g]
        alike = t[e] == t[g] and surface[e] == surface[g] and doubled[e] == doubled[g]
        straight = alike and in_line(into * ax, into * az, out_of * bx, out_of * bz)
        if straight and group[e] != group[g]:
            whole, one, other = facet[e] + facet[g], group[e], group[g]
            for n in range(t.size):
                if group[n] == one or group[n] == other:
                    facet[n], group[n] = whole, one


@njit(cache=True, error_model="numpy")
def bend_curvature(cross, dot, lengths, step):
    """Curvature where two strips meet, from products of vectors and lengths; ``step`` between middles."""
    # three points: 2 tan(turn / 2) / step, with tan(turn / 2) = |sin| / (1 + cos)
    return 2.0 * abs(cross) / (lengths + dot) / step if lengths + dot > 0.0 else 1e9


@njit(cache=True, error_model="numpy")
def corner_bend(lines, t, facet, corner, bend_radius):
    """Curvature at one corner times the least radius at mid-depth."""
    x1, z1, x2, z2, length = lines[0], lines[1], lines[2], lines[3], lines[4]
    e, g, into, out_of, _ = corner
    ax, az = into * (x2[e] - x1[e]), into * (z2[e] - z1[e])
    bx, bz = out_of * (x2[g] - x1[g]), out_of * (z2[g] - z1[g])
    cross, dot, step = ax * bz - az * bx, ax * bx + az * bz, 0.5 * (facet[e] + facet[g])
    curvature = bend_curvature(cross, dot, length[e] * length[g], step)
    return curvature * (bend_radius + 0.5 * max(t[e], t[g]))


@njit(cache=True, error_model="numpy")
def bends_rows(x, z, first, second, chain, t, surface, doubled, corners, bend_radius, out):
    """Fill ``out`` (N, C): `corner_bend` of every smooth corner of every candidate, 0 of the others."""
    lines, facet, group = np.empty((5, first.size)), np.empty(first.size), np.empty(first.size)
    for c in range(x.shape[0]):
        if not measure_strips(x[c], z[c], first, second, chain, t[c], lines):
            out[c] = np.nan
            continue
        fill_facets(lines, t[c], surface, doubled, corners, facet, group)
        for k in range(corners.shape[0]):
            smooth = corners[k, 4] == 1
            out[c, k] = corner_bend(lines, t[c], facet, corners[k], bend_radius) if smooth else 0.0


@njit(cache=True, error_model="numpy")
def forms_row(lines, t, surface, doubled, corners, sines, facet, group, out):
    """Fill ``out`` (FORM_FIELDS,): surface up to the first slope, up to the second, steeper; beam sides.

    ``corners`` are those of members alone: a soffit is counted once for a straight stretch of one thickness.
    """
    fill_facets(lines, t, surface, doubled, corners, facet, group)
    out[:] = 0.0
    for e in range(t.size):
        length, rise = lines[4, e], abs(lines[3, e] - lines[1, e])
        if not surface[e]:
            # two sides and the soffit; a half of a shared member has one side and half of the soffit
            out[3] += (length if doubled[e] else 2.0 * length) + t[e] * length / facet[e]
            continue
        sine = rise / length
        k = 0 if sine <= sines[0] * (1.0 + 1e-12) else (1 if sine <= sines[1] * (1.0 + 1e-12) else 2)
        out[k] += length


@njit(cache=True, error_model="numpy")
def forms_rows(x, z, first, second, t, surface, doubled, corners, sines, out):
    """Run `forms_row` over candidates."""
    lines, room = np.empty((5, first.size)), np.empty((2, first.size))
    for c in range(x.shape[0]):
        out[c] = np.nan
        if usable(x[c], z[c], first, second, t[c]):
            fill_lines(x[c], z[c], first, second, lines)
            forms_row(lines, t[c], surface, doubled, corners, sines, room[0], room[1], out[c])


@njit(cache=True, error_model="numpy")
def fill_lines(x, z, first, second, lines):
    """Fill ``lines`` (5, e) with the ends of each strip and its length."""
    for e in range(first.size):
        lines[0, e], lines[1, e], lines[2, e], lines[3, e] = (
            x[first[e]],
            z[first[e]],
            x[second[e]],
            z[second[e]],
        )
        dx, dz = lines[2, e] - lines[0, e], lines[3, e] - lines[1, e]
        lines[4, e] = np.sqrt(dx * dx + dz * dz)
