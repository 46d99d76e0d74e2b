"""Solve many folded-plate systems side by side: compiled and in threads, or by the plain twin."""

from concurrent.futures import ThreadPoolExecutor

import numpy as np

from longvault.constraints.plates_kernel import DOFS, LANES, Lanes, compiled, strip_stiffness
from longvault.sections.symbols import Array

SHARE = 4 * LANES
"""Systems that a thread takes at a time: small enough that none waits long for another."""


def solve_lanes(lanes: Lanes, threads: int = 1) -> Array:
    """Solve every lane: amplitudes of displacement (cases, designs, harmonics, n, 4).

    Uses the compiled solver where numba is installed, else the twin; both give the same bits.
    """
    solver = compiled()
    if solver is None:
        return solve_arrays(lanes)
    count = lanes.wave.size
    harmonics, designs = lanes.wave.shape
    out = np.empty((len(lanes.load), designs, harmonics, lanes.inside.size, DOFS))
    if threads == 1:
        solver(*lanes, out, 0, count)
        return out
    starts = range(0, count, SHARE)
    with ThreadPoolExecutor(threads) as pool:
        list(pool.map(lambda low: solver(*lanes, out, low, min(low + SHARE, count)), starts))
    return out


def solve_arrays(lanes: Lanes) -> Array:
    """Solve every lane with whole-array steps: the plain twin of `solve_lanes`, bit for bit."""
    harmonics, designs = lanes.wave.shape
    cases, _, nodes, _ = lanes.load.shape
    size = DOFS * nodes
    y = np.zeros((size + lanes.band, cases, harmonics * designs))
    load = lanes.load[:, :, lanes.inside].reshape(cases, designs, size).transpose(2, 0, 1)
    y[:size] = np.tile(load, (1, 1, harmonics))
    with np.errstate(all="ignore"):
        a = _bands(lanes)
        _hold_arrays(a, y, lanes, harmonics)
        _eliminate_arrays(a, y, size, lanes.band)
    out = np.empty((cases, designs, harmonics, size // DOFS, DOFS))
    found = y[:size].reshape(-1, DOFS, cases, harmonics, designs) * lanes.amplitude[:, None]
    out[:, :, :, lanes.inside] = found.transpose(2, 4, 3, 0, 1)
    return out


def _bands(lanes: Lanes) -> Array:
    """Assemble the bands of all lanes, with as many zeros beside (see `_eliminate_arrays`)."""
    harmonics, designs = lanes.wave.shape
    strips, count = len(lanes.ends), harmonics * designs
    a = np.zeros((DOFS * len(lanes.inside) + lanes.band, 2 * lanes.band + 1, count))
    first, second = lanes.ends.T
    dx, dz = ((v[:, second] - v[:, first]).T[:, None] for v in (lanes.x, lanes.z))
    b, t = np.sqrt(dx * dx + dz * dz), lanes.thickness.T[:, None]
    values = strip_stiffness(dx / b, dz / b, b, t, lanes.wave, lanes.modulus, lanes.poisson)
    m = np.stack([np.broadcast_to(v, (strips, harmonics, designs)).reshape(strips, count) for v in values])
    for n, place in enumerate(lanes.entry):
        a[place[:, 0], place[:, 1]] += m[:, n]
    for n, place in enumerate(lanes.link_entry):
        a[place[:, 0], place[:, 1]] += np.tile(lanes.link[:, n], (1, harmonics))
    return a


def _hold_arrays(a: Array, y: Array, lanes: Lanes, harmonics: int) -> None:
    for i, springs in zip(lanes.supported, np.tile(lanes.support, (1, harmonics)), strict=True):
        fast = np.isinf(springs)
        a[i][:, fast] = 0.0
        for v in range(1, min(lanes.band, int(i)) + 1):
            a[i - v, v, fast] = 0.0
        a[i, 0] = np.where(fast, 1.0, a[i, 0] + springs)
        y[i, :, fast] = 0.0


def _eliminate_arrays(a: Array, y: Array, size: int, band: int) -> None:
    _, column, lane = a.strides
    for i in range(size):
        f = a[i, 1 : band + 1] * (1.0 / a[i, 0])
        # The products f_v a_w of one pivot, row v shifted by v: zeros past the band make it a rectangle.
        shifted = np.lib.stride_tricks.as_strided(a[i, 1:], (band, band, a.shape[2]), (column, column, lane))
        a[i + 1 : i + band + 1, :band] -= f[:, None] * shifted
        y[i + 1 : i + band + 1] -= f[:, None] * y[i]
    for i in range(size - 1, -1, -1):
        for v in range(1, band + 1):
            y[i] -= a[i, v] * y[i + v]
        y[i] /= a[i, 0]
