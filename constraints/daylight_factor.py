"""Daylight factor: sky component through the glass, light reflected inside, averages."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from longvault.constraints.daylight import bay_points, sky_component
from longvault.constraints.glazing import Glazing, glass_sky
from longvault.constraints.sky import Sky, mean_span_share
from longvault.sections import Strips
from longvault.sections.opening import Slot
from longvault.sections.symbols import Array

UPSTANDS = ("kerb",)


@dataclass(frozen=True, slots=True)
class Room:
    """The room under the roof, for the light that its surfaces send on.

    Parameters
    ----------
    floor, walls, ceiling : float
        Reflectances, 0 to 1. Defaults 0.3, 0.5, 0.5 (common practice for a light floor and fair-faced
        concrete).
    bays : int, optional
        Number of bays side by side. Together with ``length`` it sets the walls; without both the room has no
        walls, only floor and roof.
    length : float, optional
        Inner length of the room along the span [m].
    wall_height : float
        Mean height of the walls above the working plane [m].
    """

    floor: float = 0.3
    walls: float = 0.5
    ceiling: float = 0.5
    bays: int | None = None
    length: float | None = None
    wall_height: float = 0.0

    def __post_init__(self) -> None:
        for name in ("floor", "walls", "ceiling"):
            if not 0.0 <= getattr(self, name) < 1.0:
                raise ValueError(f"{name}: got {getattr(self, name):g}; a reflectance is from 0 to below 1")
        if (self.bays is None) != (self.length is None):
            raise ValueError(f"bays and length belong together; got bays {self.bays}, length {self.length}")

    def wall_width(self, pitch: ArrayLike) -> Array:
        """Wall area per metre of span and bay [m], all four walls shared out evenly."""
        pitch = np.asarray(pitch, dtype=np.float64)
        if self.bays is None or self.length is None:
            return np.zeros(pitch.shape)
        share: Array = 2.0 * (self.bays * pitch + self.length) * self.wall_height / (self.bays * self.length)
        return share


@dataclass(frozen=True, slots=True, eq=False)
class Daylight:
    """What `daylight` finds. Shares of the open sky's light on level ground (times 100: %), lengths in m.

    Parameters
    ----------
    clear_opening : array (...)
        Clear width of the slot along its glass, less nothing for frames [m].
    glass_slope : array (...)
        Slope of the glass from the horizontal [rad]; NaN without a slot.
    glass_per_floor : array (...)
        Glass width over bay width.
    sky_angle : array (...)
        Angle of sky visible from the middle of the glass [rad].
    x : array (..., P)
        The points of the working plane [m].
    sky_component : array (..., P)
        Straight from the sky through the glass.
    internally_reflected : array (...)
        Even light from the room's surfaces.
    daylight_factor : array (..., P)
        Their sum.
    mean, least, uniformity : array (...)
        Of the daylight factor over the points; uniformity is least over mean.
    span_share : array (...)
        Share of the sky component that a room of finite length keeps, mean over its length, for light
        from straight above (oblique light keeps a little less); 1 without a length. The other figures
        hold for an endless room.
    average_formula : array (...)
        The average daylight factor by `average_daylight_factor`, a second opinion on ``mean``. It spreads
        the light over all surfaces, so under slots overhead it reads lower than the exact curve, by up to
        a half.
    """

    clear_opening: Array
    glass_slope: Array
    glass_per_floor: Array
    sky_angle: Array
    x: Array
    sky_component: Array
    internally_reflected: Array
    daylight_factor: Array
    mean: Array
    least: Array
    uniformity: Array
    span_share: Array
    average_formula: Array


def average_daylight_factor(
    *,
    transmittance: ArrayLike,
    glass_area: ArrayLike,
    sky_angle: ArrayLike,
    surface_area: ArrayLike,
    reflectance: ArrayLike,
    maintenance: ArrayLike = 1.0,
) -> Array:
    """Average daylight factor of a room, T W theta M / (A (1 - R^2)) per cent with theta in degrees.

    Parameters
    ----------
    transmittance : array
        T, diffuse, of the glass.
    glass_area, surface_area : array
        W, net area of glass, and A, total area of floor, ceiling and walls with the windows [m2].
    sky_angle : array
        theta, angle of visible sky from the middle of the glass [rad].
    reflectance : array
        R, mean over all surfaces by area, below 1.
    maintenance : array
        M, for dirt (0.7 flat, 0.8 sloping, 0.9 upright glass) and, if wished, frames.

    Returns
    -------
    array
        Share of the light outside, 0 to 1.

    Notes
    -----
    Source: BRE Digest 310; CIBSE Lighting Guide 10; Tregenza & Sharples, Daylighting Algorithms, 2.12.
    Range: rooms that are not deep, overcast sky.

    Examples
    --------
    >>> share = average_daylight_factor(transmittance=0.68, glass_area=12.0, sky_angle=np.pi / 2,
    ...     surface_area=500.0, reflectance=0.5, maintenance=0.7)
    >>> round(float(100 * share), 5)
    1.37088
    """
    reflectance = np.asarray(reflectance, dtype=np.float64)
    if np.any((reflectance < 0) | (reflectance >= 1)):
        raise ValueError(f"reflectance: got {reflectance}; must be from 0 to below 1")
    light = (
        np.asarray(transmittance) * np.asarray(maintenance) * np.asarray(glass_area) * np.rad2deg(sky_angle)
    )
    factor: Array = 0.01 * light / (np.asarray(surface_area) * (1.0 - reflectance**2))
    return factor


def daylight(
    strips: Strips,
    *,
    pitch: ArrayLike,
    level: ArrayLike,
    glazing: Glazing | None = None,
    room: Room | None = None,
    points: int = 50,
    sky: Sky = "overcast",
) -> Daylight:
    """Daylight on the working plane of an inner bay: curve, mean, uniformity, glass area.

    The sky component is exact in the section (`longvault.constraints.daylight.sky_component`). The light
    reflected inside is spread evenly (split flux): what enters through the glass and meets the floor, or
    first the inner face of the roof, is sent on once and shared by all surfaces, E = F_1/(A (1 - R)).

    Parameters
    ----------
    strips : Strips, batch (...)
        One module.
    pitch : float or array (...)
        Bay [m].
    level : float or array (...)
        Height z of the working plane [m].
    glazing, room : optional
        Defaults as their classes say.
    points : int
        Points across the bay.
    sky : ``"overcast"`` or ``"uniform"``

    Notes
    -----
    Range: inner bays and long spans; light sent back by the outside of the neighbouring module is left
    out, on the safe side. Source of the split flux: Hopkinson, Petherbridge & Longmore, Daylighting, 1966
    (from memory).

    Examples
    --------
    >>> deck = Strips([-2, -2, 2, 2], [0.5, 0, 0, 0.5], [[0, 1], [1, 2], [2, 3]], [0.2, 0.1, 0.2],
    ...               ["kerb", "wing", "kerb"])
    >>> light = daylight(deck, pitch=6.0, level=-3.0)
    >>> round(float(light.clear_opening), 3), round(float(100 * light.mean), 2)
    (1.8, 12.03)
    """
    glazing, room = glazing or Glazing(), room or Room()
    pitch = np.broadcast_to(np.asarray(pitch, dtype=np.float64), strips.batch)
    seen = glass_sky(strips, pitch=pitch)
    width = np.maximum(seen.slot.width, 0.0)
    slope = np.abs(seen.tilt)
    factor = glazing.factor(slope)
    x = bay_points(0.5 * (strips.x.max(axis=-1) + strips.x.min(axis=-1) - pitch), pitch, points)
    direct = getattr(sky_component(strips, x, level, pitch=pitch), sky) * factor[..., None]
    surface, reflectance = _surfaces(strips, pitch, width, room)
    first = _first_reflection(direct.mean(axis=-1) * pitch, factor * seen.light(sky) * width, room)
    reflected = first / (surface * (1.0 - reflectance))
    total = direct + reflected[..., None]
    mean, least = total.mean(axis=-1), total.min(axis=-1)
    average = average_daylight_factor(
        transmittance=factor,
        glass_area=width,
        sky_angle=seen.sky_angle,
        surface_area=surface,
        reflectance=reflectance,
    )
    uniformity = np.divide(least, mean, out=np.full(mean.shape, np.nan), where=mean > 0)
    share = _span_share(seen.slot, level, room, sky)
    return Daylight(
        seen.slot.width, seen.slot.slope, width / pitch, seen.sky_angle, x, direct, reflected, total,
        mean, least, uniformity, share, average,
    )  # fmt: skip


def _span_share(slot: Slot, level: ArrayLike, room: Room, sky: Sky) -> Array:
    """Share of the sky component that is left in a room of finite length."""
    height = 0.5 * (slot.z_left + slot.z_right) - np.asarray(level, dtype=np.float64)
    if room.length is None:
        return np.ones(height.shape)
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(height > 0, mean_span_share(height, room.length, sky=sky), np.nan)


def _surfaces(strips: Strips, pitch: Array, width: Array, room: Room) -> tuple[Array, Array]:
    """Area of all surfaces per metre of span and bay [m], and their mean reflectance (glass: 0)."""
    inner = [part not in UPSTANDS for part in strips.parts]
    ceiling = np.ascontiguousarray(strips.length[..., inner]).sum(axis=-1)
    walls = room.wall_width(pitch)
    total = pitch + ceiling + walls + width
    return total, (room.floor * pitch + room.ceiling * ceiling + room.walls * walls) / total


def _first_reflection(on_floor: Array, through_glass: Array, room: Room) -> Array:
    """Light sent on by the surface it meets first, per metre of span and bay."""
    return room.floor * on_floor + room.ceiling * np.maximum(through_glass - on_floor, 0.0)
