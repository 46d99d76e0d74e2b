"""Where the steel of one section lies: main bars, mesh, top bars, stirrups and tendon, in metres."""

from dataclasses import dataclass

import numpy as np
import shapely
import shapely.affinity

from longvault.constraints.bars import bar_places
from longvault.constraints.basis import Detailing
from longvault.constraints.concrete_settings import SteelPractice
from longvault.constraints.plates_results import strip_forces
from longvault.sections.outline import outline
from longvault.sections.parts import roof_surface, shared
from longvault.sections.strips import Strips
from longvault.sections.symbols import Array, BoolArray
from longvault.studies.checked import Checked
from longvault.studies.main_steel import main_steel
from longvault.studies.sheet_plates import slices_of
from longvault.studies.sheet_prestress import prestress_of

LARGE_SHARE = 0.25
"""Top bars are drawn where m_s stretches the upper face by more than this share of its peak."""

STATIONS = np.linspace(0.0, 1.0, 21)
"""Places along the span at which bending across is looked at, as shares of it."""

APART = 0.4
"""Bars farther apart than this stand in different groups [m]."""


@dataclass(frozen=True, slots=True)
class Tendon:
    """Ducts at the governing station: where they lie (one place a member), and their size [m]."""

    x: tuple[float, ...]
    z: float
    duct: float
    cover: float


@dataclass(frozen=True, slots=True, eq=False)
class PlacedSteel:
    """Steel of one section.

    Parameters
    ----------
    bars, reverse : array (n, 2)
        Main bars on the tension side and, where moments change sign, on the other side, x and z [m].
    placed : float
        How many of the tension side this bay has; a bar on the joint with the neighbour counts half.
    area : float
        Main steel they are placed for [m2].
    needed : int
        Bars that this takes; more are placed where a symmetrical layer would have an odd one.
    asked_by : str
        What asks for it, in words.
    mesh, top, stirrups : shapely geometry
        Lines of the mesh, of the top bars across and of the stirrups.
    peak : float or None
        Largest bending moment across with tension on the upper face [N]; None without a folded plate.
    tendon : Tendon or None
    """

    bars: Array
    reverse: Array
    placed: float
    area: float
    needed: int
    asked_by: str
    mesh: shapely.Geometry
    top: shapely.Geometry
    stirrups: shapely.Geometry
    peak: float | None = None
    tendon: Tendon | None = None


def placed_steel(checked: Checked) -> PlacedSteel:
    """Place the steel of a checked section (of the root, for a taper).

    Main bars for the largest of the demands on the sheet; the mesh at mid-depth if it is one, inside the
    covers if there are two; top bars across by the folded plate of the bays that are proved.
    """
    basis, m, strips = checked.basis, checked.measures, checked.section.strips
    d = basis.detailing
    settings = basis.concrete_settings
    practice = SteelPractice() if settings is None else settings.practice
    area, asked_by = main_steel(m)
    other = m.get("main_steel_reverse", m.get("steel_area_reverse", 0.0))
    sides = [
        main_bars(checked, size, side) for size, side in ((area, basis.sagging), (other, not basis.sagging))
    ]
    across, peak = _top_bars(checked)
    top = _offset(strips, 0.5 * strips.thickness - d.cover_top - 0.5 * d.mesh_bar, across)
    return PlacedSteel(
        bars=sides[0],
        reverse=sides[1],
        placed=whole_bars(checked, sides[0]),
        area=area,
        needed=_count(area, d),
        asked_by=asked_by,
        mesh=_mesh(strips, d),
        top=top,
        stirrups=_stirrups(strips, d, practice, basis.pitch),
        peak=peak,
        tendon=_tendon(checked),
    )


