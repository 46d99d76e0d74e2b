"""Anchorage and laps of bars and mesh: lengths by the standard, and how much steel they add."""

import numpy as np
from numpy.typing import ArrayLike

from longvault.constraints.materials import Concrete
from longvault.sections.symbols import Array

MPA = 1e6

ALL_LAPPED = 1.5
"""alpha_6 where more than half of the bars lap in one section (EN 1992-1-1, table 8.3)."""


def anchorage_length(bar: float, *, concrete: Concrete, stress: float) -> float:
    """Length that anchors a straight bar, l_b,rqd = (phi / 4) sigma_sd / f_bd [m].

    f_bd = 2.25 f_ctd for bars up to 32 mm in good bond, f_ctd = f_ctk,0.05 / gamma_c of C60 at most; at least
    10 bars and 100 mm, other factors 1 (EN 1992-1-1, 8.4.2 to 8.4.4).

    Parameters
    ----------
    bar : float
        Diameter [m].
    concrete : Concrete
    stress : float
        In the bar at the ultimate state [Pa].

    Examples
    --------
    >>> round(anchorage_length(0.025, concrete=Concrete(30e6), stress=500e6 / 1.15), 3)
    0.893
    """
    tension = min(concrete.fctk, Concrete(60 * MPA).fctk) / concrete.gamma
    thick = min(1.0, (132e-3 - bar) / 0.1)
    return max(0.25 * bar * stress / (2.25 * thick * tension), 10.0 * bar, 0.100)


def lap_length(bar: float, *, concrete: Concrete, stress: float) -> float:
    """Lap of bars or of mesh sheets that lap in one section, 1.5 l_b,rqd [m].

    At least 15 bars and 200 mm (EN 1992-1-1, 8.7.3; mesh in two layers likewise, 8.7.5.1).

    Examples
    --------
    >>> round(lap_length(0.008, concrete=Concrete(30e6), stress=500e6 / 1.15), 3)
    0.429
    """
    one = anchorage_length(bar, concrete=concrete, stress=stress)
    return max(ALL_LAPPED * one, 15.0 * bar, 0.200)


def lap_share(run: ArrayLike, *, piece: float, lap: float, whole: bool = False) -> Array:
    """Steel in laps over the steel without, along a run (...) made of pieces.

    (run - piece) / (piece - lap) laps, none where one piece reaches; ``whole`` rounds up to whole laps.

    Parameters
    ----------
    run : array (...)
        Length to cover [m].
    piece, lap : float
        Length of one piece and of one lap [m]; a piece longer than a lap.
    whole : bool
        Count whole laps: for a run that no design changes.

    Examples
    --------
    Bars of 12 m over 24 m: two laps of 1.34 m.

    >>> round(float(lap_share(24.0, piece=12.0, lap=1.34, whole=True)), 4)
    0.1117
    """
    length = np.maximum(run, piece)  # a shorter run has no lap
    laps = (length - piece) / (piece - lap)
    return np.asarray((np.ceil(laps - 1e-9) if whole else laps) * lap / length)
