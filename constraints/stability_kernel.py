"""Compiled search for the lowest buckling load: signs of pivots of a banded matrix, no eigenvectors."""

from collections.abc import Callable
from functools import cache
from importlib import import_module
from importlib.util import find_spec
from typing import Any

import numpy as np

from longvault.constraints.plates_kernel import strip_stiffness

MOST = 1e12
"""A factor above this counts as none: nothing is compressed."""


def _stable(elastic: Any, geometric: Any, factor: Any, work: Any, band: Any) -> bool:
    """Say whether elastic - factor geometric is positive definite: pivots of LDL^T above 0 (Sylvester)."""
    size = geometric.shape[0]
    for i in range(size):
        for v in range(band + 1):
            work[i, v] = elastic[i, v] - factor * geometric[i, v]
    for i in range(size):
        pivot = work[i, 0]
        if not pivot > 0.0:
            return False
        for v in range(1, min(band + 1, size - i)):
            share = work[i, v] / pivot
            for w in range(v, min(band + 1, size - i)):
                work[i + v, w - v] -= share * work[i, w]
    return True


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


def _bands(
    elastic: Any, geometric: Any, g: Any, x: Any, z: Any, t: Any, ends: Any, pressed: Any, bending: Any,
    entry: Any, spring: Any, k: Any, modulus: Any, poisson: Any, band: Any, rows: Any, columns: Any,
) -> None:  # fmt: skip
    """Assemble both bands (size, band + 1) for one wave number; a held degree of freedom stands alone."""
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
    for i in range(spring.size):
        if spring[i] < np.inf:
            elastic[i, 0] += spring[i]
            continue
        for v in range(band + 1):
            elastic[i, v], geometric[i, v] = 0.0, 0.0
        for v in range(1, min(band, i) + 1):
            elastic[i - v, v], geometric[i - v, v] = 0.0, 0.0
        elastic[i, 0] = 1.0


def _bracketed(
    elastic: Any, geometric: Any, work: Any, band: Any, best: Any, guess: Any, accuracy: Any
) -> Any:
    """Return the largest factor below ``best`` that is still stable, by doubling and halving."""
    high, low = best, min(guess, 0.5 * best)
    while not _stable(elastic, geometric, low, work, band):
        high, low = low, 0.5 * low
    while high > 2.0 * low and _stable(elastic, geometric, 2.0 * low, work, band):
        low = 2.0 * low
    high = min(high, 2.0 * low)
    while high - low > accuracy * low:
        middle = 0.5 * (low + high)
        if _stable(elastic, geometric, middle, work, band):
            low = middle
        else:
            high = middle
    return low


def _lowest_loops(
    x: Any, z: Any, t: Any, ends: Any, pressed: Any, bending: Any, entry: Any, spring: Any, waves: Any,
    modulus: Any, poisson: Any, band: Any, rows: Any, columns: Any, accuracy: Any, first: Any, factor: Any,
    where: Any,
) -> None:  # fmt: skip
    """Fill the lowest factor of each design over the wave numbers, and which of them gives it (-1: none)."""
    size = spring.shape[1]
    elastic, geometric, work = np.empty((3, size, band + 1))
    g = np.empty((8, 8))
    for d in range(x.shape[0]):
        best, guess = MOST, first
        where[d] = -1
        for h in range(waves.size):
            _bands(
                elastic, geometric, g, x[d], z[d], t[d], ends, pressed[d], bending, entry, spring[d],
                waves[h], modulus, poisson, band, rows, columns,
            )  # fmt: skip
            if not _stable(elastic, geometric, 0.0, work, band):
                best = np.nan
                break
            if _stable(elastic, geometric, best, work, band):
                continue
            best = _bracketed(elastic, geometric, work, band, best, guess, accuracy)
            guess, where[d] = best, h
        factor[d] = np.inf if best == MOST else best


@cache
def compiled() -> Callable[..., None]:
    """Compile `_lowest_loops` (kept on disk); without numba the same loops run as plain Python."""
    if find_spec("numba") is None:
        return _lowest_loops
    numba = import_module("numba")
    for part in (strip_stiffness, _stable, _geometric, _bands, _bracketed):
        numba.extending.register_jitable(error_model="numpy")(part)
    kernel: Callable[..., None] = numba.njit(nogil=True, cache=True, error_model="numpy")(_lowest_loops)
    return kernel
