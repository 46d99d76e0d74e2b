"""Main bars in the section: where they lie, from the tension edge up, and whether they fit."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from longvault.constraints import cracked_kernels
from longvault.constraints.basis import Detailing
from longvault.constraints.reinforcement import clear_spacing
from longvault.sections.parts import shared
from longvault.sections.properties import Properties
from longvault.sections.rows import one_each, strip_rows
from longvault.sections.strips import Strips
from longvault.sections.symbols import Array


@dataclass(frozen=True, slots=True, eq=False)
class Bars:
    """Groups of bars along the span; arrays broadcast to (..., b).

    Parameters
    ----------
    x, z : array
        Centroid of each group [m].
    area : array
        Its steel area [m2]; 0 for a group without bars.
    """

    x: Array
    z: Array
    area: Array

    @property
    def total(self) -> Array:
        """Whole area (...) [m2]."""
        whole: Array = self.area.sum(axis=-1)
        return whole

    @property
    def height(self) -> Array:
        """Height of the centroid of all bars (...) [m]."""
        mean: Array = np.einsum("...b,...b->...", self.area, self.z) / self.total
        return mean


@dataclass(frozen=True, slots=True, eq=False)
class GatheredBars:
    """Bars laid into the section from the tension edge up.

    Parameters
    ----------
    bars : Bars
        One group for each strip.
    depth : array (...)
        How far from the tension edge they reach [m]; inf where no strip is thick enough for a bar.
    """

    bars: Bars
    depth: Array


def gathered_bars(
    strips: Strips, properties: Properties, *, area: ArrayLike, detailing: Detailing, sagging: bool = True
) -> GatheredBars:
    """Lay main bars of a given area into the strips nearest to the tension edge.

    Rows across a strip as cover and mesh on both faces and the clear spacing allow (EN 1992-1-1, 8.2),
    layers one above the other at the same spacing; the halves of a shared member hold half of what the whole
    member holds. Where all strips together have no room for the area, the bars are closer than allowed: ask
    `longvault.constraints.reinforcement.beam_section` for the room.

    Parameters
    ----------
    strips, properties : Strips, Properties
        Batch (...).
    area : array (...)
        Steel to lay [m2].
    detailing : Detailing
        Covers, bars.
    sagging : bool
        True lays them at the bottom.

    Examples
    --------
    A wall 0.3 m thick holds 5 bars of 25 mm in each layer, a layer every 50 mm: 10 bars lie 45.5 and 95.5 mm
    above its foot.

    >>> from longvault.sections.properties import section_properties
    >>> wall = Strips.chain([0.0, 0.0], [0.0, 3.0], [0.3], "edge beam")
    >>> laid = gathered_bars(wall, section_properties(wall), area=10 * 490.874e-6, detailing=Detailing())
    >>> round(float(laid.depth), 3), round(float(laid.bars.height), 3)
    (0.121, 0.071)
    """
    count = strips.thickness.shape[-1]
    rows = int(np.prod(strips.batch))
    places = [np.empty((rows, count)) for _ in range(3)]
    depth = np.empty(rows)
    cover = detailing.cover_bottom if sagging else detailing.cover_top
    edge = properties.bottom if sagging else properties.top
    cracked_kernels.gather_rows(
        *strip_rows(strips),
        shared(strips),
        one_each(edge, strips.batch),
        one_each(properties.height, strips.batch),
        1.0 if sagging else -1.0,
        (cover, detailing.mesh_bar, detailing.main_bar, clear_spacing(detailing)),
        one_each(area, strips.batch),
        *places,
        depth,
    )
    bars = Bars(*(a.reshape(*strips.batch, count) for a in places))
    return GatheredBars(bars, depth.reshape(strips.batch))
