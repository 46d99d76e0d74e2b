"""Every limit a basis of design sets: what is demanded, what is allowed, by what formula and source."""

from functools import lru_cache

from longvault.constraints.basis import Basis, Requirements
from longvault.constraints.limit import CAP, COMMON_PRACTICE, FLOOR, GEOMETRY, Limit
from longvault.constraints.own_limits import own_limits
from longvault.constraints.service import long_term_of
from longvault.constraints.span_limits import span_limits

__all__ = ["CAP", "COMMON_PRACTICE", "FLOOR", "GEOMETRY", "TOUCH", "Limit", "limits_of"]

TOUCH = 1e-3
"""Neighbours that share a member touch; an overlap below 1 mm is a building tolerance [m]."""
HAIR = 1e-6
"""A shell exactly as thick as the floor is thick enough: the floor is met to a micrometre [m]."""


@lru_cache(maxsize=64)
def limits_of(basis: Basis) -> tuple[Limit, ...]:
    """Every limit that a basis of design sets, in the order of a calculation sheet."""
    return (
        *_shape_limits(basis),
        *_strength_limits(basis),
        *span_limits(basis),
        *_making_limits(basis),
        *own_limits(basis.requirements.own, "beam"),
    )


def _shape_limits(basis: Basis) -> tuple[Limit, ...]:
    need = basis.requirements
    limits = [
        Limit("height", "overall height", "height", need.height_max, CAP, "h <= h_max", "brief (envelope)"),
        Limit(
            "span-to-depth", "span over height", "slenderness", need.span_to_depth_max, CAP,
            "L_eq / h, L_eq = L simple, 2 L cantilever", COMMON_PRACTICE,
        ),
    ]  # fmt: skip
    if need.span_to_depth_min is not None:
        limits.append(
            Limit(
                "span-to-depth-least", "span over height, least", "slenderness", need.span_to_depth_min,
                FLOOR, "L_eq / h >= least", "brief",
            )
        )  # fmt: skip
    if need.opening_min > 0:
        limits.append(
            Limit(
                "opening", "clear opening", "opening", need.opening_min, FLOOR,
                "clear width, normal to the glass", "brief",
            )
        )  # fmt: skip
    if need.glass_slope_min is not None:
        limits.append(
            Limit(
                "glass-slope", "slope of the glass", "glass_slope", need.glass_slope_min, FLOOR,
                "angle of the shortest line across the slot from the horizontal",
                "brief; noon sun stays off north glass from 113.45 deg less the latitude on (derived)",
            )
        )  # fmt: skip
    return tuple(limits)


def _strength_limits(basis: Basis) -> tuple[Limit, ...]:
    strength, detailing, need = basis.strengths, basis.detailing, basis.requirements
    deflection = basis.depth_span / need.deflection_ratio
    words, source = long_term_words(basis)
    turned, more, ways = ("", "", "")
    if basis.pushed:
        turned, ways = ", or with wind from the side |M f - H g|", ", flows of both ways added"
        more = " and the pull that the sideways moment adds"
    return (
        Limit(
            "compression", "concrete compression, ultimate", "compression", strength.compression, CAP,
            f"|M_d| / S_c{turned}", strength.source_compression,
        ),
        Limit(
            "compression-service", "concrete compression, service", "compression_service",
            strength.compression_service, CAP, f"|M_k| / S_c{turned}", strength.source_service,
        ),
        Limit(
            "steel-fits", "main steel fits", "bar_room", "steel_area", FLOOR,
            f"A_s = |M_d| / (z f_yd){more}, z the smaller lever arm; room = bars with cover and spacing, "
            "<= 4 % A",
            f"{strength.source_steel}; EN 1992-1-1, 8.2(2), 9.2.1.1(3)",
        ),
        Limit(
            "shear", "shear, inclined struts", "shear_stress", strength.strut, CAP, f"q_d / t{ways}",
            strength.source_strut,
        ),
        Limit(
            "web-steel", "mesh at the supports", "web_steel", detailing.support_mesh_area, CAP,
            f"a_s = q_d / {strength.words_shear_steel} each way",
            f"{strength.source_shear_steel}; truss with struts at 45 degrees",
        ),
        Limit(
            "deflection", "long-term deflection", "deflection",
            deflection if len(basis.line.fields) == 1 else "deflection_allowed", CAP,
            f"{words}, quasi-permanent{_camber(need)}; L_eq / {need.deflection_ratio:g}",
            f"EN 1992-1-1:2004, 7.4.1(4); {source}",
        ),
        *_upward(basis, deflection if len(basis.line.fields) == 1 else "deflection_allowed"),
    )  # fmt: skip


def _upward(basis: Basis, allowed: float | str) -> tuple[Limit, ...]:
    """Limit what a camber lifts the module before cracking and creep bring it down."""
    need = basis.requirements
    if not need.camber:
        return ()
    return (
        Limit(
            "upward", "upward movement", "upward", allowed, CAP,
            f"camber {1e3 * need.camber:g} mm - elastic, quasi-permanent; L_eq / {need.deflection_ratio:g}",
            "EN 1992-1-1:2004, 7.4.1(4), either way",
        ),
    )  # fmt: skip


def long_term_words(basis: Basis) -> tuple[str, str]:
    """Return the formula of the long-term deflection, and where it comes from."""
    need = basis.requirements
    if need.long_term == "factor":
        source = "the factor is the brief's; cracking and creep may ask for more (screening)"
        return f"factor {need.long_term_factor:g} x elastic", source
    rule = long_term_of(basis)
    return rule.formula, rule.source


def _camber(need: Requirements) -> str:
    return f", less camber {1e3 * need.camber:g} mm" if need.camber else ""


def _making_limits(basis: Basis) -> tuple[Limit, ...]:
    need = basis.requirements
    limits = [
        Limit(
            "thickness", "least thickness", "thickness", basis.detailing.thickness_floor - HAIR, FLOOR,
            "covers + two bars a mesh + tolerance, or the fire class",
            "sum of the parts; fire class by the brief",
        ),
        Limit(
            "slope", "steepest surface", "slope", need.slope_max, CAP, "slope <= slope_max",
            "brief; Panarese & Kunze 1963",
        ),
        Limit("bend", "bend radius of the forms", "bend", 1.0, CAP, "(R_min + t/2) / R", COMMON_PRACTICE),
        Limit("taper", "thickness change", "taper", need.taper_max, CAP, "dt / ds", COMMON_PRACTICE),
        Limit("clearance", "clear of itself", "clearance", 1.0, FLOOR, "distance / mean thickness", GEOMETRY),
        Limit(
            "neighbour", "clear of the neighbour", "width", basis.pitch + TOUCH, CAP, "width <= bay",
            GEOMETRY, contact=True,
        ),
    ]  # fmt: skip
    if need.steep_share_max < 1.0:
        limits.insert(
            2,
            Limit(
                "steep-share", "surface that needs a top form", "steep_share", need.steep_share_max, CAP,
                "length over the steep slope / roof surface", "brief; Panarese & Kunze 1963",
            ),
        )  # fmt: skip
    return tuple(limits)
