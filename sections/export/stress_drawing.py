"""The stress diagram beside a section: bending stress over the distance from the neutral axis."""

import numpy as np

from longvault.sections.bending import bending_field, extreme_fibres
from longvault.sections.export.dimensions import level_text
from longvault.sections.export.layout import Layout
from longvault.sections.export.scene import Area, Item, Lines, Point, Text, bounds

MINUS = "\N{MINUS SIGN}"
REACH = 24.0
"""Length [mm] of the largest stress."""


def stress_panel(layout: Layout, moment: float) -> list[Item]:
    """Bending stress sigma = -M f, linear over the distance from the neutral axis (free to move sideways).

    Heights are to the scale of the section and square to the neutral axis: for a section that is not
    symmetrical the panel leans with that axis. Its origin is the centroid's level at x = 0.
    """
    p, strips = layout.properties, layout.section.strips
    field = bending_field(strips, x=p.centroid_x, z=p.centroid_z, ixx=p.ixx, izz=p.izz, ixz=p.ixz)
    upper, lower = (float(value) for value in extreme_fibres(field))
    determinant = float(p.ixx * p.izz - p.ixz**2)
    gradient = float(np.hypot(p.izz, p.ixz)) / determinant
    angle = layout.axis_angle
    level = layout.at(0.0, float(p.centroid_z))[1]
    largest = abs(moment) * max(upper, lower) or 1.0

    def at(along: float, square: float) -> Point:
        c, s = float(np.cos(angle)), float(np.sin(angle))
        return along * c - square * s, level + along * s + square * c

    items: list[Item] = []
    for fibre, side in ((upper, 1.0), (-lower, -1.0)):
        stress, distance = -moment * fibre, layout.factor * fibre / gradient
        reach = REACH * stress / largest
        layer = "compression" if stress < 0.0 else "tension"
        items.append(Area(((at(0.0, 0.0), at(0.0, distance), at(reach, distance)),), layer))
        x, y = at(reach, distance)
        items.append(level_text((x, y), stress_text(stress), -1 if reach < 0.0 else 1, lift=side))
    ends = at(0.0, -layout.factor * lower / gradient), at(0.0, layout.factor * upper / gradient)
    items.append(Lines((ends,), "axis"))
    items.append(Lines(((at(-0.6 * REACH, 0.0), at(0.6 * REACH, 0.0)),), "neutral axis"))
    return [*items, *_titles(items, moment)]


def _titles(items: list[Item], moment: float) -> list[Item]:
    left, _, right, high = bounds(items)
    lines = (f"at M = {moment / 1e3:,.0f} kNm".replace(",", " ").replace("-", MINUS), "bending stress")
    centre = 0.5 * (left + right)
    return [Text((centre, high + 3.5 + 3.6 * i), line, 2.5, "middle") for i, line in enumerate(lines)]


def stress_text(stress: float) -> str:
    """Stress in MPa with its sign.

    Examples
    --------
    >>> stress_text(-4.71e6)
    '−4.7 MPa'
    """
    return f"{stress / 1e6:+.{2 if abs(stress) < 1e6 else 1}f} MPa".replace("-", MINUS)
