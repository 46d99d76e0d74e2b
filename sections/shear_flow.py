"""Shear flow along the mid-line of a thin-walled section."""

from dataclasses import dataclass

import numpy as np

from longvault.sections import kernels
from longvault.sections.bending import BendingField
from longvault.sections.strips import Strips
from longvault.sections.topology import tree_order
from longvault.sections.symbols import Array


@dataclass(frozen=True, slots=True, eq=False)
class ShearFlow:
    """Shear flow for a unit vertical shear force through the shear centre.

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


def shear_flow(strips: Strips, field: BendingField) -> ShearFlow:
    """Shear flow q = V integral of f t ds from a free end (Jourawski; q = V Q / I when symmetrical).

    Parameters
    ----------
    strips : Strips
        An open section, chain or branches; batch shape (...).
    field : BendingField
        From `longvault.sections.bending.bending_field`, free or held.

    Raises
    ------
    ValueError
        If the strips form a closed cell or separate pieces.

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
    plan = tree_order(strips)
    count = strips.thickness.shape[-1]
    area = (strips.length * strips.thickness).reshape(-1, count)
    first, second, peak = (np.empty_like(area) for _ in range(3))
    kernels.flow_rows(
        area,
        np.ascontiguousarray(field.first).reshape(-1, count),
        np.ascontiguousarray(field.second).reshape(-1, count),
        plan.order,
        plan.tip,
        plan.root,
        plan.forward,
        strips.x.shape[-1],
        first,
        second,
        peak,
    )
    shape = strips.thickness.shape
    return ShearFlow(first.reshape(shape), second.reshape(shape), peak.reshape(shape))
