"""Closer checks of a taper: those of one section at every station, and which station governs each limit."""

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from longvault.constraints.actions import SUSTAINED, ULTIMATE
from longvault.constraints.basis import Basis
from longvault.constraints.crack_checks import CRACK_WIDTH
from longvault.constraints.details import (
    GOVERNED,
    Details,
    detail_keys,
    detail_limits,
    detail_measures,
    margins_of,
    staged_by,
    with_details,
)
from longvault.constraints.effects import Governing, signs_of
from longvault.constraints.evaluate import Evaluation
from longvault.constraints.evaluate_member import evaluate_member
from longvault.constraints.limit import Limit
from longvault.constraints.measures import MEASURES
from longvault.constraints.member_along import Along, by_section, case_at, largest_station, taken_at
from longvault.constraints.span_forces import Twist
from longvault.constraints.spans import respond
from longvault.constraints.stress import SectionForces
from longvault.constraints.torsion import TorsionLine, beam_torsion, load_torque
from longvault.constraints.twisting import FULL, Acting, Turning, load_centre
from longvault.sections.member import Member
from longvault.sections.symbols import Array, IntArray
from longvault.sections.torsion import TorsionProperties, torsion_properties

MEANS = ("steel_weight", "form_area", "cost", "carbon")
"""Measures that are amounts: their mean along the span counts."""

_UNNAMED = {
    **dict.fromkeys(("slice-moment", "slice-movement"), "largest of all combinations"),
    "erection-transverse": "own weight + erection",
}
"""What stands for the combination where the check tells the largest alone."""

TINY = 1e-6
"""Least moment at a station, over the largest along the span: the closer checks want one."""


def member_keys(basis: Basis) -> tuple[str, ...]:
    """Measures that `evaluate_member_closely` gives beside those of `evaluate_member`."""
    return detail_keys(as_taper(basis))


def member_limits(basis: Basis) -> tuple[Limit, ...]:
    """Limits on them."""
    return detail_limits(as_taper(basis))


def as_taper(basis: Basis) -> Basis:
    """Return the basis of design of a module that varies along the span; steel follows the stations.

    Prestress is left out: one force would have to serve all sections.
    """
    settings = basis.concrete_settings
    if settings is not None:
        settings = replace(settings, practice=replace(settings.practice, curtailed=1.0), tensioning=None)
    return replace(basis, prismatic=False, concrete_settings=settings)


def evaluate_member_closely(member: Member, basis: Basis) -> Evaluation:
    """Measure a taper, or a batch (...), with the closer checks of every station beside those of the beam.

    Examples
    --------
    >>> from longvault.constraints.basis import Requirements
    >>> from longvault.constraints.beam import SUPPORTS
    >>> from longvault.sections import Strips
    >>> root, tip = (
    ...     Strips.chain([-2, -0.3, 0.3, 2], [d, 0, 0, d], 0.1, ["wing", "keel", "wing"]) for d in (1.4, 0.3)
    ... )
    >>> need = Requirements(height_max=1.6)
    >>> basis = Basis(span=10.0, pitch=5.0, requirements=need, support=SUPPORTS["cantilever"])
    >>> done = evaluate_member_closely(Member.between(root, tip), basis)
    >>> float(done.cases["neutral-axis"].y), done.note
    (0.0, 'beam level, not proved by the folded plate')
    """
    beam = evaluate_member(member, basis)
    return with_details(beam, member_details(member, basis), {}, member_limits(basis))


def staged_member(beam: Evaluation, member: Member, basis: Basis, *, most: float) -> Evaluation:
    """Closer checks of those tapers (N,) whose beam margins are finite and at most ``most``."""

    def look(rows: IntArray) -> Details:
        return member_details(Member(member.sections[rows]), basis)

    return staged_by(look, beam, member_keys(basis), member_limits(basis), most=most)


def member_details(member: Member, basis: Basis) -> Details:
    """Map the closer checks of one section over the stations of a taper (...) and take the worst of each."""
    taper = as_taper(basis)
    along = Along.measure(member, taper)
    with np.errstate(all="ignore"):  # what cannot be measured is a NaN row
        loads = station_loads(along)
        found = detail_measures(member.sections, loads, taper, acting_at(along))
        return worst_along(found, along, member_limits(basis), {**loads, **found.measures})


