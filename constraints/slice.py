"""The transverse slice: one metre of the roof as a frame under its load and the change of the shear flow."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

import numpy as np

from longvault.constraints.plates import Links, PlateLoads, Supports, elimination_order, link_values
from longvault.constraints.plates_kernel import DOFS, LINK_COLUMNS, LINK_ROWS
from longvault.constraints.plates_midspan import smooth
from longvault.constraints.plates_records import locked
from longvault.constraints.plates_results import orientation, passages
from longvault.constraints.slice_flow import tangential_load
from longvault.constraints.slice_kernel import COLUMNS, FREEDOMS, ROWS, slice_rows
from longvault.sections import Strips
from longvault.sections.symbols import Array, BoolArray, IntArray

ACROSS, ALONG, UP, TURN = range(DOFS)

LEVEL = 1e-6
"""Sideways supports within this share of the section's height of each other do not stop it turning."""


class Slices(NamedTuple):
    """Slices of D candidates under P cases, as the kernels take them.

    Parameters
    ----------
    x, z, thickness : array (D, n), (D, n), (D, e)
        Sections [m].
    ends, place : int array (e, 2), (n,)
        Nodes of each strip, and where each node stands in the order of elimination.
    band : int
        Half-bandwidth.
    entry, joined_entry : int array (e, 21), (k, 10)
        Where the stiffness of strips and links goes in the flat band.
    spring : array (D, n, 4)
        What holds the nodes.
    link, joined : array (D, 10, k), int array (k, 2)
        Stiffness of the links and the nodes they join.
    chain : bool
        Whether strip i joins node i to node i + 1.
    surface, plan : array (P, D, e)
        Loads on the strips, as `PlateLoads` has them.
    line_down, line_right : array (P, D, n)
        Loads on the nodes.
    flow : array (D, 1 or 2, 2, e)
        Change of the shear flow for a unit load up, then right.
    plane : float
        E / (1 - nu^2) [Pa].
    rest : bool array (3,)
        What nothing holds.
    """

    x: Array
    z: Array
    thickness: Array
    ends: IntArray
    place: IntArray
    band: int
    entry: IntArray
    spring: Array
    link: Array
    joined: IntArray
    joined_entry: IntArray
    chain: bool
    surface: Array
    plan: Array
    line_down: Array
    line_right: Array
    flow: Array
    plane: float
    rest: BoolArray


@dataclass(frozen=True, slots=True, eq=False)
class Slice:
    """What a transverse slice says; per metre of span.

    Parameters
    ----------
    n_s : array (..., e, 2)
        Force across at both ends of each strip, tension positive [N/m].
    m_s : array (..., e, 2)
        Transverse moment, + with tension on the upper face (the left one, in a vertical strip) [N m/m].
        Ends of equally thick strips are averaged at two-strip nodes.
    moved : array (..., n, 3)
        Movement of the nodes right, up [m] and turned from x to z [rad]; what the section moves as a whole,
        where nothing holds it, is taken out.
    support : array (..., n, 4)
        Force right, -, up [N/m] and moment [N m/m] of the supports on the section; round-off elsewhere.
    torque : array (...)
        Moment per metre of span that load and shear flow leave over [N m/m]: the load times its distance to
        the shear centre. Where no support takes it, twisting couples in proportion to b t^3 balance it.
    """

    n_s: Array
    m_s: Array
    moved: Array
    support: Array
    torque: Array


