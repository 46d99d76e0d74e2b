"""The curve of the soffit: radius and turn at the nodes of the shell."""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from longvault.sections import Strips
from longvault.sections.symbols import Array, IntArray

EDGE_PARTS = ("kerb", "edge beam", "gutter")
"""Parts that are not the curved shell."""

FOLD = np.deg2rad(20.0)
"""A turn sharper than this at one node is a fold, not a curve [rad]."""


@dataclass(frozen=True, slots=True, eq=False)
class Curvature:
    """Curve of the shell at its inner nodes (those where two strips of the shell meet).

    Parameters
    ----------
    node : int array (m,)
        Node numbers, in the order of the curve where it is a chain.
    radius : array (..., m)
        Of the circle through the node and its two neighbours [m]; infinite where straight.
    bend : array (..., m)
        Turning angle [rad], positive where the centre lies on the room's side (below): concave, gathering.
    width : array (..., m)
        Half the developed length of the two strips [m].
    """

    node: IntArray
    radius: Array
    bend: Array
    width: Array


def soffit_curvature(strips: Strips) -> Curvature:
    """Radius, turn and length at every inner node of the shell (see `Curvature`).

    Examples
    --------
    >>> a = np.linspace(np.pi, 0, 37)
    >>> barrel = Strips.chain(4 * np.cos(a), 4 * np.sin(a), 0.1, "wing")
    >>> curve = soffit_curvature(barrel)
    >>> round(float(curve.radius[10]), 6), bool(np.all(curve.bend > 0))
    (4.0, True)
    """
    before, node, after = inner_nodes(strips)
    x, z = ([np.ascontiguousarray(v[..., i]) for i in (before, node, after)] for v in (strips.x, strips.z))
    ux, uz, vx, vz = x[1] - x[0], z[1] - z[0], x[2] - x[1], z[2] - z[1]
    cross, dot = ux * vz - uz * vx, ux * vx + uz * vz
    chord_x, chord_z = x[2] - x[0], z[2] - z[0]
    u, v, w = np.hypot(ux, uz), np.hypot(vx, vz), np.hypot(chord_x, chord_z)
    with np.errstate(divide="ignore", invalid="ignore"):
        # Circle through three points: product of the sides over twice the cross product (geometry).
        radius = u * v * w / (2.0 * np.abs(cross))
    rightwards = np.where(chord_x >= 0.0, 1.0, -1.0)
    return Curvature(node, radius, -rightwards * np.arctan2(cross, dot), 0.5 * (u + v))


def inner_nodes(strips: Strips) -> tuple[IntArray, IntArray, IntArray]:
    """Neighbour, node, neighbour for each node where exactly two strips of the shell meet.

    Examples
    --------
    >>> [v.tolist() for v in inner_nodes(Strips.chain([0, 1, 2], [0, 1, 0], 0.1, "wing"))]
    [[0], [1], [2]]
    """
    return _inner_nodes(strips.ends.tobytes(), strips.parts, strips.x.shape[-1])


@lru_cache(maxsize=256)
def _inner_nodes(
    ends_bytes: bytes, parts: tuple[str, ...], nodes: int
) -> tuple[IntArray, IntArray, IntArray]:
    """Neighbour, node, neighbour for each node where exactly two strips of the shell meet."""
    ends = np.frombuffer(ends_bytes, dtype=np.intp).reshape(-1, 2)
    meeting: list[list[int]] = [[] for _ in range(nodes)]
    for (i, j), part in zip(ends, parts, strict=True):
        if part not in EDGE_PARTS:
            meeting[i].append(int(j))
            meeting[j].append(int(i))
    rows = [(near[0], k, near[1]) for k, near in enumerate(meeting) if len(near) == 2]
    table = np.array(rows, dtype=np.intp).reshape(-1, 3)
    return table[:, 0], table[:, 1], table[:, 2]
