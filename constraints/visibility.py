"""What a point sees between the concrete of a section: wedges of sky, exact in the plane of the section."""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import ArrayLike
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from longvault.sections import Strips
from longvault.sections.symbols import Array, BoolArray, IntArray

NEIGHBOURS = 8
SLIVER = 1e-12  # wedges thinner than this [rad] are joints seen edge-on, not sky


@dataclass(frozen=True, slots=True, eq=False)
class Wedges:
    """Wedges of sky seen by each of P points, padded with NaN to the largest number m.

    Parameters
    ----------
    start, stop : array (P, m)
        Edges of each wedge from the zenith, positive towards +x [rad].
    start_corner, stop_corner : array (P, m, 2)
        The corners (x, z) of concrete that bound it [m]; the glass is taken to lie on the line between them.
    inside : bool array (P,)
        Whether the point lies inside the concrete and sees nothing.
    """

    start: Array
    stop: Array
    start_corner: Array
    stop_corner: Array
    inside: BoolArray


def connected_pieces(strips: Strips) -> tuple[IntArray, IntArray]:
    """Strip numbers sorted by connected piece, and the corner numbers, four a strip, where pieces begin.

    Examples
    --------
    >>> two = Strips([0, 1, 2, 3], [0, 0, 0, 0], [[0, 1], [2, 3]], [0.1, 0.1], ["wing", "wing"])
    >>> [v.tolist() for v in connected_pieces(two)]
    [[0, 1], [0, 4, 8]]
    """
    return _pieces(strips.ends.tobytes(), strips.x.shape[-1])


@lru_cache(maxsize=256)
def _pieces(ends_bytes: bytes, nodes: int) -> tuple[IntArray, IntArray]:
    ends = np.frombuffer(ends_bytes, dtype=np.intp).reshape(-1, 2)
    graph = coo_array((np.ones(len(ends)), (ends[:, 0], ends[:, 1])), shape=(nodes, nodes))
    piece = connected_components(graph, directed=False)[1][ends[:, 0]]
    order = np.argsort(piece, kind="stable")
    bounds = 4 * np.flatnonzero(np.diff(piece[order], prepend=-1, append=-1))
    order.flags.writeable = bounds.flags.writeable = False
    return order, bounds


def row_corners(strips: Strips, *, pitch: float | None = None, neighbours: int = NEIGHBOURS) -> Array:
    """Corners (k e, 4, 2) of every strip's rectangle in a row of modules [m], module by module.

    Examples
    --------
    >>> bar = Strips.chain([0.0, 1.0], [0.0, 0.0], 0.2, "wing")
    >>> row_corners(bar, pitch=3.0, neighbours=1)[:, 0, 0].tolist()
    [-3.0, 0.0, 3.0]
    """
    dx, dz = strips.span_vectors()
    half = 0.5 * strips.thickness / strips.length
    first = np.stack([strips.at_first(strips.x), strips.at_first(strips.z)], axis=-1)
    along, across = np.stack([dx, dz], axis=-1), np.stack([-dz * half, dx * half], axis=-1)
    corners = np.stack(
        [first + across, first + along + across, first + along - across, first - across], axis=-2
    )
    count = neighbours if pitch else 0
    shift = np.arange(-count, count + 1)[:, None, None, None] * np.array([pitch or 0.0, 0.0])
    row: Array = (corners + shift).reshape(-1, 4, 2)
    return row


def hidden_intervals(corners: Array, point: ArrayLike) -> tuple[Array, Array, Array, Array]:
    """Interval of directions that each convex four-corner outline hides from one point.

    Returns
    -------
    start, stop : array (n,)
        From the zenith, positive towards +x [rad], cut to the upper half plane; start > stop where the
        outline lies wholly below the point, NaN where the point lies inside it.
    first, last : array (n, 2)
        The corners at the two edges.

    Notes
    -----
    Source: derived; a convex outline seen from outside spans less than pi, so its corners are ordered by
    their angle from the direction of its centre.

    Examples
    --------
    >>> square = np.array([[[1.0, 1.0], [2.0, 1.0], [2.0, 2.0], [1.0, 2.0]]])
    >>> start, stop, _, _ = hidden_intervals(square, (0.0, 0.0))
    >>> np.rad2deg([start[0], stop[0]]).round(3).tolist()
    [26.565, 63.435]
    """
    d = corners - np.asarray(point, dtype=np.float64)
    centre = d.mean(axis=1)
    middle = np.arctan2(centre[:, 0], centre[:, 1])
    offset = np.arctan2(d[..., 0], d[..., 1]) - middle[:, None]
    offset -= 2.0 * np.pi * np.round(offset / (2.0 * np.pi))
    rows, low, high = np.arange(len(d)), offset.argmin(axis=1), offset.argmax(axis=1)
    start, stop = middle + offset[rows, low], middle + offset[rows, high]
    turn = 2.0 * np.pi * ((stop < -0.5 * np.pi).astype(int) - (start > 0.5 * np.pi).astype(int))
    start, stop = np.maximum(start + turn, -0.5 * np.pi), np.minimum(stop + turn, 0.5 * np.pi)
    inside = _holds(d)
    start[inside] = stop[inside] = np.nan
    return start, stop, corners[rows, low], corners[rows, high]


def _holds(d: Array) -> BoolArray:
    """Whether the origin lies inside each four-corner outline (n, 4, 2)."""
    after = np.roll(d, -1, axis=1)
    side = d[..., 0] * after[..., 1] - d[..., 1] * after[..., 0]
    inside: BoolArray = np.all(side > 0, axis=1) | np.all(side < 0, axis=1)
    return inside


