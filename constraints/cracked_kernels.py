"""Compiled inner loops of cracked bending: one candidate a call (sources stand in the public functions)."""

import numpy as np
from numba import njit

from longvault.sections.kernels import usable

CRACKED_FIELDS = 8
STEEPEST = 1.5
"""Steepest neutral axis that is looked at [rad]."""


@njit(cache=True, error_model="numpy")
def beyond(x1, z1, x2, z2, t, nx, nz, level, px, pz, out):
    """Add area and first moments of the part of a strip with x nx + z nz > level to ``out`` (3,)."""
    mx, mz = 0.5 * (x1 + x2), 0.5 * (z1 + z2)
    ux, uz = 0.5 * (x2 - x1), 0.5 * (z2 - z1)
    half = np.sqrt(ux * ux + uz * uz)
    vx, vz = -0.5 * t * uz / half, 0.5 * t * ux / half
    middle = mx * nx + mz * nz - level
    reach = abs(ux * nx + uz * nz) + abs(vx * nx + vz * nz)
    if middle <= -reach:
        return
    if middle >= reach:
        area = 2.0 * half * t
        out[0] += area
        out[1] += area * mx
        out[2] += area * mz
        return
    px[0], px[1], px[2], px[3] = -ux - vx, ux - vx, ux + vx, vx - ux
    pz[0], pz[1], pz[2], pz[3] = -uz - vz, uz - vz, uz + vz, vz - uz
    twice = by_x = by_z = 0.0
    # the boundary of the part, edge by edge; the closing edge along the level is added at the end
    enter_x = enter_z = leave_x = leave_z = 0.0
    for k in range(4):
        ax, az = px[k], pz[k]
        bx, bz = px[(k + 1) % 4], pz[(k + 1) % 4]
        a, b = middle + ax * nx + az * nz, middle + bx * nx + bz * nz
        if a <= 0.0 and b <= 0.0:
            continue
        if a <= 0.0:
            share = a / (a - b)
            ax, az = ax + share * (bx - ax), az + share * (bz - az)
            enter_x, enter_z = ax, az
        elif b <= 0.0:
            share = a / (a - b)
            bx, bz = ax + share * (bx - ax), az + share * (bz - az)
            leave_x, leave_z = bx, bz
        cross = ax * bz - bx * az
        twice += cross
        by_x += cross * (ax + bx)
        by_z += cross * (az + bz)
    cross = leave_x * enter_z - enter_x * leave_z
    twice += cross
    by_x += cross * (leave_x + enter_x)
    by_z += cross * (leave_z + enter_z)
    out[0] += 0.5 * twice
    out[1] += by_x / 6.0 + 0.5 * twice * mx
    out[2] += by_z / 6.0 + 0.5 * twice * mz


@njit(cache=True, error_model="numpy")
def forces_at(section, bars, block, steel, nx, nz, edge, depth, part, out):
    """Resultants with the neutral axis at ``depth`` below the compressed edge, into ``out`` (7,).

    Compression C and its first moments; steel force T (tension +) and its first moments; a factor 1.
    """
    x, z, first, second, t, px, pz = section
    bar_x, bar_z, bar_area = bars
    ratio, stress, strain = block
    yield_stress, modulus = steel
    part[:] = 0.0
    level = edge - ratio * depth
    for e in range(first.size):
        i, j = first[e], second[e]
        beyond(x[i], z[i], x[j], z[j], t[e], nx, nz, level, px, pz, part)
    out[0] = stress * part[0]
    out[1], out[2] = stress * part[1], stress * part[2]
    out[3] = out[4] = out[5] = 0.0
    out[6] = 1.0
    for b in range(bar_x.size):
        down = edge - (bar_x[b] * nx + bar_z[b] * nz)
        sigma = modulus * strain * (down - depth) / depth
        force = bar_area[b] * min(max(sigma, -yield_stress), yield_stress)
        out[3] += force
        out[4] += force * bar_x[b]
        out[5] += force * bar_z[b]


@njit(cache=True, error_model="numpy")
def misfit(section, bars, block, steel, nx, nz, edge, depth, part, out, moment):
    """Return what the neutral axis must bring to zero: C - T, or with a moment to reach M / moment - 1.

    With a moment the steel is scaled to balance the concrete; T and its moments are scaled with it.
    """
    forces_at(section, bars, block, steel, nx, nz, edge, depth, part, out)
    if moment == 0.0:
        return out[0] - out[3]
    out[6] = out[0] / out[3]
    out[3] *= out[6]
    out[4] *= out[6]
    out[5] *= out[6]
    sign = 1.0 if nz > 0.0 else -1.0
    return sign * (out[2] - out[5]) / moment - 1.0


