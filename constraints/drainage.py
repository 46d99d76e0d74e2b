"""Water on the roof: low places of the outer surface, how deep they fill, their weight, falls of gutters."""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from longvault.constraints.drainage_kernel import POND_FIELDS, pond_rows
from longvault.sections.parts import roof_surface
from longvault.sections.rows import by_field
from longvault.sections.strips import Strips
from longvault.sections.symbols import Array, BoolArray, IntArray

GUTTERS = ("gutter", "keel")
"""Parts where water is meant to gather: a low place on them is a declared gutter."""


LEAST_WATER = 1e-3
"""Water less deep is not listed [m]."""


@dataclass(frozen=True, slots=True, eq=False)
class Ponds:
    """Low places of the upper surface that are no declared gutter; every field is (...).

    Parameters
    ----------
    count : array
        How many there are.
    depth : array
        Of the deepest, up to where it runs over [m]; 0 without one.
    area : array
        Cross-section of the water in all of them [m2]: times 10 kN/m3 the load per metre of span.
    x : array
        Where the deepest stands [m]; NaN without one.
    """

    count: Array
    depth: Array
    area: Array
    x: Array


@dataclass(frozen=True, slots=True, eq=False)
class Pool:
    """Water standing at one level; both (...).

    Parameters
    ----------
    area : array
        Its cross-section [m2].
    about : array
        First moment of that about x = 0 [m3].
    """

    area: Array
    about: Array


def upper_surface(strips: Strips) -> tuple[Array, Array, BoolArray]:
    """Outer (upper) surface across, as nodes from left to right.

    The mid-line nodes of the roof surface, lifted by half the thickness of the strips that meet there over
    the cosine of their slope (at most three times); kerbs at its ends stand as walls.

    Returns
    -------
    x, z : array (..., m)
        Nodes of the surface [m].
    gutter : bool array (m,)
        Whether a node belongs to a declared gutter.

    Raises
    ------
    ValueError
        If the roof surface branches.
    """
    marked = np.flatnonzero(roof_surface(strips))
    order, into = _run(strips, marked)
    dx, dz = strips.span_vectors()
    length = np.sqrt(dx * dx + dz * dz)
    lift = 0.5 * strips.thickness * np.minimum(length / np.maximum(np.abs(dx), 1e-9 * length), 3.0)
    pair = np.maximum(lift[..., into[:, 0]], lift[..., into[:, 1]])
    is_gutter = np.array([part in GUTTERS for part in strips.parts])
    gutter = is_gutter[into[:, 0]] | is_gutter[into[:, 1]]
    x, z = strips.x[..., order], strips.z[..., order]
    return np.ascontiguousarray(x), np.ascontiguousarray(z + pair), gutter


def _run(strips: Strips, marked: IntArray) -> tuple[list[int], IntArray]:
    """Nodes of the roof surface in a row, and for each the two strips that meet there (one twice at ends)."""
    meeting: dict[int, list[int]] = {}
    for e in marked.tolist():
        for node in strips.ends[e].tolist():
            meeting.setdefault(node, []).append(e)
    ends = [node for node, strip in meeting.items() if len(strip) == 1]
    if len(ends) != 2 or any(len(strip) > 2 for strip in meeting.values()):
        raise ValueError("the roof surface must be one run without branches to follow the water")
    order, used = [min(ends)], set()
    while len(order) <= len(marked):
        step = next(e for e in meeting[order[-1]] if e not in used)
        used.add(step)
        a, b = strips.ends[step].tolist()
        order.append(b if a == order[-1] else a)
    return order, np.array([(meeting[n] * 2)[:2] for n in order])


def ponds(strips: Strips) -> Ponds:
    """Find the low places of the outer surface that no declared gutter drains.

    A place is low when water stands there before it runs over a side, into a gutter or off the module; the
    ends of the surface drain (a slot with its kerb, or the gutter of the valley beam). Slopes along the
    span are not counted.

    Examples
    --------
    >>> wave = Strips.chain([-3.0, -1.5, 0.0, 1.5, 3.0], [0.0, 1.0, 0.6, 1.0, 0.0], 1e-6, "crown")
    >>> found = ponds(wave)
    >>> int(found.count), round(float(found.depth), 3), round(float(found.area), 3)
    (1, 0.4, 0.6)
    """
    x, z, gutter = upper_surface(strips)
    out = np.empty((int(np.prod(strips.batch)), POND_FIELDS))
    m = x.shape[-1]
    pond_rows(x.reshape(-1, m), z.reshape(-1, m), gutter, out)
    return Ponds(*by_field(out, strips.batch))


@dataclass(frozen=True, slots=True)
class LowPlace:
    """One low place of the outer surface of one section, full to where it runs over.

    Parameters
    ----------
    x : float
        Where it is deepest [m].
    depth, area : float
        Of the water there [m], and its cross-section [m2].
    gutter : bool
        Whether a declared gutter lies in it: dry as long as its outlets are open.
    """

    x: float
    depth: float
    area: float
    gutter: bool


