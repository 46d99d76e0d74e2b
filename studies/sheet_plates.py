"""The folded plate on the sheet: bays side by side, beam theory and slice beside them, verdict in words."""

import math
from typing import Any

import numpy as np

from longvault.constraints.actions import ULTIMATE
from longvault.constraints.end_structure import edge_forces
from longvault.constraints.measures import MEASURES
from longvault.constraints.plates_beam import BeamShare, length_label, mean_radius, verdict
from longvault.constraints.plates_results import link_forces
from longvault.constraints.proof_solved import Solved, solve_heaviest
from longvault.sections.parts import roof_surface
from longvault.studies.checked import Checked
from longvault.studies.sheet_table import SheetTable, quantity

ROWS = (
    ("plate_compression", "compression"),
    ("plate_steel_area", "steel_area"),
    ("plate_shear_stress", "shear_stress"),
    ("plate_web_steel", "web_steel"),
    ("plate_deflection", "deflection"),
    ("transverse_moment", None),
    ("buckling", None),
    ("slot_movement", None),
    ("beam_share_stress", None),
    ("beam_share_deflection", None),
)
"""Folded-plate measure and the beam-level one that stands beside it."""


def slices_of(checked: Checked) -> dict[str, Solved]:
    """Folded plate and slice of every bay under the heaviest ultimate combination."""
    if checked.proving is None:
        return {}
    return {
        bay: solve_heaviest(
            checked.section, checked.measures, checked.basis, checked.proving, bay, ULTIMATE  # type: ignore[arg-type]
        )
        for bay in checked.plates
    }  # fmt: skip


def slice_moment(solved: Solved) -> float:
    """Largest bending moment across in the roof surface, by the slice [N]."""
    surface = np.flatnonzero(roof_surface(solved.section.strips))
    return float(np.abs(solved.slice.m_s[surface]).max())


def edge_force(solved: Solved) -> float | None:
    """Sideways force of the neighbours on the right edge, by the slice, outward positive [N/m]."""
    held = any(j.side == "right" and j.kind == "valley" for j in solved.section.joints)
    held = (held and solved.bay != "lone") or bool(solved.plate.links.shift.any())
    return edge_forces(solved)[2] if held else None


def plates_table(checked: Checked) -> SheetTable:
    """Demands by the folded plate for each bay, beside those of beam theory and of the transverse slice."""
    slices = slices_of(checked)
    rows = []
    for key, beam in ROWS:
        measure = MEASURES[key]
        own = quantity(checked.measures[beam] * measure.per_si, measure.unit) if beam else ""
        found = [quantity(plate[key] * measure.per_si, measure.unit) for plate in checked.plates.values()]
        rows.append((measure.title.removesuffix(", folded plate"), own, *found))
        if key == "transverse_moment":
            moments = [quantity(slice_moment(one) * measure.per_si, measure.unit) for one in slices.values()]
            rows.append(("the same, transverse slice", "", *moments))
    forces = [edge_force(one) for one in slices.values()]
    if any(force is not None for force in forces):
        shown = [quantity(force / 1e3, "kN_m") if force is not None else "-" for force in forces]
        rows.append(("neighbour on the right edge, slice, outward +", "", *shown))
    rows += _member_rows(checked, tuple(slices.values()))
    header = ("demand", "beam theory", *(f"{bay} bay" for bay in checked.plates))
    return SheetTable("Proof as a folded plate", header, tuple(rows), _notes(checked), words=(0,))


def member_pushes(solved: Solved) -> dict[str, float]:
    """Push of struts across the slot and of collars at mid-span, folded plate, ultimate [N/m]."""
    links = solved.plate.links
    found = {}
    for force, shift in zip(link_forces(solved.plate)[0], links.shift, strict=True):
        found["struts" if shift else "collars"] = -float(force)
    return found


def _member_rows(checked: Checked, solved: tuple[Solved, ...]) -> list[tuple[str, ...]]:
    """Push in each strut and collar of every bay; none where there are none."""
    spacing = checked.proving.spacing if checked.proving else 0.0
    pushes = [member_pushes(one) for one in solved]
    rows = []
    for name in dict.fromkeys(key for found in pushes for key in found):
        shown = [
            f"{quantity(found[name] / 1e3, 'kN_m')}, {quantity(found[name] * spacing / 1e3, 'kN')} each"
            if name in found
            else "-"
            for found in pushes
        ]
        rows.append((f"{name} at {spacing:g} m, pushed +, ultimate", "", *shown))
    return rows


def finite(value: float) -> float | None:
    """Return a number, or None for what cannot be worked out: a flat slab has no slice."""
    return value if math.isfinite(value) else None


def slices_document(checked: Checked) -> dict[str, Any]:
    """Return what the slice says of every bay, flat keys with units."""
    found = {}
    for bay, one in slices_of(checked).items():
        force = edge_force(one)
        found[bay] = {
            "transverse_moment_kNm_m": finite(slice_moment(one) / 1e3),
            "outward_force_kN_m": None if force is None else finite(force / 1e3),
            "member_push_kN_m": {name: push / 1e3 for name, push in member_pushes(one).items()},
            "torque_kNm_m": finite(float(one.slice.torque) / 1e3),
        }
    return found


def _slot_words(checked: Checked) -> str:
    """Say what is across the slots, and who says so."""
    joints = checked.section.joints
    given = {j.spring / 1e6: "the section file" for j in joints if j.kind == "strut" and j.spring > 0}
    if checked.proving and checked.proving.strut and any(j.kind == "slot" for j in joints):
        given[checked.proving.strut / 1e6] = "the brief"
    if not given:
        return "slots free" if any(j.kind != "valley" for j in joints) else "no slots"
    sizes = " and ".join(f"{size:g} MN/m² from edge to mid-slot (by {who})" for size, who in given.items())
    return (
        f"struts across the slots, {sizes}, to the next module as it stands; the last one is taken alone; "
        "for buckling the row rocks in unison and module by module in turn, the less favourable"
    )


def _notes(checked: Checked) -> tuple[str, ...]:
    label = length_label(checked.basis.span, mean_radius(checked.section.strips))
    said = []
    for bay, found in checked.plates.items():
        ratios = (np.array(found[key]) for key in ("beam_share_stress", "beam_share_deflection"))
        said.append(f"{bay} bay: {verdict(BeamShare(*ratios))}.")
    judged = " and ".join(checked.proved_bays)
    slot = _slot_words(checked)
    valleys = any(joint.kind == "valley" for joint in checked.section.joints)
    hinges = ", at valleys alike and in turn with the neighbour" if valleys else ""
    return (
        f"By the usual label: {label}. The computed ratios are the judge, not the label.",
        *said,
        f"The limits look at the {judged} bay; {slot}. Strips halved, 15 half-waves along the span; buckling "
        f"by local radius and panel width and by finite strips{hinges}, the less favourable.",
        "Transverse slice: one metre of the roof under the heaviest ultimate combination and the specific "
        "shear w Q / I (Lundgren 1949; Chinn, ACI Journal 1959); it holds for long roofs.",
    )
