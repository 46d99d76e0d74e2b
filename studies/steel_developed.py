"""The developed surface of a module with the steel that shear asks for near the supports."""

from typing import TYPE_CHECKING

import numpy as np
import shapely

from longvault.constraints.concrete_settings import SteelPractice
from longvault.constraints.developed import Developed, develop, longest_path
from longvault.constraints.spans import unit_response
from longvault.sections.export import dimensions as dim
from longvault.sections.export.scene import Area, Item, Lines, Text, wrapped
from longvault.sections.export.sheet import round_up
from longvault.sections.parts import roof_surface
from longvault.sections.polygon import outline_rings
from longvault.sections.symbols import Array, BoolArray
from longvault.studies.checked import Checked

if TYPE_CHECKING:
    from longvault.studies.steel_places import PlacedSteel

ROOM = (96.0, 48.0)
"""Width and height [mm] of the developed surface."""
GRID = (160, 96)
"""Fields along the span and along the curve."""


def shear_along(checked: Checked) -> tuple[Array, Array]:
    """Stations y (k,) [m] and the shear force there over the largest one (k,), load where it adds.

    Uniform load on the fields of the span in any pattern.
    """
    line = checked.basis.line
    unit = unit_response(line)
    plus, minus = (np.maximum(sign * unit.shear, 0.0).sum(axis=0) for sign in (1.0, -1.0))
    most = np.maximum(plus, minus)
    return unit.y, most / most.max()


def added_steel(checked: Checked, surface: Developed, y: Array, s: Array) -> BoolArray:
    """Whether the shear flow asks for more than the mesh at points of the developed roof surface (k, m).

    q_d = V_d(y) Q(s) / I over f_yd against the mesh, at least the least ratio of the shell (the rule of
    `longvault.constraints.steel_layout.steel_layout`).
    """
    basis = checked.basis
    d, settings = basis.detailing, basis.concrete_settings
    practice = SteelPractice() if settings is None else settings.practice
    strip = np.clip(np.searchsorted(surface.s, s, side="right") - 1, 0, len(surface.thickness) - 1)
    run = s - surface.s[strip]
    one, two = surface.fibre[strip, 0], surface.fibre[strip, 1]
    slope = (two - one) / (surface.s[strip + 1] - surface.s[strip])
    flow = np.abs(surface.flow[strip] + surface.thickness[strip] * run * (one + 0.5 * run * slope))
    mesh = d.mesh_area
    holds = np.maximum(mesh, practice.shell_ratio * surface.thickness[strip])
    path, _ = longest_path(checked.section.strips)
    cast = roof_surface(checked.section.strips)[path][strip]
    where, share = shear_along(checked)
    force = checked.measures["ultimate_shear"] * np.interp(y, where, share)
    asked = force[:, None] * flow / basis.strengths.shear_steel
    return np.asarray(cast & (asked > holds), dtype=np.bool_)


def developed_pane(checked: Checked, steel: "PlacedSteel") -> list[Item]:
    """Draw the developed surface of the whole module: supports, main bars, bands of added steel."""
    basis = checked.basis
    length = basis.line.length
    surface = develop(checked.section.strips, span=length, held=basis.held)
    wide = float(surface.s[-1])
    scale = round_up(max(1e3 * length / ROOM[0], 1e3 * wide / ROOM[1]))
    factor = 1e3 / scale
    frame = ((0.0, 0.0), (length * factor, 0.0), (length * factor, wide * factor), (0.0, wide * factor))
    bands = _hatched(checked, surface, factor)
    items: list[Item] = [Area((frame,), "plain"), *bands]
    for s in _bar_lines(surface, steel.bars):
        items.append(Lines((((0.0, s * factor), (length * factor, s * factor)),), "outline"))
    for y in basis.line.supports:
        items.append(Lines((((y * factor, -2.5), (y * factor, wide * factor + 2.5)),), "axis"))
    items += dim.across(0.0, length * factor, -6.0, f"along the span {length:g} m")
    items += dim.upright(length * factor + 4.0, (0.0, wide * factor), [f"{wide:.2f} m"], side=1)
    head = "Developed surface" + (" of the root, taken all along" if checked.member else "")
    words = f"{head}, scale 1:{scale:g}; heavy lines: main bars"
    words += "; hatched: mesh of the supports, or bars at 45°" if bands else ""
    lines = wrapped(words, 2.2, ROOM[0])[::-1]
    return items + [Text((0.0, wide * factor + 4.0 + 3.3 * i), text, 2.2) for i, text in enumerate(lines)]


def _bar_lines(surface: Developed, bars: Array) -> list[float]:
    """Places s on the developed surface at which main bars run, a few of them where many lie together."""
    if not len(bars):
        return []
    nodes = np.stack([surface.x, surface.z], axis=-1)
    path = shapely.linestrings(nodes)
    s = np.array([shapely.line_locate_point(path, shapely.Point(*bar)) for bar in bars])
    return sorted({round(float(v) / 0.1) * 0.1 for v in s if v <= surface.s[-1]})


def _hatched(checked: Checked, surface: Developed, factor: float) -> list[Item]:
    """Bands where the mesh alone does not do, outlined and hatched at 45 degrees."""
    length, wide = surface.span, float(surface.s[-1])
    y, s = (np.linspace(0.0, size, n + 1) for size, n in zip((length, wide), GRID, strict=True))
    asked = added_steel(checked, surface, 0.5 * (y[1:] + y[:-1]), 0.5 * (s[1:] + s[:-1]))
    rows = [(k, m) for k, m in np.argwhere(asked)]
    if not rows:
        return []
    fields = shapely.box(*np.array([[y[k], s[m], y[k + 1], s[m + 1]] for k, m in rows]).T)
    band = shapely.union_all(fields).simplify(0.7 * (s[1] - s[0]))
    step = 2.2 / factor
    starts = np.arange(-wide, length, step)
    slanted = shapely.multilinestrings([[(a, 0.0), (a + wide, wide)] for a in starts])
    cut = shapely.get_parts(shapely.intersection(band, slanted))
    paths = [shapely.get_coordinates(line) for line in cut if line.geom_type == "LineString"]
    paths += list(outline_rings(band))
    scaled = tuple(tuple((float(a) * factor, float(b) * factor) for a, b in path) for path in paths)
    return [Lines(scaled, "shear steel")]
