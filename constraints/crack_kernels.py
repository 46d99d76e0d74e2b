"""Compiled inner loop of the cracked elastic section: one candidate a call (sources in `crack_width`)."""

import numpy as np
from numba import njit

from longvault.constraints.cracked_kernels import bars_row, cut, prepare, project
from longvault.sections.kernels import usable

ZONE_FIELDS = 6
STEPS = 60
"""Steps at most; some four are needed."""
FIRST = 0.3
"""Share of the height that is compressed at first."""
CLOSE = 1e-6
"""A step below this share of the slope of the plane ends them: the error is of the order of its square."""


@njit(cache=True, error_model="numpy")
def add_region(corners, count, gram):
    """Add area, first and second moments of a polygon (any text on mechanics) to ``gram`` of 1, x, z."""
    ax, az = corners[count - 1, 0], corners[count - 1, 1]
    for k in range(count):
        bx, bz = corners[k, 0], corners[k, 1]
        cross = ax * bz - bx * az
        gram[0, 0] += cross / 2.0
        gram[0, 1] += cross * (ax + bx) / 6.0
        gram[0, 2] += cross * (az + bz) / 6.0
        gram[1, 1] += cross * (ax * ax + ax * bx + bx * bx) / 12.0
        gram[2, 2] += cross * (az * az + az * bz + bz * bz) / 12.0
        gram[1, 2] += cross * (2.0 * ax * az + ax * bz + bx * az + 2.0 * bx * bz) / 24.0
        ax, az = bx, bz


@njit(cache=True, error_model="numpy")
def compressed_corners(box, plane, corners):
    """Corners of the part of a strip whose strain is below 0, counter-clockwise; how many."""
    count = 0
    px, pz = box[0] - box[2] + box[4], box[1] - box[3] + box[5]
    strain = plane[0] + plane[1] * px + plane[2] * pz
    for k in range(4):
        along, across = (1.0 if k == 1 or k == 2 else -1.0), (1.0 if k > 1 else -1.0)
        qx = box[0] + along * box[2] + across * box[4]
        qz = box[1] + along * box[3] + across * box[5]
        new = plane[0] + plane[1] * qx + plane[2] * qz
        if (strain < 0.0) != (new < 0.0):
            share = strain / (strain - new)
            corners[count, 0], corners[count, 1] = px + share * (qx - px), pz + share * (qz - pz)
            count += 1
        if new < 0.0:
            corners[count, 0], corners[count, 1] = qx, qz
            count += 1
        px, pz, strain = qx, qz, new
    return count


@njit(cache=True, error_model="numpy")
def add_compressed(boxes, plane, corners, gram):
    """Add what `add_region` adds for the part of the section whose strain is below 0."""
    for e in range(boxes.shape[1]):
        x, z, ux, uz, vx, vz = boxes[0, e], boxes[1, e], boxes[2, e], boxes[3, e], boxes[4, e], boxes[5, e]
        strain = plane[0] + plane[1] * x + plane[2] * z
        reach = abs(plane[1] * ux + plane[2] * uz) + abs(plane[1] * vx + plane[2] * vz)
        if strain >= reach:
            continue
        area = boxes[6, e]
        if strain > -reach:
            add_region(corners, compressed_corners(boxes[:, e], plane, corners), gram)
            continue
        gram[0, 0] += area
        gram[0, 1] += area * x
        gram[0, 2] += area * z
        gram[1, 1] += area * (x * x + (ux * ux + vx * vx) / 3.0)
        gram[2, 2] += area * (z * z + (uz * uz + vz * vz) / 3.0)
        gram[1, 2] += area * (x * z + (ux * uz + vx * vz) / 3.0)


@njit(cache=True, error_model="numpy")
def bent_plane(gram, moment, held, plane):
    """Strain plane that carries ``moment``: N = 0, and no moment about z unless that is held."""
    a, b, c, d, e, f = gram[0, 0], gram[0, 1], gram[0, 2], gram[1, 1], gram[1, 2], gram[2, 2]
    if held:
        plane[1] = 0.0
        plane[2] = -moment * a / (a * f - c * c)
        plane[0] = -c * plane[2] / a
        return
    determinant = a * (d * f - e * e) - b * (b * f - c * e) + c * (b * e - c * d)
    plane[0] = -moment * (b * e - c * d) / determinant
    plane[1] = -moment * (b * c - a * e) / determinant
    plane[2] = -moment * (a * d - b * b) / determinant


