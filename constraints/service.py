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
    return _cracked(strips, steel, bars_z, ratio, sagging)[0]


def _cracked(
    strips: Strips, steel: ArrayLike, bars_z: ArrayLike, ratio: float, sagging: bool
) -> tuple[Array, Array]:
    """Second moment of the cracked section and the distance of its axis from the bars (...)."""
    bars, heavy = one_each(bars_z, strips.batch), ratio * one_each(steel, strips.batch)
    out = np.empty((bars.size, 2))
    service_kernel.cracked_rows(*strip_rows(strips), 1.0 if sagging else -1.0, bars, heavy, out)
    return out[:, 0].reshape(strips.batch), out[:, 1].reshape(strips.batch)


@dataclass(frozen=True, slots=True)
class LongTerm:
    """How a standard takes cracking and creep into a deflection.

    Long-term over elastic deflection: ``times`` (zeta I / I_cr + 1 - zeta), zeta = 1 - ``bond`` (M_cr / M)^2
    where M is above ``threshold`` M_cr, 0 below; I_cr with ``softer`` times the modular ratio. ``shrinkage``
    is the strain whose curvature comes on top; 0 where ``times`` holds it.
    """

    times: float
    bond: float
    threshold: float
    softer: float
    shrinkage: float
    formula: str
    source: str


SUSTAINED_BOND = 0.5
"""beta of EN 1992-1-1, (7.19) for sustained load (from memory)."""
SUSTAINED_TIMES = 2.0
"""lambda_Delta of ACI 318-19, 24.2.4.1: five years or more, no compression steel counted (from memory)."""


def long_term_of(basis: Basis) -> LongTerm:
    """Return the rule of the standard in force.

    EN 1992-1-1, 7.4.3 (7.18)-(7.21): both states with E_cm / (1 + creep), zeta = 1 - 0.5 (M_cr / M)^2, and
    the curvature of shrinkage. ACI 318-19, 24.2.3.5: I_e = I_cr / (1 - (2/3 M_cr / M)^2 (1 - I_cr / I_g))
    above 2/3 M_cr, which is the same sum with zeta = 1 - (2/3 M_cr / M)^2, and 1 + lambda_Delta for creep and
    shrinkage (24.2.4.1). Both from memory. For thin roofs with little steel ACI comes out two to three times
    higher, as written: lambda_Delta multiplies the whole cracked deflection, while by EN creep softens the
    concrete alone, which hardly moves a section that its steel governs.

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
            1.0 + SUSTAINED_TIMES, 4.0 / 9.0, 2.0 / 3.0, 1.0, 0.0,
            f"elastic x I_g / I_e x (1 + {SUSTAINED_TIMES:g})",
            "ACI 318-19, 24.2.3.5, 24.2.4.1 (from memory)",
        )  # fmt: skip
    creep, shrinkage = basis.requirements.creep, basis.requirements.shrinkage
    return LongTerm(
        1.0 + creep, SUSTAINED_BOND, 1.0, 1.0 + creep, shrinkage,
        f"zeta cracked + (1 - zeta) uncracked, creep {creep:g}, shrinkage {shrinkage * 1e3:g} mm/m",
        "EN 1992-1-1, 7.4.3 (7.18)-(7.21) (from memory)",
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
    shrunk : array
        Curvature of shrinkage, in the sense of the moment [1/m].
    """

    cracking: Array
    inertia: Array
    share: Array
    late: Array
    shrunk: Array


def shrinkage_curvature(
    p: Properties, *, steel: Array, bars_z: Array, ratio: float, cracked: tuple[Array, Array], share: Array
) -> Array:
    """Curvature that a shrinkage strain of 1 leaves in a section with bars on one side (...) [1/m].

    alpha_e S / I, S of the bars about the axis, for both states, and zeta between them (EN 1992-1-1, 7.4.3(6)
    and (7.21), from memory): what a free strain of the concrete does to a section that its bars hold back.

    Parameters
    ----------
    p : Properties
        Batch (...); the whole section without steel.
    steel, bars_z : array (...)
        Bars [m2] and the height of their centroid [m].
    ratio : float
        Modulus of steel over the crept one of concrete, alpha_e.
    cracked : tuple of array (...)
        Second moment of the cracked section [m4], and the distance of its axis from the bars [m].
    share : array (...)
        zeta, 0 where uncracked.

    Examples
    --------
    Rectangle 0.3 x 0.6 m, 20 cm2 at 0.05 m, alpha_e = 15; uncracked the axis stands at (0.18 x 0.3 + 0.03 x
    0.05) / 0.21 = 0.264 m, S / I = 0.03 x 0.214 / 0.00701:

    >>> from longvault.sections.properties import section_properties
    >>> beam = section_properties(Strips.chain([0.0, 0.0], [0.0, 0.6], [0.3], "edge beam"))
    >>> bent = shrinkage_curvature(beam, steel=np.array(20e-4), bars_z=np.array(0.05), ratio=15.0,
    ...                            cracked=(np.array(0.0042612), np.array(0.3036)), share=np.array(0.0))
    >>> round(float(bent), 3)
    0.917
    """
    inertia, arm = cracked
    heavy = ratio * steel
    apart = np.abs(p.centroid_z - bars_z)
    own = apart * p.area / (p.area + heavy)
    whole = p.ixx + p.area * (apart - own) ** 2 + heavy * own * own
    none = share * heavy
    with np.errstate(divide="ignore", invalid="ignore"):
        opened = np.where(none == 0.0, none, none * arm / inertia)
    bent: Array = opened + (1.0 - share) * heavy * own / whole
    return bent


