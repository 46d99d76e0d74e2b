"""The steel drawing: bands on the section to scale, a detail at the main bars, and the developed surface."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

import numpy as np
import shapely
import shapely.affinity

from longvault.constraints.concrete_settings import SteelPractice
from longvault.sections.export import dimensions as dim
from longvault.sections.export.layout import Layout, make_layout, neighbours
from longvault.sections.export.scene import Area, Item, Lines, Point, Scene, Text, bounds, moved, wrapped
from longvault.sections.export.sheet import compose, round_up
from longvault.sections.polygon import outline_rings
from longvault.sections.symbols import Array
from longvault.studies.checked import Checked
from longvault.studies.sheet_table import cm2, digits
from longvault.studies.steel_developed import developed_pane
from longvault.studies.steel_places import APART, LARGE_SHARE, PlacedSteel, placed_steel, whole_bars

LEGEND = (
    ("bar", "main bars"),
    ("tendon", "tendon in its duct"),
    ("mesh", "mesh"),
    ("top bars", "top bars across"),
    ("stirrup", "stirrups"),
    ("shear steel", "added diagonal steel"),
)
ROOM = (240.0, 68.0)
"""Width and height [mm] of the section."""
DETAIL = (60.0, 50.0)
"""Width and height [mm] of the detail."""
LEAST = {"bar": 0.35, "mesh bar": 0.28}
"""Radius below which bars are not drawn [mm]."""
NOTES = 62.0
"""Width of the column of notes [mm]."""

Place = Callable[[float, float], Point]
Drawn = tuple[shapely.Geometry, str]


@dataclass(frozen=True, slots=True)
class View:
    """A window on the section, in metres, and the paper millimetres a metre takes in it."""

    box: tuple[float, float, float, float]
    factor: float

    def at(self, x: float, z: float) -> Point:
        """Place on paper of a point of the section, the window's lower left corner at (0, 0)."""
        return self.factor * (x - self.box[0]), self.factor * (z - self.box[1])


def draw_steel(checked: Checked) -> Scene:
    """Draw the steel of a checked section (of the root, for a taper).

    The section to scale with main bars, mesh, top bars, stirrups and tendon; below it a detail where the
    main bars lie, the developed surface with the steel near the supports, and what it all is in words.
    """
    steel = placed_steel(checked)
    layout = make_layout(checked.section, checked.basis.pitch, ROOM)
    figure = [*neighbours(layout), *_painted(_drawn(layout, steel, checked), layout.at, layout.factor)]
    surface = developed_pane(checked, steel)
    below = [_notes(checked, steel, any(item.layer == "shear steel" for item in surface))]
    if len(steel.bars):
        view = detail_view(steel, checked.basis.sagging)
        figure.append(_frame(layout, view))
        below.append(_detail(layout, steel, checked, view))
    figure += _sizes(layout, figure)
    figure = _stacked(figure, _row([*below, surface]))
    used = {item.layer for item in figure}
    legend = [line for line in LEGEND if line[0] in used]
    title = f"{checked.section.name}: steel{' at the root' if checked.member else ''}"
    return compose(figure, title=title, scale=layout.scale, legend=legend, what="Section with its steel")


def _row(panes: list[list[Item]]) -> list[Item]:
    """Put panes side by side, their upper edges in one line."""
    items: list[Item] = []
    left = 0.0
    for pane in panes:
        x, _, right, high = bounds(pane)
        items += moved(pane, left - x, -high)
        left += right - x + 8.0
    return items


def _stacked(upper: list[Item], lower: list[Item]) -> list[Item]:
    """Put one drawing over another, both in the middle."""
    left, low, right, _ = bounds(upper)
    first, _, last, high = bounds(lower)
    return [*upper, *moved(lower, 0.5 * (left + right - first - last), low - 8.0 - high)]


def _drawn(layout: Layout, steel: PlacedSteel, checked: Checked) -> list[Drawn]:
    """Everything that section and detail show, in metres, in the order of drawing."""
    radius = 0.5 * checked.basis.detailing.main_bar
    bars = shapely.points(np.concatenate([steel.bars, steel.reverse]))
    found: list[Drawn] = [
        (layout.concrete, "plain"),
        (steel.stirrups, "stirrup"),
        (steel.mesh, "mesh"),
        (steel.top, "top bars"),
    ]
    if steel.tendon is not None:
        t = steel.tendon
        ducts = shapely.buffer(shapely.points([(x, t.z) for x in t.x]), 0.5 * t.duct)
        found.append((shapely.union_all(ducts), "tendon"))
    return [*found, (shapely.union_all(shapely.buffer(bars, radius, quad_segs=6)), "bar")]


