"""Harmonic folded plate: a prismatic section of any strips as plates that span on end diaphragms."""

from dataclasses import dataclass, replace
from typing import Any, Self

import numpy as np
from numpy.typing import ArrayLike
from scipy.sparse import coo_array
from scipy.sparse.csgraph import reverse_cuthill_mckee

from longvault.constraints.plates_kernel import DOFS, Lanes, band_entries, solve_lanes
from longvault.sections import Strips
from longvault.sections.symbols import Array, IntArray

ODD_HARMONICS = (1, 3, 5, 7, 9)
"""The default: with 65 nodes the worst peak stress of 60 gull-wings was 1.1 % off (derived)."""


def locked(array: Array) -> Array:
    """Make a new array read-only, in place."""
    array = np.asarray(array)
    array.flags.writeable = False
    return array


def read_only(values: ArrayLike) -> Array:
    """Return a read-only C-ordered float64 copy, of the same shape (also for a single number)."""
    return locked(np.array(values, dtype=np.float64, order="C"))


def freeze(record: Any, *names: str) -> None:
    """Make the named array fields of a new frozen dataclass read-only."""
    for name in names:
        object.__setattr__(record, name, read_only(getattr(record, name)))


@dataclass(frozen=True, slots=True, eq=False)
class PlateLoads:
    """Loads on a section, uniform along the span; every field broadcasts over the batch.

    Parameters
    ----------
    surface : array (..., e)
        Down, per area of mid-surface [N/m2]: own weight, finishes.
    plan : array (..., e)
        Down, per area on plan [N/m2]: snow. A vertical strip gets none.
    line_down, line_right : array (..., n)
        On the nodal lines [N/m of span].

    Examples
    --------
    >>> PlateLoads(surface=2000.0).surface.tolist()
    2000.0
    """

    surface: ArrayLike = 0.0
    plan: ArrayLike = 0.0
    line_down: ArrayLike = 0.0
    line_right: ArrayLike = 0.0

    def __post_init__(self) -> None:
        freeze(self, "surface", "plan", "line_down", "line_right")

    def down(self, strips: Strips) -> Array:
        """Return the vertical load of each strip per metre of its width (..., e), down positive [N/m2]."""
        dx, dz = strips.span_vectors()
        surface, plan = (np.broadcast_to(v, dx.shape) for v in (self.surface, self.plan))
        with np.errstate(all="ignore"):
            return surface + plan * np.abs(dx) / np.sqrt(dx * dx + dz * dz)

    def nodal(self, strips: Strips) -> Array:
        """Return the work-equivalent nodal line loads (..., n, 4): x, y, z [N/m], rotation [N]."""
        dx, dz = strips.span_vectors()
        width = np.sqrt(dx * dx + dz * dz)
        surface, plan = (np.broadcast_to(v, width.shape) for v in (self.surface, self.plan))
        down = surface * width + plan * np.abs(dx)
        out = np.zeros((*strips.x.shape, DOFS))
        out[..., 0] = self.line_right
        out[..., 2] -= self.line_down
        # Linear shape functions carry half to each end; the normal part also turns the ends: q b^2/12.
        half, turn = 0.5 * down, down * dx / 12.0
        if strips.is_chain:
            out[..., :-1, 2] -= half
            out[..., 1:, 2] -= half
            out[..., :-1, 3] -= turn
            out[..., 1:, 3] += turn
            return out
        for i, (first, second) in enumerate(strips.ends):
            out[..., [first, second], 2] -= half[..., i, None]
            out[..., first, 3] -= turn[..., i]
            out[..., second, 3] += turn[..., i]
        return out


@dataclass(frozen=True, slots=True, eq=False)
class Supports:
    """What holds nodal lines along the span, beside the diaphragms; nothing by default.

    Parameters
    ----------
    spring : array (..., n, 4)
        Stiffness against x, y, z [N/m per metre of span] and rotation [N m/rad per metre];
        0 is free, ``inf`` holds fast.
    """

    spring: Array

    def __post_init__(self) -> None:
        freeze(self, "spring")

    @classmethod
    def free(cls, nodes: int) -> Self:
        """Hold nothing: a lone module between its diaphragms."""
        return cls(np.zeros((nodes, DOFS)))


@dataclass(frozen=True, slots=True, eq=False)
class Links:
    """Struts or collars between two nodal lines, smeared along the span.

    Parameters
    ----------
    ends : int array (k, 2)
        The nodes each link joins.
    stiffness : array (..., k)
        E A / (length x spacing) of the struts [N/m per metre of span].
    """

    ends: IntArray
    stiffness: Array

    def __post_init__(self) -> None:
        object.__setattr__(self, "ends", np.array(self.ends, dtype=np.intp).reshape(-1, 2))
        self.ends.flags.writeable = False
        freeze(self, "stiffness")

    @classmethod
    def none(cls) -> Self:
        """Join nothing."""
        return cls(np.empty((0, 2), dtype=np.intp), np.empty(0))


