"""Forms: surface by slope class, sides of beams, how many different forms a roof needs and their uses."""

from dataclasses import dataclass

import numpy as np

from longvault.constraints import making_kernels
from longvault.constraints.making import corners
from longvault.sections.parts import roof_surface, shared
from longvault.sections.rows import by_field, strip_rows
from longvault.sections.strips import Strips
from longvault.sections.symbols import Array, IntArray

SLOPES = (np.pi / 6, np.pi / 4)
"""Slope classes for concreting: below 30 degrees, 30 to 45, above 45 (Panarese & Kunze, Construction
Specifier, Dec 1963)."""

CLASS_WORDS = (
    "below 30 deg: open form, slump 50 to 100 mm",
    "30 to 45 deg: open form, slump 25 to 75 mm",
    "above 45 deg: top form, from about 150 mm thickness, or sprayed",
)
"""What each class asks for (Panarese & Kunze 1963)."""


@dataclass(frozen=True, slots=True, eq=False)
class FormAreas:
    """Form area per metre of span of one module; every field is (...) [m].

    Parameters
    ----------
    flat, inclined, steep : array
        Roof surface in the three classes of `SLOPES`, one face.
    beams : array
        Sides of beams and kerbs, and a soffit for each straight stretch of one thickness.
    """

    flat: Array
    inclined: Array
    steep: Array
    beams: Array

    @property
    def total(self) -> Array:
        """Whole form area, steep surface counted on both faces (...) [m]."""
        return self.flat + self.inclined + 2.0 * self.steep + self.beams


def form_areas(strips: Strips, *, slopes: tuple[float, float] = SLOPES) -> FormAreas:
    """Form area of a module by slope class.

    Parameters
    ----------
    strips : Strips
        Batch (...). A candidate that cannot be measured is a NaN row.
    slopes : tuple of float
        The two slopes that part the classes [rad].

    Raises
    ------
    ValueError
        If the slopes do not rise between 0 and 90 degrees.

    Examples
    --------
    >>> roof = Strips.chain([0.0, 4.0, 7.0, 10.0], [0.0, 1.0, 3.0, 7.0], 0.1, "wing")
    >>> f = form_areas(roof)
    >>> float(f.flat.round(3)), float(f.inclined.round(3)), float(f.steep), float(f.total.round(3))
    (4.123, 3.606, 5.0, 17.729)
    """
    if not 0.0 < slopes[0] < slopes[1] < np.pi / 2:
        raise ValueError(f"slopes: got {slopes}; must rise between 0 and pi/2 rad")
    out = np.empty((int(np.prod(strips.batch)), making_kernels.FORM_FIELDS))
    making_kernels.forms_rows(
        *strip_rows(strips),
        roof_surface(strips),
        shared(strips),
        corners(strips.ends.tobytes(), strips.parts, True),
        (float(np.sin(slopes[0])), float(np.sin(slopes[1]))),
        out,
    )
    return FormAreas(*by_field(out, strips.batch))


def slope_classes(strips: Strips, *, slopes: tuple[float, float] = SLOPES) -> IntArray:
    """Class of each strip for drawing: 0, 1, 2 by `SLOPES`, -1 for beams and kerbs (..., e).

    Examples
    --------
    >>> roof = Strips.chain([0.0, 4.0, 7.0, 7.0], [0.0, 1.0, 4.5, 5.0], 0.1, ["wing", "wing", "kerb"])
    >>> slope_classes(roof).tolist()
    [0, 2, -1]
    """
    _, dz = strips.span_vectors()
    sine = np.abs(dz) / strips.length
    steeper = [sine > np.sin(slope) * (1.0 + 1e-12) for slope in slopes]
    classes = steeper[0].astype(np.intp) + steeper[1].astype(np.intp)
    return np.where(roof_surface(strips), classes, np.intp(-1))


@dataclass(frozen=True, slots=True)
class FormSets:
    """How a row of bays uses its forms.

    Parameters
    ----------
    different : int
        Number of different forms.
    uses : float
        Mean uses of one form: bays times pours a bay, over the forms.
    """

    different: int
    uses: float


def form_sets(strips: Strips, *, pours: int = 1, step: float = 0.005) -> FormSets:
    """Count the different forms of a row of bays (n,) and their uses.

    Bays whose mid-lines and thicknesses agree to ``step`` share a form, a mirrored bay too (turned end for
    end).

    Parameters
    ----------
    strips : Strips
        The bays of the roof as a batch (n,), each about its own axis.
    pours : int
        Pours along the span in which one form slides on.
    step : float
        What may be taken up in adjusting the form [m].

    Examples
    --------
    >>> one = Strips.chain([-2.0, 0.0, 2.0], [0.0, 1.0, 0.0], 0.1, "wing")
    >>> row = Strips([one.x] * 6, [one.z] * 6, one.ends, [one.thickness] * 6, one.parts)
    >>> form_sets(row, pours=2)
    FormSets(different=1, uses=12.0)
    """
    if len(strips.batch) != 1:
        raise ValueError(f"strips: got batch {strips.batch}; give the bays of the roof as a batch (n,)")
    if pours < 1:
        raise ValueError(f"pours: got {pours}; must be 1 or more")
    known: list[Strips] = []
    for bay in range(strips.batch[0]):
        if not any(_share_a_form(strips[bay], form, step) for form in known):
            known.append(strips[bay])
    return FormSets(len(known), strips.batch[0] * pours / len(known))


def _outline(strips: Strips) -> Array:
    """List ends and thickness of each strip, sorted so that numbering does not matter (e, 5)."""
    x1, z1, x2, z2 = (
        strips.at_first(strips.x),
        strips.at_first(strips.z),
        strips.at_second(strips.x),
        strips.at_second(strips.z),
    )
    turn = (x1 > x2) | ((x1 == x2) & (z1 > z2))
    rows = np.stack(
        [
            np.where(turn, x2, x1),
            np.where(turn, z2, z1),
            np.where(turn, x1, x2),
            np.where(turn, z1, z2),
            strips.thickness,
        ],
        axis=-1,
    )
    keys = np.round(rows / 1e-6)
    return np.asarray(rows[np.lexsort(keys.T[::-1])], dtype=np.float64)


def _share_a_form(one: Strips, other: Strips, step: float) -> bool:
    pairs = ((one.x, other.x), (one.z, other.z), (one.thickness, other.thickness))
    alike = all(np.abs(a - b).max() <= step for a, b in pairs)
    return alike or bool(np.abs(_outline(one.mirrored()) - _outline(other)).max() <= step)
