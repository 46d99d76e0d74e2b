"""Section as DXF for drawing programs: real metres, layers named by content."""

import io
from collections.abc import Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from longvault.sections.export.atomic import write_text
from longvault.sections.export.layout import Layout, axes, concrete, glass, labels, make_layout, neighbours
from longvault.sections.export.midline import midline_runs
from longvault.sections.export.scene import Area, Item, Lines, Point, Text, bounds, printable
from longvault.sections.polygon import outline_rings
from longvault.sections.section_file import Section
from longvault.sections.symbols import CAUTION

LAYERS: dict[str, dict[str, Any]] = {
    "OUTLINE": {"color": 7, "lineweight": 50},
    "HATCH": {"color": 8, "lineweight": 13},
    "MIDLINE": {"color": 5, "lineweight": 18, "linetype": "DASHED"},
    "NEUTRAL_AXIS": {"color": 1, "lineweight": 25, "linetype": "DASHDOT"},
    "CENTROID": {"color": 7, "lineweight": 18},
    "GLASS": {"color": 4, "lineweight": 50},
    "NEIGHBOURS": {"color": 8, "lineweight": 18},
    "DIMENSIONS": {"color": 3, "lineweight": 18},
    "LABELS": {"color": 7, "lineweight": 18},
    "TITLE": {"color": 7, "lineweight": 25},
    "CAUTION": {"color": 7, "lineweight": 18},
}
"""Layer -> look; the name says what lies on it."""

SAME_AS = {
    "neutral axis": "NEUTRAL_AXIS",
    "axis": "CENTROID",
    "glass": "GLASS",
    "neighbour": "NEIGHBOURS",
    "dimension": "LABELS",
    "arrow": "LABELS",
    "text": "LABELS",
}
"""Layer of the drawing -> layer of the file."""

STYLE = "LONGVAULT"
DIMENSIONS = "All dimensions in metres; thicknesses beside parts in millimetres."
BY_LAYER = 256

Box = tuple[float, float, float, float]


def export_dxf(section: Section, path: str | Path, *, bay: float | None = None) -> None:
    """Write one section as DXF R2018, drawn in metres (``$INSUNITS`` = 6); the same section, the same bytes.

    Outlines are closed polylines (outer rings counter-clockwise, holes clockwise), the mid-line is one
    polyline a run, dimensions measure the drawing itself (``dimlfac`` = 1).

    Parameters
    ----------
    section : Section
    path : str or Path
    bay : float, optional
        Distance at which modules repeat [m]: neighbours, glass and bay are then drawn too.
    """
    import ezdxf
    from ezdxf import units

    layout = make_layout(section, bay)
    text = io.StringIO()
    with _fixed_metadata():
        document = ezdxf.new("R2018", setup=True, units=units.M)
        document.header["$LTSCALE"] = 0.3 * layout.text
        for name, look in LAYERS.items():
            document.layers.add(name, **look)
        _draw(document, layout)
        document.write(text)
    write_text(path, text.getvalue())


def _draw(document: Any, layout: Layout) -> None:
    space = document.modelspace()
    _add_concrete(space, layout)
    panes, pane_labels = glass(layout)
    lines = [*neighbours(layout), *axes(layout), *panes]
    marks = labels(layout, [*lines, *concrete(layout)], pane_labels)
    _add_items(space, layout, [*lines, *marks])
    _add_dimensions(document, space, layout, bounds([*lines, *concrete(layout), *marks]))


@contextmanager
def _fixed_metadata() -> Iterator[None]:
    """Keep dates and random identifiers out of the file, so that equal sections give equal files."""
    from ezdxf import options

    before = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        options.write_fixed_meta_data_for_testing = before


