"""Figures: a section to scale, the growth of a search; style and saving of all figures.

Figures are built without any global state, so they may be made in threads and workers. Colours are the
``cividis`` map and two hues that stay apart for colour-blind readers and in grey; every figure ends with the
caution.
"""

import io
from pathlib import Path
from typing import Any

import matplotlib as mpl
import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.layout_engine import ConstrainedLayoutEngine
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
from longvault.sections.symbols import CAUTION

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
