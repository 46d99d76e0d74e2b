"""Glass in the slot: what it lets through, and the sky that its middle sees."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from longvault.constraints.daylight_kernel import glass_rows
from longvault.constraints.sky import Sky, wedge_light
from longvault.sections import Strips
from longvault.sections.opening import Slot, slot
from longvault.sections.rows import one_each
from longvault.sections.symbols import Array


@dataclass(frozen=True, slots=True)
class Glazing:
    """Factors by which glass, dirt, frames and screens cut the light.

    Parameters
    ----------
    transmittance : float
        Diffuse transmittance of the clean glass, 0 to 1. Default 0.68, double glazing (common practice).
    dirt : float, optional
        Share left by dirt. By default it follows the slope: 0.7 flat, 0.8 at 45 degrees, 0.9 upright, in
        between by straight lines (values for a clean district as in BRE Digest 310; interpolation is ours).
    frame : float
        Share of the opening that is glass and not bars, 0 to 1. Default 0.8 (common practice).
    screen : float
        Share of light left by a baffle, blind or reflector under the slot, 0 to 1. Default 1, none.
    """

    transmittance: float = 0.68
    dirt: float | None = None
    frame: float = 0.8
    screen: float = 1.0

    def __post_init__(self) -> None:
        for name in ("transmittance", "dirt", "frame", "screen"):
            value = getattr(self, name)
            if value is not None and not 0.0 <= value <= 1.0:
                raise ValueError(f"{name}: got {value:g}; must be a share from 0 to 1")

    def dirt_share(self, slope: ArrayLike) -> Array:
        """Share of light left by dirt on glass at a slope from the horizontal [rad].

        Examples
        --------
        >>> Glazing().dirt_share(np.deg2rad([0.0, 45.0, 62.3, 90.0])).round(4).tolist()
        [0.7, 0.8, 0.8384, 0.9]
        """
        slope = np.asarray(slope, dtype=np.float64)
        if self.dirt is not None:
            return np.full(slope.shape, self.dirt)
        share: Array = 0.7 + 0.2 * slope / (0.5 * np.pi)
        return share

    def factor(self, slope: ArrayLike) -> Array:
        """Share of the light that passes glass, dirt, frames and screen together."""
        share: Array = self.transmittance * self.frame * self.screen * self.dirt_share(slope)
        return share


BARE = Glazing(transmittance=1.0, dirt=1.0, frame=1.0)
"""An open slot: nothing in the way."""


@dataclass(frozen=True, slots=True, eq=False)
class GlassSky:
    """The slot and the sky that the middle of its glass sees past both modules.

    Parameters
    ----------
    slot : Slot
        Where the glass lies, its clear width and slope.
    tilt : array (...)
        Angle of the glass's outward normal from the zenith, positive towards +x [rad].
    start, stop : array (...)
        Edges of the visible sky from the zenith, positive towards +x [rad]; start > stop if none shows.
    """

    slot: Slot
    tilt: Array
    start: Array
    stop: Array

    @property
    def sky_angle(self) -> Array:
        """Angle of visible sky [rad], pi for flat unobstructed glass; 0 where there is no slot."""
        angle: Array = np.where(self.slot.width > 0, np.maximum(self.stop - self.start, 0.0), 0.0)
        return np.where(np.isnan(self.slot.width), np.nan, angle)

    def light(self, sky: Sky) -> Array:
        """Light on the outside of the glass, as a share of that on open level ground."""
        light = wedge_light(self.start, self.stop, sky=sky, tilt=self.tilt)
        return np.where(self.sky_angle > 0, light, 0.0 * self.slot.width)


def glass_sky(strips: Strips, *, pitch: ArrayLike) -> GlassSky:
    """Sky seen from the middle of the glass between this module and the next.

    The glass lies on the shortest line across the slot. This module hides all that its corners above the
    middle of the glass hide on the left, the next one on the right.

    Parameters
    ----------
    strips : Strips, batch (...)
    pitch : float or array (...)
        Distance at which modules repeat [m].

    Notes
    -----
    Source: derived; the angle of visible sky is the theta of the average daylight factor (BRE Digest 310).

    Examples
    --------
    Flat glass between two kerbs of one height sees the whole sky:

    >>> deck = Strips([-2, -2, 2, 2], [0.5, 0, 0, 0.5], [[0, 1], [1, 2], [2, 3]], [0.2, 0.1, 0.2],
    ...               ["kerb", "wing", "kerb"])
    >>> seen = glass_sky(deck, pitch=6.0)
    >>> round(float(np.rad2deg(seen.sky_angle)), 6), round(float(seen.light("overcast")), 6)
    (180.0, 1.0)
    """
    found = slot(strips, pitch)
    run, rise = found.x_right - found.x_left, found.z_right - found.z_left
    tilt = np.arctan2(-rise, run)
    rows, count = found.width.size, strips.thickness.shape[-1]
    line = np.stack([found.width, found.x_left, found.z_left, found.x_right, found.z_right], axis=-1)
    edges = np.empty((rows, 2))
    glass_rows(
        strips.x.reshape(rows, -1),
        strips.z.reshape(rows, -1),
        *np.ascontiguousarray(strips.ends.T),
        strips.thickness.reshape(rows, count),
        one_each(pitch, strips.batch),
        line.reshape(rows, 5),
        edges,
    )
    start, stop = (np.arctan(v).reshape(strips.batch) for v in np.ascontiguousarray(edges.T))
    half = 0.5 * np.pi
    return GlassSky(found, tilt, np.maximum(start, tilt - half), np.minimum(stop, tilt + half))
