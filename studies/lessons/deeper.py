"""The lesson "deeper": the same concrete at growing height, its section modulus and its deflection."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import matplotlib as mpl
import numpy as np

from longvault.constraints.materials import Concrete
from longvault.sections.curves import curve_points
from longvault.sections.properties import Properties, section_properties
from longvault.sections.strips import Strips
from longvault.sections.symbols import Array
from longvault.studies.plots import BLUE, RUST, STYLE, concrete_patch, new_figure, save, with_caution

TITLE = "Deeper: the same concrete, more height"

AREA, WIDTH, SPAN = 0.5, 5.0, 20.0
"""Concrete of one module [m2], its width and its span [m]."""
LOAD = 20e3
"""Load per metre of span [N/m]: the same for all, since the concrete is the same."""
CONCRETE = Concrete(30e6)
RISES = (0.5, 1.0, 1.5, 2.0, 2.5)
STATIONS = 201


def arcs(rises: Sequence[float] = RISES) -> Strips:
    """Make circular arcs of one width and one area of concrete, one for each rise: a batch (n,)."""
    points = [curve_points("arc", width=WIDTH, rise=rise, stations=STATIONS) for rise in rises]
    x, z = np.array([p[0] for p in points]), np.array([p[1] for p in points])
    length = np.sqrt(np.diff(x) ** 2 + np.diff(z) ** 2).sum(axis=-1)
    thickness = np.repeat((AREA / length)[:, None], STATIONS - 1, axis=1)
    return Strips.chain(x, z, thickness, "crown")


def two_flange_bound(area: float, height: Array) -> Array:
    """Section modulus that no section of this area and height exceeds: S <= A h / 2 [m3].

    Derived: I = sum(A_i z_i^2) is largest with half the area at either outer fibre, I = A h^2 / 4; then
    S = I / (h / 2). Twice the height gives twice the bound, and four times the second moment.

    Examples
    --------
    >>> two_flange_bound(0.9, np.array([2.0, 4.0])).tolist()
    [0.9, 1.8]
    """
    return area * height / 2


def mid_span_deflection(inertia: Array) -> Array:
    """Elastic deflection 5 w L^4 / (384 E I) of the simple span under the load (...) [m]."""
    return 5 * LOAD * SPAN**4 / (384 * CONCRETE.ecm * inertia)


def draw(path: str | Path) -> dict[str, Any]:
    """Draw the figure to ``path`` (png or svg) and return its numbers and what to see in them."""
    strips = arcs()
    p = section_properties(strips)
    deflection = mid_span_deflection(p.ixx)
    save(_figure(strips, p, deflection), path)
    table = {
        "rise m": list(RISES),
        "h m": p.height.tolist(),
        "t mm": (strips.thickness[:, 0] * 1e3).tolist(),
        "A m²": p.area.tolist(),
        "z_c above bottom m": (p.centroid_z - p.bottom).tolist(),
        "I m⁴": p.ixx.tolist(),
        "S top m³": p.s_top.tolist(),
        "S bottom m³": p.s_bottom.tolist(),
        "bound A h / 2 m³": two_flange_bound(AREA, p.height).tolist(),
        "k = S / (A h)": p.shape_efficiency.tolist(),
        "deflection mm": (deflection * 1e3).tolist(),
    }
    return {"title": TITLE, "table": table, "notes": notes()}


def notes() -> list[str]:
    """Say what to redo by hand, and what to predict first."""
    ecm = CONCRETE.ecm / 1e9
    return [
        f"Every arc is {WIDTH:g} m wide and holds {AREA:g} m² of concrete; "
        f"simple span {SPAN:g} m; load {LOAD / 1e3:g} kN/m.",
        "By hand: S bottom = I / z_c and S top = I / (h - z_c); the smaller one counts: here the bottom one.",
        f"By hand: deflection = 5 w L⁴ / (384 E I) with E = {ecm:.1f} GPa.",
        "No section beats the bound: twice the height, twice A h / 2 and at most four times I.",
        "Predict, then look: from rise 1.0 m to 2.0 m, does S double?",
        "It more than doubles: the arc also uses its depth better, see k.",
    ]


def _figure(strips: Strips, p: Properties, deflection: Array) -> Any:
    with mpl.rc_context(STYLE):
        figure = new_figure(9.4, 5.8)
        figure.suptitle(TITLE, x=0.02, ha="left", weight="bold", fontsize=12)
        parts: Any = figure.subfigures(2, 1, height_ratios=(1.0, 1.5))
        upper, lower = parts
        _sections(upper.add_subplot(), strips, p)
        left, right = lower.subplots(1, 2)
        _moduli(left, p)
        _deflections(right, p, deflection)
        return with_caution(figure)


def _sections(axes: Any, strips: Strips, p: Properties) -> None:
    """Draw all sections to one scale, side by side on one ground line."""
    step = WIDTH + 0.9
    for i in range(len(RISES)):
        move = [i * step, -float(p.bottom[i])]
        look = {"facecolor": "#c9c9c9", "edgecolor": "black", "linewidth": 0.8}
        axes.add_patch(concrete_patch(strips[i], move, **look))
        level = float(p.centroid_z[i] - p.bottom[i])
        axes.plot([i * step - 0.3, i * step + 0.3], [level, level], color=RUST, linewidth=1.6)
        h, t, s = float(p.height[i]), float(strips.thickness[i, 0]) * 1e3, float(p.s_free[i])
        label = f"h = {h:.2f} m, t = {t:.0f} mm\nS = {s:.3f} m³"
        axes.text(i * step, -0.35, label, ha="center", va="top", fontsize=8)
    axes.set(xlim=(-0.6 * step, (len(RISES) - 0.4) * step), ylim=(-1.4, 2.75), aspect="equal")
    title = f"A = {AREA:g} m² in every section, one scale; the short line is the neutral axis"
    axes.set_title(title, fontsize=9, weight="normal")
    axes.axis("off")


def _moduli(axes: Any, p: Properties) -> None:
    ends = np.array([0.0, 1.08 * float(p.height.max())])
    axes.plot(ends, two_flange_bound(AREA, ends), "--", color="#555555", label="bound A h / 2")
    axes.plot(ends, AREA * ends / 6, ":", color="#555555", label="solid rectangle A h / 6")
    axes.plot(p.height, p.s_top, "s-", color=RUST, markersize=4, label="S top")
    axes.plot(p.height, p.s_bottom, "o-", color=BLUE, markersize=4, label="S bottom: counts")
    axes.set(xlabel="overall height h [m]", ylabel="section modulus [m³]", xlim=(0, ends[1]), ylim=(0, None))
    axes.legend(loc="upper left", fontsize=8)


def _deflections(axes: Any, p: Properties, deflection: Array) -> None:
    between = section_properties(arcs(tuple(np.linspace(RISES[0], RISES[-1], 41))))
    axes.plot(between.height, mid_span_deflection(between.ixx) * 1e3, "-", color=BLUE)
    axes.plot(p.height, deflection * 1e3, "o", color=BLUE, markersize=4)
    for h, d in zip(p.height, deflection * 1e3, strict=True):
        axes.annotate(f"{d:.1f}", (h, d), textcoords="offset points", xytext=(6, 6), fontsize=8)
    axes.set(xlabel="overall height h [m]", ylabel="elastic deflection at mid-span [mm]")
    axes.set(xlim=(0, 1.08 * float(p.height.max())), ylim=(0, 1.12 * float(deflection.max()) * 1e3))
