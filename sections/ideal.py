"""The ideal that no section beats: bounds on the modulus for an area and a height.

With w(z) the total horizontal width of concrete at level z, S <= (A h^2 / 4 - J) 2 / h, where J is the
least integral of z (h - z) w dz that the stated webs allow (derived: S is largest when the axis is at half
height and the area lies at the two faces). S is the smaller modulus of bending held straight.
"""

import numpy as np
from numpy.typing import ArrayLike

from longvault.sections import height_kernels
from longvault.sections.strips import Strips
from longvault.sections.symbols import Array, IntArray


def two_flange_inertia(*, area: ArrayLike, height: ArrayLike) -> Array:
    """Second moment A h^2 / 4 of two flanges without a web [m4]; no section of that area and height has more.

    Examples
    --------
    >>> float(two_flange_inertia(area=0.9, height=2.0))
    0.9
    """
    return np.asarray(area, dtype=np.float64) * np.asarray(height, dtype=np.float64) ** 2 / 4.0


def two_flange_modulus(*, area: ArrayLike, height: ArrayLike) -> Array:
    """Modulus A h / 2 of two flanges without a web [m3]; no smaller modulus, held or free, exceeds it.

    Free bending obeys it too: with |f| <= 1/S everywhere, 1 = integral of f (z - z_mid) dA <= A h / (2 S).

    Examples
    --------
    >>> float(two_flange_modulus(area=0.9, height=2.0))
    0.9
    """
    return np.asarray(area, dtype=np.float64) * np.asarray(height, dtype=np.float64) / 2.0


def web_modulus(*, area: ArrayLike, height: ArrayLike, webs: ArrayLike, least_thickness: ArrayLike) -> Array:
    """Modulus bound with ``webs`` webs of the least thickness through the whole height [m3].

    S <= A h / 2 - n t h^2 / 3. Every level must be cut by at least n webs of horizontal width t or more.

    Parameters
    ----------
    area, height : array (...)
        Of the section [m2], [m].
    webs : array (...)
        Number n of webs that any level between bottom and top is sure to cut (`fewest_crossings`).
    least_thickness : array (...)
        Smallest thickness allowed [m].

    Examples
    --------
    >>> float(web_modulus(area=0.9, height=2.0, webs=2, least_thickness=0.08).round(6))
    0.686667
    """
    area, height = np.asarray(area, dtype=np.float64), np.asarray(height, dtype=np.float64)
    web = np.asarray(webs) * np.asarray(least_thickness, dtype=np.float64)
    return np.where(area >= web * height, area * height / 2.0 - web * height**2 / 3.0, np.nan)


def flanged_modulus(
    *, area: ArrayLike, height: ArrayLike, webs: ArrayLike, least_thickness: ArrayLike, width: ArrayLike
) -> Array:
    """Modulus bound when no level is wider than ``width``: an I-section with flanges of that width [m3].

    e = (A - n t h) / (2 (b - n t)) is the flange depth, S <= [b h^3 - (b - n t)(h - 2 e)^3] / (6 h).

    Parameters
    ----------
    area, height, webs, least_thickness : array (...)
        As in `web_modulus`.
    width : array (...)
        Plan width b of the module [m].

    Returns
    -------
    array (...)
        NaN where the area is less than the webs need or more than the rectangle b h holds.

    Examples
    --------
    >>> float(flanged_modulus(area=0.9, height=2.0, webs=2, least_thickness=0.08, width=5.0).round(4))
    0.6526
    """
    area, height = np.asarray(area, dtype=np.float64), np.asarray(height, dtype=np.float64)
    web = np.asarray(webs) * np.asarray(least_thickness, dtype=np.float64)
    return _i_section(area, height, web, np.asarray(width, dtype=np.float64))


