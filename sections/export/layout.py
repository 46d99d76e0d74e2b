"""Where all of a section drawing goes, in millimetres of paper: concrete, axes, glass, labels, sizes."""

from dataclasses import dataclass

import numpy as np
import shapely
import shapely.affinity

from longvault.sections.export import dimensions as dim
from longvault.sections.export.midline import midline_runs
from longvault.sections.export.part_labels import labelled
from longvault.sections.export.scene import Area, Item, Lines, Point, bounds, disc
from longvault.sections.export.sheet import round_up
from longvault.sections.opening import slot
from longvault.sections.outline import outline
from longvault.sections.polygon import outline_rings
from longvault.sections.properties import Properties, section_properties
from longvault.sections.section_file import Section
from longvault.sections.symbols import Array

ROOM = (260.0, 120.0)
"""Width and height [mm] the section, with its neighbours, may take on the sheet."""
LEAST_SLOT = 0.02
"""A gap between modules of less than this [m] is a joint, not glass."""

Label = tuple[Point, str]


@dataclass(frozen=True, slots=True, eq=False)
class Layout:
    """What the drawing functions share: the section, its properties, the scale.

    Parameters
    ----------
    section : Section
    properties : Properties
    concrete : shapely geometry
        The outline, small changes of thickness along a curve drawn as tapers [m].
    box : (float, float, float, float)
        Left, bottom, right and top of the concrete, mitres and all [m].
    bay : float or None
        Distance at which modules repeat [m]; None for a section that stands alone.
    scale : float
        n of the scale 1:n.
    """

    section: Section
    properties: Properties
    concrete: shapely.Geometry
    box: tuple[float, float, float, float]
    bay: float | None
    scale: float

    @property
    def factor(self) -> float:
        """Paper millimetres per metre."""
        return 1000.0 / self.scale

    @property
    def text(self) -> float:
        """Height of the capitals of a label, 1.8 mm on paper, at the size of the section [m]."""
        return 1.8 / self.factor

    def at(self, x: float, z: float) -> Point:
        """Place on paper of a point of the section; the lower left corner of the concrete is (0, 0)."""
        left, bottom, _, _ = self.box
        return self.factor * (x - left), self.factor * (z - bottom)

    def metres(self, place: Point) -> Point:
        """Point of the section [m] at a place on paper: the inverse of `at`."""
        left, bottom, _, _ = self.box
        return left + place[0] / self.factor, bottom + place[1] / self.factor

    def path(self, points: Array) -> tuple[Point, ...]:
        """Places on paper of points (k, 2)."""
        return tuple(self.at(float(x), float(z)) for x, z in points)

    @property
    def axis_angle(self) -> float:
        """Lean of the neutral axis from the horizontal, bending free to move sideways [rad]."""
        p = self.properties
        if abs(float(p.ixz)) <= 1e-12 * float(p.ixx + p.izz):
            return 0.0
        return float(np.arctan2(p.ixz, p.izz))

    @property
    def size(self) -> Point:
        """Width and height of the concrete on paper [mm]."""
        left, bottom, right, top = self.box
        return self.factor * (right - left), self.factor * (top - bottom)


def make_layout(section: Section, bay: float | None, room: Point = ROOM) -> Layout:
    """Measure a section and choose the scale of its drawing; arguments as for `draw_section`.

    ``room`` is the width and height [mm] that the section, with its neighbours, may take.
    """
    if section.strips.batch:
        raise ValueError(
            f"section: got a batch of shape {section.strips.batch}; one section can be drawn at a time"
        )
    if bay is not None and not bay > 0.0:
        raise ValueError(f"bay: got {bay} m; must be above 0")
    properties = section_properties(section.strips)
    if not np.isfinite(float(properties.area)):
        raise ValueError("section: every value must be finite, every thickness and length above 0")
    shape = outline(section.strips, tapered=True)
    left, bottom, right, top = (float(value) for value in shape.bounds)
    width = right - left + 2.0 * neighbour_reach(right - left, bay)
    wanted = max(1e3 * width / room[0], 1e3 * (top - bottom) / room[1])
    return Layout(section, properties, shape, (left, bottom, right, top), bay, round_up(wanted))


def neighbour_reach(width: float, bay: float | None) -> float:
    """How far beyond a section of this width its neighbours are drawn [m]."""
    return max(0.0, bay - width) + 0.15 * width if bay else 0.0


def neighbours(layout: Layout) -> list[Item]:
    """Next modules in outline, cut off a little beyond the section."""
    if not layout.bay:
        return []
    left, bottom, right, top = layout.box
    reach = neighbour_reach(right - left, layout.bay)
    items: list[Item] = []
    for side, edge in ((-1, left), (1, right)):
        shape = shapely.affinity.translate(layout.concrete, side * layout.bay)
        ends = sorted((edge, edge + side * reach))
        view = shapely.box(ends[0], bottom - 1.0, ends[1], top + 1.0)
        rings = outline_rings(shapely.intersection(shape, view))
        if rings:
            items.append(Area(tuple(layout.path(ring) for ring in rings), "neighbour"))
    return items


