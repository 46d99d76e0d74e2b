"""A taper drawn: its depth along the span; root, governing station and tip to one scale."""

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from longvault.sections.export import dimensions as dim
from longvault.sections.export.layout import Layout, axes, concrete, make_layout
from longvault.sections.export.scene import Area, Item, Lines, Scene, Text, bounds, moved
from longvault.sections.export.sheet import compose, round_up
from longvault.sections.member import Member
from longvault.sections.properties import section_properties
from longvault.sections.section_file import Section
from longvault.sections.strips import Strips
from longvault.sections.symbols import Array
from longvault.studies.checked import Checked, LimitRow
from longvault.studies.stations import station_places

LEGEND = (
    ("midline", "mid-line"),
    ("neutral axis", "neutral axis, free to move sideways"),
    ("view", "station"),
    ("flow", "governing station"),
)
ELEVATION = 240.0
"""Width of the elevation [mm]."""
ROOM = (76.0, 55.0)
"""Width and height of one section [mm]."""


@dataclass(frozen=True, slots=True)
class GoverningStation:
    """Station of the limit that governs among those that loads enter.

    Parameters
    ----------
    index : int
        Which of the sections, from root to tip.
    place : float
        Where along the span [m].
    row : LimitRow
        The limit.
    """

    index: int
    place: float
    row: LimitRow

    @property
    def words(self) -> str:
        """Name it in words."""
        return f"y = {self.place:.2f} m: {self.row.limit.title}, {self.row.case}"


def governing_station(checked: Checked) -> GoverningStation:
    """Find the station that governs: of all limits with a place along the span, the one of largest margin."""
    member = _member(checked)
    placed = [row for row in checked.rows if row.place is not None and np.isfinite(row.margin)]
    row = max(placed, key=lambda one: one.margin)
    y = float(row.place)  # type: ignore[arg-type]
    where = np.array(station_places(checked.basis, member.stations))
    off = np.maximum(np.maximum(where[:, 0] - y, y - where[:, 1]), 0.0)
    return GoverningStation(int(off.argmin()), y, row)


def draw_taper(checked: Checked) -> Scene:
    """Draw a taper: elevation to scale, and below it the sections of root, governing station and tip."""
    member, governs = _member(checked), governing_station(checked)
    upper = _elevation(checked, member, governs)
    lower = _sections(checked, member, governs)
    left, low, right, _ = bounds(upper)
    first, _, last, high = bounds(lower)
    figure = [*upper, *moved(lower, 0.5 * (left + right - first - last), low - 9.0 - high)]
    used = {item.layer for item in figure}
    legend = [line for line in LEGEND if line[0] in used]
    title = f"{checked.section.name}: along the span"
    scale = _layouts(checked, member, governs)[0][1].scale
    return compose(figure, title=title, scale=scale, legend=legend, what="Sections of a taper")


def _member(checked: Checked) -> Member:
    if checked.member is None:
        raise ValueError("checked: has one section from end to end; a taper has several")
    return checked.member


def _layouts(checked: Checked, member: Member, governs: GoverningStation) -> list[tuple[str, Layout]]:
    """Sections to draw with their headings, all to the scale of the root."""
    last = member.stations - 1
    chosen = {0: "root", governs.index: "governing station", last: "tip"}
    chosen[0] = "root, governs" if governs.index == 0 else "root"
    chosen[last] = "tip, governs" if governs.index == last else "tip"
    where = station_places(checked.basis, member.stations)
    found: list[tuple[str, Layout]] = []
    for k in sorted(chosen):
        s = member.sections
        strips = Strips(s.x[k], s.z[k], s.ends, s.thickness[k], s.parts)
        layout = make_layout(Section(chosen[k], strips), None, ROOM)
        scale = found[0][1].scale if found else layout.scale
        first, end = where[k]
        at = f"{first:.2f}" if first == end else f"{first:.2f} to {end:.2f}"
        found.append((f"{chosen[k]}, y = {at} m", replace(layout, scale=scale)))
    return found


