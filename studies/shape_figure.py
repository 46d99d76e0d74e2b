"""Picture of how a section loses its shape: bays side by side, movement exaggerated, signed in words."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import matplotlib as mpl
import numpy as np
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.collections import LineCollection
from matplotlib.figure import Figure
from matplotlib.lines import Line2D

from longvault.constraints.actions import CHARACTERISTIC
from longvault.constraints.basis import Basis
from longvault.constraints.plates_proof import Proof
from longvault.constraints.plates_records import FoldedPlate
from longvault.constraints.plates_results import displacements
from longvault.constraints.plates_row import Bay
from longvault.constraints.proof_solved import solve_heaviest
from longvault.constraints.proving import Proving
from longvault.sections.export.scene import wrapped
from longvault.sections.section_file import Section
from longvault.sections.symbols import CAUTION, Array
from longvault.studies.checked import Checked
from longvault.studies.plots import RUST, STYLE

REST: dict[str, Any] = {"color": "#7a7a7a", "linewidth": 1.0, "linestyle": (0.0, (4.0, 2.5))}
MOVED: dict[str, Any] = {"color": RUST, "linewidth": 2.2, "linestyle": "-"}
"""At rest thin and dashed, under load heavy and full: told apart without colour."""

SHARE = 0.10
"""The largest movement is drawn as long as about this share of the section's width."""

ORDER: tuple[Bay, ...] = ("interior", "end", "lone")

STILL = 5e-5
"""Movement below a twentieth of a millimetre is none [m]."""


@dataclass(frozen=True, slots=True, eq=False)
class Shape:
    """Movement of the nodes of a section at mid-span in one bay.

    Parameters
    ----------
    bay : str
    right, up : array (n,)
        [m].
    held : tuple of int
        Nodes that a neighbour or a strut holds sideways.
    """

    bay: str
    right: Array
    up: Array
    held: tuple[int, ...] = ()


def shapes_of(checked: Checked) -> list[Shape]:
    """Elastic movement of a checked section in every bay, heaviest characteristic combination."""
    if checked.proving is None:
        return []
    return [
        _shape(checked.section, checked.measures, checked.basis, checked.proving, bay)
        for bay in ORDER
        if bay in checked.plates
    ]


def proof_shape(section: Section, proof: Proof, bay: Bay) -> Shape:
    """Movement of a section that was proved under one surface load."""
    count = section.strips.x.shape[-1]  # nodes keep their numbers when strips are cut
    moved = displacements(proof.solved, 0.5)[0, :count]
    return Shape(bay, moved[:, 0], moved[:, 2], _held(proof.solved, count))


def _shape(section: Section, measures: Any, basis: Basis, proving: Proving, bay: Bay) -> Shape:
    solved = solve_heaviest(section, measures, basis, proving, bay, CHARACTERISTIC)
    moved = displacements(solved.plate, 0.5)[0]
    return Shape(bay, moved[:, 0], moved[:, 2], _held(solved.plate, len(moved)))


def _held(plate: FoldedPlate, count: int) -> tuple[int, ...]:
    """Nodes that a neighbour or a strut to it holds."""
    struts = plate.links.ends[plate.links.shift != 0.0]
    sideways = np.flatnonzero(plate.supports.spring[:count, 0] > 0)
    return tuple(sorted({int(node) for node in (*sideways, *struts.reshape(-1))}))


def marked_nodes(section: Section) -> tuple[int, int, int]:
    """Return the left edge, the middle and the right edge of a section: the nodes that words are put to."""
    x, z = section.strips.x, section.strips.z
    centre = 0.5 * (x.min() + x.max())
    left, right = (
        int(np.lexsort((z, np.round(side * x, 9)))[0]) for side in (1.0, -1.0)
    )  # of an upright edge its lowest node
    return left, int(np.argmin(np.abs(x - centre))), right


def movement_words(right: float, up: float, inward: float) -> str:
    """Say where a node goes, in millimetres: in or out (``inward`` +1 or -1 is to the right, 0: left, right).

    Examples
    --------
    >>> movement_words(0.0142, -0.024, -1.0), movement_words(0.0, 0.0, 0.0)
    ('14.2 mm out, 24.0 mm down', 'stays')
    """
    sides = ("right", "left") if inward == 0.0 else ("in", "out")
    across = right if inward == 0.0 else right * inward
    words = [
        f"{abs(value) * 1e3:.1f} mm {plus if value > 0 else minus}"
        for value, (plus, minus) in ((across, sides), (up, ("up", "down")))
        if abs(value) >= STILL
    ]
    return ", ".join(words) or "stays"


def shape_words(section: Section, shape: Shape) -> tuple[str, str, str]:
    """Say where left edge, middle and right edge go."""
    nodes, names = marked_nodes(section), ("left edge", "middle", "right edge")
    return tuple(  # type: ignore[return-value]
        f"{name}: {movement_words(float(shape.right[node]), float(shape.up[node]), inward)}"
        for name, node, inward in zip(names, nodes, (1.0, 0.0, -1.0), strict=True)
    )