def main_bars(checked: Checked, area: float, sagging: bool) -> Array:
    """Places of main bars (n, 2) [m]: the outermost layers of `bar_places`, the last one spread evenly."""
    d = checked.basis.detailing
    wanted = _count(area, d)
    every = bar_places(checked.section.strips, checked.properties, area=1.0, detailing=d, sagging=sagging)
    covered = _covered(checked, every, d.cover_bottom if sagging else d.cover_top)
    every = every[covered] if whole_bars(checked, every[covered]) >= wanted else every
    heights = np.round(every[:, 1], 3)
    found = np.empty((0, 2))
    for height in np.unique(heights)[:: 1 if sagging else -1]:
        missing = wanted - whole_bars(checked, found)
        if missing <= 0.0:
            break
        layer = every[heights == height]
        found = np.concatenate([found, _thinned(checked, layer[layer[:, 0].argsort()], missing)])
    return found


def whole_bars(checked: Checked, bars: Array) -> float:
    """Count bars; one on the joint of a shared member is the neighbour's too and counts half."""
    ends = np.array([float(checked.properties.left), float(checked.properties.right)])
    on_joint = np.abs(bars[:, :1] - ends).min(axis=1) < 1e-4
    return len(bars) - 0.5 * float(on_joint.sum())


def _thinned(checked: Checked, layer: Array, missing: float) -> Array:
    """Spread as few bars over a layer as make up for the ``missing`` ones; the whole layer if need be."""
    for count in range(int(np.ceil(missing)), len(layer)):
        found = np.concatenate(_spread(layer, count))
        if whole_bars(checked, found) >= missing:
            return found
    return layer


def _covered(checked: Checked, places: Array, cover: float) -> BoolArray:
    """Places that have their cover on all sides: not those beside a step in thickness."""
    d = checked.basis.detailing
    away = shapely.distance(row_outline(checked).boundary, shapely.points(places))
    return np.asarray(away > cover + d.mesh_bar + 0.5 * d.main_bar - 2e-3, dtype=np.bool_)


def row_outline(checked: Checked) -> shapely.Geometry:
    """Outline of the module and its two neighbours, which hold the other halves of shared members."""
    shape = outline(checked.section.strips)
    sides = (-checked.basis.pitch, 0.0, checked.basis.pitch)
    return shapely.union_all([shapely.affinity.translate(shape, x) for x in sides]).buffer(1e-6)


def _spread(layer: Array, count: int) -> list[Array]:
    """Spread ``count`` bars over a layer, group by group; an odd one gets a partner in paired groups."""
    groups = np.split(layer, np.flatnonzero(np.diff(layer[:, 0]) > APART) + 1)
    count += count % 2 if len(groups) % 2 == 0 else 0
    found = []
    for number, group in enumerate(groups):
        left = sum(len(other) for other in groups[number:])
        share = min(round(count * len(group) / left), len(group))
        count -= share
        ends = (0.0, 1.0) if share > 1 else (0.5, 0.5)
        found.append(group[0] + np.linspace(*ends, share)[:, None] * (group[-1] - group[0]))
    return found


def _count(area: float, d: Detailing) -> int:
    return int(np.ceil(area / d.bar_area - 1e-9))


def _mesh(strips: Strips, d: Detailing) -> shapely.Geometry:
    """Mesh lines of the roof surface: at mid-depth, or one inside each cover."""
    surface = roof_surface(strips)
    if d.mesh_layers == 1:
        return _offset(strips, np.zeros_like(strips.thickness), surface)
    faces = ((1.0, d.cover_top), (-1.0, d.cover_bottom))
    lines = [
        _offset(strips, side * (0.5 * strips.thickness - cover - 0.5 * d.mesh_bar), surface)
        for side, cover in faces
    ]
    return shapely.union_all(lines)


