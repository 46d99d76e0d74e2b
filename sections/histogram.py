"""At which height the area of a section lies: all that its modulus about the horizontal axis depends on."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from longvault.sections import height_kernels
from longvault.sections.properties import section_properties
from longvault.sections.rows import strip_rows
from longvault.sections.strips import Strips
from longvault.sections.symbols import Array


@dataclass(frozen=True, slots=True, eq=False)
class HeightHistogram:
    """Area of a section between levels.

    Parameters
    ----------
    edges : array (..., k + 1)
        Levels from the outer bottom to the outer top [m].
    area : array (..., k)
        Area between consecutive levels [m2].
    """

    edges: Array
    area: Array


def area_below(strips: Strips, levels: ArrayLike) -> Array:
    """Area of the section below each level, (..., k) [m2], exact for rectangular strips.

    Parameters
    ----------
    strips : Strips
        Batch shape (...). A candidate that cannot be measured is a NaN row.
    levels : array (k,) or (..., k)
        Heights z [m].

    Examples
    --------
    >>> web = Strips.chain([0.0, 0.0], [0.0, 2.0], [0.1], "web")
    >>> area_below(web, [0.5, 1.0, 9.0]).round(6).tolist()
    [0.05, 0.1, 0.2]
    """
    batch = strips.batch
    levels = np.asarray(levels, dtype=np.float64)
    levels = np.broadcast_to(levels, (*batch, levels.shape[-1]))
    out = np.empty(levels.shape)
    height_kernels.area_below_rows(
        *strip_rows(strips),
        np.ascontiguousarray(levels).reshape(-1, levels.shape[-1]),
        out.reshape(-1, levels.shape[-1]),
    )
    return out


def height_histogram(strips: Strips, *, bins: int = 20) -> HeightHistogram:
    """Area of the section in equal layers from its outer bottom to its outer top.

    Moving any piece sideways leaves the histogram, and with it A, the centroid's height, I_xx and both
    moduli of held bending, as they were; moving it up or down does not.

    Parameters
    ----------
    strips : Strips
        Batch shape (...).
    bins : int
        Number k of layers, at least 1.

    Examples
    --------
    >>> slabs = Strips.chain([0.0, 1.0, 1.0, 2.0], [0.0, 0.0, 1.0, 1.0], [0.2, 0.1, 0.2], "slab")
    >>> height_histogram(slabs, bins=3).area.round(4).tolist()
    [0.23, 0.04, 0.23]
    """
    if bins < 1:
        raise ValueError(f"bins: got {bins}; must be 1 or more")
    p = section_properties(strips)
    share = np.arange(bins + 1) / bins
    edges = p.bottom[..., None] * (1.0 - share) + p.top[..., None] * share
    return HeightHistogram(edges, np.diff(area_below(strips, edges), axis=-1))
