"""Long-term deflection of a cracked and creeping module: two states of the section, and what lies between."""

import numpy as np

from longvault.constraints.basis import Basis
from longvault.constraints.reinforcement import BeamSection
from longvault.sections.properties import Properties
from longvault.sections.strips import Strips
from longvault.sections.symbols import Array

HALVINGS = 44
"""Bisection steps for the neutral axis: down to 1e-13 of the height."""
SUSTAINED_BOND = 0.5
"""beta of EN 1992-1-1, (7.19) for sustained load (from memory)."""


def cracked_inertia(
    strips: Strips, p: Properties, *, steel: Array, bars_z: Array, ratio: float, sagging: bool
) -> Array:
    """Second moment of the cracked section about its own horizontal neutral axis (...) [m4], in concrete.

    Concrete on the compressed side of the neutral axis and ``ratio`` times the steel, tension in concrete
    left out; the axis is where the first moments balance (any text on reinforced concrete). Each strip
    counts as spread evenly over its height, which is exact for upright ones.

    Parameters
    ----------
    strips : Strips
        Batch (...).
    p : Properties
        Of the same strips.
    steel, bars_z : array (...)
        Area of main bars [m2] and the height of their centroid [m].
    ratio : float
        Modulus of steel over that of concrete.
    sagging : bool
        True for compression at the top.

    Examples
    --------
    Rectangle 0.3 x 0.6 m, 20 cm2 at d = 0.55 m, n = 15: x = 0.2464 m, I = b x^3 / 3 + n A_s (d - x)^2.

    >>> from longvault.sections.properties import section_properties
    >>> beam = Strips.chain([0.0, 0.0], [0.0, 0.6], [0.3], "edge beam")
    >>> i = cracked_inertia(beam, section_properties(beam), steel=np.array(20e-4), bars_z=np.array(0.05),
    ...                     ratio=15.0, sagging=True)
    >>> round(float(i) * 1e3, 4)
    4.2612
    """
    sign = 1.0 if sagging else -1.0
    low, high, area = _heights(strips, sign)
    bars, edge = sign * bars_z, sign * (p.top if sagging else p.bottom)
    below = np.asarray(bars, dtype=np.float64)
    above = np.broadcast_to(edge, below.shape).astype(np.float64)
    heavy = ratio * steel
    for _ in range(HALVINGS):
        axis = 0.5 * (below + above)
        first = _moment(low, high, area, axis, 1)
        down = first > heavy * (axis - bars)
        below, above = np.where(down, axis, below), np.where(down, above, axis)
    axis = 0.5 * (below + above)
    return _moment(low, high, area, axis, 2) + heavy * (axis - bars) ** 2


def _heights(strips: Strips, sign: float) -> tuple[Array, Array, Array]:
    """Lower and upper end of the strips' full rectangles, compressed side up, and their areas (..., e)."""
    dx, dz = strips.span_vectors()
    length = np.sqrt(dx * dx + dz * dz)
    reach = 0.5 * (np.abs(dz) + strips.thickness * np.abs(dx) / length)
    middle = sign * 0.5 * (strips.at_first(strips.z) + strips.at_second(strips.z))
    return middle - reach, middle + reach, strips.thickness * length


def _moment(low: Array, high: Array, area: Array, axis: Array, power: int) -> Array:
    """First or second moment of the concrete above the axis (...), about it."""
    a, b = (np.maximum(v - axis[..., None], 0.0) for v in (low, high))
    per_height = area / (high - low)
    return np.asarray((per_height * (b ** (power + 1) - a ** (power + 1)) / (power + 1)).sum(axis=-1))


def long_term(
    elastic: Array,
    *,
    moment: Array,
    section: BeamSection,
    p: Properties,
    strips: Strips,
    steel: Array,
    basis: Basis,
) -> Array:
    """Long-term deflection between that of the uncracked and that of the cracked section (...) [m].

    EN 1992-1-1, 7.4.3 (7.18)-(7.20) (from memory): zeta cracked + (1 - zeta) uncracked, zeta = 1 - 0.5
    (M_cr / M)^2 or 0 below cracking, M the largest characteristic moment, both states with E_cm / (1 +
    creep). The section is held straight in the ratio of cracked to uncracked stiffness. Shrinkage is left
    out: common practice for a screen.

    Parameters
    ----------
    elastic : array (...)
        Elastic deflection under sustained load, with E_cm and the uncracked section [m].
    moment : array (...)
        Largest characteristic moment [N m].
    steel : array (...)
        Main steel [m2].
    """
    creep, concrete = 1.0 + basis.requirements.creep, basis.concrete
    ratio = basis.steel.modulus * creep / concrete.ecm
    cracked = cracked_inertia(
        strips, p, steel=steel, bars_z=section.bars_z, ratio=ratio, sagging=basis.sagging
    )
    above, below = (p.s_top, p.s_bottom) if basis.held else (p.s_free_compression, p.s_free_tension)
    cracking = concrete.fctm * (below if basis.sagging else above)
    share = np.where(
        moment > cracking, 1.0 - SUSTAINED_BOND * (cracking / np.maximum(moment, 1e-9)) ** 2, 0.0
    )
    softer = np.maximum(p.ixx / cracked, 1.0)
    return np.asarray(elastic * creep * (share * softer + 1.0 - share))