def states_of(
    strips: Strips,
    p: Properties,
    section: BeamSection,
    *,
    moment: Array,
    lasting: Array,
    steel: Array,
    basis: Basis,
    sagging: bool,
) -> States:
    """Both states of a section under a moment of one sign, by `long_term_of` the standard in force (...).

    M is the largest characteristic moment of the sign looked at. The section is held straight in the ratio
    of cracked to uncracked stiffness. The curvature of shrinkage lies along the span as the steel does, and
    that as the moment: so it is told as a share of the elastic curvature under the ``lasting`` moment. Bars
    the same from end to end would have it evenly, which on a simple span sags by a fifth more of it. A module
    that prestress keeps whole only creeps.

    Parameters
    ----------
    strips, p, section : Strips, Properties, BeamSection
        Batch (...) of sections, and as a cracked beam for that sign.
    moment, lasting, steel : array (...)
        Largest characteristic and quasi-permanent moment [N m], main steel that bending asks for [m2].
    basis : Basis
        Materials and creep.
    sagging : bool
        Sign of the moment.

    Examples
    --------
    Tension below cracking leaves creep, 1 + 2.5, and shrinkage, 1.62e-5 x 32.8 GPa x 0.2 m4 over 0.1 MNm:

    >>> from longvault.constraints.basis import Requirements
    >>> from longvault.constraints.reinforcement import beam_section
    >>> from longvault.sections.properties import section_properties
    >>> wall, basis = Strips.chain([0, 0], [0, 2], 0.3, "web"), Basis(10.0, 5.0, Requirements(3.0))
    >>> p, moment = section_properties(wall), np.array(1e5)
    >>> found = states_of(wall, p, beam_section(wall, p, detailing=basis.detailing), moment=moment,
    ...                   lasting=moment, steel=np.array(5e-4), basis=basis, sagging=True)
    >>> round(float(found.late), 2), float(found.share)
    (4.56, 0.0)
    """
    rule, concrete = long_term_of(basis), basis.concrete
    above, below = (p.s_top, p.s_bottom) if basis.held else (p.s_free_compression, p.s_free_tension)
    cracking = concrete.cracking * (below if sagging else above)
    if stays_whole(basis):
        none = 0.0 * moment * cracking
        return States(cracking, p.ixx, none, rule.times + none, none)
    ratio = rule.softer * basis.steel.modulus / concrete.ecm
    found = _cracked(strips, steel, section.bars_z, ratio, sagging)
    opened = ~(moment <= rule.threshold * cracking)  # NaN rows stay NaN
    share = np.where(opened, 1.0 - rule.bond * (cracking / np.maximum(moment, 1e-9)) ** 2, 0.0)
    inertia = np.where(opened, np.minimum(found[0], p.ixx), p.ixx)
    late = rule.times * (share * (p.ixx / inertia) + 1.0 - share)
    shrunk = rule.shrinkage * shrinkage_curvature(
        p, steel=steel, bars_z=section.bars_z, ratio=ratio, cracked=found, share=share
    )
    elastic = lasting / (concrete.ecm * section.inertia)
    with np.errstate(divide="ignore", invalid="ignore"):
        late = late + np.where(lasting > 0.0, shrunk / elastic, 0.0 * lasting)
    return States(cracking, inertia, share, late, shrunk)


def late_by_sign(
    strips: Strips,
    p: Properties,
    sections: tuple[BeamSection, BeamSection | None],
    m: Moments,
    steel: Mapping[str, Array],
    basis: Basis,
) -> tuple[Array, Array | None]:
    """Long-term over elastic deflection for the main sign of moment, and for the other where it occurs.

    ``steel`` holds the main steel of both signs by the keys of `longvault.constraints.strength.demands`, and
    the quasi-permanent moments by those of `longvault.constraints.evaluate.lasting_moments`.
    """
    moments = (m.sagging_service, m.hogging_service)
    late: list[Array] = []
    for section, sign, sagging in zip(
        sections, ("", "_reverse"), (basis.sagging, not basis.sagging), strict=True
    ):
        if section is not None:
            found = states_of(
                strips, p, section, moment=moments[0 if sagging else 1],
                lasting=steel[f"sustained_moment{sign}"], steel=steel[f"steel_area{sign}"], basis=basis,
                sagging=sagging,
            )  # fmt: skip
            late.append(found.late)
    return late[0], late[1] if len(late) > 1 else None