@njit(cache=True, error_model="numpy")
def neutral_depth(section, bars, block, steel, nx, nz, edge, low, high, part, out, moment):
    """Find the depth of the neutral axis between ``low`` and ``high`` by the Illinois rule."""
    a, b = low, high
    fb = misfit(section, bars, block, steel, nx, nz, edge, b, part, out, moment)
    if not fb > 0.0:
        return b
    fa = misfit(section, bars, block, steel, nx, nz, edge, a, part, out, moment)
    if fa > 0.0:
        return a
    side = 0
    for step in range(100):
        c = (fa * b - fb * a) / (fa - fb) if step % 3 != 2 else 0.5 * (a + b)
        fc = misfit(section, bars, block, steel, nx, nz, edge, c, part, out, moment)
        if fc > 0.0:
            fa = 0.5 * fa if side == 1 else fa
            b, fb, side = c, fc, 1
        else:
            fb = 0.5 * fb if side == -1 else fb
            a, fa, side = c, fc, -1
        if b - a < 1e-13 * high or fc == 0.0:
            return c
    return 0.5 * (a + b)


@njit(cache=True, error_model="numpy")
def at_angle(section, bars, block, steel, angle, sign, part, out, moment):
    """Solve the neutral axis at one inclination; return its depth, the effective depth and the limit depth.

    The limit depth is where the centroid of the bars just yields.
    """
    x, z, first, second, t = section[0], section[1], section[2], section[3], section[4]
    bar_x, bar_z, bar_area = bars
    nx, nz = sign * np.sin(angle), sign * np.cos(angle)
    edge, other = -np.inf, np.inf
    for e in range(first.size):
        i, j = first[e], second[e]
        dx, dz = x[j] - x[i], z[j] - z[i]
        across = 0.5 * t[e] * abs(dx * nz - dz * nx) / np.sqrt(dx * dx + dz * dz)
        a, b = x[i] * nx + z[i] * nz, x[j] * nx + z[j] * nz
        edge, other = max(edge, max(a, b) + across), min(other, min(a, b) - across)
    total = down = 0.0
    for b in range(bar_x.size):
        total += bar_area[b]
        down += bar_area[b] * (edge - bar_x[b] * nx - bar_z[b] * nz)
    effective = down / total
    limit = effective * block[2] / (block[2] + steel[0] / steel[1])
    high = limit if moment > 0.0 else 2.0 * (edge - other) / block[0]
    low = 1e-6 * (edge - other)
    depth = neutral_depth(section, bars, block, steel, nx, nz, edge, low, high, part, out, moment)
    misfit(section, bars, block, steel, nx, nz, edge, depth, part, out, moment)
    return depth, effective, limit


@njit(cache=True, error_model="numpy")
def lean(section, bars, block, steel, angle, sign, part, out, moment):
    """Sideways distance of the compression resultant from the tension resultant."""
    at_angle(section, bars, block, steel, angle, sign, part, out, moment)
    return out[1] / out[0] - out[4] / out[3]


@njit(cache=True, error_model="numpy")
def balanced_angle(section, bars, block, steel, sign, width, part, out, moment):
    """Inclination at which compression stands above tension, so that no sideways moment is left."""
    a, fa = 0.0, lean(section, bars, block, steel, 0.0, sign, part, out, moment)
    if abs(fa) <= 1e-9 * width:
        return 0.0
    step = -0.15 if fa * sign > 0.0 else 0.15
    b, fb = a, fa
    while fa * fb > 0.0 and abs(b) < STEEPEST:
        a, fa = b, fb
        b += step
        fb = lean(section, bars, block, steel, b, sign, part, out, moment)
    if fa * fb > 0.0 or np.isnan(fb):
        return np.nan
    side = 0
    for _ in range(60):
        c = (fa * b - fb * a) / (fa - fb)
        fc = lean(section, bars, block, steel, c, sign, part, out, moment)
        if fc * fb > 0.0:
            fa = 0.5 * fa if side == 1 else fa
            b, fb, side = c, fc, 1
        else:
            fb = 0.5 * fb if side == -1 else fb
            a, fa, side = c, fc, -1
        if abs(fc) <= 1e-9 * width:
            return c
    return c


@njit(cache=True, error_model="numpy")
def cracked_row(section, bars, block, steel, sign, held, part, forces, moment, out):
    """Fill ``out`` (CRACKED_FIELDS,): moment, C, arm, depth, d, limit depth, angle, steel area."""
    x, t = section[0], section[4]
    if not usable(x, section[1], section[2], section[3], t) or np.isnan(moment) or np.isnan(bars[2].sum()):
        out[:] = np.nan
        return
    angle = 0.0
    if not held:
        reach = max(x.max() - x.min(), section[1].max() - section[1].min())
        angle = balanced_angle(section, bars, block, steel, sign, reach, part, forces, moment)
    depth, effective, limit = at_angle(section, bars, block, steel, angle, sign, part, forces, moment)
    compression, total = forces[0], 0.0
    reached = sign * (forces[2] - forces[5])
    for b in range(bars[2].size):
        total += bars[2][b]
    out[0], out[1], out[2] = reached, compression, reached / compression
    out[3], out[4], out[5], out[6] = depth, effective, limit, angle
    # beyond the limit depth steel does not help; the figure grows on so that the search sees a slope
    out[7] = forces[6] * total * (max(moment / reached, 1.0) if moment > 0.0 else 1.0)


