"""Compiled search for the lowest buckling load: signs of pivots of a banded matrix, no eigenvectors."""

from typing import Any

import numpy as np
from numba import njit
from numba.extending import register_jitable

from longvault.constraints.plates_kernel import strip_stiffness

MOST = 1e12
"""A factor above this counts as none: nothing is compressed."""


LANES = 8
"""Factors looked at side by side: one instruction serves them all."""

SIDES = 32
"""Designs looked at side by side."""

WIDE = 1024.0
"""Ratio of the ends of the first bracket."""

# Integrals over a strip of N_j N_i N_k and N_j H_i H_k (N linear, H Hermite of unit width) by Gauss's rule
# of four points, exact for these polynomials of degree 7.
_POINT, _WEIGHT = np.polynomial.legendre.leggauss(4)
_R, _W = 0.5 * (_POINT + 1.0), 0.5 * _WEIGHT
_N = np.stack([1.0 - _R, _R])
_H = np.stack([1 - 3 * _R**2 + 2 * _R**3, _R - 2 * _R**2 + _R**3, 3 * _R**2 - 2 * _R**3, _R**3 - _R**2])
MEMBRANE = np.einsum("p,jp,ip,kp->jik", _W, _N, _N, _N)
BENDING = np.einsum("p,jp,ip,kp->jik", _W, _N, _H, _H)
FIRST, SECOND = (tuple(map(tuple, one.tolist())) for one in BENDING)
"""`BENDING` as the compiler takes numbers that never change."""


@register_jitable(error_model="numpy")
def _eliminated(work: Any, held: Any, share: Any, size: Any, band: Any) -> None:
    """Eliminate side by side; ``held`` (lanes,) becomes 0 where a pivot is not above 0."""
    lanes = work.shape[2]
    over = np.empty(lanes)
    held[:] = 1.0
    for i in range(size):
        for q in range(lanes):
            held[q] = held[q] if work[i, 0, q] > 0.0 else 0.0
            over[q] = 1.0 / work[i, 0, q]
        for v in range(1, band + 1):
            for q in range(lanes):
                share[q] = work[i, v, q] * over[q]
            for w in range(v, band + 1):
                for q in range(lanes):
                    work[i + v, w - v, q] -= share[q] * work[i, w, q]


@register_jitable(error_model="numpy")
def _stable(elastic: Any, geometric: Any, factors: Any, work: Any, band: Any) -> int:
    """Count the leading ones of rising ``factors`` at which elastic - factor geometric is positive definite.

    It is where all pivots of LDL^T are above 0 (Sylvester). All arrays have ``band`` spare rows.
    """
    size = geometric.shape[0] - band
    held, share = np.empty(LANES), np.empty(LANES)
    for i in range(size + band):
        for v in range(band + 1):
            for q in range(LANES):
                work[i, v, q] = elastic[i, v] - factors[q] * geometric[i, v]
    _eliminated(work, held, share, size, band)
    count = 0
    while count < LANES and held[count] > 0.0:
        count += 1
    return count


@register_jitable(error_model="numpy")
def _holds(elastic: Any, geometric: Any, factor: Any, alone: Any, band: Any) -> bool:
    """Say whether elastic - factor geometric is positive definite; ``alone`` is room for one band."""
    size = geometric.shape[0] - band
    for i in range(size + band):
        for v in range(band + 1):
            alone[i, v] = elastic[i, v] - factor * geometric[i, v]
    for i in range(size):
        if not alone[i, 0] > 0.0:
            return False
        over = 1.0 / alone[i, 0]
        for v in range(1, band + 1):
            share = alone[i, v] * over
            for w in range(v, band + 1):
                alone[i + v, w - v] -= share * alone[i, w]
    return True


