"""Shear flow along the mid-line of a thin-walled section: open, branched or closed, both directions."""

from dataclasses import dataclass

import numpy as np

from longvault.sections import kernels, torsion_kernels
from longvault.sections.bending import BendingField
from longvault.sections.strips import Strips
from longvault.sections.symbols import Array
from longvault.sections.topology import TreeOrder, section_walk


@dataclass(frozen=True, slots=True, eq=False)
class ShearFlow:
    """Shear flow for a unit shear force through the shear centre.

    Parameters
    ----------
    first, second : array (..., e)
        q / V at the two ends of each strip, positive from its first end to its second [1/m].
    peak : array (..., e)
        Largest |q| / V anywhere on the strip (the parabola's own extreme included) [1/m].
    """

    first: Array
    second: Array
    peak: Array


def sideways_field(strips: Strips, *, x: Array, z: Array, ixx: Array, izz: Array, ixz: Array) -> BendingField:
    """Fibre field of bending about the vertical axis, for the shear flow of a horizontal force.

    f = (x I_xx - z I_xz) / (I_xx I_zz - I_xz^2): the counterpart of
    `longvault.sections.bending.bending_field` with the axes exchanged (free bending).

    Parameters
    ----------
    strips : Strips
        Batch shape (...).
    x, z : array (...)
        Centroid [m].
    ixx, izz, ixz : array (...)
        Second moments about the centroid [m4].

    Examples
    --------
    >>> from longvault.sections.properties import section_properties
    >>> slab = Strips.chain([0.0, 2.0], [0.0, 0.0], [0.1], "slab")
    >>> p = section_properties(slab)
    >>> f = sideways_field(slab, x=p.centroid_x, z=p.centroid_z, ixx=p.ixx, izz=p.izz, ixz=p.ixz)
    >>> float(f.second[0].round(6))  # 1 m over 0.1 * 2^3 / 12
    15.0
    """
    determinant = ixx * izz - ixz * ixz
    per_x, per_z = (ixx / determinant)[..., None], (ixz / determinant)[..., None]
    f = per_x * (strips.x - x[..., None]) - per_z * (strips.z - z[..., None])
    dx, dz = strips.span_vectors()
    across = 0.5 * strips.thickness * np.abs(per_x * dz + per_z * dx) / np.sqrt(dx * dx + dz * dz)
    return BendingField(strips.at_first(f), strips.at_second(f), across)


def shear_flow(strips: Strips, field: BendingField) -> ShearFlow:
    """Shear flow q = V integral of f t ds from a free end (Jourawski; q = V Q / I when symmetrical).

    Round a closed cell a constant flow is added that keeps the cell from twisting: the integral of q / t
    round it is zero (Megson, Aircraft Structures, ch. 17.3 and 23.4 for several cells).

    Parameters
    ----------
    strips : Strips
        A connected section: chain, branches or cells; batch shape (...).
    field : BendingField
        From `longvault.sections.bending.bending_field`, free or held, for a vertical force; from
        `sideways_field` for a horizontal one.

    Raises
    ------
    ValueError
        If the strips are separate pieces.

    Examples
    --------
    >>> from longvault.sections.bending import bending_field
    >>> from longvault.sections.properties import section_properties
    >>> web = Strips.chain([0.0, 0.0], [0.0, 2.0], [1e-6], "web")
    >>> p = section_properties(web)
    >>> f = bending_field(web, x=p.centroid_x, z=p.centroid_z, ixx=p.ixx, izz=p.izz, ixz=p.ixz)
    >>> float(shear_flow(web, f).peak[0].round(6))  # 3 / (2 h)
    0.75
    """
    walk = section_walk(strips)
    shape = strips.thickness.shape
    first, second, peak = _cell_flow(strips, field, walk) if walk.cells else _open_flow(strips, field, walk)
    return ShearFlow(first.reshape(shape), second.reshape(shape), peak.reshape(shape))


def _open_flow(strips: Strips, field: BendingField, walk: TreeOrder) -> tuple[Array, Array, Array]:
    count = strips.thickness.shape[-1]
    area = (strips.length * strips.thickness).reshape(-1, count)
    first, second, peak = (np.empty_like(area) for _ in range(3))
    kernels.flow_rows(
        area,
        np.ascontiguousarray(field.first).reshape(-1, count),
        np.ascontiguousarray(field.second).reshape(-1, count),
        walk.order,
        walk.tip,
        walk.root,
        walk.forward,
        strips.x.shape[-1],
        first,
        second,
        peak,
    )
    return first, second, peak


def _cell_flow(strips: Strips, field: BendingField, walk: TreeOrder) -> tuple[Array, Array, Array]:
    count = strips.thickness.shape[-1]
    length = strips.length
    area = (length * strips.thickness).reshape(-1, count)
    first, second, peak = (np.empty_like(area) for _ in range(3))
    torsion_kernels.cell_flow_rows(
        area,
        (length / strips.thickness).reshape(-1, count),
        np.ascontiguousarray(field.first).reshape(-1, count),
        np.ascontiguousarray(field.second).reshape(-1, count),
        np.ascontiguousarray(strips.ends[:, 1]),
        walk.order,
        walk.tip,
        walk.root,
        walk.forward,
        walk.closing,
        walk.cell_start,
        walk.cell_strip,
        walk.cell_sign,
        strips.x.shape[-1],
        first,
        second,
        peak,
    )
    return first, second, peak
