"""How strips hang together: the order in which an open section is walked from its tips."""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from longvault.sections.strips import Strips
from longvault.sections.symbols import BoolArray, IntArray


@dataclass(frozen=True, slots=True, eq=False)
class TreeOrder:
    """Strips of an open section from the tips to the root.

    Parameters
    ----------
    order : int array (e,)
        Strip numbers, every strip after all that hang on its tip side.
    tip, root : int array (e,)
        Node on the tip side and on the root side of strip ``order[k]``.
    forward : bool array (e,)
        Whether strip ``order[k]`` runs from tip side to root side.
    """

    order: IntArray
    tip: IntArray
    root: IntArray
    forward: BoolArray


def tree_order(strips: Strips) -> TreeOrder:
    """Order the strips of an open, connected section (chain or branches).

    Raises
    ------
    ValueError
        If the strips form a closed cell or separate pieces.
    """
    return _tree_order(strips.ends.tobytes(), strips.x.shape[-1])


@lru_cache(maxsize=256)
def _tree_order(ends_bytes: bytes, nodes: int) -> TreeOrder:
    ends = np.frombuffer(ends_bytes, dtype=np.intp).reshape(-1, 2)
    meeting: list[list[int]] = [[] for _ in range(nodes)]
    for e, (i, j) in enumerate(ends):
        meeting[i].append(e)
        meeting[j].append(e)
    root = int(ends[-1, 1])
    seen, used, queue = {root}, set(), [root]
    order: list[int] = []
    tips: list[int] = []
    roots: list[int] = []
    forward: list[bool] = []
    for node in queue:
        for e in meeting[node]:
            if e in used:
                continue
            used.add(e)
            i, j = int(ends[e, 0]), int(ends[e, 1])
            other = i if j == node else j
            if other in seen:
                raise ValueError("the strips form a closed cell; an open section is needed")
            seen.add(other)
            queue.append(other)
            order.append(e)
            tips.append(other)
            forward.append(other == i)
            roots.append(node)
    if len(used) != len(ends):
        raise ValueError("the strips are separate pieces; one connected section is needed")
    arrays = (np.array(v[::-1], dtype=np.intp) for v in (order, tips, roots))
    return TreeOrder(*arrays, np.array(forward[::-1], dtype=np.bool_))
