"""Snow on curved and folded roofs in rows: shape coefficients and drifts of EN 1991-1-3."""

import numpy as np
from numpy.typing import ArrayLike

from longvault.constraints.plan_load import LEVEL, PlanLoad, RoofLine
from longvault.sections.symbols import Array, BoolArray

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
    other slope). mu_1 is not lowered for steep slopes: kerbs hold the snow (5.3.3(3)).
    """
    half = 0.5 * pitch
    inside = line.low_z < np.minimum(line.left_z, line.right_z) - LEVEL
    outside = ~inside & (line.high_z > np.maximum(line.left_z, line.right_z) + LEVEL)
    peak = ground * valley_coefficient(_valley_slope(line, inside, outside, pitch))
    ridge = np.full_like(peak, UNIFORM * ground)
    mean = 0.5 * (peak + ridge)
    low_left = line.left_z <= line.right_z
    edge = np.where(inside, ridge, np.where(outside, peak, mean))
    turn = np.where(inside, line.low_x, line.high_x)
    plain = ~(inside | outside)
    x1, x2 = np.where(plain, line.left, turn), np.where(plain, line.right, turn)
    top = np.where(inside, peak, ridge)
    q1 = np.where(plain, np.where(low_left, peak, ridge), top)
    q2 = np.where(plain, np.where(low_left, ridge, peak), top)
    middle = line.middle
    return PlanLoad(np.stack([middle - half, x1, x2, middle + half], -1), np.stack([edge, q1, q2, edge], -1))


def _valley_slope(line: RoofLine, inside: BoolArray, outside: BoolArray, pitch: float) -> Array:
    """Mean angle of the two chords that meet in the valley [rad]."""

    def angle(rise: Array, run: Array) -> Array:
        return np.arctan2(np.abs(rise), np.maximum(np.abs(run), 1e-9))

    at = np.where(inside, line.low_x, line.high_x)
    left = angle(line.left_z - np.where(inside, line.low_z, line.high_z), at - line.left)
    right = angle(line.right_z - np.where(inside, line.low_z, line.high_z), line.right - at)
    roof = angle(line.rise, line.right - line.left)
    glass = angle(line.rise, pitch - (line.right - line.left))
    return np.where(inside | outside, 0.5 * (left + right), 0.5 * (roof + glass))
