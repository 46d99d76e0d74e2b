"""The free version of a named family: from the known curve it may bend and thicken along B-splines."""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from longvault.sections.families.assembly import NamedFamily
from longvault.sections.families.base import Variable
from longvault.sections.section_file import Joint
from longvault.sections.splines import basis_matrix, combine
from longvault.sections.strips import Strips
from longvault.sections.symbols import Array

BENT_PARTS = ("wing", "crown", "plate")
OFFSETS = 5
THICKENINGS = 4
REACH = 0.12
"""Largest offset, as a share of the developed length of the starting curve (half of it if symmetrical)."""


@dataclass(frozen=True, slots=True)
class Freed:
    """A named family whose roof surface may leave its curve.

    Every node of the surface moves along the normal of the named curve by a cubic spline of ``OFFSETS``
    controls, zero at keel, beam and kerb; every strip thickens by a quadratic spline of ``THICKENINGS``
    controls. All zero is the named design itself. Symmetrical families stay so.

    Parameters
    ----------
    base : NamedFamily
        Family to start from.
    """

    base: NamedFamily

    @property
    def key(self) -> str:
        """Name in briefs: ``free-`` and the name of the base."""
        return f"free-{self.base.key}"

    @property
    def variables(self) -> tuple[Variable, ...]:
        """The base's own parameters, then the offsets, then the thickenings."""
        reach = REACH * _runs(self.base)[2]
        offsets = tuple(
            Variable(f"offset_{i + 1}", -reach, reach, "m", f"outward shift of control point {i + 1}")
            for i in range(OFFSETS)
        )
        thicker = tuple(
            Variable(f"thicken_{i + 1}", 0.0, 2.0, "", f"added share of the thickness, control point {i + 1}")
            for i in range(THICKENINGS)
        )
        return (*self.base.variables, *offsets, *thicker)

    @property
    def joints(self) -> tuple[Joint, ...]:
        """Joints of the base; its nodes keep their numbers."""
        return self.base.joints

    def strips(self, x: Array) -> Strips:
        """Build the base's strips and bend them; x (..., d)."""
        x = np.asarray(x, dtype=np.float64)
        count = len(self.base.parameters)
        strips = self.base.strips(x[..., :count])
        along, thicken, _ = _runs(self.base)
        offset = combine(x[..., count : count + OFFSETS], along)
        factor = 1.0 + combine(x[..., count + OFFSETS :], thicken)
        across, up = _normals(strips)
        return Strips(
            strips.x + offset * across,
            strips.z + offset * up,
            strips.ends,
            strips.thickness * factor,
            strips.parts,
        )

    def starts(self) -> Array:
        """Give the starting designs of the base, unbent."""
        rows = self.base.starts()
        return np.concatenate([rows, np.zeros((len(rows), OFFSETS + THICKENINGS))], axis=-1)


@lru_cache(maxsize=32)
def _runs(base: NamedFamily) -> tuple[Array, Array, float]:
    """Make the matrices from controls to offsets and factors, and the length of one free stretch."""
    strips = base.design()
    along, thicken = np.zeros((strips.x.size, OFFSETS)), np.zeros((len(strips.ends), THICKENINGS))
    bent = [strip for strip, part in enumerate(strips.parts) if part in BENT_PARTS]
    runs = _stretches(bent, strips)
    symmetrical = bool(np.isclose(strips.x.min(), -strips.x.max()))
    length = float(strips.length[bent].sum()) / (2.0 if symmetrical else 1.0)
    for run in runs:
        _fill(run, strips, along, thicken, crown=symmetrical and len(runs) == 1)
    for matrix in (along, thicken):
        matrix.flags.writeable = False
    return along, thicken, length


def _stretches(bent: list[int], strips: Strips) -> list[list[int]]:
    """Split consecutive strip numbers where they stop following each other or meet a branch."""
    runs: list[list[int]] = []
    degree = np.bincount(strips.ends.ravel())
    for e in bent:
        node = strips.ends[e, 0]
        follows = runs and e == runs[-1][-1] + 1 and node == strips.ends[e - 1, 1] and degree[node] == 2
        if follows:
            runs[-1].append(e)
        else:
            runs.append([e])
    return runs


def _fill(run: list[int], strips: Strips, along: Array, thicken: Array, *, crown: bool) -> None:
    nodes = [int(strips.ends[run[0], 0]), *(int(strips.ends[e, 1]) for e in run)]
    place = np.linspace(0.0, 1.0, len(nodes))
    middle = 0.5 * (place[1:] + place[:-1])
    if crown:  # one stretch over the axis: measured from either springing to the crown
        place, middle = 1.0 - np.abs(2.0 * place - 1.0), 1.0 - np.abs(2.0 * middle - 1.0)
    elif (
        strips.x[nodes[-1]] <= 0.0 < -strips.x[nodes[0]]
    ):  # left wing: measured from the keel, as the right one
        place, middle = 1.0 - place, 1.0 - middle
    controls = basis_matrix(OFFSETS + 2, tuple(place))
    along[nodes] = controls[:, 1:-1]
    if crown:  # the end control is free and equals its neighbour, so that the crown stays level
        along[nodes, -1] += controls[:, -1]
    thicken[run] = basis_matrix(THICKENINGS, tuple(middle), 2)


def _normals(strips: Strips) -> tuple[Array, Array]:
    """Find unit normals at the nodes, left of the direction of the strips that meet there (mean of two)."""
    dx, dz = strips.span_vectors()
    length = np.sqrt(dx * dx + dz * dz)
    across, up = np.zeros_like(strips.x), np.zeros_like(strips.z)
    for e, (i, j) in enumerate(strips.ends):
        if strips.parts[e] in BENT_PARTS:
            for node in (i, j):
                across[..., node] -= dz[..., e] / length[..., e]
                up[..., node] += dx[..., e] / length[..., e]
    size = np.sqrt(across * across + up * up)
    size = np.where(size > 0.0, size, 1.0)
    return across / size, up / size
