"""The folded plate on the sheet: bays side by side, beam theory beside them, the verdict in words."""

import numpy as np

from longvault.constraints.measures import MEASURES
from longvault.constraints.plates_beam import BeamShare, length_label, mean_radius, verdict
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


def plates_table(checked: Checked) -> SheetTable:
    """Demands by the folded plate for each bay, beside those of beam theory."""
    rows = []
    for key, beam in ROWS:
        measure = MEASURES[key]
        own = quantity(checked.measures[beam] * measure.per_si, measure.unit) if beam else ""
        found = [quantity(plate[key] * measure.per_si, measure.unit) for plate in checked.plates.values()]
        rows.append((measure.title.removesuffix(", folded plate"), own, *found))
    header = ("demand", "beam theory", *(f"{bay} bay" for bay in checked.plates))
    return SheetTable("Proof as a folded plate", header, tuple(rows), _notes(checked), words=(0,))


def _notes(checked: Checked) -> tuple[str, ...]:
    label = length_label(checked.basis.span, mean_radius(checked.section.strips))
    said = []
    for bay, found in checked.plates.items():
        ratios = (np.array(found[key]) for key in ("beam_share_stress", "beam_share_deflection"))
        said.append(f"{bay} bay: {verdict(BeamShare(*ratios))}.")
    judged = " and ".join(checked.proved_bays)
    slot = "slots free" if not checked.proving or not checked.proving.strut else "struts across the slots"
    return (
        f"By the usual label: {label}. The computed ratios are the judge, not the label.",
        *said,
        f"The limits look at the {judged} bay; {slot}. Strips halved, 15 half-waves along the span.",
    )
