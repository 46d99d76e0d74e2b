"""Can it be made: slopes, thickness, bends, tapers, and a profile that stays clear of itself."""

from dataclasses import dataclass

import numpy as np

from longvault.constraints import kernels
from longvault.sections.parts import roof_surface, shared
from longvault.sections.strips import Strips
from longvault.sections.symbols import Array, BoolArray


@dataclass(frozen=True, slots=True, eq=False)
class Making:
    """What the builder asks of a profile; every field is (...).

    Parameters
    ----------
    surface : array
        Developed length of roof surface, beams and kerbs left out [m].
    slope : array
        Steepest roof surface, from the horizontal [rad].
    steep_share : array
        Share of the roof surface steeper than the open-form slope, 0 to 1.
    thickness : array
        Least thickness; a half of a shared valley member counts whole [m].
    tightness : array
        Largest curvature x (bend radius + t/2) at smooth joints: 1 means the concave face has the
        smallest radius the forms allow.
    taper : array
        Largest change of thickness per metre of profile inside a part, --.
    clearance : array
        Least distance between strips that are far apart along the profile, over their mean thickness:
        1 means the faces touch. Distances beyond two thicknesses count as two.
    """

    surface: Array
    slope: Array
    steep_share: Array
    thickness: Array
    tightness: Array
    taper: Array
    clearance: Array


def making(strips: Strips, *, bend_radius: float, steep_slope: float) -> Making:
    """Measure what slopes, bends, thickness and tapers a profile asks of the builder.

    Slopes: above about 45 degrees fresh concrete needs a top form (Panarese & Kunze, Construction
    Specifier, Dec 1963). Clearance: all pairs of strips three mean thicknesses apart along the profile are
    measured when the profile turns back on itself anywhere (a step against x, or a corner beyond a right
    angle); a profile that never turns back and nowhere bends tighter than t/2 cannot touch itself.

    Parameters
    ----------
    strips : Strips
        A chain; batch shape (...).
    bend_radius : float
        Smallest radius of the concave face [m].
    steep_slope : float
        Slope beyond which a top form is needed [rad].

    Raises
    ------
    ValueError
        If the strips are not a chain.

    Examples
    --------
    >>> roof = Strips.chain([0.0, 3.0, 6.0], [0.0, 3.0, 0.0], 0.1, ["wing", "crown"])
    >>> m = making(roof, bend_radius=0.5, steep_slope=0.7)
    >>> round(float(np.degrees(m.slope)), 6), float(m.steep_share), round(float(m.surface), 4)
    (45.0, 1.0, 8.4853)
    """
    if not strips.is_chain:
        raise ValueError("making: got branched or closed strips; the profile must be one chain")
    nodes, count = strips.x.shape[-1], strips.thickness.shape[-1]
    out = np.empty((int(np.prod(strips.batch)), kernels.MAKING_FIELDS))
    first, second = np.ascontiguousarray(strips.ends.T)
    kernels.making_rows(
        strips.x.reshape(-1, nodes),
        strips.z.reshape(-1, nodes),
        first,
        second,
        strips.thickness.reshape(-1, count),
        roof_surface(strips),
        shared(strips),
        smooth_joints(strips),
        float(bend_radius),
        float(np.sin(steep_slope)),
        out,
    )
    return Making(*np.ascontiguousarray(out.T).reshape(-1, *strips.batch))


def smooth_joints(strips: Strips) -> BoolArray:
    """Mark strips of a chain that go on from the one before within the same part (e,)."""
    surface = roof_surface(strips)
    same = [False] + [a == b for a, b in zip(strips.parts, strips.parts[1:], strict=False)]
    return np.array(same, dtype=np.bool_) & surface
