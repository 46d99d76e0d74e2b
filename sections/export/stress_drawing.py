"""The stress diagram beside a section: bending stress over the height, with its extremes."""

from typing import TYPE_CHECKING

import numpy as np

from longvault.sections.bending import bending_field
from longvault.sections.export.scene import Area, Item, Lines, Text, text_width
from longvault.sections.symbols import Array

if TYPE_CHECKING:
    from longvault.sections.export.section_drawing import Sheet

REACH = 24.0
"""Length [mm] of the largest stress."""


def stress_panel(sheet: "Sheet", moment: float) -> list[Item]:
    """Bending stress sigma = -M f of every strip face against its height, free to move sideways.

    The panel stands on the level of the section drawing, its left end at 0. For a section that is
    symmetrical it is the straight line of the beam theory; otherwise fibres at one height differ.
    """
    z, stress = _faces(sheet, moment)
    largest = float(np.abs(stress).max()) or 1.0
    low, high = float(stress.min()), float(stress.max())
    texts = (stress_text(low), stress_text(high))
    zero = text_width(texts[0], 2.5) + 3.0 + REACH * max(0.0, -low) / largest

    def at(s: float, height: float) -> tuple[float, float]:
        return zero + REACH * s / largest, sheet.at(0.0, height)[1]

    items: list[Item] = []
    for (z1, z2), (s1, s2) in zip(z, stress, strict=True):
        items += _bar(at, float(z1), float(z2), float(s1), float(s2))
    items.append(Lines((((zero, 0.0), (zero, sheet.size[1])),), "axis"))
    for text, side, index in ((texts[0], -1, int(stress.argmin())), (texts[1], 1, int(stress.argmax()))):
        x, y = at(float(stress.ravel()[index]), float(z.ravel()[index]))
        items.append(Text((x + 1.5 * side, y - 0.9), text, 2.5, "end" if side < 0 else "start"))
    title = f"bending stress, M = {moment / 1e3:,.0f} kNm".replace(",", " ")
    items.append(Text((zero - 0.5 * text_width(title, 2.2), sheet.size[1] + 6.0), title, 2.2))
    return items


def stress_text(stress: float) -> str:
    """Stress in MPa with its sign.

    Examples
    --------
    >>> stress_text(-4.71e6)
    '-4.7 MPa'
    """
    return f"{stress / 1e6:+.{2 if abs(stress) < 1e6 else 1}f} MPa"


def _faces(sheet: "Sheet", moment: float) -> tuple[Array, Array]:
    """Heights and stresses at both ends of the two faces of every strip: (2 e, 2) each."""
    strips, p = sheet.section.strips, sheet.properties
    f = bending_field(strips, x=p.centroid_x, z=p.centroid_z, ixx=p.ixx, izz=p.izz, ixz=p.ixz)
    dx, dz = strips.span_vectors()
    up = 0.5 * strips.thickness * np.abs(dx) / strips.length
    per_z = float(p.izz / (p.ixx * p.izz - p.ixz**2))
    per_x = float(p.ixz / (p.ixx * p.izz - p.ixz**2))
    side = np.where(dx >= 0.0, 1.0, -1.0)
    half = 0.5 * strips.thickness / strips.length * side * (per_z * dx + per_x * dz)
    z = np.stack([strips.at_first(strips.z), strips.at_second(strips.z)], axis=1)
    field = np.stack([f.first, f.second], axis=1)
    heights = np.concatenate([z + up[:, None], z - up[:, None]])
    fields = np.concatenate([field + half[:, None], field - half[:, None]])
    return heights, -moment * fields


def _bar(at: object, z1: float, z2: float, s1: float, s2: float) -> list[Item]:
    """Area between the zero line and one straight piece of the diagram, split where the sign changes."""
    pieces = [(z1, s1, z2, s2)]
    if s1 * s2 < 0.0:
        z0 = z1 + (z2 - z1) * s1 / (s1 - s2)
        pieces = [(z1, s1, z0, 0.0), (z0, 0.0, z2, s2)]
    items: list[Item] = []
    for za, sa, zb, sb in pieces:
        ring = (at(0.0, za), at(sa, za), at(sb, zb), at(0.0, zb))  # type: ignore[operator]
        items.append(Area((ring,), "compression" if min(sa, sb) < 0.0 else "tension"))
    return items