def single_layer_modulus(
    *, area: ArrayLike, height: ArrayLike, webs: ArrayLike, least_thickness: ArrayLike, width: ArrayLike
) -> Array:
    """Modulus bound for a section that covers each point of the plan once (a roof curve) [m3].

    Top and bottom flange then share the plan width b: (b + o) / 2 each with a web max(n t, o). The best o
    is n t or, with flanges a quarter of the height deep, (4 A - b h) / (3 h) (derived: dS/do has the sign
    of e - h / 4).

    Parameters
    ----------
    area, height, webs, least_thickness, width : array (...)
        As in `flanged_modulus`.

    Examples
    --------
    >>> float(single_layer_modulus(area=0.9, height=2.0, webs=2, least_thickness=0.08, width=5.0).round(4))
    0.6199
    """
    area, height = np.asarray(area, dtype=np.float64), np.asarray(height, dtype=np.float64)
    width = np.asarray(width, dtype=np.float64)
    web = np.asarray(webs) * np.asarray(least_thickness, dtype=np.float64)
    overlap = np.maximum(web, np.minimum((4.0 * area - width * height) / (3.0 * height), area / height))
    return _i_section(area, height, overlap, 0.5 * (width + overlap))


def _i_section(area: Array, height: Array, web: Array, flange: Array) -> Array:
    good = (area >= web * height) & (area <= flange * height) & (flange > web)
    depth = (area - web * height) / np.where(good, 2.0 * (flange - web), np.nan)
    return (flange * height**3 - (flange - web) * (height - 2.0 * depth) ** 3) / (6.0 * height)


def fewest_crossings(strips: Strips) -> IntArray:
    """Smallest number of strips cut by any level between the lowest and the highest node, (...).

    At least 1 for a connected section; 2 for a gull-wing with equal wings; 0 for a NaN row.

    Examples
    --------
    >>> vault = Strips.chain([-2.0, 0.0, 2.0], [0.0, 1.0, 0.0], 0.1, "wing")
    >>> int(fewest_crossings(vault))
    2
    """
    out = np.empty(int(np.prod(strips.batch)), dtype=np.intp)
    first, second = np.ascontiguousarray(strips.ends.T)
    height_kernels.fewest_crossings_rows(strips.z.reshape(-1, strips.x.shape[-1]), first, second, out)
    return out.reshape(strips.batch)


def plan_cover(strips: Strips) -> Array:
    """Sum of the plan widths of all strips, their thickness counted, (...) [m].

    For a roof curve about its width; a second layer counts again.

    Examples
    --------
    >>> float(plan_cover(Strips.chain([0.0, 2.0, 2.0], [0.0, 0.0, 1.0], 0.1, "wing")))
    2.1
    """
    first, second = strips.ends.T
    dx, dz = (np.abs(v[..., second] - v[..., first]) for v in (strips.x, strips.z))
    cover: Array = (dx + strips.thickness * dz / np.sqrt(dx * dx + dz * dz)).sum(axis=-1)
    return cover


def section_ideal(strips: Strips, *, area: ArrayLike, height: ArrayLike) -> Array:
    """Modulus that no section of this area, height, webs, least thickness and plan cover beats [m3].

    The smaller of `web_modulus` and `single_layer_modulus`. The plan cover takes the place of the width:
    strip by strip, two levels cut no more than its plan width, and once more what is steep enough for both.

    Parameters
    ----------
    strips : Strips
        Batch (...).
    area, height : array (...)
        Of the same sections [m2], [m].

    Examples
    --------
    >>> fold = Strips.chain([-2.0, 0.0, 2.0], [0.0, 1.0, 0.0], 0.1, "wing")
    >>> from longvault.sections.properties import section_properties
    >>> p = section_properties(fold)
    >>> round(float(section_ideal(fold, area=p.area, height=p.height)), 3), round(float(p.s_top), 3)
    (0.151, 0.069)
    """
    given = {
        "area": area,
        "height": height,
        "webs": fewest_crossings(strips),
        "least_thickness": strips.thickness.min(axis=-1),
    }
    return ideal_modulus(**given, cover=plan_cover(strips))


def ideal_modulus(
    *, area: ArrayLike, height: ArrayLike, webs: ArrayLike, least_thickness: ArrayLike, cover: ArrayLike
) -> Array:
    """`section_ideal` from its numbers: for a line beside a front.

    Examples
    --------
    >>> float(ideal_modulus(area=0.9, height=2.0, webs=2, least_thickness=0.08, cover=5.0).round(4))
    0.6199
    """
    given = {"area": area, "height": height, "webs": webs, "least_thickness": least_thickness}
    return np.fmin(web_modulus(**given), single_layer_modulus(**given, width=cover))
