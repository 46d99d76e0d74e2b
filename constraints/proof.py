"""A folded plate as judge of a design: the same demands as the beam checks, by the stronger analysis."""

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from longvault.constraints.alternate import alternate_bays
from longvault.constraints.basis import Basis
from longvault.constraints.measures import PROOF_MEASURES
from longvault.constraints.plates import folded_plates
from longvault.constraints.plates_midspan import mid_span
from longvault.constraints.plates_proof import subdivided
from longvault.constraints.plates_records import Links, Supports
from longvault.constraints.plates_row import Bay, bay_supports, held_joints
from longvault.constraints.proof_demands import bay_demands, finite_strip_buckling
from longvault.constraints.proof_limits import proof_limits
from longvault.constraints.proof_loads import unit_loads
from longvault.constraints.proving import Proving, covered
from longvault.constraints.stability_screen import local_screen
from longvault.sections import Joint, Section, Strips
from longvault.sections.symbols import Array, BoolArray

__all__ = [
    "FINE_HARMONICS",
    "PROOF_MEASURES",
    "Proving",
    "covered",
    "fine_proof",
    "proof_limits",
    "proof_measures",
    "unit_loads",
]

FINE_HARMONICS = tuple(range(1, 30, 2))
"""Half-waves of the fine proof; with every strip halved it stands for the converged answer."""

PIECES = 2
"""Pieces that the fine proof cuts each strip into."""


def proof_measures(
    strips: Strips, joints: tuple[Joint, ...], measures: Mapping[str, Array], basis: Basis, proving: Proving
) -> dict[str, Array]:
    """Solve sections (..., ) as folded plates under the governing loads and take the demands.

    Buckling by finite strips is looked at where every other limit of the folded plate holds before the
    allowance is added, inf elsewhere.

    Parameters
    ----------
    strips : Strips
        Batch (...).
    joints : tuple of Joint
        Joints with the neighbours; slots have struts where ``proving.strut`` says so.
    measures : mapping
        Beam-level measures of the same strips (``opening`` is used for the glass).
    basis, proving
        Loads, materials, limits; bay and settings.

    Returns
    -------
    dict of array (...)
        SI values by the keys of `longvault.constraints.measures.MEASURES`.
    """
    return _proved(strips, joints, measures, basis, proving, pieces=1)


def fine_proof(
    strips: Strips, joints: tuple[Joint, ...], measures: Mapping[str, Array], basis: Basis, proving: Proving
) -> dict[str, Array]:
    """Prove one section at fine resolution: strips halved, `FINE_HARMONICS`, no allowance.

    Buckling is looked at by finite strips too; the more unfavourable of screen and strips counts. Arguments
    and result as for `proof_measures`, for a single section.
    """
    fine = replace(proving, allowance=0.0, harmonics=FINE_HARMONICS)
    return _proved(strips, joints, measures, basis, fine, pieces=PIECES)


def _proved(
    strips: Strips,
    joints: tuple[Joint, ...],
    measures: Mapping[str, Array],
    basis: Basis,
    proving: Proving,
    pieces: int,
) -> dict[str, Array]:
    found = [_bay(strips, joints, measures, basis, proving, bay, pieces) for bay in proving.bays]
    worst = {key: np.maximum.reduce([one[key] for one in found]) for key in found[0]}
    raised = {key: value * (1.0 + proving.allowance) for key, value in worst.items()}
    beam_stress = measures["ultimate_moment"] / measures["section_modulus"]
    if basis.pushed:  # bent both ways
        beam_stress = np.maximum(beam_stress, measures["compression"])
    raised["beam_share_stress"] = worst["peak_stress"] / beam_stress
    camber = basis.requirements.camber
    raised["beam_share_deflection"] = worst["plate_deflection"] / (measures["deflection"] + camber)
    late = (measures["deflection"] + camber) / measures["deflection_sustained"]
    down, up = raised["plate_deflection"] - camber, camber - worst["plate_deflection"] / late
    raised["plate_deflection"] = np.maximum(down, up)  # up before it cracks and creeps
    return {key: raised[key] for key in PROOF_MEASURES}


def _bay(
    strips: Strips,
    joints: tuple[Joint, ...],
    measures: Mapping[str, Array],
    basis: Basis,
    proving: Proving,
    bay: Bay,
    pieces: int,
) -> dict[str, Array]:
    """Demands of one bay; cut into pieces, of one section alone, with buckling by finite strips."""
    links = proving.links(strips, joints, bay, basis.pitch)
    whole = Section("module", strips, joints)
    held = [joint.node for joint in held_joints(whole, bay) if joint.kind == "valley"]
    screen = local_screen(strips, modulus=basis.concrete.ecm, poisson=proving.poisson, held=held)
    section = whole
    if pieces > 1:
        section = replace(whole, strips=subdivided(strips, np.full(len(strips.parts), pieces)))
        screen = screen.cut(pieces)
    supports = bay_supports(section, bay)
    loads = unit_loads(section.strips, joints, measures["opening"], basis)
    solved = folded_plates(
        section.strips, loads, span=basis.span,
        modulus=basis.concrete.ecm, poisson=proving.poisson, supports=supports,
        links=links, harmonics=proving.harmonics,
    )  # fmt: skip
    cases = mid_span(solved)
    if basis.loads.snow:
        cases += alternate_bays(section.strips, loads[1], cases[1], supports, links, basis, proving)
    found, stress = bay_demands(section, cases, screen, measures, basis, proving)
    if pieces > 1:
        closer = finite_strip_buckling(section.strips, stress, supports, basis, proving, links=links)
    else:
        passed = _passed(found, measures, basis, proving)
        closer = _coarse_buckling(strips, stress, supports, links, passed, basis, proving)
    found["buckling"] = np.maximum(found["buckling"], closer)
    return found


def _coarse_buckling(
    strips: Strips,
    stress: Array,
    supports: Supports,
    links: Links,
    rows: BoolArray,
    basis: Basis,
    proving: Proving,
) -> Array:
    """Buckling by finite strips of the marked rows alone; inf: not looked at."""
    batch = strips
    if not strips.batch:
        x, z, t = strips.x[None], strips.z[None], strips.thickness[None]
        batch = Strips(x, z, strips.ends, t, strips.parts)
    rows, found = np.atleast_1d(rows), np.full(batch.batch, np.inf)
    pressed = stress.reshape(*batch.batch, -1, 2)[rows]
    found[rows] = finite_strip_buckling(
        batch[rows], pressed, supports, basis, proving, links=links, coarse=True
    )
    return found.reshape(strips.batch)


def _passed(
    found: Mapping[str, Array], measures: Mapping[str, Array], basis: Basis, proving: Proving
) -> BoolArray:
    """Mark the sections (...) that keep every other limit of the folded plate."""
    known = {**measures, **found}
    reckoned = [limit for limit in proof_limits(basis, proving) if limit.demand in known]
    margins = [limit.margin(known) for limit in reckoned if limit.demand != "buckling"]
    holds: BoolArray = np.logical_and.reduce([margin <= 0.0 for margin in margins])
    return holds