def transverse_slice(
    strips: Strips,
    loads: PlateLoads,
    *,
    modulus: float,
    poisson: float = 0.0,
    supports: Supports | None = None,
    links: Links | None = None,
) -> Slice:
    """Solve a slice one metre long, cut from a long roof, as a plane frame (the beam-arch method).

    The load is carried by the change of the beam's shear flow along the span, a tangential force w Q / I on
    the slice; the two are in balance, so a lone slice needs no support. Bending and axial deformation.

    Parameters
    ----------
    strips : Strips, batch (...)
    loads : PlateLoads
    modulus, poisson : float
        Of the plates [Pa]; forces of a free slice do not depend on them.
    supports : Supports, optional
        As for the folded plate (`plates_row.bay_supports`): an interior bay does not move sideways or turn
        at its valleys and is free to go down.
    links : Links, optional
        Struts and collars.

    Notes
    -----
    Method: Lundgren, Cylindrical Shells, vol. 1, 1949; Chinn, ACI Journal, May 1959. Beam stresses are those
    of free biaxial bending, or of straight bending where a support holds the section sideways. Shear flow of
    the mid-line without the plates' own thickness, so that it balances the load exactly.

    Examples
    --------
    Transverse moment at the crown of a lone barrel over g R^2 (derived: 0.0797 for 40 degrees).

    >>> angle = np.radians(np.linspace(-40.0, 40.0, 81))
    >>> barrel = Strips.chain(np.sin(angle), np.cos(angle), 0.01, "wing")
    >>> found = transverse_slice(barrel, PlateLoads(surface=1.0), modulus=30e9)
    >>> round(float(found.m_s[40, 0]), 4)
    0.0797
    """
    (found,) = transverse_slices(
        strips, (loads,), modulus=modulus, poisson=poisson, supports=supports, links=links
    )
    return found


def transverse_slices(
    strips: Strips,
    cases: Sequence[PlateLoads],
    *,
    modulus: float,
    poisson: float = 0.0,
    supports: Supports | None = None,
    links: Links | None = None,
) -> tuple[Slice, ...]:
    """Solve several load cases of the same slices on one factorisation; arguments as `transverse_slice`."""
    raw = solved_slices(
        strips, cases, modulus=modulus, poisson=poisson, supports=supports, links=links
    )  # fmt: skip
    m_s = raw.m_s * orientation(strips)[..., None]
    n_s, rows = raw.n_s, passages(strips)
    smooth(strips, rows, n_s, signed=False)
    smooth(strips, rows, m_s, signed=True)
    return tuple(
        Slice(*(locked(values[p]) for values in (n_s, m_s, raw.moved, raw.support, raw.torque)))
        for p in range(len(cases))
    )


def solved_slices(
    strips: Strips,
    cases: Sequence[PlateLoads],
    *,
    modulus: float,
    poisson: float = 0.0,
    supports: Supports | None = None,
    links: Links | None = None,
) -> Slice:
    """Solve the same as one record whose arrays begin with the case, for checks that run in every evaluation.

    Moments are + with tension on the left of each strip's own direction, and nothing is averaged.
    """
    given = laid_out(strips, cases, modulus=modulus, poisson=poisson, supports=supports, links=links)
    designs, nodes, count = len(given.x), strips.x.shape[-1], len(strips.ends)
    lead = (designs, len(cases))
    shapes = ((count, 2), (count, 2), (nodes, FREEDOMS), (nodes, DOFS), ())
    found = [np.empty((*lead, *shape)) for shape in shapes]
    slice_rows(tuple(given), *found)
    return Slice(
        *(
            np.ascontiguousarray(np.swapaxes(values, 0, 1)).reshape(len(cases), *strips.batch, *shape)
            for values, shape in zip(found, shapes, strict=True)
        )
    )


