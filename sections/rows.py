"""Batches as compiled kernels take them and give them: one candidate a row, always of one memory layout."""

from collections.abc import Sequence
from dataclasses import fields
from typing import Any, NamedTuple, TypeVar

import numpy as np
from numpy.typing import ArrayLike

from longvault.sections.strips import Strips
from longvault.sections.symbols import Array, IntArray

Record = TypeVar("Record")


class StripRows(NamedTuple):
    """The strips of N candidates, in the order of the kernels' first arguments.

    Parameters
    ----------
    x, z : array (N, n)
        Nodes [m].
    first, second : int array (e,)
        Nodes at both ends of each strip.
    thickness : array (N, e)
        [m].
    """

    x: Array
    z: Array
    first: IntArray
    second: IntArray
    thickness: Array


def strip_rows(strips: Strips) -> StripRows:
    """Lay a batch (...) of strips out as N rows, N the size of the batch.

    Examples
    --------
    >>> wall = Strips.chain([0.0, 0.0], [0.0, 3.0], [0.3], "edge beam")
    >>> rows = strip_rows(wall)
    >>> rows.z.tolist(), rows.second.tolist(), rows.thickness.shape
    ([[0.0, 3.0]], [1], (1, 1))
    """
    return strips.kept(_strip_rows)


def _strip_rows(strips: Strips) -> StripRows:
    nodes, count = strips.x.shape[-1], strips.thickness.shape[-1]
    first, second = np.ascontiguousarray(strips.ends.T)
    x, z = strips.x.reshape(-1, nodes), strips.z.reshape(-1, nodes)
    return StripRows(x, z, first, second, strips.thickness.reshape(-1, count))


def rows_and_chain(
    strips: Strips,
) -> tuple[Array, Array, IntArray, IntArray, bool, Array]:
    """`strip_rows` for kernels that also ask whether strip i joins node i to i + 1, before the thickness.

    Examples
    --------
    >>> wall = Strips.chain([0.0, 0.0], [0.0, 3.0], [0.3], "edge beam")
    >>> rows_and_chain(wall)[4]
    True
    """
    rows = strip_rows(strips)
    return rows.x, rows.z, rows.first, rows.second, strips.is_chain, rows.thickness


def one_each(values: ArrayLike, batch: tuple[int, ...]) -> Array:
    """Return one number a candidate as a fresh array (N,), N the size of ``batch``.

    Examples
    --------
    >>> one_each(7.5, (2, 2)).tolist()
    [7.5, 7.5, 7.5, 7.5]
    """
    given = np.asarray(values, dtype=np.float64)
    whole = given if given.shape == batch else np.broadcast_to(given, batch)  # the latter takes its time
    return np.array(whole, order="C").reshape(-1)


def side_by_side(values: Sequence[Array]) -> Array:
    """Join K quantities (...) into one row a candidate (N, K).

    Examples
    --------
    >>> side_by_side([np.array([1.0, 2.0]), np.array([3.0, 4.0])]).tolist()
    [[1.0, 3.0], [2.0, 4.0]]
    """
    return np.ascontiguousarray(np.stack([np.reshape(one, -1) for one in values], axis=-1))


def by_field(rows: Array, batch: tuple[int, ...]) -> Array:
    """Turn the rows of a kernel (N, K) into its K quantities (K, ...).

    Examples
    --------
    >>> by_field(np.array([[1.0, 3.0], [2.0, 4.0]]), (2,)).tolist()
    [[1.0, 2.0], [3.0, 4.0]]
    """
    return np.ascontiguousarray(rows.T).reshape(-1, *batch)


def taken(record: Record, rows: IntArray) -> Record:
    """Return some rows of a dataclass whose arrays all begin with the axis of the batch; numbers stay.

    Examples
    --------
    >>> from longvault.sections.properties import section_properties
    >>> walls = Strips.chain(np.zeros((2, 2)), [[0.0, 3.0], [0.0, 4.0]], 0.3, "web")
    >>> taken(section_properties(walls), np.array([1])).height.tolist()
    [4.0]
    """
    values: list[Any] = [getattr(record, one.name) for one in fields(record)]  # type: ignore[arg-type]
    return type(record)(*(value[rows] if np.ndim(value) else value for value in values))