def _painted(drawn: list[Drawn], at: Place, factor: float) -> list[Item]:
    """Take shapes over to paper; discs keep a size that a print shows."""
    items: list[Item] = []
    for shape, layer in drawn:
        if shape.is_empty:
            continue
        rings: list[tuple[Point, ...]] = [tuple(at(*p) for p in ring) for ring in outline_rings(shape)]
        if layer in LEAST:
            rings = [_at_least(ring, LEAST[layer]) for ring in rings]
        if rings:
            items.append(Area(tuple(rings), layer))
        lines = [part for part in shapely.get_parts(shape) if part.geom_type == "LineString" and part.length]
        if lines:
            paths = tuple(tuple(at(*p) for p in shapely.get_coordinates(line)) for line in lines)
            items.append(Lines(paths, layer))
    return items


def _at_least(ring: tuple[Point, ...], radius: float) -> tuple[Point, ...]:
    points: Array = np.array(ring)
    middle = 0.5 * (points.min(axis=0) + points.max(axis=0))
    size = 0.5 * float(np.ptp(points[:, 0]))
    grown = middle + (points - middle) * max(1.0, radius / size)
    return tuple((float(x), float(y)) for x, y in grown)


def detail_view(steel: PlacedSteel, sagging: bool) -> View:
    """Window on the fullest group of main bars (the rightmost of equals), at a round scale."""
    group = max(_groups(steel.bars), key=lambda g: (len(g), float(g[:, 0].mean())))
    inside, outside = (0.30, 0.09) if sagging else (0.09, 0.30)
    low = group.min(axis=0) - np.array([0.16, outside])
    high = group.max(axis=0) + np.array([0.16, inside])
    if steel.tendon is not None:
        x = min(steel.tendon.x, key=lambda x: abs(x - float(group[:, 0].mean())))
        low = np.minimum(low, [x - 0.1, steel.tendon.z - 0.1])
        high = np.maximum(high, [x + 0.1, steel.tendon.z + 0.1])
    size = high - low
    scale = round_up(max(1e3 * size[0] / DETAIL[0], 1e3 * size[1] / DETAIL[1]))
    return View((*low.tolist(), *high.tolist()), 1e3 / scale)


def _groups(bars: Array) -> list[Array]:
    """Bars in groups that stand apart from each other."""
    circles = shapely.union_all(shapely.buffer(shapely.points(bars), 0.5 * APART))
    found = [bars[shapely.contains_xy(part, bars[:, 0], bars[:, 1])] for part in shapely.get_parts(circles)]
    return [group for group in found if len(group)]


def _frame(layout: Layout, view: View) -> Item:
    """Outline of the detail on the section."""
    left, low, right, high = view.box
    corners = ((left, low), (right, low), (right, high), (left, high), (left, low))
    return Lines((tuple(layout.at(*corner) for corner in corners),), "view")


def _detail(layout: Layout, steel: PlacedSteel, checked: Checked, view: View) -> list[Item]:
    """Draw the window on the main bars enlarged, with the bars of the mesh along the span and the cover."""
    window = shapely.box(*view.box)
    beside = [shapely.affinity.translate(layout.concrete, side * checked.basis.pitch) for side in (-1.0, 1.0)]
    shown = [(shapely.union_all(beside), "neighbour"), *_drawn(layout, steel, checked)]
    drawn = [(shapely.intersection(shape, window), layer) for shape, layer in shown]
    drawn.append((shapely.intersection(_wires(steel, checked), window), "mesh bar"))
    items = _painted(drawn, view.at, view.factor)
    width, height = view.at(view.box[2], view.box[3])
    ring = ((0.0, 0.0), (width, 0.0), (width, height), (0.0, height), (0.0, 0.0))
    items.append(Lines((ring,), "view"))
    items += _covers(steel, checked, view, width)
    scale = 1e3 / view.factor
    items.append(Text((0.0, height + 2.0), f"Detail at the main bars, scale 1:{scale:g}", 2.5))
    return items + dim.scale_bar((1.0, -5.0), view.factor, round_up(15.0 / view.factor))


def _wires(steel: PlacedSteel, checked: Checked) -> shapely.Geometry:
    """Bars of the mesh that run along the span."""
    d = checked.basis.detailing
    spots = [
        shapely.line_interpolate_point(line, np.arange(0.5 * d.mesh_spacing, line.length, d.mesh_spacing))
        for line in shapely.get_parts(steel.mesh)
    ]
    points = np.concatenate(spots) if spots else np.array([])
    return shapely.union_all(shapely.buffer(points, 0.5 * d.mesh_bar, quad_segs=3))


