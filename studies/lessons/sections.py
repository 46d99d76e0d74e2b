"""The lesson "sections": every family to one scale, same bay and concrete, with S, A, h, k under each."""

from pathlib import Path
from typing import Any

import matplotlib as mpl
import numpy as np

from longvault.sections.families.assembly import NamedFamily
from longvault.sections.families.base import Setting
from longvault.sections.families.registry import NAMED
from longvault.sections.properties import Properties, section_properties
from longvault.sections.strips import Strips
from longvault.studies.plots import RUST, STYLE, concrete_patch, new_figure, save, with_caution

TITLE = "Sections of the trade: the same bay, the same concrete"

PITCH, AREA, HEIGHT = 6.0, 0.75, 2.0
"""Bay [m], concrete of one module [m2], overall height where the curve leaves it free [m]."""
SETTING = Setting(pitch=PITCH, height=2.4, thickness=0.08)
COLUMNS = 6
CELL = (7.0, 5.1)
"""Width and height of one cell of the table, in metres of the drawing."""


def same_concrete(strips: Strips) -> Strips:
    """Scale every thickness so that the section holds `AREA`."""
    factor = AREA / section_properties(strips).area
    return Strips(strips.x, strips.z, strips.ends, factor[..., None] * strips.thickness, strips.parts)


def comparable(family: NamedFamily) -> Strips:
    """Take the family's starting design at `AREA` of concrete, as near to `HEIGHT` as its rise allows."""
    names = {p.variable.name: p.variable for p in family.parameters}
    rise = next((names[n] for n in ("rise", "depth") if n in names), None)
    if rise is None:
        return same_concrete(family.design())
    tries = np.linspace(rise.lower, rise.upper, 401)
    heights = section_properties(same_concrete(family.design(**{rise.name: tries}))).height
    best = float(np.interp(HEIGHT, heights, tries))  # the height grows with the rise; clamped at its range
    return same_concrete(family.design(**{rise.name: best}))


def sections() -> dict[str, tuple[NamedFamily, Strips]]:
    """Make the section of every family, by key."""
    families = {key: make(SETTING) for key, make in NAMED.items()}
    return {key: (family, comparable(family)) for key, family in families.items()}


def draw(path: str | Path) -> dict[str, Any]:
    """Draw the table to ``path`` (png or svg) and return its numbers and what to see in them."""
    table = sections()
    measured = {key: section_properties(strips) for key, (_, strips) in table.items()}
    save(_figure(table, measured), path)
    rows = list(measured.values())
    return {
        "title": TITLE,
        "table": {
            "section": [family.title for family, _ in table.values()],
            "A m²": [float(p.area) for p in rows],
            "h m": [float(p.height) for p in rows],
            "I m⁴": [float(p.ixx) for p in rows],
            "S free m³": [float(p.s_free) for p in rows],
            "S held top m³": [float(p.s_top) for p in rows],
            "S held bottom m³": [float(p.s_bottom) for p in rows],
            "k = S / (A h)": [float(p.shape_efficiency) for p in rows],
        },
        "notes": notes(measured, {key: family.title for key, (family, _) in table.items()}),
    }


def notes(measured: dict[str, Properties], titles: dict[str, str]) -> list[str]:
    """Say what the table holds fixed, what S is, and what to predict first."""
    best = max(measured, key=lambda key: float(measured[key].shape_efficiency))
    return [
        f"Every module covers a bay of {PITCH:g} m with {AREA:g} m² of concrete (thicknesses scaled).",
        f"Overall height {HEIGHT:g} m where the rise is free; semicircle and cycloid take theirs from "
        "the width.",
        "S is the smaller modulus of bending free to move sideways; k = S / (A h): 1/2 for two flanges "
        "without a web, 1/6 for a solid rectangle.",
        "Predict, then look: which shapes beat the solid rectangle's k, and why do they have flanges?",
        "One-sided shapes have a large S held straight and a small S free: they bend sideways as well.",
        f"Largest k here: {titles[best]}.",
    ]


def _figure(table: dict[str, tuple[NamedFamily, Strips]], measured: dict[str, Properties]) -> Any:
    rows = -(-len(table) // COLUMNS)
    with mpl.rc_context(STYLE):
        figure = new_figure(11.6, 11.6 * (rows * CELL[1] + 1.4) / (COLUMNS * CELL[0]) + 0.7)
        figure.suptitle(TITLE, x=0.015, ha="left", weight="bold", fontsize=13)
        axes = figure.add_subplot()
        axes.set(xlim=(0.0, COLUMNS * CELL[0]), ylim=(-rows * CELL[1] - 1.0, 0.4), aspect="equal")
        axes.axis("off")
        for place, (key, (family, strips)) in enumerate(table.items()):
            row, column = divmod(place, COLUMNS)
            at = (column + 0.5) * CELL[0], 1.75 - (row + 1) * CELL[1]
            _cell(axes, at, family.title, strips, measured[key])
        _scale_bar(axes, 0.5, -rows * CELL[1] - 0.75)
        return with_caution(figure)


def _cell(axes: Any, at: tuple[float, float], title: str, strips: Strips, p: Properties) -> None:
    """Draw one section on its ground line, its neutral axis, and its numbers under it."""
    x, ground = at
    move = np.array([x - 0.5 * float(p.left + p.right), ground - float(p.bottom)])
    look = {"facecolor": "#bdbdbd", "edgecolor": "black", "linewidth": 0.6}
    axes.add_patch(concrete_patch(strips, move, **look))
    level = float(p.centroid_z) + move[1]
    reach = np.array([-0.5, 0.5]) * (CELL[0] - 0.6)
    axes.plot(x + reach, [level, level], color=RUST, linewidth=0.7, dashes=(8, 3, 2, 3))
    axes.text(x, ground - 0.22, title, ha="center", va="top", fontsize=7.6, weight="bold")
    numbers = (
        f"S {float(p.s_free):.3f} m³   k {float(p.shape_efficiency):.3f}\n"
        f"A {float(p.area):.2f} m²   h {float(p.height):.2f} m"
    )
    axes.text(x, ground - 0.68, numbers, ha="center", va="top", fontsize=7.6, linespacing=1.25)


def _scale_bar(axes: Any, x: float, z: float) -> None:
    for k in range(5):
        corners = np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 0.12], [0.0, 0.12]]) + np.array([x + k, z])
        axes.fill(*corners.T, facecolor=("black", "white")[k % 2], edgecolor="black", linewidth=0.5)
    text = f"5 m; one scale for all; bay {PITCH:g} m; dash-dot line: neutral axis (held straight)"
    axes.text(x + 5.3, z - 0.05, text, ha="left", va="bottom", fontsize=7.6)
