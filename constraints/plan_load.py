"""Vertical load spread over the plan of one bay, piecewise linear across; and the roof line it lies on."""

from dataclasses import dataclass

import numpy as np

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
    """Where the roof surface of a module runs, as the snow sees it; every field is (...).

    Parameters
    ----------
    left, right : array
        Ends of the roof surface across [m].
    left_z, right_z : array
        Their heights [m].
    low_x, low_z, high_x, high_z : array
        Lowest and highest place of the surface; the middle of several that are as low or high [m].
    """

    left: Array
    right: Array
    left_z: Array
    right_z: Array
    low_x: Array
    low_z: Array
    high_x: Array
    high_z: Array

    @property
    def middle(self) -> Array:
        """Middle of the surface on plan, taken as the middle of the bay (...) [m]."""
        return 0.5 * (self.left + self.right)

    @property
    def rise(self) -> Array:
        """Highest less lowest (...) [m]."""
        return self.high_z - self.low_z


LEVEL = 1e-3
"""Heights this close count as one [m]."""


def roof_line(strips: Strips) -> RoofLine:
    """Follow the roof surface of a module: its ends, its valley, its ridge.

    Kerbs and beams are no roof surface; heights are those of the mid-line.

    Examples
    --------
    >>> line = roof_line(Strips.chain([-2.0, 0.0, 2.0], [1.0, 0.0, 1.0], 0.1, "wing"))
    >>> float(line.low_x), float(line.high_x), float(line.rise)
    (0.0, 0.0, 1.0)
    """
    nodes = np.unique(strips.ends[roof_surface(strips)])
    x, z = np.ascontiguousarray(strips.x[..., nodes]), np.ascontiguousarray(strips.z[..., nodes])
    low, high = z.min(axis=-1), z.max(axis=-1)
    first, last = x.argmin(axis=-1)[..., None], x.argmax(axis=-1)[..., None]
    ends = [np.take_along_axis(v, k, axis=-1)[..., 0] for v in (x, z) for k in (first, last)]
    left, right, left_z, right_z = ends
    return RoofLine(
        left=left,
        right=right,
        left_z=left_z,
        right_z=right_z,
        low_x=_between(x, z <= low[..., None] + LEVEL),
        low_z=low,
        high_x=_between(x, z >= high[..., None] - LEVEL),
        high_z=high,
    )


def _between(x: Array, there: BoolArray) -> Array:
    """Middle between the outermost of the nodes marked."""
    with np.errstate(invalid="ignore"):  # a row of NaN is nowhere
        outermost = np.where(there, x, np.inf).min(axis=-1) + np.where(there, x, -np.inf).max(axis=-1)
        return np.asarray(0.5 * outermost)