def laid_out(
    strips: Strips,
    cases: Sequence[PlateLoads],
    *,
    modulus: float,
    poisson: float = 0.0,
    supports: Supports | None = None,
    links: Links | None = None,
) -> Slices:
    """Lay slices and their cases out as the kernels take them; arguments as `transverse_slice`."""
    nodes, count = strips.x.shape[-1], len(strips.ends)
    supports = Supports.free(nodes) if supports is None else supports
    links = Links.none() if links is None else links
    spring, rest = _held(strips, supports, links)
    place = elimination_order(strips, links)
    band, entry, joined = _entries(*(v.tobytes() for v in (place, strips.ends, links.ends)))
    sideways = any(np.any(case.line_right) for case in cases)
    flow = tangential_load(strips, held=not rest[ACROSS], sideways=sideways)
    designs = int(np.prod(strips.batch))
    flow = np.ascontiguousarray(np.moveaxis(flow.reshape(-1, 2, designs, count), 2, 0))
    whole = np.broadcast_to(link_values(strips, links), (*strips.batch, 10, len(links.ends)))
    surface, plan = (_case_rows(cases, name, strips, count) for name in ("surface", "plan"))
    down, right = (_case_rows(cases, name, strips, nodes) for name in ("line_down", "line_right"))
    return Slices(
        strips.x.reshape(designs, nodes), strips.z.reshape(designs, nodes),
        strips.thickness.reshape(designs, count), strips.ends, place, band, entry,
        np.ascontiguousarray(spring).reshape(designs, nodes, DOFS),
        np.ascontiguousarray(whole).reshape(designs, 10, len(links.ends)), links.ends, joined,
        strips.is_chain, surface, plan, down, right, flow,
        modulus / (1.0 - poisson * poisson), rest[[ACROSS, UP, TURN]],
    )  # fmt: skip


def _case_rows(cases: Sequence[PlateLoads], name: str, strips: Strips, size: int) -> Array:
    """One kind of load of every case (P, D, ``size``)."""
    shape = (*strips.batch, size)
    each = np.stack([np.broadcast_to(getattr(case, name), shape) for case in cases])
    return each.reshape(len(cases), -1, size)


@lru_cache(maxsize=64)
def _entries(*packed: bytes) -> tuple[int, IntArray, IntArray]:
    """Return half-bandwidth and where the values of strips and links go in the flat band; kept."""
    place, *pairs = (np.frombuffer(one, dtype=np.intp) for one in packed)
    ends = [place[pair.reshape(-1, 2)] for pair in pairs]
    band = FREEDOMS * (int(np.abs(np.diff(np.concatenate(ends), axis=1)).max()) + 1) - 1

    def flat(nodes: IntArray, freedoms: int, rows: IntArray, columns: IntArray) -> IntArray:
        whole = (FREEDOMS * nodes[..., None] + np.arange(freedoms)).reshape(len(nodes), 2 * freedoms)
        one, two = whole[:, rows], whole[:, columns]
        return locked(np.minimum(one, two) * (band + 1) + np.abs(one - two))

    return band, flat(ends[0], FREEDOMS, ROWS, COLUMNS), flat(ends[1], 2, LINK_ROWS, LINK_COLUMNS)


def _held(strips: Strips, supports: Supports, links: Links) -> tuple[Array, BoolArray]:
    """Return springs (..., n, 4), and in which directions (4,) nothing holds the section as a whole.

    A body in balance needs one node at rest to be solved; no force arises there.
    """
    springs = supports.spring.reshape(-1, *supports.spring.shape[-2:])
    holds: BoolArray = np.greater(springs.max(axis=0), 0.0)
    rest: BoolArray = np.logical_not(holds.any(axis=0))
    rest[ALONG] = False
    over = links.ends[links.shift != 0.0]  # a sloping strut to the next module holds this one against turning
    turned = all(_levers(strips, pair) for pair in over) if len(over) else _levers(strips, holds[:, ACROSS])
    rest[TURN] = rest[TURN] and not turned
    spring = np.array(np.broadcast_to(supports.spring, (*strips.x.shape, DOFS)))
    spring[..., 0, rest] = np.inf
    return spring, rest


def _levers(strips: Strips, held: BoolArray | IntArray) -> bool:
    """Say whether nodes that are held stand at different heights, which stops the section from turning."""
    heights = strips.z[..., held]
    return heights.shape[-1] > 1 and bool(
        np.all(np.ptp(heights, axis=-1) > LEVEL * np.ptp(strips.z, axis=-1))
    )