@dataclass(frozen=True, slots=True, eq=False)
class FoldedPlate:
    """The solved folded plate: amplitudes from which `plates_results` recovers everything.

    Parameters
    ----------
    displacement : array (..., H, n, 4)
        Amplitudes of x, y, z [m] and rotation [rad] per harmonic; x, z and the rotation (from x to
        z) vary as sin(m pi y / L), y as the cosine.
    nodal_load : array (..., n, 4)
        Line loads of full intensity [N/m].
    strip_load : array (..., e)
        Vertical load of each strip, down positive [N/m2].
    amplitude : array (H,)
        Fourier coefficient of the load along the span.
    loaded : (float, float)
        Loaded part of the span as fractions.
    """

    strips: Strips
    span: Array
    modulus: float
    poisson: float
    harmonics: IntArray
    amplitude: Array
    loaded: tuple[float, float]
    nodal_load: Array
    strip_load: Array
    displacement: Array
    supports: Supports
    links: Links

    @property
    def wave(self) -> Array:
        """Wave numbers m pi / L, (..., H) [1/m]."""
        return self.harmonics * np.pi / self.span[..., None]


NOT_YET = np.zeros(0)


def folded_plate(
    strips: Strips,
    loads: PlateLoads,
    *,
    span: ArrayLike,
    modulus: float,
    poisson: float = 0.0,
    supports: Supports | None = None,
    links: Links | None = None,
    harmonics: tuple[int, ...] = ODD_HARMONICS,
    loaded: tuple[float, float] = (0.0, 1.0),
    threads: int = 1,
) -> FoldedPlate:
    """Solve a prismatic section of strips that spans simply between two diaphragms.

    The diaphragms hold the section in its plane and let it warp. Displacements are sine series along
    the span, quadratic (in plane) and cubic (out of plane) across each strip, so the harmonics part and
    each is a small banded system. Thin plates (no shear deformation), linear elastic, small movement.

    Parameters
    ----------
    strips : Strips, batch (...)
        Chains, branches and closed cells; mid-lines. A bad candidate gives a NaN row.
    loads : PlateLoads
        Loads, uniform along the loaded part of the span.
    span : array (...)
        Distance of the diaphragms [m].
    modulus, poisson : float
        Young's modulus [Pa] and Poisson's ratio, 0 to below 0.5.
    supports, links : Supports, Links, optional
        Held nodal lines; struts and collars. Nothing is held unless it is said here.
    harmonics : tuple of int
        Numbers of half-waves; even ones matter only where the load is not symmetric along the span.
    loaded : (float, float)
        Loaded part of the span as fractions: (0, 0.5) loads one half.
    threads : int
        Threads that share the systems; the result does not depend on it.

    Returns
    -------
    FoldedPlate

    Raises
    ------
    ValueError
        For arguments outside their range.

    Notes
    -----
    Source: Cheung, Finite Strip Method in Structural Analysis, 1976 (from memory). The load of a
    uniform line q is q_m = 2 q (cos(m pi a) - cos(m pi b)) / (m pi) on the part a to b.

    Examples
    --------
    A simply supported plate strip, 1 m wide and 0.1 m thick, bends as a beam: 5 q L^4 / (384 E I).

    >>> plate = Strips.chain([0.0, 0.5, 1.0], [0.0, 0.0, 0.0], 0.1, "slab")
    >>> beam = 5 * 1e3 * 4.0**4 / (384 * 30e9 * 0.1**3 / 12)
    >>> solved = folded_plate(plate, PlateLoads(surface=1000.0), span=4.0, modulus=30e9)
    >>> signs = np.array([1, -1, 1, -1, 1])
    >>> down = -float((solved.displacement[:, 1, 2] * signs).sum())
    >>> round(down * 1e3, 4), round(beam * 1e3, 4)
    (1.3333, 1.3333)
    """
    waves = _checked(modulus, poisson, harmonics, loaded, threads)
    alone = np.setdiff1d(np.arange(strips.x.shape[-1]), strips.ends)
    if alone.size:
        raise ValueError(f"every node must belong to a strip; node {alone[0]} belongs to none")
    supports = Supports.free(strips.x.shape[-1]) if supports is None else supports
    links = Links.none() if links is None else links
    span = read_only(np.broadcast_to(np.asarray(span, dtype=np.float64), strips.batch))
    if np.any(span <= 0):
        raise ValueError(f"span must be above 0 m; got {span.min()}")
    low, high = loaded
    amplitude = 2.0 / (np.pi * waves) * (np.cos(waves * np.pi * low) - np.cos(waves * np.pi * high))
    nodal = loads.nodal(strips)
    return solved_plate(
        FoldedPlate(
            strips, span, modulus, poisson, waves, locked(amplitude), loaded,
            locked(nodal), locked(loads.down(strips)), NOT_YET, supports, links,
        ), threads,
    )  # fmt: skip


