"""How strips hang together: the walk from the tips to a root, and the closed cells."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from longvault.sections.strips import Strips
from longvault.sections.symbols import BoolArray, IntArray

MAX_CELLS = 300
"""Closed cells in one section; their equations are solved as one dense system."""


@dataclass(frozen=True, slots=True, eq=False)
class TreeOrder:
    """Strips of a connected section from the tips to the root, and the cells that the other strips close.

    Parameters
    ----------
    order : int array (k,)
        Strips of a spanning tree, every strip after all that hang on its tip side; k = e without cells.
    tip, root : int array (k,)
        Node on the tip side and on the root side of strip ``order[k]``.
    forward : bool array (k,)
        Whether strip ``order[k]`` runs from tip side to root side.
    closing : int array (c,)
        Strips outside the tree; each closes one cell.
    cell_start : int array (c + 1,)
        Cell i is made of the entries ``cell_start[i]:cell_start[i + 1]`` of the next two.
    cell_strip : int array
        Strips round the cell.
    cell_sign : float array
        +1 where the strip runs with the way round the cell, -1 against it.
    """

    order: IntArray
    tip: IntArray
    root: IntArray
    forward: BoolArray
    closing: IntArray
    cell_start: IntArray
    cell_strip: IntArray
    cell_sign: np.ndarray[tuple[int], np.dtype[np.float64]]

    @property
    def cells(self) -> int:
        """Number of closed cells (independent loops)."""
        return len(self.closing)

    @property
    def steps(self) -> tuple[IntArray, IntArray, IntArray, BoolArray]:
        """Strip, its tip and root node, and whether it runs that way: what a compiled walk needs."""
        return self.order, self.tip, self.root, self.forward


def section_walk(strips: Strips) -> TreeOrder:
    """Order the strips of a connected section: chain, branches or closed cells.

    Raises
    ------
    ValueError
        If the strips are separate pieces, or close more than `MAX_CELLS` cells.

    Examples
    --------
    >>> box = Strips([0, 2, 2, 0], [0, 0, 1, 1], [[0, 1], [1, 2], [2, 3], [3, 0]], [0.1] * 4, ["web"] * 4)
    >>> section_walk(box).cells
    1
    """
    return _walk(strips.ends.tobytes(), strips.x.shape[-1])


def tree_order(strips: Strips) -> TreeOrder:
    """Order the strips of an open, connected section (chain or branches).

    Raises
    ------
    ValueError
        If the strips form a closed cell or separate pieces.
    """
    walk = section_walk(strips)
    if walk.cells:
        raise ValueError("the strips form a closed cell; an open section is needed")
    return walk


@lru_cache(maxsize=256)
def _walk(ends_bytes: bytes, nodes: int) -> TreeOrder:
    ends = np.frombuffer(ends_bytes, dtype=np.intp).reshape(-1, 2).tolist()
    meeting: list[list[int]] = [[] for _ in range(nodes)]
    for e, (i, j) in enumerate(ends):
        meeting[i].append(e)
        meeting[j].append(e)
    parent: dict[int, tuple[int, int]] = {}  # node -> strip towards the root, next node
    queue, tree, closing = [ends[-1][1]], [], []
    seen, used = set(queue), set()
    for node in queue:
        for e in meeting[node]:
            if e in used:
                continue
            used.add(e)
            other = ends[e][0] if ends[e][1] == node else ends[e][1]
            if other in seen:
                closing.append(e)
                continue
            seen.add(other)
            queue.append(other)
            parent[other] = (e, node)
            tree.append((e, other, node, ends[e][0] == other))
    if len(used) != len(ends):
        raise ValueError(_pieces_message(ends, used))
    if len(closing) > MAX_CELLS:
        raise ValueError(f"the strips close {len(closing)} cells; at most {MAX_CELLS} are analysed")
    return _arrays(tree[::-1], ends, closing, parent)


def _pieces_message(ends: Sequence[Sequence[int]], used: set[int]) -> str:
    outside = next(e for e in range(len(ends)) if e not in used)
    return (
        f"the strips are separate pieces; one connected section is needed (strip {outside} is not joined to "
        f"strip {len(ends) - 1}: strips are joined where they share a node number)"
    )


def _arrays(
    tree: list[tuple[int, int, int, bool]],
    ends: Sequence[Sequence[int]],
    closing: list[int],
    parent: dict[int, tuple[int, int]],
) -> TreeOrder:
    start, strip, sign = [0], [], []
    for e in closing:
        around = _cell(e, ends, parent)
        strip += [k for k, _ in around]
        sign += [s for _, s in around]
        start.append(len(strip))
    order, tip, root, forward = zip(*tree, strict=True) if tree else ((), (), (), ())
    return TreeOrder(
        order=np.array(order, dtype=np.intp),
        tip=np.array(tip, dtype=np.intp),
        root=np.array(root, dtype=np.intp),
        forward=np.array(forward, dtype=np.bool_),
        closing=np.array(closing, dtype=np.intp),
        cell_start=np.array(start, dtype=np.intp),
        cell_strip=np.array(strip, dtype=np.intp),
        cell_sign=np.array(sign, dtype=np.float64),
    )


def _cell(
    closing: int, ends: Sequence[Sequence[int]], parent: dict[int, tuple[int, int]]
) -> list[tuple[int, float]]:
    """List the strips round a cell with their signs: the closing strip, then the tree back to its start."""
    first, second = ends[closing]
    up = _path(second, parent)
    down = _path(first, parent)
    while up and down and up[-1] == down[-1]:  # the common way to the root is no part of the cell
        up.pop()
        down.pop()
    back = [(e, 1.0 if ends[e][0] == node else -1.0) for e, node in up]
    forth = [(e, -1.0 if ends[e][0] == node else 1.0) for e, node in reversed(down)]
    return [(closing, 1.0), *back, *forth]


def _path(node: int, parent: dict[int, tuple[int, int]]) -> list[tuple[int, int]]:
    """List the strips from a node to the root, each with its node on the tip side."""
    path = []
    while node in parent:
        strip, towards = parent[node]
        path.append((strip, node))
        node = towards
    return path
