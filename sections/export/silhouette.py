"""The concrete as it is drawn: closed rings around the thick strips of one section."""

from dataclasses import dataclass

import numpy as np
import shapely

from longvault.sections.strips import Strips
from longvault.sections.symbols import Array, IntArray

HAIR = 1e-6
"""Gaps narrower than twice this [m] between the pieces of one outline are rounding, and are closed."""
SMOOTH_STEP = 0.3
"""Thicknesses that differ by less at a smooth joint are drawn as a taper, others as a step."""
SMOOTH_KINK = np.radians(30.0)
"""Two strips that turn less than this are one smooth curve."""
MITRE_LIMIT = 2.0
"""A corner reaches no further than this many half-thicknesses from its node; a sharper one is cut off."""


@dataclass(frozen=True, slots=True, eq=False)
class Silhouette:
    """The drawn concrete.

    Parameters
    ----------
    shape : shapely geometry
        Polygon or MultiPolygon [m].
    """

    shape: shapely.Geometry

    @property
    def rings(self) -> tuple[Array, ...]:
        """Closed rings (k, 2), first point repeated: outer rings counter-clockwise, holes clockwise [m]."""
        rings = []
        for polygon in shapely.get_parts(self.shape):
            oriented = shapely.orient_polygons(polygon)
            rings.append(shapely.get_coordinates(oriented.exterior))
            rings.extend(shapely.get_coordinates(hole) for hole in oriented.interiors)
        return tuple(rings)


def silhouette(strips: Strips) -> Silhouette:
    """Union of the strips drawn to thickness, with mitred corners.

    Each strip is a quadrilateral about its mid-line, square at its ends; where two strips meet at an angle
    the outer wedge is filled to the mitre. For equal thickness the wedge is as large as the overlap on the
    inner side, so the area is thickness x mid-line length; at thickness steps and branches the union counts
    no place twice.

    Parameters
    ----------
    strips : Strips
        One section, no batch.

    Examples
    --------
    >>> angle = Strips.chain([0.0, 2.0, 2.0], [0.0, 0.0, 1.0], 0.2, "web")
    >>> round(silhouette(angle).shape.area, 9)  # 0.2 x (2 + 1)
    0.6
    """
    if strips.batch:
        raise ValueError(f"strips: got a batch of shape {strips.batch}; one section can be drawn at a time")
    quads = _quads(strips)
    wedges = [wedge for node in range(len(strips.x)) for wedge in _wedges(strips, node)]
    pieces = [shapely.Polygon(points) for points in (*quads, *wedges)]
    grown = shapely.union_all(shapely.buffer(pieces, HAIR, join_style="mitre"))
    shape = shapely.buffer(grown, -HAIR, join_style="mitre")
    return Silhouette(shapely.simplify(shape, 0.1 * HAIR))


def _quads(strips: Strips) -> list[Array]:
    p, q = strips.nodes[strips.ends[:, 0]], strips.nodes[strips.ends[:, 1]]
    along = q - p
    normal = np.stack([-along[:, 1], along[:, 0]], axis=1) / strips.length[:, None]
    at_first, at_second = _end_thickness(strips)
    a, b = 0.5 * at_first[:, None] * normal, 0.5 * at_second[:, None] * normal
    return list(np.stack([p - a, q - b, q + b, p + a], axis=1))


def _end_thickness(strips: Strips) -> tuple[Array, Array]:
    """Thickness at both ends of each strip: the mean of two neighbours where a smooth curve tapers."""
    at = np.stack([strips.thickness, strips.thickness], axis=1)
    for node in range(len(strips.x)):
        meeting = np.argwhere(strips.ends == node)
        if len(meeting) != 2:
            continue
        t = strips.thickness[meeting[:, 0]]
        if abs(t[0] - t[1]) <= SMOOTH_STEP * t.max() and abs(_kink(strips, node, meeting)) < SMOOTH_KINK:
            at[meeting[:, 0], meeting[:, 1]] = t.mean()
    return at[:, 0], at[:, 1]


def _leaving(strips: Strips, node: int, strip: int) -> Array:
    """Return the unit vector from a node along a strip."""
    i, j = strips.ends[strip]
    vector = strips.nodes[j if i == node else i] - strips.nodes[node]
    unit: Array = vector / np.hypot(*vector)
    return unit


def _kink(strips: Strips, node: int, meeting: IntArray) -> float:
    """Turn of the mid-line from the first strip, through the node, into the second; left positive [rad]."""
    come, go = (_leaving(strips, node, int(e)) for e in meeting[:, 0])
    return float(np.arctan2(-come[0] * go[1] + come[1] * go[0], -come @ go))


def _wedges(strips: Strips, node: int) -> list[Array]:
    """Polygons that fill the outer side of each corner between neighbours around a node."""
    meeting = [int(e) for e in np.argwhere(strips.ends == node)[:, 0]]
    if len(meeting) < 2:
        return []
    rays = [(_leaving(strips, node, e), 0.5 * float(strips.thickness[e])) for e in meeting]
    rays.sort(key=lambda ray: float(np.arctan2(ray[0][1], ray[0][0])))
    pairs = zip(rays, rays[1:] + rays[:1], strict=True)
    return [w for ray, following in pairs for w in _wedge(strips.nodes[node], ray, following)]


def _wedge(node: Array, ray: tuple[Array, float], following: tuple[Array, float]) -> list[Array]:
    """Fill between two rays in counter-clockwise order, when they are more than half a turn apart."""
    (u, a), (v, b) = ray, following
    gap = float(np.arctan2(u[0] * v[1] - u[1] * v[0], u @ v)) % (2 * np.pi)
    if gap - np.pi <= 1e-6:
        return []
    left, right = node + a * np.array([-u[1], u[0]]), node + b * np.array([v[1], -v[0]])
    determinant = u[0] * v[1] - u[1] * v[0]
    beyond_left = ((right[0] - left[0]) * v[1] - (right[1] - left[1]) * v[0]) / determinant
    beyond_right = ((right[0] - left[0]) * u[1] - (right[1] - left[1]) * u[0]) / determinant
    corner = left + beyond_left * u
    near = np.hypot(*(corner - node)) <= MITRE_LIMIT * max(a, b)
    if near and beyond_left <= 0.0 and beyond_right <= 0.0:
        return [np.array([node, left, corner, right])]
    return [np.array([node, left, right])]
