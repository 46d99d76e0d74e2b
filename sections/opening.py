"""The glazed slot between two modules: its clear width, where its glass lies, how it slopes."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from longvault.sections.opening_kernel import slot_rows
from longvault.sections.rows import by_field, one_each, rows_and_chain
from longvault.sections.strips import Strips
from longvault.sections.symbols import Array

KERB = "kerb"


@dataclass(frozen=True, slots=True, eq=False)
class Slot:
    """The slot between this module (on its left) and the next one, as the shortest line across it.

    Parameters
    ----------
    width : array (...)
        Clear width between the two outlines, measured along the glass [m]; negative where they overlap.
    x_left, z_left, x_right, z_right : array (...)
        Ends of the shortest line, on this module and on the next one [m]. Where the two faces are
        parallel the line lies at their upper end.
    """

    width: Array
    x_left: Array
    z_left: Array
    x_right: Array
    z_right: Array

    @property
    def slope(self) -> Array:
        """Angle of the glass from the horizontal [rad]: 0 flat, pi/2 upright, NaN without a slot."""
        rise, run = np.abs(self.z_right - self.z_left), np.abs(self.x_right - self.x_left)
        return np.where(self.width > 0, np.arctan2(rise, run), np.nan)


def clear_opening(strips: Strips, pitch: ArrayLike, frame: ArrayLike = 0.0) -> Array:
    """Clear opening of the slot between this module and the next one [m].

    The smallest distance between the outlines of the two slot edges less the frame, so it is measured
    along the glass (upright, inclined or flat) and between kerb faces, never centre to centre, along the
    curve or on plan. Each strip counts as its full rectangle, length times thickness; the distance between
    two rectangles is exact. A slot edge is made of the kerbs on that half of the module, the strips that
    meet its outermost node, and the strip whose outline reaches furthest out.

    Parameters
    ----------
    strips : Strips, batch (...)
        One structural module.
    pitch : float or array (...)
        Distance at which modules repeat [m].
    frame : float or array (...)
        Width taken by frames and bars across the slot [m].

    Returns
    -------
    array (...)
        Clear opening [m]: 0 (less the frame) where modules touch, negative where they overlap (then minus
        the depth of the overlap), NaN for a candidate that holds NaN.

    Raises
    ------
    ValueError
        If ``pitch`` is not above 0 or ``frame`` is below 0.

    Notes
    -----
    Source: derived; two disjoint convex outlines are nearest at a corner of one of them, overlapping ones
    are judged by the separating-axis rule (common practice in computational geometry).

    Examples
    --------
    Kerbs 0.2 m wide, 1.4 m from centre to centre:

    >>> kerb = Strips([-2.3, -2.3, 2.3, 2.3], [1.0, 0.5, 0.5, 1.0], [[0, 1], [1, 2], [2, 3]],
    ...               [0.2, 0.1, 0.2], ["kerb", "wing", "kerb"])
    >>> round(float(clear_opening(kerb, 6.0)), 9), round(float(clear_opening(kerb, 6.0, 0.1)), 9)
    (1.2, 1.1)
    """
    frame = np.asarray(frame, dtype=np.float64)
    if np.any(frame < 0):
        raise ValueError(f"frame: got {frame.min():g} m; must be 0 or more")
    width: Array = slot(strips, pitch).width - frame
    return width


def slot(strips: Strips, pitch: ArrayLike) -> Slot:
    """Return the slot between this module and the next: its clear width and the line across it.

    Arguments and rules as for `clear_opening`.

    Examples
    --------
    >>> roof = Strips.chain([0.0, 4.0, 4.0], [0.0, 0.0, 3.0], [0.1, 0.1], "wing")
    >>> opening = slot(roof, 8.05)
    >>> round(float(opening.width), 6), round(float(np.rad2deg(opening.slope)), 3)
    (4.0, 0.0)
    """
    pitch = np.asarray(pitch, dtype=np.float64)
    if np.any(pitch <= 0):
        raise ValueError(f"pitch: got {pitch.min():g} m; must be above 0")
    pitches = one_each(pitch, strips.batch)
    kerb = np.array([part == KERB for part in strips.parts], dtype=np.bool_)
    out = np.empty((len(pitches), 5))
    slot_rows(
        *rows_and_chain(strips),
        kerb,
        pitches,
        out,
    )
    fields = by_field(out, strips.batch)
    fields.flags.writeable = False
    return Slot(*fields)
