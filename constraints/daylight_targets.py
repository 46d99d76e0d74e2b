"""What a daylight factor means: bands of the average, levels of EN 17037."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from longvault.sections.symbols import Array, IntArray

BANDS = (
    (0.02, "gloomy: electric light needed"),
    (0.05, "well daylit"),
    (np.inf, "strongly daylit: watch glare and heat"),
)
"""Upper bound of the average daylight factor and its meaning (BS 8206-2 and CIBSE, from memory)."""


def band(average: float) -> str:
    """Say what an average daylight factor means.

    Examples
    --------
    >>> band(0.03)
    'well daylit'
    """
    return next(words for bound, words in BANDS if average < bound)


@dataclass(frozen=True, slots=True)
class Target:
    """One level of EN 17037: illuminances [lx] to reach for half of the daylight hours."""

    name: str
    illuminance: float
    least_illuminance: float | None

    def wanted(self, *, roof: bool) -> tuple[tuple[float, float], ...]:
        """Pairs (illuminance [lx], share of the plane) for roof openings or for upright and inclined ones."""
        if roof or self.least_illuminance is None:
            return ((self.illuminance, 0.95),)
        return ((self.illuminance, 0.5), (self.least_illuminance, 0.95))


TARGETS = (Target("minimum", 300.0, 100.0), Target("medium", 500.0, 300.0), Target("high", 750.0, 500.0))
"""EN 17037:2018, Tables A.1 and A.2 (medium level looked up, the others from memory)."""

MEDIAN_DIFFUSE = 14_100.0
"""Median diffuse illuminance outdoors, London [lx] (EN 17037 Annex A, from memory): set your own."""


def illuminance(daylight_factor: ArrayLike, *, outdoors: ArrayLike = 10_000.0) -> Array:
    """Illuminance of the working plane [lx] while open ground has ``outdoors`` [lx] (overcast sky).

    Examples
    --------
    Slots with a daylight factor of 4.5 % behind a baffle that leaves a quarter:

    >>> round(float(illuminance(0.25 * 0.045)), 1)
    112.5
    """
    light: Array = np.asarray(daylight_factor, dtype=np.float64) * np.asarray(outdoors, dtype=np.float64)
    return light


def target_factor(illuminance: ArrayLike, *, median_diffuse: ArrayLike = MEDIAN_DIFFUSE) -> Array:
    """Daylight factor that gives an illuminance for half of the daylight hours, D_T = E/E_v,d,med.

    Source: EN 17037:2018, Annex A.

    Examples
    --------
    >>> (100 * target_factor([300.0, 500.0, 750.0])).round(4).tolist()
    [2.1277, 3.5461, 5.3191]
    """
    factor: Array = np.asarray(illuminance, dtype=np.float64) / np.asarray(median_diffuse, dtype=np.float64)
    return factor


def target_level(
    daylight_factor: ArrayLike, *, roof: bool = True, median_diffuse: float = MEDIAN_DIFFUSE
) -> IntArray:
    """Level of EN 17037 that the points of a working plane reach: 0 none, 1 minimum, 2 medium, 3 high.

    Parameters
    ----------
    daylight_factor : array (..., P)
        At evenly spread points, 0 to 1.
    roof : bool
        Whether the openings are horizontal (Table A.2, one share) or upright and inclined (Table A.1).
    median_diffuse : float
        Median diffuse illuminance outdoors of the place [lx].

    Examples
    --------
    >>> int(target_level([0.04, 0.05, 0.06])), int(target_level([0.04, 0.05, 0.06], roof=False))
    (2, 2)
    """
    factor = np.asarray(daylight_factor, dtype=np.float64)
    reached = np.zeros(factor.shape[:-1], np.intp)
    for number, target in enumerate(TARGETS, start=1):
        held = np.ones(factor.shape[:-1], np.bool_)
        for illuminance, share in target.wanted(roof=roof):
            enough = factor >= target_factor(illuminance, median_diffuse=median_diffuse)
            held &= enough.mean(axis=-1) >= share - 1e-12
        reached[held] = number
    return reached
