"""The section drawing: to scale, with dimensions, neighbours, neutral axis, stress diagram if asked for."""

from dataclasses import dataclass

import numpy as np
import shapely
import shapely.affinity

from longvault.sections.export import dimensions as dim
from longvault.sections.export.midline import midline_runs
from longvault.sections.export.part_labels import labelled
from longvault.sections.export.scene import Area, Item, Lines, Point, Scene, bounds, moved
from longvault.sections.export.sheet import compose, round_up
from longvault.sections.export.silhouette import Silhouette, silhouette
from longvault.sections.opening import slot
from longvault.sections.properties import Properties, section_properties
from longvault.sections.section_file import Section
from longvault.sections.symbols import Array

ROOM = (260.0, 120.0)
"""Width and height [mm] the section, with its neighbours, may take on the sheet."""
LEAST_SLOT = 0.02
"""A gap between modules of less than this [m] is a joint, not glass."""

LEGEND = (
    ("midline", "mid-line"),
    ("neutral axis", "neutral axis, free to move sideways"),
    ("glass", "glass"),
    ("neighbour", "next module"),
)

Label = tuple[Point, str]


@dataclass(frozen=True, slots=True, eq=False)
class Sheet:
    """What the drawing functions share: the section, its properties, the scale.

    Parameters
    ----------
    section : Section
    bay : float or None
        Distance at which modules repeat [m]; None for a section that stands alone.
    scale : float
        n of the scale 1:n.
    """

    section: Section
    properties: Properties
    concrete: Silhouette
    bay: float | None
    scale: float

    @property
    def factor(self) -> float:
        """Paper millimetres per metre."""
        return 1000.0 / self.scale

    def at(self, x: float, z: float) -> Point:
        """Place on paper of a point of the section; the lower left corner of the section is (0, 0)."""
        return self.factor * (x - float(self.properties.left)), self.factor * (
            z - float(self.properties.bottom)
        )

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
        """Width and height of the section on paper [mm]."""
        return self.factor * float(self.properties.width), self.factor * float(self.properties.height)


def draw_section(section: Section, *, bay: float | None = None, moment: float | None = None) -> Scene:
    """Draw one section to scale.

    Parameters
    ----------
    section : Section
        Its strips must be finite, of positive length and thickness.
    bay : float, optional
        Distance at which modules repeat [m]: neighbours, glass lines and clear openings are then drawn.
    moment : float, optional
        Bending moment [N m], sagging +: the stress diagram is then drawn beside the section.

    Returns
    -------
    Scene
        True to scale in millimetres of paper, with the caution at its foot.

    Raises
    ------
    ValueError
        If the section has no finite properties or ``bay`` is not above 0.

    Examples
    --------
    >>> from longvault.sections import Strips
    >>> slab = Section("slab", Strips.chain([0.0, 5.0], [0.0, 0.0], 0.1, "slab"))
    >>> [item.text for item in draw_section(slab).items if isinstance(item, Text)][:2]
    ['slab', 'Section, scale 1:20']
    """
    sheet = _sheet(section, bay)
    figure = [*_neighbours(sheet), *_concrete(sheet), *_axes(sheet)]
    glass, glass_labels = _glass(sheet)
    figure += glass
    figure += _labels(sheet, figure, glass_labels)
    figure += _sizes(sheet, figure)
    if moment is not None:
        from longvault.sections.export.stress_drawing import stress_panel

        panel = stress_panel(sheet, moment)
        figure += moved(panel, bounds(figure)[2] - bounds(panel)[0] + 6.0, 0.0)
    used = {item.layer for item in figure}
    legend = [line for line in LEGEND if line[0] in used]
    return compose(figure, title=section.name, scale=sheet.scale, legend=legend)


def _sheet(section: Section, bay: float | None) -> Sheet:
    if section.strips.batch:
        raise ValueError(
            f"section: got a batch of shape {section.strips.batch}; one section can be drawn at a time"
        )
    if bay is not None and not bay > 0.0:
        raise ValueError(f"bay: got {bay} m; must be above 0")
    properties = section_properties(section.strips)
    if not np.isfinite(float(properties.area)):
        raise ValueError("section: every value must be finite, every thickness and length above 0")
    width = float(properties.width) + 2.0 * neighbour_reach(properties, bay)
    wanted = max(1e3 * width / ROOM[0], 1e3 * float(properties.height) / ROOM[1])
    return Sheet(section, properties, silhouette(section.strips), bay, round_up(wanted))


def neighbour_reach(properties: Properties, bay: float | None) -> float:
    """How far beyond the section its neighbours are drawn [m]."""
    width = float(properties.width)
    return max(0.0, bay - width) + 0.15 * width if bay else 0.0


def _neighbours(sheet: Sheet) -> list[Item]:
    """Next modules in outline, cut off a little beyond the section."""
    if not sheet.bay:
        return []
    p, bay = sheet.properties, sheet.bay
    reach = neighbour_reach(p, bay)
    low, high = float(p.bottom) - 1.0, float(p.top) + 1.0
    items: list[Item] = []
    for side, edge in ((-1, float(p.left)), (1, float(p.right))):
        shape = shapely.affinity.translate(sheet.concrete.shape, side * bay)
        view = shapely.box(min(edge, edge + side * reach), low, max(edge, edge + side * reach), high)
        rings = Silhouette(shapely.intersection(shape, view)).rings
        if rings:
            items.append(Area(tuple(sheet.path(ring) for ring in rings), "neighbour"))
    return items


