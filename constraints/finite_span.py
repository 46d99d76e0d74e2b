"""What the ends of a slot take from the light: a roof of finite span against an endless one."""

import numpy as np
from numpy.typing import ArrayLike

from longvault.constraints.sky import Sky, finite_share
from longvault.constraints.visibility import NEIGHBOURS, Wedges, visible_wedges
from longvault.sections import Strips
from longvault.sections.symbols import Array

NODES, WEIGHTS = np.polynomial.legendre.leggauss(24)


def finite_span_light(
    strips: Strips,
    x: ArrayLike,
    z: float,
    *,
    span: float,
    along: float = 0.0,
    sky: Sky = "overcast",
    pitch: float | None = None,
    neighbours: int = NEIGHBOURS,
) -> tuple[Array, Array]:
    """Sky component under slots of finite length between opaque end walls, and under endless ones.

    Parameters
    ----------
    strips : Strips
        One section (no batch).
    x : array (P,)
        Points [m].
    z : float
        Height of the working plane [m].
    span : float
        Length of the slots [m].
    along : float
        Distance of the points from mid-span along the vault [m], within half the span.
    sky, pitch, neighbours
        As for `longvault.constraints.daylight.sky_component`.

    Returns
    -------
    finite, endless : array (P,)
        Shares of the open sky's light; finite <= endless always.

    Notes
    -----
    Source: derived. A ray of a wedge reaches the glass after the sloping distance d in the section, so
    the ends of the slot bound its angle out of the section by atan(length/d) to either side; that angle
    is integrated in closed form (`longvault.constraints.sky.finite_share`), the angle in the section by
    24 Gauss points a wedge.

    Examples
    --------
    A square roof light, 1 m x 1 m, 4 m above a point: 0.0195 of a uniform sky (view factor of a parallel
    rectangle), against 0.1240 for an endless slot.

    >>> ceiling = Strips([-9, -0.5, 0.5, 9], [4, 4, 4, 4], [[0, 1], [2, 3]], [1e-9, 1e-9], ["wing", "wing"])
    >>> finite, endless = finite_span_light(ceiling, [0.0], 0.0, span=1.0, sky="uniform")
    >>> round(float(finite[0]), 4), round(float(endless[0]), 4)
    (0.0195, 0.124)
    """
    if not span > 0:
        raise ValueError(f"span: got {span:g} m; must be above 0")
    if not abs(along) <= 0.5 * span:
        raise ValueError(f"along: got {along:g} m; must be within half the span, {0.5 * span:g} m")
    points = np.atleast_1d(np.asarray(x, dtype=np.float64))
    wedges = visible_wedges(strips, points, z, pitch=pitch, neighbours=neighbours)
    t, weight = _gauss(wedges)
    distance = _distance(wedges, points, z, t)
    density = _density(np.cos(t), sky) * weight
    before, after = (np.arctan((0.5 * span + side * along) / distance) for side in (1.0, -1.0))
    share = finite_share(before, after, sky=sky, cos_t=np.cos(t))
    finite, endless = (np.nansum(v, axis=(-2, -1)) for v in (density * share, density))
    finite[wedges.inside] = endless[wedges.inside] = np.nan
    return finite, endless


def _gauss(wedges: Wedges) -> tuple[Array, Array]:
    """Angles and weights (P, m, n) of the Gauss points in each wedge."""
    half = 0.5 * (wedges.stop - wedges.start)[..., None]
    middle = 0.5 * (wedges.stop + wedges.start)[..., None]
    return middle + half * NODES, half * WEIGHTS


def _distance(wedges: Wedges, x: Array, z: float, t: Array) -> Array:
    """Sloping distance (P, m, n) to the line between the corners that bound a wedge."""
    ax, az = wedges.start_corner[..., 0] - x[:, None], wedges.start_corner[..., 1] - z
    bx, bz = (
        (wedges.stop_corner - wedges.start_corner)[..., 0],
        (wedges.stop_corner - wedges.start_corner)[..., 1],
    )
    across = (ax * bz - az * bx)[..., None]
    distance: Array = across / (np.sin(t) * bz[..., None] - np.cos(t) * bx[..., None])
    return distance


def _density(cos_t: Array, sky: Sky) -> Array:
    """Light per angle of wedge: the derivative of `longvault.constraints.sky.wedge_integral`."""
    plain = 0.5 * cos_t
    return plain if sky == "uniform" else (3.0 / 7.0) * plain + (8.0 / (7.0 * np.pi)) * cos_t**2
