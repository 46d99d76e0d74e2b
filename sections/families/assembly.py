"""Put named families together: runs of strips joined at nodes, arcs with a given slope, plain parameters."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import ArrayLike

from longvault.sections.families.base import Setting, Variable
from longvault.sections.section_file import Joint
from longvault.sections.strips import Strips
from longvault.sections.symbols import Array

HALF = 32
"""Strips along half a symmetrical curve: enough for half a thousandth of I, few enough for a search."""
PLATE = 8
"""Strips along a flat plate."""

Values = Mapping[str, Array]
"""Parameter values by name, each a column (..., 1)."""
Build = Callable[[Values], Strips]


@dataclass(frozen=True, slots=True)
class Parameter:
    """A variable with the value a design starts from."""

    variable: Variable
    start: float


def parameter(name: str, lower: float, start: float, upper: float, unit: str, meaning: str) -> Parameter:
    """Make a parameter; the start is kept within its range."""
    return Parameter(Variable(name, lower, upper, unit, meaning), min(max(start, lower), upper))


def thickness_parameter(setting: Setting, name: str, start: float, most: float, meaning: str) -> Parameter:
    """Make a thickness from the least of the roof to ``most`` times it, starting at ``start`` times it."""
    t = setting.thickness
    return parameter(name, t, start * t, most * t, "m", meaning)


@dataclass(frozen=True, slots=True)
class NamedFamily:
    """A family whose every design is a known curve or fold, given by a few plain parameters.

    Parameters
    ----------
    key : str
        Name in briefs.
    title : str
        What the trade calls it.
    parameters : tuple of Parameter
        Three to six of them.
    build : function
        Strips from the values by name; batch shape (...). A module-level function, so a family can be sent
        to a worker.
    joints : tuple of Joint
        Joints with the neighbours in a row.
    """

    key: str
    title: str
    parameters: tuple[Parameter, ...]
    build: Build
    joints: tuple[Joint, ...]

    @property
    def variables(self) -> tuple[Variable, ...]:
        """The plain parameters, in the order of the columns of ``x``."""
        return tuple(p.variable for p in self.parameters)

    def strips(self, x: Array) -> Strips:
        """Build the strips for variables x (..., d); every row has the same connectivity and parts."""
        x = np.asarray(x, dtype=np.float64)
        if x.shape[-1] != len(self.parameters):
            names = ", ".join(p.variable.name for p in self.parameters)
            raise ValueError(
                f"x: got {x.shape[-1]} columns; {self.key} takes {len(self.parameters)}: {names}"
            )
        return self.build({p.variable.name: x[..., i : i + 1].copy() for i, p in enumerate(self.parameters)})

    def starts(self) -> Array:
        """Give the starting design and one towards either end of every range, (3, d)."""
        start = np.array([p.start for p in self.parameters])
        lower = np.array([p.variable.lower for p in self.parameters])
        upper = np.array([p.variable.upper for p in self.parameters])
        return np.stack([start, start + 0.4 * (lower - start), start + 0.4 * (upper - start)])

    def design(self, **values: ArrayLike) -> Strips:
        """Build strips from values by name; those not named keep their start.

        Raises
        ------
        ValueError
            If a name is no parameter of the family.
        """
        known = {p.variable.name: p.start for p in self.parameters}
        unknown = [name for name in values if name not in known]
        if unknown:
            raise ValueError(f"{self.key} has no parameter {unknown[0]!r}; it has {', '.join(known)}")
        columns = np.broadcast_arrays(*(known | values).values())
        return self.strips(np.stack([np.asarray(c, dtype=np.float64) for c in columns], axis=-1))


@dataclass(frozen=True, slots=True, eq=False)
class Run:
    """Strips in a row through points (..., k).

    Parameters
    ----------
    x, z : array (..., k)
        Points; those that stand on a node named below are not made again.
    thickness : array (..., 1) or (..., k - 1)
        One for the run or one a strip.
    part : str or sequence of str
        One name or one a strip.
    start, end : int, optional
        Nodes already made that the run starts from or ends at.
    """

    x: Array
    z: Array
    thickness: Array
    part: str | Sequence[str]
    start: int | None = None
    end: int | None = None


def join(*runs: Run) -> Strips:
    """Join runs into strips; nodes are numbered in the order in which the runs make them."""
    batch = np.broadcast_shapes(*(v.shape[:-1] for run in runs for v in (run.x, run.z, run.thickness)))
    xs, zs, ends, thickness = [], [], [], []
    parts: list[str] = []
    made = 0
    for run in runs:
        count = max(run.x.shape[-1], run.z.shape[-1])
        keep = slice(int(run.start is not None), count - int(run.end is not None))
        fresh = list(range(made, made + keep.stop - keep.start))
        made += len(fresh)
        path = [n for n in (run.start, *fresh, run.end) if n is not None]
        xs.append(np.broadcast_to(run.x, (*batch, count))[..., keep])
        zs.append(np.broadcast_to(run.z, (*batch, count))[..., keep])
        ends += list(pairwise(path))
        thickness.append(np.broadcast_to(run.thickness, (*batch, count - 1)))
        parts += [run.part] * (count - 1) if isinstance(run.part, str) else list(run.part)
    joined = [np.concatenate(part, axis=-1) for part in (xs, zs, thickness)]
    return Strips(joined[0], joined[1], np.array(ends, dtype=np.intp), joined[2], tuple(parts))


def points(*columns: Array) -> Array:
    """Set columns (..., k) side by side, broadcasting their batch axes."""
    batch = np.broadcast_shapes(*(c.shape[:-1] for c in columns))
    return np.concatenate([np.broadcast_to(c, (*batch, c.shape[-1])) for c in columns], axis=-1)


def straight(start: Array, end: Array, strips: int) -> Array:
    """Even steps from start to end, columns (..., 1) to (..., strips + 1)."""
    share = np.arange(strips + 1) / strips
    return start * (1.0 - share) + end * share


def arc_between(x0: Array, z0: Array, x1: Array, z1: Array, slope: Array, strips: int) -> tuple[Array, Array]:
    """Circular arc between two points with a given slope [rad] at the first, as points (..., strips + 1).

    The arc turns by d = 2 (slope - chord slope) and its points stand at chord * sin(d u / 2) / sin(d / 2)
    along directions slope - d u / 2 (inscribed angles); a straight line is the limit d = 0.
    """
    dx, dz = x1 - x0, z1 - z0
    turn = 2.0 * (slope - np.arctan2(dz, dx))
    u = np.arange(strips + 1) / strips
    reach = np.sqrt(dx * dx + dz * dz) * u * np.sinc(turn * u / (2.0 * np.pi)) / np.sinc(turn / (2.0 * np.pi))
    angle = slope - 0.5 * turn * u
    x, z = x0 + reach * np.cos(angle), z0 + reach * np.sin(angle)
    return points(x[..., :-1], x1), points(z[..., :-1], z1)


def mirrored(right: Array, sign: float = -1.0) -> Array:
    """Extend points from the axis outwards (..., k) to both sides (..., 2 k - 1), left to right."""
    return np.concatenate([sign * right[..., :0:-1], right], axis=-1)


def zone(x: Array, half_width: Array) -> Array:
    """Share of each strip that lies within +- half_width of the axis, from node places x (..., k)."""
    inner = np.minimum(np.abs(x[..., :-1]), np.abs(x[..., 1:]))
    outer = np.maximum(np.abs(x[..., :-1]), np.abs(x[..., 1:]))
    return np.clip((half_width - inner) / np.where(outer > inner, outer - inner, np.nan), 0.0, 1.0)
