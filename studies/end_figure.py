"""The ends of a roof drawn: what the shell puts on its traverse, tie, columns, and the last bay's member."""

from math import hypot

import numpy as np
import shapely

from longvault.constraints.end_structure import EndStructure, LastBay
from longvault.sections.export import dimensions as dim
from longvault.sections.export.layout import Layout, concrete, make_layout, neighbours
from longvault.sections.export.scene import Area, Item, Lines, Point, Scene, Text, bounds, moved
from longvault.sections.export.sheet import compose
from longvault.sections.polygon import outline_rings
from longvault.sections.symbols import Array, IntArray
from longvault.studies.checked import Checked
from longvault.studies.sheet_table import cm2, digits, kilo

LEGEND = (
    ("view", "traverse, a wall"),
    ("flow", "what the shell puts on it"),
    ("top bars", "tie"),
    ("stirrup", "column"),
    ("mesh", "member of the last bay"),
)
ROOM = (200.0, 62.0)
"""Width and height [mm] of the section."""

ARROWS, LONGEST, SHORTEST = 24, 13.0, 1.2
"""About how many arrows stand along the profile; the largest, and the least drawn [mm]."""

ASIDE = 2.6
"""How far beside the profile arrows stand [mm]."""

LEG = 11.0
"""Length of the column that is drawn [mm]."""

PLAN = 150.0
"""Length of the span in the plan of the last bay [mm]."""


def draw_end_structure(checked: Checked, ends: EndStructure) -> Scene:
    """Draw one end of a module with its forces, and below it the member of the last bay on plan.

    Arrows are what the shell puts on the traverse, in groups of strips, to one scale; ultimate, heaviest
    combination.

    Parameters
    ----------
    checked : Checked
        The section.
    ends : EndStructure
        From `longvault.studies.sheet_ends.ends_of`.
    """
    layout = make_layout(checked.section, checked.basis.pitch, ROOM)
    shell = [item for item in concrete(layout) if item.layer in ("concrete", "outline")]
    figure = [*neighbours(layout), *_wall(layout), *shell]
    figure += [*_columns(layout, ends), *_tie(layout, ends), *_arrows(layout, ends)]
    if ends.last is not None:
        plan = _plan(ends.last, checked.basis.span)
        left, low, right, _ = bounds(figure)
        first, _, last, high = bounds(plan)
        figure += moved(plan, 0.5 * (left + right - first - last), low - 8.0 - high)
    used = {item.layer for item in figure}
    legend = [line for line in LEGEND if line[0] in used]
    title = f"{checked.section.name}: end of the roof"
    return compose(figure, title=title, scale=layout.scale, legend=legend, what="Traverse with its forces")


def _wall(layout: Layout) -> list[Item]:
    """Draw the traverse: all between the profile and its lowest level."""
    strips = layout.section.strips
    level = float(strips.z.min())
    first, second = strips.nodes[strips.ends[:, 0]], strips.nodes[strips.ends[:, 1]]
    pieces = [
        shapely.Polygon([one, two, (two[0], level), (one[0], level)])
        for one, two in zip(first, second, strict=True)
        if one[0] != two[0] and max(one[1], two[1]) > level
    ]
    if not pieces:
        return []
    rings = [layout.path(ring) for ring in outline_rings(shapely.union_all(pieces))]
    return [Area(tuple(rings), "plain"), Lines(tuple(rings), "view")]


def _arrows(layout: Layout, ends: EndStructure) -> list[Item]:
    """Arrows from the profile, each for a run of strips, and the sum of them in words."""
    strips, t = layout.section.strips, ends.traverse
    middle = 0.5 * (strips.nodes[strips.ends[:, 0]] + strips.nodes[strips.ends[:, 1]])
    groups = _groups(strips.length, strips.ends)
    force = np.array([t.force[rows].sum(axis=0) for rows in groups])
    places = np.array([np.average(middle[rows], axis=0, weights=strips.length[rows]) for rows in groups])
    size = np.hypot(force[:, 0], force[:, 1])
    items: list[Item] = []
    for place, (right, up), one in zip(places, force, size, strict=True):
        if one * LONGEST < SHORTEST * size.max():
            continue
        share = LONGEST / float(size.max())
        on, along = layout.at(float(place[0]), float(place[1])), (float(right), float(up))
        tail = _beside(on, along, (0.5 * layout.size[0], 0.5 * layout.size[1]))
        tip = (tail[0] + share * along[0], tail[1] + share * along[1])
        head = min(dim.ARROW, 0.6 * hypot(tip[0] - tail[0], tip[1] - tail[1]))
        items += [Lines(((tail, tip),), "flow"), dim.arrow(tip, tail, head)]
    _, _, _, high = bounds(items)
    words = (
        f"end shear: {kilo(t.reaction)} down, {kilo(t.sideways)} to the right; "
        f"w L / 2 = {kilo(t.expected)}; longest arrow {kilo(float(size.max()))}"
    )
    place = (0.5 * layout.size[0], max(high, layout.size[1]) + 6.0)
    return [*items, Text(place, words, dim.SIZE, "middle")]


