"""Cracks among the closer checks: the steel that holds their width, for both signs of moment; bar spacing."""

from dataclasses import dataclass

import numpy as np

from longvault.constraints.bars import GatheredBars, gathered_bars
from longvault.constraints.basis import Basis
from longvault.constraints.concrete_settings import ConcreteSettings
from longvault.constraints.crack_width import (
    Bonded,
    CrackWidth,
    TensionZone,
    american_bar_spacing,
    crack_width,
    steel_for_width,
    tension_zone,
)
from longvault.constraints.demand import Demand
from longvault.constraints.effects import signs_of
from longvault.constraints.limit import CAP, Limit
from longvault.constraints.materials import AmericanConcrete
from longvault.constraints.reinforcement import clear_spacing
from longvault.constraints.service import long_term_of
from longvault.sections.properties import Properties
from longvault.sections.strips import Strips
from longvault.sections.symbols import Array, BoolArray

CRACK_WIDTH = "crack-width"
"""Key of the limit."""
WIDTHS = ("crack_steel", "crack_steel_reverse", "crack_width")
"""Measures where the width is worked out."""
SPACING = ("bar_spacing",)
"""Measures where ACI 318 asks for close bars instead."""
RAISES, CLOSE = 8, 0.999
"""Steel is raised at most so often, to this share of the width allowed."""
NO_MOMENT = 1.0
"""Least moment looked at: one that does not occur opens nothing [N m]."""


def measured(basis: Basis, settings: ConcreteSettings | None) -> tuple[str, ...]:
    """Measures of cracks under a basis of design; none with post-tensioning, whose limit is decompression.

    Examples
    --------
    >>> from longvault.constraints.actions import STANDARDS
    >>> from longvault.constraints.basis import Requirements
    >>> need = Requirements(2.5)
    >>> plain = ConcreteSettings()
    >>> [measured(Basis(24.0, 9.0, need, standard=one), plain)[-1] for one in STANDARDS.values()]
    ['crack_width', 'bar_spacing']
    """
    if settings is None or settings.tensioning is not None:
        return ()
    return SPACING if isinstance(basis.concrete, AmericanConcrete) else WIDTHS


@dataclass(frozen=True, slots=True, eq=False)
class Cracked:
    """One side of the section with its bars under the quasi-permanent moment.

    Parameters
    ----------
    zone : TensionZone
        Stress and effective zone, fields (...).
    found : CrackWidth
        Width with its steps, fields (...).
    within : array (...)
        Main steel within the effective zone; all of it but where the bars reach higher [m2].
    needed : array (...)
        Main steel that would hold the width, nearly: lever arm and zone as they are [m2].
    """

    zone: TensionZone
    found: CrackWidth
    within: Array
    needed: Array


def cracked_side(
    strips: Strips,
    p: Properties,
    basis: Basis,
    *,
    moment: Array,
    steel: Array,
    sagging: bool,
    laid: GatheredBars | None = None,
) -> Cracked:
    """Cracks of a batch (...) with the main steel given, and the steel that would just hold their width.

    Bars are laid as for bending; the modulus of concrete is that of the long-term deflection
    (`longvault.constraints.service.long_term_of`). The mesh is bonded steel too where bars lie wide.

    Parameters
    ----------
    strips, p : Strips, Properties
        Batch (...).
    basis : Basis
        Materials, detailing, width allowed.
    moment, steel : array (...)
        Quasi-permanent moment of this sign [N m]; main steel [m2].
    sagging : bool
        Sign of the moment.
    laid : GatheredBars, optional
        That steel laid out, where it is at hand.

    Examples
    --------
    A wall 0.3 x 3 m, 50 cm2: stress M / (z A_s) with z near 2.6 m.

    >>> from longvault.constraints.basis import Requirements
    >>> from longvault.sections.properties import section_properties
    >>> wall, basis = Strips.chain([0, 0], [0, 3], 0.3, "web"), Basis(20.0, 5.0, Requirements(3.0))
    >>> given = {"moment": np.array(2.5e6), "steel": np.array(50e-4), "sagging": True}
    >>> side = cracked_side(wall, section_properties(wall), basis, **given)
    >>> round(float(side.zone.stress) / 1e6), round(float(side.found.width) * 1e3, 3)
    (196, 0.139)
    """
    d = basis.detailing
    if laid is None:
        laid = gathered_bars(strips, p, area=steel, detailing=d, sagging=sagging)
    ratio = long_term_of(basis).softer * basis.steel.modulus / basis.concrete.ecm
    zone = tension_zone(strips, laid.bars, moment=moment, ratio=ratio, sagging=sagging, held=basis.held)
    bonded = bonded_bars(basis, sagging=sagging)
    apart = np.minimum(laid.apart, d.mesh_spacing)
    share = _share_within(zone, laid, basis, sagging=sagging)
    within, width = share * steel, CLOSE * basis.requirements.width_allowed
    found = crack_width(zone, bonded, steel=within, apart=apart)
    needed = steel_for_width(zone, bonded, steel=within, width=width, apart=apart)
    return Cracked(zone, found, within, needed / share)


