"""Solve many folded-plate systems side by side, compiled and in threads."""

from concurrent.futures import ThreadPoolExecutor

import numpy as np

from longvault.constraints.plates_kernel import DOFS, LANES, Lanes, solve_loops
from longvault.sections.symbols import Array

SHARE = 4 * LANES
"""Systems that a thread takes at a time: small enough that none waits long for another."""


def solve_lanes(lanes: Lanes, threads: int = 1) -> Array:
    """Solve every lane: amplitudes of displacement (cases, designs, harmonics, n, 4) [m, rad]."""
    count = lanes.wave.size
    harmonics, designs = lanes.wave.shape
    out = np.empty((len(lanes.load), designs, harmonics, lanes.inside.size, DOFS))
    if threads == 1:
        solve_loops(*lanes, out, 0, count)
        return out
    starts = range(0, count, SHARE)
    with ThreadPoolExecutor(threads) as pool:
        list(pool.map(lambda low: solve_loops(*lanes, out, low, min(low + SHARE, count)), starts))
    return out
