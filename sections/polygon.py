"""Exact properties of a polygon with holes: area, centroid, second moments, section moduli."""

from dataclasses import dataclass

import numpy as np
import shapely

from longvault.sections.symbols import Array


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


def outline_rings(shape: shapely.Geometry) -> tuple[Array, ...]:
    """List the closed rings (k, 2) of a polygon or several, first point repeated [m].

    Outer rings run counter-clockwise, holes clockwise, so that signed sums count no hole; lines and points
    have no ring.

    Examples
    --------
    >>> [ring.shape for ring in outline_rings(shapely.box(0, 0, 2, 1))]
    [(5, 2)]
    """
    parts = shapely.get_parts(shape)
    polygons = shapely.orient_polygons(parts[shapely.get_type_id(parts) == shapely.GeometryType.POLYGON])
    rings = [ring for polygon in polygons for ring in (polygon.exterior, *polygon.interiors)]
    return tuple(shapely.get_coordinates(ring) for ring in rings)


def outline_properties(shape: shapely.Geometry) -> OutlineProperties:
    """Area, centroid, second moments and moduli of a polygon, exact (Green's theorem round its rings).

    Examples
    --------
    >>> round(outline_properties(shapely.box(0, 0, 0.2, 0.6)).ixx * 1e6, 6)  # b h^3 / 12
    3600.0
    """
    middle = np.array([shape.centroid.x, shape.centroid.y])
    sums = np.sum([_ring_sums(ring - middle) for ring in outline_rings(shape)], axis=0)
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
