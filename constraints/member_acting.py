"""Forces at every section of a taper: moments and shear, torsion piece by piece, the push to the side."""

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np

from longvault.constraints.effects import signs_of
from longvault.constraints.member_sections import AtSections, by_section
from longvault.constraints.span_forces import Twist
from longvault.constraints.spans import respond
from longvault.constraints.stress import SectionForces
from longvault.constraints.torsion import TorsionLine, beam_torsion, load_torque
from longvault.constraints.twisting import FULL, Acting, Turning, load_centre
from longvault.sections.symbols import Array, BoolArray, IntArray
from longvault.sections.torsion import TorsionProperties, torsion_properties


def acting_at(along: AtSections) -> Acting:
    """Find the forces at every section of a taper (..., K): full load, and those that twist and push it most.

    Moments are those of the envelope, both signs where they occur, or of the one-sided combination; of the
    stations that stand on one section, the largest of each force is taken: on the safe side.
    """
    basis, strips = along.basis, along.strips
    torsion = torsion_properties(strips)
    turning = Turning.of(strips, along.properties, torsion, basis, along.lines)
    whole = Turning(turning.cases, turning.rules, *(along.mean(v, axis=-2) for v in _parts(turning)))
    if turning.right is not None:
        whole = replace(whole, right=along.mean(turning.right, axis=-2))
    index = whole.picked()
    picked = np.broadcast_to(index[..., None, :], (*turning.fixed.shape[:-1], index.shape[-1]))
    load = np.take_along_axis(turning.permanent + turning.variable, picked, axis=-1)
    centre = load_centre(strips, along.properties, along.lines, services_x=basis.loads.services_x)
    full = load_torque(torsion, down=along.local["ultimate_load"], x=centre)
    twist, whole_torque = _twists(along, torsion, full, turning, whole, picked)
    most, least = along.envelopes["moment"].most, along.envelopes["moment"].least
    shear = along.envelopes["shear"].largest()[0]
    signs = signs_of(basis)
    states = [(FULL, most, shear)] * signs.sagging + [(FULL, least, shear)] * signs.hogging
    if basis.alone:
        own = _responses(along, np.swapaxes(load, -1, -2))
        states += [(part, own[0][..., part, :], own[1][..., part, :]) for part in range(1, index.shape[-1])]
    parts = np.array([part for part, _, _ in states])
    upright = (np.stack([state[i] for state in states], axis=-2) for i in (1, 2))
    forces = SectionForces(*_largest(along, *upright, *(one[..., parts, :] for one in twist)))
    if turning.right is not None:
        forces = _aside(along, forces, np.take_along_axis(turning.right, picked, axis=-1), parts)
    ends = (np.broadcast_to(v[..., None], strips.batch) for v in _ends(whole_torque))
    return Acting(forces, parts, turning.rules.names, picked, *ends)


def _parts(turning: Turning) -> tuple[Array, ...]:
    return turning.permanent, turning.variable, turning.fixed, turning.swing


def _aside(along: AtSections, forces: SectionForces, right: Array, parts: IntArray) -> SectionForces:
    """Put moments and shear forces of loads (..., K, R) to the right beside the forces of their ``parts``."""
    p, where, basis = along.properties, along.where, along.basis
    soft = p.ixx / (basis.concrete.ecm * (p.ixx * p.izz - p.ixz * p.ixz))
    load = np.ascontiguousarray(np.swapaxes(right, -1, -2))
    found = respond(
        basis.line, mesh=where.mesh, load=np.take(load, where.section, axis=-1),
        flexibility=np.take(soft, where.section, axis=-1),
    )  # fmt: skip
    turned, push = _largest(along, found.moment[..., parts, :], found.shear[..., parts, :])
    return replace(forces, side_moment=turned, side_shear=push)


def _ends(torque: Array) -> tuple[Array, Array]:
    """Largest torque under full load, and under loads on one side."""
    return torque[..., FULL], torque[..., 1:].max(axis=-1)


