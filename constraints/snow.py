"""Snow on curved and folded roofs in rows: shape coefficients and drifts of EN 1991-1-3."""

import numpy as np
from numpy.typing import ArrayLike

from longvault.constraints.plan_load import GAP, PlanLoad, RoofLine
from longvault.constraints.roof_kernels import gathered_rows
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

    EN 1991-1-3, 5.3.4 and figure 5.4, case ii (from memory), for any shape by `gathered_share`: of a fold,
    a vault or a north light (whose other slope is the glass) it gives the two slopes of the figure. mu_1 is
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
    x, z = line.bay(pitch)
    share, slope = gathered_share(line, x, z)
    gathered = valley_coefficient(slope) - UNIFORM
    return PlanLoad(x, ground * (UNIFORM + gathered[..., None] * share))


EVEN = 0.1
"""Change of slope over which a place goes from wholly falling to wholly rising."""
LEVELS = 24
"""Steps of the height at which ground is reckoned with."""
NEARLY_LEVEL = 0.1
"""Drop of the glass over the rise of the roof below which it counts less and less as a slope."""


def gathered_share(line: RoofLine, x: Array, z: Array) -> tuple[Array, Array]:
    """Share of the drift that gathers at each place of a bay (..., p), and the mean slope (...) [rad].

    On ground that rises to the right the share is the part of all such ground that lies higher, on plan;
    likewise where it falls. On a slope from ridge to valley, straight or curved, that is linear on plan, 0 at
    the ridge and 1 in the valley; of several ridges or valleys each counts by its height (own choice: the
    figure has equal ones). The slope is the mean of both ways, climb over run, as a chord. All of it is
    continuous in the shape (level places lie half on either way), so that a search can walk along it; the
    mean of the share is a half whatever the shape. Level glass is no slope.

    Parameters
    ----------
    line : RoofLine
        Of the modules (...).
    x, z : array (..., p)
        Places and heights over one bay, from `RoofLine.bay` [m].

    Examples
    --------
    >>> from longvault.constraints.plan_load import roof_line
    >>> from longvault.sections.strips import Strips
    >>> fold = roof_line(Strips.chain([-2.0, 0.0, 2.0], [0.0, 1.0, 0.0], 0.1, "crown"))
    >>> share, slope = gathered_share(fold, *fold.bay(4.0))
    >>> round(float(share.max()), 2), round(float(np.degrees(slope)), 1)  # valley; atan(1 / 2)
    (0.99, 26.6)
    """
    batch, places = x.shape[:-1], x.shape[-1]
    drop = np.abs(line.z[..., -1] - line.z[..., 0]) / np.maximum(NEARLY_LEVEL * line.rise, 1e-9)
    counted = np.ones((*batch, places - 1))
    counted[..., :GAP] = counted[..., -GAP:] = np.minimum(drop, 1.0)[..., None]
    share, slope = np.empty((int(np.prod(batch)), places)), np.empty(int(np.prod(batch)))
    rows = (np.array(v, order="C").reshape(len(share), -1) for v in (x, z, counted))
    gathered_rows(*rows, EVEN, LEVELS, share, slope)
    return share.reshape(x.shape), slope.reshape(batch)