@njit(cache=True, error_model="numpy")
def cracked_rows(x, z, first, second, t, bar_x, bar_z, bar_area, block, steel, sign, held, moments, out):
    """Run `cracked_row` over candidates; ``moments`` (N,): 0 for the resistance of the bars given."""
    px, pz, part, forces = np.empty(4), np.empty(4), np.empty(3), np.empty(7)
    for c in range(x.shape[0]):
        section = (x[c], z[c], first, second, t[c], px, pz)
        bars = (bar_x[c], bar_z[c], bar_area[c])
        cracked_row(section, bars, block, steel, sign, held, part, forces, moments[c], out[c])


@njit(cache=True, error_model="numpy")
def fill_row(x, z, first, second, t, doubled, edge, sign, rules, depth, bar_x, bar_z, bar_area):
    """Fill every strip with bars up to ``depth`` from the tension edge; return their area.

    ``rules`` = (cover, mesh, bar, clear).
    """
    cover, mesh, bar, clear = rules
    one = 0.25 * np.pi * bar * bar
    inset = cover + mesh + 0.5 * bar
    start = inset - 0.5 * (bar + clear)  # so that the first layer lies at the inset
    total = 0.0
    for e in range(first.size):
        i, j = first[e], second[e]
        length = np.sqrt((x[j] - x[i]) ** 2 + (z[j] - z[i]) ** 2)
        a, b = sign * (z[i] - edge), sign * (z[j] - edge)
        low, high = min(a, b), max(a, b)
        bare = min(max((start - low) / (high - low), 0.0), 1.0) if high > low else 0.0
        upto = 1.0 if high <= depth else (0.0 if low >= depth else (depth - low) / (high - low))
        share = max(upto - bare, 0.0)
        whole = 2.0 * t[e] if doubled[e] else t[e]
        rows = np.floor((whole - 2.0 * (cover + mesh) + clear) / (bar + clear) + 1e-9)
        centre = bare + 0.5 * share
        middle = centre if a <= b else 1.0 - centre
        bar_x[e] = x[i] + middle * (x[j] - x[i])
        bar_z[e] = edge + sign * max(low + centre * (high - low), inset)
        fits = rows >= 1.0 and share > 0.0
        half = 0.5 if doubled[e] else 1.0
        bar_area[e] = half * share * length * rows * one / (bar + clear) if fits else 0.0
        total += bar_area[e]
    return total


@njit(cache=True, error_model="numpy")
def gather_row(x, z, first, second, t, doubled, edge, height, sign, rules, wanted, bar_x, bar_z, bar_area):
    """Lay bars of area ``wanted`` into the section from its tension edge up; return the depth they take."""
    low, high = 0.0, height
    for _ in range(50):
        middle = 0.5 * (low + high)
        if (
            fill_row(x, z, first, second, t, doubled, edge, sign, rules, middle, bar_x, bar_z, bar_area)
            < wanted
        ):
            low = middle
        else:
            high = middle
    total = fill_row(x, z, first, second, t, doubled, edge, sign, rules, high, bar_x, bar_z, bar_area)
    if total > 0.0:
        for e in range(first.size):
            bar_area[e] *= wanted / total
        return high
    # no room anywhere: all in one line at the inset, under the lowest strip
    nearest = 0
    for e in range(first.size):
        here = sign * (z[first[e]] + z[second[e]])
        nearest = e if here < sign * (z[first[nearest]] + z[second[nearest]]) else nearest
    bar_area[nearest] = wanted
    bar_z[nearest] = edge + sign * (rules[0] + rules[1] + 0.5 * rules[2])
    return np.inf


@njit(cache=True, error_model="numpy")
def gather_rows(
    x, z, first, second, t, doubled, edges, heights, sign, rules, wanted, bar_x, bar_z, bar_area, out
):
    """Run `gather_row` over candidates."""
    for c in range(x.shape[0]):
        if np.isnan(edges[c]) or np.isnan(wanted[c]) or not usable(x[c], z[c], first, second, t[c]):
            bar_x[c], bar_z[c], bar_area[c], out[c] = np.nan, np.nan, np.nan, np.nan
            continue
        out[c] = gather_row(
            x[c], z[c], first, second, t[c], doubled, edges[c], heights[c], sign, rules, wanted[c],
            bar_x[c], bar_z[c], bar_area[c],
        )  # fmt: skip
