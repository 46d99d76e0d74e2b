"""The batched thin-walled section: straight strips between nodes, each with a thickness."""

from collections.abc import Callable, Hashable, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from typing import Any, Self, TypeVar

import numpy as np
from numpy.typing import ArrayLike

from longvault.sections.symbols import Array, IntArray

Found = TypeVar("Found")


def frozen_array(values: ArrayLike) -> Array:
    """Return a read-only contiguous float64 copy (or the array itself when it already is one)."""
    array = np.ascontiguousarray(values, dtype=np.float64)
    if array.flags.writeable:
        if array is values or array.base is not None:
            array = array.copy()
        array.flags.writeable = False
    return array


@lru_cache(maxsize=256)
def _facts(ends_bytes: bytes) -> tuple[int, int, bool]:
    """Least and largest node number, and whether strip i joins node i to node i + 1."""
    ends = np.frombuffer(ends_bytes, dtype=np.intp).reshape(-1, 2)
    first = np.arange(len(ends))
    in_order = np.array_equal(ends, np.stack([first, first + 1], axis=1))
    least, most = (int(ends.min()), int(ends.max())) if ends.size else (0, -1)
    return least, most, in_order


@dataclass(frozen=True, slots=True, eq=False)
class Strips:
    """A cross-section, or a batch of cross-sections that share their connectivity.

    Chains, branches and closed cells are all strips. Families make them, every analysis reads
    them, exports draw them; a user's own section comes in through the same type.

    Parameters
    ----------
    x, z : array (..., n)
        Mid-line node coordinates across and up [m].
    ends : int array (e, 2)
        First and second node of each strip; shared by the whole batch.
    thickness : array (..., e)
        Thickness of each strip [m], constant along the strip.
    parts : tuple of str, length e
        What each strip is: ``keel``, ``wing``, ``crown``, ``edge beam``, ``kerb``, ``gutter`` ...

    Raises
    ------
    ValueError
        If the shapes do not belong together or a strip names a node that is not there. Values
        are not judged here: a bad candidate in a batch is a NaN row, never an exception.

    Examples
    --------
    >>> strips = Strips.chain([0.0, 1.0, 2.0], [0.0, 1.0, 0.0], [0.1, 0.1], "wing")
    >>> strips.batch, strips.length.round(6).tolist()
    ((), [1.414214, 1.414214])
    """

    x: Array
    z: Array
    ends: IntArray
    thickness: Array
    parts: tuple[str, ...]
    is_chain: bool = field(init=False)
    """Whether strip i joins node i to node i + 1: then slices replace gathers."""
    _kept: dict[Hashable, Any] = field(init=False, repr=False)

    def __post_init__(self) -> None:
        for name in ("x", "z", "thickness"):
            object.__setattr__(self, name, frozen_array(getattr(self, name)))
        ends = np.array(self.ends, dtype=np.intp)
        ends.flags.writeable = False
        object.__setattr__(self, "ends", ends)
        object.__setattr__(self, "parts", tuple(self.parts))
        self._check_shapes()
        in_order = _facts(ends.tobytes())[2]
        object.__setattr__(self, "is_chain", in_order and self.x.shape[-1] == len(ends) + 1)
        object.__setattr__(self, "_kept", {})

    def _check_shapes(self) -> None:
        if self.x.ndim < 1 or self.x.shape != self.z.shape:
            raise ValueError(f"x and z must have one shape (..., n): got {self.x.shape}, {self.z.shape}")
        if self.ends.ndim != 2 or self.ends.shape[1] != 2:
            raise ValueError(f"ends must have shape (e, 2); got {self.ends.shape}")
        count, nodes = self.ends.shape[0], self.x.shape[-1]
        if self.thickness.shape != (*self.batch, count):
            raise ValueError(
                f"thickness must have one value a strip, {(*self.batch, count)}; got {self.thickness.shape}"
            )
        if len(self.parts) != count:
            raise ValueError(f"parts must name each of the {count} strips; got {len(self.parts)} names")
        least, most, _ = _facts(self.ends.tobytes())
        if least < 0 or most >= nodes:
            raise ValueError(f"ends must name nodes 0 to {nodes - 1}; got {least} to {most}")

    @classmethod
    def chain(cls, x: ArrayLike, z: ArrayLike, thickness: ArrayLike, parts: str | Sequence[str]) -> Self:
        """Join nodes (..., n) in order by n - 1 strips; ``parts`` is one name or one for each strip."""
        x = np.asarray(x, dtype=np.float64)
        count = x.shape[-1] - 1
        first = np.arange(count)
        names = (parts,) * count if isinstance(parts, str) else tuple(parts)
        thickness = np.broadcast_to(np.asarray(thickness, dtype=np.float64), (*x.shape[:-1], count))
        return cls(x, np.asarray(z, dtype=np.float64), np.stack([first, first + 1], axis=1), thickness, names)

    @property
    def batch(self) -> tuple[int, ...]:
        """Shape of the batch: the leading axes of the coordinates."""
        return self.x.shape[:-1]

    @property
    def nodes(self) -> Array:
        """Node coordinates (..., n, 2) [m]."""
        return np.stack([self.x, self.z], axis=-1)

    @property
    def length(self) -> Array:
        """Length of each strip (..., e), read-only [m]."""
        return self.kept(_length)

    def at_first(self, values: Array) -> Array:
        """Take nodal values (..., n) to the first end of each strip (..., e)."""
        return values[..., :-1] if self.is_chain else np.ascontiguousarray(values[..., self.ends[:, 0]])

    def at_second(self, values: Array) -> Array:
        """Take nodal values (..., n) to the second end of each strip (..., e)."""
        return values[..., 1:] if self.is_chain else np.ascontiguousarray(values[..., self.ends[:, 1]])

    def span_vectors(self) -> tuple[Array, Array]:
        """Vector from first to second end of each strip: (dx, dz), each (..., e), read-only [m]."""
        return self.kept(_vectors)

    def kept(self, find: Callable[..., Found], *settings: Hashable) -> Found:
        """Return ``find(self, *settings)``, worked out when it is first asked for; nobody may change it.

        Examples
        --------
        >>> wall = Strips.chain([0.0, 0.0], [0.0, 3.0], 0.3, "web")
        >>> wall.length is wall.length
        True
        """
        key = (find, *settings)
        if key not in self._kept:
            self._kept[key] = find(self, *settings)
        found: Found = self._kept[key]
        return found

    def of_part(self, *names: str) -> IntArray:
        """Return the indices of the strips whose part is one of ``names``."""
        return np.flatnonzero([part in names for part in self.parts])

    def __getitem__(self, index: Any) -> "Strips":
        """Index the batch axes: ``strips[3]`` is candidate 3, ``strips[10:20]`` ten of them."""
        if not self.batch:
            raise IndexError("this is one section, not a batch; there is nothing to index")
        return Strips(self.x[index], self.z[index], self.ends, self.thickness[index], self.parts)

    def shifted(self, dx: ArrayLike = 0.0, dz: ArrayLike = 0.0) -> "Strips":
        """Return the section moved by (dx, dz) [m]; either may carry the batch shape."""
        move_x, move_z = np.asarray(dx)[..., None], np.asarray(dz)[..., None]
        return Strips(self.x + move_x, self.z + move_z, self.ends, self.thickness, self.parts)

    def mirrored(self) -> "Strips":
        """Return the section mirrored left to right about x = 0 (joints keep their numbers)."""
        return Strips(-self.x, self.z, self.ends, self.thickness, self.parts)


def _locked(array: Array) -> Array:
    array = np.asarray(array)  # of a lone strip too
    array.flags.writeable = False
    return array


def _vectors(strips: Strips) -> tuple[Array, Array]:
    dx, dz = (_locked(strips.at_second(v) - strips.at_first(v)) for v in (strips.x, strips.z))
    return dx, dz


def _length(strips: Strips) -> Array:
    dx, dz = strips.span_vectors()
    return _locked(np.sqrt(dx * dx + dz * dz))
