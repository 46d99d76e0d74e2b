"""Figure of the isostatics: on the developed surface, with the section it came from, and in space."""

from typing import Any

import matplotlib as mpl
import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.collections import LineCollection
from matplotlib.figure import Figure
from matplotlib.lines import Line2D

from longvault.constraints.developed import COMPRESSION, TENSION, Developed, develop
from longvault.constraints.isostatics import Isostatic, isostatics
from longvault.sections.export.scene import wrapped
from longvault.sections.strips import Strips
from longvault.sections.symbols import CAUTION, Array
from longvault.studies.plots import BLUE, RUST, STYLE, concrete_patch

LINES: dict[str, dict[str, Any]] = {
    COMPRESSION: {"color": BLUE, "linewidth": 1.5, "linestyle": "-"},
    TENSION: {"color": RUST, "linewidth": 0.9, "linestyle": (0.0, (5.0, 2.2))},
}
"""Heavy full lines push, light dashed lines pull: told apart by weight and dash where colour is lost."""

WORDS = {
    "simple": "simple span, uniform load",
    "cantilever": "cantilever fixed at the left end, uniform load",
    "propped": "fixed at the left end, resting at the right, uniform load",
    "fixed": "fixed at both ends, uniform load",
}
GREY = "#8c8c8c"


def isostatics_figure(
    strips: Strips, *, span: float, support: str = "simple", held: bool = False, title: str = "Isostatics"
) -> Figure:
    """Draw the lines of principal stress of one span under a uniform load.

    Parameters
    ----------
    strips, span, support, held
        As for `longvault.constraints.developed.develop`.
    title : str

    Examples
    --------
    >>> a = np.linspace(-0.64, 0.64, 25)
    >>> roof = Strips.chain(7.5 * np.sin(a), 7.5 * np.cos(a), 0.08, "crown")
    >>> len(isostatics_figure(roof, span=24.0).axes)
    3
    """
    surface = develop(strips, span=span, support=support, held=held)
    lines = isostatics(surface)
    with mpl.rc_context(STYLE):
        figure = Figure(figsize=(9.6, 7.6))
        FigureCanvasAgg(figure)
        _draw_section(figure.add_axes((0.06, 0.54, 0.24, 0.33)), strips, surface)
        _draw_developed(figure.add_axes((0.37, 0.54, 0.60, 0.33)), surface, lines)
        _draw_space(figure.add_axes((0.04, 0.06, 0.93, 0.40)), surface, lines)
        figure.text(0.02, 0.955, title, fontsize=13.0, weight="bold")
        figure.text(0.02, 0.925, f"{WORDS[support]}; span {span:g} m", fontsize=9.0, color="#333333")
        _legend(figure)
        caution = "\n".join(wrapped(CAUTION, 2.3, 25.4 * 9.6 - 12.0))
        figure.text(0.02, 0.02, caution, fontsize=6.5, color="#444444", va="bottom")
    return figure


def _legend(figure: Figure) -> None:
    handles = [Line2D([], [], label=kind, **LINES[kind]) for kind in (COMPRESSION, TENSION)]
    handles.append(
        Line2D([], [], label="neutral axis", color=GREY, linewidth=1.0, linestyle=(0.0, (1.0, 1.6)))
    )
    figure.legend(handles=handles, loc="upper right", ncols=3, bbox_to_anchor=(0.98, 0.985), handlelength=3.4)


def _draw_section(axes: Any, strips: Strips, surface: Developed) -> None:
    axes.add_patch(concrete_patch(strips, facecolor="#4d4d4d", edgecolor="#4d4d4d", linewidth=0.3))
    x, z = surface.place(surface.neutral)
    if len(x) > 1:
        axes.axline((x[0], z[0]), (x[-1], z[-1]), color=GREY, linewidth=1.0, linestyle=(0.0, (1.0, 1.6)))
    pad = 0.08 * float(np.ptp(strips.x))
    axes.set(
        xlim=(strips.x.min() - pad, strips.x.max() + pad), aspect="equal", xlabel="x [m]", ylabel="z [m]"
    )
    axes.set_title("section", fontsize=9.0, weight="normal")


def _draw_developed(axes: Any, surface: Developed, lines: list[Isostatic]) -> None:
    width, span = float(surface.s[-1]), surface.span
    axes.grid(visible=False)
    for kind, look in LINES.items():
        paths = [np.stack([line.y, line.s], axis=-1) for line in lines if line.kind == kind]
        axes.add_collection(LineCollection(paths, zorder=3, **_collected(look)))
    for level in surface.neutral:
        axes.axhline(level, color=GREY, linewidth=1.0, linestyle=(0.0, (1.0, 1.6)), zorder=2)
    axes.set(xlim=(0.0, span), ylim=(0.0, width), aspect="equal", xlabel="along the span y [m]")
    axes.set(ylabel="along the curve s [m]")
    axes.set_title("developed surface", fontsize=9.0, weight="normal")
    for side in ("top", "right"):
        axes.spines[side].set_visible(True)


def _draw_space(axes: Any, surface: Developed, lines: list[Isostatic]) -> None:
    """Parallel projection: the span to the right, the width of the roof away from the eye."""
    ends = [np.full_like(surface.s, y) for y in (0.0, surface.span)]
    for y in ends:
        axes.plot(*_seen(surface.x, y, surface.z), color="#4d4d4d", linewidth=1.6, zorder=4)
    for node in (0, -1):
        edge = np.array([0.0, surface.span])
        where = _seen(np.full(2, surface.x[node]), edge, np.full(2, surface.z[node]))
        axes.plot(*where, color="#4d4d4d", linewidth=0.8, zorder=2)
    for kind, look in LINES.items():
        paths = [np.stack(_seen(line.x, line.y, line.z), axis=-1) for line in lines if line.kind == kind]
        axes.add_collection(LineCollection(paths, zorder=3, **_collected(look)))
    axes.autoscale_view()
    axes.set(aspect="equal", xticks=[], yticks=[])
    axes.set_title("in space", fontsize=9.0, weight="normal")
    for side in axes.spines.values():
        side.set_visible(False)
    axes.grid(visible=False)


def _collected(look: dict[str, Any]) -> dict[str, Any]:
    return {"colors": look["color"], "linewidths": look["linewidth"], "linestyles": [look["linestyle"]]}


def _seen(x: Array, y: Array, z: Array) -> tuple[Array, Array]:
    """Parallel view from 50 degrees above, turned a little so that neither end hides the other."""
    high = np.radians(50.0)
    return y + 0.25 * x, np.cos(high) * z + np.sin(high) * x
