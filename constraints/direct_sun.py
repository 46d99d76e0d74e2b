"""Direct sun on the glass and on the floor of a roof, by month; how to turn a north light."""

from dataclasses import dataclass

import numpy as np

from longvault.constraints.daylight import bay_points
from longvault.constraints.glazing import GlassSky, glass_sky
from longvault.constraints.sun import (
    HOUR,
    declination,
    noon_cut_off_slope,
    noon_sun_days,
    sun_position,
)
from longvault.constraints.visibility import Wedges, visible_wedges
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
        It shines on the outside of the glass, past the roof's own modules.
    floor_any : array
        It reaches some of the points of the working plane.
    floor_mean : array
        Mean over the points.
    faces : float
        Azimuth that the glass faces [rad].
    """

    above_horizon: Array
    glass: Array
    floor_any: Array
    floor_mean: Array
    faces: float


def direct_sun(
    strips: Strips,
    *,
    pitch: float,
    level: float,
    latitude: float,
    x_azimuth: float,
    points: int = 25,
    step: float = 0.25,
) -> DirectSun:
    """Hours of direct sun on the glass and the working plane of an inner bay, month by month.

    Parameters
    ----------
    strips : Strips
        One module (no batch).
    pitch, level : float
        Bay and height z of the working plane [m].
    latitude : float
        Positive north [rad].
    x_azimuth : float
        Compass direction of the section's +x, clockwise from north [rad].
    points : int
        Points across the bay.
    step : float
        Step in time [h].

    Notes
    -----
    Range: clear sky, long spans. The roof runs without end along the span, so only the sun's angle in the
    plane of the section decides what hides it: tan t = cos(azimuth - x_azimuth)/tan(altitude). Source:
    derived.

    Examples
    --------
    Glass turned north at 62 deg and 52 deg north: sun in summer mornings and evenings, none in winter.

    >>> roof = Strips.chain([0.0, 0.0, 4.8], [0.3, 0.0, 2.4], 0.1, ["kerb", "wing"])
    >>> sun = direct_sun(roof, pitch=6.0, level=-4.0, latitude=np.deg2rad(52.0), x_azimuth=0.0)
    >>> bool(sun.glass[5] > 100), float(sun.glass[11]), round(float(sun.above_horizon.sum()))
    (True, 0.0, 4406)
    """
    path = sun_path(latitude, step=step)
    in_section = np.cos(path.azimuth - x_azimuth) * np.cos(path.altitude)
    t = np.arctan2(in_section, np.sin(path.altitude))
    seen = glass_sky(strips, pitch=pitch)
    on_glass = _inside(t, seen)
    middle = 0.5 * (float(strips.x.max()) + float(strips.x.min()) - pitch)
    wedges = visible_wedges(strips, bay_points(middle, pitch, points), level, pitch=pitch)
    lit = _lit_share(t, wedges)
    hours: list[Array] = [
        path.step * np.bincount(path.month, weights=w, minlength=12).astype(np.float64)
        for w in (np.ones(len(t)), on_glass, lit > 0, lit)
    ]
    faces = (x_azimuth + (0.0 if float(seen.tilt) >= 0.0 else np.pi)) % (2.0 * np.pi)
    return DirectSun(hours[0], hours[1], hours[2], hours[3], faces)


def _inside(t: Array, seen: GlassSky) -> Array:
    """1 where the sun's angle in the section lies in the sky that the glass sees."""
    return ((t > seen.start) & (t < seen.stop) & (seen.slot.width > 0)).astype(np.float64)


def _lit_share(t: Array, wedges: Wedges) -> Array:
    """Share of the points that the sun reaches at each angle."""
    count = np.zeros(len(t))
    edges = np.sort(t)
    order = np.argsort(t)
    for start, stop in zip(wedges.start.ravel(), wedges.stop.ravel(), strict=True):
        if np.isfinite(start):
            first, last = np.searchsorted(edges, [start, stop])
            count[order[first:last]] += 1.0
    return count / len(wedges.start)


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
