"""Vertical load spread over the plan of one bay, piecewise linear across; and the roof line it lies on."""

from dataclasses import dataclass

import numpy as np

from longvault.constraints.roof_kernels import turn_rows
from longvault.sections.parts import roof_surface
from longvault.sections.strips import Strips
from longvault.sections.symbols import Array, BoolArray


@dataclass(frozen=True, slots=True, eq=False)
class PlanLoad:
    """Load per plan area, linear between knots and nothing beyond them.

    Parameters
    ----------
    x : array (..., k)
        Knots across, not decreasing; two at one place make a step [m].
    q : array (..., k)
        Load at each knot, down positive [N/m2 of plan].

    Examples
    --------
    >>> drift = PlanLoad(np.array([0.0, 2.0, 4.0]), np.array([0.0, 900.0, 0.0]))
    >>> float(drift.total), float(drift.about)
    (1800.0, 3600.0)
    """

    x: Array
    q: Array

    @property
    def total(self) -> Array:
        """Load per metre of span (...) [N/m]."""
        step = self.x[..., 1:] - self.x[..., :-1]
        return np.asarray((0.5 * step * (self.q[..., 1:] + self.q[..., :-1])).sum(axis=-1))

    @property
    def about(self) -> Array:
        """First moment of the load about x = 0, per metre of span (...) [N]."""
        x, q = self.x, self.q
        step = x[..., 1:] - x[..., :-1]
        left, right = x[..., :-1] * q[..., :-1], x[..., 1:] * q[..., 1:]
        cross = x[..., :-1] * q[..., 1:] + x[..., 1:] * q[..., :-1]
        return np.asarray((step * (2.0 * (left + right) + cross) / 6.0).sum(axis=-1))

    def on(self, strips: Strips) -> Array:
        """Mean load per plan area on each strip (..., e) [N/m2]; 0 on an upright one.

        Hand it to `longvault.constraints.plates.PlateLoads` as ``plan``.
        """
        a, b = strips.at_first(strips.x), strips.at_second(strips.x)
        width = b - a
        inside = self._integral(b) - self._integral(a)
        flat = np.abs(width) > 1e-12
        return np.where(flat, inside / np.where(flat, width, 1.0), 0.0)

    def push(self, strips: Strips) -> Array:
        """Sideways push per metre of span when the load is a pressure square to the surface (...) [N/m].

        A pressure p on the upper face of a strip (dx, dz) pushes it by p dx down and p dz to the right.
        """
        dz = strips.at_second(strips.z) - strips.at_first(strips.z)
        return np.asarray((self.on(strips) * dz).sum(axis=-1))

    def _integral(self, at: Array) -> Array:
        """Load between the first knot and each place (..., e)."""
        x, q = np.broadcast_arrays(self.x, self.q)
        total = np.zeros(at.shape)
        for k in range(x.shape[-1] - 1):
            x0, x1, q0, q1 = (v[..., None] for v in (x[..., k], x[..., k + 1], q[..., k], q[..., k + 1]))
            step = x1 - x0
            reach = np.clip(at - x0, 0.0, step)
            slope = (q1 - q0) / np.where(step > 0, step, 1.0)
            total = total + reach * (q0 + 0.5 * slope * reach)
        return total


@dataclass(frozen=True, slots=True, eq=False)
class RoofLine:
    """Where the roof surface of a module runs, as the snow sees it.

    Parameters
    ----------
    x, z : array (..., 7)
        Places from left to right where it ends or turns [m]: left end, valley beyond the left ridge, left
        ridge, lowest place, right ridge, valley beyond it, right end. Those that a roof lacks coincide: a
        vault is lowest at an end, and has one ridge.
    """

    x: Array
    z: Array

    @property
    def middle(self) -> Array:
        """Middle of the surface on plan, taken as the middle of the bay (...) [m]."""
        return np.asarray(0.5 * (self.x[..., 0] + self.x[..., -1]))

    @property
    def low_x(self) -> Array:
        """Where the water gathers (...) [m]: the lowest place, the middle for equal ends."""
        low = self.z <= self.z.min(axis=-1)[..., None] + LEVEL
        return _between(self.x, low)

    @property
    def rise(self) -> Array:
        """Highest less lowest (...) [m]."""
        return np.asarray(self.z.max(axis=-1) - self.z.min(axis=-1))


LEVEL = 1e-3
"""Heights this close count as one [m]."""
LEFT_RIDGE, LOWEST, RIGHT_RIDGE, TURNS = 2, 3, 4, 7
"""Places of these turns along a `RoofLine`, and how many there are."""


def roof_line(strips: Strips) -> RoofLine:
    """Follow the roof surface of a module: its ends, ridges and valleys.

    Kerbs and beams are no roof surface; heights are those of the mid-line.

    Examples
    --------
    >>> line = roof_line(Strips.chain([-2.0, 0.0, 2.0], [1.0, 0.0, 1.0], 0.1, "wing"))
    >>> line.x.tolist(), float(line.low_x), float(line.rise)
    ([-2.0, -2.0, -2.0, 0.0, 2.0, 2.0, 2.0], 0.0, 1.0)
    """
    nodes = np.unique(strips.ends[roof_surface(strips)])
    x, z = (np.take(v, nodes, axis=-1).reshape(-1, len(nodes)) for v in (strips.x, strips.z))
    out = np.empty((len(x), 2, TURNS))
    turn_rows(x, z, LEVEL, out)
    turns = out.reshape(*strips.batch, 2, TURNS)
    return RoofLine(turns[..., 0, :], turns[..., 1, :])


def _between(x: Array, there: BoolArray) -> Array:
    """Middle between the outermost of the nodes marked."""
    with np.errstate(invalid="ignore"):  # a row of NaN is nowhere
        outermost = np.where(there, x, np.inf).min(axis=-1) + np.where(there, x, -np.inf).max(axis=-1)
        return np.asarray(0.5 * outermost)
