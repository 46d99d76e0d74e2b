"""Global equilibrium of a solved folded plate: the forces found must carry the load put on."""

from dataclasses import dataclass

import numpy as np

from longvault.constraints.plates import FoldedPlate
from longvault.constraints.plates_results import StripShape, link_pull, strip_shape, support_forces
from longvault.sections.symbols import Array

CHECKS = ("along", "across", "down", "bending down", "bending across", "torque")


@dataclass(frozen=True, slots=True, eq=False)
class Equilibrium:
    """How well the recovered forces balance the load, and what the diaphragms take.

    Parameters
    ----------
    residual : array (..., H, 6)
        Relative to the applied load; one per harmonic and per check of `CHECKS`.
    worst : array (...)
        The largest of them.
    reaction : array (...)
        Total vertical reaction of both diaphragms, up positive [N].
    """

    residual: Array
    worst: Array
    reaction: Array


@dataclass(frozen=True, slots=True, eq=False)
class _Resultants:
    """Integrals over each strip of the force amplitudes (..., H, e), and its geometry (..., 1, e)."""

    n_y: Array
    n_y_x: Array
    n_y_z: Array
    n_ys: Array
    m_y: Array
    twist: Array


def _resultants(solved: FoldedPlate, x: Array, z: Array, a: StripShape) -> _Resultants:
    """Integrate N_y, N_y x, N_y z, N_ys, m_y and the torque of the plates' own moments over each strip."""
    nu, k, b, d = solved.poisson, solved.wave[..., None], a.width, a.bending
    u1, u2, v1, v2, w1, w2, r1, r2 = (q[..., end] for q in (a.u, a.v, a.w, a.turn) for end in (0, 1))
    x1, x2, z1, z2 = (q[..., None, solved.strips.ends[:, end]] for q in (x, z) for end in (0, 1))
    with np.errstate(all="ignore"):
        n1, n2 = (a.stretch * (nu * (u2 - u1) / b - k * end) for end in (v1, v2))
    # The middle terms: 4 xi (1 - xi) has the integral 2 b / 3, its slope the first moment -2 b / 3.
    mid = -2.0 / 3.0 * b * a.stretch * k * a.mid_v
    tilt = -2.0 / 3.0 * b * a.stretch * nu * a.mid_u
    shear = a.shear * (0.5 * k * b * (u1 + u2) + (v2 - v1) + 2.0 / 3.0 * k * b * a.mid_u)
    # Integrals of the Hermite polynomial and of its second derivative, plain and times the distance.
    area = 0.5 * b * (w1 + w2) + b * b * (r1 - r2) / 12.0
    first = b * b * (3.0 * w1 + 7.0 * w2) / 20.0 + b * b * b * (r1 / 30.0 - r2 / 20.0)
    m_y = d * (k * k * area - nu * (r2 - r1))
    m_y_first = d * (k * k * first - nu * (r2 * b - (w2 - w1)))
    own = (a.s * z1 + a.c * x1) * m_y + m_y_first + 2.0 * d * (1.0 - nu) * (w2 - w1)
    return _Resultants(
        0.5 * b * (n1 + n2) + mid,
        b / 6.0 * (n1 * (2.0 * x1 + x2) + n2 * (x1 + 2.0 * x2)) + 0.5 * mid * (x1 + x2) + tilt * a.c,
        b / 6.0 * (n1 * (2.0 * z1 + z2) + n2 * (z1 + 2.0 * z2)) + 0.5 * mid * (z1 + z2) + tilt * a.s,
        shear,
        m_y,
        k * shear * (a.s * x1 - a.c * z1) + k * k * own,
    )


