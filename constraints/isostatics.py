"""Isostatics: lines of principal stress over the developed surface of a span, and where they lie in space."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.spatial import cKDTree

from longvault.constraints.stress import stress_shapes
from longvault.sections.properties import section_properties
from longvault.sections.strips import Strips
from longvault.sections.symbols import Array, IntArray
from longvault.sections.torsion import torsion_properties

COMPRESSION, TENSION = "compression", "tension"

BENDING = {
    "simple": (0.0, 0.5),
    "cantilever": (-0.5, 1.0),
    "propped": (-0.125, 0.625),
    "fixed": (-1 / 12, 0.5),
}
"""Support -> moment over w L^2 and shear force over w L at the near end of a uniformly loaded span."""

STEPS = 1200
"""Steps along one line at most, either way."""

CLOSEST = 0.2
"""Lines of a family end where they come closer to each other than this share of the spacing."""


@dataclass(frozen=True, slots=True, eq=False)
class Developed:
    """A section unrolled along its longest path, and the stresses on it of a uniformly loaded span.

    Parameters
    ----------
    s : array (m + 1,)
        Length along the path at its nodes [m].
    x, z : array (m + 1,)
        Where the nodes lie [m].
    thickness : array (m,)
        Of each strip on the path [m].
    fibre : array (m, 2)
        f at the two ends of each strip, along the path [1/m3].
    flow : array (m,)
        Shear flow over V at the first end of each strip, positive along the path [1/m].
    span : float
        [m].
    support : str
        One of `BENDING`.
    """

    s: Array
    x: Array
    z: Array
    thickness: Array
    fibre: Array
    flow: Array
    span: float
    support: str

    def stresses(self, s: Array, y: Array) -> tuple[Array, Array]:
        """Return sigma along the span and tau between path and span, for a load of 1 N/m; each (n,) [Pa]."""
        strip = np.clip(np.searchsorted(self.s, s, side="right") - 1, 0, len(self.thickness) - 1)
        length = self.s[strip + 1] - self.s[strip]
        share = (s - self.s[strip]) / length
        one, two = self.fibre[strip, 0], self.fibre[strip, 1]
        f = one + share * (two - one)
        q = self.flow[strip] + self.thickness[strip] * length * share * (one + 0.5 * share * (two - one))
        root, support = BENDING[self.support]
        moment = root * self.span**2 + support * self.span * y - 0.5 * y * y
        return -moment * f, (support * self.span - y) * q / self.thickness[strip]

    def direction(self, s: Array, y: Array, kind: str) -> tuple[Array, Array]:
        """Return the unit vector (along the path, along the span) of one principal stress, of either sign."""
        sigma, tau = self.stresses(s, y)
        angle = 0.5 * np.arctan2(2.0 * tau, sigma)
        if kind == COMPRESSION:
            angle = angle + 0.5 * np.pi
        return np.sin(angle), np.cos(angle)

    def place(self, s: Array) -> tuple[Array, Array]:
        """Where points of the path lie: x and z [m]."""
        return np.interp(s, self.s, self.x), np.interp(s, self.s, self.z)

    @property
    def neutral(self) -> Array:
        """Where the path crosses the neutral axis, s (k,) [m]."""
        one, two = self.fibre.T
        cut = np.flatnonzero(one * two < 0.0)
        share = one[cut] / (one[cut] - two[cut])
        return np.asarray(self.s[cut] + share * np.diff(self.s)[cut], dtype=np.float64)


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


def develop(strips: Strips, *, span: float, support: str = "simple", held: bool = False) -> Developed:
    """Unroll one section along its longest path and lay the stresses of a uniform load over it.

    The load acts through the shear centre. Branches that hang on the path (a downstand) count in the stress
    but are not drawn.

    Parameters
    ----------
    strips : Strips
        One open section.
    span : float
        [m].
    support : str
        ``simple``, ``cantilever`` (fixed at y = 0), ``propped`` (fixed at y = 0) or ``fixed``.
    held : bool
        Bending held straight sideways, or free.

    Raises
    ------
    ValueError
        If ``strips`` is a batch, there is no such support, or the span is not above 0.

    Examples
    --------
    >>> wall = Strips.chain([0.0, 0.0], [0.0, 2.0], [0.1], "web")
    >>> develop(wall, span=10.0).neutral.tolist()
    [1.0]
    """
    if strips.batch:
        raise ValueError(
            f"strips: got a batch {strips.batch}; isostatics are drawn for one section at a time"
        )
    if support not in BENDING:
        raise ValueError(f"support: got {support!r}; must be one of {', '.join(BENDING)}")
    if not span > 0.0:
        raise ValueError(f"span: got {span:g} m; must be above 0")
    shapes = stress_shapes(strips, section_properties(strips), torsion_properties(strips), held=held)
    path, forward = longest_path(strips)
    start = np.where(forward, strips.ends[path, 0], strips.ends[path, 1])
    nodes = np.append(start, strips.ends[path[-1], 1 if forward[-1] else 0])
    ends = shapes.fibre[path][:, [0, 2]]
    flows = shapes.flow[path][:, [0, 2]]
    return Developed(
        s=np.concatenate([[0.0], np.cumsum(strips.length[path])]),
        x=strips.x[nodes],
        z=strips.z[nodes],
        thickness=strips.thickness[path],
        fibre=np.where(forward[:, None], ends, ends[:, ::-1]),
        flow=np.where(forward, flows[:, 0], -flows[:, 1]),
        span=float(span),
        support=support,
    )


def longest_path(strips: Strips) -> tuple[IntArray, Array]:
    """List the strips of the longest way through an open section, tip to tip, and whether each runs that way.

    Examples
    --------
    >>> tee = Strips([0.0, 1.0, 3.0, 1.0], [1.0, 1.0, 1.0, 0.5], [[0, 1], [2, 1], [1, 3]], [0.1] * 3, "abc")
    >>> path, forward = longest_path(tee)
    >>> path.tolist(), forward.tolist()
    ([0, 1], [True, False])
    """
    length = strips.length
    meeting: dict[int, list[tuple[int, int]]] = {}
    for e, (i, j) in enumerate(strips.ends.tolist()):
        meeting.setdefault(i, []).append((e, j))
        meeting.setdefault(j, []).append((e, i))

    def farthest(start: int) -> tuple[float, int, list[int]]:
        best = (0.0, start, list[int]())
        stack = [(start, -1, 0.0, list[int]())]
        while stack:
            node, came, far, way = stack.pop()
            best = max(best, (far, node, way), key=lambda found: found[0])
            stack += [(to, e, far + float(length[e]), [*way, e]) for e, to in meeting[node] if e != came]
        return best

    tip = farthest(int(strips.ends[0, 0]))[1]
    start = min(tip, farthest(tip)[1])  # from the first node of a chain to its last
    way = farthest(start)[2]
    node, forward = start, []
    for e in way:
        i, j = (int(n) for n in strips.ends[e])
        forward.append(i == node)
        node = j if i == node else i
    return np.array(way, dtype=np.intp), np.array(forward, dtype=np.bool_)


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
        From `develop`.
    spacing : float, optional
        Distance aimed at between lines of a family [m]; left out, 1/10 of the developed width.
    step : float, optional
        Length of a step [m]; left out, 1/12 of the spacing.

    Examples
    --------
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
