"""Where the sun stands: declination, altitude, azimuth, day length, both hemispheres.

Angles in rad: latitude positive north, declination positive in the northern summer, hour angle 0 at solar
noon and positive in the afternoon (pi/12 an hour), azimuth clockwise from north. Times are true solar
time.
"""

import numpy as np
from numpy.typing import ArrayLike

from longvault.sections.symbols import Array

OBLIQUITY = np.deg2rad(23.45)
"""Largest declination, as used by Cooper [rad]."""

HOUR = np.pi / 12.0
"""Hour angle of one hour [rad]."""

NOON_OF_LAST_DAY_OF_2024 = 9131.0
"""Days from 1 January 2000, 12:00, to 31 December 2024, 12:00."""


def declination_cooper(day: ArrayLike) -> Array:
    """Declination of the sun on a day of the year, by one sine [rad].

    delta = 23.45 deg sin(360 deg (284 + n)/365), within about 1.5 deg of the true value.

    Parameters
    ----------
    day : array
        Day n of the year, 1 to 365.

    Notes
    -----
    Source: P. I. Cooper, Solar Energy 12 (1969) 333 (from memory).

    Examples
    --------
    >>> (np.rad2deg(declination_cooper([81, 172, 355])) + 0.0).round(3).tolist()
    [0.0, 23.45, -23.45]
    """
    n = np.asarray(day, dtype=np.float64)
    angle: Array = OBLIQUITY * np.sin(2.0 * np.pi * (284.0 + n) / 365.0)
    return angle


def declination(day: ArrayLike) -> Array:
    """Declination of the sun at noon on a day of 2025, to about one minute of arc [rad].

    Parameters
    ----------
    day : array
        Day of the year, 1 to 365 (parts of a day allowed). Other years differ by up to 0.2 deg at the
        equinoxes.

    Notes
    -----
    Source: U.S. Naval Observatory, Computing Approximate Solar Coordinates (after the Astronomical Almanac):
    g = 357.529 + 0.98560028 D, q = 280.459 + 0.98564736 D, L = q + 1.915 sin g + 0.020 sin 2g,
    e = 23.439 - 0.00000036 D, sin delta = sin e sin L, in degrees with D days from noon of 1 January 2000.

    Examples
    --------
    >>> np.rad2deg(declination([172, 355])).round(2).tolist()
    [23.44, -23.44]
    """
    longitude, obliquity = solar_longitude(NOON_OF_LAST_DAY_OF_2024 + np.asarray(day, dtype=np.float64))
    angle: Array = np.arcsin(np.sin(obliquity) * np.sin(longitude))
    return angle


def solar_longitude(days: ArrayLike) -> tuple[Array, Array]:
    """Apparent ecliptic longitude of the sun and obliquity of the ecliptic [rad].

    Parameters
    ----------
    days : array
        Days from 1 January 2000, 12:00 universal time; within two centuries of it.

    Notes
    -----
    Source: as for `declination`.

    Examples
    --------
    7 August 1997, 11:00:

    >>> longitude, _ = solar_longitude(-877.04167)
    >>> round(float(np.rad2deg(longitude) % 360), 2)
    134.98
    """
    d = np.asarray(days, dtype=np.float64)
    g = np.deg2rad(357.529 + 0.98560028 * d)
    longitude = np.deg2rad(280.459 + 0.98564736 * d + 1.915 * np.sin(g) + 0.020 * np.sin(2.0 * g))
    return longitude, np.deg2rad(23.439 - 0.00000036 * d)


