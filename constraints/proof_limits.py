"""Limits whose demands come from the folded plate."""

from longvault.constraints.basis import Basis
from longvault.constraints.limit import CAP, COMMON_PRACTICE, FLOOR, Limit
from longvault.constraints.own_limits import own_limits
from longvault.constraints.proving import Proving


def proof_limits(basis: Basis, proving: Proving) -> tuple[Limit, ...]:
    """Limits whose demands come from the folded plate; capacities as in the beam checks."""
    strength, need = basis.strengths, basis.requirements
    plate = "folded plate, " + " and ".join(proving.bays) + " bay"
    return (
        Limit(
            "plate-compression", f"concrete compression, {plate}", "plate_compression", strength.compression,
            CAP, "largest of -(N_y / t +- 6 m_y / t^2) at mid-span", strength.source_compression,
        ),
        Limit(
            "plate-steel-fits", f"main steel fits, {plate}", "bar_room", "plate_steel_area", FLOOR,
            "A_s = integral of the tensile N_y at mid-span / f_yd", strength.source_steel,
        ),
        Limit(
            "plate-shear", f"shear, inclined struts, {plate}", "plate_shear_stress", strength.strut, CAP,
            "|N_ys| / t at the supports", strength.source_strut,
        ),
        Limit(
            "plate-web-steel", f"mesh at the supports, {plate}", "plate_web_steel",
            basis.detailing.support_mesh_area, CAP, f"|N_ys| / {strength.words_shear_steel} each way",
            strength.source_shear_steel,
        ),
        Limit(
            "transverse", f"bending across, {plate}", "transverse", 1.0, CAP,
            "|m_s| / m_R + n_s / (a_s f_yd) at mid-span, n_s a tension, m_R = a_s f_yd z of the mesh; snow "
            "on all bays, and on every other one where bays share valleys or struts",
            f"{strength.source_steel}; EN 1991-1-3, 5.2(5) (from memory)",
        ),
        Limit(
            "buckling", f"buckling, {plate}", "buckling", 1.0, CAP, _buckling_formula(proving),
            "Timoshenko & Gere; Redshaw 1933; Cheung 1976; reductions after IASS 1979 (from memory)",
        ),
        Limit(
            "plate-deflection", f"long-term deflection, {plate}", "plate_deflection",
            basis.depth_span / need.deflection_ratio, CAP,
            "elastic, quasi-permanent, times long-term over elastic of the beam"
            + (", less the camber; or the camber less the elastic one" if need.camber else ""),
            "EN 1992-1-1:2004, 7.4.1(4)",
        ),
        Limit(
            "slot-movement", f"sideways movement of a slot edge, {plate}", "slot_movement",
            proving.slot_movement, CAP, "elastic, characteristic", COMMON_PRACTICE,
        ),
        *own_limits(need.own, "plate"),
    )  # fmt: skip


def _buckling_formula(proving: Proving) -> str:
    s = proving.stability
    return (
        "compression along the span at mid-span, ultimate, over classical stress x "
        f"{s.knock_down:g} / (1 + {s.creep:g}) / {s.safety:g}; local radius and panel width, finite strips"
    )