def _covers(steel: PlacedSteel, checked: Checked, view: View, width: float) -> list[Item]:
    """Dimension the outermost main bar, and the tendon, from the outermost fibre."""
    p, sagging = checked.properties, checked.basis.sagging
    edge = float(p.bottom if sagging else p.top)
    z = float(steel.bars[:, 1].min() if sagging else steel.bars[:, 1].max())
    marks = {"bars": z} | ({} if steel.tendon is None else {"tendon": steel.tendon.z})
    items: list[Item] = []
    for number, (name, mark) in enumerate(marks.items()):
        ends = sorted((view.at(0.0, edge)[1], view.at(0.0, mark)[1]))
        if ends[0] < -1.0 or ends[1] > view.at(0.0, view.box[3])[1] + 1.0:
            continue  # the outermost fibre lies in another part of the section
        text = f"{1e3 * abs(mark - edge):.0f} mm"
        items += dim.upright(width + 4.0 + 14.0 * number, ends, [text], side=1)
        items.append(Text((width + 5.8 + 14.0 * number, 0.5 * sum(ends) - 4.2), f"to {name}", 2.0))
    return items


def _sizes(layout: Layout, figure: list[Item]) -> list[Item]:
    width, height = layout.size
    _, low, right, _ = bounds(figure)
    items = dim.across(0.0, width, low - 6.0, f"{width / layout.factor:.3f} m")
    return items + dim.upright(right + 4.0, (0.0, height), [f"{height / layout.factor:.3f} m"], side=1)


def _notes(checked: Checked, steel: PlacedSteel, added: bool) -> list[Item]:
    """Say in words what is drawn."""
    items: list[Item] = []
    y = 0.0
    for sentence in steel_words(checked, steel, added):
        for line in wrapped(sentence, 2.2, NOTES):
            items.append(Text((0.0, y), line, 2.2))
            y -= 3.3
        y -= 1.0
    return items


def steel_words(checked: Checked, steel: PlacedSteel, added: bool) -> list[str]:
    """Sentences on each band: how much, where, and what asks for it; ``added``: shear asks for more mesh."""
    d = checked.basis.detailing
    words = [
        f"Main bars: {steel.needed} of {d.main_bar * 1e3:g} mm for A_s = {cm2(steel.area)} "
        f"({steel.asked_by}); cover {d.cover_bottom * 1e3:g} mm below, {d.cover_top * 1e3:g} mm above, "
        f"{d.mesh_bar * 1e3:g} mm mesh or stirrup between."
    ]
    if steel.placed < steel.needed:
        words.append(f"ONLY {steel.placed:g} OF THESE BARS FIT, with cover and spacing.")
    elif steel.placed > steel.needed:
        words.append(f"{steel.placed:g} are drawn, so that the section stays symmetrical.")
    if steel.placed < len(steel.bars):
        words.append("A bar on the joint of two bays belongs half to each.")
    if len(steel.reverse):
        other = whole_bars(checked, steel.reverse)
        words.append(f"Bars of the other side, for the other sign of moment: {other:g}.")
    layer = "one layer at mid-depth" if d.mesh_layers == 1 else f"{d.mesh_layers} layers inside the covers"
    words.append(f"Mesh: {d.mesh_bar * 1e3:g} mm at {d.mesh_spacing * 1e3:g} mm both ways, {layer}.")
    if added:
        words.append(
            f"Near the supports, where q_d / {checked.basis.strengths.words_shear_steel} is more (hatched): "
            f"mesh at {d.support_spacing * 1e3:g} mm, or diagonal bars."
        )
    else:
        words.append("The mesh carries the shear flow up to the supports.")
    return [*words, *_cross_words(checked, steel), "Bars are drawn at least 0.7 mm wide."]


def _cross_words(checked: Checked, steel: PlacedSteel) -> list[str]:
    """Sentences on top bars, stirrups and tendon."""
    settings, m = checked.basis.concrete_settings, checked.measures
    practice = SteelPractice() if settings is None else settings.practice
    words = []
    if steel.peak:
        words.append(
            f"Top bars across: where the folded plate stretches the upper face by more than "
            f"{100 * LARGE_SHARE:g} % of its peak there, m_s = {digits(steel.peak / 1e3, 3)} kNm/m."
        )
    elif steel.peak is None:
        words.append(_no_top_words(m))
    if not steel.stirrups.is_empty:
        words.append(
            f"Stirrups in beams and kerbs: {practice.stirrup_bar * 1e3:g} mm at "
            f"{practice.stirrup_spacing * 1e3:g} mm or closer."
        )
    if steel.tendon is not None:
        t = steel.tendon
        words.append(
            f"Tendon: P = {digits(m['prestress_force'] / 1e3)} kN, {m['strands']:.0f} strands; ducts of "
            f"{t.duct * 1e3:g} mm with {t.cover * 1e3:g} mm of concrete over them, drawn at their centroid."
        )
    return words


def _no_top_words(measures: Mapping[str, float]) -> str:
    """Say why no top bars are drawn, and what the slice says of bending across."""
    words = "Top bars across are drawn for roofs proved by the folded plate; this one is not."
    if "slice_moment" not in measures:
        return words
    return f"{words} The slice, a limit, has {digits(measures['slice_moment'] / 1e3, 3)} kNm/m at most."
