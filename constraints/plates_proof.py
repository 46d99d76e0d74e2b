"""Prove one section: folded plate at fine resolution, with its convergence and beam theory."""

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from longvault.constraints.plates import FoldedPlate, Links, PlateLoads, Supports, folded_plate
from longvault.constraints.plates_beam import BeamShare, BeamTheory, beam_share, beam_theory
from longvault.constraints.plates_checks import Equilibrium, equilibrium
from longvault.constraints.plates_kernel import DOFS
from longvault.constraints.plates_refine import refined
from longvault.constraints.plates_results import displacements, passages, smoothed, strip_forces
from longvault.constraints.plates_row import Bay, bay_supports, neighbour_struts
from longvault.sections import Section, Strips
from longvault.sections.symbols import Array, IntArray

HARMONICS = 25
"""Odd harmonics of a proof: moments and stresses at mid-span then stand to 0.1 % (derived)."""

PIECES = 80
"""A proof cuts the whole mid-line into about this many strips first, then each of them in two."""

LEAST_WIDTH = 0.008
"""Share of the span below which strips are not cut: narrower ones only cost digits (1e-16 / (k b)^4)."""

MOST_STRIPS = 4000
SHEAR_STATION = 0.1


@dataclass(frozen=True, slots=True, eq=False)
class Proof:
    """What the folded plate says of one section, per entry: a node, or a strip end where thickness jumps.

    Parameters
    ----------
    x, z : array (r,)
        Place of the entry [m].
    part : tuple of str, length r
    moved : array (r, 4)
        Movement at mid-span: x, y, z [m], rotation from x to z [rad].
    n_y, n_s, m_s : array (r,)
        Force along the span, force and moment across, at mid-span [N/m, N/m, N m/m].
    n_ys : array (r,)
        Shear at a tenth of the span [N/m].
    beam_n_y : array (r,)
        Force along the span by beam theory [N/m].
    beam, share, balance
        Beam theory, beam share and equilibrium of the whole section.
    held : bool
        Whether beam theory holds the section straight sideways.
    change : float
        Largest change of a force, moment or movement when every strip was cut in two, over the largest
        force, moment or movement.
    solved : FoldedPlate
        The fine solution.
    """

    x: Array
    z: Array
    part: tuple[str, ...]
    moved: Array
    n_y: Array
    n_s: Array
    m_s: Array
    n_ys: Array
    beam_n_y: Array
    beam: BeamTheory
    share: BeamShare
    balance: Equilibrium
    held: bool
    change: float
    solved: FoldedPlate


def subdivided(strips: Strips, pieces: IntArray) -> Strips:
    """Cut strip i of one section into ``pieces[i]`` equal strips; nodes keep their numbers, new ones follow.

    Examples
    --------
    >>> fine = subdivided(Strips.chain([0.0, 1.0], [0.0, 0.0], 0.1, "slab"), np.array([4]))
    >>> fine.x.tolist(), fine.ends.tolist()
    ([0.0, 1.0, 0.25, 0.5, 0.75], [[0, 2], [2, 3], [3, 4], [4, 1]])
    """
    x, z, ends = list(strips.x), list(strips.z), []
    for (first, second), count in zip(strips.ends, pieces, strict=True):
        path = [first, *range(len(x), len(x) + count - 1), second]
        for part in np.arange(1, count) / count:
            x.append(strips.x[first] + part * (strips.x[second] - strips.x[first]))
            z.append(strips.z[first] + part * (strips.z[second] - strips.z[first]))
        ends += list(pairwise(path))
    parts = np.repeat(np.array(strips.parts, dtype=object), pieces)
    return Strips(np.array(x), np.array(z), np.array(ends), np.repeat(strips.thickness, pieces), tuple(parts))


