"""What a largest value is the largest of, strip by strip: limits and measures without kinks, for prices.

Height, section modulus, least thickness, steepest slope and tightest bend are each the worst of many. A best
design often has several of them equal - a straight wing lies at the steepest slope all along - and there the
worst has a kink, which no slope describes. Every piece by itself is smooth.
"""

import numpy as np

from longvault.constraints.basis import Basis
from longvault.constraints.limits import HAIR
from longvault.constraints.making import bends
from longvault.sections.parts import roof_surface, shared
from longvault.sections.properties import section_properties
from longvault.sections.strips import Strips
from longvault.sections.symbols import Array, BoolArray

FAR = 3.0
"""A section modulus of a corner counts at most so many times the least: others never govern."""


def corners(strips: Strips) -> tuple[Array, Array]:
    """Corners x, z (N, 4 e) of the rectangles that N sections of e strips are made of [m].

    Examples
    --------
    >>> flat = Strips.chain([[0.0, 2.0]], [[1.0, 1.0]], [[0.2]], "wing")
    >>> [part.tolist() for part in corners(flat)]
    [[[0.0, 2.0, 0.0, 2.0]], [[1.1, 1.1, 0.9, 0.9]]]
    """
    first, second = strips.ends.T
    x1, x2, z1, z2 = strips.x[:, first], strips.x[:, second], strips.z[:, first], strips.z[:, second]
    half = 0.5 * strips.thickness / np.hypot(x2 - x1, z2 - z1)
    across, up = -half * (z2 - z1), half * (x2 - x1)
    x = np.concatenate([x1 + across, x2 + across, x1 - across, x2 - across], axis=1)
    z = np.concatenate([z1 + up, z2 + up, z1 - up, z2 - up], axis=1)
    return x, z


def heights(strips: Strips) -> Array:
    """Height of each corner above the lowest, depth below the highest (N, 8 e) [m]; the most counts."""
    _, z = corners(strips)
    low, high = z.min(axis=1, keepdims=True), z.max(axis=1, keepdims=True)
    return np.concatenate([z - low, high - z], axis=1)


def moduli(strips: Strips, *, held: bool) -> Array:
    """Moment over stress of each corner (N, 4 e) [m3]: the section modulus is the least.

    Unsymmetrical bending: T. H. G. Megson, Aircraft Structures, ch. 16; ``held`` straight, I_xx / z.
    """
    p = section_properties(strips)
    x, z = corners(strips)
    ixx, izz, ixz = (values[:, None] for values in (p.ixx, p.izz, 0.0 * p.ixz if held else p.ixz))
    x, z = x - p.centroid_x[:, None], z - p.centroid_z[:, None]
    stress = np.abs(izz * z - ixz * x) / (ixx * izz - ixz**2)
    least = 1.0 / stress.max(axis=1, keepdims=True)
    found: Array = np.minimum(1.0 / np.maximum(stress, 1e-12), FAR * least)
    return found


def slopes(strips: Strips) -> Array:
    """Slope of each strip of roof surface, from the horizontal (N, r) [rad].

    Examples
    --------
    >>> slopes(Strips.chain([[0.0, 2.0, 4.0]], [[0.0, 0.0, 2.0]], [[0.1, 0.1]], "wing")).round(4).tolist()
    [[0.0, 0.7854]]
    """
    first, second = strips.ends[roof_surface(strips)].T
    rise = strips.z[:, second] - strips.z[:, first]
    found: Array = np.arctan2(np.abs(rise), np.abs(strips.x[:, second] - strips.x[:, first]))
    return found


def limit_pieces(strips: Strips, basis: Basis, gentle: BoolArray) -> Array:
    """Margins of least thickness, steepest slope, tightest bend, place by place (N, k), and `open_forms`."""
    need, slope = basis.requirements, slopes(strips)
    thickness = strips.thickness * np.where(shared(strips), 2.0, 1.0)
    thin = 1.0 - thickness / (basis.detailing.thickness_floor - HAIR)
    bent = bends(strips, bend_radius=need.bend_radius_min) - 1.0
    pieces = [thin, slope / need.slope_max - 1.0, bent]
    return np.concatenate([*pieces, *open_forms(strips, basis, gentle)], axis=1)


def open_forms(strips: Strips, basis: Basis, gentle: BoolArray) -> list[Array]:
    """Margins of the share of surface that needs a top form, without its jumps; none where it is not limited.

    The share jumps when a strip becomes too steep for open forms, and a jump has no price. So the strips of
    roof surface that ``gentle`` (r,) names stay gentle, each by a margin of its own (N, g), and the others
    count (N, 1).

    Examples
    --------
    Of a flat strip and one at 45 degrees, 2 m and 2.83 m long, the second is too steep for a limit of 0.5 rad
    and takes 0.5858 of the surface where 0.4 are allowed.

    >>> from longvault.constraints.basis import Requirements
    >>> roof = Strips.chain([[0.0, 2.0, 4.0]], [[0.0, 0.0, 2.0]], [[0.1, 0.1]], "wing")
    >>> need = Requirements(height_max=3.0, steep_slope=0.5, steep_share_max=0.4)
    >>> found = open_forms(roof, Basis(span=12.0, pitch=6.0, requirements=need), slopes(roof)[0] <= 0.5)
    >>> [margins.round(4).tolist() for margins in found]
    [[[-1.0]], [[0.4645]]]
    """
    need, slope = basis.requirements, slopes(strips)
    if need.steep_share_max >= 1.0:
        return []
    first, second = strips.ends[roof_surface(strips)].T
    rise, run = (v[:, second] - v[:, first] for v in (strips.z, strips.x))
    length = np.hypot(run, rise)
    share = (length * ~gentle).sum(axis=1) / length.sum(axis=1)
    allowed = need.steep_share_max
    counted = share[:, None] / allowed - 1.0 if allowed > 0.0 else share[:, None]
    return [slope[:, gentle] / need.steep_slope - 1.0, counted]
