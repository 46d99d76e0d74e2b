"""The quick look at buckling: each strip by its own radius and the width of its panel, for the search."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from longvault.constraints.plates_results import passages, passages_of
from longvault.constraints.stability import free_edge_factor
from longvault.constraints.stability_screen_kernel import walk_rows
from longvault.sections import Strips
from longvault.sections.symbols import Array, BoolArray, IntArray

FOLD = np.radians(30.0)
"""Strips that turn by more at a node hold each other as two plates of a fold."""

JUMP = 1.5
"""A neighbour this many times thicker holds a thinner strip."""

FLAT = 0.1
"""A stretch with less than this share of its panel's mean curvature is flat."""

LONG = 3.0
"""A facet this many times as wide as those it turns into is flat, however finely they follow their curve."""

STRAIGHT = 1e-9
"""Turning angle of a panel that counts as none [rad]."""

ROUNDED = 4e-6
"""Strips that leave a straight line by no more than this, as rounded nodes do, are one flat facet [m]."""


@dataclass(frozen=True, slots=True, eq=False)
class LocalScreen:
    """The quick look: each strip by its own radius and the width of its panel.

    Parameters
    ----------
    critical : array (..., e)
        Classical buckling stress of the panel at each strip [Pa].
    curvature, width : array (..., e)
        Local curvature [1/m] and width of the stretch the strip belongs to [m].
    flat : bool array (..., e)
        Whether the stretch is flat within a curved panel, or has no curvature at all.
    """

    critical: Array
    curvature: Array
    width: Array
    flat: BoolArray

    def factor(self, stress: Array) -> Array:
        """Return the lowest critical stress over compression (...); stress (..., e, 2), tension positive."""
        pressed = np.maximum(-stress, 0.0).max(axis=-1)
        with np.errstate(divide="ignore", invalid="ignore"):
            found: Array = np.where(pressed > 0, self.critical / pressed, np.inf).min(axis=-1)
        return found

    def cut(self, pieces: int) -> "LocalScreen":
        """Return the same for strips that are each cut into equal ``pieces``."""
        critical, curvature, width = (
            np.repeat(values, pieces, axis=-1) for values in (self.critical, self.curvature, self.width)
        )
        return LocalScreen(critical, curvature, width, np.repeat(self.flat, pieces, axis=-1))


def local_screen(strips: Strips, *, modulus: float, poisson: float, held: Sequence[int] = ()) -> LocalScreen:
    """Estimate the classical buckling stress along a section from local radius and panel width.

    Panels end at folds, branches, free edges and where a neighbour is much thicker; a flat stretch of a
    curved panel is a plate of its own. Strips in line are one facet: the radius is read from facet to facet,
    so that it does not matter into how many strips a facet is cut, and a facet buckles as a plate where that
    asks less of it. A stretch that ends at a free edge keeps the share 6 (1 - nu)/(4 pi^2) of the held panel:
    0.106 to 0.15, where finite strips find 0.13 to 0.17 for a half-cylinder. Nodes of ``held`` are edges that
    a neighbour holds, not free ones.
    """
    count, nodes = strips.thickness.shape[-1], strips.x.shape[-1]
    length, thickness = strips.length.reshape(-1, count), strips.thickness.reshape(-1, count)
    turn, joined = (values.reshape(len(length), -1) for values in _turns(strips))
    found = [np.zeros(length.shape) for _ in range(3)]
    flat, share = np.zeros(length.shape, dtype=np.bool_), 0.25 * free_edge_factor(poisson)
    for walk in _walks(strips.ends.tobytes(), nodes, tuple(held)):
        walk_rows(
            length, thickness, turn, joined, walk.strips, walk.passages, walk.free, share, modulus, poisson,
            ROUNDED, LONG, FLAT, STRAIGHT, *found, flat,
        )  # fmt: skip
    critical, curvature, width = (values.reshape(strips.thickness.shape) for values in found)
    return LocalScreen(critical, curvature, width, flat.reshape(strips.thickness.shape))


@dataclass(frozen=True, slots=True, eq=False)
class _Walk:
    """Strips in walking order, the passages between them, and whether each end of the walk is a free edge."""

    strips: IntArray
    passages: IntArray
    free: BoolArray


def _turns(strips: Strips) -> tuple[Array, BoolArray]:
    """Return the turning angle and whether the plates run on at each passage (..., p)."""
    rows = passages(strips)
    _, one, end_one, two, end_two = rows.T
    into, out = np.where(end_one == 1, 1.0, -1.0), np.where(end_two == 0, 1.0, -1.0)
    dx, dz = strips.span_vectors()
    ax, az, bx, bz = into * dx[..., one], into * dz[..., one], out * dx[..., two], out * dz[..., two]
    angle = np.abs(np.arctan2(ax * bz - az * bx, ax * bx + az * bz))
    t, u = strips.thickness[..., one], strips.thickness[..., two]
    joined = (angle < FOLD) & (t < JUMP * u) & (u < JUMP * t)
    return angle, joined


@lru_cache(maxsize=64)
def _walks(packed: bytes, nodes: int, held: tuple[int, ...]) -> tuple[_Walk, ...]:
    """Order the strips into walks through two-strip nodes; a closed ring is entered at its first strip.

    ``packed`` holds the ends of the strips: the order depends on nothing else.
    """
    ends = np.frombuffer(packed, dtype=np.intp).reshape(-1, 2)
    beyond = {}
    for p, (_, one, end_one, two, end_two) in enumerate(passages_of(ends, nodes).tolist()):
        beyond[one, end_one], beyond[two, end_two] = (two, end_two, p), (one, end_one, p)
    degree = np.bincount(ends.reshape(-1), minlength=nodes)
    degree[list(held)] += 1
    left, walks = set(range(len(ends))), []
    while left:
        starts = ((i, end) for i in sorted(left) for end in (0, 1) if (i, end) not in beyond)
        strip, entry = next(starts, (min(left), 0))
        first = ends[strip, entry]
        order, through = [strip], []
        left.remove(strip)
        while (step := beyond.get((strip, 1 - entry))) and step[0] in left:
            strip, entry, passage = step
            order.append(strip)
            through.append(passage)
            left.remove(strip)
        last = ends[strip, 1 - entry]
        free = degree[[first, last]] == 1
        walks.append(_Walk(np.array(order, dtype=np.intp), np.array(through, dtype=np.intp), free))
    return tuple(walks)
