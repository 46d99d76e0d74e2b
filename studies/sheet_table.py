"""A table of the calculation sheet, and how its numbers are written."""

import math
from dataclasses import dataclass

from longvault.studies.brief_units import UNITS

KN = 1e-3
"""From N to kN."""


@dataclass(frozen=True, slots=True)
class SheetTable:
    """One table with its heading, notes before it, and the rows that stand out.

    Parameters
    ----------
    title : str
    header : tuple of str
        Column heads with their units.
    rows : tuple of tuple of str
    notes : tuple of str
        Sentences under the table.
    marked : tuple of int
        Rows that stand out: totals, the governing limit.
    broken : tuple of int
        Rows that are not kept.
    words : tuple of int
        Columns of words, set to the left; the others are numbers.
    """

    title: str
    header: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    notes: tuple[str, ...] = ()
    marked: tuple[int, ...] = ()
    broken: tuple[int, ...] = ()
    words: tuple[int, ...] = (0,)


def digits(value: float, count: int = 4) -> str:
    """Write a number with ``count`` significant digits, never with an exponent where a person would not.

    Less than 1e-9 is round-off in every unit of a sheet: 0.

    Examples
    --------
    >>> digits(1234.567), digits(0.0123456), digits(3.0), digits(1.284e-12), digits(float("nan"))
    ('1235', '0.01235', '3.000', '0', '-')
    """
    if not math.isfinite(value):
        return "-"
    if abs(value) < 1e-9:
        return "0"
    size = math.floor(math.log10(abs(value)))
    if not -5 <= size <= 8:
        return f"{value:.{count - 1}e}"
    return f"{value:.{max(0, count - 1 - size)}f}"


def fixed(value: float, places: int = 4) -> str:
    """Write a number with ``places`` decimals, a dash where there is none.

    Examples
    --------
    >>> fixed(1.75), fixed(-1e-9), fixed(float("nan"))
    ('1.7500', '0.0000', '-')
    """
    return f"{round(value, places) + 0.0:.{places}f}" if math.isfinite(value) else "-"


def quantity(value: float, unit: str = "", count: int = 4) -> str:
    """Write a number with its unit, spelled as in column names.

    Examples
    --------
    >>> quantity(0.6123456, "m3"), quantity(45.0, "deg"), quantity(17.5)
    ('0.6123 m³', '45.00°', '17.50')
    """
    text = digits(value, count)
    if not unit or text == "-":
        return text
    return f"{text}°" if unit == "deg" else f"{text} {UNITS[unit]}"


def kilo(value: float, unit: str = "kN") -> str:
    """Write a force [N], or a moment or load with its ``unit``, in thousands.

    Examples
    --------
    >>> kilo(12345.6), kilo(880.0, "kN/m")
    ('12.35 kN', '0.8800 kN/m')
    """
    return f"{digits(value * KN)} {unit}"


def cm2(area: float, unit: str = "cm²") -> str:
    """Write an area of steel [m2], or one per metre with its ``unit``.

    Examples
    --------
    >>> cm2(12.5e-4)
    '12.50 cm²'
    """
    return f"{digits(area * 1e4)} {unit}"


def mm(length: float) -> str:
    """Write a length [m] in millimetres.

    Examples
    --------
    >>> mm(0.0125)
    '12.50 mm'
    """
    return f"{digits(length * 1e3)} mm"


def mpa(stress: float) -> str:
    """Write a stress [Pa] in MPa.

    Examples
    --------
    >>> mpa(12.345e6)
    '12.35 MPa'
    """
    return quantity(stress / 1e6, "MPa")
