"""Daylight under a roof with slots: the sky component along the working plane."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from longvault.constraints.daylight_kernel import MIXED, sky_rows
from longvault.constraints.sky import SKIES, wedge_light
from longvault.constraints.visibility import NEIGHBOURS, connected_pieces, visible_wedges
from longvault.sections import Strips
from longvault.sections.rows import one_each
from longvault.sections.symbols import Array


@dataclass(frozen=True, slots=True, eq=False)
class SkyComponent:
    """Light straight from the sky at each point, as a share of that on open level ground (times 100: %).

    Parameters
    ----------
    overcast : array (..., P)
        Under the CIE standard overcast sky.
    uniform : array (..., P)
        Under a sky of even luminance.
    """

    overcast: Array
    uniform: Array


def bay_points(start: ArrayLike, pitch: ArrayLike, count: int = 50) -> Array:
    """Middles of ``count`` equal parts of one bay that begins at x = ``start`` (..., count) [m].

    Examples
    --------
    >>> bay_points(-3.0, 6.0, 3).tolist()
    [-2.0, 0.0, 2.0]
    """
    share = (np.arange(count) + 0.5) / count
    start, pitch = np.asarray(start, dtype=np.float64), np.asarray(pitch, dtype=np.float64)
    points: Array = start[..., None] + pitch[..., None] * share
    return points


def sky_component(
    strips: Strips,
    x: ArrayLike,
    z: ArrayLike,
    *,
    pitch: ArrayLike | None = None,
    neighbours: int | None = None,
    open_sides: bool = False,
) -> SkyComponent:
    """Sky component at points of a level working plane under a roof that runs without end along the span.

    Every strip hides its full rectangle (wings, kerbs, gutters and all), here and in every other module
    of the row; sky shows in the gaps between pieces of concrete. The row's two ends and its walls are
    opaque. Glass, dirt and frames are left out: multiply by their factors. Exact in the plane of the
    section; the light of each wedge of sky is `longvault.constraints.sky.wedge_light` in closed form.

    Parameters
    ----------
    strips : Strips, batch (...)
        One module; separate pieces are allowed.
    x : array (P,) or (..., P)
        Points [m].
    z : float or array (...)
        Height of the working plane [m], in the section's own coordinates.
    pitch : float or array (...), optional
        Distance at which modules repeat [m]. Without it the section stands alone, between opaque walls.
    neighbours : int, optional
        Modules on either side of this one. By default the row does not end: modules are taken as far as sky
        can show between them, at most 200 to either side of the point.
    open_sides : bool
        Whether sky also shows past the two ends of the row (a canopy): needs a row that ends. Slower.

    Returns
    -------
    SkyComponent
        NaN for a candidate with a value that is not finite or a strip without length or thickness, and for a
        point inside the concrete.

    Notes
    -----
    Range: spans that are long against the height of the slot above the plane, see `finite_span_share`.
    Source: derived (see `longvault.constraints.sky`); the CIE overcast sky from CIE S 011.

    Examples
    --------
    A slot 1 m wide in a thin ceiling, seen from 4 m below its middle:

    >>> ceiling = Strips([-9, -0.5, 0.5, 9], [4, 4, 4, 4], [[0, 1], [2, 3]], [1e-9, 1e-9], ["wing", "wing"])
    >>> light = sky_component(ceiling, [0.0], 0.0)
    >>> round(float(light.uniform[0]), 6), round(float(light.overcast[0]), 6)
    (0.124035, 0.143169)
    """
    if open_sides and pitch is not None and neighbours is None:
        raise ValueError("open_sides: a row without end has no sides; give neighbours, e.g. neighbours=2")
    points, level, pitches = _checked(strips.batch, x, z, pitch, neighbours)
    rows, nodes, count = len(points), strips.x.shape[-1], strips.thickness.shape[-1]
    order, bounds = connected_pieces(strips)
    first, second = np.ascontiguousarray(strips.ends[order].T)
    out, status = np.empty((*points.shape, 2)), np.empty(rows, np.int64)
    xs, zs = strips.x.reshape(rows, nodes), strips.z.reshape(rows, nodes)
    thickness = np.ascontiguousarray(strips.thickness.reshape(rows, count)[:, order])
    far = -1 if neighbours is None else neighbours
    sky_rows(xs, zs, first, second, thickness, bounds, points, level, pitches, far, out, status)
    for row in np.flatnonzero((status == MIXED) | open_sides):
        parts = tuple(strips.parts[e] for e in order)
        one = Strips(xs[row], zs[row], strips.ends[order], thickness[row], parts)
        out[row] = _through_concrete(one, points[row], level[row], pitches[row], neighbours, open_sides)
    light = np.ascontiguousarray(np.moveaxis(out, -1, 0)).reshape(2, *strips.batch, points.shape[-1])
    light.flags.writeable = False
    return SkyComponent(light[0], light[1])


def _checked(
    batch: tuple[int, ...], x: ArrayLike, z: ArrayLike, pitch: ArrayLike | None, neighbours: int | None
) -> tuple[Array, Array, Array]:
    """Points (N, P), level (N,) and pitch (N,), 0 for a section that stands alone."""
    points = np.asarray(x, dtype=np.float64)
    if points.ndim < 1:
        raise ValueError(f"x: got {points:g}; must hold the points along its last axis, e.g. [0.0, 1.0]")
    if neighbours is not None and neighbours < 0:
        raise ValueError(f"neighbours: got {neighbours}; must be 0 or more")
    if pitch is not None and np.any(np.asarray(pitch) <= 0):
        raise ValueError(f"pitch: got {np.min(pitch):g} m; must be above 0")
    rows = int(np.prod(batch))
    points = np.ascontiguousarray(np.broadcast_to(points, (*batch, points.shape[-1])))
    pitches = one_each(0.0 if pitch is None else pitch, batch)
    return points.reshape(rows, points.shape[-1]), one_each(z, batch), pitches


def _through_concrete(
    strips: Strips, points: Array, level: float, pitch: float, neighbours: int | None, open_sides: bool
) -> Array:
    """Sky component (P, 2), strip by strip, where a piece passes through the working plane or sides are open.

    Such a piece hides all that lies beyond it, so a few modules to either side are exact.
    """
    near = NEIGHBOURS if neighbours is None else neighbours
    wedges = visible_wedges(
        strips, points, level, pitch=pitch or None, neighbours=near, open_sides=open_sides
    )
    light = [wedge_light(wedges.start, wedges.stop, sky=sky) for sky in SKIES]
    total: Array = np.nansum(np.stack(light, axis=-1), axis=1)
    total[wedges.inside] = np.nan
    return total