def prove(
    section: Section,
    *,
    span: float,
    surface_load: float,
    modulus: float,
    poisson: float,
    bay: Bay = "lone",
    pitch: float | None = None,
    harmonics: int = HARMONICS,
) -> Proof:
    """Analyse one section as a folded plate, fine enough to stand on its own.

    Parameters
    ----------
    section : Section
        With its joints where the bay is not the lone one.
    span : float
        Distance of the diaphragms [m].
    surface_load : float
        Vertical load per area of mid-surface, down positive [N/m2].
    modulus, poisson : float
        Young's modulus [Pa], Poisson's ratio.
    bay : "lone", "interior" or "end"
    pitch : float, optional
        Distance of the modules [m]: struts then reach to the next one, which stands as this one does
        (`longvault.constraints.plates_row.neighbour_struts`). Without it each ends at a plane of symmetry.
    harmonics : int
        Number of odd harmonics.

    Raises
    ------
    ValueError
        For arguments outside their range, or a bay the joints do not describe.
    """
    if harmonics < 1:
        raise ValueError(f"harmonics must be at least 1; got {harmonics}")
    strips, links = section.strips, Links.none()
    spring = bay_supports(section, bay, mirrored=pitch is None).spring
    if pitch is not None:
        links = neighbour_struts(strips, section.joints, bay, pitch)
    width = max(strips.length.sum() / PIECES, LEAST_WIDTH * span)
    pieces = np.ceil(strips.length / width).astype(int)
    if pieces.sum() > MOST_STRIPS // 2:
        pieces = np.ones_like(pieces)

    def solve(fineness: int) -> FoldedPlate:
        fine = subdivided(strips, pieces * fineness)
        held = np.concatenate([spring, np.zeros((fine.x.size - strips.x.size, DOFS))])
        return refined(folded_plate(
            fine, PlateLoads(surface=surface_load), span=span, modulus=modulus, poisson=poisson,
            supports=Supports(held), links=links, harmonics=tuple(range(1, 2 * harmonics, 2)),
        ))  # fmt: skip

    coarse, fine = (solve(fineness) for fineness in (1, 2))
    held = bool(np.isinf(spring[:, 0]).any())
    return _gathered(section, coarse, fine, pieces, held)


def _gathered(
    section: Section, coarse: FoldedPlate, fine: FoldedPlate, pieces: IntArray, held: bool
) -> Proof:
    strips = section.strips
    node, strip, end = _entries(strips)
    beam = beam_theory(fine, held=held)
    one, two = _values(coarse, pieces, node, strip, end), _values(fine, 2 * pieces, node, strip, end)
    first, last = _outer_pieces(2 * pieces)
    beam_n_y = np.stack([beam.n_y[first, 0], beam.n_y[last, 1]], axis=-1)[strip, end]
    moved, n_y, n_s, m_s, n_ys = two
    # moments across below a thousandth of what one strip alone would carry, q L^2 / 8, are none
    least = 1e-3 * float(np.abs(fine.strip_load).max() * fine.span**2) / 8.0
    return Proof(
        strips.x[node], strips.z[node], tuple(strips.parts[i] for i in strip), moved, n_y, n_s, m_s, n_ys,
        beam_n_y, beam, beam_share(fine, beam), equilibrium(fine), held, _change(one, two, least), fine,
    )  # fmt: skip


def _entries(strips: Strips) -> tuple[IntArray, IntArray, IntArray]:
    """List node, strip and end of each entry: one a node where values are averaged, else one a strip end."""
    shared = {row[0]: row for row in passages(strips) if strips.thickness[row[1]] == strips.thickness[row[3]]}
    rows = []
    for node in range(strips.x.size):
        if node in shared:
            rows.append((node, shared[node][1], shared[node][2]))
            continue
        rows += [(node, i, end) for i, end in zip(*np.nonzero(strips.ends == node), strict=True)]
    node, strip, end = np.array(rows, dtype=np.intp).T
    return node, strip, end


def _outer_pieces(pieces: IntArray) -> tuple[IntArray, IntArray]:
    last = np.cumsum(pieces) - 1
    return last - pieces + 1, last


def _values(
    solved: FoldedPlate, pieces: IntArray, node: IntArray, strip: IntArray, end: IntArray
) -> tuple[Array, Array, Array, Array, Array]:
    """Return movement, n_y, n_s and m_s at mid-span and n_ys at a tenth of the span, per entry."""
    forces = smoothed(solved.strips, strip_forces(solved, (0.5, SHEAR_STATION)))
    piece = np.stack(_outer_pieces(pieces), axis=-1)[strip, end]
    n_y, n_s, m_s = (values[0, piece, end] for values in (forces.n_y, forces.n_s, forces.m_s))
    return displacements(solved)[0, node], n_y, n_s, m_s, forces.n_ys[1, piece, end]


def _change(one: tuple[Array, ...], two: tuple[Array, ...], least_moment: float) -> float:
    """Return the largest change of movement, force and moment, each over the largest of its kind."""
    moved, n_y, n_s, m_s, n_ys = (float(np.abs(a - b).max()) for a, b in zip(one, two, strict=True))
    movement = float(np.abs(two[0][:, ::2]).max())
    force = max(float(np.abs(two[i]).max()) for i in (1, 2, 4))
    moment = max(float(np.abs(two[3]).max()), least_moment)
    scaled = ((moved, movement), (max(n_y, n_s, n_ys), force), (m_s, moment))
    return max(change / size if size > 0 else 0.0 for change, size in scaled)
