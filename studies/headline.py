"""What the reader must know before any number: level of the analysis, short vaults, what is no beam."""

import numpy as np

from longvault.constraints.basis import Basis
from longvault.constraints.materials import AmericanConcrete
from longvault.constraints.plates_beam import ACTS_AS_BEAM, BeamShare, verdict
from longvault.studies.checked import Checked
from longvault.studies.not_covered import short_vault

COVERS = {"X0": 15, "XC1": 15, "XC2": 25, "XC3": 25, "XC4": 30, "XD1": 35, "XS1": 35, "XD2": 40, "XS2": 40}
"""Least cover that lasts in slabs, structural class S3, with 5 mm of deviation; XD3 and XS3 45 (EN 1992-1-1,
4.4.1 and table 4.4N, from memory) [mm]."""


def said_first(checked: Checked) -> tuple[str, ...]:
    """Say what stands beside the verdict on every sheet, and in the note of the JSON document.

    How the section was looked at; that it is short, if it is; for each bay that the limits look at, that it
    does not act as a beam, where the folded plate finds more stress than beam theory does; and what the brief
    sets lower than roofs have it.
    """
    note = checked.note
    first = (f"{note[0].upper()}{note[1:]}.",) if note else ()
    short = short_vault(checked.section.strips, checked.basis.span)
    return (*first, *((short,) if short else ()), *beam_lines(checked), *kind_settings(checked.basis))


def kind_settings(basis: Basis) -> tuple[str, ...]:
    """Name what a brief sets lower than roofs have it (common practice), in one sentence; none is the rule.

    Examples
    --------
    >>> from longvault.constraints.basis import Requirements
    >>> need = Requirements(height_max=2.5, creep=0.0)
    >>> kind_settings(Basis(span=24.0, pitch=8.0, requirements=need))
    ('The brief sets lower than is common: creep coefficient 0, at least 1.',)
    """
    need, loads, settings = basis.requirements, basis.loads, basis.concrete_settings
    tendon = None if settings is None else settings.tensioning
    asked = [
        ("creep coefficient", need.creep if need.long_term == "cracked" else None, 1.0),
        ("shrinkage in mm/m", need.shrinkage * 1e3 if need.long_term == "cracked" else None, 0.2),
        (
            "factor of long-term deflection",
            need.long_term_factor if need.long_term == "factor" else None,
            2.0,
        ),
        ("snow on the roof over snow on the ground", _share(loads.snow, loads.ground_snow), 0.3),
        (f"cover in mm for {need.exposure}", _cover(basis), COVERS.get(need.exposure, 45)),
        ("immediate losses of prestress", tendon.immediate_loss if tendon else None, 0.02),
        ("later losses of prestress", tendon.later_loss if tendon else None, 0.05),
    ]
    low = [
        f"{name} {value:g}, at least {usual:g}"
        for name, value, usual in asked
        if value is not None and value < usual
    ]
    return (f"The brief sets lower than is common: {'; '.join(low)}.",) if low else ()


def _cover(basis: Basis) -> float | None:
    """Least cover [mm]; None under a standard without classes of exposure."""
    if isinstance(basis.concrete, AmericanConcrete):
        return None
    return 1e3 * min(basis.detailing.cover_top, basis.detailing.cover_bottom)


def _share(part: float, whole: float) -> float | None:
    return part / whole if whole > 0.0 else None


def beam_lines(checked: Checked) -> tuple[str, ...]:
    """Say where the section does not act as a beam and beam theory reads low, a sentence a bay."""
    lines = []
    for bay in checked.proved_bays:
        found = checked.plates[bay]
        share = BeamShare(np.array(found["beam_share_stress"]), np.array(found["beam_share_deflection"]))
        if float(share.stress) > ACTS_AS_BEAM:
            lines.append(f"In the {bay} bay the section {verdict(share)}.")
    return tuple(lines)
