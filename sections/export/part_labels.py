"""The named parts of a section as stretches of strips, with a label for each: what thickness callouts say."""

from dataclasses import dataclass

import numpy as np

from longvault.sections.strips import Strips

MOST_LABELS = 8


@dataclass(frozen=True, slots=True)
class Stretch:
    """Neighbouring strips of one part.

    Parameters
    ----------
    part : str
    strips : tuple of int
        Strip numbers.
    label : str
        ``wing 80-120 mm`` or, for a straight piece, ``kerb 500 x 200 mm`` (length x thickness).
    middle : int
        The strip at which the label points.
    """

    part: str
    strips: tuple[int, ...]
    label: str
    middle: int


def stretches(strips: Strips) -> list[Stretch]:
    """Stretches of one part each, in the order of their first strips."""
    found: list[Stretch] = []
    seen: set[int] = set()
    for start, part in enumerate(strips.parts):
        if start in seen:
            continue
        members = _connected(strips, start)
        seen.update(members)
        found.append(Stretch(part, members, _label(strips, members), _middle(strips, members)))
    return found


def labelled(strips: Strips) -> list[Stretch]:
    """One stretch for each different label (the rightmost of equals), largest areas first, eight at most."""
    chosen: dict[str, Stretch] = {}
    for stretch in stretches(strips):
        other = chosen.get(stretch.label)
        if other is None or _mean_x(strips, stretch) > _mean_x(strips, other):
            chosen[stretch.label] = stretch
    area = strips.length * strips.thickness
    by_area = sorted(chosen.values(), key=lambda s: -float(area[list(s.strips)].sum()))
    return by_area[:MOST_LABELS]


def _connected(strips: Strips, start: int) -> tuple[int, ...]:
    members, queue = {start}, [start]
    for e in queue:
        touching = np.isin(strips.ends, strips.ends[e]).any(axis=1)
        for other in np.flatnonzero(touching):
            if strips.parts[other] == strips.parts[start] and int(other) not in members:
                members.add(int(other))
                queue.append(int(other))
    return tuple(sorted(members))


def _label(strips: Strips, members: tuple[int, ...]) -> str:
    rows = list(members)
    t = strips.thickness[rows] * 1e3
    low, high = round(float(t.min())), round(float(t.max()))
    part = strips.parts[rows[0]]
    length = float(strips.length[rows].sum())
    if _straight(strips, rows) and high - low <= 1 and length < 0.2 * float(strips.length.sum()):
        return f"{part} {1e3 * length:.0f} x {high} mm"
    return f"{part} {high} mm" if high - low <= 1 else f"{part} {low}-{high} mm"


def _straight(strips: Strips, rows: list[int]) -> bool:
    dx, dz = (vector[rows] for vector in strips.span_vectors())
    turn = np.abs(dx * dz[0] - dz * dx[0]) / (strips.length[rows] * strips.length[rows[0]])
    return bool(turn.max() < 0.01)


def _middle(strips: Strips, members: tuple[int, ...]) -> int:
    along = np.cumsum(strips.length[list(members)])
    return members[int(np.searchsorted(along, 0.5 * along[-1] - 1e-9))]


def _mean_x(strips: Strips, stretch: Stretch) -> float:
    i, j = strips.ends[stretch.middle]
    return float(strips.x[i] + strips.x[j])
