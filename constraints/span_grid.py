"""Stations along a beam, and the integrals between them."""

from dataclasses import dataclass

import numpy as np

from longvault.sections.symbols import Array, IntArray


@dataclass(frozen=True, slots=True, eq=False)
class Grid:
    """Stations along a beam: each interval has its two ends and its middle.

    Parameters
    ----------
    y : array (S,)
        Places from the start [m]; a place where two fields meet stands twice.
    middle : array (S,)
        Middle of the field each station belongs to [m]: tells the two apart.
    field : int array (S,)
        That field.
    once, twice : array (S, S)
        Values at the stations -> their integral, and the integral of that, from the start to each station.
    weight : array (S,)
        Values at the stations -> their integral over the whole beam.
    """

    y: Array
    middle: Array
    field: IntArray
    once: Array
    twice: Array
    weight: Array


# Integrals of the parabola through the values at start, middle and end of an interval of length 1, up to its
# middle and up to its end: once, and twice (derived).
_ONCE = np.array([[5.0, 8.0, -1.0], [4.0, 16.0, 4.0]]) / 24.0
_TWICE = np.array([[7.0, 6.0, -1.0], [16.0, 32.0, 0.0]]) / 96.0


def grid(
    fields: tuple[tuple[float, float], ...],
    intervals: int | tuple[int, ...],
    extra: tuple[float, ...] = (),
) -> Grid:
    """Divide each field into intervals (one number for all, or one for each), at the ``extra`` places too.

    Examples
    --------
    >>> g = grid(((0.0, 1.0), (1.0, 3.0)), 2)
    >>> g.y.tolist()
    [0.0, 0.25, 0.5, 0.75, 1.0, 1.0, 1.5, 2.0, 2.5, 3.0]
    >>> round(float(g.weight @ g.y**2), 12)
    9.0
    """
    y, middle, field = [], [], []
    counts = (intervals,) * len(fields) if isinstance(intervals, int) else intervals
    for i, (a, b) in enumerate(fields):
        ends = _ends(a, b, counts[i], extra)
        places = np.empty(2 * ends.size - 1)
        places[::2], places[1::2] = ends, 0.5 * (ends[:-1] + ends[1:])
        y.append(places)
        middle.append(np.full(places.size, 0.5 * (a + b)))
        field.append(np.full(places.size, i))
    stations = np.concatenate(y)
    once, twice = _integrals(stations, np.concatenate(field))
    return Grid(stations, np.concatenate(middle), np.concatenate(field), once, twice, once[-1])


def _ends(a: float, b: float, intervals: int, extra: tuple[float, ...]) -> Array:
    """Divide a field; no interval is shorter than a millionth of it."""
    even = np.linspace(a, b, intervals + 1)
    near = 1e-6 * (b - a)
    inside = [v for v in extra if a < v < b and np.abs(even - v).min() > near]
    return np.sort(np.concatenate([even, inside]))


def _integrals(y: Array, field: IntArray) -> tuple[Array, Array]:
    once, twice = np.zeros((y.size, y.size)), np.zeros((y.size, y.size))
    k = 0
    while k + 1 < y.size:
        if field[k + 1] != field[k]:
            once[k + 1], twice[k + 1] = once[k], twice[k]
            k += 1
            continue
        h, own = y[k + 2] - y[k], slice(k, k + 3)
        for j, reach in ((1, 0.5 * h), (2, h)):
            once[k + j] = once[k]
            once[k + j, own] += h * _ONCE[j - 1]
            twice[k + j] = twice[k] + reach * once[k]
            twice[k + j, own] += h * h * _TWICE[j - 1]
        k += 2
    return once, twice
