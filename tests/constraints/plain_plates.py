"""Plain twins of the compiled folded plate: the solver by whole-array steps, and forces at mid-span."""

import numpy as np

from longvault.constraints.plates_kernel import DOFS, strip_stiffness
from longvault.constraints.plates_midspan import MidSpan
from longvault.constraints.plates_results import displacements, smoothed, strip_forces


def solve_arrays(lanes):
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


def _bands(lanes):
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


def _hold_arrays(a, y, lanes, harmonics):
    for i, springs in zip(lanes.supported, np.tile(lanes.support, (1, harmonics)), strict=True):
        fast = np.isinf(springs)
        a[i][:, fast] = 0.0
        for v in range(1, min(lanes.band, int(i)) + 1):
            a[i - v, v, fast] = 0.0
        a[i, 0] = np.where(fast, 1.0, a[i, 0] + springs)
        y[i, :, fast] = 0.0


def _eliminate_arrays(a, y, size, band):
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


def mid_span_arrays(solved):
    """Recover one load case by whole-array steps: the plain twin of `mid_span`."""
    forces = strip_forces(solved, (0.0, 0.5))
    middle = smoothed(solved.strips, forces)
    moved = displacements(solved, 0.5)[..., 0, :, :]
    found = (getattr(middle, name)[..., 1, :, :] for name in ("n_y", "n_s", "m_y", "m_s"))
    return MidSpan(*found, forces.n_ys[..., 0, :, :], moved[..., 0], moved[..., 2])