def _concrete(sheet: Sheet) -> list[Item]:
    rings = tuple(sheet.path(ring) for ring in sheet.concrete.rings)
    midline = tuple(tuple(sheet.at(x, z) for x, z in run) for run in midline_runs(sheet.section.strips))
    return [
        Area(rings, "concrete"),
        Lines(_hatch(sheet), "hatch"),
        Lines(rings, "outline"),
        Lines(midline, "midline"),
    ]


def _hatch(sheet: Sheet, spacing: float = 1.6) -> tuple[tuple[Point, ...], ...]:
    """Lines at 45 degrees clipped to the concrete."""
    width, height = sheet.size
    paper = shapely.transform(sheet.concrete.shape, lambda c: np.array([sheet.at(x, z) for x, z in c]))
    starts = np.arange(-height, width, spacing * np.sqrt(2.0))
    lines = [shapely.LineString([(s - 1.0, -1.0), (s + height + 1.0, height + 1.0)]) for s in starts]
    clipped = shapely.get_parts(shapely.intersection(paper, lines))
    paths = [shapely.get_coordinates(line) for line in clipped if line.length > 0.0]
    return tuple(tuple((float(x), float(y)) for x, y in path) for path in paths)


def _axes(sheet: Sheet) -> list[Item]:
    """Neutral axis (bending free to move sideways) through the centroid, and the centroid itself."""
    p = sheet.properties
    slope = float(np.tan(sheet.axis_angle))
    x, y = sheet.at(float(p.centroid_x), float(p.centroid_z))
    view = shapely.box(-4.0, min(-4.0, y), sheet.size[0] + 4.0, sheet.size[1] + 4.0)
    far = sum(sheet.size) + 50.0
    long = shapely.LineString([(x - far, y - far * slope), (x + far, y + far * slope)])
    ends = shapely.get_coordinates(shapely.intersection(long, view))
    cross = (((x - 1.5, y), (x + 1.5, y)), ((x, y - 1.5), (x, y + 1.5)))
    return [Lines((tuple((float(a), float(b)) for a, b in ends),), "neutral axis"), Lines(cross, "axis")]


def _glass(sheet: Sheet) -> tuple[list[Item], list[Label]]:
    """Glass across the slots to both neighbours, and a label for the clear opening of the right one."""
    if not sheet.bay:
        return [], []
    gap = slot(sheet.section.strips, sheet.bay)
    if not float(gap.width) > LEAST_SLOT:
        return [], []
    ends = np.array([[float(gap.x_left), float(gap.z_left)], [float(gap.x_right), float(gap.z_right)]])
    paths = tuple(sheet.path(ends - [side * sheet.bay, 0.0]) for side in (0, 1))
    middle = ends.mean(axis=0)
    label = (sheet.at(float(middle[0]), float(middle[1])), f"clear opening {float(gap.width):.3f} m")
    return [Lines(paths, "glass")], [label]


def _labels(sheet: Sheet, figure: list[Item], more: list[Label]) -> list[Item]:
    """Thickness callouts: upper parts above the figure, lower parts below it."""
    strips = sheet.section.strips
    labels = list(more)
    for stretch in labelled(strips):
        i, j = strips.ends[stretch.middle]
        place = sheet.at(float(strips.x[i] + strips.x[j]) / 2, float(strips.z[i] + strips.z[j]) / 2)
        labels.append((place, stretch.label))
    _, low, _, high = bounds(figure)
    items: list[Item] = [_dot(place) for place, _ in labels]
    for above in (True, False):
        row = [label for label in labels if (label[0][1] >= 0.5 * sheet.size[1]) == above]
        if row:
            places, texts = zip(*row, strict=True)
            items += dim.callouts(places, texts, high + 6.0 if above else low - 8.0, above=above)
    return items


def _dot(place: Point, radius: float = 0.5) -> Area:
    angle = np.linspace(0.0, 2 * np.pi, 13)[:-1]
    ring = tuple((place[0] + radius * float(np.cos(a)), place[1] + radius * float(np.sin(a))) for a in angle)
    return Area((ring,), "arrow")


def _sizes(sheet: Sheet, figure: list[Item]) -> list[Item]:
    """Overall width and height, height of the centroid, bay."""
    p = sheet.properties
    width, height = sheet.size
    left, low, right, _ = bounds(figure)
    items = dim.across(0.0, width, low - 7.0, f"{float(p.width):.3f} m")
    if sheet.bay:
        centre, half = 0.5 * width, 0.5 * sheet.bay * sheet.factor
        items += dim.across(centre - half, centre + half, low - 14.0, f"bay {sheet.bay:.3f} m")
    centroid = sheet.at(0.0, float(p.centroid_z))[1]
    parts = (float(p.centroid_z - p.bottom), float(p.top - p.centroid_z))
    items += dim.upright(left - 4.0, (0.0, centroid, height), [f"{value:.3f} m" for value in parts], side=-1)
    items += dim.upright(right + 4.0, (0.0, height), [f"{float(p.height):.3f} m"], side=1)
    return items
