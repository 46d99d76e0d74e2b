"""The kern: where a force may act without any fibre changing the sign of its stress."""

import numpy as np
from scipy.spatial import ConvexHull

from longvault.sections.properties import section_properties
from longvault.sections.strips import Strips
from longvault.sections.symbols import Array


def kern_polygon(strips: Strips) -> Array:
    """Corners (k, 2) of the kern of one section, counter-clockwise, as (x, z) [m].

    A force at a kern corner puts the neutral axis along a side of the convex hull of the section: for the
    side a x + c z = -1 about the centroid, x_k = (I_zz a + I_xz c) / A and z_k = (I_xz a + I_xx c) / A
    (derived from the stress of an eccentric force; for a rectangle the known rhombus at h / 6 and b / 6).

    Parameters
    ----------
    strips : Strips
        One section (no batch axes).

    Raises
    ------
    ValueError
        For a batch, or a section that cannot be measured.

    Examples
    --------
    >>> slab = Strips.chain([0.0, 6.0], [0.0, 0.0], [1.2], "slab")
    >>> np.round(kern_polygon(slab), 6).tolist()
    [[4.0, 0.0], [3.0, 0.2], [2.0, 0.0], [3.0, -0.2]]
    """
    if strips.batch:
        raise ValueError(f"kern_polygon takes one section; got a batch of shape {strips.batch}")
    p = section_properties(strips)
    if not np.isfinite(p.area):
        raise ValueError("the section cannot be measured: a value is not finite, or a strip has no size")
    hull = ConvexHull(corner_points(strips) - [p.centroid_x, p.centroid_z])
    sides = np.unique(hull.equations.round(12), axis=0)  # one row a side: outward normal, minus the distance
    a, c = (sides[:, :2] / sides[:, 2:]).T
    x, z = (p.izz * a + p.ixz * c) / p.area, (p.ixz * a + p.ixx * c) / p.area
    turn = np.argsort(np.arctan2(z, x) % (2 * np.pi), kind="stable")
    return np.stack([p.centroid_x + x, p.centroid_z + z], axis=1)[turn]


def corner_points(strips: Strips) -> Array:
    """Give the four corners of every strip, (..., 4 e, 2) [m]."""
    dx, dz = strips.span_vectors()
    length = np.sqrt(dx * dx + dz * dz)
    ox, oz = -0.5 * strips.thickness * dz / length, 0.5 * strips.thickness * dx / length
    ends = [
        (strips.at_first(strips.x), strips.at_first(strips.z)),
        (strips.at_second(strips.x), strips.at_second(strips.z)),
    ]
    corners = [np.stack([x + s * ox, z + s * oz], axis=-1) for x, z in ends for s in (-1.0, 1.0)]
    return np.concatenate(corners, axis=-2)
