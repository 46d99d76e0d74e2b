"""Daylight, sun and sound of a roof as a brief asks for them: room, glass, wish; measures and limit."""

from dataclasses import dataclass, field

import numpy as np

from longvault.constraints.daylight_factor import Room, daylight
from longvault.constraints.glazing import Glazing
from longvault.constraints.limit import FLOOR, Limit
from longvault.constraints.sound import focusing_score
from longvault.sections.properties import Properties
from longvault.sections.strips import Strips
from longvault.sections.symbols import Array

DAYLIGHT_MEASURES = (
    "daylight_mean",
    "daylight_formula",
    "daylight_least",
    "daylight_uniformity",
    "glass_per_floor",
    "sound_focusing",
)
"""Keys of the measures that `daylight_measures` gives."""


@dataclass(frozen=True, slots=True)
class DaylightSettings:
    """The room under the roof and what is wished of its light.

    Parameters
    ----------
    level : float
        Height of the working plane against the lowest point of the section [m]: -4 lies 4 m below it.
    glazing : Glazing
        Factors by which glass, dirt and frames cut the light.
    room : Room
        Reflectances and walls.
    mean_least : float or None
        Least mean daylight factor, 0 to 1; None sets no limit.
    points : int
        Points across the bay.
    latitude, x_azimuth : float
        Latitude, north positive, and compass direction of the section's +x [rad]; without a latitude the sun
        is not looked at. No limit enters.
    speaker : float or None
        x of a speaker for the picture of sound foci [m].
    """

    level: float
    glazing: Glazing = field(default_factory=Glazing)
    room: Room = field(default_factory=Room)
    mean_least: float | None = None
    points: int = 25
    latitude: float | None = None
    x_azimuth: float = 0.0
    speaker: float | None = None


def daylight_measures(
    strips: Strips, properties: Properties, pitch: float, settings: DaylightSettings
) -> dict[str, Array]:
    """Measures of daylight and sound for a batch (...), by the keys of `DAYLIGHT_MEASURES`.

    Overcast sky. Mean, least and uniformity are those over the length of the room where its walls are given:
    the sky component keeps the share that its end walls leave. The sound score warns, it is no limit.

    Examples
    --------
    >>> from longvault.sections.properties import section_properties
    >>> deck = Strips([-2, -2, 2, 2], [0.5, 0, 0, 0.5], [[0, 1], [1, 2], [2, 3]], [0.2, 0.1, 0.2],
    ...               ["kerb", "wing", "kerb"])
    >>> m = daylight_measures(deck, section_properties(deck), 6.0, DaylightSettings(level=-3.0))
    >>> round(float(100 * m["daylight_mean"]), 1), round(float(m["glass_per_floor"]), 3)
    (12.0, 0.3)
    """
    level = properties.bottom + settings.level
    found = daylight(
        strips, pitch=pitch, level=level, glazing=settings.glazing, room=settings.room, points=settings.points
    )
    share, even = found.span_share, found.internally_reflected
    mean = found.sky_component.mean(axis=-1) * share + even
    least = found.sky_component.min(axis=-1) * share + even
    return {
        "daylight_mean": mean,
        "daylight_formula": found.average_formula,
        "daylight_least": least,
        "daylight_uniformity": np.divide(least, mean, out=np.zeros(mean.shape), where=mean > 0) + 0.0 * mean,
        "glass_per_floor": found.glass_per_floor,
        "sound_focusing": focusing_score(strips, floor=level),
    }


def daylight_limits(settings: DaylightSettings) -> tuple[Limit, ...]:
    """Limit on the mean daylight factor where one is set."""
    if settings.mean_least is None:
        return ()
    return (
        Limit(
            "daylight", "mean daylight factor", "daylight_mean", settings.mean_least, FLOOR,
            "sky component through the glass + light reflected inside, mean over the working plane",
            "brief; CIE overcast sky; split flux (Hopkinson, Petherbridge & Longmore 1966, from memory)",
        ),
    )  # fmt: skip
