"""A scene as SVG text, and a section as an SVG file, true to scale on paper."""

from html import escape
from pathlib import Path

from longvault.sections.export.atomic import write_text
from longvault.sections.export.scene import LOOKS, Area, Item, Lines, Look, Scene, Text, printable
from longvault.sections.section_file import Section

FONTS = "DejaVu Sans, Verdana, Helvetica, Arial, sans-serif"


def export_svg(
    section: Section, path: str | Path, *, bay: float | None = None, moment: float | None = None
) -> None:
    """Write the section drawing as SVG.

    Arguments as for `longvault.sections.export.section_drawing.draw_section`.
    """
    from longvault.sections.export.section_drawing import draw_section

    write_text(path, svg_text(draw_section(section, bay=bay, moment=moment)))


def svg_text(scene: Scene) -> str:
    r"""SVG of a scene: its width and height are millimetres, so that a print at 100 % is true to scale.

    Examples
    --------
    >>> svg_text(Scene((), 10, 5, "empty")).splitlines()[0].split("\"")[3:6:2]
    ['10mm', '5mm']
    """
    size = f'width="{_n(scene.width)}mm" height="{_n(scene.height)}mm"'
    box = f'viewBox="0 0 {_n(scene.width)} {_n(scene.height)}"'
    title = escape(printable(scene.title))
    lines = [
        f'<svg xmlns="http://www.w3.org/2000/svg" {size} role="img" {box}>',
        f"<title>{title}</title>",
        f'<rect width="{_n(scene.width)}" height="{_n(scene.height)}" fill="#ffffff"/>',
        *(_element(item, scene.height) for item in scene.items),
        "</svg>",
    ]
    return "\n".join(lines) + "\n"


def _element(item: Item, height: float) -> str:
    look = LOOKS[item.layer]
    name = item.layer.replace(" ", "-")
    if isinstance(item, Text):
        weight = ' font-weight="bold"' if item.bold else ""
        style = f'font-family="{FONTS}" font-size="{_n(item.size)}" fill="{look.fill}"{weight}'
        place = f'x="{_n(item.place[0])}" y="{_n(height - item.place[1])}" text-anchor="{item.anchor}"'
        return f'<text class="{name}" {place} {style}>{escape(printable(item.text))}</text>'
    closed = isinstance(item, Area)
    return f'<path class="{name}" d="{_path(item, height)}"{_paint(look, closed)}/>'


def _path(item: Area | Lines, height: float) -> str:
    if isinstance(item, Area):
        return " ".join(_steps(ring, height) + "Z" for ring in item.rings)
    return " ".join(_steps(path, height) for path in item.paths)


def _steps(points: tuple[tuple[float, float], ...], height: float) -> str:
    return "M" + " ".join(f"{_n(x)},{_n(height - y)}" for x, y in points)


def _paint(look: Look, closed: bool) -> str:
    fill = look.fill if closed and look.fill else "none"
    parts = [f' fill="{fill}"', ' fill-rule="evenodd"' if closed else ""]
    if look.stroke and look.width:
        parts.append(f' stroke="{look.stroke}" stroke-width="{_n(look.width)}" stroke-linejoin="round"')
    if look.dash:
        parts.append(f' stroke-dasharray="{" ".join(_n(d) for d in look.dash)}"')
    return "".join(parts)


def _n(value: float) -> str:
    """Write a number to 0.1 micrometre of paper, without needless zeros."""
    text = f"{value:.4f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
