"""What the ends of a roof need: traverse, tie and columns from the end shear; a member for the last bay."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from longvault.constraints.actions import ULTIMATE
from longvault.constraints.basis import Basis
from longvault.constraints.plates_checks import end_forces
from longvault.constraints.plates_results import link_pull, support_forces
from longvault.constraints.proof_solved import Solved, solve_heaviest
from longvault.constraints.proving import Proving
from longvault.sections import Section, Strips
from longvault.sections.symbols import Array, BoolArray

ACROSS = 0

ROUND_OFF = 1e-9
"""A force below this share of the load is round-off."""

BALANCED = 0.02
"""A load that acts within this share of the bay from its one column leaves the traverse in balance."""


@dataclass(frozen=True, slots=True)
class EndSettings:
    """Sizes that the estimate of the end structure starts from; all common practice.

    Parameters
    ----------
    wall : float
        Thickness of a traverse that fills the section down to its lowest point [m].
    member_depth : float
        Span over the horizontal depth of a member that holds the last valley.
    member_thickness : float
        Its thickness [m].
    arm : float
        Lever arm of steel over depth, of the member and of the traverse.
    wall_steel : float
        Least steel of a wall over its concrete, upright 0.002 and level 0.001 (EN 1992-1-1, 9.6.2(1) and
        9.6.3(1); from memory).
    """

    wall: float = 0.20
    member_depth: float = 20.0
    member_thickness: float = 0.20
    arm: float = 0.8
    wall_steel: float = 0.003


@dataclass(frozen=True, slots=True, eq=False)
class Traverse:
    """One end of one module, ultimate.

    Parameters
    ----------
    force : array (e, 2)
        What each strip puts on the traverse: right, up [N].
    reaction : float
        Sum of it, down [N].
    expected : float
        w L / 2 [N].
    sideways : float
        Sum of the forces to the right [N].
    columns : tuple of (x, force)
        Place [m] and push of each column [N].
    tie : float
        Tension between the columns, or over the one column at the top of the traverse [N].
    tie_at : str
        ``columns`` or ``top``.
    tie_length : float
        From column to column, or over the width of the section [m].
    estimate : float
        w b^2 / (8 rise) with half the span's load on the traverse [N]; NaN with one column.
    bending : float
        Largest moment of the traverse as a beam between or beyond its columns [N m].
    steel : float
        Steel of the tie [m2].
    wall_area : float
        Area of the section down to its lowest point [m2].
    """

    force: Array
    reaction: float
    expected: float
    sideways: float
    columns: tuple[tuple[float, float], ...]
    tie: float
    tie_at: str
    tie_length: float
    estimate: float
    bending: float
    steel: float
    wall_area: float


@dataclass(frozen=True, slots=True)
class LastBay:
    """The member that holds the outer edge of the last bay as the neighbour held the others; ultimate.

    Parameters
    ----------
    kind : str
        Kind of the joint: ``valley`` or ``strut``.
    plate, cut : float
        Sideways force of the neighbour on the right edge at mid-span by folded plate and by slice, + where
        it pulls outward [N/m].
    moment_plate, moment_cut : float
        Moment of the member: of the folded plate's own distribution along the span, and h L^2 / 8 [N m].
    depth : float
        Horizontal depth [m].
    steel : float
        Steel on either side, for the larger moment [m2].
    """

    kind: str
    plate: float
    cut: float
    moment_plate: float
    moment_cut: float
    depth: float
    steel: float


@dataclass(frozen=True, slots=True)
class EndStructure:
    """Traverse of one end and member of the last bay, with concrete and steel apart from the shell's own.

    Parameters
    ----------
    traverse_concrete, traverse_steel : float
        Of both ends of one module, all of its own, over the plan area of that module [m3/m2]: walls, ties and
        the least steel of walls.
    member_concrete, member_steel : float
        Of the member of one outer edge, per metre of span [m2]; 0 where none is needed. Steel on both sides:
        the force may turn with the load.
    """

    traverse: Traverse
    last: LastBay | None
    traverse_concrete: float
    traverse_steel: float
    member_concrete: float
    member_steel: float


def end_structure(
    section: Section,
    measures: Mapping[str, float],
    basis: Basis,
    proving: Proving,
    settings: EndSettings | None = None,
) -> EndStructure:
    """Reckon the end structure of one module from its folded plate, heaviest ultimate combination.

    The interior bay where the joints describe one, else the lone module. Columns stand under the valleys;
    without valleys one stands under the middle of the lowest part, and where the load leans from it the
    traverse reaches to the column of the next module.

    Notes
    -----
    The traverse takes the end shear flow; a tie joins the columns' feet, with a hinge at the highest place
    (three-hinged frame). Beside it stands w b^2 / (8 rise) with half the span's load: Ketchum, design notes
    "Barrel shells". Over a single column the traverse is a wall with its tie along the top. The member of
    the last bay: M = h L^2 / 8 (common practice).
    """
    s = settings or EndSettings()
    sides = {joint.side for joint in section.joints}
    bay = "interior" if sides == {"left", "right"} else "lone"
    solved = solve_heaviest(section, measures, basis, proving, bay, ULTIMATE)  # type: ignore[arg-type]
    traverse = _traverse(solved, basis, s)
    last = _last_bay(solved, basis, s) if bay == "interior" else None
    wall, plan = traverse.wall_area * s.wall, basis.span * basis.pitch
    return EndStructure(
        traverse,
        last,
        2.0 * wall / plan,
        2.0 * (s.wall_steel * wall + traverse.steel * traverse.tie_length) / plan,
        last.depth * s.member_thickness if last else 0.0,
        2.0 * last.steel if last else 0.0,
    )


def _traverse(solved: Solved, basis: Basis, s: EndSettings) -> Traverse:
    strips = solved.section.strips
    force = end_forces(solved.plate)
    reaction = -float(force[:, 1].sum())
    middle = 0.5 * (strips.nodes[strips.ends[:, 0]] + strips.nodes[strips.ends[:, 1]])
    places = _columns(solved.section, middle, force, basis.pitch)
    if len(places) == 2:
        columns = _shared(places, middle, force, float(strips.z.min()))
        tie, rise = _tie(strips, middle, force, columns)
        width = places[1] - places[0]
        estimate = reaction * width / (8.0 * rise) if rise > 0.0 else np.nan  # a flat slab has no tie
        bending, where, length = 0.0, "columns", width
    else:
        columns = ((places[0], reaction),)
        level = float(strips.z.min())
        depth = float(np.ptp(strips.z)) or float(strips.thickness.max())  # of a flat slab its thickness
        sides = (side * (middle[:, 0] - places[0]) > 0 for side in (-1.0, 1.0))
        bending = max(abs(_moment(middle, force, rows, places[0], level)) for rows in sides)
        tie, where, estimate = bending / (s.arm * depth), "top", np.nan
        length = float(np.ptp(strips.x))
    return Traverse(
        force, reaction, 0.5 * solved.load * basis.span, _none_if_small(float(force[:, 0].sum()), reaction),
        columns, tie, where, length, estimate, bending, abs(tie) / basis.strengths.steel, _area_below(strips),
    )  # fmt: skip


def _none_if_small(force: float, load: float) -> float:
    return 0.0 if abs(force) < ROUND_OFF * abs(load) else force


def _columns(section: Section, middle: Array, force: Array, pitch: float) -> tuple[float, ...]:
    """Places of the columns across [m]: valleys, else the lowest part, with the next one's where it leans."""
    x, z = section.strips.x, section.strips.z
    valleys = sorted({float(x[joint.node]) for joint in section.joints if joint.kind == "valley"})
    if len(valleys) >= 2:
        return valleys[0], valleys[-1]
    lowest = x[z <= z.min() + 1e-3 * np.ptp(z)]
    if not section.joints and np.ptp(lowest) > 0.5 * np.ptp(x):
        return float(lowest.min()), float(lowest.max())
    foot = 0.5 * (float(lowest.min()) + float(lowest.max()))
    every = np.ones(len(force), dtype=bool)
    leans = _moment(middle, force, every, foot, float(z.min())) / float(force[:, 1].sum())
    if abs(leans) < BALANCED * pitch:
        return (foot,)
    return (foot, foot + pitch) if leans > 0 else (foot - pitch, foot)