def _offset(strips: Strips, distance: Array, kept: BoolArray) -> shapely.Geometry:
    """Lines at a distance above the mid-line of the strips that are kept; nodes move by the mean."""
    rows = np.flatnonzero(kept)
    if not len(rows):
        return shapely.MultiLineString()
    dx, dz = strips.span_vectors()
    normal = np.stack([-dz, dx], axis=-1) / strips.length[:, None]
    upper = np.where(np.abs(normal[:, 1]) > 1e-9, np.sign(normal[:, 1]), -np.sign(normal[:, 0]))
    normal = normal * upper[:, None]
    moved, away, count = np.zeros((strips.x.size, 2)), np.zeros(strips.x.size), np.zeros(strips.x.size)
    for end in strips.ends[rows].T:
        np.add.at(moved, end, normal[rows])
        np.add.at(away, end, distance[rows])
        np.add.at(count, end, 1.0)
    moved /= np.maximum(np.hypot(*moved.T), 1e-12)[:, None]
    points = np.stack([strips.x, strips.z], axis=-1) + moved * (away / np.maximum(count, 1.0))[:, None]
    return shapely.line_merge(shapely.multilinestrings([points[pair] for pair in strips.ends[rows]]))


def _top_bars(checked: Checked) -> tuple[BoolArray, float | None]:
    """Mark the roof strips whose upper face the folded plate stretches, and return its largest m_s there [N].

    The largest along the span and of the proved bays, under the heaviest ultimate combination.
    """
    surface = roof_surface(checked.section.strips)
    solved = slices_of(checked)
    forces = [strip_forces(solved[bay].plate, STATIONS) for bay in checked.proved_bays if bay in solved]
    if not forces:
        return np.zeros_like(surface), None
    moment = np.max([one.m_s.max(axis=(0, 2)) for one in forces], axis=0)
    moment = np.where(surface, moment, 0.0)
    peak = float(moment.max())
    if peak <= 0.0:
        return np.zeros_like(surface), 0.0
    return moment > LARGE_SHARE * peak, peak


def _stirrups(strips: Strips, d: Detailing, practice: SteelPractice, pitch: float) -> shapely.Geometry:
    """Stirrup lines inside the cover of beams and kerbs; a shared member is closed with its other half."""
    beams = ~roof_surface(strips)
    if not beams.any():
        return shapely.MultiLineString()
    half = shared(strips)
    whole = shapely.union_all(_rectangles(strips, beams))
    if half.any():
        halves = shapely.union_all(_rectangles(strips, half))
        moved = [shapely.affinity.translate(halves, side * pitch) for side in (-1.0, 1.0)]
        bound = shapely.union_all([whole, *moved]).buffer(1e-6)
    else:
        bound = whole
    cover = max(d.cover_top, d.cover_bottom) + 0.5 * practice.stirrup_bar
    inside = bound.buffer(-cover, join_style="mitre")
    return inside.boundary.intersection(whole)


def _rectangles(strips: Strips, rows: BoolArray) -> list[shapely.Geometry]:
    lines = shapely.linestrings([np.stack([strips.x[pair], strips.z[pair]], axis=-1) for pair in strips.ends])
    return [
        line.buffer(0.5 * float(t), cap_style="flat")
        for line, t in zip(lines[rows], strips.thickness[rows], strict=True)
    ]


def _tendon(checked: Checked) -> Tendon | None:
    """Tendon at the governing station, if the brief asks for one."""
    settings, m = checked.basis.concrete_settings, checked.measures
    if settings is None or settings.tensioning is None or "prestress_force" not in m:
        return None
    found = prestress_of(checked, settings.tensioning)
    use, x, z = settings.tensioning, float(found.x), float(found.z)
    return Tendon(_members(checked, x, z), z, use.duct, use.cover)


def _members(checked: Checked, x: float, z: float) -> tuple[float, ...]:
    """Middles of the members cut at the height of the tendon, if their mean place is x; else x."""
    left, right = float(checked.properties.left), float(checked.properties.right)
    shape = row_outline(checked)
    level = shapely.LineString([(left - checked.basis.pitch, z), (right + checked.basis.pitch, z)])
    cuts = shapely.get_parts(shape.intersection(level))
    middles = tuple(m for m in (float(cut.centroid.x) for cut in cuts) if left - 1e-3 <= m <= right + 1e-3)
    if not shape.contains(shapely.Point(x, z)) and middles and abs(np.mean(middles) - x) < 1e-2:
        return middles
    return (x,)
