"""Compiled inner loop of prestressing: one candidate a call (sources stand in the public functions)."""

import numpy as np
from numba import njit

from longvault.sections.kernels import usable

SEAT_FIELDS = 5
PRESTRESS_FIELDS = 8


@njit(cache=True, error_model="numpy")
def seat_row(x, z, first, second, t, doubled, sign, inset, apart, centre, out):
    """Lowest place of a duct in the concrete (highest for ``sign`` -1): x, z, rise above it, thickness, room.

    Room: how many ducts lie beside each other in one level, ``apart`` from centre to centre; a member shared
    with the neighbour gives half of its own.

    Equal places, as in two valley beams, count together: their mean x, the least rise and thickness. Strips
    that have no room for it count only where none on its side of ``centre`` has room.
    """
    thick_enough = False
    for e in range(first.size):
        whole = 2.0 * t[e] if doubled[e] else t[e]
        foot = min(sign * (z[first[e]] - centre), sign * (z[second[e]] - centre))
        thick_enough = thick_enough or (whole >= 2.0 * inset and foot < 0.0)
    best = np.inf
    count, level = 0, 0.0
    out[:] = 0.0
    for e in range(first.size):
        whole = 2.0 * t[e] if doubled[e] else t[e]
        if thick_enough and whole < 2.0 * inset:
            continue
        i, j = first[e], second[e]
        if sign * z[i] > sign * z[j]:
            i, j = j, i
        dx, dz = x[j] - x[i], sign * (z[j] - z[i])
        length = np.sqrt(dx * dx + dz * dz)
        aside = max(0.5 * whole - inset, 0.0) * abs(dx) / length
        along = min(inset, 0.5 * length)
        low = sign * z[i] + along * dz / length - aside
        high = sign * z[i] + (length - along) * dz / length + aside
        at = 0.5 * (x[i] + x[j]) if dz < 0.1 * length else x[i] + along * dx / length
        if low < best - 1e-6:
            best, count, level = low, 0, 0.0
            out[0], out[2], out[3], out[4] = 0.0, np.inf, np.inf, 0.0
        if low <= best + 1e-6:
            out[0] += at
            out[2], out[3] = min(out[2], high - low), min(out[3], whole)
            count += 1
            if dz < 0.1 * length:
                level += length
            else:
                beside = np.floor(max(whole - 2.0 * inset, 0.0) / apart + 1e-9) + 1.0
                out[4] += 0.5 * beside if doubled[e] else beside
    if level > 0.0:
        out[4] += np.floor(max(level - 2.0 * inset, 0.0) / apart + 1e-9) + 1.0
    out[0] /= count
    out[1] = sign * best


@njit(cache=True, error_model="numpy")
def prestress_row(x, z, first, second, t, props, held, seat, moments, allowed, ratio, given, out):
    """Fill ``out`` (PRESTRESS_FIELDS,): least force, most force, force, four stresses and the ends' tension.

    ``props`` = (cx, cz, ixx, izz, ixz, area); ``seat`` = (x, z, rise); ``moments`` = (service, transfer);
    ``allowed`` = tension in service and at transfer; ``ratio`` = force at transfer over force in service.
    """
    cx, cz, ixx, izz, ixz, area = props
    determinant = ixx * izz - ixz * ixz
    fz, fx, gx, gz = izz / determinant, ixz / determinant, ixx / determinant, ixz / determinant
    if held:
        fz, fx, gx, gz = 1.0 / ixx, 0.0, 0.0, 0.0
    least, most = 0.0, np.inf
    for step in range(2):
        force = given if given >= 0.0 else least
        tension = push = start_tension = start_push = end_tension = -np.inf
        for e in range(first.size):
            i, j = first[e], second[e]
            dx, dz = x[j] - x[i], z[j] - z[i]
            length = np.sqrt(dx * dx + dz * dz)
            for corner in range(4):
                n = i if corner < 2 else j
                side = 0.5 * t[e] if corner % 2 == 0 else -0.5 * t[e]
                px, pz = x[n] - side * dz / length - cx, z[n] + side * dx / length - cz
                f, g = fz * pz - fx * px, gx * px - gz * pz
                unit = 1.0 / area + (seat[1] - cz) * f + (seat[0] - cx) * g
                if step == 0:
                    lack = -moments[0] * f - allowed[0]
                    if lack > 0.0:
                        least = max(least, lack / max(unit, 0.02 / area))
                    if unit < 0.0:
                        most = min(most, (allowed[1] + moments[1] * f) / (-unit * ratio))
                    continue
                sigma = -moments[0] * f - force * unit
                start = -moments[1] * f - ratio * force * unit
                ends = 1.0 / area + (seat[1] + seat[2] - cz) * f + (seat[0] - cx) * g
                tension, push = max(tension, sigma), max(push, -sigma)
                start_tension, start_push = max(start_tension, start), max(start_push, -start)
                end_tension = max(end_tension, -ratio * force * ends)
        if step == 1:
            out[0], out[1], out[2] = least, most, force
            out[3], out[4], out[5], out[6] = tension, push, start_tension, start_push
            out[7] = end_tension


@njit(cache=True, error_model="numpy")
def prestress_rows(
    x,
    z,
    first,
    second,
    t,
    doubled,
    props,
    held,
    sign,
    inset,
    apart,
    moments,
    allowed,
    ratio,
    given,
    seats,
    out,
):
    """Run both over candidates; ``moments`` (N, 2), ``given`` (N,) negative for the least force."""
    for c in range(x.shape[0]):
        p = props[c]
        if np.isnan(p[2]) or np.isnan(moments[c].sum()) or not usable(x[c], z[c], first, second, t[c]):
            seats[c], out[c] = np.nan, np.nan
            continue
        seat_row(x[c], z[c], first, second, t[c], doubled, sign, inset, apart, p[1], seats[c])
        rise = max(min(seats[c, 2], sign * (p[1] - seats[c, 1])), 0.0)
        seats[c, 2] = rise
        seat = (seats[c, 0], seats[c, 1], sign * rise)
        row = (p[0], p[1], p[2], p[3], p[4], p[5])
        pair = (moments[c, 0], moments[c, 1])
        prestress_row(
            x[c], z[c], first, second, t[c], row, held, seat, pair, allowed, ratio, given[c], out[c]
        )
