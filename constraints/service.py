"""Long-term deflection of a cracked and creeping module: two states of the section, and what lies between."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from longvault.constraints import service_kernel
from longvault.constraints.basis import Basis
from longvault.constraints.materials import AmericanConcrete
from longvault.constraints.reinforcement import BeamSection
from longvault.constraints.strength import Moments
from longvault.sections.properties import Properties
from longvault.sections.rows import one_each, strip_rows
from longvault.sections.strips import Strips
from longvault.sections.symbols import Array


def cracked_inertia(
    strips: Strips, *, steel: ArrayLike, bars_z: ArrayLike, ratio: float, sagging: bool
) -> Array:
    """Second moment of the cracked section about its own horizontal neutral axis (...) [m4], in concrete.

    Concrete on the compressed side of the neutral axis and ``ratio`` times the steel, tension in concrete
    left out; the axis is where the first moments balance (any text on reinforced concrete). Each strip
    counts as spread evenly over its height, which is exact for upright ones.

    Parameters
    ----------
    strips : Strips
        Batch (...).
    steel, bars_z : array (...)
        Area of main bars [m2] and the height of their centroid [m].
    ratio : float
        Modulus of steel over that of concrete.
    sagging : bool
        True for compression at the top.

    Examples
    --------
    Rectangle 0.3 x 0.6 m, 20 cm2 at d = 0.55 m, n = 15: x = 0.2464 m, I = b x^3 / 3 + n A_s (d - x)^2.

    >>> beam = Strips.chain([0.0, 0.0], [0.0, 0.6], [0.3], "edge beam")
    >>> i = cracked_inertia(beam, steel=20e-4, bars_z=0.05, ratio=15.0, sagging=True)
    >>> round(float(i) * 1e3, 4)
    4.2612
    """
    bars, heavy = one_each(bars_z, strips.batch), ratio * one_each(steel, strips.batch)
    out = np.empty(bars.size)
    service_kernel.cracked_rows(*strip_rows(strips), 1.0 if sagging else -1.0, bars, heavy, out)
    return out.reshape(strips.batch)


@dataclass(frozen=True, slots=True)
class LongTerm:
    """How a standard takes cracking and creep into a deflection.

    Long-term over elastic deflection: ``times`` (zeta I / I_cr + 1 - zeta), zeta = 1 - ``bond`` (M_cr / M)^2
    where M is above ``threshold`` M_cr, 0 below; I_cr with ``softer`` times the modular ratio.
    """

    times: float
    bond: float
    threshold: float
    softer: float
    formula: str
    source: str


SUSTAINED_BOND = 0.5
"""beta of EN 1992-1-1, (7.19) for sustained load (from memory)."""
SUSTAINED_TIMES = 2.0
"""lambda_Delta of ACI 318-19, 24.2.4.1: five years or more, no compression steel counted (from memory)."""


def long_term_of(basis: Basis) -> LongTerm:
    """Return the rule of the standard in force.

    EN 1992-1-1, 7.4.3 (7.18)-(7.20): both states with E_cm / (1 + creep), zeta = 1 - 0.5 (M_cr / M)^2. ACI
    318-19, 24.2.3.5: I_e = I_cr / (1 - (2/3 M_cr / M)^2 (1 - I_cr / I_g)) above 2/3 M_cr, which is the same
    sum with zeta = 1 - (2/3 M_cr / M)^2, and 1 + lambda_Delta for time (24.2.4.1). Both from memory.

    Examples
    --------
    >>> from longvault.constraints.basis import Requirements
    >>> from longvault.constraints.actions import STANDARDS
    >>> need = Requirements(2.5)
    >>> [long_term_of(Basis(24.0, 9.0, need, standard=one)).times for one in STANDARDS.values()]
    [3.5, 3.0]
    """
    if isinstance(basis.concrete, AmericanConcrete):
        return LongTerm(
            1.0 + SUSTAINED_TIMES, 4.0 / 9.0, 2.0 / 3.0, 1.0,
            f"elastic x I_g / I_e x (1 + {SUSTAINED_TIMES:g})",
            "ACI 318-19, 24.2.3.5, 24.2.4.1 (from memory)",
        )  # fmt: skip
    creep = basis.requirements.creep
    return LongTerm(
        1.0 + creep, SUSTAINED_BOND, 1.0, 1.0 + creep,
        f"zeta cracked + (1 - zeta) uncracked, creep {creep:g}",
        "EN 1992-1-1, 7.4.3 (7.18)-(7.20) (from memory)",
    )  # fmt: skip


def stays_whole(basis: Basis) -> bool:
    """Whether prestress keeps the concrete from cracking: no more tension is allowed in service.

    Examples
    --------
    >>> from longvault.constraints.basis import Requirements
    >>> stays_whole(Basis(24.0, 9.0, Requirements(2.5)))
    False
    """
    settings = basis.concrete_settings
    use = None if settings is None else settings.tensioning
    return use is not None and use.tension_service <= basis.concrete.cracking


@dataclass(frozen=True, slots=True, eq=False)
class States:
    """Both states of a section and what lies between; every field is (...).

    Parameters
    ----------
    cracking : array
        Moment that cracks the section, M_cr [N m].
    inertia : array
        Second moment of the cracked section, I_cr; of the uncracked one where it does not crack [m4].
    share : array
        zeta, 0 where it does not crack.
    late : array
        Long-term over elastic deflection of the uncracked section.
    """

    cracking: Array
    inertia: Array
    share: Array
    late: Array


def states_of(
    strips: Strips,
    p: Properties,
    section: BeamSection,
    *,
    moment: Array,
    steel: Array,
    basis: Basis,
    sagging: bool,
) -> States:
    """Both states of a section under a moment of one sign, by `long_term_of` the standard in force (...).

    M is the largest characteristic moment of the sign looked at. The section is held straight in the ratio
    of cracked to uncracked stiffness. Shrinkage is left out: common practice for a screen. A module that
    prestress keeps whole only creeps.

    Parameters
    ----------
    strips, p, section : Strips, Properties, BeamSection
        Batch (...) of sections, and as a cracked beam for that sign.
    moment, steel : array (...)
        Largest characteristic moment [N m], and the main steel that bending asks for [m2].
    basis : Basis
        Materials and creep.
    sagging : bool
        Sign of the moment.

    Examples
    --------
    Tension below cracking leaves creep alone, 1 + 2.5:

    >>> from longvault.constraints.basis import Requirements
    >>> from longvault.constraints.reinforcement import beam_section
    >>> from longvault.sections.properties import section_properties
    >>> wall, basis = Strips.chain([0, 0], [0, 2], 0.3, "web"), Basis(10.0, 5.0, Requirements(3.0))
    >>> p = section_properties(wall)
    >>> found = states_of(wall, p, beam_section(wall, p, detailing=basis.detailing),
    ...                   moment=np.array(1e5), steel=np.array(5e-4), basis=basis, sagging=True)
    >>> float(found.late), float(found.share)
    (3.5, 0.0)
    """
    rule, concrete = long_term_of(basis), basis.concrete
    above, below = (p.s_top, p.s_bottom) if basis.held else (p.s_free_compression, p.s_free_tension)
    cracking = concrete.cracking * (below if sagging else above)
    if stays_whole(basis):
        none = 0.0 * moment * cracking
        return States(cracking, p.ixx, none, rule.times + none)
    ratio = rule.softer * basis.steel.modulus / concrete.ecm
    cracked = cracked_inertia(strips, steel=steel, bars_z=section.bars_z, ratio=ratio, sagging=sagging)
    opened = ~(moment <= rule.threshold * cracking)  # NaN rows stay NaN
    share = np.where(opened, 1.0 - rule.bond * (cracking / np.maximum(moment, 1e-9)) ** 2, 0.0)
    inertia = np.where(opened, np.minimum(cracked, p.ixx), p.ixx)
    return States(cracking, inertia, share, rule.times * (share * (p.ixx / inertia) + 1.0 - share))


def late_by_sign(
    strips: Strips,
    p: Properties,
    sections: tuple[BeamSection, BeamSection | None],
    m: Moments,
    steel: Mapping[str, Array],
    basis: Basis,
) -> tuple[Array, Array | None]:
    """Long-term over elastic deflection for the main sign of moment, and for the other where it occurs.

    ``steel`` holds the main steel of both signs by the keys of `longvault.constraints.strength.demands`.
    """
    moments = (m.sagging_service, m.hogging_service)
    late: list[Array] = []
    for section, key, sagging in zip(
        sections, ("steel_area", "steel_area_reverse"), (basis.sagging, not basis.sagging), strict=True
    ):
        if section is not None:
            found = states_of(
                strips, p, section, moment=moments[0 if sagging else 1], steel=steel[key], basis=basis,
                sagging=sagging,
            )  # fmt: skip
            late.append(found.late)
    return late[0], late[1] if len(late) > 1 else None
