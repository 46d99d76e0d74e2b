"""Buckling: classical formulas, settings, and finite strips over half-wavelengths."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.linalg import LinAlgError, eigh

from longvault.constraints.plates import Links, Supports, elimination_order, link_values
from longvault.constraints.plates_kernel import COLUMNS, DOFS, ROWS, band_entries, strip_stiffness
from longvault.constraints.stability_kernel import BENDING, MEMBRANE, MOST, lowest_loops, stable_loops
from longvault.constraints.stability_screen_kernel import panel
from longvault.sections import Strips
from longvault.sections.rows import one_each
from longvault.sections.symbols import Array, IntArray


@dataclass(frozen=True, slots=True)
class BucklingSettings:
    """What stands between the classical buckling stress and the one to design with; every field is a setting.

    Parameters
    ----------
    creep : float
        Final creep coefficient: E_c,eff = E_cm / (1 + creep) (EN 1992-1-1 (7.20), from memory).
    knock_down : float
        Imperfection and cracking share of the classical stress, creep apart. Recommendations for concrete
        shells multiply several reductions, creep among them, to 0.1-0.2 (IASS 1979; ACI SP-67; from memory).
    safety : float
        Required factor on what remains.
    """

    creep: float = 2.5
    knock_down: float = 0.3
    safety: float = 1.5

    def __post_init__(self) -> None:
        if not (self.creep >= 0 and 0 < self.knock_down <= 1 and self.safety >= 1):
            raise ValueError(
                "creep must be at least 0, knock_down above 0 and at most 1, safety at least 1; "
                f"got {self.creep}, {self.knock_down}, {self.safety}"
            )

    def design_share(self) -> float:
        """Return design buckling stress over the classical one.

        Examples
        --------
        >>> round(155.56 * BucklingSettings(creep=2.5, knock_down=0.3, safety=1.0).design_share(), 2)
        13.33
        """
        return self.knock_down / (1.0 + self.creep) / self.safety


def plate_stress(
    factor: ArrayLike, *, thickness: ArrayLike, width: ArrayLike, modulus: float, poisson: float
) -> Array:
    """Return k pi^2 E / (12 (1 - nu^2)) (t / b)^2 [Pa].

    Source: Timoshenko & Gere, Theory of Elastic Stability (from memory).

    Examples
    --------
    >>> float(plate_stress(4.0, thickness=0.08, width=3.0, modulus=33e9, poisson=0.2).round(-4))
    80420000.0
    """
    slender = np.asarray(thickness) / np.asarray(width)
    found: Array = np.asarray(factor) * (np.pi**2 * modulus / (12.0 * (1.0 - poisson**2))) * slender * slender
    return found


def cylinder_stress(*, thickness: ArrayLike, radius: ArrayLike, modulus: float, poisson: float) -> Array:
    """Return the classical stress of a cylinder along its axis, E t / (R sqrt(3 (1 - nu^2))) [Pa].

    Source: Timoshenko & Gere (from memory).

    Examples
    --------
    >>> float(cylinder_stress(thickness=0.08, radius=10.0, modulus=33e9, poisson=0.2).round(-4))
    155560000.0
    """
    found: Array = np.asarray(thickness) * modulus / (np.asarray(radius) * np.sqrt(3.0 * (1.0 - poisson**2)))
    return found


def free_edge_factor(poisson: float) -> float:
    """Return k of a long plate with one free long edge, 6 (1 - nu)/pi^2 (Timoshenko & Gere; from memory).

    Examples
    --------
    >>> round(free_edge_factor(0.25), 3)  # 0.456, against 4 of a plate held at both edges
    0.456
    """
    return 6.0 * (1.0 - poisson) / np.pi**2


def panel_stress(
    *, thickness: ArrayLike, width: ArrayLike, curvature: ArrayLike, modulus: float, poisson: float
) -> Array:
    """Return the buckling stress of a curved panel between simply supported straight edges [Pa].

    E / (6 (1 - nu^2)) [sqrt(12 (1 - nu^2) (t/R)^2 + (pi t/b)^4) + (pi t/b)^2]: a plate (k = 4) where flat,
    the cylinder where wide. Source: Redshaw, ARC R&M 1565, 1933 (from memory; both limits checked).

    Examples
    --------
    >>> flat = panel_stress(thickness=0.1, width=10.0, curvature=0.0, modulus=30e9, poisson=0.2)
    >>> round(float(flat) / 1e6, 3)  # 4 pi^2 E / (12 (1 - nu^2)) (t / b)^2
    10.281
    """
    t, b, c = (np.asarray(values, dtype=np.float64) for values in (thickness, width, curvature))
    return np.asarray(panel(t, b, c, modulus, poisson))


@dataclass(frozen=True, slots=True, eq=False)
class Buckling:
    """Lowest buckling load of a section under given stresses.

    Parameters
    ----------
    factor : array (...)
        Classical critical stress over the stress given; inf where nothing is compressed.
    half_wave : array (...)
        The half-wavelength along the span that gives it [m].
    factors : array (..., a)
        The lowest factor at each half-wavelength.
    mode : array (..., n, 4)
        Its shape: x, y, z, rotation, largest displacement 1.
    """

    factor: Array
    half_wave: Array
    factors: Array
    mode: Array


def half_waves(span: float, *, shortest: float, ratio: float = 1.15) -> Array:
    """Return half-wavelengths to try: the span over whole numbers, each about ``ratio`` times the next [m].

    Examples
    --------
    >>> half_waves(12.0, shortest=2.0, ratio=1.4).tolist()
    [12.0, 6.0, 4.0, 3.0, 2.4]
    """
    if not (span > 0 and shortest > 0 and ratio > 1):
        raise ValueError(f"span and shortest must be above 0, ratio above 1; got {span}, {shortest}, {ratio}")
    counts, wanted = [1], 1.0
    while (wanted := wanted * ratio) <= span / shortest:
        if round(wanted) > counts[-1]:
            counts.append(round(wanted))
    waves: Array = span / np.array(counts, dtype=np.float64)
    return waves


_IN_PLANE, _ALONG, _NORMAL = np.array([0, 4]), np.array([1, 5]), np.array([2, 3, 6, 7])


def strip_geometric(
    c: ArrayLike, s: ArrayLike, b: ArrayLike, t: ArrayLike, k: float, first: ArrayLike, second: ArrayLike
) -> Array:
    """Return the geometric stiffness (..., 8, 8) of strips per half span; compression linear between ends.

    Kg(u, u) = Kg(v, v) = t k^2 int sigma N N, Kg(w) = t k^2 int sigma H H; degrees of freedom as
    `strip_stiffness`. Source: Cheung, Finite Strip Method in Structural Analysis, 1976 (from memory).
    """
    c, s, b, t, first, second = (
        np.asarray(v, dtype=np.float64)[..., None] for v in (c, s, b, t, first, second)
    )
    one, two = first[..., None], second[..., None]
    membrane = one * MEMBRANE[0] + two * MEMBRANE[1]
    lever = np.concatenate([np.ones_like(b), b, np.ones_like(b), b], axis=-1)
    bending = (one * BENDING[0] + two * BENDING[1]) * lever[..., :, None] * lever[..., None, :]
    local, turn = np.zeros((2, *b.shape[:-1], 8, 8))
    for place, values in ((_IN_PLANE, membrane), (_ALONG, membrane), (_NORMAL, bending)):
        local[..., place[:, None], place] = values
    turn[..., range(8), range(8)] = 1.0
    for i in (0, 4):
        turn[..., i, i], turn[..., i, i + 2] = c[..., 0], s[..., 0]
        turn[..., i + 2, i], turn[..., i + 2, i + 2] = -s[..., 0], c[..., 0]
    turned = np.einsum("...ji,...jk,...kl->...il", turn, local, turn)
    scaled: Array = (t * b * k * k)[..., None] * turned
    return scaled


def buckling(
    strips: Strips,
    stress: Array,
    *,
    half_waves: ArrayLike,
    modulus: float,
    poisson: float,
    supports: Supports | None = None,
) -> Buckling:
    """Find the lowest load factor of a prismatic section under stresses along the span, by finite strips.

    Parameters
    ----------
    strips : Strips, batch (...)
        Facets of a curve no wider than 0.5 sqrt(R t), or the answer is too high.
    stress : array (..., e, 2)
        Stress along the span at both ends of each strip, tension positive [Pa]; linear between.
    half_waves : array (a,)
        Half-wavelengths along the span to try [m]; the smallest factor counts.
    modulus, poisson : float
        Pa and ratio; give the creep-reduced modulus for sustained load.
    supports : Supports, optional
        Held nodal lines.

    Notes
    -----
    K phi = lambda Kg phi for each half-wavelength, dense, one candidate at a time: for delivered designs; the
    screen for the search is `local_screen`. Cost about 20 ms a half-wavelength for 65 nodes.
    """
    waves = np.asarray(half_waves, dtype=np.float64)
    if waves.ndim != 1 or not waves.size or not np.all(waves > 0):
        raise ValueError(f"half_waves must be a list of lengths above 0 m; got {half_waves!r}")
    nodes = strips.x.shape[-1]
    spring = np.broadcast_to(np.zeros(DOFS) if supports is None else supports.spring, (*strips.x.shape, DOFS))
    factors = np.full((*strips.batch, waves.size), np.nan)
    modes = np.full((*strips.batch, waves.size, nodes, DOFS), np.nan)
    for index in np.ndindex(strips.batch):
        one = strips[index] if strips.batch else strips
        for i, wave in enumerate(waves):
            pair = _matrices(one, stress[index], np.pi / wave, modulus, poisson, spring[index].reshape(-1))
            factors[(*index, i)], modes[(*index, i)] = _lowest(*pair, nodes)
    known = np.where(np.isnan(factors), np.inf, factors)
    best = known.argmin(axis=-1)[..., None]
    factor = np.take_along_axis(factors, best, axis=-1)[..., 0]
    mode = np.take_along_axis(modes, best[..., None, None], axis=-3)[..., 0, :, :]
    return Buckling(factor, waves[best[..., 0]], factors, mode)


def _matrices(
    strips: Strips, stress: Array, k: float, modulus: float, poisson: float, spring: Array
) -> tuple[Array, Array, IntArray]:
    """Assemble K and Kg of one section over its free degrees of freedom."""
    size = DOFS * strips.x.shape[-1]
    elastic, geometric = np.zeros((2, size, size))
    dx, dz = strips.span_vectors()
    width = strips.length
    for n, (first, second) in enumerate(strips.ends):
        b, t = width[n], strips.thickness[n]
        with np.errstate(all="ignore"):
            c, s = dx[n] / b, dz[n] / b
            own = np.zeros((8, 8))
            own[ROWS, COLUMNS] = own[COLUMNS, ROWS] = strip_stiffness(c, s, b, t, k, modulus, poisson)
        place = np.r_[DOFS * first : DOFS * first + DOFS, DOFS * second : DOFS * second + DOFS]
        elastic[place[:, None], place] += own
        geometric[place[:, None], place] += strip_geometric(c, s, b, t, k, *-stress[n])
    free = np.flatnonzero(~np.isinf(spring))
    elastic[free, free] += spring[free]
    return elastic[free[:, None], free], geometric[free[:, None], free], free


def _lowest(elastic: Array, geometric: Array, free: IntArray, nodes: int) -> tuple[float, Array]:
    """Return the smallest positive factor and its mode; NaN for a bad candidate, inf without compression."""
    unknown = np.full((nodes, DOFS), np.nan)
    if not (np.isfinite(elastic).all() and np.isfinite(geometric).all()):
        return np.nan, unknown
    last = len(elastic) - 1
    try:
        value, vector = eigh(geometric, elastic, subset_by_index=[last, last])
    except LinAlgError:
        return np.nan, unknown
    mode = np.zeros((nodes, DOFS))
    mode.reshape(-1)[free] = vector[:, 0]
    mode /= np.abs(mode[:, :3]).max()
    return (1.0 / float(value[0]) if value[0] > 0 else np.inf), mode


def lowest_factor(
    strips: Strips,
    stress: Array,
    *,
    half_waves: ArrayLike,
    modulus: float,
    poisson: float,
    supports: Supports | None = None,
    links: Links | None = None,
    guess: float = 1.0,
    accuracy: float = 1e-4,
    most: ArrayLike = MOST,
) -> tuple[Array, Array]:
    """Find the lowest buckling factor (...) of sections and its half-wavelength [m], without the shape.

    Arguments as for `buckling`, with links between nodes. The factor is the largest at which K - factor Kg
    keeps all pivots positive (Sylvester's law of inertia), found by halving to ``accuracy`` from below: never
    above the true one but by round-off. A half-wavelength that cannot lower it costs one factorisation.
    ``guess`` only saves steps; a factor above ``most`` (...) is told as that. NaN for a bad candidate, inf
    where nothing is compressed.
    """
    nodes, count = strips.x.shape[-1], len(strips.ends)
    links = Links.none() if links is None else links
    place = elimination_order(strips, links)
    (first, second), (one, two) = place[strips.ends].T, place[links.ends].T
    entry, link_entry = band_entries(first, second, one, two)
    link = np.broadcast_to(link_values(strips, links), (*strips.batch, 10, len(links.ends)))
    reach = int(max([np.abs(first - second).max(), *np.abs(one - two)]))
    spring = np.zeros((nodes, DOFS)) if supports is None else supports.spring
    ordered = np.broadcast_to(spring, (*strips.x.shape, DOFS))[..., np.argsort(place), :]
    waves = np.asarray(half_waves, dtype=np.float64)
    designs = int(np.prod(strips.batch))
    factor, best = np.empty(designs), np.empty(designs, dtype=np.intp)
    cap = one_each(np.asarray(most, dtype=np.float64), strips.batch)
    ordered = ordered.reshape(designs, nodes * DOFS)
    given = (
        strips.x.reshape(designs, nodes), strips.z.reshape(designs, nodes),
        strips.thickness.reshape(designs, count), strips.ends,
        np.ascontiguousarray(-stress.reshape(designs, count, 2)), entry,
        np.ascontiguousarray(ordered), np.ascontiguousarray(link.reshape(designs, 10, len(links.ends))),
        link_entry, np.pi / waves, modulus, poisson, DOFS * (reach + 1) - 1, cap,
    )  # fmt: skip
    stable = np.zeros((designs, waves.size), dtype=np.bool_)
    if np.any(cap < MOST):
        stable_loops(*given, np.flatnonzero((ordered != 0.0).any(axis=0)), stable)
    lowest_loops(*given, stable, accuracy, guess, factor, best)
    length = np.where(best < 0, np.nan, waves[best])
    return factor.reshape(strips.batch), length.reshape(strips.batch)
