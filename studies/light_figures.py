"""Figures of light, sun and sound: section with sight lines, curve across the bay, sun chart, foci.

Hues, line styles and hatches stay apart in grey; every figure ends with the caution.
"""

from typing import Any

import matplotlib as mpl
import numpy as np
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.patches import Polygon

from longvault.constraints.daylight import bay_points, sky_component
from longvault.constraints.daylight_factor import daylight
from longvault.constraints.direct_sun import MONTHS, direct_sun, sun_angle
from longvault.constraints.glazing import GlassSky, glass_sky
from longvault.constraints.sound import sound_foci
from longvault.constraints.sun import HOUR, declination, sun_position
from longvault.constraints.visibility import sunlit_share, visible_wedges
from longvault.sections import CAUTION, Section
from longvault.sections.export.scene import wrapped
from longvault.sections.symbols import Array
from longvault.studies.light_document import LightQuestion, room_of
from longvault.studies.plots import BLUE, RUST, STYLE, concrete_patch

CONCRETE, NEIGHBOUR, GLASS = "#3f3f3f", "#b8b8b8", "#3a9bbf"
WIDTH, LEFT, RIGHT = 7.4, 0.75, 0.2
"""Width of the figure, its left and right margin [in]."""
BELOW = 0.6
"""Depth drawn below the floor [m]."""
LEAST_WIDTH = 1.0
"""Width that is drawn of a section that stands upright [m]."""
SEASONS = ((172.0, "21 Jun", "-"), (79.5, "20 Mar, 22 Sep", "--"), (355.0, "21 Dec", ":"))
"""Day of the year, its name, its line style."""


def light_figure(section: Section, question: LightQuestion) -> Figure:
    """Draw a section with sight lines over the curve of light across the bay; with a latitude, the sun below.

    Parameters
    ----------
    section : Section
    question : LightQuestion
        As for `longvault.studies.light_document.light_document`. A speaker adds the sound foci.
    """
    low, high = _view(section, question)
    width = WIDTH - LEFT - RIGHT
    section_height = width * (_top(section, question) - question.floor + BELOW) / (high - low)
    with_sun = question.latitude is not None and question.pitch is not None
    heights = [section_height, 2.0, *([2.0] if with_sun else [])]
    gaps = [1.0 if question.speaker is not None else 0.8, 1.15, *([1.05] if with_sun else [])]
    with mpl.rc_context(STYLE):
        total = 0.35 + sum(heights) + sum(gaps) + 0.15
        figure = Figure(figsize=(WIDTH, total))
        FigureCanvasAgg(figure)
        bottoms = total - 0.35 - np.cumsum(heights) - np.concatenate([[0.0], np.cumsum(gaps)[:-1]])

        def axes_at(row: int, left: float, across: float) -> Axes:
            box = (left / WIDTH, bottoms[row] / total, across / WIDTH, heights[row] / total)
            return figure.add_axes(box)

        upper, lower = axes_at(0, LEFT, width), axes_at(1, LEFT, width)
        places = _light_curve(lower, section, question)
        _section(upper, section, question, places)
        for axes in (upper, lower):
            axes.set_xlim(low, high)
        if with_sun:
            half = 0.5 * (width - 0.8)
            _sun_path(axes_at(2, LEFT, half), section, question)
            _sun_hours(axes_at(2, LEFT + half + 0.8, half), section, question)
        figure.text(0.01, 0.06 / total, _caution(), fontsize=6.5, color="#444444", va="bottom")
        return figure


def _caution() -> str:
    return "\n".join(wrapped(CAUTION, 2.3, 25.4 * WIDTH - 8.0))


def _view(section: Section, question: LightQuestion) -> tuple[float, float]:
    """Left and right end of the drawing [m]."""
    low, high = float(section.strips.x.min()), float(section.strips.x.max())
    middle, width = 0.5 * (low + high), question.pitch or max(high - low, LEAST_WIDTH)
    return middle - 0.85 * width, middle + 0.85 * width


def _top(section: Section, question: LightQuestion) -> float:
    """Upper end of the drawing [m]: a little above the roof."""
    top = float(section.strips.z.max())
    return top + 0.14 * (top - question.floor) + 0.3


