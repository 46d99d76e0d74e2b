"""The thick outline of a section as a polygon: mitred, nothing counted twice, judged with reasons."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
import shapely.affinity

from longvault.sections.outline_pieces import (
    Skeleton,
    corner_fillings,
    curve_runs,
    skeleton,
    strip_corners,
    strip_ends,
    strip_pieces,
)
from longvault.sections.polygon import OutlineProperties, outline_properties
from longvault.sections.properties import section_properties
from longvault.sections.strips import Strips
from longvault.sections.symbols import Array
from longvault.sections.topology import section_walk

SLIVER = 1e-9
"""An area below this share of the section is rounding."""
CORNER_REACH = 1.5
"""Strips may cover each other this many thicknesses round a corner."""


@dataclass(frozen=True, slots=True, eq=False)
class Verdict:
    """Whether an outline can be built as drawn.

    Parameters
    ----------
    reasons : tuple of str
        What is wrong; empty when valid.
    shape : shapely geometry
        The outline; empty when the section cannot be measured.
    overlap_area : float
        Area that this module and its right neighbour both claim [m2]; 0 without a pitch.
    """

    reasons: tuple[str, ...]
    shape: shapely.Geometry
    overlap_area: float

    @property
    def valid(self) -> bool:
        """Whether nothing is wrong."""
        return not self.reasons


@dataclass(frozen=True, slots=True, eq=False)
class Comparison:
    """Outline beside mid-line: what the corners, counted twice or left out by the strips, amount to.

    Parameters
    ----------
    outline : OutlineProperties
        Of the polygon.
    area_difference, ixx_difference, s_top_difference, s_bottom_difference : float
        Outline over strips, less one.
    """

    outline: OutlineProperties
    area_difference: float
    ixx_difference: float
    s_top_difference: float
    s_bottom_difference: float


def outline(strips: Strips, *, upright: Sequence[int] = (), tapered: bool = False) -> shapely.Geometry:
    """Polygon of the thick strips of one section.

    Where a curve runs on, neighbours are cut along the bisector of their kink; at corners and branches they
    run to the node, the outer side is filled to the mitre (bevelled where that would reach too far) and the
    union counts nothing twice.

    Parameters
    ----------
    strips : Strips
        One section, no batch.
    upright : sequence of int
        Free end nodes whose end face is vertical (a springing on the bay line) rather than square.
    tapered : bool
        Draw small changes of thickness along a curve as tapers, as they are built, not as steps; the area
        stays the same. Steps are drawn where a taper would turn a strip over.

    Returns
    -------
    shapely Polygon or MultiPolygon
        Coordinates (x, z) [m].

    Raises
    ------
    ValueError
        For a batch, or a section that cannot be measured.

    Examples
    --------
    >>> angle = Strips.chain([0.120, 0.005, 0.005], [0.005, 0.005, 0.150], 0.010, "leg")
    >>> round(outline(angle).area * 1e6, 6)  # 10 x (120 + 150 - 10) mm2
    2600.0
    """
    _need_one(strips)
    bones = skeleton(strips)
    pieces = strip_pieces(bones, strip_ends(bones, upright, tapered=tapered))
    if not shapely.is_valid(pieces).all():
        if tapered:  # a taper would turn a short strip over at a sharp bend: steps do not
            return outline(strips, upright=upright)
        pieces = list(shapely.make_valid(pieces))
    size, far = max(float(np.ptp(strips.x)), float(np.ptp(strips.z))), float(np.abs(strips.nodes).max())
    grid = max(1e-11 * size, 1e-15 * far)  # coarser than the rounding of a place far from the origin
    # each curve by itself first: where its strips share an edge, nothing else may cut that edge in two
    runs = [shapely.union_all([pieces[e] for e in run], grid_size=grid) for run in curve_runs(bones)]
    return _without_slivers(shapely.union_all([*runs, *corner_fillings(bones)], grid_size=grid))


def _without_slivers(shape: shapely.Geometry) -> shapely.Geometry:
    """Fill holes that are rounding at the points where several pieces meet."""
    least = SLIVER * shape.area
    parts = [
        shapely.Polygon(
            part.exterior, [hole for hole in part.interiors if shapely.Polygon(hole).area > least]
        )
        for part in shapely.get_parts(shape)
    ]
    return parts[0] if len(parts) == 1 else shapely.MultiPolygon(parts)


def strip_polygons(strips: Strips, *, upright: Sequence[int] = ()) -> list[shapely.Polygon]:
    """Quadrilateral of each strip, cut along bisectors where the curve runs on; rules as for `outline`."""
    _need_one(strips)
    bones = skeleton(strips)
    return strip_pieces(bones, strip_ends(bones, upright))


def compare_outline(strips: Strips, *, upright: Sequence[int] = ()) -> Comparison:
    """Measure the outline and say how far the strips are from it.

    Examples
    --------
    >>> angle = Strips.chain([0.120, 0.005, 0.005], [0.005, 0.005, 0.150], 0.010, "leg")
    >>> abs(round(compare_outline(angle).area_difference, 9))  # a mitre takes inside what it gives outside
    0.0
    """
    p, exact = section_properties(strips), outline_properties(outline(strips, upright=upright))
    return Comparison(
        exact,
        exact.area / float(p.area) - 1.0,
        exact.ixx / float(p.ixx) - 1.0,
        exact.s_top / float(p.s_top) - 1.0,
        exact.s_bottom / float(p.s_bottom) - 1.0,
    )


def judge_outline(strips: Strips, *, pitch: float | None = None, upright: Sequence[int] = ()) -> Verdict:
    """Judge one section: measurable, one piece, no curve tighter than half its thickness, no crossing.

    With a pitch three modules are tiled: neighbours must not claim the same area.

    Examples
    --------
    >>> bow = Strips.chain([0.0, 2.0, 2.0, 1.0], [0.0, 2.0, 0.0, 2.0], 0.1, "wing")
    >>> judge_outline(bow).reasons
    ('strips 0 and 2 cross',)
    """
    if strips.batch:
        raise ValueError(f"strips: got a batch of shape {strips.batch}; one section is judged at a time")
    empty = shapely.Polygon()
    if not np.isfinite(section_properties(strips).area):
        return Verdict((_unmeasurable(strips),), empty, 0.0)
    try:
        section_walk(strips)
    except ValueError as error:
        return Verdict((str(error),), empty, 0.0)
    bones = skeleton(strips)
    ends = strip_ends(bones, upright)
    tight = _too_tight(bones, strip_corners(bones, ends))
    if tight:
        return Verdict(tight, empty, 0.0)
    shape = outline(strips, upright=upright)
    reasons = [*_crossings(bones, strip_pieces(bones, ends))]
    if shape.geom_type != "Polygon":
        reasons.append("the outline falls apart into pieces")
    overlap = 0.0 if pitch is None else _overlap(shape, pitch)
    if overlap > SLIVER * shape.area:
        reasons.append(f"neighbours at a pitch of {pitch:g} m overlap by {overlap:.3g} m2")
    return Verdict(tuple(reasons), shape, overlap)


def _overlap(shape: shapely.Geometry, pitch: float) -> float:
    """Area shared with the neighbours at one and two pitches (three modules side by side)."""
    moved = [shapely.affinity.translate(shape, k * pitch) for k in (1, 2)]
    return float(sum(shape.intersection(other).area for other in moved))


def _need_one(strips: Strips) -> None:
    if strips.batch:
        raise ValueError(f"strips: got a batch of shape {strips.batch}; one section has one outline")
    if not np.isfinite(section_properties(strips).area):
        raise ValueError(_unmeasurable(strips))


def _unmeasurable(strips: Strips) -> str:
    bad = np.flatnonzero(~(np.isfinite(strips.x) & np.isfinite(strips.z)))
    if bad.size:
        return f"node {bad[0]} has a coordinate that is not a finite number"
    length, t = strips.length, strips.thickness
    strip = int(np.flatnonzero(~((length > 0) & (t > 0) & np.isfinite(t)))[0])
    return f"strip {strip} has length {length[strip]:g} m and thickness {t[strip]:g} m; both must be above 0"


def _too_tight(bones: Skeleton, corners: Array) -> tuple[str, ...]:
    """Name strips whose inner face is turned round: the curve is tighter than half its thickness."""
    lower = np.einsum("ei,ei->e", corners[:, 3] - corners[:, 0], bones.along)
    upper = np.einsum("ei,ei->e", corners[:, 2] - corners[:, 1], bones.along)
    bad = np.flatnonzero(np.minimum(lower, upper) <= 0.0)
    t = bones.strips.thickness
    return tuple(f"strip {e} turns tighter than half its thickness of {t[e]:.3g} m" for e in bad[:3])


def _crossings(bones: Skeleton, polygons: list[shapely.Polygon]) -> list[str]:
    """Pairs of strips that cover each other away from the corners they share."""
    strips = bones.strips
    tree = shapely.STRtree(polygons)
    pairs = tree.query(polygons, predicate="intersects").T
    pairs = pairs[pairs[:, 0] < pairs[:, 1]]
    apart = ~(strips.ends[pairs[:, 0], :, None] == strips.ends[pairs[:, 1], None, :]).any(axis=(1, 2))
    pairs = pairs[apart]
    if not len(pairs):
        return []
    shapes = np.array(polygons, dtype=object)
    common = shapely.intersection(shapes[pairs[:, 0]], shapes[pairs[:, 1]])
    common = shapely.difference(common, _corner_discs(bones))
    least = SLIVER * strips.thickness[pairs].min(axis=1) ** 2
    found = pairs[shapely.area(common) > least]
    return [f"strips {a} and {b} cross" for a, b in found[:3]]


def _corner_discs(bones: Skeleton) -> shapely.Geometry:
    discs = [
        shapely.Point(bones.strips.nodes[node]).buffer(2.0 * CORNER_REACH * float(bones.half[here].max()))
        for node, here in enumerate(bones.meeting)
        if len(here) > 1 and not bones.smooth[node]
    ]
    return shapely.union_all(discs) if discs else shapely.Polygon()
