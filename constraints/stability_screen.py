"""The quick look at buckling: each strip by its own radius and the width of its panel, for the search."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from longvault.constraints.plates_results import passages, passages_of
from longvault.constraints.stability import free_edge_factor, panel_stress
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
    flat: Array

    def factor(self, stress: Array) -> Array:
        """Return the lowest critical stress over compression (...); stress (..., e, 2), tension positive."""
        pressed = np.maximum(-stress, 0.0).max(axis=-1)
        with np.errstate(divide="ignore", invalid="ignore"):
            found: Array = np.where(pressed > 0, self.critical / pressed, np.inf).min(axis=-1)
        return found

    def cut(self, pieces: int) -> "LocalScreen":
        """Return the same for strips that are each cut into equal ``pieces``."""
        each = (self.critical, self.curvature, self.width, self.flat)
        return LocalScreen(*(np.repeat(values, pieces, axis=-1) for values in each))


def local_screen(strips: Strips, *, modulus: float, poisson: float, held: Sequence[int] = ()) -> LocalScreen:
    """Estimate the classical buckling stress along a section from local radius and panel width.

    Panels end at folds, branches, free edges and where a neighbour is much thicker; a flat stretch of a
    curved panel is a plate of its own. Strips in line are one facet: the radius is read from facet to facet,
    so that it does not matter into how many strips a facet is cut, and a facet buckles as a plate where that
    asks less of it. A stretch that ends at a free edge keeps the share 6 (1 - nu)/(4 pi^2) of the held panel:
    0.106 to 0.15, where finite strips find 0.13 to 0.17 for a half-cylinder. Nodes of ``held`` are edges that
    a neighbour holds, not free ones.
    """
    turn, joined = _turns(strips)
    length = strips.length
    critical, curvature, width = (np.zeros(length.shape) for _ in range(3))
    flat = np.zeros(length.shape, dtype=bool)
    for walk in _walks(strips.ends.tobytes(), strips.x.shape[-1], tuple(held)):
        order = walk.strips
        own, t = length[..., order], strips.thickness[..., order]
        angle, smooth = turn[..., walk.passages], joined[..., walk.passages]
        flush = smooth & (t[..., :-1] == t[..., 1:])
        in_line = flush & (angle * np.minimum(own[..., :-1], own[..., 1:]) <= ROUNDED)
        facet = _run(own, in_line)
        panel = _run(own, smooth)
        swept = _run(_halved(np.where(smooth, angle, 0.0)), smooth)
        turns = smooth & ~in_line
        turning = np.where(turns, 2.0 * angle / (facet[..., :-1] + facet[..., 1:]), np.inf)
        bent = np.minimum(*_at_facet_ends(turning, turning, in_line))
        bent = np.where(np.isinf(bent), 0.0, bent)
        before, after = (np.where(turns, one, np.inf) for one in (facet[..., :-1], facet[..., 1:]))
        wide = LONG * np.minimum(*_at_facet_ends(before, after, in_line)) <= facet
        level = wide | (bent * panel <= FLAT * swept + STRAIGHT)
        same = smooth & (level[..., :-1] == level[..., 1:])
        stretch, ends = _run(own, same), np.zeros_like(own)
        ends[..., 0], ends[..., -1] = walk.free_start, walk.free_end
        looks = ((stretch, bent, same), (facet, np.zeros_like(bent), in_line))
        stresses = []
        for width_of, curved, run in looks:
            free = _run(ends, run) > 0
            share = np.where(free, 0.25 * free_edge_factor(poisson), 1.0)
            stresses.append(
                share
                * panel_stress(
                    thickness=t, width=width_of, curvature=curved, modulus=modulus, poisson=poisson
                )
            )
        critical[..., order] = np.minimum(*stresses)
        curvature[..., order], width[..., order], flat[..., order] = bent, stretch, level
    return LocalScreen(critical, curvature, width, flat)


@dataclass(frozen=True, slots=True, eq=False)
class _Walk:
    """Strips in walking order, the passages between them, and whether each end of the walk is a free edge."""

    strips: IntArray
    passages: IntArray
    free_start: bool
    free_end: bool


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
        walks.append(_Walk(np.array(order, dtype=np.intp), np.array(through, dtype=np.intp),
                           bool(degree[first] == 1), bool(degree[last] == 1)))  # fmt: skip
    return tuple(walks)


def _bounds(joined: BoolArray) -> tuple[IntArray, IntArray]:
    """Return, for each strip of a walk (..., m), the first and the last strip of its joined run."""
    place = np.arange(joined.shape[-1] + 1)
    ends = np.zeros((*joined.shape[:-1], 1), dtype=bool)
    first = np.where(np.concatenate([ends, joined], axis=-1), 0, place)
    last = np.where(np.concatenate([joined, ends], axis=-1), place[-1], place)
    first = np.maximum.accumulate(first, axis=-1)
    return first, np.minimum.accumulate(last[..., ::-1], axis=-1)[..., ::-1]


def _run(values: Array, joined: BoolArray) -> Array:
    """Return, for each strip of a walk, the sum of ``values`` (..., m) over the joined run it stands in."""
    first, last = _bounds(joined)
    summed = np.cumsum(values, axis=-1)
    before = np.take_along_axis(summed - values, first, axis=-1)
    total: Array = np.take_along_axis(summed, last, axis=-1) - before
    return total


def _halved(values: Array) -> Array:
    """Share what is known between strips (..., m - 1) to the strips on either side (..., m)."""
    out = np.zeros((*values.shape[:-1], values.shape[-1] + 1))
    out[..., :-1] += 0.5 * values
    out[..., 1:] += 0.5 * values
    return out


def _at_facet_ends(left: Array, right: Array, in_line: BoolArray) -> tuple[Array, Array]:
    """Return what is known where the facet of each strip begins and ends (..., m), given at passages."""
    outside = np.full((*left.shape[:-1], 1), np.inf)
    first, last = _bounds(in_line)
    before = np.take_along_axis(np.concatenate([outside, left], axis=-1), first, axis=-1)
    after = np.take_along_axis(np.concatenate([right, outside], axis=-1), last, axis=-1)
    return before, after
