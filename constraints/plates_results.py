"""What a solved folded plate says: movement, forces, moments, principal values, equilibrium."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from longvault.constraints.plates import FoldedPlate
from longvault.constraints.plates_kernel import COLUMNS, DOFS, ROWS, strip_stiffness
from longvault.sections import Strips
from longvault.sections.symbols import Array, IntArray

UPRIGHT = 1e-9
"""A strip whose plan width is below this share of its width counts as vertical."""


@dataclass(frozen=True, slots=True, eq=False)
class PlateForces:
    """Forces and moments at both ends of each strip, (..., stations, e, 2).

    Tension is positive. Across the section, s runs to the right along each strip (up, where it is vertical);
    its upper face (the left one, where it is vertical) has the outward normal. Moments are positive
    with tension on that face.

    Parameters
    ----------
    n_y, n_s, n_ys : array
        Membrane forces along the span, across, and shear [N/m].
    m_s, m_y, m_sy : array
        Moments across, along the span, and twisting [N m/m].
    """

    n_y: Array
    n_s: Array
    n_ys: Array
    m_s: Array
    m_y: Array
    m_sy: Array


def orientation(strips: Strips) -> Array:
    """Return +1 where a strip runs to the right (or straight up), else -1, (..., e)."""
    dx, dz = strips.span_vectors()
    upright = np.abs(dx) <= UPRIGHT * np.abs(dz)
    return np.where(np.where(upright, dz, dx) < 0, -1.0, 1.0)


def _series(solved: FoldedPlate, stations: ArrayLike) -> tuple[Array, Array]:
    """Return sin and cos of m pi y / L, each (H, stations), for stations as fractions of the span."""
    fraction = np.atleast_1d(np.asarray(stations, dtype=np.float64))
    if fraction.ndim != 1 or not np.all((fraction >= 0) & (fraction <= 1)):
        raise ValueError(f"stations must be fractions of the span from 0 to 1; got {stations!r}")
    angle = np.ascontiguousarray(np.pi * np.outer(solved.harmonics, fraction))
    return np.sin(angle), np.cos(angle)


def _summed(values: Array, wave: Array) -> Array:
    """Sum amplitudes (..., H, a, b) times a wave (H, stations) over the harmonics: (..., stations, a, b)."""
    total = np.zeros((*values.shape[:-3], wave.shape[1], *values.shape[-2:]))
    for h, factors in enumerate(wave):
        total += values[..., h, None, :, :] * factors[:, None, None]
    return total


def displacements(solved: FoldedPlate, stations: ArrayLike = 0.5) -> Array:
    """Return the movement of the nodes (..., stations, n, 4): x, y, z [m] and rotation from x to z [rad].

    ``stations`` are fractions of the span.
    """
    sine, cosine = _series(solved, stations)
    moved = _summed(solved.displacement, sine)
    moved[..., 1] = _summed(solved.displacement[..., 1:2], cosine)[..., 0]
    return moved


@dataclass(frozen=True, slots=True, eq=False)
class StripShape:
    """Amplitudes inside each strip, in its own directions; arrays (..., H, e, 2) or (..., H, e).

    ``u, v, w, turn`` at both ends: across in plane, along the span, normal, rotation. ``mid_u, mid_v``
    multiply 4 xi (1 - xi). ``c, s, width, stretch, shear, bending`` are the strip's direction, width and
    stiffness E1 t, G t, D, (..., 1, e).
    """

    u: Array
    v: Array
    w: Array
    turn: Array
    mid_u: Array
    mid_v: Array
    c: Array
    s: Array
    width: Array
    stretch: Array
    shear: Array
    bending: Array


def strip_shape(solved: FoldedPlate) -> StripShape:
    """Recover what each strip does between its nodes; the middle terms are those condensed in the kernel."""
    strips, nu = solved.strips, solved.poisson
    dx, dz = (v[..., None, :] for v in strips.span_vectors())
    ends = np.ascontiguousarray(solved.displacement[..., strips.ends, :])
    x, v, z, turn = (np.ascontiguousarray(ends[..., i]) for i in range(DOFS))
    t, k = strips.thickness[..., None, :], solved.wave[..., None]
    e1 = solved.modulus / (1.0 - nu * nu) * t
    g = 0.5 * solved.modulus / (1.0 + nu) * t
    with np.errstate(all="ignore"):
        b = np.sqrt(dx * dx + dz * dz)
        c, s = dx / b, dz / b
        u = c[..., None] * x + s[..., None] * z
        pull_u = g * k * k * b / 3.0 * (u[..., 0] + u[..., 1])
        pull_v = e1 * k * k * b / 3.0 * (v[..., 0] + v[..., 1])
        cross = 2.0 / 3.0 * k * (nu * e1 + g)
        mid_u = (pull_u + cross * (v[..., 1] - v[..., 0])) / -(
            16.0 / 3.0 * e1 / b + 8.0 / 15.0 * g * k * k * b
        )
        mid_v = (pull_v + cross * (u[..., 0] - u[..., 1])) / -(
            16.0 / 3.0 * g / b + 8.0 / 15.0 * e1 * k * k * b
        )
    w = c[..., None] * z - s[..., None] * x
    return StripShape(u, v, w, turn, mid_u, mid_v, c, s, b, e1, g, e1 * t * t / 12.0)


def strip_forces(solved: FoldedPlate, stations: ArrayLike = 0.5) -> PlateForces:
    """Recover forces and moments at both ends of every strip, never averaged.

    Parameters
    ----------
    solved : FoldedPlate
    stations : array (s,)
        Fractions of the span.

    Notes
    -----
    With E1 = E/(1 - nu^2) and D = E1 t^3/12: N_y = t E1 (e_y + nu e_s), N_s = t E1 (e_s + nu e_y),
    N_ys = t G g; m = -D times the curvatures (thin plate; Timoshenko & Woinowsky-Krieger, from memory).
    The load on the strip adds what it does between held ends: N_s +- p b / 2, m_s - p b^2 / 12.
    """
    nu, k = solved.poisson, solved.wave[..., None]
    a = strip_shape(solved)
    sine, cosine = _series(solved, stations)
    side = orientation(solved.strips)[..., None, :]
    load = solved.strip_load[..., None, :] * solved.amplitude[:, None]
    b, ends = a.width, []
    with np.errstate(all="ignore"):
        rise = 6.0 * (a.w[..., 1] - a.w[..., 0]) / (b * b)
        for end, sign in ((0, 1.0), (1, -1.0)):
            near, far = a.turn[..., end], a.turn[..., 1 - end]
            own = -0.5 * sign * a.s * load * b  # the load's own N_s = E1 t e_s
            across = (a.u[..., 1] - a.u[..., 0]) / b + sign * 4.0 * a.mid_u / b + own / a.stretch
            along = -k * a.v[..., end]
            shear = k * a.u[..., end] + (a.v[..., 1] - a.v[..., 0]) / b + sign * 4.0 * a.mid_v / b
            bent = sign * (rise - (4.0 * near + 2.0 * far) / b) - a.c * load * b * b / (12.0 * a.bending)
            long_bent = -k * k * a.w[..., end]
            ends.append(
                (
                    a.stretch * (along + nu * across),
                    a.stretch * (across + nu * along),
                    side * a.shear * shear,
                    -side * a.bending * (bent + nu * long_bent),
                    -side * a.bending * (long_bent + nu * bent),
                    -a.bending * (1.0 - nu) * k * near,
                )
            )
    waves = (sine, sine, cosine, sine, sine, cosine)
    both = (np.stack(pair, axis=-1) for pair in zip(*ends, strict=True))
    return PlateForces(*(_summed(values, wave) for values, wave in zip(both, waves, strict=True)))


def passages(strips: Strips) -> IntArray:
    """Return the nodes where exactly two strips meet: rows (node, strip, end, strip, end)."""
    return passages_of(strips.ends, strips.x.shape[-1])


def passages_of(ends: IntArray, nodes: int) -> IntArray:
    """Return the same for strips known by their ends (e, 2) alone."""
    flat = ends.reshape(-1)
    count = np.bincount(flat, minlength=nodes)
    order, start = np.argsort(flat, kind="stable"), np.cumsum(count) - count
    node = np.flatnonzero(count == 2)
    one, two = order[start[node]], order[start[node] + 1]
    rows: IntArray = np.stack([node, one // 2, one % 2, two // 2, two % 2], axis=-1)
    apart: IntArray = rows[rows[:, 1] != rows[:, 3]]
    return apart


def smoothed(strips: Strips, forces: PlateForces) -> PlateForces:
    """Average the two strip ends of each two-strip node whose strips are equally thick; keep all others.

    At a jump of thickness, a branch or an edge every strip end keeps its own value. Where the section turns
    back through the vertical, the mean tangent at the node names the face and the direction for both ends.
    """
    rows = passages(strips)
    if not len(rows):
        return forces
    _, one, end_one, two, end_two = rows.T
    equal = (strips.thickness[..., one] == strips.thickness[..., two])[..., None, :]
    walk_one, walk_two, mean = (sign[..., None, :] for sign in walks(strips, rows))

    def average(values: Array, signed: bool) -> Array:
        result = values.copy()
        first, second = values[..., one, end_one], values[..., two, end_two]
        middle = 0.5 * (first + second)
        if signed:
            middle = 0.5 * mean * (walk_one * first + walk_two * second)
        result[..., one, end_one] = np.where(equal, middle, first)
        result[..., two, end_two] = np.where(equal, middle, second)
        return result

    return PlateForces(
        average(forces.n_y, False), average(forces.n_s, False), average(forces.n_ys, True),
        average(forces.m_s, True), average(forces.m_y, True), average(forces.m_sy, False),
    )  # fmt: skip


def walks(strips: Strips, rows: IntArray) -> tuple[Array, Array, Array]:
    """Say at each passage whether both strips and the mean tangent run with the walk through it (+1, -1)."""
    _, one, end_one, two, end_two = rows.T
    into, out = np.where(end_one == 1, 1.0, -1.0), np.where(end_two == 0, 1.0, -1.0)
    side = orientation(strips)
    dx, dz = strips.span_vectors()
    turn_x = into * dx[..., one] + out * dx[..., two]
    turn_z = into * dz[..., one] + out * dz[..., two]
    upright = np.abs(turn_x) <= UPRIGHT * np.abs(turn_z)
    mean = np.where(np.where(upright, turn_z, turn_x) < 0, -1.0, 1.0)
    return into * side[..., one], out * side[..., two], mean


def support_forces(solved: FoldedPlate) -> Array:
    """Return the amplitude of what holds each node (..., H, n, 4): x, y, z [N/m] and moment [N m/m].

    Forces on the section, from the strips' own nodal forces less the load; round-off where nothing holds.
    """
    force = _nodal_forces(solved)
    held = -solved.nodal_load[..., None, :, :] * solved.amplitude[:, None, None]
    for i, (first, second) in enumerate(solved.strips.ends):
        held[..., first, :] += force[..., i, :DOFS]
        held[..., second, :] += force[..., i, DOFS:]
    pull, along = link_pull(solved)
    for i, (first, second) in enumerate(solved.links.ends):
        push = pull[..., i, None] * along[..., None, i, :]
        held[..., first, ::2] -= push
        held[..., second, ::2] += push
    return held


def _nodal_forces(solved: FoldedPlate) -> Array:
    """Return the forces that move each strip as found (..., H, e, 8).

    What stretches and bends a strip across is taken from differences of movement: a narrow strip has
    large stiffnesses that cancel, and with them the digits.
    """
    strips = solved.strips
    dx, dz = (v[..., None, :] for v in strips.span_vectors())
    t, k = strips.thickness[..., None, :], solved.wave[..., None]
    moved = solved.displacement[..., strips.ends, :].reshape(*solved.displacement.shape[:-2], -1, 2 * DOFS)
    with np.errstate(all="ignore"):
        b = np.sqrt(dx * dx + dz * dz)
        c, s = dx / b, dz / b
        values = strip_stiffness(c, s, b, t, k, solved.modulus, solved.poisson, 0.0)
    force = np.zeros_like(moved)
    for row, column, value in zip(ROWS, COLUMNS, values, strict=True):
        force[..., row] += value * moved[..., column]
        if row != column:
            force[..., column] += value * moved[..., row]
    right, up = moved[..., 4] - moved[..., 0], moved[..., 6] - moved[..., 2]
    e1 = solved.modulus / (1.0 - solved.poisson**2) * t
    with np.errstate(all="ignore"):
        turn = (c * up - s * right) / b
        first, second = moved[..., 3] - turn, moved[..., 7] - turn
        bending = e1 * t * t / (12.0 * b)
        moment_1, moment_2 = bending * (4.0 * first + 2.0 * second), bending * (2.0 * first + 4.0 * second)
        normal, pull = (moment_1 + moment_2) / b, e1 / b * (c * right + s * up)
    x, z = -s * normal - c * pull, c * normal - s * pull
    for place, part in ((0, x), (2, z), (3, moment_1), (4, -x), (6, -z), (7, moment_2)):
        force[..., place] += part
    return force


def link_pull(solved: FoldedPlate) -> tuple[Array, Array]:
    """Return the tension amplitude of each link (..., H, k) and its direction (..., k, 2)."""
    one, two = solved.links.ends.T
    nodes, moved = solved.strips.nodes, solved.displacement[..., ::2]
    along = nodes[..., two, :] - nodes[..., one, :]
    along[..., 0] += solved.links.shift
    along /= np.sqrt((along * along).sum(axis=-1, keepdims=True))
    stretch = ((moved[..., two, :] - moved[..., one, :]) * along[..., None, :, :]).sum(axis=-1)
    return solved.links.stiffness[..., None, :] * stretch, along


def link_forces(solved: FoldedPlate, stations: ArrayLike = 0.5) -> Array:
    """Return the force in each strut or collar (..., stations, k), tension positive [N per metre of span]."""
    sine, _ = _series(solved, stations)
    pull, _ = link_pull(solved)
    return _summed(pull[..., None], sine)[..., 0]
