"""Can it be made: slopes, thickness, bends, tapers, and a profile that stays clear of itself."""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from longvault.constraints import kernels, making_kernels
from longvault.sections.parts import BEAM_PARTS, roof_surface, shared
from longvault.sections.rows import by_field, rows_and_chain
from longvault.sections.strips import Strips
from longvault.sections.symbols import Array, IntArray
from longvault.sections.topology import tree_order


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
    measured when the section branches or its profile turns back on itself anywhere (a step against x, or a
    corner beyond a right angle); a chain that never turns back and nowhere bends tighter than t/2 cannot
    touch itself.

    Parameters
    ----------
    strips : Strips
        An open section; batch shape (...).
    bend_radius : float
        Smallest radius of the concave face [m].
    steep_slope : float
        Slope beyond which a top form is needed [rad].

    Raises
    ------
    ValueError
        If the strips form a closed cell or separate pieces.

    Examples
    --------
    >>> roof = Strips.chain([0.0, 3.0, 6.0], [0.0, 3.0, 0.0], 0.1, ["wing", "crown"])
    >>> m = making(roof, bend_radius=0.5, steep_slope=0.7)
    >>> round(float(np.degrees(m.slope)), 6), float(m.steep_share), round(float(m.surface), 4)
    (45.0, 1.0, 8.4853)
    """
    return strips.kept(_making, bend_radius, steep_slope)


def _making(strips: Strips, bend_radius: float, steep_slope: float) -> Making:
    out = np.empty((int(np.prod(strips.batch)), kernels.MAKING_FIELDS))
    kernels.making_rows(
        *rows_and_chain(strips),
        roof_surface(strips),
        shared(strips),
        corners(strips.ends.tobytes(), strips.parts),
        tree_order(strips).steps,
        float(bend_radius),
        float(np.sin(steep_slope)),
        out,
    )
    return Making(*by_field(out, strips.batch))


def bends(strips: Strips, *, bend_radius: float) -> Array:
    """Curvature times bend radius (..., C) at each corner of a section; the largest is ``Making.tightness``.

    Corners that need not be smooth count 0; NaN for a section that is none. ``bend_radius`` [m] is that of
    the concave face.

    Examples
    --------
    >>> roof = Strips.chain([0.0, 1.0, 2.0, 3.0], [0.0, 0.0, 0.2, 0.6], 0.1, "wing")
    >>> bends(roof, bend_radius=0.45).round(4).tolist()
    [0.098, 0.0876]
    """
    found = corners(strips.ends.tobytes(), strips.parts)
    out = np.empty((int(np.prod(strips.batch)), len(found)))
    making_kernels.bends_rows(
        *rows_and_chain(strips),
        roof_surface(strips),
        shared(strips),
        found,
        float(bend_radius),
        out,
    )
    return out.reshape(*strips.batch, len(found))


@lru_cache(maxsize=256)
def corners(ends_bytes: bytes, parts: tuple[str, ...], members: bool = False) -> IntArray:
    """List the corners where just two strips, or two strips of ``members``, meet.

    Rows (strip, strip, sign, sign, smooth).

    The signs turn the first strip into the node and the second out of it; a corner is smooth when both
    strips are roof surface of one part, so that a bend there must suit the forms.
    """
    ends = np.frombuffer(ends_bytes, dtype=np.intp).reshape(-1, 2)
    looked_at = np.array([not members or part in BEAM_PARTS for part in parts])
    rows = []
    for node in range(int(ends.max()) + 1):
        meeting = np.flatnonzero((ends == node).any(axis=1) & looked_at)
        if len(meeting) != 2:
            continue
        e, g = (int(v) for v in meeting)
        smooth = parts[e] == parts[g] and parts[e] not in BEAM_PARTS
        rows.append((e, g, 1 if ends[e, 1] == node else -1, 1 if ends[g, 0] == node else -1, int(smooth)))
    return np.array(rows, dtype=np.intp).reshape(-1, 5)
