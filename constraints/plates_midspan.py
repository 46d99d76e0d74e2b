"""What the checks ask of solved load cases: forces at mid-span, end shear, movement; superposed."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Self

import numpy as np
from numpy.typing import ArrayLike

from longvault.constraints.plates_midspan_kernel import mid_span_loops
from longvault.constraints.plates_records import FoldedPlate
from longvault.constraints.plates_results import orientation, passages, walks
from longvault.sections import Strips
from longvault.sections.symbols import Array, IntArray


@dataclass(frozen=True, slots=True, eq=False)
class MidSpan:
    """Forces and movement of one load case, or of a combination: everything here is linear in the load.

    Parameters
    ----------
    n_y, n_s, m_y, m_s : array (..., e, 2)
        At mid-span, averaged at nodes of two equally thick strips [N/m, N/m, N, N].
    n_ys : array (..., e, 2)
        At the first support, never averaged [N/m].
    right, up : array (..., n)
        Movement at mid-span [m].
    """

    n_y: Array
    n_s: Array
    m_y: Array
    m_s: Array
    n_ys: Array
    right: Array
    up: Array

    @classmethod
    def combined(cls, cases: Sequence[Self], factors: Sequence[ArrayLike]) -> Self:
        """Add up cases, each times its factor (...)."""
        return cls(*(superposed([getattr(case, name) for case in cases], factors) for name in cls.__slots__))


def superposed(cases: Sequence[Array], factors: Sequence[ArrayLike]) -> Array:
    """Add up one quantity of several cases, each times its factor (...) on the first axes.

    Examples
    --------
    >>> superposed([np.array([2.0, 4.0]), np.array([1.0, 0.0])], [1.25, 1.5]).tolist()
    [4.0, 5.0]
    """
    total: Array | None = None
    for case, factor in zip(cases, factors, strict=True):
        f = np.asarray(factor, dtype=np.float64)
        term = f.reshape(f.shape + (1,) * (case.ndim - f.ndim)) * case
        total = term if total is None else np.add(total, term, out=total)
    if total is None:
        raise ValueError("cases must hold one at least")
    return total


def mid_span(cases: Sequence[FoldedPlate]) -> list[MidSpan]:
    """Recover solved load cases of the same sections."""
    solved = cases[0]
    strips, batch = solved.strips, solved.strips.batch
    designs, nodes, count = int(np.prod(batch)), strips.x.shape[-1], len(strips.ends)
    harmonics = len(solved.harmonics)
    sine = np.sin(0.5 * np.pi * solved.harmonics)
    out = np.empty((len(cases), 5, designs, count, 2))
    movement = np.empty((len(cases), 2, designs, nodes))
    wave = np.ascontiguousarray(solved.wave.reshape(designs, harmonics))
    x, z, thickness = (v.reshape(designs, -1) for v in (strips.x, strips.z, strips.thickness))
    for p, case in enumerate(cases):
        mid_span_loops(
            x, z, thickness, strips.ends, wave, sine, solved.amplitude,
            case.displacement.reshape(designs, harmonics, nodes, 4), case.strip_load.reshape(designs, count),
            solved.modulus, solved.poisson, out[p], movement[p],
        )  # fmt: skip
    out[:, 2:] *= orientation(strips).reshape(designs, count, 1)
    forces = out.reshape(len(cases), 5, *batch, count, 2)
    rows = passages(strips)
    for quantity, signed in ((0, False), (1, False), (2, True), (3, True)):
        smooth(strips, rows, forces[:, quantity], signed)
    movement = movement.reshape(len(cases), 2, *batch, nodes)
    return [MidSpan(*forces[p], *movement[p]) for p in range(len(cases))]


def smooth(strips: Strips, rows: IntArray, values: Array, signed: bool) -> None:
    """Average the two ends at each node of two equally thick strips, in place (..., e, 2).

    ``signed``: values whose sign follows the strip's upper face; `plates_results.smoothed` says how.
    """
    if not len(rows):
        return
    _, one, end_one, two, end_two = rows.T
    equal = strips.thickness[..., one] == strips.thickness[..., two]
    first, second = values[..., one, end_one], values[..., two, end_two]
    middle = 0.5 * (first + second)
    if signed:
        walk_one, walk_two, mean = walks(strips, rows)
        middle = 0.5 * mean * (walk_one * first + walk_two * second)
    values[..., one, end_one] = np.where(equal, middle, first)
    values[..., two, end_two] = np.where(equal, middle, second)
