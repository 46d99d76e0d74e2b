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


def _bands(
    elastic: Any, geometric: Any, c: Any, s: Any, b: Any, t: Any, shape: Any, entry: Any, spring: Any,
    k: Any, modulus: Any, poisson: Any, band: Any,
) -> None:  # fmt: skip
    """Assemble both bands (size, band + 1) for one wave number; a held degree of freedom stands alone."""
    elastic[:] = 0.0
    geometric[:] = 0.0
    for n in range(entry.shape[0]):
        values = strip_stiffness(c[n], s[n], b[n], t[n], k, modulus, poisson)
        for v in range(36):
            i, j = entry[n, v, 0], entry[n, v, 1]
            elastic[i, j] += values[v]
            geometric[i, j] += k * k * shape[n, v]
    for i in range(spring.size):
        if spring[i] < np.inf:
            elastic[i, 0] += spring[i]
            continue
        for v in range(band + 1):
            elastic[i, v], geometric[i, v] = 0.0, 0.0
        for v in range(1, min(band, i) + 1):
            elastic[i - v, v], geometric[i - v, v] = 0.0, 0.0
        elastic[i, 0] = 1.0


def _lowest_loops(
    c: Any, s: Any, b: Any, t: Any, shape: Any, entry: Any, spring: Any, waves: Any, modulus: Any,
    poisson: Any, band: Any, accuracy: Any, guess: Any,
) -> tuple[float, int]:  # fmt: skip
    """Return the lowest factor over the wave numbers and which of them gives it."""
    elastic = np.empty((spring.size, band + 1))
    geometric = np.empty((spring.size, band + 1))
    work = np.empty((spring.size, band + 1))
    best, where = MOST, -1
    for h in range(waves.size):
        _bands(elastic, geometric, c, s, b, t, shape, entry, spring, waves[h], modulus, poisson, band)
        if not _stable(elastic, geometric, 0.0, work, band):
            return np.nan, -1
        if _stable(elastic, geometric, best, work, band):
            continue
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
        best, where, guess = low, h, low
    return (np.inf if where < 0 else best), where


@cache
def compiled() -> Callable[..., tuple[float, int]]:
    """Compile `_lowest_loops` (kept on disk); without numba the same loops run as plain Python."""
    if find_spec("numba") is None:
        return _lowest_loops
    numba = import_module("numba")
    for part in (strip_stiffness, _stable, _bands):
        numba.extending.register_jitable(error_model="numpy")(part)
    kernel: Callable[..., tuple[float, int]] = numba.njit(nogil=True, cache=True, error_model="numpy")(
        _lowest_loops
    )
    return kernel