def station_loads(along: Along) -> dict[str, Array]:
    """Measures of each station (..., K) under the names that the checks of one section read."""
    shape, ultimate, service = (
        along.lines.permanent.shape,
        *(along.envelopes[k] for k in ("moment", "service")),
    )
    local = {key: values for key, values in along.local.items() if values.shape == shape}
    moment = by_section(ultimate.largest()[0], along.where)
    least = TINY * moment.max(axis=-1, keepdims=True)
    arm = np.minimum(local["arm_block"], local["arm_bars"]) * along.basis.strengths.steel
    if "main_moment" in local:
        local["main_moment"] = np.maximum(local["main_moment"], least)
    return local | {
        "ultimate_moment": np.maximum(moment, least),
        "characteristic_moment": np.maximum(by_section(service.largest()[0], along.where), least),
        "ultimate_shear": by_section(along.envelopes["shear"].largest()[0], along.where),
        "steel_area": np.maximum(local["steel_area"], least / arm),
    }


def worst_along(
    found: Details, along: Along, limits: tuple[Limit, ...], local: Mapping[str, Array]
) -> Details:
    """Take each limit from the station where it is nearest to broken (``local``: all measures there).

    Its measure is that of this station; measures without a limit are the worst by their sense, amounts the
    mean along the span, others those of the root.
    """
    every = margins_of(limits, local, along.strips.batch)
    at = {limit.key: every[..., i].argmax(axis=-1) for i, limit in enumerate(limits)}
    of = {limit.demand: at[limit.key] for limit in limits}
    if "cracked_arm" in found.measures:  # that of the most steel
        of["cracked_arm"] = found.measures["cracked_steel"].argmax(axis=-1)
    measures = {key: _worst(key, values, of, along) for key, values in found.measures.items()}
    own = {limit.key: _governing(limit, at[limit.key], found, along) for limit in limits}
    return Details(measures, None, own, every.max(axis=-2))


def _governing(limit: Limit, at: IntArray, found: Details, along: Along) -> Governing:
    """Name the combination and the place that govern a limit at station ``at`` (...)."""
    lasts = limit.key == CRACK_WIDTH
    moment, case = along.sized("sustained" if lasts else "moment", limit.key)
    station = largest_station(moment, along.where, at)
    y = along.where.mesh.y[station]
    if lasts:
        return Governing(along.rules[SUSTAINED].names, case_at(case, station), y)
    if limit.key not in GOVERNED:
        return Governing((_UNNAMED.get(limit.key, ""),), np.zeros_like(station), y)
    plain = Governing(along.rules[ULTIMATE].names, case_at(case, station), y)
    if found.twisted is None or limit.key not in found.twisted.places:
        return plain
    place = case_at(found.twisted.places[limit.key], at)
    return plain.where(place >= 0, found.twisted.names, place)


def _worst(key: str, values: Array, at: Mapping[str, IntArray], along: Along) -> Array:
    if key in MEANS:
        return along.mean(values)
    if key in at:
        return taken_at(values, at[key])[0]
    sense = MEASURES[key].sense
    if not sense:
        return values[..., 0]
    return np.asarray(values.max(axis=-1) if sense == "min" else values.min(axis=-1))


def acting_at(along: Along) -> Acting:
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
    rows = [_at_sections(along, moment, shear, twist, part) for part, moment, shear in states]
    forces = SectionForces(*(np.stack(column, axis=-1) for column in zip(*rows, strict=True)))
    if turning.right is not None:
        forces = _aside(along, forces, np.take_along_axis(turning.right, picked, axis=-1), states)
    ends = (np.broadcast_to(v[..., None], strips.batch) for v in _ends(whole_torque))
    parts = np.array([part for part, _, _ in states])
    return Acting(forces, parts, turning.rules.names, picked, *ends)


def _parts(turning: Turning) -> tuple[Array, ...]:
    return turning.permanent, turning.variable, turning.fixed, turning.swing


def _aside(
    along: Along, forces: SectionForces, right: Array, states: list[tuple[int, Array, Array]]
) -> SectionForces:
    """Put moments and shear forces of loads (..., K, R) to the right beside the forces of ``states``."""
    p, where, basis = along.properties, along.where, along.basis
    soft = p.ixx / (basis.concrete.ecm * (p.ixx * p.izz - p.ixz * p.ixz))
    load = np.ascontiguousarray(np.swapaxes(right, -1, -2))
    found = respond(
        basis.line, mesh=where.mesh, load=np.take(load, where.section, axis=-1),
        flexibility=np.take(soft, where.section, axis=-1),
    )  # fmt: skip
    turned, push = (
        np.stack([_largest(along, values[..., part, :]) for part, _, _ in states], axis=-1)
        for values in (found.moment, found.shear)
    )
    return replace(forces, side_moment=turned, side_shear=push)


def _ends(torque: Array) -> tuple[Array, Array]:
    """Largest torque under full load, and under loads on one side."""
    return torque[..., FULL], torque[..., 1:].max(axis=-1)


