"""Skies: light on a plane from strips of sky that run without end along the vault, in closed form.

A direction is given by the angle t, in the plane of the cross-section, from the zenith towards +x. A roof
that runs without end along y shows a point wedges of sky t1 to t2, each a strip from horizon to horizon.
All results are shares of the light that the same, unobstructed sky throws on open level ground, 0 to 1.
"""

from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from longvault.sections.symbols import Array

Sky = Literal["overcast", "uniform"]
SKIES: tuple[Sky, ...] = ("overcast", "uniform")


def overcast_luminance(altitude: ArrayLike) -> Array:
    """Luminance of the CIE standard overcast sky over that of the zenith, (1 + 2 sin g)/3.

    Parameters
    ----------
    altitude : array
        Angle g above the horizon [rad], 0 to pi/2.

    Notes
    -----
    Source: CIE S 011 / ISO 15469, standard overcast sky of 1955 (formula from memory; the horizon's third of
    the zenith is quoted widely). The open horizontal illuminance is 7 pi/9 times the zenith luminance.

    Examples
    --------
    >>> overcast_luminance([0.0, np.pi / 2]).round(6).tolist()
    [0.333333, 1.0]
    """
    return (1.0 + 2.0 * np.sin(np.asarray(altitude, dtype=np.float64))) / 3.0


def wedge_integral(t: ArrayLike, *, sky: Sky, tilt: ArrayLike = 0.0) -> Array:
    """Antiderivative of the light from sky wedges: light from t1 to t2 is the difference of its values.

    Uniform: sin(t - b)/2. Overcast: (3/14) sin(t - b) + (4/(7 pi)) [t cos b + sin(2t - b)/2].

    Parameters
    ----------
    t : array
        Angle of the wedge's edge from the zenith, positive towards +x [rad], -pi/2 to pi/2.
    sky : ``"overcast"`` or ``"uniform"``
    tilt : array
        Angle b of the receiving plane's normal from the zenith, positive towards +x [rad]; 0 is a table top.
        The wedge must lie within pi/2 of the normal.

    Returns
    -------
    array
        Share of the open horizontal illuminance of the same sky.

    Notes
    -----
    Source: derived. A direction is (cos f sin t, sin f, cos f cos t), its solid angle cos f df dt; the
    sky's luminance (1 + 2 cos f cos t)/3 and the cosine law integrate over f from -pi/2 to pi/2 in closed
    form.

    Examples
    --------
    The whole sky on a vertical plane, 3/14 + 4/(7 pi):

    >>> edges = wedge_integral([0.0, np.pi / 2], sky="overcast", tilt=np.pi / 2)
    >>> round(float(edges[1] - edges[0]), 7)
    0.3961771
    """
    t, tilt = np.asarray(t, dtype=np.float64), np.asarray(tilt, dtype=np.float64)
    plain: Array = np.sin(t - tilt)
    if sky == "uniform":
        return 0.5 * plain
    if sky != "overcast":
        raise ValueError(f"sky: got {sky!r}; must be one of {', '.join(SKIES)}")
    graded = t * np.cos(tilt) + 0.5 * np.sin(2.0 * t - tilt)
    light: Array = (3.0 / 14.0) * plain + (4.0 / (7.0 * np.pi)) * graded
    return light


def wedge_light(start: ArrayLike, stop: ArrayLike, *, sky: Sky, tilt: ArrayLike = 0.0) -> Array:
    """Light on a plane from the wedge of sky between two angles (see `wedge_integral`).

    Examples
    --------
    A slot 1 m wide, 4 m above a table, seen from below its middle:

    >>> edge = np.arctan(0.5 / 4.0)
    >>> round(float(wedge_light(-edge, edge, sky="uniform")), 7)
    0.1240347
    """
    upper: Array = wedge_integral(stop, sky=sky, tilt=tilt) - wedge_integral(start, sky=sky, tilt=tilt)
    return upper


def tilted_plane_light(tilt: ArrayLike, *, sky: Sky) -> Array:
    """Light of the whole unobstructed sky on a plane whose normal is tilted 0 to pi/2 from the zenith.

    The ground's reflection is left out. Uniform: (1 + cos b)/2.

    Examples
    --------
    >>> tilted_plane_light(np.deg2rad([0.0, 45.0, 90.0]), sky="overcast").round(7).tolist()
    [1.0, 0.797471, 0.3961771]
    """
    tilt = np.asarray(tilt, dtype=np.float64)
    return wedge_light(tilt - 0.5 * np.pi, 0.5 * np.pi, sky=sky, tilt=tilt)


def mean_span_share(distance: ArrayLike, length: ArrayLike, *, sky: Sky, cos_t: ArrayLike = 1.0) -> Array:
    """Share of a thin wedge's light that finite slots leave, as the mean over their whole length.

    Uniform sky: (2/pi) atan(length/distance).

    Parameters
    ----------
    distance : array
        Sloping distance from the point to the glass, in the section [m], above 0.
    length : array
        Length of the slot [m], between opaque end walls.
    sky, cos_t
        As for `finite_share`.

    Notes
    -----
    Source: derived; `finite_share` integrated along the slot in closed form, for s atan(s/d) is the
    integral of f + sin f cos f with f = atan(s/d).

    Examples
    --------
    A slot 24 m long, 5 m above the tables:

    >>> round(float(mean_span_share(5.0, 24.0, sky="uniform")), 4)
    0.8692
    """
    d, s = np.asarray(distance, dtype=np.float64), np.asarray(length, dtype=np.float64)
    slant = np.sqrt(s * s + d * d)
    plain = s * np.arctan(s / d)
    graded = (2.0 * slant - d - d * d / slant) / 3.0
    weight = 0.0 if sky == "uniform" else 2.0 * np.asarray(cos_t, dtype=np.float64)
    share: Array = (plain + 2.0 * weight * graded) / (s * (0.5 * np.pi + weight * 4.0 / 3.0))
    return share


def finite_share(
    angle_before: ArrayLike, angle_after: ArrayLike, *, sky: Sky, cos_t: ArrayLike = 1.0
) -> Array:
    """Share of a thin wedge's light that is left when the slot ends.

    Parameters
    ----------
    angle_before, angle_after : array
        Angles f out of the cross-section to the two ends of the slot, both counted positive [rad], 0 to pi/2:
        atan of the length left on that side over the sloping distance to the glass.
    sky : ``"overcast"`` or ``"uniform"``
    cos_t : array
        Cosine of the wedge's angle from the zenith (only the overcast sky depends on it).

    Notes
    -----
    Source: derived; int cos^2 f df = (f + sin f cos f)/2 against pi/2 and int cos^3 f df = sin f - sin^3 f/3
    against 4/3, weighted by the luminance of the sky.

    Examples
    --------
    >>> finite_share([np.pi / 2, np.pi / 4], [np.pi / 2, np.pi / 4], sky="uniform").round(4).tolist()
    [1.0, 0.8183]
    """
    before, after = np.asarray(angle_before, dtype=np.float64), np.asarray(angle_after, dtype=np.float64)
    plain = sum(0.5 * (f + np.sin(f) * np.cos(f)) for f in (before, after))
    graded = sum(np.sin(f) - np.sin(f) ** 3 / 3.0 for f in (before, after))
    weight = 0.0 if sky == "uniform" else 2.0 * np.asarray(cos_t, dtype=np.float64)
    share: Array = (plain + weight * graded) / (0.5 * np.pi + weight * 4.0 / 3.0)
    return share