def solved_plate(asked: FoldedPlate, threads: int = 1) -> FoldedPlate:
    """Return the record with its displacements found; an infinite span gives a slice that varies nowhere."""
    place = elimination_order(asked.strips, asked.links)
    found = solve_lanes(_lanes(asked, place), threads)
    shape = (*asked.strips.batch, len(asked.harmonics), *asked.nodal_load.shape[-2:])
    return replace(asked, displacement=locked(found.reshape(shape)))


def _checked(
    modulus: float, poisson: float, harmonics: tuple[int, ...], loaded: tuple[float, float], threads: int
) -> IntArray:
    if not modulus > 0:
        raise ValueError(f"modulus must be above 0 Pa; got {modulus}")
    if not 0 <= poisson < 0.5:
        raise ValueError(f"poisson must be at least 0 and below 0.5; got {poisson} (concrete: 0 to 0.2)")
    if not 0 <= loaded[0] < loaded[1] <= 1:
        raise ValueError(f"loaded must be two rising fractions of the span from 0 to 1; got {loaded}")
    if threads < 1:
        raise ValueError(f"threads must be at least 1; got {threads}")
    waves = np.asarray(harmonics, dtype=np.intp)
    if waves.ndim != 1 or not waves.size or waves.min() < 1 or len(set(waves.tolist())) != waves.size:
        raise ValueError(
            f"harmonics must be different whole numbers from 1 up, such as (1, 3, 5); got {harmonics}"
        )
    return waves


def elimination_order(strips: Strips, links: Links) -> IntArray:
    """Return the place of each node in the order of elimination: as it is, or by reverse Cuthill-McKee."""
    count = strips.x.shape[-1]
    if strips.is_chain and not len(links.ends):
        return np.arange(count)
    ends = np.concatenate([strips.ends, links.ends])
    graph = coo_array((np.ones(len(ends)), (ends[:, 0], ends[:, 1])), shape=(count, count)).tocsr()
    order = np.asarray(reverse_cuthill_mckee((graph + graph.T).tocsr(), symmetric_mode=True))
    place = np.empty(count, dtype=np.intp)
    place[order] = np.arange(count)
    as_is = np.abs(np.diff(ends, axis=1)).max()
    return place if np.abs(np.diff(place[ends], axis=1)).max() < as_is else np.arange(count)


def _lanes(asked: FoldedPlate, place: IntArray) -> Lanes:
    """Turn the batch inside out: nodes in the order of elimination, designs last."""
    strips, span, nodal, links = asked.strips, asked.span, asked.nodal_load, asked.links
    nodes = strips.x.shape[-1]

    def last(values: Array, *tail: int) -> Array:
        whole = np.broadcast_to(values, (*strips.batch, *tail)).reshape(span.size, *tail)
        return np.ascontiguousarray(np.moveaxis(whole, 0, -1))

    dx, dz = strips.span_vectors()
    width = np.sqrt(dx * dx + dz * dz)
    count = len(strips.ends)
    with np.errstate(all="ignore"):
        c, s = last(dx / width, count), last(dz / width, count)
    shape = (c, s, last(width, count), last(strips.thickness, count))
    inside = np.argsort(place)
    load = last(nodal[..., inside, :].reshape(*strips.batch, -1), nodes * DOFS)
    held = asked.supports.spring
    spring = last(held[..., inside, :].reshape(*held.shape[:-2], -1), nodes * DOFS)
    supported = np.flatnonzero(spring.any(axis=-1))
    first, second = place[strips.ends].T
    one, two = place[links.ends].T
    entry, link_entry = band_entries(first, second, one, two)
    reach = max([np.abs(first - second).max(), *np.abs(one - two)])
    wave = asked.harmonics[:, None] * (np.pi / span.reshape(-1))
    return Lanes(
        shape, wave, entry, link_entry, last(_link_values(strips, links), 10, len(links.ends)), load,
        supported, spring[supported], asked.modulus, asked.poisson, DOFS * (int(reach) + 1) - 1,
        inside, asked.amplitude,
    )  # fmt: skip


def _link_values(strips: Strips, links: Links) -> Array:
    """Return the stiffness of each link (..., 10, k): k d d^T with d along the link."""
    one, two = links.ends.T
    dx, dz = strips.x[..., two] - strips.x[..., one], strips.z[..., two] - strips.z[..., one]
    with np.errstate(all="ignore"):
        scaled = links.stiffness / (dx * dx + dz * dz)
    xx, xz, zz = scaled * dx * dx, scaled * dx * dz, scaled * dz * dz
    return np.stack([xx, xz, -xx, -xz, zz, -xz, -zz, xx, xz, zz], axis=-2)
