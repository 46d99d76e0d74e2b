"""Internal forces along any beam under loads that need not pass through the shear centre."""

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike

from longvault.constraints.span_grid import grid
from longvault.constraints.spans import Spans, respond, unit_response
from longvault.constraints.stress import SectionForces
from longvault.constraints.torsion import TorsionLine, beam_torsion
from longvault.sections.symbols import Array, BoolArray, IntArray
from longvault.sections.torsion import TorsionProperties


@dataclass(frozen=True, slots=True, eq=False)
class Stations:
    """Places along a prismatic beam with what unit load does there.

    Parameters
    ----------
    y : array (s,)
        Places from the start; an inner support stands twice, before and behind it [m].
    moment, shear : array (2, s)
        Sum of the positive and of the negative responses to unit load on one field [m2], [m].
    length : array (p,)
        Pieces between different places [m].
    held : bool array (p + 1, 2)
        Whether twist and warping are held at their joints.
    twice : tuple of int
        Joints that stand twice.
    field : int array (p,)
        Field of each piece.
    """

    y: Array
    moment: Array
    shear: Array
    length: Array
    held: BoolArray
    twice: tuple[int, ...]
    field: IntArray


@lru_cache(maxsize=64)
def stations_of(spans: Spans, intervals: int = 2) -> Stations:
    """Choose ends, even shares and the place of the largest sagging moment of every field.

    Examples
    --------
    >>> stations_of(Spans.simple(8.0)).y.tolist(), stations_of(Spans.continuous(4.0, 4.0)).twice
    ([0.0, 2.0, 4.0, 6.0, 8.0], (6,))
    """
    unit = unit_response(spans)
    whole = unit.moment.sum(axis=0)
    inside = [(unit.y > a) & (unit.y < b) for a, b in spans.fields]
    peaks = {float(unit.y[np.where(within, whole, 0.0).argmax()]) for within in inside}
    mesh = grid(spans.fields, intervals, tuple(sorted(peaks)))
    load = (mesh.field == np.arange(len(spans.fields))[:, None]).astype(np.float64)
    found = respond(spans, mesh=mesh, load=load, flexibility=np.ones(mesh.y.size))
    joints = np.unique(mesh.y)
    held = np.stack([np.isin(joints, spans.supports), np.zeros(joints.size, dtype=np.bool_)], axis=-1)
    held[0, 1], held[-1, 1] = spans.fixed_start, spans.fixed_end
    repeated = mesh.y[:-1][np.diff(mesh.y) == 0.0]
    return Stations(
        mesh.y,
        _by_sign(found.moment),
        _by_sign(found.shear),
        np.diff(joints),
        held,
        tuple(np.searchsorted(joints, repeated).tolist()),
        np.searchsorted([b for _, b in spans.fields], joints[1:]),
    )


def _by_sign(response: Array) -> Array:
    return np.stack([np.maximum(response, 0.0).sum(axis=0), np.minimum(response, 0.0).sum(axis=0)])


def span_forces(
    torsion: TorsionProperties,
    *,
    spans: Spans,
    load: ArrayLike,
    modulus: float,
    shear_modulus: float,
    torque: ArrayLike = 0.0,
    twist: "Twist | None" = None,
    variable: ArrayLike = 0.0,
    right: ArrayLike = 0.0,
    intervals: int = 2,
) -> SectionForces:
    """Moment, shear, bimoment and torque at stations of a prismatic beam under uniform loads.

    ``load`` lies everywhere, ``variable`` on those fields where it adds to a moment: on several fields each
    station stands twice, with its largest and with its least moment, and with the larger shear. Torsion by
    `longvault.constraints.torsion.beam_torsion` under the torque everywhere: every support holds the twist, a
    clamped end the warping too. The strain of the shear flow is counted on a simple span only (see
    `longvault.constraints.stress.SectionForces`).

    Parameters
    ----------
    torsion : TorsionProperties
        Of the section, batch (...).
    spans : Spans
        Where the module rests.
    load, variable : array (...)
        Line loads, down positive [N/m].
    right : array (...)
        Load to the right that comes and goes with ``variable``, on a module free to move sideways [N/m].
    modulus, shear_modulus : float
        E and G of the concrete [Pa].
    torque : array (...)
        Per metre of span, of both loads everywhere (`longvault.constraints.torsion.load_torque`) [N].
    twist : Twist, optional
        What `patterned_twist` found, in place of the torque everywhere.
    intervals : int
        Even intervals of each field; stations stand at their ends and middles.

    Examples
    --------
    >>> from longvault.sections.strips import Strips
    >>> from longvault.sections.torsion import torsion_properties
    >>> angle = torsion_properties(Strips.chain([0.0, 0.0, 1.0], [1.0, 0.0, 0.0], 0.1, "wall"))
    >>> at = span_forces(angle, spans=Spans.simple(4.0), load=8e3, torque=-4e3, modulus=30e9,
    ...                  shear_modulus=12.5e9)
    >>> at.moment.round(3).tolist(), float(at.shear[0])  # w L^2 / 8, w L / 2
    ([0.0, 12000.0, 16000.0, 12000.0, 0.0], 16000.0)
    """
    at = stations_of(spans, intervals)
    w, q, aside = (np.asarray(v, dtype=np.float64)[..., None] for v in (load, variable, right))
    moment, shear = w * at.moment.sum(axis=0), w * at.shear.sum(axis=0)
    whole = np.asarray(torque, dtype=np.float64)[..., None] * np.ones_like(at.length)
    stiffness = [
        v[..., None] * np.ones_like(at.length)
        for v in (modulus * torsion.warping_constant, shear_modulus * torsion.torsion_constant)
    ]
    line = twist or _twisted(at, stiffness, whole)
    twisted = (line.bimoment, line.warping_torque, line.uniform_torque)
    if isinstance(line, TorsionLine) and len(spans.fields) == 1:
        free = 1.0 if spans == Spans.simple(spans.length) else 0.0
        moment, shear = moment + q * at.moment.sum(axis=0), shear + q * at.shear.sum(axis=0)
        return SectionForces(
            moment, shear, *twisted, load=free * (w + q), warping_change=free * line.warping_change,
            side_moment=aside * at.moment.sum(axis=0), side_shear=aside * at.shear.sum(axis=0),
        )  # fmt: skip
    most, least = moment + q * at.moment[0], moment + q * at.moment[1]
    up, down = shear + q * at.shear[0], shear + q * at.shear[1]
    larger = np.where(up >= -down, up, down)
    pairs = ((most, least), (larger, larger), *((one, one) for one in twisted))
    forces = SectionForces(*(np.concatenate(pair, axis=-1) for pair in pairs))
    if not np.any(aside):
        return forces
    push = aside * np.where(up >= -down, *at.shear)
    return replace(
        forces,
        side_moment=np.concatenate([aside * one for one in at.moment], axis=-1),
        side_shear=np.concatenate([push, push], axis=-1),
    )


