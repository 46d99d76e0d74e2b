"""Snow on curved and folded roofs in rows: shape coefficients and drifts of EN 1991-1-3."""

import numpy as np
from numpy.typing import ArrayLike

from longvault.constraints.plan_load import LEFT_RIDGE, LOWEST, RIGHT_RIDGE, PlanLoad, RoofLine
from longvault.sections.symbols import Array

UNIFORM = 0.8
"""Shape coefficient of a flat or curved roof without drift, mu_1 (EN 1991-1-3, 5.3.2 and 5.3.5)."""
LARGEST = 2.0
"""Upper value of mu_3 (EN 1991-1-3, figure 5.5; may be set nationally)."""


def cylinder_coefficient(*, rise: ArrayLike, width: ArrayLike) -> Array:
    """Shape coefficient mu_3 = 0.2 + 10 h / b <= 2.0 of a cylindrical roof (EN 1991-1-3, 5.3.5).

    Examples
    --------
    >>> cylinder_coefficient(rise=[2.0, 3.6, 5.0], width=20.0).round(9).tolist()
    [1.2, 2.0, 2.0]
    """
    ratio = np.asarray(rise, dtype=np.float64) / np.asarray(width, dtype=np.float64)
    return np.minimum(0.2 + 10.0 * ratio, LARGEST)


def snow_width(*, rise: ArrayLike, width: ArrayLike) -> Array:
    """Width l_s of a circular roof that is no steeper than 60 degrees (EN 1991-1-3, 5.3.5) [m].

    sqrt(3) (b^2 + 4 h^2) / (8 h), at most b: the chord between tangents at 60 degrees.

    Examples
    --------
    >>> snow_width(rise=[5.0, 10.0], width=20.0).round(4).tolist()
    [20.0, 17.3205]
    """
    h, b = np.asarray(rise, dtype=np.float64), np.asarray(width, dtype=np.float64)
    steep = 3.0**0.5 * (b * b + 4.0 * h * h) / np.maximum(8.0 * h, 1e-12)
    return np.asarray(np.minimum(steep, b))


def valley_coefficient(slope: ArrayLike) -> Array:
    """Shape coefficient mu_2 of the valley between slopes of the mean angle given [rad].

    0.8 + 0.8 alpha / 30 up to 30 degrees, then 1.6 (EN 1991-1-3, 5.3.4 and table 5.2; from memory; above 60
    degrees the standard asks for special thought, here it stays 1.6).

    Examples
    --------
    >>> valley_coefficient(np.radians([0.0, 15.0, 30.0, 45.0])).round(6).tolist()
    [0.8, 1.2, 1.6, 1.6]
    """
    return UNIFORM + np.minimum(0.8 * np.degrees(np.asarray(slope, dtype=np.float64)) / 30.0, 0.8)


def cylinder_drift(line: RoofLine, *, ground: float, pitch: float, towards: int) -> PlanLoad:
    """Drift on a curved roof: two triangles, mu_3 on the half ``towards`` which the wind blows, else half.

    Each triangle stands on half of l_s with its peak in the middle (EN 1991-1-3, figure 5.6, case ii; the
    form from memory). The vault is as wide as the bay; in a gull-wing it stands over the slot, and the
    halves are those of two neighbours.

    Parameters
    ----------
    line : RoofLine
        Of the module.
    ground : float
        Snow on the ground [N/m2].
    pitch : float
        Bay [m].
    towards : int
        +1 right, -1 left.
    """
    peak = ground * cylinder_coefficient(rise=line.rise, width=pitch)
    quarter = 0.25 * snow_width(rise=line.rise, width=pitch)
    x = line.middle[..., None] + quarter[..., None] * np.array([-2.0, -1.0, 0.0, 1.0, 2.0])
    form = np.array([0.0, 0.5, 0.0, 1.0, 0.0] if towards > 0 else [0.0, 1.0, 0.0, 0.5, 0.0])
    return PlanLoad(x, peak[..., None] * form)


def valley_drift(line: RoofLine, *, ground: float, pitch: float) -> PlanLoad:
    """Snow gathered in the valleys of a row: mu_1 at the ridge, mu_2 in the valley, linear on plan between.

    EN 1991-1-3, 5.3.4 and figure 5.4, case ii (from memory). The valley stands where the surface is lowest:
    inside the module (gull-wing), at both its edges (vault), or at one (north light, where the glass is the
    other slope). An edge or a second ridge at half height has a coefficient half-way (own choice), so that
    the load follows the shape. Where of two ridges on one side the higher changes, it still jumps. mu_1 is
    not lowered for steep slopes: kerbs hold the snow (5.3.3(3)).

    Parameters
    ----------
    line : RoofLine
        Of the modules, batch shape (...).
    ground : float
        Snow on the ground [N/m2].
    pitch : float
        Bay [m].

    Examples
    --------
    A fold of 30 degrees: 1.6 in the valley, 0.8 on the ridge, 1.2 in the mean.

    >>> from longvault.constraints.plan_load import roof_line
    >>> from longvault.sections.strips import Strips
    >>> fold = Strips.chain([-3.0, 0.0, 3.0], [0.0, 3.0 / 3**0.5, 0.0], 0.1, "wing")
    >>> round(float(valley_drift(roof_line(fold), ground=800.0, pitch=6.0).total) / (6.0 * 800.0), 6)
    1.2
    """
    low, high = line.z.min(axis=-1), line.z.max(axis=-1)
    depth = (high[..., None] - line.z) / np.maximum(high - low, 1e-9)[..., None]
    gathered = valley_coefficient(_valley_slope(line, pitch)) - UNIFORM
    q = ground * (UNIFORM + gathered[..., None] * depth)
    between = 0.5 * (q[..., :1] + q[..., -1:])  # half-way across the gap to the next module
    ends = line.middle[..., None] + 0.5 * pitch * np.array([-1.0, 1.0])
    inside = np.clip(line.x, ends[..., :1], ends[..., 1:])
    x = np.concatenate([ends[..., :1], inside, ends[..., 1:]], axis=-1)
    return PlanLoad(x, np.concatenate([between, q, between], axis=-1))


def _valley_slope(line: RoofLine, pitch: float) -> Array:
    """Mean angle of the two slopes that meet in the valley, as chords up to the ridges [rad].

    A ridge that does not reach the height of the other counts by its share of it, the other one, a bay away
    across the gap, by the rest.
    """
    (x1, x0, x2), (z1, z0, z2) = (
        tuple(v[..., k] for k in (LEFT_RIDGE, LOWEST, RIGHT_RIDGE)) for v in (line.x, line.z)
    )
    rise = np.maximum(np.maximum(z1, z2) - z0, 1e-9)

    def slope(own_rise: Array, own_run: Array, far_rise: Array, far_run: Array) -> Array:
        share = own_rise / rise
        own, far = (np.arctan2(h, np.maximum(b, 1e-9)) for h, b in ((own_rise, own_run), (far_rise, far_run)))
        return np.asarray(share * own + (1.0 - share) * far)

    left = slope(z1 - z0, x0 - x1, z2 - z0, pitch - (x2 - x0))
    right = slope(z2 - z0, x2 - x0, z1 - z0, pitch - (x0 - x1))
    return np.asarray(0.5 * (left + right))
