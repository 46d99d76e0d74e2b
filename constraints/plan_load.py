"""Vertical load spread over the plan of one bay, piecewise linear across; and the roof line it lies on."""

from dataclasses import dataclass

import numpy as np

from longvault.constraints.roof_kernels import integral_rows, surface_rows
from longvault.sections.parts import roof_surface
from longvault.sections.strips import Strips
from longvault.sections.symbols import Array


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
        width, so_far = strips.span_vectors()[0], self._integral(strips.x)
        inside = strips.at_second(so_far) - strips.at_first(so_far)
        flat = np.abs(width) > 1e-12
        return np.where(flat, inside / np.where(flat, width, 1.0), 0.0)

    def push(self, strips: Strips) -> Array:
        """Sideways push per metre of span when the load is a pressure square to the surface (...) [N/m].

        A pressure p on the upper face of a strip (dx, dz) pushes it by p dx down and p dz to the right.
        """
        dz = strips.at_second(strips.z) - strips.at_first(strips.z)
        return np.asarray((self.on(strips) * dz).sum(axis=-1))

    def _integral(self, at: Array) -> Array:
        """Load between the first knot and each place (..., n)."""
        batch, knots = at.shape[:-1], self.x.shape[-1]
        rows = [np.array(np.broadcast_to(v, (*batch, knots)), order="C") for v in (self.x, self.q)]
        out = np.empty((int(np.prod(batch)), at.shape[-1]))
        integral_rows(*(v.reshape(-1, knots) for v in rows), np.array(at, order="C").reshape(out.shape), out)
        return out.reshape(at.shape)


@dataclass(frozen=True, slots=True, eq=False)
class RoofLine:
    """Where the roof surface of a module runs, as the snow sees it.

    Parameters
    ----------
    x, z : array (..., `PLACES`)
        Even places on plan from its left end to its right one, and the upper surface there [m].
    rise : array (...)
        Highest less lowest node of the surface [m].
    """

    x: Array
    z: Array
    rise: Array

    @property
    def middle(self) -> Array:
        """Middle of the surface on plan, taken as the middle of the bay (...) [m]."""
        return np.asarray(0.5 * (self.x[..., 0] + self.x[..., -1]))

    @property
    def low_x(self) -> Array:
        """Where the water gathers (...) [m]: the mean of the places near the lowest, the lower the more."""
        low = self.z.min(axis=-1)[..., None]
        depth = np.maximum(SHALLOW * self.rise, 1e-3)[..., None]
        weight = np.maximum(1.0 - (self.z - low) / depth, 0.0)
        return np.asarray(np.einsum("...p,...p->...", weight, self.x) / weight.sum(axis=-1))

    def bay(self, pitch: float) -> tuple[Array, Array]:
        """Places and heights over one whole bay (..., `PLACES` + `GAP` + ...), edge to edge [m].

        Between two modules, half on either side, the glass runs straight from end to end.
        """
        edge = 0.5 * pitch
        share = np.linspace(0.0, 1.0, GAP + 1)[:-1]
        mean = 0.5 * (self.z[..., :1] + self.z[..., -1:])
        left, right = self.middle[..., None] - edge, self.middle[..., None] + edge
        inside = np.clip(self.x, left, right)
        x = (
            left + share * (inside[..., :1] - left),
            inside,
            right - share[::-1] * (right - inside[..., -1:]),
        )
        z = (mean + share * (self.z[..., :1] - mean), self.z, mean - share[::-1] * (mean - self.z[..., -1:]))
        return np.concatenate(x, axis=-1), np.concatenate(z, axis=-1)


PLACES = 49
"""Places at which the surface of a module is read."""
GAP = 6
"""Pieces of half the gap to the next module."""
SHALLOW = 0.02
"""Share of the rise up to which a place counts for where the water gathers."""


def roof_line(strips: Strips) -> RoofLine:
    """Follow the roof surface of a module.

    Kerbs and beams are no roof surface; heights are those of the mid-line.

    Examples
    --------
    >>> line = roof_line(Strips.chain([-2.0, 0.0, 2.0], [1.0, 0.0, 1.0], 0.1, "wing"))
    >>> line.x[[0, 24, 48]].tolist(), line.z[[0, 24, 48]].tolist(), float(line.rise)
    ([-2.0, 0.0, 2.0], [1.0, 0.0, 1.0], 1.0)
    """
    return strips.kept(_roof_line)


def _roof_line(strips: Strips) -> RoofLine:
    ends = np.ascontiguousarray(strips.ends[roof_surface(strips)])
    count = strips.x.shape[-1]
    out = np.empty((int(np.prod(strips.batch)), 2, PLACES))
    x, z = (np.ascontiguousarray(v).reshape(-1, count) for v in (strips.x, strips.z))
    surface_rows(x, z, ends, out)
    found = out.reshape(*strips.batch, 2, PLACES)
    heights = np.take(strips.z, np.unique(ends), axis=-1)
    rise = np.asarray(heights.max(axis=-1) - heights.min(axis=-1))
    return RoofLine(found[..., 0, :], found[..., 1, :], rise)