def _sections(checked: Checked, member: Member, governs: GoverningStation) -> list[Item]:
    """Sections side by side, their lowest fibres in one line, with width, height and area."""
    items: list[Item] = []
    left = 0.0
    for heading, layout in _layouts(checked, member, governs):
        figure = [*concrete(layout), *axes(layout)]
        width, height = layout.size
        _, low, right, high = bounds(figure)
        figure += dim.across(0.0, width, low - 6.0, f"{width / layout.factor:.3f} m")
        p = layout.properties
        figure += dim.upright(right + 3.0, (0.0, height), [f"{float(p.height):.3f} m"], side=1)
        figure.append(Text((0.5 * width, high + 7.0), heading, 2.5, "middle", bold=True))
        figure.append(Text((0.5 * width, high + 3.4), f"A = {float(p.area):.4f} m²", 2.2, "middle"))
        start, _, end, _ = bounds(figure)
        items += moved(figure, left - start, 0.0)
        left += end - start + 10.0
    return items


def _elevation(checked: Checked, member: Member, governs: GoverningStation) -> list[Item]:
    """Side view: lowest and highest fibre along the span, supports, stations, depths of root and tip."""
    length = checked.basis.line.length
    scale = round_up(1e3 * length / ELEVATION)
    factor = 1e3 / scale
    y, low, high = _profile(checked, member)
    ring = [*zip(y, low, strict=True), *zip(y[::-1], high[::-1], strict=True)]
    shape = tuple((float(a) * factor, float(z) * factor) for a, z in ring)
    base, top = factor * float(low.min()), factor * float(high.max())
    items: list[Item] = [Area((shape,), "plain")]
    for place in sorted({round(float(v), 9) for v in y}):
        ends = tuple(factor * float(np.interp(place, y, line)) for line in (low, high))
        items.append(Lines((((place * factor, ends[0]), (place * factor, ends[1])),), "view"))
    at = governs.place * factor
    items.append(Lines((((at, base - 1.5), (at, top + 3.0)),), "flow"))
    items.append(Text((at + 1.0, top + 3.4), f"governs at {governs.words}", 2.5))
    volume = checked.measures["equivalent_thickness"]
    words = (
        f"Elevation, scale 1:{scale:g}. Concrete {volume:.4f} m³ per m² of plan, the mean along the span; "
        f"{checked.note}."
    )
    items.append(Text((0.0, top + 8.5), words, 2.2))
    return items + _supports(checked, factor, (y, low, high), base - 8.0)


def _supports(
    checked: Checked, factor: float, profile: tuple[Array, Array, Array], below: float
) -> list[Item]:
    """Supports, the spans between them, and the depths at both ends of an elevation."""
    line, (y, low, high) = checked.basis.line, profile
    items: list[Item] = []
    for support in line.supports:
        x, z = support * factor, factor * float(np.interp(support, y, low))
        items.append(Area((((x, z), (x - 1.6, z - 3.0), (x + 1.6, z - 3.0)),), "arrow"))
    for one, two in pairwise(sorted({0.0, line.length, *line.supports})):
        items += dim.across(one * factor, two * factor, below, f"{two - one:g} m")
    for k, x, side in ((0, -4.0, -1), (-1, line.length * factor + 4.0, 1)):
        depth = [factor * float(low[k]), factor * float(high[k])]
        items += dim.upright(x, depth, [f"{high[k] - low[k]:.3f} m"], side=side)
    return items


def _profile(checked: Checked, member: Member) -> tuple[Array, Array, Array]:
    """Places along the span, lowest and highest fibre there [m]; straight between stations."""
    p = section_properties(member.sections)
    rows = []
    for k, places in enumerate(station_places(checked.basis, member.stations)):
        for y in dict.fromkeys(places):
            rows.append((y, float(p.bottom[k]), float(p.top[k])))
    y, low, high = np.array(sorted(rows)).T
    return y, low, high