def _light_curve(axes: Axes, section: Section, question: LightQuestion) -> list[tuple[str, float, float]]:
    """Draw the light across the bay; return the darkest and the brightest point: name, x, value [%]."""
    strips, pitch = section.strips, question.pitch
    low, high = float(strips.x.min()), float(strips.x.max())
    width = pitch or max(high - low, LEAST_WIDTH)
    x = bay_points(0.5 * (low + high - width), width, 121)
    light = sky_component(
        strips, x, question.floor, pitch=pitch, neighbours=question.modules, open_sides=question.open_sides
    )
    factor = 100.0 * question.factor
    over, even = factor * light.overcast, factor * light.uniform
    through = "" if question.factor == 1.0 else f" x {question.factor:.2f}"
    axes.plot(x, over, "-", color=BLUE, lw=1.8, label=f"sky component{through}, CIE overcast")
    axes.plot(x, even, "--", color=RUST, lw=1.4, label=f"sky component{through}, uniform")
    if question.reflectances is not None and pitch is not None:
        found = daylight(
            strips,
            pitch=pitch,
            level=question.floor,
            glazing=question.glazing,
            room=room_of(section, question),
            points=121,
        )
        ends = ", slots without end" if question.span is not None else ""
        name = f"daylight factor{ends}, mean {100 * found.mean:.1f} %, least/mean {found.uniformity:.2f}"
        axes.plot(found.x, 100.0 * found.daylight_factor, "-.", color="black", lw=1.6, label=name)
    places = [("A", int(np.nanargmin(over)), "v"), ("B", int(np.nanargmax(over)), "^")]
    for name, i, marker in places:
        axes.plot(x[i], over[i], marker, color="black", ms=6, zorder=5)
        axes.annotate(name, (x[i], over[i]), (7, 4), textcoords="offset points", weight="bold")
    top = 1.15 * max(float(np.nanmax(np.asarray(line.get_ydata()))) for line in axes.get_lines())
    axes.set(xlabel="x [m]", ylabel="light [% of outside]", title="Across the bay", ylim=(0.0, top or 1.0))
    axes.legend(loc="upper left", bbox_to_anchor=(-0.02, -0.23), ncols=2, fontsize=8)
    return [(name, float(x[i]), float(over[i])) for name, i, _ in places]


def _section(
    axes: Axes, section: Section, question: LightQuestion, places: list[tuple[str, float, float]]
) -> None:
    """Draw the row, the wedges of sky seen from the darkest and the brightest point, glass and foci."""
    strips, pitch, floor = section.strips, question.pitch, question.floor
    top = _top(section, question)
    looks: tuple[dict[str, Any], ...] = (
        {"facecolor": BLUE, "alpha": 0.30, "hatch": "//"},
        {"facecolor": "#e0a030", "alpha": 0.40},
    )
    for (name, x, value), look in zip(places, looks, strict=True):
        label = f"sky seen from {name}: {value:.1f} %"
        for wedge in _wedge_outlines(section, question, x, top):
            axes.add_patch(Polygon(wedge, edgecolor="black", linewidth=0.5, zorder=1, label=label, **look))
            label = "_"
        axes.plot(x, floor, "v" if name == "A" else "^", color="black", ms=6, zorder=5)
        axes.annotate(name, (x, floor), (0, -13), textcoords="offset points", weight="bold", ha="center")
    beside = min(question.modules if question.modules is not None else 2, 2) if pitch else 0
    for k in range(-beside, beside + 1):
        shade = NEIGHBOUR if k else CONCRETE
        move = (k * (pitch or 0.0), 0.0)
        axes.add_patch(
            concrete_patch(strips, move, facecolor=shade, edgecolor=shade, lw=0.3, zorder=2 if k else 3)
        )
    axes.axhline(floor, color="black", lw=1.0, zorder=2)
    if pitch is not None:
        _glass(axes, glass_sky(strips, pitch=pitch), pitch)
    if question.speaker is not None:
        _foci(axes, section, question)
    axes.set(ylim=(floor - BELOW, top), ylabel="z [m]", title=section.name)
    axes.grid(False)
    handles, labels = axes.get_legend_handles_labels()
    if handles:
        below = -0.27 * axes.figure.dpi / axes.get_window_extent().height
        axes.legend(handles, labels, loc="upper left", bbox_to_anchor=(-0.02, below), ncols=3, fontsize=8)


def _wedge_outlines(section: Section, question: LightQuestion, x: float, top: float) -> list[Array]:
    """Triangles from a point on the floor up to a height, one for each wedge of sky it sees."""
    near = 8 if question.modules is None else question.modules
    wedges = visible_wedges(
        section.strips,
        x,
        question.floor,
        pitch=question.pitch,
        neighbours=near,
        open_sides=question.open_sides,
    )
    rise = top - question.floor
    return [
        np.array([[x, question.floor], [x + rise * np.tan(a), top], [x + rise * np.tan(b), top]])
        for a, b in np.clip(np.stack([wedges.start[0], wedges.stop[0]], axis=1), -1.57, 1.57)
        if np.isfinite(a)
    ]


