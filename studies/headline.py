"""What the reader must know before any number: level of the analysis, short vaults, what is no beam."""

import numpy as np

from longvault.constraints.plates_beam import ACTS_AS_BEAM, BeamShare, verdict
from longvault.studies.checked import Checked
from longvault.studies.not_covered import short_vault


def said_first(checked: Checked) -> tuple[str, ...]:
    """Say what stands beside the verdict on every sheet, and in the note of the JSON document.

    How the section was looked at; that it is short, if it is; and for each bay that the limits look at, that
    it does not act as a beam, where the folded plate finds more stress than beam theory does.
    """
    note = checked.note
    first = (f"{note[0].upper()}{note[1:]}.",) if note else ()
    short = short_vault(checked.section.strips, checked.basis.span)
    return (*first, *((short,) if short else ()), *beam_lines(checked))


def beam_lines(checked: Checked) -> tuple[str, ...]:
    """Say where the section does not act as a beam and beam theory reads low, a sentence a bay."""
    lines = []
    for bay in checked.proved_bays:
        found = checked.plates[bay]
        share = BeamShare(np.array(found["beam_share_stress"]), np.array(found["beam_share_deflection"]))
        if float(share.stress) > ACTS_AS_BEAM:
            lines.append(f"In the {bay} bay the section {verdict(share)}.")
    return tuple(lines)