def _twists(
    along: AtSections,
    torsion: TorsionProperties,
    full: Array,
    turning: Turning,
    whole: Turning,
    picked: IntArray,
) -> tuple[tuple[Array, Array, Array], Array]:
    """Bimoment, warping and St Venant torque (..., R, S), and the largest whole torque (..., R).

    Rows: full load, the extremes either way of the loads that twist, and the others of `Turning.picked`; on
    several fields loads that twist lie where they add, as `longvault.constraints.span_forces.patterned_twist`
    has it.
    """
    free, fields = 0.0 if along.basis.held else 1.0, np.arange(len(along.basis.line.fields))
    sides = [np.take_along_axis(v, picked, axis=-1)[..., 1:] for v in (turning.fixed, turning.torque)]
    everywhere = free * np.swapaxes(np.concatenate([full[..., None], sides[1]], axis=-1), -1, -2)
    if len(fields) == 1:
        (one,) = _twist(along, torsion, [(everywhere, None)])
        found = (one.bimoment, one.warping_torque, one.uniform_torque)
        return found, np.abs(one.torque).max(axis=-1)
    loads: list[tuple[Array, IntArray | None]] = [(everywhere, None)]
    for k, pool in enumerate(turning.pools):
        loads.append((free * np.swapaxes(sides[0][..., 2 * k : 2 * k + 2], -1, -2), None))
        loads += [(free * _swing(turning, whole, pool, sign)[..., None, :], fields) for sign in (1.0, -1.0)]
    one, *lines = _twist(along, torsion, loads)
    threes = zip(lines[0::3], lines[1::3], lines[2::3], strict=True)
    ways = [Twist.largest(*three, sign) for three in threes for sign in (1.0, -1.0)]

    def rows_of(name: str) -> Array:
        each = [getattr(way, name)[..., None, :] for way in ways]
        rows = getattr(one, name)
        return np.concatenate([rows[..., :1, :], *each, rows[..., 1 + len(ways) :, :]], axis=-2)

    found = rows_of("bimoment"), rows_of("warping_torque"), rows_of("uniform_torque")
    return found, np.abs(rows_of("torque")).max(axis=-1)


def _swing(turning: Turning, whole: Turning, pool: BoolArray, sign: float) -> Array:
    """Torque of variable load (..., K) that turns the whole module most in the sense of ``sign``, or none."""
    at = np.where(pool, sign * whole.swing, -np.inf).argmax(axis=-1)[..., None, None]
    acts = sign * np.take_along_axis(whole.swing, at[..., 0, :], axis=-1) > 0.0
    return np.where(acts, np.take_along_axis(turning.swing, at, axis=-1)[..., 0], 0.0)


def _twist(
    along: AtSections, torsion: TorsionProperties, loads: Sequence[tuple[Array, IntArray | None]]
) -> list[TorsionLine]:
    """Torsion (..., R, S) under torques (..., R, K), piece by piece; each of some fields by itself."""
    where, basis = along.where, along.basis
    y, spans = where.mesh.y, basis.line
    joints = np.unique(y)
    doubled = np.flatnonzero(np.diff(y) == 0.0)
    start = np.flatnonzero(np.diff(y) > 0.0)

    def pieces(values: Array) -> Array:
        at = np.take(values, where.section, axis=-1)
        return 0.5 * (at[..., start] + at[..., start + 1])

    acting = [
        pieces(torque) * (1.0 if fields is None else where.mesh.field[start] == fields[:, None])
        for torque, fields in loads
    ]
    held = np.stack([np.isin(joints, spans.supports), np.zeros(joints.size, dtype=np.bool_)], axis=-1)
    held[0, 1], held[-1, 1] = spans.fixed_start, spans.fixed_end
    line = beam_torsion(
        length=np.diff(joints),
        warping=basis.concrete.ecm * pieces(torsion.warping_constant)[..., None, :],
        uniform=basis.concrete.shear_modulus() * pieces(torsion.torsion_constant)[..., None, :],
        torque=np.concatenate(acting, axis=-2),
        held=held,
        twice=tuple(np.searchsorted(joints, y[doubled]).tolist()),
    )
    ends = np.cumsum([0, *(rows.shape[-2] for rows in acting)])
    return [line.rows(a, b) for a, b in pairwise(ends.tolist())]


def _responses(along: AtSections, load: Array) -> tuple[Array, Array]:
    """Moment and shear (..., R, S) of loads (..., R, K) that lie on all fields together."""
    where, section = along.where, along.sections[0]
    soft = np.take(1.0 / (along.basis.concrete.ecm * section.inertia), where.section, axis=-1)
    found = respond(
        along.basis.line, mesh=where.mesh, load=np.take(load, where.section, axis=-1), flexibility=soft
    )
    return found.moment, found.shear


def _largest(along: AtSections, *values: Array) -> list[Array]:
    """Of values (..., C, S), those of the largest size on the stations of a section, signed (..., K, C)."""
    every = np.stack(values, axis=-3)
    up, down = by_section(every, along.where), by_section(-every, along.where)
    most = np.ascontiguousarray(np.swapaxes(np.where(up >= down, up, -down), -1, -2))
    return [most[..., i, :, :] for i in range(len(values))]