def _glass(axes: Axes, seen: GlassSky, pitch: float) -> None:
    """Draw the shortest line across each slot and write its length."""
    slot = seen.slot
    if not float(slot.width) > 0.0:
        return
    for k in (-1, 0):
        x = np.array([slot.x_left, slot.x_right]) + k * pitch
        label = f"glass, {float(slot.width):.2f} m clear" if k == 0 else None
        axes.plot(x, [slot.z_left, slot.z_right], color=GLASS, lw=2.2, zorder=4, label=label)


def _foci(axes: Axes, section: Section, question: LightQuestion) -> None:
    """Draw the speaker and the foci of the concave stretches, for this module alone."""
    speaker = float(question.speaker or 0.0)
    found = sound_foci(section.strips, floor=question.floor, speaker_x=speaker, pitch=question.pitch)
    axes.plot(speaker, question.floor + 1.5, "s", color=RUST, ms=6, zorder=6, label="speaker, 1.5 m up")
    name = "sound foci" if np.isfinite(found.focus_x).any() else "no sound foci in the room"
    axes.plot(found.focus_x, found.focus_z, "o", mfc="none", mec=RUST, ms=4, zorder=6, label=name)


def _sun_path(axes: Axes, section: Section, question: LightQuestion) -> None:
    """Draw the sun's altitude over its azimuth, and where it strikes the glass."""
    latitude, pitch = float(question.latitude or 0.0), float(question.pitch or 0.0)
    azimuth, altitude = np.meshgrid(np.linspace(0.0, 2 * np.pi, 1081), np.linspace(0.0, 0.5 * np.pi, 541))
    t = sun_angle(altitude, azimuth, question.x_azimuth)
    angles = np.linspace(-0.5 * np.pi, 0.5 * np.pi, 3601)
    on_glass = np.interp(t, angles, sunlit_share(section.strips, angles, pitch=pitch)) > 1e-9
    shade = np.where(on_glass, 1.0, np.nan)
    axes.contourf(np.rad2deg(azimuth), np.rad2deg(altitude), shade, levels=[0.5, 1.5], colors=["#f3d9a0"])
    turn = 0.0 if latitude >= 0 else np.pi
    for day, name, style in SEASONS:
        hours = np.linspace(-12.0, 12.0, 481)
        up, way = sun_position(latitude, declination(day), HOUR * hours)
        order = np.argsort((way + turn) % (2 * np.pi))
        x, y = np.rad2deg((way + turn) % (2 * np.pi))[order], np.rad2deg(up)[order]
        axes.plot(x, np.where(y > 0, y, np.nan), style, color="black", lw=1.3, label=name)
    ticks = np.arange(0, 361, 90)
    names = np.array(["N", "E", "S", "W", "N"]) if latitude >= 0 else np.array(["S", "W", "N", "E", "S"])
    axes.set_xticks(ticks, names)
    axes.set(xlim=(0, 360), ylim=(0, 90), xlabel="azimuth", ylabel="sun's altitude [°]")
    axes.set_title("Sun path (shaded: sun enters)", fontsize=9.5)
    axes.legend(
        loc="upper center",
        bbox_to_anchor=(0.5, -0.24),
        ncols=3,
        fontsize=7.5,
        columnspacing=1.0,
        handlelength=1.8,
    )


def _sun_hours(axes: Axes, section: Section, question: LightQuestion) -> None:
    """Draw the hours of direct sun in each month."""
    found = direct_sun(
        section.strips,
        pitch=float(question.pitch or 0.0),
        latitude=float(question.latitude or 0.0),
        x_azimuth=question.x_azimuth,
    )
    month = np.arange(12)
    axes.bar(
        month, found.glass, 0.75, facecolor="#f3d9a0", edgecolor="black", lw=0.6, label="through some glass"
    )
    look: dict[str, Any] = {"facecolor": BLUE, "edgecolor": "black", "lw": 0.6, "hatch": "//"}
    axes.bar(month, found.floor, 0.4, label="floor, mean", **look)
    axes.set_xticks(month, [name[0] for name in MONTHS])
    axes.set(xlabel="month", ylabel="direct sun, clear sky [h]", ylim=(0.0, None))
    axes.set_title("Hours of direct sun", fontsize=9.5)
    axes.legend(loc="upper center", bbox_to_anchor=(0.5, -0.24), ncols=2, fontsize=7.5)
