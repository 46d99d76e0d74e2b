"""Isostatics: lines of principal stress over the developed surface of a span, and where they lie in space."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from longvault.constraints.developed import BENDING, COMPRESSION, TENSION, Developed
from longvault.sections.symbols import Array

STEPS = 1200
"""Steps along one line at most, either way."""

CLOSEST = 0.2
"""Lines of a family end where they come closer to each other than this share of the spacing."""


@dataclass(frozen=True, slots=True, eq=False)
class Isostatic:
    """One line of principal stress.

    Parameters
    ----------
    kind : str
        ``compression`` or ``tension``.
    s, y : array (n,)
        Along the path of the section and along the span [m].
    x, z : array (n,)
        With y, the points in space [m].
    """

    kind: str
    s: Array
    y: Array
    x: Array
    z: Array


def isostatics(
    surface: Developed, *, spacing: float | None = None, step: float | None = None
) -> list[Isostatic]:
    """Draw both families of principal-stress lines, evenly spread, from the neutral axis outwards.

    The direction turns with tan(2 angle) = 2 tau / sigma (transverse normal stress left out); lines follow it
    by the classical fourth-order Runge-Kutta rule, its sign kept from step to step. Lines are taken in turn
    from seeds on the neutral axis, then across mid-span, and end where they come close to a line of their
    family (after Jobard & Lefer, Creating Evenly-Spaced Streamlines of Arbitrary Density, 1997, from
    memory).

    Parameters
    ----------
    surface : Developed
        From `longvault.constraints.developed.develop`.
    spacing : float, optional
        Distance aimed at between lines of a family [m]; left out, 1/10 of the developed width.
    step : float, optional
        Length of a step [m]; left out, 1/12 of the spacing.

    Examples
    --------
    >>> from longvault.constraints.developed import develop
    >>> from longvault.sections import Strips
    >>> wall = Strips.chain([0.0, 0.0], [0.0, 2.0], [0.1], "web")
    >>> lines = isostatics(develop(wall, span=8.0))
    >>> sorted({line.kind for line in lines})
    ['compression', 'tension']
    """
    width = float(surface.s[-1])
    apart = spacing or width / 10.0
    if not apart > 0.0:
        raise ValueError(f"spacing: got {spacing} m; must be above 0")
    pace = step or apart / 12.0
    lines: list[Isostatic] = []
    for kind in (COMPRESSION, TENSION):
        lines += _spread(surface, kind, _seeds(surface, kind, apart), apart, pace)
    return lines


def follow(surface: Developed, kind: str, seeds: Array, step: float) -> list[Array]:
    """Follow the lines of one family through seeds (n, 2), both ways; each line (points, 2) of (s, y).

    Examples
    --------
    >>> from longvault.constraints.developed import develop
    >>> from longvault.sections import Strips
    >>> wall = Strips.chain([0.0, 0.0], [0.0, 2.0], [0.1], "web")
    >>> (line,) = follow(develop(wall, span=8.0), TENSION, np.array([[0.2, 4.0]]), 0.02)
    >>> bool(abs(line[len(line) // 2, 1] - 4.0) < 0.5), bool(line[0, 0] > 0.3)  # it rises to the supports
    (True, True)
    """
    ways = [_march(surface, kind, seeds, step, sign) for sign in (-1.0, 1.0)]
    return [
        ahead if _closed(ahead, step) else np.concatenate([back[:0:-1], ahead])
        for back, ahead in zip(*ways, strict=True)
    ]


def _closed(line: Array, step: float) -> bool:
    """Whether a line came back to where it began."""
    return len(line) > 8 and bool(np.hypot(*(line[-1] - line[0])) < step)


def _march(surface: Developed, kind: str, seeds: Array, step: float, sign: float) -> list[Array]:
    """March all seeds together one way until each leaves the surface."""
    point = seeds.astype(np.float64)
    way = sign * np.stack(surface.direction(point[:, 0], point[:, 1], kind), axis=-1)
    high = np.array([surface.s[-1], surface.span])
    alive = np.ones(len(point), dtype=np.bool_)
    trail = [point.copy()]
    count = np.ones(len(point), dtype=np.intp)

    def slope(at: Array, last: Array) -> Array:
        at = np.clip(at, 0.0, high)
        d = np.stack(surface.direction(at[:, 0], at[:, 1], kind), axis=-1)
        return np.where((d * last).sum(axis=-1, keepdims=True) < 0.0, -d, d)

    for number in range(STEPS):
        k1 = slope(point, way)
        k2 = slope(point + 0.5 * step * k1, k1)
        k3 = slope(point + 0.5 * step * k2, k2)
        k4 = slope(point + step * k3, k3)
        move = step / 6.0 * (k1 + 2.0 * k2 + 2.0 * k3 + k4)
        share = _room(point, move, high)
        moved = np.clip(point + share[:, None] * move, 0.0, high)
        point = np.where(alive[:, None], moved, point)
        way = np.where(alive[:, None], k4, way)
        count += alive
        trail.append(point.copy())
        alive &= share >= 1.0
        if number > 8:  # rings round the points without stress end where they began
            alive &= np.hypot(*(point - seeds).T) > 0.6 * step
        if not alive.any():
            break
    path = np.stack(trail)
    return [path[:n, i] for i, n in enumerate(count)]


def _room(point: Array, move: Array, high: Array) -> Array:
    """Share of the move that stays on the surface, at most 1 (n,)."""
    with np.errstate(divide="ignore", invalid="ignore"):
        to_edge = np.where(move > 0.0, (high - point) / move, np.where(move < 0.0, -point / move, np.inf))
    room: Array = np.clip(np.nan_to_num(to_edge, nan=0.0, posinf=np.inf).min(axis=-1), 0.0, 1.0)
    return room


def _seeds(surface: Developed, kind: str, apart: float) -> Array:
    """Lay seeds (n, 2) along the neutral axis, clear of the points without stress, then across the section.

    Across, where there is no shear force, only the family that runs along the span is seeded.
    """
    width, span = float(surface.s[-1]), surface.span
    pace = 1.5 * apart  # lines cross the axis at 45 degrees
    still = BENDING[surface.support][1] * span  # no shear force here
    steps = (np.arange(int(span / pace) + 1) + 0.65) * pace
    along = np.stack([still - steps, still + steps], axis=-1).reshape(-1)
    along = along[(along > 0.2 * pace) & (along < span - 0.2 * pace)][::-1]  # the long lines first
    across = (np.arange(max(round(width / apart), 2)) + 0.5) / max(round(width / apart), 2) * width
    blocks = [np.stack([np.full_like(along, s), along], axis=-1) for s in surface.neutral]
    most = still if 0.0 < still < span else 0.5 * span
    middle = np.full_like(across, most)
    runs = np.abs(surface.direction(across, middle, kind)[1]) > 0.7
    blocks.append(np.stack([across, middle], axis=-1)[runs])
    return np.concatenate(blocks)


def _spread(surface: Developed, kind: str, seeds: Array, apart: float, step: float) -> list[Isostatic]:
    """Keep lines in turn, each cut where it comes too near to those kept before."""
    kept: list[Array] = []
    lines: list[Isostatic] = []
    near: Callable[[Array], Array] = lambda points: np.full(len(points), np.inf)  # noqa: E731
    for seed, line in zip(seeds, follow(surface, kind, seeds, step), strict=True):
        if near(seed[None])[0] < 0.8 * apart:
            continue
        at = int(np.argmin(np.hypot(*(line - seed).T)))
        close = near(line) < CLOSEST * apart
        before, after = np.flatnonzero(close[:at]), np.flatnonzero(close[at:])
        low = int(before[-1]) + 1 if len(before) else 0
        high = at + int(after[0]) if len(after) else len(line)
        piece = line[low:high]
        if len(piece) < 2 or step * (len(piece) - 1) < 2.0 * apart:
            continue
        kept.append(piece)
        tree = cKDTree(np.concatenate(kept))
        near = _nearest(tree)
        x, z = surface.place(piece[:, 0])
        s, y = np.ascontiguousarray(piece.T)
        lines.append(Isostatic(kind, s, y, x, z))
    return lines


def _nearest(tree: cKDTree) -> Callable[[Array], Array]:
    def near(points: Array) -> Array:
        distance: Array = tree.query(points)[0]
        return distance

    return near
