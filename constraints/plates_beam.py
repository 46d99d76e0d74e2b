"""The beam beside the folded plate: the same load series on an undeformed section, and the beam share."""

from dataclasses import dataclass

import numpy as np

from longvault.constraints.plates import FoldedPlate
from longvault.constraints.plates_results import displacements, passages, smoothed, strip_forces
from longvault.sections import Strips
from longvault.sections.properties import section_properties
from longvault.sections.symbols import Array

ACTS_AS_BEAM = 1.05
"""Folded plate and beam differ by less than 5 % in peak stress: common practice calls that a beam."""

MOVES_AS_BEAM = 1.25
"""Up to this share of deflection the section keeps its shape as a beam does; common practice."""

SMOOTH_KINK = np.radians(30.0)
"""Strips that meet at less are facets of a curve; at more, a fold. A curve that turns by less is flat."""


@dataclass(frozen=True, slots=True, eq=False)
class BeamTheory:
    """Mid-span of the same roof as a beam whose section keeps its shape.

    Parameters
    ----------
    n_y : array (..., e, 2)
        Force along the span at the strip ends [N/m].
    moment : array (...)
        Bending moment, sagging positive [N m].
    right, up : array (...)
        Movement [m].
    """

    n_y: Array
    moment: Array
    right: Array
    up: Array


def beam_theory(solved: FoldedPlate, *, held: bool = False) -> BeamTheory:
    """Bend the section as a beam under the same load, with the same harmonics, at mid-span.

    Free to move sideways (biaxial bending about the centroid, no torsion) or held straight. Per harmonic
    E k^4 [[I_zz, I_xz], [I_xz, I_xx]] (X, Z) = (P_x, P_z) and N_y = t E k^2 (X x + Z z).

    Source: Megson, Aircraft Structures, ch. 16 (unsymmetrical bending; from memory).
    """
    strips = solved.strips
    p = section_properties(strips)
    sine = np.sin(0.5 * np.pi * solved.harmonics)
    k2 = solved.wave * solved.wave
    force = solved.nodal_load[..., ::2].sum(axis=-2)[..., None, :] * (solved.amplitude * sine)[:, None]
    side, lift = force[..., 0], force[..., 1]
    ixx, izz, ixz = (value[..., None] for value in (p.ixx, p.izz, p.ixz))
    with np.errstate(all="ignore"):
        if held:
            z = lift / (solved.modulus * ixx * k2)
            x = np.zeros_like(z)
        else:
            pivot = solved.modulus * (ixx * izz - ixz * ixz) * k2
            z = (izz * lift - ixz * side) / pivot
            x = (ixx * side - ixz * lift) / pivot
        moment, right, up = -(lift / k2).sum(-1), (x / k2).sum(-1), (z / k2).sum(-1)
        bent_x, bent_z = x.sum(-1)[..., None], z.sum(-1)[..., None]
        strain = bent_x * (strips.x - p.centroid_x[..., None]) + bent_z * (strips.z - p.centroid_z[..., None])
    n_y = solved.modulus * strips.thickness[..., None] * np.ascontiguousarray(strain[..., strips.ends])
    return BeamTheory(n_y, moment, right, up)


@dataclass(frozen=True, slots=True, eq=False)
class BeamShare:
    """Folded plate over beam at mid-span: largest stress along the span, largest vertical movement."""

    stress: Array
    deflection: Array


def beam_share(solved: FoldedPlate, beam: BeamTheory) -> BeamShare:
    """Return how much of the folded plate's answer beam theory would have told.

    1 means that beam theory holds; 1.4 that it reads 1.4 times too low. Stress is N_y / t, the mean
    through the thickness, at the worst strip end of each.
    """
    thickness = solved.strips.thickness[..., None]
    found = smoothed(solved.strips, strip_forces(solved, 0.5)).n_y[..., 0, :, :]
    down = displacements(solved, 0.5)[..., 0, :, 2]
    with np.errstate(all="ignore"):
        stress = _peak(found / thickness, (-2, -1)) / _peak(beam.n_y / thickness, (-2, -1))
        return BeamShare(stress, _peak(down, (-1,)) / np.abs(beam.up))


def _peak(values: Array, axis: tuple[int, ...]) -> Array:
    peak: Array = np.abs(values).max(axis=axis)
    return peak


def verdict(share: BeamShare) -> str:
    """Say in words what the beam share of one section means.

    Examples
    --------
    >>> verdict(BeamShare(np.array(1.39), np.array(2.5)))
    'does not act as a beam: beam theory low by x1.39 in stress and low by x2.5 in deflection'
    """
    stress, deflection = float(share.stress), float(share.deflection)
    if not np.isfinite(stress):
        return "has no verdict: beam theory finds no stress to compare with"
    if not np.isfinite(deflection):
        return "has no verdict: beam theory finds no deflection to compare with"
    words = f"beam theory {_off(stress)} in stress and {_off(deflection)} in deflection"
    if not 1.0 / ACTS_AS_BEAM <= stress <= ACTS_AS_BEAM:
        return f"does not act as a beam: {words}"
    if deflection <= MOVES_AS_BEAM:
        return f"acts as a beam: {words}"
    return f"acts as a beam in stress, but loses its shape: {words}"


def _off(ratio: float) -> str:
    if abs(ratio - 1.0) < 0.005:
        return "right"
    if ratio > 1.0:
        return f"low by x{ratio:.3g}"
    return f"high by x{1.0 / ratio:.3g}" if ratio > 0.0 else "high beyond measure"


def mean_radius(strips: Strips) -> float:
    """Return the radius of the curved part of one section [m]: length over turning angle.

    Only two-strip nodes that turn by less than 30 degrees count. Infinite where they turn by less than that
    in all: plates almost flat are no vault.

    Examples
    --------
    >>> angle = np.linspace(-0.6, 0.6, 241)
    >>> round(mean_radius(Strips.chain(5.0 * np.sin(angle), 5.0 * np.cos(angle), 0.1, "wing")), 4)
    5.0
    """
    rows = passages(strips)
    _, one, end_one, two, end_two = rows.T
    into, out = np.where(end_one == 1, 1.0, -1.0), np.where(end_two == 0, 1.0, -1.0)
    dx, dz = strips.span_vectors()
    ax, az, bx, bz = into * dx[one], into * dz[one], out * dx[two], out * dz[two]
    turn = np.abs(np.arctan2(ax * bz - az * bx, ax * bx + az * bz))
    curved = (turn > 1e-6) & (turn < SMOOTH_KINK)
    length = 0.5 * (strips.length[one] + strips.length[two])[curved].sum()
    angle = turn[curved].sum()
    return float(length / angle) if angle >= SMOOTH_KINK else np.inf


def length_label(span: float, radius: float) -> str:
    """Name a vault long, intermediate or short by span over radius.

    Source: Ketchum & Ketchum, Types and Forms of Shell Structures, 1997: long from 5, short below 1 (an
    arbitrary convention, they say): a label, never the judge.

    Examples
    --------
    >>> length_label(24.0, 7.5)
    'intermediate, L/R 3.2'
    >>> length_label(6.0, 7.5)
    'short, L/R 0.8: thrust, another method'
    """
    if not np.isfinite(radius):
        return "folded, no radius to label it by"
    ratio = span / radius
    if ratio < 1.0:
        return f"short, L/R {ratio:.1f}: thrust, another method"
    return f"{'long' if ratio >= 5.0 else 'intermediate'}, L/R {ratio:.1f}"