def equilibrium(solved: FoldedPlate) -> Equilibrium:
    """Check six conditions of equilibrium per harmonic, from the recovered forces.

    Sum of N_y; the rate of change of the sideways and vertical shear (membrane shear and the plates' own
    m_y); the moment of N_y plus the plates' own m_y against the load / k^2, down and across; the torque.
    Virtual work with rigid movements of the section that the shape functions hold exactly, so each closes to
    round-off whatever the number of strips.

    Notes
    -----
    The reaction is what the recovered end shears of the given harmonics add up to, completed by the known
    tail of the load's series (8/pi^2 sum 1/m^2 = 1 for a uniform load).
    """
    strips = solved.strips
    shape = strip_shape(solved)
    c, s = shape.c, shape.s
    x = strips.x - strips.x.mean(axis=-1, keepdims=True)
    z = strips.z - strips.z.mean(axis=-1, keepdims=True)
    with np.errstate(all="ignore"):
        part = _resultants(solved, x, z, shape)
        k = solved.wave
        own_z, own_x = (c * part.m_y).sum(-1), (-s * part.m_y).sum(-1)
        down = k * (s * part.n_ys).sum(-1) + k * k * own_z
        across = k * (c * part.n_ys).sum(-1) + k * k * own_x
        bending_z, bending_x = part.n_y_z.sum(-1) + own_z, part.n_y_x.sum(-1) + own_x
        outside, size = _outside(solved, x, z)
        force = size[..., 0]
        pairs = (
            (part.n_y.sum(-1), -outside[..., 3] / k, np.abs(part.n_y).sum(-1)),
            (across, outside[..., 0], force),
            (down, outside[..., 1], force),
            (bending_z, outside[..., 1] / (k * k) - outside[..., 5] / k, force / (k * k)),
            (bending_x, outside[..., 0] / (k * k) - outside[..., 4] / k, force / (k * k)),
            (part.twist.sum(-1), outside[..., 2], size[..., 1]),
        )
        residual = np.stack([_relative(inside, out, scale) for inside, out, scale in pairs], axis=-1)
    low, high = _loaded_share(solved)
    reaction = -(down / k * low).sum(-1) * high
    return Equilibrium(residual, residual.max(axis=(-2, -1)), reaction)


def end_forces(solved: FoldedPlate) -> Array:
    """Return what each strip puts on the first diaphragm (..., e, 2): right, up [N].

    The integral of N_ys along the strip, and square to it the plate's own shear; completed for the tail of
    the load's series, so that they add up to half the total load where the load is even along the span.
    """
    strips = solved.strips
    shape = strip_shape(solved)
    part = _resultants(solved, strips.x, strips.z, shape)
    own = solved.wave[..., None] * part.m_y
    right = (shape.c * part.n_ys - shape.s * own).sum(axis=-2)
    up = (shape.s * part.n_ys + shape.c * own).sum(axis=-2)
    _, tail = _loaded_share(solved)
    return np.stack([right, up], axis=-1) * tail


def _relative(inside: Array, outside: Array, scale: Array) -> Array:
    difference = np.abs(inside - outside)
    return np.where(difference == 0, 0.0, difference / scale)


def _outside(solved: FoldedPlate, x: Array, z: Array) -> tuple[Array, Array]:
    """Return the load with what the supports add, and the size of force and torque (..., H, 2).

    The first (..., H, 6) holds the sums of x, z, torque, y, y times x, y times z.
    """
    applied = solved.nodal_load[..., None, :, :] * solved.amplitude[:, None, None]
    spring = np.broadcast_to(solved.supports.spring, solved.nodal_load.shape)
    held = np.where(spring[..., None, :, :] > 0, support_forces(solved), 0.0)
    total = applied + held
    pull, along = link_pull(solved)  # of no account but where a link reaches into the next module
    for i, (first, second) in enumerate(solved.links.ends):
        push = pull[..., i, None] * along[..., None, i, :]
        total[..., first, ::2] += push
        total[..., second, ::2] -= push
    lever_x, lever_z = x[..., None, :], z[..., None, :]
    torque = lever_x * total[..., 2] - lever_z * total[..., 0] + total[..., 3]
    along = total[..., 1]
    sums = (total[..., 0], total[..., 2], torque, along, along * lever_x, along * lever_z)
    outside = np.stack([values.sum(-1) for values in sums], axis=-1)
    force = (np.abs(applied) + np.abs(held))[..., ::2].sum(axis=(-2, -1))
    reach = np.sqrt(x * x + z * z).max(axis=-1)
    return outside, np.stack([force, force * reach[..., None]], axis=-1)


def _loaded_share(solved: FoldedPlate) -> tuple[Array, Array]:
    """Return the integral of each sine over the span times k (H,) and what completes the series."""
    m = solved.harmonics
    integral = 1.0 - np.cos(np.pi * m)
    # A full uniform load has coefficients 2 (1 - cos m pi)/(m pi); its integral over the span is L.
    share = (solved.amplitude * integral / (np.pi * m)).sum()
    return integral, np.asarray((solved.loaded[1] - solved.loaded[0]) / share)