def low_places(strips: Strips) -> list[LowPlace]:
    """List the low places of one section, from left to right; a gutter counts as if its outlets were blocked.

    Examples
    --------
    >>> wave = Strips.chain([-3.0, -1.5, 0.0, 1.5, 3.0], [0.0, 1.0, 0.6, 1.0, 0.0], 1e-6, "crown")
    >>> [(one.x, round(one.depth, 3), round(one.area, 3), one.gutter) for one in low_places(wave)]
    [(0.0, 0.4, 0.6, False)]
    """
    x, z, gutter = upper_surface(strips)
    from_right = np.maximum.accumulate(z[::-1])[::-1]
    level = np.minimum(np.maximum.accumulate(z), from_right)
    wet = np.flatnonzero(level - z > LEAST_WATER)
    found = []
    for pool in np.split(wet, np.flatnonzero(np.diff(wet) > 1) + 1) if len(wet) else []:
        around = slice(pool[0] - 1, pool[-1] + 2)
        deepest = pool[z[pool].argmin()]
        depth = float(level[deepest] - z[deepest])
        area = float(_standing(x[around], z[around], depth)[0].sum())
        found.append(LowPlace(float(x[deepest]), depth, area, bool(gutter[pool].any())))
    return found


def water_area(strips: Strips, *, depth: float) -> Pool:
    """Water that stands to ``depth`` over the lowest place of the outer surface, on this bay's plan.

    The load case of blocked outlets; an overflow stands at that level.

    Examples
    --------
    >>> valley = Strips.chain([-2.0, 0.0, 2.0], [1.0, 0.0, 1.0], 1e-6, "wing")
    >>> float(water_area(valley, depth=0.5).area.round(6))
    0.5
    """
    area, about = _standing(*upper_surface(strips)[:2], depth)
    return Pool(area.sum(axis=-1), about.sum(axis=-1))


def water_on_strips(strips: Strips, *, depth: float) -> Array:
    """Cross-section of the water of `water_area` over each strip (..., e) [m2]: it weighs where it stands.

    Examples
    --------
    >>> trough = Strips.chain([-2.0, -1.0, 1.0, 2.0], [1.0, 0.0, 0.0, 1.0], 1e-6, "wing")
    >>> water_on_strips(trough, depth=0.5).round(6).tolist()
    [0.125, 1.0, 0.125]
    """
    marked = np.flatnonzero(roof_surface(strips))
    order, _ = _run(strips, marked)
    strip = {frozenset(strips.ends[e].tolist()): e for e in marked.tolist()}
    area, _ = _standing(*upper_surface(strips)[:2], depth)
    out = np.zeros(strips.length.shape)
    out[..., [strip[frozenset(step)] for step in pairwise(order)]] = area
    return out


def _standing(x: Array, z: Array, depth: float) -> tuple[Array, Array]:
    """Cross-section of the water over each step of a surface, and its first moment about x = 0."""
    level = z.min(axis=-1, keepdims=True) + depth
    x0, x1 = x[..., :-1], x[..., 1:]
    d0, d1 = level - z[..., :-1], level - z[..., 1:]
    high, low = np.maximum(d0, d1), np.minimum(d0, d1)
    # wet part of each step: all of it, or from its deeper end to the waterline
    share = np.clip(high / np.maximum(high - low, 1e-12), 0.0, 1.0)
    wet = np.where(high > 0, np.where(low >= 0, 1.0, share), 0.0) * (x1 - x0)
    shallow = np.maximum(low, 0.0)
    area = 0.5 * wet * (np.maximum(high, 0.0) + shallow)
    deep_x = np.where(d0 >= d1, x0, x1)
    towards = np.where(d0 >= d1, 1.0, -1.0)
    # centroid of the trapezium from its deeper side
    total = np.maximum(np.maximum(high, 0.0) + shallow, 1e-300)
    centre = wet * (np.maximum(high, 0.0) + 2.0 * shallow) / (3.0 * total)
    return area, area * (deep_x + towards * centre)


def gutter_width(strips: Strips) -> Array:
    """Width on plan of the declared gutters of a module (...) [m].

    Examples
    --------
    >>> trough = Strips.chain([-2, -0.7, 0.7, 2], [1, 0, 0, 1], 0.1, ["wing", "keel", "wing"])
    >>> float(gutter_width(trough))
    1.4
    """
    dx = strips.span_vectors()[0]
    marked = [part in GUTTERS for part in strips.parts]
    return np.asarray(np.ascontiguousarray(np.abs(dx[..., marked])).sum(axis=-1))


def gutter_fall(length: float, *, fall: float, outlets: int) -> float:
    """Headroom that the fall of a gutter costs: the longest way to an outlet times the fall [m].

    One outlet stands at an end, two at the ends, more evenly between (derived).

    Examples
    --------
    >>> gutter_fall(24.0, fall=0.01, outlets=2)
    0.12
    """
    if outlets < 1:
        raise ValueError(f"outlets: got {outlets}; must be 1 or more")
    way = length if outlets == 1 else 0.5 * length / (outlets - 1)
    return way * fall


def fall_weight(width: Array, *, headroom: float, weight: float = 22e3) -> Array:
    """Weight of the screed that makes the fall, per metre of gutter, on average half its height [N/m].

    22 kN/m3 for a cement screed: common practice.

    Examples
    --------
    >>> float(fall_weight(np.array(1.4), headroom=0.12).round(6))
    1848.0
    """
    return np.asarray(0.5 * headroom * weight * width)
