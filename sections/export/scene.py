"""A drawing as data: areas, lines and texts on a sheet of paper, in millimetres, y up."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from math import cos, pi, sin

Point = tuple[float, float]
BOLD = 1.12
"""How much wider bold letters run."""


@dataclass(frozen=True, slots=True)
class Look:
    """How a layer is drawn: stroke colour and width [mm], dash lengths [mm], fill colour (empty: none)."""

    stroke: str = "#000000"
    width: float = 0.18
    dash: tuple[float, ...] = ()
    fill: str = ""


LOOKS = {
    "neighbour": Look("#8c8c8c", 0.18, (), "#f4f4f4"),
    "concrete": Look("", 0.0, (), "#e3e3e3"),
    "hatch": Look("#8a8a8a", 0.13),
    "outline": Look("#000000", 0.45),
    "midline": Look("#0b5fa5", 0.25, (1.6, 0.9)),
    "neutral axis": Look("#b3400f", 0.3, (5.0, 1.0, 0.6, 1.0)),
    "glass": Look("#0b7285", 0.7),
    "dimension": Look("#333333", 0.13),
    "arrow": Look("", 0.0, (), "#333333"),
    "compression": Look("#0b5fa5", 0.25, (), "#cfe2f3"),
    "tension": Look("#b3400f", 0.25, (), "#f6d9c8"),
    "flow": Look("#0b7285", 0.2),
    "axis": Look("#000000", 0.18),
    "plain": Look("#000000", 0.3, (), "#f0f0f0"),
    "mesh": Look("#0b5fa5", 0.22),
    "top bars": Look("#b3400f", 0.75),
    "stirrup": Look("#333333", 0.18, (1.2, 0.7)),
    "bar": Look("", 0.0, (), "#000000"),
    "mesh bar": Look("", 0.0, (), "#0b5fa5"),
    "tendon": Look("#000000", 0.45, (), "#ffffff"),
    "shear steel": Look("#0b7285", 0.22),
    "view": Look("#333333", 0.18, (3.0, 1.0)),
    "scale bar": Look("#000000", 0.18, (), "#000000"),
    "text": Look("", 0.0, (), "#000000"),
    "caution": Look("", 0.0, (), "#444444"),
}
"""Layer -> look. Hues differ for all kinds of colour vision; in grey, dash and width tell lines apart."""


@dataclass(frozen=True, slots=True)
class Area:
    """Filled rings (even-odd: a ring inside another is a hole)."""

    rings: tuple[tuple[Point, ...], ...]
    layer: str


@dataclass(frozen=True, slots=True)
class Lines:
    """One or more open polylines of one layer."""

    paths: tuple[tuple[Point, ...], ...]
    layer: str


@dataclass(frozen=True, slots=True)
class Text:
    """One line of text; ``anchor`` is start, middle or end, ``place`` lies on its base line."""

    place: Point
    text: str
    size: float = 2.5
    anchor: str = "start"
    layer: str = "text"
    bold: bool = False

    @property
    def box(self) -> tuple[float, float, float, float]:
        """Left, bottom, right, top [mm], from the widths of a wide sans-serif face."""
        width = text_width(self.text, self.size * (BOLD if self.bold else 1.0))
        x = self.place[0] - {"start": 0.0, "middle": 0.5, "end": 1.0}[self.anchor] * width
        return x, self.place[1] - 0.25 * self.size, x + width, self.place[1] + 0.78 * self.size


Item = Area | Lines | Text


@dataclass(frozen=True, slots=True)
class Scene:
    """A finished drawing.

    Parameters
    ----------
    items : tuple of Area, Lines, Text
        Drawn in order.
    width, height : float
        Sheet [mm]; the lower left corner is (0, 0).
    title : str
        What a screen reader says.
    """

    items: tuple[Item, ...]
    width: float
    height: float
    title: str = field(default="drawing")

    def _repr_svg_(self) -> str:
        """SVG, for notebooks."""
        from longvault.sections.export.svg import svg_text

        return svg_text(self)


def disc(centre: Point, radius: float) -> tuple[Point, ...]:
    """Ring of a filled disc: twelve points on the circle."""
    turns = [2.0 * pi * k / 12 for k in range(12)]
    return tuple((centre[0] + radius * cos(a), centre[1] + radius * sin(a)) for a in turns)


def text_width(text: str, size: float) -> float:
    """Width of a text [mm], a little generous so that no label is cut in another face."""
    return size * sum(_letter_width(char) for char in text)


def _letter_width(char: str) -> float:
    if char in "ijltfr.,:;|!'() -":
        return 0.41
    if char in "mwMWQ@%" or ord(char) > 0x2FFF:
        return 1.0
    return 0.78 if char.isupper() else 0.65


def bounds(items: Iterable[Item]) -> tuple[float, float, float, float]:
    """Left, bottom, right, top of everything drawn [mm]."""
    corners: list[Point] = []
    for item in items:
        if isinstance(item, Text):
            left, low, right, high = item.box
            corners += [(left, low), (right, high)]
        else:
            for path in item.rings if isinstance(item, Area) else item.paths:
                corners += path
    x, y = zip(*corners, strict=True)
    return min(x), min(y), max(x), max(y)


def moved(items: Iterable[Item], dx: float, dy: float) -> list[Item]:
    """Return the items shifted on the sheet."""

    def shift(paths: Sequence[Sequence[Point]]) -> tuple[tuple[Point, ...], ...]:
        return tuple(tuple((x + dx, y + dy) for x, y in path) for path in paths)

    result: list[Item] = []
    for item in items:
        if isinstance(item, Area):
            result.append(Area(shift(item.rings), item.layer))
        elif isinstance(item, Lines):
            result.append(Lines(shift(item.paths), item.layer))
        else:
            place = (item.place[0] + dx, item.place[1] + dy)
            result.append(Text(place, item.text, item.size, item.anchor, item.layer, item.bold))
    return result


def wrapped(text: str, size: float, width: float) -> list[str]:
    """Break a text into lines no wider than ``width`` [mm]; a word longer than a line is cut."""
    lines: list[str] = []
    for word in text.split():
        while text_width(word, size) > width:
            keep = max(1, int(len(word) * width / text_width(word, size)) - 1)
            lines.append(word[:keep])
            word = word[keep:]
        if lines and text_width(f"{lines[-1]} {word}", size) <= width:
            lines[-1] = f"{lines[-1]} {word}"
        else:
            lines.append(word)
    return lines


def printable(text: str) -> str:
    """Text without the control characters and lone surrogates that XML and drawing files forbid."""
    return "".join(char if char.isprintable() else " " for char in text)