def visible_wedges(
    strips: Strips,
    x: ArrayLike,
    z: ArrayLike,
    *,
    pitch: float | None = None,
    neighbours: int = NEIGHBOURS,
    open_sides: bool = False,
) -> Wedges:
    """Wedges of sky that points see through the gaps of one section, or of a row of such modules.

    Every strip of the row hides its rectangle. What shows beyond the two ends of the row counts as wall
    unless the sides are open.

    Parameters
    ----------
    strips : Strips
        One section (no batch).
    x, z : array (P,) or float
        Points [m]. A point inside the concrete is marked and its wedges mean nothing.
    pitch : float, optional
        Distance at which modules repeat [m]; without it the section stands alone.
    neighbours : int
        Modules on either side.
    open_sides : bool
        Whether sky shows past the two ends of the row, down to the horizon (a canopy); such wedges have
        NaN for the corner on the open side.

    Examples
    --------
    A slot 1 m wide in a thin ceiling, from 4 m below:

    >>> ceiling = Strips([-9, -0.5, 0.5, 9], [4, 4, 4, 4], [[0, 1], [2, 3]], [1e-9, 1e-9], ["wing", "wing"])
    >>> wedges = visible_wedges(ceiling, [0.0], 0.0)
    >>> np.rad2deg([wedges.start[0, 0], wedges.stop[0, 0]]).round(3).tolist()
    [-7.125, 7.125]
    """
    if strips.batch:
        raise ValueError(f"strips: got a batch of shape {strips.batch}; one section is needed")
    corners = row_corners(strips, pitch=pitch, neighbours=neighbours)
    xs, zs = np.broadcast_arrays(np.asarray(x, dtype=np.float64), np.asarray(z, dtype=np.float64))
    hidden = [hidden_intervals(corners, p) for p in zip(xs.ravel(), zs.ravel(), strict=True)]
    inside = np.array([np.isnan(start).any() for start, *_ in hidden], dtype=np.bool_)
    found = [_sky_between(*each, open_sides) for each in hidden]
    table = np.full((len(found), max((len(wedges) for wedges in found), default=0), 6), np.nan)
    for row, wedges in zip(table, found, strict=True):
        row[: len(wedges)] = wedges
    return Wedges(table[..., 0], table[..., 1], table[..., 2:4], table[..., 4:6], inside)


def _sky_between(start: Array, stop: Array, first: Array, last: Array, open_sides: bool) -> Array:
    """Rows (start, stop, start corner, stop corner) of the sky between hidden intervals."""
    above = start <= stop
    start, stop, first, last = start[above], stop[above], first[above], last[above]
    if open_sides:
        horizon, nowhere = np.array([-0.5 * np.pi, 0.5 * np.pi]), np.full((2, 2), np.nan)
        start, stop = np.append(start, horizon), np.append(stop, horizon)
        first, last = np.concatenate([first, nowhere]), np.concatenate([last, nowhere])
    order = np.argsort(start, kind="stable")
    start, stop, first, last = start[order], stop[order], first[order], last[order]
    reach = np.maximum.accumulate(stop)
    bound = np.maximum.accumulate(np.where(stop >= reach, np.arange(len(stop)), 0))
    gap = np.flatnonzero(start[1:] - reach[:-1] > SLIVER)
    edges = np.stack([reach[gap], start[gap + 1]], axis=-1)
    return np.concatenate([edges, last[bound[gap]], first[gap + 1]], axis=-1)


def sunlit_share(strips: Strips, t: ArrayLike, *, pitch: float) -> Array:
    """Share of the floor of an endless row that parallel rays reach, 0 to 1.

    Seen along the rays each piece of concrete hides an interval of x cos t - z sin t, and the row repeats it
    every pitch cos t: what is left over is lit.

    Parameters
    ----------
    strips : Strips
        One module (no batch), all of it above the floor.
    t : array (T,)
        Angle of the rays' origin from the zenith in the section, positive towards +x [rad], within pi/2.
    pitch : float
        Bay [m].

    Notes
    -----
    Source: derived; exact in the plane of the section.

    Examples
    --------
    Slots 1 m wide every 6 m in a ceiling without thickness, sun from any side:

    >>> ceiling = Strips.chain([0.5, 5.5], [4.0, 4.0], 1e-9, "ceiling")
    >>> sunlit_share(ceiling, [0.0, 1.0], pitch=6.0).round(4).tolist()
    [0.1667, 0.1667]
    """
    angle = np.asarray(t, dtype=np.float64)[:, None]
    order, bounds = connected_pieces(strips)
    corners = row_corners(strips)[order].reshape(-1, 2)
    place = np.cos(angle) * corners[:, 0] - np.sin(angle) * corners[:, 1]
    low = np.minimum.reduceat(place, bounds[:-1], axis=1)
    size = np.maximum.reduceat(place, bounds[:-1], axis=1) - low
    period = np.maximum(pitch * np.cos(angle), 1e-12)
    low %= period
    rows = np.argsort(low, axis=1)
    low, size = np.take_along_axis(low, rows, axis=1), np.take_along_axis(size, rows, axis=1)
    reach = np.maximum.accumulate(low + size, axis=1)
    before = np.concatenate([reach[:, -1:] - period, reach[:, :-1]], axis=1)
    before = np.maximum(before, reach[:, -1:] - period)
    lit: Array = np.maximum(low - before, 0.0).sum(axis=1) / period[:, 0]
    return lit