def sun_position(latitude: ArrayLike, declination: ArrayLike, hour_angle: ArrayLike) -> tuple[Array, Array]:
    """Altitude of the sun above the horizon and its azimuth clockwise from north [rad], 0 to 2 pi.

    Notes
    -----
    Source: spherical astronomy (the astronomical triangle); no refraction.

    Examples
    --------
    Latitude 40 deg N, equinox, 9:00:

    >>> altitude, azimuth = sun_position(np.deg2rad(40.0), 0.0, -3 * HOUR)
    >>> np.rad2deg([altitude, azimuth]).round(4).tolist()
    [32.7978, 122.7324]
    """
    phi, delta, hour = (np.asarray(v, dtype=np.float64) for v in (latitude, declination, hour_angle))
    up = np.sin(phi) * np.sin(delta) + np.cos(phi) * np.cos(delta) * np.cos(hour)
    east = -np.cos(delta) * np.sin(hour)
    north = np.sin(delta) * np.cos(phi) - np.cos(delta) * np.sin(phi) * np.cos(hour)
    return np.arcsin(np.clip(up, -1.0, 1.0)), np.arctan2(east, north) % (2.0 * np.pi)


def noon_altitude(latitude: ArrayLike, declination: ArrayLike) -> Array:
    """Altitude of the sun at solar noon [rad]: 90 deg less the difference of latitude and declination.

    Below 0 the sun does not rise.

    Examples
    --------
    >>> np.rad2deg(noon_altitude(np.deg2rad(51.5), np.deg2rad([0, 23.44, -23.44]))).round(2).tolist()
    [38.5, 61.94, 15.06]
    """
    difference = np.asarray(latitude, dtype=np.float64) - np.asarray(declination, dtype=np.float64)
    altitude: Array = 0.5 * np.pi - np.abs(difference)
    return altitude


def day_length(latitude: ArrayLike, declination: ArrayLike) -> Array:
    """Time from sunrise to sunset of the sun's centre, without refraction [h], 0 to 24.

    (2/15) acos(-tan latitude tan declination).

    Examples
    --------
    >>> day_length(np.deg2rad([35.0, 0.0, 80.0]), np.deg2rad(23.44)).round(3).tolist()
    [14.356, 12.0, 24.0]
    """
    product = np.tan(np.asarray(latitude, dtype=np.float64)) * np.tan(
        np.asarray(declination, dtype=np.float64)
    )
    hours: Array = 2.0 / HOUR * np.arccos(np.clip(-product, -1.0, 1.0))
    return hours


def noon_cut_off_slope(latitude: ArrayLike) -> Array:
    """Least slope at which glass turned to the pole keeps the noon sun out all year [rad].

    113.45 deg less the latitude: the noon altitude at the summer solstice. NaN within the tropics, where
    no slope up to upright is enough. Morning and evening sun beyond the east-west line still comes in
    during summer.

    Parameters
    ----------
    latitude : array
        Either hemisphere; glass faces north at northern latitudes, south at southern ones.

    Notes
    -----
    Source: derived; the sun stands in the plane of the glass when its noon altitude equals the slope.

    Examples
    --------
    >>> np.rad2deg(noon_cut_off_slope(np.deg2rad([52, -35, 10]))).round(2).tolist()
    [61.45, 78.45, nan]
    """
    slope = 0.5 * np.pi + OBLIQUITY - np.abs(np.asarray(latitude, dtype=np.float64))
    least: Array = np.where(slope <= 0.5 * np.pi, slope, np.nan)
    return least


def noon_sun_days(latitude: float, slope: float) -> Array:
    """Days of the year on which the noon sun shines on glass that faces the pole at a slope [rad].

    Examples
    --------
    >>> days = noon_sun_days(np.deg2rad(52.0), np.deg2rad(55.0))
    >>> int(days[0]), int(days[-1]), len(noon_sun_days(np.deg2rad(52.0), np.deg2rad(62.3)))
    (128, 216, 0)
    """
    day = np.arange(1.0, 366.0)
    delta = declination(day)
    sign = 1.0 if latitude >= 0 else -1.0
    # Altitude from the horizon on the equator's side: above 90 deg the sun stands towards the pole.
    altitude = 0.5 * np.pi - sign * latitude + sign * delta
    return day[(altitude > slope) & (noon_altitude(latitude, delta) > 0)]