def _beside(on: Point, along: Point, centre: Point) -> Point:
    """Step square to a force, away from the middle of the figure, so that concrete and arrow part."""
    size = hypot(*along)
    square = (-along[1] / size, along[0] / size)
    out = square[0] * (on[0] - centre[0]) + square[1] * (on[1] - centre[1])
    step = ASIDE if out >= 0 else -ASIDE
    return on[0] + step * square[0], on[1] + step * square[1]


def _groups(length: Array, ends: IntArray) -> list[list[int]]:
    """Part the profile into runs of strips that follow each other, each about the same share."""
    share, groups, run, filled = float(length.sum()) / ARROWS, [], [0], float(length[0])
    for e in range(1, len(ends)):
        if ends[e, 0] == ends[e - 1, 1] and filled + 0.5 * float(length[e]) <= share:
            run.append(e)
            filled += float(length[e])
        else:
            groups.append(run)
            run, filled = [e], float(length[e])
    return [*groups, run]


def _columns(layout: Layout, ends: EndStructure) -> list[Item]:
    """Columns under the traverse with their push."""
    level = float(layout.section.strips.z.min())
    items: list[Item] = []
    for x, push in ends.traverse.columns:
        foot, half = layout.at(x, level), 1.2
        ring = (
            (foot[0] - half, foot[1]),
            (foot[0] + half, foot[1]),
            (foot[0] + half, foot[1] - LEG),
            (foot[0] - half, foot[1] - LEG),
        )
        items += [Area((ring,), "plain"), Lines((ring[1:3], (ring[3], ring[0])), "stirrup")]
        tail = (foot[0], foot[1] - LEG - 9.0)
        tip = (foot[0], foot[1] - LEG - 0.6)
        one, two = (tip, tail) if push >= 0 else (tail, tip)
        items += [Lines(((tail, tip),), "dimension"), dim.arrow(one, two)]
        words = f"{kilo(abs(push))}{'' if push >= 0 else ' (pull)'}"
        items.append(Text((foot[0], tail[1] - 3.4), words, dim.SIZE, "middle"))
    return items


def _tie(layout: Layout, ends: EndStructure) -> list[Item]:
    """Draw the tie between the columns, or along the top of a wall over its one column."""
    t, strips = ends.traverse, layout.section.strips
    if t.tie_at == "columns":
        places, level, above = [x for x, _ in t.columns], float(strips.z.min()), False
    else:
        places, level, above = [float(strips.x.min()), float(strips.x.max())], float(strips.z.max()), True
    one, two = (layout.at(x, level) for x in places)
    way = "tie" if t.tie >= 0 else "strut"
    words = f"{way} {kilo(abs(t.tie))}, {cm2(t.steel)}"
    middle: Point = (0.5 * (one[0] + two[0]), one[1] + (1.2 if above else -3.6))
    return [Lines(((one, two),), "top bars"), Text(middle, words, dim.SIZE, "middle")]


def _plan(last: LastBay, span: float) -> list[Item]:
    """Draw the member of the last bay seen from above, with the force that the neighbour would put on it."""
    factor = PLAN / span
    depth = last.depth * factor
    ring = ((0.0, 0.0), (PLAN, 0.0), (PLAN, depth), (0.0, depth), (0.0, 0.0))
    items: list[Item] = [Area((ring[:-1],), "plain"), Lines((ring,), "mesh")]
    outward = last.plate > 0
    for k in range(1, 16):
        x = PLAN * k / 16.0
        tall = 8.0 * np.sin(np.pi * k / 16.0)
        near, far = (x, depth + 0.8), (x, depth + 0.8 + tall)
        tip, tail = (far, near) if outward else (near, far)
        items += [Lines(((near, far),), "flow"), dim.arrow(tip, tail, min(dim.ARROW, 0.6 * tall))]
    way = "pulls outward" if outward else "pushes inward"
    words = (
        f"Last bay on plan: the {last.kind} that a neighbour would hold {way}, "
        f"{kilo(abs(last.plate), 'kN/m')} at mid-span by the folded plate "
        f"({digits(abs(last.cut) * 1e-3)} by the slice)"
    )
    needs = max(abs(last.moment_plate), abs(last.moment_cut))
    items += [
        Text((0.5 * PLAN, depth + 12.0), words, dim.SIZE, "middle"),
        Text(
            (0.5 * PLAN, 0.5 * depth - 0.35 * dim.SIZE),
            f"M = {kilo(needs, 'kNm')}, {cm2(last.steel)} on each side",
            dim.SIZE,
            "middle",
        ),
        *dim.across(0.0, PLAN, -5.0, f"{span:g} m"),
        *dim.upright(PLAN + 4.0, (0.0, depth), [f"{last.depth:.2f} m"], side=1),
    ]
    return items