@dataclass(frozen=True, slots=True, eq=False)
class Twist:
    """Largest, or smallest, effects of torsion at stations over patterns of load; every field is (..., s).

    Parameters
    ----------
    bimoment, warping_torque, uniform_torque : array
        Each the extreme by itself [N m2], [N m].
    torque : array
        Extreme of the whole torque [N m].
    """

    bimoment: Array
    warping_torque: Array
    uniform_torque: Array
    torque: Array

    @classmethod
    def largest(cls, fixed: TorsionLine, most: TorsionLine, least: TorsionLine, sign: float = 1.0) -> "Twist":
        """Add to the larger of two torques everywhere, on each field, what adds most (smallest: ``sign`` -1).

        Parameters
        ----------
        fixed : TorsionLine
            Under two permanent torques everywhere (..., 2, s).
        most, least : TorsionLine
            Under the largest and the smallest variable torque on each of the F fields alone (..., F, s).
        """

        def extreme(name: str) -> Array:
            always, one, other = (sign * getattr(line, name) for line in (fixed, most, least))
            whole = always.max(axis=-2) + np.maximum(np.maximum(one, other), 0.0).sum(axis=-2)
            return np.asarray(sign * whole)

        return cls(*(extreme(name) for name in ("bimoment", "warping_torque", "uniform_torque", "torque")))


def patterned_twist(
    torsion: TorsionProperties,
    *,
    spans: Spans,
    fixed: Array,
    most: Array,
    least: Array,
    modulus: float,
    shear_modulus: float,
    intervals: int = 2,
) -> tuple[Twist, Twist]:
    """Largest and smallest effects of torques that may turn either way on each field.

    Vlasov's equation is that of a beam under tension, twist for sag and bimoment for moment: over inner
    supports the warping goes on, so what lies on one span is felt in the next. The same torque everywhere is
    then not the worst: with the other half of the roof loaded in the spans beside it, the bimoment in a span
    grows by up to 78 % (two spans: 1/8 for 9/128), the torque at an inner support by some per cent.

    Parameters
    ----------
    torsion : TorsionProperties
        Of the section, batch (...).
    spans : Spans
        Where the module rests.
    fixed : array (..., 2)
        Permanent torques per metre, of which the worse counts [N].
    most, least : array (...)
        Largest and smallest torque per metre of variable load; either, or none, on any field [N].
    modulus, shear_modulus, intervals
        As for `span_forces`.

    Examples
    --------
    >>> from longvault.sections.strips import Strips
    >>> from longvault.sections.torsion import torsion_properties
    >>> u = torsion_properties(Strips.chain([1.0, 0.0, 0.0, 1.0], [2.0, 2.0, 0.0, 0.0], 0.001, "wall"))
    >>> most, _ = patterned_twist(u, spans=Spans.continuous(8.0, 8.0), fixed=np.zeros(2), most=np.array(1.0),
    ...                           least=np.array(-1.0), modulus=30e9, shear_modulus=12e9)
    >>> round(float(most.bimoment.max()), 2), round(float(most.torque.max()), 2)  # m L^2 / 8, 5/8 m L
    (8.0, 5.0)
    """
    at, fields = stations_of(spans, intervals), np.arange(len(spans.fields))
    there = (at.field == fields[:, None]).astype(np.float64)
    stiffness = [
        v[..., None, None] * np.ones_like(at.length)
        for v in (modulus * torsion.warping_constant, shear_modulus * torsion.torsion_constant)
    ]
    fixed_line = _twisted(at, stiffness, fixed[..., None] * np.ones_like(at.length))
    up, down = (_twisted(at, stiffness, swing[..., None, None] * there) for swing in (most, least))
    return Twist.largest(fixed_line, up, down), Twist.largest(fixed_line, up, down, -1.0)


def _twisted(at: Stations, stiffness: list[Array], torque: Array) -> TorsionLine:
    warping, uniform = stiffness
    return beam_torsion(
        length=at.length, warping=warping, uniform=uniform, torque=torque, held=at.held, twice=at.twice
    )