def _moment(middle: Array, force: Array, rows: BoolArray, x: float, z: float) -> float:
    """Moment of the marked forces about (x, z), anticlockwise in x right, z up [N m]."""
    lever = (middle[:, 0] - x) * force[:, 1] - (middle[:, 1] - z) * force[:, 0]
    return float(lever[rows].sum())


def _shared(
    places: tuple[float, ...], middle: Array, force: Array, level: float
) -> tuple[tuple[float, float], ...]:
    """Push of two columns at one level: they and the forces balance."""
    left, right = places
    every = np.ones(len(force), dtype=bool)
    on_right = -_moment(middle, force, every, left, level) / (right - left)
    return (left, -float(force[:, 1].sum()) - on_right), (right, on_right)


def _tie(
    strips: Strips, middle: Array, force: Array, columns: tuple[tuple[float, float], ...]
) -> tuple[float, float]:
    """Tension at the level of the columns' feet, and the rise over it: hinge at the highest place.

    Either side of the hinge gives it; where the shell pushes sideways the two differ and the larger counts.
    """
    top = int(np.argmax(strips.z))
    x, z, level = float(strips.x[top]), float(strips.z[top]), float(strips.z.min())
    sides = []
    for (place, push), way in zip(columns, (-1.0, 1.0), strict=True):
        turning = _moment(middle, force, way * (middle[:, 0] - x) > 0, x, z) + (place - x) * push
        sides.append(way * turning / (z - level) if z > level else 0.0)
    return max(sides, key=abs), z - level