@register_jitable(error_model="numpy")
def strip_pressed(c: Any, s: Any, b: Any, scale: Any, first: Any, second: Any) -> Any:
    """Return the upper triangle (36 values) of one strip's geometric stiffness, ordered as `strip_stiffness`.

    ``scale`` is t b k^2; formulas as `stability.strip_geometric`, turned from (u, w) to (x, z).
    """
    u1, u2, u3 = (3.0 * first + second) / 12.0, (first + second) / 12.0, (first + 3.0 * second) / 12.0
    w1 = first * FIRST[0][0] + second * SECOND[0][0]
    w2 = first * FIRST[0][2] + second * SECOND[0][2]
    w3 = first * FIRST[2][2] + second * SECOND[2][2]
    a11 = (first * FIRST[0][1] + second * SECOND[0][1]) * b
    a12 = (first * FIRST[0][3] + second * SECOND[0][3]) * b
    a21 = (first * FIRST[2][1] + second * SECOND[2][1]) * b
    a22 = (first * FIRST[2][3] + second * SECOND[2][3]) * b
    r1 = (first * FIRST[1][1] + second * SECOND[1][1]) * b * b
    r2 = (first * FIRST[1][3] + second * SECOND[1][3]) * b * b
    r3 = (first * FIRST[3][3] + second * SECOND[3][3]) * b * b
    cc, ss, cs, o = scale * c * c, scale * s * s, scale * c * s, 0.0 * scale
    c, s = scale * c, scale * s
    return (
        *(cc * u1 + ss * w1, o, cs * (u1 - w1), -s * a11, cc * u2 + ss * w2, o, cs * (u2 - w2), -s * a12),
        *(scale * u1, o, o, o, scale * u2, o, o),
        *(ss * u1 + cc * w1, c * a11, cs * (u2 - w2), o, ss * u2 + cc * w2, c * a12),
        *(scale * r1, -s * a21, o, c * a21, scale * r2),
        *(cc * u3 + ss * w3, o, cs * (u3 - w3), -s * a22),
        *(scale * u3, o, o),
        *(ss * u3 + cc * w3, c * a22),
        scale * r3,
    )


@register_jitable(error_model="numpy")
def _bands(
    elastic: Any, geometric: Any, x: Any, z: Any, t: Any, ends: Any, pressed: Any,
    entry: Any, spring: Any, link: Any, link_entry: Any, k: Any, modulus: Any, poisson: Any, band: Any,
) -> None:  # fmt: skip
    """Assemble both bands (size + band, band + 1) for one wave number; a held freedom stands alone."""
    elastic[:] = 0.0
    geometric[:] = 0.0
    for n in range(entry.shape[0]):
        dx, dz = x[ends[n, 1]] - x[ends[n, 0]], z[ends[n, 1]] - z[ends[n, 0]]
        b = np.sqrt(dx * dx + dz * dz)
        c, s = dx / b, dz / b
        values = strip_stiffness(c, s, b, t[n], k, modulus, poisson)
        g = strip_pressed(c, s, b, t[n] * b * k * k, pressed[n, 0], pressed[n, 1])
        for v in range(36):
            i, j = entry[n, v, 0], entry[n, v, 1]
            elastic[i, j] += values[v]
            geometric[i, j] += g[v]
    for n in range(link_entry.shape[0]):
        for v in range(10):
            elastic[link_entry[n, v, 0], link_entry[n, v, 1]] += link[v, n]
    for i in range(spring.size):
        if spring[i] < np.inf:
            elastic[i, 0] += spring[i]
            continue
        for v in range(band + 1):
            elastic[i, v], geometric[i, v] = 0.0, 0.0
        for v in range(1, min(band, i) + 1):
            elastic[i - v, v], geometric[i - v, v] = 0.0, 0.0
        elastic[i, 0] = 1.0


@register_jitable(error_model="numpy")
def _lowest_below(
    elastic: Any, geometric: Any, work: Any, alone: Any, band: Any, best: Any, guess: Any, accuracy: Any
) -> Any:
    """Return the largest factor below ``best`` that is stable; ``best`` itself if it is, NaN if none is."""
    if _holds(elastic, geometric, best, alone, band):
        return best
    factors = np.empty(LANES)
    low, high = guess / np.sqrt(WIDE), min(guess * np.sqrt(WIDE), 0.999 * best)
    while True:
        factors[0], factors[LANES - 1] = 0.0, best
        for q in range(1, LANES - 1):
            factors[q] = low * (high / low) ** ((q - 1) / (LANES - 3.0))
        count = _stable(elastic, geometric, factors, work, band)
        if count == 0 or low < 1.0 / MOST:
            return np.nan
        if count == LANES:
            return best
        if 1 < count < LANES - 1:
            low, high = factors[count - 1], factors[count]
            break
        if count == 1:
            low, high = low / WIDE, low
        elif high >= 0.999 * best:
            low, high = high, best
            break
        else:
            low, high = high, min(WIDE * high, 0.999 * best)
    while high - low > accuracy * low:
        for q in range(LANES):
            factors[q] = low * (high / low) ** ((q + 1.0) / (LANES + 1.0))
        count = _stable(elastic, geometric, factors, work, band)
        if count < LANES:
            high = factors[count]
        if count > 0:
            low = factors[count - 1]
    return low


