"""Section as DXF for drawing programs: real metres, layers named by content."""

import io
from pathlib import Path
from typing import Any

from longvault.sections.export.atomic import write_text
from longvault.sections.export.midline import midline_runs
from longvault.sections.export.silhouette import silhouette
from longvault.sections.properties import section_properties
from longvault.sections.section_file import Section
from longvault.sections.symbols import CAUTION

LAYERS: dict[str, dict[str, Any]] = {
    "OUTLINE": {"color": 7, "lineweight": 50},
    "CONCRETE_HATCH": {"color": 8, "lineweight": 13},
    "MIDLINE": {"color": 5, "lineweight": 18, "linetype": "DASHED"},
    "NEUTRAL_AXIS": {"color": 1, "lineweight": 18, "linetype": "DASHDOT"},
    "DIMENSIONS": {"color": 3, "lineweight": 18},
    "TEXT": {"color": 7, "lineweight": 18},
    "CAUTION": {"color": 7, "lineweight": 18},
}
"""Layer -> look; the name says what lies on it."""


def export_dxf(section: Section, path: str | Path) -> None:
    """Write one section as DXF R2018, drawn in metres (``$INSUNITS`` = 6).

    Outlines are closed polylines (holes too), the mid-line is one polyline a run, dimensions measure the
    drawing itself (``dimlfac`` = 1).
    """
    import ezdxf
    from ezdxf import units

    document = ezdxf.new("R2018", setup=True, units=units.M)
    for name, look in LAYERS.items():
        document.layers.add(name, **look)
    rings = silhouette(section.strips).rings
    space = document.modelspace()
    hatch = space.add_hatch(color=8, dxfattribs={"layer": "CONCRETE_HATCH"})
    hatch.set_pattern_fill("ANSI31", scale=0.02)
    for ring in rings:
        points = [(float(x), float(z)) for x, z in ring[:-1]]
        space.add_lwpolyline(points, close=True, dxfattribs={"layer": "OUTLINE"})
        hatch.paths.add_polyline_path(points, is_closed=True)
    for run in midline_runs(section.strips):
        space.add_lwpolyline(run, dxfattribs={"layer": "MIDLINE"})
    _add_dimensions(document, space, section)
    text = io.StringIO()
    document.write(text)
    write_text(path, text.getvalue())


def _add_dimensions(document: Any, space: Any, section: Section) -> None:
    p = section_properties(section.strips)
    left, right, bottom, top = float(p.left), float(p.right), float(p.bottom), float(p.top)
    size = max(right - left, top - bottom) / 60.0
    style = document.dimstyles.duplicate_entry("EZDXF", "LONGVAULT")
    style.set_dxf_attrib("dimlfac", 1.0)
    look = {"dimtxt": size, "dimasz": size, "dimexe": 0.5 * size, "dimexo": 0.5 * size, "dimgap": 0.4 * size}
    look |= {"dimdec": 3, "dimscale": 1.0, "dimlunit": 2, "dimrnd": 0.0, "dimzin": 0, "dimtad": 1}
    for name, value in look.items():
        style.set_dxf_attrib(name, value)
    attributes = {"layer": "DIMENSIONS"}
    kinds = {"dimstyle": "LONGVAULT", "dxfattribs": attributes}
    below, beside = bottom - 4 * size, right + 5 * size
    space.add_linear_dim(base=(left, below), p1=(left, bottom), p2=(right, bottom), **kinds).render()
    space.add_linear_dim(
        base=(beside, bottom), p1=(right, bottom), p2=(right, top), angle=90, **kinds
    ).render()
    height = float(p.centroid_z)
    ends = ((left - 2 * size, height), (right + 2 * size, height))
    space.add_line(*ends, dxfattribs={"layer": "NEUTRAL_AXIS"})
    _add_text(space, section.name, "TEXT", (left, top + 3 * size), 1.4 * size)
    _add_text(space, CAUTION, "CAUTION", (left, below - 4 * size), size)


def _add_text(space: Any, text: str, layer: str, place: tuple[float, float], height: float) -> None:
    space.add_text(text, height=height, dxfattribs={"layer": layer, "style": "OpenSans"}).set_placement(place)
