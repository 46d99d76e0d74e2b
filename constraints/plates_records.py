"""What a folded plate is asked and what it answers: loads, supports, links, the solved record."""

from dataclasses import dataclass, field
from typing import Any, Self, TypeVar

import numpy as np
from numpy.typing import ArrayLike

from longvault.constraints.plates_kernel import DOFS
from longvault.sections import Strips
from longvault.sections.symbols import Array, IntArray

Numbers = TypeVar("Numbers", Array, IntArray)


def locked(array: Numbers) -> Numbers:
    """Make a new array read-only, in place."""
    array = np.asarray(array)
    array.flags.writeable = False
    return array


def read_only(values: ArrayLike) -> Array:
    """Return a read-only C-ordered float64 copy, of the same shape (also for a single number)."""
    return locked(np.array(values, dtype=np.float64, order="C"))


def freeze(record: Any, *names: str) -> None:
    """Make the named array fields of a new frozen dataclass read-only."""
    for name in names:
        object.__setattr__(record, name, read_only(getattr(record, name)))


@dataclass(frozen=True, slots=True, eq=False)
class PlateLoads:
    """Loads on a section, uniform along the span; every field broadcasts over the batch.

    Parameters
    ----------
    surface : array (..., e)
        Down, per area of mid-surface [N/m2]: own weight, finishes.
    plan : array (..., e)
        Down, per area on plan [N/m2]: snow. A vertical strip gets none.
    line_down, line_right : array (..., n)
        On the nodal lines [N/m of span].

    Examples
    --------
    >>> PlateLoads(surface=2000.0).surface.tolist()
    2000.0
    """

    surface: ArrayLike = 0.0
    plan: ArrayLike = 0.0
    line_down: ArrayLike = 0.0
    line_right: ArrayLike = 0.0

    def __post_init__(self) -> None:
        freeze(self, "surface", "plan", "line_down", "line_right")

    def down(self, strips: Strips) -> Array:
        """Return the vertical load of each strip per metre of its width (..., e), down positive [N/m2]."""
        dx, dz = strips.span_vectors()
        surface, plan = (np.broadcast_to(v, dx.shape) for v in (self.surface, self.plan))
        with np.errstate(all="ignore"):
            return surface + plan * np.abs(dx) / np.sqrt(dx * dx + dz * dz)

    def nodal(self, strips: Strips) -> Array:
        """Return the work-equivalent nodal line loads (..., n, 4): x, y, z [N/m], rotation [N]."""
        dx, dz = strips.span_vectors()
        width = np.sqrt(dx * dx + dz * dz)
        surface, plan = (np.broadcast_to(v, width.shape) for v in (self.surface, self.plan))
        down = surface * width + plan * np.abs(dx)
        out = np.zeros((*strips.x.shape, DOFS))
        out[..., 0] = self.line_right
        out[..., 2] -= self.line_down
        # Linear shape functions carry half to each end; the normal part also turns the ends: q b^2/12.
        half, turn = 0.5 * down, down * dx / 12.0
        if strips.is_chain:
            out[..., :-1, 2] -= half
            out[..., 1:, 2] -= half
            out[..., :-1, 3] -= turn
            out[..., 1:, 3] += turn
            return out
        for i, (first, second) in enumerate(strips.ends):
            out[..., [first, second], 2] -= half[..., i, None]
            out[..., first, 3] -= turn[..., i]
            out[..., second, 3] += turn[..., i]
        return out


@dataclass(frozen=True, slots=True, eq=False)
class Supports:
    """What holds nodal lines along the span, beside the diaphragms; nothing by default.

    Parameters
    ----------
    spring : array (..., n, 4)
        Stiffness against x, y, z [N/m per metre of span] and rotation [N m/rad per metre];
        0 is free, ``inf`` holds fast.
    """

    spring: Array

    def __post_init__(self) -> None:
        freeze(self, "spring")

    @classmethod
    def free(cls, nodes: int) -> Self:
        """Hold nothing: a lone module between its diaphragms."""
        return cls(np.zeros((nodes, DOFS)))


@dataclass(frozen=True, slots=True, eq=False)
class Links:
    """Struts or collars between two nodal lines, smeared along the span.

    Parameters
    ----------
    ends : int array (k, 2)
        The nodes each link joins.
    stiffness : array (..., k)
        E A / (length x spacing) of the struts [N/m per metre of span].
    shift : array (k,)
        How far to the right the second node stands in truth [m]: that of the next module, which moves as
        this one does where all modules of a row are alike and none is mirrored.
    in_turn : bool
        Whether the next module moves the other way instead: one opens as the next closes.
    """

    ends: IntArray
    stiffness: Array
    shift: Array = field(default_factory=lambda: np.zeros(()))
    in_turn: bool = False

    def __post_init__(self) -> None:
        object.__setattr__(self, "ends", np.array(self.ends, dtype=np.intp).reshape(-1, 2))
        self.ends.flags.writeable = False
        object.__setattr__(self, "shift", np.zeros(len(self.ends)) + self.shift)
        freeze(self, "stiffness", "shift")

    @classmethod
    def none(cls) -> Self:
        """Join nothing."""
        return cls(np.empty((0, 2), dtype=np.intp), np.empty(0))

    def and_also(self, other: Self) -> Self:
        """Return both together."""
        return type(self)(
            np.concatenate([self.ends, other.ends]),
            np.concatenate([self.stiffness, other.stiffness], axis=-1),
            np.concatenate([self.shift, other.shift]),
        )


@dataclass(frozen=True, slots=True, eq=False)
class FoldedPlate:
    """The solved folded plate: amplitudes from which `plates_results` recovers everything.

    Parameters
    ----------
    displacement : array (..., H, n, 4)
        Amplitudes of x, y, z [m] and rotation [rad] per harmonic; x, z and the rotation (from x to
        z) vary as sin(m pi y / L), y as the cosine.
    nodal_load : array (..., n, 4)
        Line loads of full intensity [N/m].
    strip_load : array (..., e)
        Vertical load of each strip, down positive [N/m2].
    amplitude : array (H,)
        Fourier coefficient of the load along the span.
    loaded : (float, float)
        Loaded part of the span as fractions.
    """

    strips: Strips
    span: Array
    modulus: float
    poisson: float
    harmonics: IntArray
    amplitude: Array
    loaded: tuple[float, float]
    nodal_load: Array
    strip_load: Array
    displacement: Array
    supports: Supports
    links: Links

    @property
    def wave(self) -> Array:
        """Wave numbers m pi / L, (..., H) [1/m]."""
        return self.harmonics * np.pi / self.span[..., None]