@register_jitable(error_model="numpy")
def _side_by_side(
    work: Any, m: Any, own: Any, start: Any, x: Any, z: Any, t: Any, ends: Any, pressed: Any, entry: Any,
    link: Any, link_entry: Any, k: Any, modulus: Any, poisson: Any, most: Any,
) -> None:  # fmt: skip
    """Assemble elastic - most geometric of `SIDES` designs from ``start``; after the last it stands again."""
    last = x.shape[0] - 1
    work[:] = 0.0
    for n in range(entry.shape[0]):
        for q in range(SIDES):
            d = min(start + q, last)
            own[0, q] = x[d, ends[n, 1]] - x[d, ends[n, 0]]
            own[1, q] = z[d, ends[n, 1]] - z[d, ends[n, 0]]
            own[2, q], own[3, q], own[4, q], own[5, q] = t[d, n], pressed[d, n, 0], pressed[d, n, 1], most[d]
        for q in range(SIDES):
            dx, dz, thick, factor = own[0, q], own[1, q], own[2, q], own[5, q]
            b = np.sqrt(dx * dx + dz * dz)
            c, s = dx / b, dz / b
            values = strip_stiffness(c, s, b, thick, k, modulus, poisson)
            less = strip_pressed(c, s, b, factor * thick * b * k * k, own[3, q], own[4, q])
            for v in range(36):
                m[v, q] = values[v] - less[v]
        for v in range(36):
            i, j = entry[n, v, 0], entry[n, v, 1]
            for q in range(SIDES):
                work[i, j, q] += m[v, q]
    for n in range(link_entry.shape[0]):
        for v in range(10):
            for q in range(SIDES):
                work[link_entry[n, v, 0], link_entry[n, v, 1], q] += link[min(start + q, last), v, n]


@register_jitable(error_model="numpy")
def _held(work: Any, start: Any, spring: Any, supported: Any, band: Any) -> None:
    """Add springs at the freedoms ``supported``; one that is held fast stands alone."""
    last = spring.shape[0] - 1
    for i in supported:
        for q in range(SIDES):
            stiffness = spring[min(start + q, last), i]
            if stiffness < np.inf:
                work[i, 0, q] += stiffness
                continue
            for v in range(band + 1):
                work[i, v, q] = 0.0
            for v in range(1, min(band, i) + 1):
                work[i - v, v, q] = 0.0
            work[i, 0, q] = 1.0


@njit(nogil=True, cache=True, error_model="numpy")
def stable_loops(
    x: Any, z: Any, t: Any, ends: Any, pressed: Any, entry: Any, spring: Any, link: Any, link_entry: Any,
    waves: Any, modulus: Any, poisson: Any, band: Any, most: Any, supported: Any, stable: Any,
) -> None:  # fmt: skip
    """Fill ``stable`` (D, H): whether each design stands the factor ``most`` (D,) at each wave number.

    Designs stand side by side, each by the same operations whatever stands beside it. ``supported``:
    freedoms with a spring.
    """
    size = spring.shape[1]
    work = np.empty((size + band, band + 1, SIDES))
    m, own = np.empty((36, SIDES)), np.empty((6, SIDES))
    held, share = np.empty(SIDES), np.empty(SIDES)
    for start in range(0, x.shape[0], SIDES):
        for h in range(waves.size):
            _side_by_side(
                work, m, own, start, x, z, t, ends, pressed, entry, link, link_entry, waves[h], modulus,
                poisson, most,
            )  # fmt: skip
            _held(work, start, spring, supported, band)
            _eliminated(work, held, share, size, band)
            for q in range(min(SIDES, x.shape[0] - start)):
                stable[start + q, h] = held[q] > 0.0


@njit(nogil=True, cache=True, error_model="numpy")
def lowest_loops(
    x: Any, z: Any, t: Any, ends: Any, pressed: Any, entry: Any, spring: Any, link: Any,
    link_entry: Any, waves: Any, modulus: Any, poisson: Any, band: Any, most: Any, stable: Any, accuracy: Any,
    first: Any, factor: Any, where: Any,
) -> None:  # fmt: skip
    """Fill the lowest factor of each design over the wave numbers, and which of them gives it (-1: none).

    Wave numbers that are ``stable`` (D, H) at ``most`` (D,) are so at any factor below: passed over.
    """
    size = spring.shape[1]
    elastic = np.zeros((size + band, band + 1))
    geometric = np.zeros((size + band, band + 1))
    work = np.empty((size + band, band + 1, LANES))
    alone = np.empty((size + band, band + 1))
    for d in range(x.shape[0]):
        best, guess = most[d], first
        where[d] = -1
        for h in range(waves.size):
            if stable[d, h]:
                continue
            _bands(
                elastic, geometric, x[d], z[d], t[d], ends, pressed[d], entry, spring[d],
                link[d], link_entry, waves[h], modulus, poisson, band,
            )  # fmt: skip
            found = _lowest_below(elastic, geometric, work, alone, band, best, guess, accuracy)
            if found < best:
                best, guess, where[d] = found, found, h
            elif np.isnan(found):
                best = found
                break
        factor[d] = np.inf if best == MOST else best
