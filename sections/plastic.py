"""Plastic modulus: the section when every fibre carries the same stress, in compression or in tension."""

from dataclasses import dataclass

import numpy as np

from longvault.sections import height_kernels
from longvault.sections.rows import by_field, strip_rows
from longvault.sections.strips import Strips
from longvault.sections.symbols import Array


@dataclass(frozen=True, slots=True, eq=False)
class PlasticModulus:
    """Plastic bending about the horizontal axis, the section held straight.

    Parameters
    ----------
    axis_z : array (...)
        Height of the axis that halves the area [m].
    modulus : array (...)
        Integral of the distance to it [m3].
    """

    axis_z: Array
    modulus: Array


def plastic_modulus(strips: Strips) -> PlasticModulus:
    """Plastic modulus Z = integral of |z - z_p| dA, z_p halving the area (any text on plastic bending).

    Parameters
    ----------
    strips : Strips
        Batch shape (...). A candidate that cannot be measured is a NaN row.

    Returns
    -------
    PlasticModulus
        For a material with one strength both ways; for concrete a measure of the shape only.

    Examples
    --------
    >>> web = Strips.chain([0.0, 0.0], [0.0, 2.0], [0.3], "web")
    >>> float(plastic_modulus(web).modulus.round(6))  # t h^2 / 4
    0.3
    """
    batch = strips.batch
    out = np.empty((int(np.prod(batch)), 2))
    height_kernels.plastic_rows(
        *strip_rows(strips),
        out,
    )
    axis, modulus = by_field(out, batch)
    return PlasticModulus(axis, modulus)
