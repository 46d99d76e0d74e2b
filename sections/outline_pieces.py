"""The pieces of a thick outline: a polygon for each strip, and the fillings of corners up to the mitre."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely

from longvault.sections.strips import Strips
from longvault.sections.symbols import Array, BoolArray, IntArray

SMOOTH = np.radians(30.0)
"""Strips that turn less where they meet are one curve, cut along the bisector; others form a corner."""
TAPER_STEP = 0.25
"""Thicknesses that differ by less on a curve may be drawn as a taper; others stay a step."""
MITRE_LIMIT = 1.5
"""A corner reaches no further than this many half thicknesses from its node: some 95 degrees of turn."""


@dataclass(frozen=True, slots=True, eq=False)
class Skeleton:
    """Mid-line of one section with what its outline asks for again and again.

    Parameters
    ----------
    strips : Strips
    along, left : array (e, 2)
        Unit vectors along each strip and to its left.
    half : array (e,)
        Half the thickness [m].
    meeting : list of int arrays
        Strips that meet at each node.
    smooth : bool array (n,)
        Nodes where exactly two strips meet and turn little.
    """

    strips: Strips
    along: Array
    left: Array
    half: Array
    meeting: list[IntArray]
    smooth: BoolArray

    def turn(self, node: int) -> tuple[float, float, float]:
        """Turn of the mid-line through a node where two strips meet, and how each of them points."""
        first, second = (int(e) for e in self.meeting[node])
        come = 1.0 if self.strips.ends[first, 1] == node else -1.0
        go = 1.0 if self.strips.ends[second, 0] == node else -1.0
        u, v = come * self.along[first], go * self.along[second]
        return float(np.arctan2(u[0] * v[1] - u[1] * v[0], u @ v)), come, go


def skeleton(strips: Strips) -> Skeleton:
    """Measure the mid-line of one section."""
    dx, dz = strips.span_vectors()
    along = np.stack([dx, dz], axis=1) / strips.length[:, None]
    left = np.stack([-along[:, 1], along[:, 0]], axis=1)
    flat = strips.ends.ravel()
    order = np.argsort(flat, kind="stable")
    meeting = list(np.split(order // 2, np.searchsorted(flat[order], np.arange(1, strips.x.size))))
    smooth = np.zeros(strips.x.size, dtype=np.bool_)
    bones = Skeleton(strips, along, left, 0.5 * strips.thickness, meeting, smooth)
    for node, here in enumerate(meeting):
        smooth[node] = len(here) == 2 and abs(bones.turn(node)[0]) < SMOOTH
    return bones


@dataclass(frozen=True, slots=True, eq=False)
class Ends:
    """How the strips end.

    Parameters
    ----------
    step : array (e, 2, 2)
        From the node at either end of a strip to its left corner there [m].
    inner : dict
        The same for the corner of a thinner neighbour, by (strip, end).
    taper : array (e, 2)
        Length over which the thickness changes from the end to the strip's own; 0 for none [m].
    """

    step: Array
    inner: dict[tuple[int, int], Array]
    taper: Array


def strip_ends(bones: Skeleton, upright: Sequence[int] = (), *, tapered: bool = False) -> Ends:
    """End strips square, on the bisector where a curve runs on, vertically at the nodes in ``upright``."""
    strips, half, left = bones.strips, bones.half, bones.left
    square = half[:, None] * left
    found = Ends(np.stack([square, square], axis=1), {}, np.zeros(strips.ends.shape))
    for node in np.flatnonzero(bones.smooth):
        _join(bones, int(node), tapered, found)
    for free in upright:
        last = int(bones.meeting[free][0])
        if len(bones.meeting[free]) == 1 and abs(left[last, 1]) > 0.5:
            end = 0 if strips.ends[last, 0] == free else 1
            found.step[last, end] = [0.0, half[last] / left[last, 1]]
    return found


def _join(bones: Skeleton, node: int, tapered: bool, found: Ends) -> None:
    """End the two strips of a curve on the bisector of their kink."""
    turn, come, go = bones.turn(node)
    first, second = (int(e) for e in bones.meeting[node])
    bisector = come * bones.left[first] + go * bones.left[second]
    face = bisector / (np.hypot(*bisector) * np.cos(0.5 * turn))
    reach = _taper(bones, node, turn) if tapered else 0.0
    mean = 0.5 * (bones.half[first] + bones.half[second])
    for strip, other, way in ((first, second, come), (second, first, go)):
        end = 0 if bones.strips.ends[strip, 0] == node else 1
        found.step[strip, end] = way * ((mean if reach else bones.half[strip]) * face)
        found.taper[strip, end] = reach
        if not reach and bones.half[other] < bones.half[strip]:
            found.inner[strip, end] = way * (bones.half[other] * face)


def _taper(bones: Skeleton, node: int, turn: float) -> float:
    """Length either side of a joint over which two thicknesses become one; 0 for a step.

    It is as long in both strips, so that what one gains the other loses, and no longer than half the larger
    thickness, so that a jump between long strips stays where it is.
    """
    pair = bones.meeting[node]
    thin, thick = np.sort(2.0 * bones.half[pair])
    reach = float(min(0.5 * bones.strips.length[pair].min(), 0.5 * thick))
    jump = float(thick - thin)
    folds = 0.5 * thick * np.tan(0.5 * abs(turn)) >= reach
    return reach if 0.0 < jump <= TAPER_STEP * thick and not folds else 0.0


def strip_corners(bones: Skeleton, ends: Ends) -> Array:
    """Corners (e, 4, 2): right and left at the first end, left and right at the second."""
    nodes, step = bones.strips.nodes[bones.strips.ends], ends.step
    a, b = nodes[:, 0], nodes[:, 1]
    return np.stack([a - step[:, 0], a + step[:, 0], b + step[:, 1], b - step[:, 1]], axis=1)


def strip_pieces(bones: Skeleton, ends: Ends) -> list[shapely.Polygon]:
    """Polygon of each strip; it also holds the corners of thinner neighbours.

    Neighbours on a curve share their corners to the last bit, so that their union has no slivers.
    """
    nodes = bones.strips.nodes[bones.strips.ends]
    rings = []
    for strip, (right_1, left_1, left_2, right_2) in enumerate(strip_corners(bones, ends)):
        a, b = nodes[strip]
        side = bones.half[strip] * bones.left[strip]
        far_1, far_2 = ends.taper[strip]
        inner_1, inner_2 = ends.inner.get((strip, 0)), ends.inner.get((strip, 1))
        on_1 = [a + far_1 * bones.along[strip]] if far_1 else []
        meet = far_1 + far_2 > (1.0 - 1e-9) * bones.strips.length[strip]
        on_2 = [b - far_2 * bones.along[strip]] if far_2 and not meet else []
        at_1 = [] if inner_1 is None else [a - inner_1, a + inner_1]
        at_2 = [] if inner_2 is None else [b + inner_2, b - inner_2]
        upper, lower = [p + side for p in (*on_1, *on_2)], [p - side for p in (*on_2, *on_1)]
        rings.append([right_1, *at_1, left_1, *upper, left_2, *at_2, right_2, *lower])
    return [shapely.Polygon(ring) for ring in rings]


def curve_runs(bones: Skeleton) -> list[IntArray]:
    """Group the strips of each curve that runs on without a corner or branch."""
    run = np.arange(len(bones.half))
    for node in np.flatnonzero(bones.smooth):
        first, second = bones.meeting[node]
        run[run == run[second]] = run[first]
    return [np.flatnonzero(run == key) for key in np.unique(run)]


def corner_fillings(bones: Skeleton) -> list[shapely.Polygon]:
    """Wedges on the outer side of every corner, to the mitre."""
    fillings = []
    for node, here in enumerate(bones.meeting):
        if len(here) < 2 or bones.smooth[node]:
            continue
        rays = [_ray(bones, node, int(e)) for e in here]
        rays.sort(key=lambda ray: float(np.arctan2(ray[0][1], ray[0][0])))
        for ray, following in pairwise([*rays, rays[0]]):
            fillings += _filling(bones.strips.nodes[node], ray, following)
    return fillings


Ray = tuple[Array, float, float]
"""Direction of a strip as it leaves a node, half its thickness, its length."""


def _ray(bones: Skeleton, node: int, strip: int) -> Ray:
    way = 1.0 if bones.strips.ends[strip, 0] == node else -1.0
    return way * bones.along[strip], float(bones.half[strip]), float(bones.strips.length[strip])


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
