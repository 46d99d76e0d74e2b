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

WIDE = 1024.0
"""Ratio of the ends of the first bracket."""


@register_jitable(error_model="numpy")
def _stable(elastic: Any, geometric: Any, factors: Any, work: Any, band: Any) -> int:
    """Count the leading ones of rising ``factors`` at which elastic - factor geometric is positive definite.

    It is where all pivots of LDL^T are above 0 (Sylvester). All arrays have ``band`` spare rows.
    """
    size = geometric.shape[0] - band
    held, over, share = np.ones(LANES), np.empty(LANES), np.empty(LANES)
    for i in range(size + band):
        for v in range(band + 1):
            for q in range(LANES):
                work[i, v, q] = elastic[i, v] - factors[q] * geometric[i, v]
    for i in range(size):
        for q in range(LANES):
            held[q] = held[q] if work[i, 0, q] > 0.0 else 0.0
            over[q] = 1.0 / work[i, 0, q]
        for v in range(1, band + 1):
            for q in range(LANES):
                share[q] = work[i, v, q] * over[q]
            for w in range(v, band + 1):
                for q in range(LANES):
                    work[i + v, w - v, q] -= share[q] * work[i, w, q]
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
def _geometric(g: Any, c: Any, s: Any, scale: Any, b: Any, first: Any, second: Any, bending: Any) -> None:
    """Fill the geometric stiffness (8, 8) of one strip; formulas as `stability.strip_geometric`."""
    g[:] = 0.0
    for i in range(2):
        for j in range(2):
            near, far = (3.0, 1.0) if i == j == 0 else (1.0, 3.0) if i == j == 1 else (1.0, 1.0)
            g[4 * i, 4 * j] = g[4 * i + 1, 4 * j + 1] = scale * (near * first + far * second) / 12.0
            for p in range(2):
                for q in range(2):
                    value = (
                        first * bending[0, 2 * i + p, 2 * j + q] + second * bending[1, 2 * i + p, 2 * j + q]
                    )
                    g[4 * i + 2 + p, 4 * j + 2 + q] = scale * value * b ** (p + q)
    for i in (0, 4):  # turn (u, w) to (x, z): rows, then columns
        for j in range(8):
            g[i, j], g[i + 2, j] = c * g[i, j] - s * g[i + 2, j], s * g[i, j] + c * g[i + 2, j]
        for j in range(8):
            g[j, i], g[j, i + 2] = c * g[j, i] - s * g[j, i + 2], s * g[j, i] + c * g[j, i + 2]


@register_jitable(error_model="numpy")
def _bands(
    elastic: Any, geometric: Any, g: Any, x: Any, z: Any, t: Any, ends: Any, pressed: Any, bending: Any,
    entry: Any, spring: Any, link: Any, link_entry: Any, k: Any, modulus: Any, poisson: Any, band: Any,
    rows: Any, columns: Any,
) -> None:  # fmt: skip
    """Assemble both bands (size + band, band + 1) for one wave number; a held freedom stands alone."""
    elastic[:] = 0.0
    geometric[:] = 0.0
    for n in range(entry.shape[0]):
        dx, dz = x[ends[n, 1]] - x[ends[n, 0]], z[ends[n, 1]] - z[ends[n, 0]]
        b = np.sqrt(dx * dx + dz * dz)
        c, s = dx / b, dz / b
        values = strip_stiffness(c, s, b, t[n], k, modulus, poisson)
        _geometric(g, c, s, t[n] * b * k * k, b, pressed[n, 0], pressed[n, 1], bending)
        for v in range(36):
            i, j = entry[n, v, 0], entry[n, v, 1]
            elastic[i, j] += values[v]
            geometric[i, j] += g[rows[v], columns[v]]
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


@njit(nogil=True, cache=True, error_model="numpy")
def lowest_loops(
    x: Any, z: Any, t: Any, ends: Any, pressed: Any, bending: Any, entry: Any, spring: Any, link: Any,
    link_entry: Any, waves: Any, modulus: Any, poisson: Any, band: Any, rows: Any, columns: Any,
    accuracy: Any, first: Any, most: Any, factor: Any, where: Any,
) -> None:  # fmt: skip
    """Fill the lowest factor of each design over the wave numbers, and which of them gives it (-1: none)."""
    size = spring.shape[1]
    elastic = np.zeros((size + band, band + 1))
    geometric = np.zeros((size + band, band + 1))
    work = np.empty((size + band, band + 1, LANES))
    alone, g = np.empty((size + band, band + 1)), np.empty((8, 8))
    for d in range(x.shape[0]):
        best, guess = most[d], first
        where[d] = -1
        for h in range(waves.size):
            _bands(
                elastic, geometric, g, x[d], z[d], t[d], ends, pressed[d], bending, entry, spring[d],
                link[d], link_entry, waves[h], modulus, poisson, band, rows, columns,
            )  # fmt: skip
            found = _lowest_below(elastic, geometric, work, alone, band, best, guess, accuracy)
            if found < best:
                best, guess, where[d] = found, found, h
            elif np.isnan(found):
                best = found
                break
        factor[d] = np.inf if best == MOST else best
