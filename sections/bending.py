"""Bending of an unsymmetrical section: where each fibre stands, per unit of moment."""

from dataclasses import dataclass

import numpy as np

from longvault.sections.strips import Strips
from longvault.sections.symbols import Array


@dataclass(frozen=True, slots=True, eq=False)
class BendingField:
    """The linear field f of fibres under a sagging moment about the horizontal axis.

    Stress is ``sigma = -M f`` and shear flow ``q = V * integral of f t ds``: one field serves both.

    Parameters
    ----------
    first, second : array (..., e)
        f on the mid-line at the two ends of each strip [1/m3].
    across : array (..., e)
        Half the change of f through the thickness, >= 0 [1/m3]: corners reach ``f +- across``.
    """

    first: Array
    second: Array
    across: Array


def bending_field(
    strips: Strips, *, x: Array, z: Array, ixx: Array, izz: Array, ixz: Array, held: bool = False
) -> BendingField:
    """Fibre field of a section with centroid (x, z), free to move sideways or held straight.

    Free:  f = (z I_zz - x I_xz) / (I_xx I_zz - I_xz^2)   (Megson, Aircraft Structures, eq. 16.18 form)
    Held:  f = z / I_xx, and w I_xz / I_xx per metre of span is needed to hold it.

    Parameters
    ----------
    strips : Strips
        Batch shape (...).
    x, z : array (...)
        Centroid [m].
    ixx, izz, ixz : array (...)
        Second moments about the centroid [m4].
    held : bool
        Whether sideways movement is prevented.

    Examples
    --------
    >>> from longvault.sections.properties import section_properties
    >>> web = Strips.chain([0.0, 0.0], [0.0, 2.0], [0.1], "web")
    >>> p = section_properties(web)
    >>> f = bending_field(web, x=p.centroid_x, z=p.centroid_z, ixx=p.ixx, izz=p.izz, ixz=p.ixz)
    >>> float(f.second[0].round(6))  # 1 m over 0.1 * 2^3 / 12
    15.0
    """
    per_z, per_x = _coefficients(ixx, izz, ixz, held)
    f = per_z * (strips.z - z[..., None]) - per_x * (strips.x - x[..., None])
    dx, dz = strips.span_vectors()
    across = 0.5 * strips.thickness * np.abs(per_z * dx + per_x * dz) / np.sqrt(dx * dx + dz * dz)
    return BendingField(strips.at_first(f), strips.at_second(f), across)


def _coefficients(ixx: Array, izz: Array, ixz: Array, held: bool) -> tuple[Array, Array]:
    if held:
        return (1.0 / ixx)[..., None], np.zeros_like(ixx)[..., None]
    determinant = ixx * izz - ixz * ixz
    return (izz / determinant)[..., None], (ixz / determinant)[..., None]


def extreme_fibres(field: BendingField) -> tuple[Array, Array]:
    """Largest f (compressed under sagging) and largest -f (stretched), at corner points, (...) [1/m3].

    Examples
    --------
    >>> from longvault.sections.properties import section_properties
    >>> wall = Strips.chain([0.0, 0.0], [0.0, 2.0], [0.3], "web")
    >>> p = section_properties(wall)
    >>> field = bending_field(wall, x=p.centroid_x, z=p.centroid_z, ixx=p.ixx, izz=p.izz, ixz=p.ixz)
    >>> [round(float(f), 6) for f in extreme_fibres(field)]  # 6 / (t h^2)
    [5.0, 5.0]
    """
    highest = np.maximum(field.first, field.second) + field.across
    lowest = np.minimum(field.first, field.second) - field.across
    return highest.max(axis=-1), -lowest.min(axis=-1)


def elastic_lever_arm(strips: Strips, field: BendingField) -> Array:
    """Distance between the resultants of the elastic compression and tension blocks, (...) [m].

    M / T with T the integral of the tensile stress over the mid-line (plane sections, uncracked): for a
    solid rectangle 2 h / 3, for two flanges their distance.

    Examples
    --------
    >>> from longvault.sections.properties import section_properties
    >>> web = Strips.chain([0.0, 0.0], [0.0, 3.0], [1e-6], "web")
    >>> p = section_properties(web)
    >>> f = bending_field(web, x=p.centroid_x, z=p.centroid_z, ixx=p.ixx, izz=p.izz, ixz=p.ixz)
    >>> float(elastic_lever_arm(web, f).round(6))
    2.0
    """
    area = strips.length * strips.thickness
    tension: Array = np.einsum("...e,...e->...", area, mean_positive_part(field.first, field.second))
    return 1.0 / tension


def mean_positive_part(first: Array, second: Array) -> Array:
    """Mean over a strip of max(f, 0) for f linear from ``first`` to ``second`` (exact).

    Examples
    --------
    >>> float(mean_positive_part(np.array(-1.0), np.array(3.0)))  # 3 / 2 over three quarters of it
    1.125
    """
    high, low = np.maximum(first, second), np.minimum(first, second)
    crossing = (low < 0.0) & (high > 0.0)
    part = 0.5 * high * high / np.where(crossing, high - low, 1.0)
    mean: Array = np.where(crossing, part, np.maximum(0.5 * (first + second), 0.0))
    return mean