def exaggeration(section: Section, shapes: Sequence[Shape]) -> float:
    """How many times movement is enlarged, the same in every panel: 1, 2 or 5 times a power of ten.

    Examples
    --------
    >>> from longvault.sections import Strips
    >>> fold = Section("fold", Strips.chain([0.0, 5.0, 10.0], [0.0, 2.0, 0.0], 0.1, "wing"))
    >>> exaggeration(fold, [Shape("lone", np.zeros(3), np.array([-0.04, 0.0, -0.04]))])
    20.0
    """
    most = max(float(np.hypot(shape.right, shape.up).max()) for shape in shapes)
    if not most > 0:
        return 1.0
    wanted = SHARE * float(max(np.ptp(section.strips.x), np.ptp(section.strips.z))) / most
    power = 10.0 ** np.floor(np.log10(wanted))
    return float(power * max(step for step in (1.0, 2.0, 5.0) if step * power <= wanted * (1 + 1e-9)))


def shape_figure(section: Section, shapes: Sequence[Shape], *, title: str, load: str) -> Figure:
    """Draw the section at rest and under load in each bay, side by side at one scale.

    Parameters
    ----------
    shapes : sequence of Shape
        One a panel, one to three.
    title, load : str
        What is drawn, and under which load, in words.
    """
    times, count = exaggeration(section, shapes), len(shapes)
    strips = section.strips
    ends = [(s.right * times, s.up * times) for s in shapes]
    wide = float(np.ptp(strips.x)) + 2.0 * max(float(np.abs(right).max()) for right, _ in ends)
    high = float(np.ptp(strips.z)) + 2.0 * max(float(np.abs(up).max()) for _, up in ends)
    width = max(4.2 * count, 5.6)
    wide = max(wide, 0.5 * high)  # an upright section keeps room for its words
    tall = (width / count - 0.5) * high / (1.16 * wide)
    height = tall + 2.1
    with mpl.rc_context(STYLE):
        figure = Figure(figsize=(width, height))
        FigureCanvasAgg(figure)
        for i, shape in enumerate(shapes):
            place = ((i + 0.04) / count, 1.0 / height, 0.92 / count, tall / height)
            _panel(figure.add_axes(place), section, shape, ends[i], (wide, high))
        figure.text(0.02, 1.0 - 0.16 / height, title, fontsize=12.0, weight="bold", va="top")
        figure.text(0.02, 1.0 - 0.42 / height, load, fontsize=8.5, color="#333333", va="top")
        handles = [
            Line2D([], [], label="at rest", **REST),
            Line2D([], [], label=f"under load, movement x {times:g}", **MOVED),
        ]
        if any(shape.held for shape in shapes):
            square: dict[str, Any] = {"marker": "s", "linestyle": "", "color": "black", "markersize": 4.0}
            handles.append(Line2D([], [], label="held sideways", **square))
        figure.legend(
            handles=handles, loc="upper left", ncols=3, bbox_to_anchor=(0.01, 1.0 - 0.56 / height),
            handlelength=3.2, fontsize=8.0,
        )  # fmt: skip
        caution = "\n".join(wrapped(CAUTION, 2.3, 25.4 * width - 12.0))
        figure.text(0.02, 0.08 / height, caution, fontsize=6.5, color="#444444", va="bottom")
    return figure


def _paths(section: Section) -> list[list[int]]:
    """Join strips that follow each other into lines, so that dashes run on."""
    paths: list[list[int]] = []
    for first, second in section.strips.ends.tolist():
        if paths and paths[-1][-1] == first:
            paths[-1].append(second)
        else:
            paths.append([first, second])
    return paths


def _panel(
    axes: Any, section: Section, shape: Shape, moved: tuple[Array, Array], size: tuple[float, float]
) -> None:
    """Draw one bay: both lines, the marked nodes with their paths, the words below."""
    strips = section.strips
    x, z = strips.x + moved[0], strips.z + moved[1]
    for places, look in (((strips.x, strips.z), REST), ((x, z), MOVED)):
        points = np.stack(places, axis=-1)
        looks = {"colors": look["color"], "linewidths": look["linewidth"], "linestyles": [look["linestyle"]]}
        axes.add_collection(LineCollection([points[path] for path in _paths(section)], **looks))
    for node in marked_nodes(section):
        axes.annotate(
            "", (x[node], z[node]), (strips.x[node], strips.z[node]),
            arrowprops={"arrowstyle": "-|>", "color": "black", "linewidth": 0.9, "shrinkA": 0, "shrinkB": 0},
        )  # fmt: skip
    if shape.held:
        held = list(shape.held)
        axes.plot(strips.x[held], strips.z[held], "s", color="black", markersize=4.0, zorder=5)
    middle = 0.5 * (strips.x.min() + strips.x.max()), 0.5 * (strips.z.min() + strips.z.max())
    wide, high = 1.16 * size[0], size[1]
    axes.set(
        xlim=(middle[0] - 0.5 * wide, middle[0] + 0.5 * wide), xticks=[], yticks=[],
        ylim=(middle[1] - 0.5 * high, middle[1] + 0.5 * high), aspect="equal", anchor="C",
    )  # fmt: skip
    axes.grid(visible=False)
    for spine in axes.spines.values():
        spine.set_visible(False)
    axes.set_title(f"{shape.bay} bay", fontsize=9.5, loc="center")
    words = "\n".join(shape_words(section, shape))
    axes.text(
        0.5, -0.03, words, transform=axes.transAxes, ha="center", va="top", fontsize=8.0, linespacing=1.5
    )