def _twists(
    along: Along, torsion: TorsionProperties, full: Array, turning: Turning, whole: Turning, picked: IntArray
) -> tuple[tuple[Array, Array, Array], Array]:
    """Bimoment, warping and St Venant torque (..., R, S), and the largest whole torque (..., R).

    Rows: full load, the extremes either way of the loads that twist, and the others of `Turning.picked`; on
    several fields loads that twist lie where they add, as `longvault.constraints.span_forces.patterned_twist`
    has it.
    """
    free, fields = 0.0 if along.basis.held else 1.0, np.arange(len(along.basis.line.fields))
    sides = [np.take_along_axis(v, picked, axis=-1)[..., 1:] for v in (turning.fixed, turning.torque)]
    everywhere = np.concatenate([full[..., None], sides[1]], axis=-1)
    one = _twist(along, torsion, free * np.swapaxes(everywhere, -1, -2))
    if len(fields) == 1:
        found = (one.bimoment, one.warping_torque, one.uniform_torque)
        return found, np.abs(one.torque).max(axis=-1)
    ways: list[Twist] = []
    for k, pool in enumerate(turning.pools):
        swings = []
        for sign in (1.0, -1.0):
            at = np.where(pool, sign * whole.swing, -np.inf).argmax(axis=-1)[..., None, None]
            acts = sign * np.take_along_axis(whole.swing, at[..., 0, :], axis=-1) > 0.0
            swings.append(np.where(acts, np.take_along_axis(turning.swing, at, axis=-1)[..., 0], 0.0))
        fixed = _twist(along, torsion, free * np.swapaxes(sides[0][..., 2 * k : 2 * k + 2], -1, -2))
        most, least = (_twist(along, torsion, free * swing[..., None, :], fields) for swing in swings)
        ways += [Twist.largest(fixed, most, least, sign) for sign in (1.0, -1.0)]

    def rows_of(name: str) -> Array:
        each = [getattr(way, name)[..., None, :] for way in ways]
        rows = getattr(one, name)
        return np.concatenate([rows[..., :1, :], *each, rows[..., 1 + len(ways) :, :]], axis=-2)

    found = rows_of("bimoment"), rows_of("warping_torque"), rows_of("uniform_torque")
    return found, np.abs(rows_of("torque")).max(axis=-1)


def _twist(
    along: Along, torsion: TorsionProperties, torque: Array, fields: IntArray | None = None
) -> TorsionLine:
    """Torsion (..., R, S) under torques (..., R, K), piece by piece; each of ``fields`` by itself."""
    where, basis = along.where, along.basis
    y, spans = where.mesh.y, basis.line
    joints = np.unique(y)
    doubled = np.flatnonzero(np.diff(y) == 0.0)
    start = np.flatnonzero(np.diff(y) > 0.0)

    def pieces(values: Array) -> Array:
        at = np.take(values, where.section, axis=-1)
        return 0.5 * (at[..., start] + at[..., start + 1])

    acting = pieces(torque)
    if fields is not None:
        acting = acting * (where.mesh.field[start] == fields[:, None])
    held = np.stack([np.isin(joints, spans.supports), np.zeros(joints.size, dtype=np.bool_)], axis=-1)
    held[0, 1], held[-1, 1] = spans.fixed_start, spans.fixed_end
    return beam_torsion(
        length=np.diff(joints),
        warping=basis.concrete.ecm * pieces(torsion.warping_constant)[..., None, :],
        uniform=basis.concrete.shear_modulus() * pieces(torsion.torsion_constant)[..., None, :],
        torque=acting,
        held=held,
        twice=tuple(np.searchsorted(joints, y[doubled]).tolist()),
    )


def _responses(along: Along, load: Array) -> tuple[Array, Array]:
    """Moment and shear (..., R, S) of loads (..., R, K) that lie on all fields together."""
    where, section = along.where, along.sections[0]
    soft = np.take(1.0 / (along.basis.concrete.ecm * section.inertia), where.section, axis=-1)
    found = respond(
        along.basis.line, mesh=where.mesh, load=np.take(load, where.section, axis=-1), flexibility=soft
    )
    return found.moment, found.shear


def _at_sections(
    along: Along, moment: Array, shear: Array, twist: tuple[Array, ...], part: int
) -> list[Array]:
    """Moment, shear, bimoment and both torques (..., K): of each the largest on the stations of a section."""
    own = [one[..., part, :] for one in twist]
    return [_largest(along, values) for values in (moment, shear, *own)]


def _largest(along: Along, values: Array) -> Array:
    """Value of the largest size (..., K) among the stations of each section, with its sign."""
    up, down = by_section(values, along.where), by_section(-values, along.where)
    return np.where(up >= down, up, -down)
