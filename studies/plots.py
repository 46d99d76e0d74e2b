"""Figures: the front, a section to scale, the growth of a search. The only module that draws with matplotlib.

Figures are built without any global state, so they may be made in threads and workers. Colours are the
``cividis`` map and two hues that stay apart for colour-blind readers and in grey; every figure ends with the
caution.
"""

import io
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import matplotlib as mpl
import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.layout_engine import ConstrainedLayoutEngine
from matplotlib.lines import Line2D
from matplotlib.patches import PathPatch
from matplotlib.path import Path as Outline
from numpy.typing import ArrayLike

from longvault.optimise.history import History
from longvault.sections.export import write_bytes
from longvault.sections.export.scene import LOOKS, Area, Lines, Scene, Text, wrapped
from longvault.sections.export.section_drawing import draw_section
from longvault.sections.outline import outline
from longvault.sections.polygon import outline_rings
from longvault.sections.section_file import Section
from longvault.sections.strips import Strips
from longvault.sections.symbols import CAUTION, Array

STYLE: dict[str, Any] = {
    "font.family": "DejaVu Sans",
    "font.size": 9.0,
    "axes.titlesize": 11.0,
    "axes.titleweight": "bold",
    "axes.titlelocation": "left",
    "axes.spines.top": False,
    "axes.spines.right": False,
    "axes.grid": True,
    "axes.axisbelow": True,
    "grid.color": "#d9d9d9",
    "grid.linewidth": 0.6,
    "axes.linewidth": 0.8,
    "legend.frameon": False,
    "image.cmap": "cividis",
    "svg.fonttype": "none",
    "svg.hashsalt": "longvault",
    "savefig.facecolor": "white",
}
BLUE, RUST = "#0b5fa5", "#b3400f"
PNG_DPI = 160.0
FORMATS = ("png", "svg")


@dataclass(frozen=True, slots=True, eq=False)
class Measure:
    """Values of one measure for every design of a front, in the unit they are to be shown in.

    Examples
    --------
    >>> Measure("concrete area A", [0.7, 0.8], "m²").label
    'concrete area A [m²]'
    """

    name: str
    values: ArrayLike
    unit: str = ""

    @property
    def array(self) -> Array:
        """The values as floats (N,)."""
        return np.asarray(self.values, dtype=np.float64)

    @property
    def label(self) -> str:
        """Axis label with the unit."""
        return f"{self.name} [{self.unit}]" if self.unit else self.name


def front_figure(
    across: Measure,
    up: Measure,
    third: Measure | None = None,
    *,
    knee: int | None = None,
    height: float | None = None,
    title: str = "Trade-off set",
) -> Figure:
    """Draw a front: two measures as axes, a third as marker colour and size.

    Parameters
    ----------
    across, up, third : Measure
        For the usual three objectives: concrete area [m²], section modulus [m³], clear opening [m].
    knee : int, optional
        Row to mark as the knee.
    height : float, optional
        Overall height h [m]; only where ``across`` is the area A and ``up`` the section modulus S. Draws the
        bound S = A h / 2 of two flanges at distance h (derived: all the area at the outer fibres).
    title : str
    """
    x, y = across.array, up.array
    with mpl.rc_context(STYLE):
        figure = new_figure(7.2, 5.0)
        axes = figure.add_subplot(xlabel=across.label, ylabel=up.label)
        axes.set_title(_title_lines(title), parse_math=False)
        if third is not None and np.isfinite(third.array).any():
            markers = _scatter_third(axes, x, y, third)
            figure.legend(handles=markers, title=third.label, loc="outside right upper", labelspacing=1.0)
        else:
            axes.scatter(x, y, s=36, color=BLUE, edgecolor="black", linewidth=0.4, zorder=3)
        if height is not None:
            line = _two_flange_line(axes, x, height)
            figure.legend(handles=[line], loc="outside right lower")
        with_caution(figure)
        if knee is not None:
            _mark_knee(figure, axes, float(x[knee]), float(y[knee]), np.column_stack((x, y)))
        return figure


def _title_lines(title: str) -> str:
    """Break a title that is wider than the axes, first behind its colons: the legend stands beside it."""
    size, width = 4.3, 125.0
    if len(wrapped(title, size, width)) == 1:
        return title
    return "\n".join(line for part in title.split(": ") for line in wrapped(part, size, width))