def concrete(layout: Layout) -> list[Item]:
    """Concrete filled and hatched, its outline and its mid-line."""
    rings = tuple(layout.path(ring) for ring in outline_rings(layout.concrete))
    midline = tuple(tuple(layout.at(x, z) for x, z in run) for run in midline_runs(layout.section.strips))
    return [
        Area(rings, "concrete"),
        Lines(_hatch(layout), "hatch"),
        Lines(rings, "outline"),
        Lines(midline, "midline"),
    ]


def _hatch(layout: Layout, spacing: float = 1.6) -> tuple[tuple[Point, ...], ...]:
    """Lines at 45 degrees clipped to the concrete, in metres: scaled points would no longer be exact."""
    width, height = layout.size
    starts = np.arange(-height, width, spacing * np.sqrt(2.0))
    ends = [((s - 1.0, -1.0), (s + height + 1.0, height + 1.0)) for s in starts]
    lines = [shapely.LineString([layout.metres(low), layout.metres(high)]) for low, high in ends]
    clipped = shapely.get_parts(shapely.intersection(layout.concrete, lines))
    return tuple(layout.path(shapely.get_coordinates(line)) for line in clipped if line.length > 0.0)


def axes(layout: Layout) -> list[Item]:
    """Neutral axis (bending free to move sideways) through the centroid, and the centroid itself."""
    p = layout.properties
    slope = float(np.tan(layout.axis_angle))
    x, y = layout.at(float(p.centroid_x), float(p.centroid_z))
    view = shapely.box(-4.0, min(-4.0, y), layout.size[0] + 4.0, layout.size[1] + 4.0)
    far = sum(layout.size) + 50.0
    long = shapely.LineString([(x - far, y - far * slope), (x + far, y + far * slope)])
    ends = shapely.get_coordinates(shapely.intersection(long, view))
    cross = (((x - 1.5, y), (x + 1.5, y)), ((x, y - 1.5), (x, y + 1.5)))
    return [Lines((tuple((float(a), float(b)) for a, b in ends),), "neutral axis"), Lines(cross, "axis")]


def glass(layout: Layout) -> tuple[list[Item], list[Label]]:
    """Glass across the slots to both neighbours, and a label for the clear opening of the right one."""
    if not layout.bay:
        return [], []
    gap = slot(layout.section.strips, layout.bay)
    if not float(gap.width) > LEAST_SLOT:
        return [], []
    ends = np.array([[float(gap.x_left), float(gap.z_left)], [float(gap.x_right), float(gap.z_right)]])
    paths = tuple(layout.path(ends - [side * layout.bay, 0.0]) for side in (0, 1))
    middle = ends.mean(axis=0)
    label = (layout.at(float(middle[0]), float(middle[1])), f"clear opening {float(gap.width):.3f} m")
    return [Lines(paths, "glass")], [label]


def labels(layout: Layout, figure: list[Item], more: list[Label]) -> list[Item]:
    """Thickness callouts: upper parts above the figure, lower parts below it."""
    strips = layout.section.strips
    labels = list(more)
    for stretch in labelled(strips):
        i, j = strips.ends[stretch.middle]
        place = layout.at(float(strips.x[i] + strips.x[j]) / 2, float(strips.z[i] + strips.z[j]) / 2)
        labels.append((place, stretch.label))
    _, low, _, high = bounds(figure)
    items: list[Item] = [Area((disc(place, 0.5),), "arrow") for place, _ in labels]
    for above in (True, False):
        row = [label for label in labels if (label[0][1] >= 0.5 * layout.size[1]) == above]
        if row:
            places, texts = zip(*row, strict=True)
            items += dim.callouts(places, texts, high + 6.0 if above else low - 8.0, above=above)
    return items


def sizes(layout: Layout, figure: list[Item]) -> list[Item]:
    """Overall width and height, height of the centroid, bay."""
    width, height = layout.size
    left, low, right, _ = bounds(figure)
    items = dim.across(0.0, width, low - 7.0, f"{width / layout.factor:.3f} m")
    if layout.bay:
        centre, half = 0.5 * width, 0.5 * layout.bay * layout.factor
        items += dim.across(centre - half, centre + half, low - 14.0, f"bay {layout.bay:.3f} m")
    centroid = layout.at(0.0, float(layout.properties.centroid_z))[1]
    parts = [f"{part / layout.factor:.3f} m" for part in (centroid, height - centroid)]
    items += dim.upright(left - 4.0, (0.0, centroid, height), parts, side=-1)
    items += dim.upright(right + 4.0, (0.0, height), [f"{height / layout.factor:.3f} m"], side=1)
    return items