def _area_below(strips: Strips) -> float:
    """Area between the roof and its lowest level [m2]."""
    dx, _ = strips.span_vectors()
    z = strips.z - strips.z.min()
    return float((np.abs(dx) * 0.5 * (z[strips.ends[:, 0]] + z[strips.ends[:, 1]])).sum())


def _last_bay(solved: Solved, basis: Basis, s: EndSettings) -> LastBay | None:
    """Force of the neighbour on the right edge, and a member that takes it between the ends."""
    kinds = [j.kind for j in solved.section.joints if j.side == "right" and j.kind == "valley"]
    kinds += ["strut"] * int((solved.plate.links.shift != 0.0).sum())
    if not kinds:
        return None
    plate, moment, cut = edge_forces(solved)
    by_slice = cut * basis.span**2 / 8.0
    depth = basis.span / s.member_depth
    steel = max(abs(moment), abs(by_slice)) / (s.arm * depth * basis.strengths.steel)
    return LastBay(kinds[0], plate, cut, moment, by_slice, depth, steel)


def edge_forces(solved: Solved) -> tuple[float, float, float]:
    """Sideways force of the neighbours on the right edge, outward positive.

    By the folded plate at mid-span [N/m], the moment of a member that takes it as it lies along the span
    [N m], and by the slice [N/m]; zero where nothing holds that edge.
    """
    nodes = sorted({j.node for j in solved.section.joints if j.side == "right" and j.kind == "valley"})
    spring, shifted = solved.supports.spring[nodes, ACROSS], solved.plate.links.shift != 0.0
    pull, along = link_pull(solved.plate)
    amplitude = np.where(spring > 0, support_forces(solved.plate)[:, nodes, ACROSS], 0.0).sum(axis=-1)
    amplitude = amplitude + (pull * along[:, ACROSS])[:, shifted].sum(axis=-1)
    sine = np.sin(0.5 * np.pi * solved.plate.harmonics)
    cut = float(np.where(spring > 0, solved.slice.support[nodes, ACROSS], 0.0).sum())
    one, two = solved.plate.links.ends.T
    stretch = ((solved.slice.moved[two, :2] - solved.slice.moved[one, :2]) * along).sum(axis=-1)
    cut += float((solved.plate.links.stiffness * stretch * along[:, ACROSS])[shifted].sum())
    moment = float((amplitude * sine / solved.plate.wave**2).sum())
    return float((amplitude * sine).sum()), moment, _none_if_small(cut, solved.load)