def _scatter_third(axes: Any, x: Array, y: Array, third: Measure) -> list[Line2D]:
    """Draw large values behind small ones; return the markers of a few levels for the legend."""
    values = third.array
    low, high = float(np.nanmin(values)), float(np.nanmax(values))
    share = np.nan_to_num(values - low, nan=0.0) / ((high - low) or 1.0)
    order = np.argsort(-share, kind="stable")
    look = {"s": _marker_area(share[order]), "color": mpl.colormaps["cividis"](share[order])}
    axes.scatter(x[order], y[order], edgecolor="black", linewidth=0.4, zorder=3, **look)
    levels = np.linspace(0.0, 1.0, 4) if high > low else np.zeros(1)
    return [_level_marker(float(level), low + float(level) * (high - low)) for level in levels]


def _marker_area(share: Array) -> Array:
    """Area of a marker [pt2] for a share 0..1 of the range."""
    return 16.0 + 110.0 * share


def _level_marker(share: float, value: float) -> Line2D:
    """Legend entry of one level: its size and colour on the plot."""
    look: dict[str, Any] = {
        "markerfacecolor": mpl.colormaps["cividis"](share),
        "markeredgecolor": "black",
        "markeredgewidth": 0.4,
        "markersize": float(np.sqrt(_marker_area(np.array(share)))),
    }
    return Line2D([], [], marker="o", linestyle="", label=f"{value:.3g}", **look)


def _mark_knee(figure: Figure, axes: Any, x: float, y: float, designs: Array) -> None:
    """Ring the knee; its name stands in free space, at the end of a thin line."""
    axes.scatter(x, y, s=260, facecolor="none", edgecolor=RUST, linewidth=1.8, zorder=4)
    figure.draw_without_rendering()  # sets the scale of the axes, on which distances depend
    ends = [line.get_xydata()[[0, -1]] for line in axes.lines]
    lines = [np.linspace(first, last, 100) for first, last in ends]
    drawn = axes.transData.transform(np.vstack([designs, *lines]))
    low, high = axes.transAxes.transform(((0.0, 0.0), (1.0, 1.0)))
    point = figure.dpi / 72.0
    place = _free_place(drawn, axes.transData.transform((x, y)), low, high, point) / point
    look = {"color": RUST, "weight": "bold", "ha": "center", "va": "center", "zorder": 5}
    line = {"arrowstyle": "-", "color": RUST, "linewidth": 1.0, "shrinkA": 1.0, "shrinkB": 9.0}
    axes.annotate("knee", (x, y), place, textcoords="offset points", arrowprops=line, **look)


def _free_place(drawn: Array, centre: Array, low: Array, high: Array, point: float) -> Array:
    """Offset from ``centre`` [pixels] to the nearest place clear of what is drawn, inside the axes."""
    turns = np.pi * np.arange(16) / 8.0
    circle = np.column_stack((np.cos(turns), np.sin(turns)))
    offsets = np.vstack([radius * point * circle for radius in (34.0, 50.0, 70.0)])
    ends = centre + offsets
    gaps = np.linalg.norm(drawn[:, None] - ends, axis=-1)
    inside = ((ends > low + 24.0 * point) & (ends < high - 24.0 * point)).all(axis=1)
    room = np.where(inside, np.minimum(np.nanmin(gaps, axis=0), 26.0 * point), 0.0)
    best: Array = offsets[int(np.argmax(room))]
    return best


def _two_flange_line(axes: Any, x: Array, height: float) -> Any:
    low, high = float(np.nanmin(x)), float(np.nanmax(x))
    ends = np.array([low, high]) + np.array([-0.04, 0.04]) * ((high - low) or low)
    name = f"all of A in two flanges,\nS = A h / 2, h = {height:g} m"
    (line,) = axes.plot(ends, 0.5 * ends * height, "--", color="#555555", linewidth=1.2, label=name, zorder=2)
    return line


def convergence_figure(history: History, *, title: str = "Growth of the search") -> Figure:
    """Draw hypervolume and feasible share over the evaluations made."""
    with mpl.rc_context(STYLE):
        figure = new_figure(7.2, 4.6)
        upper, lower = figure.subplots(2, 1, sharex=True, height_ratios=(2, 1))
        upper.plot(history.evaluations, history.hypervolume, "o-", color=BLUE, markersize=3.0)
        upper.set(ylabel="hypervolume", title=title, ylim=(0.0, None))
        lower.plot(history.evaluations, 100.0 * history.feasible_share, "s-", color=RUST, markersize=3.0)
        lower.set(ylabel="feasible [%]", xlabel="evaluations", ylim=(0.0, 105.0))
        figure.align_ylabels((upper, lower))
        return with_caution(figure)


