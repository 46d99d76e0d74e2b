"""Collars: cross members of steel or concrete that join the two sides of a module over its middle."""

from functools import lru_cache

import numpy as np

from longvault.constraints.plates_records import Links
from longvault.sections import Joint, Strips
from longvault.sections.symbols import IntArray


def collars(strips: Strips, joints: tuple[Joint, ...], *, stiffness: float, at: float) -> Links:
    """Return the collars of a module as links of one stiffness.

    Parameters
    ----------
    strips : Strips
    joints : tuple of Joint
        The profile runs from the first joint on the left to the first on the right; without joints from one
        free edge to the other.
    stiffness : float
        E A / (length x spacing) [N/m per metre of span]; 0 for no collars.
    at : float
        Where they meet the profile: 0 joins its two edges, 0.5 the nodes halfway (by their number) between
        edge and middle; below 1.

    Examples
    --------
    >>> vault = Strips.chain([0.0, 1.0, 2.0, 3.0, 4.0], [0.0, 0.8, 1.0, 0.8, 0.0], 0.1, "crown")
    >>> collars(vault, (), stiffness=1e6, at=0.5).ends.tolist()
    [[1, 3]]
    """
    if not 0 <= at < 1:
        raise ValueError(f"at must be at least 0 (the edges) and below 1 (the middle); got {at}")
    if stiffness < 0:
        raise ValueError(f"stiffness must be at least 0 N/m2; got {stiffness}")
    sides = [[joint.node for joint in joints if joint.side == side] for side in ("left", "right")]
    edges = (sides[0][0], sides[1][0]) if all(sides) else None
    pair = _pair(strips.ends.tobytes(), strips.x.shape[-1], edges, at) if stiffness else None
    return Links.none() if pair is None else Links(np.array([pair]), np.array([stiffness]))


@lru_cache(maxsize=64)
def _pair(packed: bytes, nodes: int, edges: tuple[int, int] | None, at: float) -> tuple[int, int] | None:
    """Return the two nodes that a collar joins; None where the profile has no two sides."""
    ends = np.frombuffer(packed, dtype=np.intp).reshape(-1, 2)
    if edges is None:
        loose = np.flatnonzero(np.bincount(ends.reshape(-1), minlength=nodes) == 1)
        if len(loose) < 2:
            return None
        edges = int(loose[0]), int(loose[-1])
    way = _way(ends, nodes, *edges)
    place = round(at * 0.5 * (len(way) - 1))
    one, two = way[place], way[len(way) - 1 - place]
    return None if one == two else (one, two)


def _way(ends: IntArray, nodes: int, start: int, goal: int) -> list[int]:
    """Return the nodes of the shortest walk along strips from one node to another."""
    beside: list[list[int]] = [[] for _ in range(nodes)]
    for first, second in ends.tolist():
        beside[first].append(second)
        beside[second].append(first)
    back, front = {goal: goal}, [goal]
    while front and start not in back:
        reached = [(new, node) for node in front for new in beside[node] if new not in back]
        back |= dict(reversed(reached))
        front = list(dict.fromkeys(new for new, _ in reached))
    if start not in back:
        return [start]
    way = [start]
    while way[-1] != goal:
        way.append(back[way[-1]])
    return way
