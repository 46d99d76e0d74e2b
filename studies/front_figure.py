"""The figure of a front: designs as markers, the knee, and the ideals that no section beats."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import matplotlib as mpl
import numpy as np
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from numpy.typing import ArrayLike

from longvault.sections.export.scene import wrapped
from longvault.sections.symbols import AnyArray, Array
from longvault.studies.plots import BLUE, RUST, STYLE, new_figure, with_caution

MARKERS = ("o", "s", "^", "D", "v", "P", "X", "*")
"""Shapes of markers, one a family."""


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
    ideal: Callable[[Array], Array] | None = None,
    families: Sequence[str] = (),
    note: Sequence[str] = (),
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
    ideal : callable, optional
        Beside it: areas (n,) -> largest modulus of any section like these (`ideal_line`).
    families : sequence of str
        Family of each design; several are told apart by the shape of the marker.
    note : sequence of str
        Lines under the axes.
    title : str
    """
    x, y = across.array, up.array
    with mpl.rc_context(STYLE):
        figure = new_figure(7.2, 5.0)
        under = [part for line in note for part in wrapped(line, 2.8, 112.0)]  # [mm], as wide as the axes
        axes = figure.add_subplot(xlabel="\n".join([across.label, *under]), ylabel=up.label)
        axes.set_title(_title_lines(title), parse_math=False)
        shapes = _shapes(families, len(x))
        if third is not None and np.isfinite(third.array).any():
            markers = _scatter_third(axes, x, y, third, shapes)
            figure.legend(handles=markers, title=third.label, loc="outside right upper", labelspacing=1.0)
        else:
            _scatter(axes, x, y, shapes, s=np.full(len(x), 36.0), color=np.full(len(x), BLUE))
        lines = [] if height is None else _ideal_lines(axes, x, height, ideal)
        figure.legend(handles=[*_family_markers(families), *lines], loc="outside right lower")
        with_caution(figure)
        if knee is not None:
            _mark_knee(figure, axes, float(x[knee]), float(y[knee]), np.column_stack((x, y)))
        return figure


def _shapes(families: Sequence[str], count: int) -> AnyArray:
    """Shape of the marker of each design: one for each family."""
    names = list(dict.fromkeys(families))
    return np.array([MARKERS[names.index(one) % len(MARKERS)] for one in families] or ["o"] * count)


def _scatter(axes: Any, x: Array, y: Array, shapes: AnyArray, **look: AnyArray) -> None:
    """Draw markers in their order; neighbours of one shape at once."""
    cuts = np.flatnonzero(shapes[1:] != shapes[:-1]) + 1
    for rows in np.split(np.arange(len(x)), cuts):
        own = {key: values[rows] for key, values in look.items()}
        axes.scatter(
            x[rows], y[rows], marker=shapes[rows[0]], edgecolor="black", linewidth=0.4, zorder=3, **own
        )


def _family_markers(families: Sequence[str]) -> list[Line2D]:
    """Legend of the families, where there are several."""
    names = list(dict.fromkeys(families))
    look: dict[str, Any] = {"linestyle": "", "markerfacecolor": "white", "markeredgecolor": "black"}
    shapes = _shapes(names, 0)
    return [Line2D([], [], marker=s, label=n, **look) for n, s in zip(names, shapes, strict=True)][
        : len(names) * (len(names) > 1)
    ]


def _title_lines(title: str) -> str:
    """Break a title that is wider than the axes, first behind its colons: the legend stands beside it."""
    size, width = 4.3, 125.0
    if len(wrapped(title, size, width)) == 1:
        return title
    return "\n".join(line for part in title.split(": ") for line in wrapped(part, size, width))


def _scatter_third(axes: Any, x: Array, y: Array, third: Measure, shapes: AnyArray) -> list[Line2D]:
    """Draw large values behind small ones; return the markers of a few levels for the legend."""
    values = third.array
    low, high = float(np.nanmin(values)), float(np.nanmax(values))
    if high - low < 1e-9 * max(abs(high), 1.0):  # round-off is no range
        high = low
    share = np.clip(np.nan_to_num(values - low, nan=0.0) / ((high - low) or 1.0), 0.0, 1.0)
    order = np.argsort(-share, kind="stable")
    look = {"s": _marker_area(share[order]), "color": mpl.colormaps["cividis"](share[order])}
    _scatter(axes, x[order], y[order], shapes[order], **look)
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
    lines = [line.get_xydata() for line in axes.lines]
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


def _ideal_lines(axes: Any, x: Array, height: float, ideal: Callable[[Array], Array] | None) -> list[Line2D]:
    """Draw what no section beats: two flanges without a web, and a section with webs and a plan width."""
    low, high = float(np.nanmin(x)), float(np.nanmax(x))
    beyond = 0.04 * ((high - low) or low)
    areas = np.linspace(low - beyond, high + beyond, 60)
    look: dict[str, Any] = {"color": "#555555", "linewidth": 1.2, "zorder": 2}
    name = f"all of A in two flanges,\nS = A h / 2, h = {height:g} m"
    lines = axes.plot(areas, 0.5 * areas * height, "--", label=name, **look)
    if ideal is not None:
        name = "ideal with the webs and\nthe plan width of these"
        lines += axes.plot(areas, ideal(areas), "-", label=name, **look)
    return list(lines)
