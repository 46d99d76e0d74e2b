"""Dimension lines, callouts and scale bars for drawings [mm on paper]."""

from collections.abc import Sequence
from itertools import pairwise
from math import hypot

from longvault.sections.export.scene import Area, Item, Lines, Point, Text, text_width

ARROW = 1.8
SIZE = 2.5


def arrow(tip: Point, tail: Point, length: float = ARROW) -> Area:
    """Slim filled arrowhead whose tip is at ``tip``, coming from ``tail``."""
    dx, dy = tip[0] - tail[0], tip[1] - tail[1]
    size = hypot(dx, dy)
    ux, uy = dx / size, dy / size
    back = (tip[0] - length * ux, tip[1] - length * uy)
    half = length / 6.0
    ring = (tip, (back[0] - half * uy, back[1] + half * ux), (back[0] + half * uy, back[1] - half * ux))
    return Area((ring,), "arrow")


def across(x1: float, x2: float, y: float, text: str, *, reach: float = 3.0) -> list[Item]:
    """Horizontal dimension at height y, extension lines up by ``reach``; a text too wide stands beside."""
    items = _line((x1, y), (x2, y))
    items.append(Lines((((x1, y - 1.0), (x1, y + reach)), ((x2, y - 1.0), (x2, y + reach))), "dimension"))
    if text_width(text, SIZE) + 2.0 <= abs(x2 - x1):
        return [*items, Text((0.5 * (x1 + x2), y + 0.9), text, SIZE, "middle")]
    return [*items, Text((max(x1, x2) + ARROW + 2.5, y - 0.35 * SIZE), text, SIZE)]


def upright(x: float, heights: Sequence[float], texts: Sequence[str], *, side: int) -> list[Item]:
    """Vertical dimensions between consecutive heights, level texts on one side (-1 left, 1 right)."""
    items: list[Item] = [item for low, high in pairwise(heights) for item in _line((x, low), (x, high))]
    inner, outer = x - 3.0 * side, x + 1.0 * side
    items.append(Lines(tuple(((inner, y), (outer, y)) for y in heights), "dimension"))
    middles = [0.5 * (low + high) for low, high in pairwise(heights)]
    places = spread(middles, [1.3 * SIZE] * len(middles))
    anchor = "start" if side > 0 else "end"
    for y, text in zip(places, texts, strict=True):
        items.append(Text((x + 1.8 * side, y - 0.35 * SIZE), text, SIZE, anchor))
    return items


def _line(a: Point, b: Point) -> list[Item]:
    """Line with arrowheads inside, or pointing in from outside when there is no room."""
    length = hypot(b[0] - a[0], b[1] - a[1])
    if length > 2.6 * ARROW:
        return [Lines(((a, b),), "dimension"), arrow(a, b), arrow(b, a)]
    if length <= 0.0:
        return []
    ux, uy = (b[0] - a[0]) / length, (b[1] - a[1]) / length
    out_a = (a[0] - 2 * ARROW * ux, a[1] - 2 * ARROW * uy)
    out_b = (b[0] + 2 * ARROW * ux, b[1] + 2 * ARROW * uy)
    return [Lines(((out_a, a), (b, out_b)), "dimension"), arrow(a, out_a), arrow(b, out_b)]


def level_text(tip: Point, text: str, side: int, *, lift: float) -> Text:
    """Text beside the tip of a diagram, moved a little up or down by the sign of ``lift``."""
    anchor = "start" if side > 0 else "end"
    return Text((tip[0] + 1.2 * side, tip[1] + (0.6 if lift > 0 else -2.4)), text, SIZE, anchor)


def spread(places: Sequence[float], sizes: Sequence[float]) -> list[float]:
    """Move centres apart, as little as order allows, until intervals of the given sizes do not overlap.

    Examples
    --------
    >>> spread([0.0, 0.0, 10.0], [2.0, 2.0, 2.0])
    [-1.0, 1.0, 10.0]
    """
    order = sorted(range(len(places)), key=lambda i: places[i])
    blocks: list[tuple[list[int], float, float]] = []
    for i in order:
        blocks.append(([i], places[i], sizes[i]))
        while (
            len(blocks) > 1
            and blocks[-2][1] + 0.5 * blocks[-2][2] > blocks[-1][1] - 0.5 * blocks[-1][2] + 1e-9
        ):
            (a, ca, sa), (b, cb, sb) = blocks[-2:]
            blocks[-2:] = [([*a, *b], (len(a) * ca + len(b) * cb) / (len(a) + len(b)), sa + sb)]
    result = [0.0] * len(places)
    for members, centre, size in blocks:
        at = centre - 0.5 * size
        for i in members:
            result[i] = at + 0.5 * sizes[i]
            at += sizes[i]
    return result


def callouts(anchors: Sequence[Point], texts: Sequence[str], y: float, *, above: bool) -> list[Item]:
    """Labels in one row at height y, each led to its anchor; rows never overlap, leaders keep their order."""
    widths = [text_width(text, SIZE) + 4.0 for text in texts]
    centres = spread([x for x, _ in anchors], widths)
    items: list[Item] = []
    for (x, z), centre, text in zip(anchors, centres, texts, strict=True):
        foot = y - 1.0 if above else y + SIZE
        items.append(Lines((((centre, foot), (x, z)),), "dimension"))
        items.append(Text((centre, y), text, SIZE, "middle"))
    return items


def scale_bar(place: Point, paper_per_metre: float, metres: float) -> list[Item]:
    """Bar of a round length in four alternating fields, with 0 and its length in metres."""
    x, y = place
    step = 0.25 * metres * paper_per_metre
    frame = tuple((x + i * step, y, x + (i + 1) * step) for i in range(4))
    dark = tuple(((a, y), (b, y), (b, y + 1.2), (a, y + 1.2)) for a, y, b in frame[::2])
    light = tuple(((a, y), (b, y), (b, y + 1.2), (a, y + 1.2), (a, y)) for a, y, b in frame[1::2])
    texts = [
        Text((x, y + 2.0), "0", 2.2, "middle"),
        Text((x + 4 * step, y + 2.0), f"{metres:g} m", 2.2, "middle"),
    ]
    return [Area(dark, "scale bar"), Lines(light, "axis"), *texts]