def section_figure(section: Section, *, bay: float | None = None, moment: float | None = None) -> Figure:
    """Draw a section to scale with dimensions; with a moment [N m], the stress diagram beside it.

    Arguments as for `longvault.sections.export.section_drawing.draw_section`.
    """
    return scene_figure(draw_section(section, bay=bay, moment=moment))


def scene_figure(scene: Scene) -> Figure:
    """Paint a drawing of ours on a figure of the same size, millimetre for millimetre."""
    with mpl.rc_context(STYLE):
        figure = Figure(figsize=(scene.width / 25.4, scene.height / 25.4))
        FigureCanvasAgg(figure)
        axes = figure.add_axes((0.0, 0.0, 1.0, 1.0), frame_on=False, xlim=(0.0, scene.width))
        axes.set(ylim=(0.0, scene.height), xticks=[], yticks=[], aspect="equal")
        for order, item in enumerate(scene.items):
            _paint(axes, item, order)
        return figure


def _paint(axes: Any, item: Area | Lines | Text, order: int) -> None:
    look, point = LOOKS[item.layer], 72.0 / 25.4
    if isinstance(item, Text):
        align = {"start": "left", "middle": "center", "end": "right"}[item.anchor]
        weight = "bold" if item.bold else "normal"
        size = item.size * point
        axes.text(
            *item.place, item.text, size=size, ha=align, va="baseline", color=look.fill, weight=weight,
            zorder=order, parse_math=False,
        )  # fmt: skip
        return
    closed = isinstance(item, Area)
    outline = Outline.make_compound_path(*(_outline(path, closed) for path in _paths(item)))
    dash = (0.0, tuple(length * point for length in look.dash)) if look.dash else "-"
    axes.add_patch(
        PathPatch(
            outline, facecolor=look.fill if closed and look.fill else "none", edgecolor=look.stroke or "none",
            linewidth=look.width * point, linestyle=dash, joinstyle="round", capstyle="butt", zorder=order,
        )
    )  # fmt: skip


def _paths(item: Area | Lines) -> tuple[tuple[tuple[float, float], ...], ...]:
    return item.rings if isinstance(item, Area) else item.paths


def _outline(points: tuple[tuple[float, float], ...], closed: bool) -> Outline:
    ring = (*points, points[0]) if closed else points
    return Outline(np.array(ring), closed=closed)


def concrete_patch(strips: Strips, move: ArrayLike = (0.0, 0.0), **look: Any) -> PathPatch:
    """Fill the outline of one section, thickness and holes as they are, moved by ``move`` [m].

    ``look`` goes to `matplotlib.patches.PathPatch`.
    """
    shape = outline(strips, tapered=True)
    rings = [Outline(ring + np.asarray(move), closed=True) for ring in outline_rings(shape)]
    return PathPatch(Outline.make_compound_path(*rings), **look)


def new_figure(width: float, height: float) -> Figure:
    """Make an empty figure [inches] that keeps its labels inside; draw in it under `STYLE`."""
    figure = Figure(figsize=(width, height), layout=ConstrainedLayoutEngine(w_pad=0.1, h_pad=0.1))
    FigureCanvasAgg(figure)
    return figure


def with_caution(figure: Figure) -> Figure:
    """Put the caution at the foot of a figure and return it."""
    width = 25.4 * figure.get_size_inches()[0] - 8.0
    text = "\n".join(wrapped(CAUTION, 2.3, width))
    figure.supxlabel(text, x=0.01, ha="left", fontsize=6.5, color="#444444")
    return figure


def save(figure: Figure, path: str | Path) -> None:
    """Write a figure as png or svg by the file's ending: atomically, and the same bytes for the same figure.

    Raises
    ------
    ValueError
        If the ending is neither.
    """
    path = Path(path)
    kind = path.suffix.lower().lstrip(".")
    if kind not in FORMATS:
        raise ValueError(f"path: got {path.name!r}; must end in .{' or .'.join(FORMATS)}")
    meta: dict[str, Any] = {"Date": None, "Creator": "longvault", "Description": CAUTION}
    if kind == "png":
        meta = {"Software": "longvault", "Description": CAUTION}
    out = io.BytesIO()
    with mpl.rc_context(STYLE):
        figure.savefig(out, format=kind, dpi=PNG_DPI, metadata=meta)
    write_bytes(path, out.getvalue())
