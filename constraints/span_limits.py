"""Limits along the span that a brief may ask for: other sign of moment, movements, supports, water."""

from longvault.constraints.basis import Basis
from longvault.constraints.effects import signs_of
from longvault.constraints.limit import CAP, COMMON_PRACTICE, FLOOR, Limit


def span_limits(basis: Basis) -> tuple[Limit, ...]:
    """Limits that stand there only where the loads, the supports or the brief ask for them."""
    return (*_strength(basis), *_movements(basis), *_supports(basis))


def _strength(basis: Basis) -> list[Limit]:
    strength, limits = basis.strengths, []
    if signs_of(basis).both:
        limits.append(
            Limit(
                "steel-fits-reverse", "steel for the other sign of moment fits", "bar_room_reverse",
                "steel_area_reverse", FLOOR,
                "A_s = |M_d| / (z f_yd) for the smaller of the two signs; room as for the main steel",
                f"{strength.source_steel}; EN 1992-1-1, 8.2(2), 9.2.1.1(3)",
            )
        )  # fmt: skip
    if basis.loads.erection is not None:
        limits.append(
            Limit(
                "erection-compression", "module alone, compression", "erection_compression",
                strength.compression, CAP,
                "|M_d| / S_c, own weight and the load of erection, free sideways, unpropped",
                strength.source_compression,
            )
        )  # fmt: skip
    if basis.arch is not None:
        limits.append(
            Limit(
                "tie", "tie of the beam-arch", "tie_force", basis.arch.tie_area * strength.steel, CAP,
                "H_d <= A_tie f_yd, H = w L^2 / (8 f) / (1 + 15/8 I / f^2 (1/A + n/A_tie)); I cracked and "
                f"E / (1 + {basis.requirements.creep:g}); moment left and deflections: I whole, E at first",
                f"derived, two-hinged parabolic arch with a tie; {strength.source_steel}",
            )
        )  # fmt: skip
    return limits


def _movements(basis: Basis) -> list[Limit]:
    need, limits = basis.requirements, []
    if need.glass_difference_max is not None:
        limits.append(
            Limit(
                "glass-difference", "movement between neighbours at the glass", "glass_difference",
                need.glass_difference_max, CAP,
                "elastic, variable load on one module, none on its neighbour; down and sideways together",
                "brief; derived",
            )
        )  # fmt: skip
    if need.sideways_ratio is not None:
        limits.append(
            Limit(
                "sideways", "sideways movement", "sideways_size", basis.depth_span / need.sideways_ratio, CAP,
                f"elastic, characteristic; L_eq / {need.sideways_ratio:g}", COMMON_PRACTICE,
            )
        )  # fmt: skip
    return limits


def _supports(basis: Basis) -> list[Limit]:
    need, limits = basis.requirements, []
    if need.tie_down_max is not None:
        limits.append(
            Limit(
                "tie-down", "pull on a support", "tie_down", need.tie_down_max, CAP,
                "equilibrium (permanent load less where it helps) and ultimate; variable load where it pulls",
                "EN 1990:2002, table A1.2(A), or ASCE 7-16, 2.3.1 (from memory)",
            )
        )  # fmt: skip
    if need.pond_depth_max is not None:
        limits.append(
            Limit(
                "ponding", "water in low places", "pond_depth", need.pond_depth_max, CAP,
                "depth to the rim of each low place of the outer surface that is no declared gutter",
                COMMON_PRACTICE,
            )
        )  # fmt: skip
    return limits
