"""Direct sun on the glass and on the floor of a roof, by month; how to turn a north light."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from longvault.constraints.glazing import glass_sky
from longvault.constraints.sun import (
    HOUR,
    declination,
    noon_cut_off_slope,
    noon_sun_days,
    sun_position,
)
from longvault.constraints.visibility import sunlit_share
from longvault.sections import Strips
from longvault.sections.symbols import Array, IntArray

MONTH_DAYS = np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")


@dataclass(frozen=True, slots=True, eq=False)
class SunPath:
    """The sun above the horizon through a year, at even steps of solar time.

    Parameters
    ----------
    step : float
        Time that each sample stands for [h].
    month : int array (T,)
        0 for January.
    altitude, azimuth : array (T,)
        Above the horizon and clockwise from north [rad].
    """

    step: float
    month: IntArray
    altitude: Array
    azimuth: Array


def sun_path(latitude: float, *, step: float = 0.25) -> SunPath:
    """Sample the sun's path over a year, every ``step`` hours of every day.

    Parameters
    ----------
    latitude : float
        Positive north [rad], -pi/2 to pi/2.

    Examples
    --------
    >>> path = sun_path(0.0)
    >>> round(len(path.month) * path.step / 365, 2)
    12.0
    """
    if not abs(latitude) <= 0.5 * np.pi:
        raise ValueError(f"latitude: got {np.rad2deg(latitude):g} deg; must be from -90 to 90")
    day = np.arange(1, 366)
    hour = np.arange(-12.0 + 0.5 * step, 12.0, step)
    altitude, azimuth = sun_position(latitude, declination(day)[:, None], HOUR * hour)
    month = np.broadcast_to(np.repeat(np.arange(12), MONTH_DAYS)[:, None], altitude.shape)
    up = altitude > 0.0
    return SunPath(step, month[up], altitude[up], azimuth[up])


@dataclass(frozen=True, slots=True, eq=False)
class DirectSun:
    """Hours of direct sun in each month under a clear sky (12,) [h].

    Parameters
    ----------
    above_horizon : array
        The sun is up.
    glass : array
        It passes through some of the glass to the floor.
    floor : array
        It reaches a spot of the floor: mean over the bay.
    faces : float
        Azimuth that the glass faces [rad].
    """

    above_horizon: Array
    glass: Array
    floor: Array
    faces: float


def sun_angle(altitude: ArrayLike, azimuth: ArrayLike, x_azimuth: float) -> Array:
    """Angle of the sun from the zenith in the plane of the section, positive towards +x [rad].

    tan t = cos(azimuth - x_azimuth)/tan(altitude). Under a roof that runs without end along the span only
    this angle decides what hides the sun. Source: derived.

    Examples
    --------
    >>> float(np.rad2deg(sun_angle(np.deg2rad(30.0), np.pi, np.pi)).round(6))
    60.0
    """
    altitude, azimuth = np.asarray(altitude, dtype=np.float64), np.asarray(azimuth, dtype=np.float64)
    t: Array = np.arctan2(np.cos(azimuth - x_azimuth) * np.cos(altitude), np.sin(altitude))
    return t


def direct_sun(
    strips: Strips, *, pitch: float, latitude: float, x_azimuth: float, step: float = 0.25
) -> DirectSun:
    """Find the hours of direct sun on glass and floor of an inner bay, month by month.

    Parameters
    ----------
    strips : Strips
        One module (no batch).
    pitch : float
        Bay [m].
    latitude : float
        Positive north [rad].
    x_azimuth : float
        Compass direction of the section's +x, clockwise from north [rad].
    step : float
        Step in time [h].

    Notes
    -----
    Range: clear sky, long spans. The share of the floor is `longvault.constraints.visibility.sunlit_share`.

    Examples
    --------
    Glass turned north at 62 deg and 52 deg north: sun in summer mornings and evenings, none in winter.

    >>> roof = Strips.chain([0.0, 0.0, 4.8], [0.3, 0.0, 2.4], 0.1, ["kerb", "wing"])
    >>> sun = direct_sun(roof, pitch=6.0, latitude=np.deg2rad(52.0), x_azimuth=0.0)
    >>> bool(sun.glass[5] > 100), float(sun.glass[11]), round(float(sun.above_horizon.sum()))
    (True, 0.0, 4406)
    """
    path = sun_path(latitude, step=step)
    lit = sunlit_share(strips, sun_angle(path.altitude, path.azimuth, x_azimuth), pitch=pitch)
    hours: list[Array] = [
        path.step * np.bincount(path.month, weights=weight, minlength=12).astype(np.float64)
        for weight in (np.ones(len(lit)), lit > 0.0, lit)
    ]
    tilt = float(glass_sky(strips, pitch=pitch).tilt)
    return DirectSun(
        hours[0], hours[1], hours[2], (x_azimuth + (0.0 if tilt >= 0.0 else np.pi)) % (2.0 * np.pi)
    )


@dataclass(frozen=True, slots=True)
class NorthLightAdvice:
    """How to turn and slope glass that is to keep the noon sun out.

    Parameters
    ----------
    towards : str
        ``north`` or ``south``: the pole's side.
    least_slope : float
        Slope from the horizontal [rad], NaN where none is enough.
    noon_sun_days : tuple of int
        First and last day of the year with noon sun on the glass; empty if none.
    words : str
        The advice in a sentence.
    """

    towards: str
    least_slope: float
    noon_sun_days: tuple[int, ...]
    words: str


def north_light_advice(latitude: float, slope: float) -> NorthLightAdvice:
    """Judge glass that faces the pole at a slope from the horizontal [rad], at a latitude [rad].

    Examples
    --------
    >>> north_light_advice(np.deg2rad(52.0), np.deg2rad(62.3)).words
    'Turn the glass north. At 62.3 deg it keeps the noon sun out all year (least slope 61.45 deg).'
    """
    towards = "north" if latitude >= 0 else "south"
    least = float(noon_cut_off_slope(latitude))
    days = noon_sun_days(latitude, slope)
    span = (int(days[0]), int(days[-1])) if len(days) else ()
    start = f"Turn the glass {towards}. At {np.rad2deg(slope):.1f} deg"
    if not len(days):
        words = f"{start} it keeps the noon sun out all year (least slope {np.rad2deg(least):.2f} deg)."
    elif np.isnan(least):
        words = (
            f"{start} the noon sun strikes it on {len(days)} days a year; no slope is enough in the tropics."
        )
    else:
        words = (
            f"{start} the noon sun strikes it on {len(days)} days a year; "
            f"it stays out from {np.rad2deg(least):.2f} deg."
        )
    return NorthLightAdvice(towards, least, span, words)
