"""Main bars in the section: where they lie, from the tension edge up, and whether they fit."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from longvault.constraints import cracked_kernels
from longvault.constraints.basis import Detailing
from longvault.constraints.reinforcement import clear_spacing
from longvault.sections.parts import shared
from longvault.sections.properties import Properties
from longvault.sections.rows import by_field, one_each, strip_rows
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
    apart : array (...)
        Distance of bars in a layer, centre to centre [m]: the closest, or wider where one level has room for
        more.
    """

    bars: Bars
    depth: Array
    apart: Array


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
    out = np.empty((rows, 2))
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
        out,
    )
    bars = Bars(*(a.reshape(*strips.batch, count) for a in places))
    depth, apart = by_field(out, strips.batch)
    return GatheredBars(bars, depth, (detailing.main_bar + clear_spacing(detailing)) * apart)


def bar_places(
    strips: Strips,
    properties: Properties,
    *,
    area: float,
    detailing: Detailing,
    sagging: bool = True,
) -> Array:
    """Place the main bars of one section one by one, for drawing: (n, 2) x and z [m].

    Rows and layers as in `longvault.constraints.bars.gathered_bars`, the lowest layer first; a shared
    member shows the half that belongs to this bay, a middle row on the joint. Fewer places than the area
    asks for: they do not fit.

    Examples
    --------
    >>> from longvault.sections.properties import section_properties
    >>> wall = Strips.chain([0.0, 0.0], [0.0, 3.0], [0.3], "edge beam")
    >>> p = section_properties(wall)
    >>> bar_places(wall, p, area=3 * 490.87e-6, detailing=Detailing()).round(4).tolist()
    [[0.1045, 0.0455], [0.0522, 0.0455], [0.0, 0.0455]]
    """
    if strips.batch:
        raise ValueError(f"strips: got a batch {strips.batch}; bars are placed in one section at a time")
    bar, clear = detailing.main_bar, clear_spacing(detailing)
    inset = detailing.mesh_bar + 0.5 * bar
    inset += detailing.cover_bottom if sagging else detailing.cover_top
    edge = float(properties.bottom if sagging else properties.top)
    up = 1.0 if sagging else -1.0
    middle = 0.5 * float(properties.left + properties.right)
    outward = np.sign(strips.x[strips.ends].mean(axis=-1) - middle)
    places = [
        point
        for (i, j), t, joint in zip(strips.ends, strips.thickness, outward * shared(strips), strict=True)
        for point in _strip_places(
            (strips.x[i], strips.z[i]),
            (strips.x[j], strips.z[j]),
            (float(t), float(joint)),
            (edge, up, inset),
            bar + clear,
            bar,
        )
    ]
    wanted = int(np.ceil(area / (0.25 * np.pi * bar * bar) - 1e-9))
    places.sort(key=lambda point: up * point[1])
    return np.array(places[:wanted], dtype=np.float64).reshape(-1, 2)


def _strip_places(
    start: tuple[float, float],
    stop: tuple[float, float],
    member: tuple[float, float],
    tension: tuple[float, float, float],
    step: float,
    bar: float,
) -> list[tuple[float, float]]:
    """Bars of one strip: rows across its thickness, one layer each ``step`` along it.

    ``member`` is thickness and, for half of a shared member, the side (-1 or 1) its joint is on, else 0.
    """
    (t, joint), (edge, up, inset) = member, tension
    a, b = np.array(start), np.array(stop)
    if up * a[1] > up * b[1]:
        a, b = b, a
    length = float(np.hypot(*(b - a)))
    along = (b - a) / length
    normal = np.array([-along[1], along[0]])
    whole = 2.0 * t if joint else t
    rows = int(np.floor((whole - 2.0 * (inset - 0.5 * bar) + step - bar) / step + 1e-9))
    if rows < 1:
        return []
    reach = 0.5 * whole - inset
    offsets = np.linspace(-reach, reach, rows) if rows > 1 else np.zeros(1)
    offsets = offsets + 0.5 * t * joint * np.sign(normal[0])  # from the joint
    offsets = offsets[np.abs(offsets) <= 0.5 * t + 1e-9]
    # the first layer stands at the inset where a steep strip starts at the edge
    steep = up * float(along[1])
    missing = inset - up * (float(a[1]) - edge)
    begin = max(0.5 * step, missing / steep if steep > 0.1 else 0.0)
    found = []
    for layer in np.arange(begin, length, step):
        for offset in offsets:
            x, z = a + layer * along + offset * normal
            found.append((float(x), float(z)))
    return found