def _share_within(zone: TensionZone, laid: GatheredBars, basis: Basis, *, sagging: bool) -> Array:
    """Share of the bars in the effective zone (...): even over the depth they take, one layer at least."""
    layer = basis.detailing.main_bar + clear_spacing(basis.detailing)
    start = bonded_bars(basis, sagging=sagging).cover + 0.5 * (basis.detailing.main_bar - layer)
    reach = np.where(np.isinf(laid.depth), 0.0, laid.depth)  # no room at all: refused elsewhere
    return np.minimum(np.maximum(zone.depth - start, layer) / np.maximum(reach - start, layer), 1.0)


def bonded_bars(basis: Basis, *, sagging: bool) -> Bonded:
    """Return the main bars of one side; the mesh lies between them and the cover."""
    d = basis.detailing
    cover = d.cover_bottom if sagging else d.cover_top
    return Bonded(d.main_bar, cover + d.mesh_bar, basis.concrete, basis.steel.modulus)


def crack_measures(
    strips: Strips,
    p: Properties,
    basis: Basis,
    demand: Demand,
    settings: ConcreteSettings,
    steel: Array,
    reverse: Array,
    laid: GatheredBars | None = None,
) -> tuple[dict[str, Array], BoolArray | None]:
    """Measures of `measured` for a batch (...); the steel that holds the width is what is to be provided.

    With it comes where cracks of the other sign of moment are the wider ones (...), if both signs occur.

    Parameters
    ----------
    strips, p, basis, demand, settings
        As for `longvault.constraints.concrete_checks.concrete_measures`.
    steel, reverse : array (...)
        Main steel that everything else asks for, and that of the other sign of moment [m2].
    laid : GatheredBars, optional
        The former laid out, where it is at hand.
    """
    keys, rows = measured(basis, settings), []
    sides = [("", demand.sustained, steel, basis.sagging)]
    if signs_of(basis).both:
        sides.append(("_reverse", demand.reverse_sustained, reverse, not basis.sagging))
    if keys == SPACING:
        d = basis.detailing
        every = [gathered_bars(strips, p, area=one, detailing=d, sagging=way) for _, _, one, way in sides]
        wide = np.maximum.reduce([one.apart for one in every])
        return {SPACING[0]: np.minimum(wide, d.mesh_spacing)}, None
    found: dict[str, Array] = {}
    for suffix, moment, least, way in sides if keys else []:
        acting = np.maximum(np.broadcast_to(moment, strips.batch), NO_MOMENT)
        own = laid if not suffix else None
        found[f"crack_steel{suffix}"], width = _held(strips, p, basis, acting, least, own, sagging=way)
        rows.append(width)
    if not rows:
        return {}, None
    return found | {"crack_width": np.maximum.reduce(rows)}, rows[1] > rows[0] if len(rows) > 1 else None


def _held(
    strips: Strips,
    p: Properties,
    basis: Basis,
    moment: Array,
    least: Array,
    laid: GatheredBars | None,
    *,
    sagging: bool,
) -> tuple[Array, Array]:
    """Steel that holds the crack width, and the width with the larger of that and ``least`` (...).

    More steel lies higher, so that a few rounds are needed; what holds is not looked at again.
    """
    side = cracked_side(strips, p, basis, moment=moment, steel=least, sagging=sagging, laid=laid)
    steel, needed, width = side.needed, side.needed, side.found.width
    for _ in range(RAISES):
        over = width > basis.requirements.width_allowed
        if not over.any():
            break
        acting, more = np.where(over, moment, np.nan), np.where(over, needed, np.nan)  # NaN rows cost nothing
        side = cracked_side(strips, p, basis, moment=acting, steel=more, sagging=sagging)
        steel, needed = np.where(over, more, steel), np.where(over, side.needed, needed)
        width = np.where(over, side.found.width, width)
    return steel, width


def crack_limits(basis: Basis, settings: ConcreteSettings) -> tuple[Limit, ...]:
    """Limit the width of cracks, or the distance of bars where ACI 318 is in force.

    Steel is provided until the width holds, so that being at that limit is the rule where it asks for most.
    """
    keys, need = measured(basis, settings), basis.requirements
    if keys == SPACING:
        most = american_bar_spacing(basis.steel.fyk, bonded_bars(basis, sagging=basis.sagging).cover)
        return (
            Limit(
                "bar-spacing", "distance of bars along the span, for cracks", "bar_spacing", most, CAP,
                "s <= min(380 (280 / f_s) - 2.5 c_c, 300 (280 / f_s)) mm, f_s = 2/3 f_y; s of the main bars "
                "or of the mesh between them",
                "ACI 318-19, 24.3.2 (from memory)",
            ),
        )  # fmt: skip
    if not keys:
        return ()
    source = "EN 1992-1-1:2004, 7.3.4"
    source += "; width by the brief" if need.crack_width_max else ", table 7.1N"
    return (
        Limit(
            CRACK_WIDTH, f"crack width at the main bars, {need.exposure}, quasi-permanent", "crack_width",
            need.width_allowed, CAP,
            "w_k = s_r,max (eps_sm - eps_cm), steel stress of the cracked section, creep counted",
            f"{source} (from memory)", contact=True,
        ),
    )  # fmt: skip