@njit(cache=True, error_model="numpy")
def cracked_plane(boxes, bars, count, ratio, moment, held, corners, gram, plane):
    """Strain plane of the cracked section times the modulus of concrete, tension positive.

    The energy of concrete without tension is convex in the plane and its gradient is the matrix of the
    compressed part times the plane, so that each step solves for the part the last plane leaves compressed,
    the first for what ``plane`` does. Returns area and first moments of the compressed concrete.
    """
    steel = np.zeros((3, 3))
    for k in range(count):
        weight, x, z = ratio * bars[2, k], bars[0, k], bars[1, k]
        steel[0, 0] += weight
        steel[0, 1] += weight * x
        steel[0, 2] += weight * z
        steel[1, 1] += weight * x * x
        steel[1, 2] += weight * x * z
        steel[2, 2] += weight * z * z
    area = by_x = by_z = 0.0
    for _ in range(STEPS):
        gram[:] = 0.0
        add_compressed(boxes, plane, corners, gram)
        area, by_x, by_z = gram[0, 0], gram[0, 1], gram[0, 2]
        gram += steel
        before_x, before_z, before = plane[1], plane[2], plane[0]
        bent_plane(gram, moment, held, plane)
        steep = abs(plane[1]) + abs(plane[2])
        moved = abs(plane[1] - before_x) + abs(plane[2] - before_z)
        if moved <= CLOSE * steep and abs(plane[0] - before) <= CLOSE * steep:
            break
    return area, by_x, by_z


@njit(cache=True, error_model="numpy")
def mean_tension(boxes, plane, pressed):
    """Mean strain of the concrete in tension; ``pressed``: area and first moments of what is compressed."""
    area, total = -pressed[0], -(plane[0] * pressed[0] + plane[1] * pressed[1] + plane[2] * pressed[2])
    for e in range(boxes.shape[1]):
        area += boxes[6, e]
        total += boxes[6, e] * (plane[0] + plane[1] * boxes[0, e] + plane[2] * boxes[1, e])
    return total / area


@njit(cache=True, error_model="numpy")
def zone_row(boxes, spans, bars, count, ratio, moment, held, corners, gram, plane, out):
    """Fill ``out`` (ZONE_FIELDS,): steel stress, h - x, h - d, h_c,ef, A_c,eff, mean over largest strain.

    Heights are upright ones, from the edge that is stretched; h - x at the bars.
    """
    down = -1.0 if moment > 0.0 else 1.0
    edge, other = project(boxes, 0.0, down, spans)
    plane[0], plane[1], plane[2] = -other - FIRST * (edge - other), 0.0, down
    pressed = cracked_plane(boxes, bars, count, ratio, moment, held, corners, gram, plane)
    total = by_x = by_z = most = 0.0
    for k in range(count):
        x, z, area = bars[0, k], bars[1, k], bars[2, k]
        most = max(most, plane[0] + plane[1] * x + plane[2] * z)
        total, by_x, by_z = total + area, by_x + area * x, by_z + area * z
    strain = plane[0] + plane[1] * by_x / total + plane[2] * down * edge
    out[0] = ratio * most
    out[1], out[2] = strain / (down * plane[2]), edge - down * by_z / total
    out[3] = min(2.5 * out[2], out[1] / 3.0, 0.5 * (edge - other))
    area, level = 0.0, edge - out[3]
    for e in range(boxes.shape[1]):
        above = spans[0, e] - level
        if above >= spans[1, e]:
            area += boxes[6, e]
        elif above > -spans[1, e]:
            area += cut(boxes, e, 0.0, down, above)[0]
    out[4] = area
    out[5] = mean_tension(boxes, plane, pressed) / strain


@njit(cache=True, error_model="numpy")
def zone_rows(x, z, first, second, t, bar_x, bar_z, bar_area, ratio, sign, held, moments, out):
    """Run `zone_row` over candidates (N,) under moments of one sign (N,)."""
    boxes, spans, bars = np.empty((7, first.size)), np.empty((2, first.size)), np.empty((3, bar_x.shape[1]))
    corners, gram, plane = np.empty((8, 2)), np.empty((3, 3)), np.empty(3)
    for c in range(x.shape[0]):
        out[c] = np.nan
        bad = np.isnan(moments[c]) or np.isnan(bar_area[c].sum())
        if bad or not usable(x[c], z[c], first, second, t[c]):
            continue
        count = bars_row(bar_x[c], bar_z[c], bar_area[c], bars)
        prepare(x[c], z[c], first, second, t[c], boxes)
        zone_row(boxes, spans, bars, count, ratio, sign * moments[c], held, corners, gram, plane, out[c])
