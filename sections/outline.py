"""The thick outline of a section as a polygon: mitred, nothing counted twice, judged with reasons."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely
import shapely.affinity

from longvault.sections.properties import section_properties
from longvault.sections.strips import Strips
from longvault.sections.symbols import Array, BoolArray, IntArray
from longvault.sections.topology import section_walk

SMOOTH = np.radians(30.0)
"""Strips that turn less where they meet are one curve, cut along the bisector; others form a corner."""
SLIVER = 1e-9
"""An area below this share of the section is rounding."""
MITRE_LIMIT = 1.5
"""A corner reaches no further than this many half thicknesses from its node: some 95 degrees of turn."""
CORNER_REACH = 1.5
"""Strips may cover each other this many thicknesses round a corner."""


@dataclass(frozen=True, slots=True, eq=False)
class OutlineProperties:
    """Exact properties of a polygon, own symbols as in `longvault.sections.properties.Properties`."""

    area: float
    centroid_x: float
    centroid_z: float
    ixx: float
    izz: float
    ixz: float
    top: float
    bottom: float
    s_top: float
    s_bottom: float


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


def outline(strips: Strips, *, upright: Sequence[int] = ()) -> shapely.Geometry:
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
    pieces = [*strip_polygons(strips, upright=upright), *_corner_fillings(strips)]
    size = max(float(np.ptp(strips.x)), float(np.ptp(strips.z)))
    return shapely.union_all(pieces, grid_size=1e-11 * size)


def strip_polygons(strips: Strips, *, upright: Sequence[int] = ()) -> list[shapely.Polygon]:
    """Quadrilateral of each strip, cut along bisectors where the curve runs on; rules as for `outline`."""
    _need_one(strips)
    return [shapely.Polygon(ring) for ring in _corners(strips, upright)[1]]


def outline_properties(shape: shapely.Geometry) -> OutlineProperties:
    """Area, centroid, second moments and moduli of a polygon, exact (Green's theorem round its rings).

    Examples
    --------
    >>> round(outline_properties(shapely.box(0, 0, 0.2, 0.6)).ixx * 1e6, 6)  # b h^3 / 12
    3600.0
    """
    middle = np.array([shape.centroid.x, shape.centroid.y])
    sums = np.zeros(6)
    for polygon in shapely.get_parts(shape):
        oriented = shapely.orient_polygons(polygon)
        for ring in (oriented.exterior, *oriented.interiors):
            sums += _ring_sums(shapely.get_coordinates(ring) - middle)
    area, sx, sz, ixx, izz, ixz = (float(v) for v in sums)
    cx, cz = sx / area, sz / area
    ixx, izz, ixz = ixx - area * cz * cz, izz - area * cx * cx, ixz - area * cx * cz
    _, low, _, high = shape.bounds
    x, z = float(middle[0]) + cx, float(middle[1]) + cz
    return OutlineProperties(area, x, z, ixx, izz, ixz, high, low, ixx / (high - z), ixx / (z - low))


def _ring_sums(points: Array) -> Array:
    """Integrals of 1, x, z, z^2, x^2 and x z over a ring, positive when it runs counter-clockwise."""
    (x1, z1), (x2, z2) = points[:-1].T, points[1:].T
    w = x1 * z2 - x2 * z1
    return np.array(
        [
            w.sum() / 2,
            (w * (x1 + x2)).sum() / 6,
            (w * (z1 + z2)).sum() / 6,
            (w * (z1 * z1 + z1 * z2 + z2 * z2)).sum() / 12,
            (w * (x1 * x1 + x1 * x2 + x2 * x2)).sum() / 12,
            (w * (x1 * z2 + 2 * x1 * z1 + 2 * x2 * z2 + x2 * z1)).sum() / 24,
        ]
    )


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
    corners, rings = _corners(strips, upright)
    tight = _too_tight(strips, corners)
    if tight:
        return Verdict(tight, empty, 0.0)
    shape = outline(strips, upright=upright)
    reasons = [*_crossings(strips, [shapely.Polygon(ring) for ring in rings])]
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


def _frames(strips: Strips) -> tuple[Array, Array]:
    """Find unit vectors along each strip and to its left, (e, 2) each."""
    dx, dz = strips.span_vectors()
    along = np.stack([dx, dz], axis=1) / strips.length[:, None]
    return along, np.stack([-along[:, 1], along[:, 0]], axis=1)


def _meeting(strips: Strips) -> list[IntArray]:
    """List the strips that meet at each node."""
    flat = strips.ends.ravel()
    order = np.argsort(flat, kind="stable")
    groups = np.split(order // 2, np.searchsorted(flat[order], np.arange(1, strips.x.size)))
    return list(groups)


def _turn(strips: Strips, along: Array, node: int, pair: IntArray) -> tuple[float, float, float]:
    """Turn of the mid-line from one strip through the node into the other, and how each strip points."""
    first, second = (int(e) for e in pair)
    come = 1.0 if strips.ends[first, 1] == node else -1.0
    go = 1.0 if strips.ends[second, 0] == node else -1.0
    u, v = come * along[first], go * along[second]
    return float(np.arctan2(u[0] * v[1] - u[1] * v[0], u @ v)), come, go


def _smooth_nodes(strips: Strips, meeting: list[IntArray], along: Array) -> BoolArray:
    """Nodes where exactly two strips meet and turn little."""
    return np.array(
        [len(m) == 2 and abs(_turn(strips, along, n, m)[0]) < SMOOTH for n, m in enumerate(meeting)],
        dtype=np.bool_,
    )


def _corners(strips: Strips, upright: Sequence[int]) -> tuple[Array, list[list[Array]]]:
    """Find corners (e, 4, 2) of the strips, and rings that also hold the corners of thinner neighbours.

    Order: right and left at the first end, left and right at the second. Neighbours on a curve share their
    corners to the last bit, so that their union has no slivers.
    """
    along, left = _frames(strips)
    meeting = _meeting(strips)
    half = 0.5 * strips.thickness
    step = np.stack(
        [half[:, None] * left, half[:, None] * left], axis=1
    )  # to the left corner, (e, 2 ends, 2)
    inner: dict[tuple[int, int], Array] = {}
    for node in np.flatnonzero(_smooth_nodes(strips, meeting, along)):
        turn, come, go = _turn(strips, along, int(node), meeting[node])
        first, second = (int(e) for e in meeting[node])
        bisector = come * left[first] + go * left[second]
        face = bisector / (np.hypot(*bisector) * np.cos(0.5 * turn))
        for strip, other, way in ((first, second, come), (second, first, go)):
            end = 0 if strips.ends[strip, 0] == node else 1
            step[strip, end] = way * (half[strip] * face)
            if half[other] < half[strip]:
                inner[strip, end] = way * (half[other] * face)
    for free in upright:
        last = int(meeting[free][0])
        if len(meeting[free]) == 1 and abs(left[last, 1]) > 0.5:
            step[last, 0 if strips.ends[last, 0] == free else 1] = [0.0, half[last] / left[last, 1]]
    nodes = strips.nodes[strips.ends]
    a, b = nodes[:, 0], nodes[:, 1]
    corners = np.stack([a - step[:, 0], a + step[:, 0], b + step[:, 1], b - step[:, 1]], axis=1)
    rings = []
    for strip, (low_1, high_1, high_2, low_2) in enumerate(corners):
        near, far = inner.get((strip, 0)), inner.get((strip, 1))
        at_first = [] if near is None else [a[strip] - near, a[strip] + near]
        at_second = [] if far is None else [b[strip] + far, b[strip] - far]
        rings.append([low_1, *at_first, high_1, high_2, *at_second, low_2])
    return corners, rings


def _corner_fillings(strips: Strips) -> list[shapely.Polygon]:
    """Wedges on the outer side of every corner, to the mitre."""
    along, _ = _frames(strips)
    meeting = _meeting(strips)
    smooth = _smooth_nodes(strips, meeting, along)
    fillings = []
    for node, strips_here in enumerate(meeting):
        if len(strips_here) < 2 or smooth[node]:
            continue
        rays = [_ray(strips, along, node, int(e)) for e in strips_here]
        rays.sort(key=lambda ray: float(np.arctan2(ray[0][1], ray[0][0])))
        for ray, following in pairwise([*rays, rays[0]]):
            fillings += _filling(strips.nodes[node], ray, following)
    return fillings


Ray = tuple[Array, float, float]
"""Direction of a strip as it leaves a node, half its thickness, its length."""


def _ray(strips: Strips, along: Array, node: int, strip: int) -> Ray:
    way = 1.0 if strips.ends[strip, 0] == node else -1.0
    return way * along[strip], 0.5 * float(strips.thickness[strip]), float(strips.length[strip])


def _filling(node: Array, ray: Ray, following: Ray) -> list[shapely.Polygon]:
    """Fill between two rays that leave a node counter-clockwise, more than half a turn apart.

    The filling reaches into both strips, so that no sliver stays open between them.
    """
    (u, a, long_u), (v, b, long_v) = ray, following
    if float(np.arctan2(u[0] * v[1] - u[1] * v[0], u @ v)) % (2 * np.pi) <= np.pi + 1e-9:
        return []
    left, right = a * np.array([-u[1], u[0]]), b * np.array([v[1], -v[0]])
    inside_u, inside_v = left + 0.5 * min(a, long_u) * u, right + 0.5 * min(b, long_v) * v
    # the mitre stands where both outer faces, produced backwards, meet
    corner = np.linalg.solve([[-u[1], u[0]], [v[1], -v[0]]], [a, b])
    mitred = np.hypot(*corner) <= MITRE_LIMIT * max(a, b) and corner @ u <= 0.0 and corner @ v <= 0.0
    middle = [corner] if mitred else [left, right]
    return [shapely.Polygon(node + np.array([0.0 * u, inside_u, *middle, inside_v]))]


def _too_tight(strips: Strips, corners: Array) -> tuple[str, ...]:
    """Name strips whose inner face is turned round: the curve is tighter than half its thickness."""
    along, _ = _frames(strips)
    lower = np.einsum("ei,ei->e", corners[:, 3] - corners[:, 0], along)
    upper = np.einsum("ei,ei->e", corners[:, 2] - corners[:, 1], along)
    bad = np.flatnonzero(np.minimum(lower, upper) <= 0.0)
    return tuple(
        f"strip {e} turns tighter than half its thickness of {strips.thickness[e]:.3g} m" for e in bad[:3]
    )


def _crossings(strips: Strips, polygons: list[shapely.Polygon]) -> list[str]:
    """Pairs of strips that cover each other away from the corners they share."""
    tree = shapely.STRtree(polygons)
    pairs = tree.query(polygons, predicate="intersects").T
    pairs = pairs[pairs[:, 0] < pairs[:, 1]]
    apart = ~(strips.ends[pairs[:, 0], :, None] == strips.ends[pairs[:, 1], None, :]).any(axis=(1, 2))
    pairs = pairs[apart]
    if not len(pairs):
        return []
    shapes = np.array(polygons, dtype=object)
    common = shapely.intersection(shapes[pairs[:, 0]], shapes[pairs[:, 1]])
    common = shapely.difference(common, _corner_discs(strips))
    least = SLIVER * strips.thickness[pairs].min(axis=1) ** 2
    found = pairs[shapely.area(common) > least]
    return [f"strips {a} and {b} cross" for a, b in found[:3]]


def _corner_discs(strips: Strips) -> shapely.Geometry:
    along, _ = _frames(strips)
    meeting = _meeting(strips)
    smooth = _smooth_nodes(strips, meeting, along)
    discs = [
        shapely.Point(strips.nodes[node]).buffer(CORNER_REACH * float(strips.thickness[here].max()))
        for node, here in enumerate(meeting)
        if len(here) > 1 and not smooth[node]
    ]
    return shapely.union_all(discs) if discs else shapely.Polygon()
