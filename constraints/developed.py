"""A section unrolled over its span, with the stresses of a uniform load on it."""

from dataclasses import dataclass

import numpy as np

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