def _add_concrete(space: Any, layout: Layout) -> None:
    hatch = space.add_hatch(color=8, dxfattribs={"layer": "HATCH"})
    hatch.set_pattern_fill("ANSI31", scale=0.16 * layout.text)
    for ring in outline_rings(layout.concrete):
        points = [(float(x), float(z)) for x, z in ring[:-1]]
        space.add_lwpolyline(points, close=True, dxfattribs={"layer": "OUTLINE"})
        hatch.paths.add_polyline_path(points, is_closed=True)
    for run in midline_runs(layout.section.strips):
        space.add_lwpolyline(run, dxfattribs={"layer": "MIDLINE"})


def _add_items(space: Any, layout: Layout, items: Iterable[Item]) -> None:
    """Take lines, rings and texts of the drawing over, from paper to metres."""
    for item in items:
        attributes = {"layer": SAME_AS[item.layer]}
        if isinstance(item, Text):
            _add_text(space, layout, item.text, attributes["layer"], item.place, align=item.anchor)
        for path in item.rings if isinstance(item, Area) else item.paths if isinstance(item, Lines) else ():
            points = [layout.metres(place) for place in path]
            space.add_lwpolyline(points, close=isinstance(item, Area), dxfattribs=attributes)


def _add_dimensions(document: Any, space: Any, layout: Layout, box: Box) -> None:
    text = layout.text
    left, bottom, right, top = layout.box
    sizes = {"dimtxt": 1.0, "dimasz": 0.8, "dimexe": 0.6, "dimexo": 0.6, "dimgap": 0.5, "dimfxl": 2.0}
    look = {name: value * text for name, value in sizes.items()} | {"dimfxlon": 1, "dimtad": 1, "dimtsz": 0}
    look |= {"dimlfac": 1.0, "dimscale": 1.0, "dimdec": 3, "dimlunit": 2, "dimzin": 0}
    look |= {"dimclrd": BY_LAYER, "dimclre": BY_LAYER, "dimclrt": BY_LAYER}
    style = document.dimstyles.duplicate_entry("EZDXF", STYLE)
    for name, value in look.items():
        style.set_dxf_attrib(name, value)
    beyond, below = layout.metres((box[2] + 8.0, box[1] - 7.0))
    before = layout.metres((box[0] - 8.0, 0.0))[0]
    add = {"dimstyle": STYLE, "dxfattribs": {"layer": "DIMENSIONS"}}
    corners = (left, bottom), (right, bottom), (right, top)
    space.add_linear_dim(base=(left, below), p1=corners[0], p2=corners[1], **add).render()
    space.add_linear_dim(base=(beyond, bottom), p1=corners[1], p2=corners[2], angle=90, **add).render()
    middle = (left, float(layout.properties.centroid_z))
    space.add_linear_dim(base=(before, bottom), p1=corners[0], p2=middle, angle=90, **add).render()
    if layout.bay:
        below -= 3.0 * text
        ends = ((0.5 * (left + right) + side * layout.bay, bottom) for side in (-0.5, 0.5))
        space.add_linear_dim(base=(left, below), p1=next(ends), p2=next(ends), **add).render()
    _add_text(space, layout, layout.section.name, "TITLE", (0.0, box[3] + 8.0), size=1.6)
    low = layout.at(0.0, below)[1]
    _add_text(space, layout, DIMENSIONS, "DIMENSIONS", (0.0, low - 6.0))
    _add_text(space, layout, CAUTION, "CAUTION", (0.0, low - 10.0))


def _add_text(
    space: Any,
    layout: Layout,
    text: str,
    layer: str,
    place: Point,
    *,
    align: str = "start",
    size: float = 1.0,
) -> None:
    from ezdxf.enums import TextEntityAlignment

    sides = {"start": "LEFT", "middle": "CENTER", "end": "RIGHT"}
    attributes = {"layer": layer, "style": "OpenSans"}
    entity = space.add_text(printable(text), height=size * layout.text, dxfattribs=attributes)
    entity.set_placement(layout.metres(place), align=TextEntityAlignment[sides[align]])
