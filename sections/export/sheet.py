"""The sheet around a figure: title and scale above; legend, scale bar and caution below."""

from collections.abc import Sequence

import numpy as np

from longvault.sections.export.dimensions import scale_bar
from longvault.sections.export.scene import (
    BOLD,
    Area,
    Item,
    Lines,
    Scene,
    Text,
    bounds,
    disc,
    moved,
    printable,
    wrapped,
)
from longvault.sections.symbols import CAUTION

MARGIN = 7.0
NARROWEST = 150.0
ROUND = ("bar", "mesh bar", "tendon")
"""Layers that a legend shows as a disc."""


def compose(
    figure: Sequence[Item],
    *,
    title: str,
    scale: float,
    legend: Sequence[tuple[str, str]],
    what: str = "Section",
) -> Scene:
    """Put a figure on a sheet just large enough for it, never narrower than the caution needs.

    Parameters
    ----------
    figure : sequence of Item
        In millimetres, anywhere.
    title : str
    scale : float
        n of the scale 1:n.
    legend : sequence of (layer, meaning)
    what : str
        What the figure is; stands before its scale.
    """
    left, low, right, high = bounds(figure)
    inner = max(right - left, NARROWEST)
    name = wrapped(printable(title), 4.0 * BOLD, inner) or ["section"]
    foot = _legend(legend, scale, inner)
    foot += _caution(inner, bounds(foot)[1] - 5.0)
    foot_height = -bounds(foot)[1]
    items = moved(foot, MARGIN, MARGIN + foot_height)
    base = MARGIN + foot_height + 8.0
    items += moved(figure, MARGIN - left + 0.5 * (inner - (right - left)), base - low)
    y = base + high - low + 6.0
    ratio = f"1:{scale:g}" if scale >= 1.0 else f"{1.0 / scale:g}:1"
    head = [Text((MARGIN, y), f"{what}, scale {ratio}", 2.5)]
    for line in reversed(name):
        y += 5.0
        head.insert(0, Text((MARGIN, y), line, 4.0, bold=True))
    description = f"{what} drawing of {' '.join(name)}, scale {ratio}. {CAUTION}"
    return Scene((*head, *items), inner + 2 * MARGIN, y + 4.0 + MARGIN, description)


def round_up(value: float) -> float:
    """Smallest of 1, 2, 2.5, 5 times a power of ten that is not below ``value``.

    Examples
    --------
    >>> round_up(26.3), round_up(11.0)
    (50.0, 20.0)
    """
    power = 10.0 ** np.floor(np.log10(value))
    step = next(s for s in (1.0, 2.0, 2.5, 5.0, 10.0) if s * power >= value * (1.0 - 1e-12))
    return float(step * power)


def _legend(legend: Sequence[tuple[str, str]], scale: float, width: float) -> list[Item]:
    """Scale bar, then the line types, in as many rows as they need."""
    factor = 1000.0 / scale
    items = scale_bar((2.0, -4.5), factor, round_up(25.0 / factor))
    start = bounds(items)[2] + 8.0
    x, y = start, -4.8
    for layer, meaning in legend:
        text = Text((x + 10.5, y), meaning, 2.2)
        if text.box[2] > width and x > start:
            x, y = start, y - 4.5
            text = Text((x + 10.5, y), meaning, 2.2)
        items += [_sample(layer, x, y + 0.8), text]
        x = text.box[2] + 5.0
    return items


def _sample(layer: str, x: float, y: float) -> Item:
    """Show what a layer looks like: a disc for bars and tendons, else a line."""
    if layer not in ROUND:
        return Lines((((x, y), (x + 9.0, y)),), layer)
    return Area((disc((x + 7.5, y), 0.8),), layer)


def _caution(width: float, top: float) -> list[Item]:
    lines = wrapped(CAUTION, 2.2, width)
    return [Text((0.0, top - 3.2 * i), line, 2.2, layer="caution") for i, line in enumerate(lines)]
