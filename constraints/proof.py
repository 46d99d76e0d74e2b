"""Proof of a section as a folded plate: the same demands as the beam checks, by the stronger analysis."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from longvault.constraints.actions import CHARACTERISTIC, SUSTAINED, ULTIMATE
from longvault.constraints.basis import Basis
from longvault.constraints.limits import CAP, COMMON_PRACTICE, FLOOR, Limit
from longvault.constraints.plates import FoldedPlate, PlateLoads, folded_plate
from longvault.constraints.plates_proof import subdivided
from longvault.constraints.plates_results import displacements, smoothed, strip_forces
from longvault.constraints.plates_row import Bay, bay_supports
from longvault.sections import Joint, Section, Strips
from longvault.sections.bending import mean_positive_part
from longvault.sections.parts import roof_surface
from longvault.sections.symbols import Array

SERVICE_PARTS = ("keel", "gutter")
"""Parts that carry pipes and cables; without one the services spread over the module."""

FINE_HARMONICS = tuple(range(1, 30, 2))
"""Half-waves of the fine proof; with every strip halved it stands for the converged answer."""

PROOF_MEASURES = (
    "plate_compression",
    "plate_steel_area",
    "plate_shear_stress",
    "plate_web_steel",
    "transverse_moment",
    "transverse",
    "plate_deflection",
    "slot_movement",
    "beam_share_stress",
    "beam_share_deflection",
)
"""Keys of the measures that `proof_measures` gives."""


@dataclass(frozen=True, slots=True)
class Proving:
    """How sections are proved as folded plates.

    Parameters
    ----------
    bays : tuple of str
        Among ``interior``, ``end`` and ``lone``: whose neighbours hold the joints. Every demand is the
        largest of these bays.
    strut : float
        Stiffness of struts across the slot, from each edge to the plane of symmetry, per metre of span
        [N/m2]; 0 leaves the slot free.
    poisson : float
        Poisson's ratio; 0.2 for uncracked concrete (EN 1992-1-1, 3.1.3(4)).
    slot_movement : float
        Sideways movement of a slot edge that the glazing bears [m]; common practice.
    allowance : float
        Demands are raised by this share, for the resolution of the analysis in the search.
    harmonics : tuple of int
        Half-waves along the span.
    """

    bays: tuple[Bay, ...] = ("interior",)
    strut: float = 0.0
    poisson: float = 0.2
    slot_movement: float = 0.010
    allowance: float = 0.02
    harmonics: tuple[int, ...] = (1, 3, 5, 7, 9)


def covered(basis: Basis) -> bool:
    """Whether the folded plate covers this roof: simple spans between diaphragms."""
    return basis.support.key == "simple"


def proof_limits(basis: Basis, proving: Proving) -> tuple[Limit, ...]:
    """Limits whose demands come from the folded plate; capacities as in the beam checks."""
    strength, need, detailing = basis.strengths, basis.requirements, basis.detailing
    web = detailing.mesh_layers * 0.25 * np.pi * detailing.mesh_bar**2 / detailing.support_spacing
    plate = "folded plate, " + " and ".join(proving.bays) + " bay"
    return (
        Limit(
            "plate-compression",
            f"concrete compression, {plate}",
            "plate_compression",
            strength.compression,
            CAP,
            "largest of -(N_y / t +- 6 m_y / t^2) at mid-span",
            strength.source_compression,
        ),
        Limit(
            "plate-steel-fits",
            f"main steel fits, {plate}",
            "bar_room",
            "plate_steel_area",
            FLOOR,
            "A_s = integral of the tensile N_y at mid-span / f_yd",
            strength.source_steel,
        ),
        Limit(
            "plate-shear",
            f"shear, inclined struts, {plate}",
            "plate_shear_stress",
            strength.strut,
            CAP,
            "|N_ys| / t at the supports",
            strength.source_strut,
        ),
        Limit(
            "plate-web-steel",
            f"mesh at the supports, {plate}",
            "plate_web_steel",
            float(web),
            CAP,
            "|N_ys| / f_yd each way",
            strength.source_steel,
        ),
        Limit(
            "transverse",
            f"bending across, {plate}",
            "transverse",
            1.0,
            CAP,
            "|m_s| / m_R at mid-span, m_R = a_s f_yd z of the mesh",
            strength.source_steel,
        ),
        Limit(
            "plate-deflection",
            f"long-term deflection, {plate}",
            "plate_deflection",
            basis.depth_span / need.deflection_ratio,
            CAP,
            f"factor {need.long_term_factor:g} x elastic, quasi-permanent",
            "EN 1992-1-1:2004, 7.4.1(4); factor from memory (screening)",
        ),
        Limit(
            "slot-movement",
            f"sideways movement of a slot edge, {plate}",
            "slot_movement",
            proving.slot_movement,
            CAP,
            "elastic, characteristic",
            COMMON_PRACTICE,
        ),
    )


def proof_measures(
    strips: Strips, joints: tuple[Joint, ...], measures: Mapping[str, Array], basis: Basis, proving: Proving
) -> dict[str, Array]:
    """Solve sections (..., ) as folded plates under the governing loads and take the demands.

    Parameters
    ----------
    strips : Strips
        Batch (...).
    joints : tuple of Joint
        Joints with the neighbours; slots become struts where ``proving.strut`` says so.
    measures : mapping
        Beam-level measures of the same strips (``opening`` is used for the glass).
    basis, proving
        Loads, materials, limits; bay and settings.

    Returns
    -------
    dict of array (...)
        SI values by the keys of `longvault.constraints.measures.MEASURES`.
    """
    section = Section("module", strips, _strutted(joints, proving))
    loads = unit_loads(strips, joints, measures["opening"], basis)
    found = [_demands(section, bay, loads, measures, basis, proving) for bay in proving.bays]
    worst = {key: np.maximum.reduce([one[key] for one in found]) for key in found[0]}
    raised = {key: value * (1.0 + proving.allowance) for key, value in worst.items()}
    beam_stress = measures["ultimate_moment"] / measures["section_modulus"]
    raised["beam_share_stress"] = worst["peak_stress"] / beam_stress
    raised["beam_share_deflection"] = worst["plate_deflection"] / measures["deflection"]
    return {key: raised[key] for key in PROOF_MEASURES}


def _demands(
    section: Section,
    bay: Bay,
    loads: tuple[PlateLoads, PlateLoads],
    measures: Mapping[str, Array],
    basis: Basis,
    proving: Proving,
) -> dict[str, Array]:
    supports = bay_supports(section, bay)
    solved = [
        folded_plate(
            section.strips,
            load,
            span=basis.span,
            modulus=basis.concrete.ecm,
            poisson=proving.poisson,
            supports=supports,
            harmonics=proving.harmonics,
        )
        for load in loads
    ]
    states = {
        state: _state(solved, measures, basis, state) for state in (ULTIMATE, CHARACTERISTIC, SUSTAINED)
    }
    return _strength(section.strips, states[ULTIMATE], basis) | _service(section.joints, states, basis)


def fine_proof(
    strips: Strips, joints: tuple[Joint, ...], measures: Mapping[str, Array], basis: Basis, proving: Proving
) -> dict[str, Array]:
    """Prove one section at fine resolution: strips halved, `FINE_HARMONICS`, no allowance.

    Arguments and result as for `proof_measures`, for a single section.
    """
    halved = subdivided(strips, np.full(len(strips.parts), 2))
    return proof_measures(
        halved, joints, measures, basis, replace(proving, allowance=0.0, harmonics=FINE_HARMONICS)
    )


def _strutted(joints: tuple[Joint, ...], proving: Proving) -> tuple[Joint, ...]:
    if proving.strut == 0.0:
        return joints
    return tuple(Joint(j.node, "strut", j.side, proving.strut) if j.kind == "slot" else j for j in joints)


def unit_loads(
    strips: Strips, joints: tuple[Joint, ...], opening: Array, basis: Basis
) -> tuple[PlateLoads, PlateLoads]:
    """Permanent loads, and a plan load of 1 N/m2, as they lie on the strips.

    Glass, and what falls on it, hangs on the joints in equal parts; the sums equal those of
    `longvault.constraints.actions.line_loads`.
    """
    dx, _ = strips.span_vectors()
    plan_width = np.abs(dx)
    surface = basis.concrete.weight * strips.thickness + basis.loads.finish * roof_surface(strips)
    carriers = strips.of_part(*SERVICE_PARTS)
    share = np.zeros(strips.thickness.shape[-1])
    share[carriers if carriers.size else slice(None)] = 1.0
    carried = np.einsum("...e,e->...", plan_width, share)
    services = basis.loads.services / carried[..., None] * share
    nodes = sorted({j.node for j in joints})
    line = np.zeros_like(strips.x)
    line[..., nodes] = (basis.loads.glass * opening / len(nodes))[..., None]
    rest = np.zeros_like(strips.x)
    rest[..., nodes] = ((basis.pitch - plan_width.sum(axis=-1)) / len(nodes))[..., None]
    return PlateLoads(surface=surface, plan=services, line_down=line), PlateLoads(plan=1.0, line_down=rest)


def _state(solved: list[FoldedPlate], measures: Mapping[str, Array], basis: Basis, state: str) -> FoldedPlate:
    """Superpose the unit solutions for the heaviest combination of a state."""
    cases = [c for c in basis.standard.combinations if c.state == state]
    permanent = measures["permanent_load"][..., None]
    g = np.array([c.permanent for c in cases])
    plan = np.array([c.snow * basis.loads.snow + c.maintenance * basis.loads.maintenance for c in cases])
    worst = np.argmax(g * permanent + plan * basis.pitch, axis=-1)
    on_g, on_plan = g[worst][..., None, None, None], plan[worst][..., None, None, None]
    moved = on_g * solved[0].displacement + on_plan * solved[1].displacement
    return replace(solved[0], displacement=moved)


def _strength(strips: Strips, solved: FoldedPlate, basis: Basis) -> dict[str, Array]:
    t = strips.thickness[..., None]
    forces = strip_forces(solved, (0.0, 0.5))
    middle = smoothed(strips, forces)
    n_y, m_y, m_s = (getattr(middle, k)[..., 1, :, :] for k in ("n_y", "m_y", "m_s"))
    shear = np.abs(forces.n_ys[..., 0, :, :])
    surface = roof_surface(strips)
    tension = np.einsum("...e,...e->...", strips.length, mean_positive_part(n_y[..., 0], n_y[..., 1]))
    across = np.abs(m_s).max(axis=-1)[..., surface]
    return {
        "plate_compression": _largest(6.0 * np.abs(m_y) / (t * t) - n_y / t),
        "plate_steel_area": tension / basis.strengths.steel,
        "plate_shear_stress": _largest(shear / t),
        "plate_web_steel": _largest(shear[..., surface, :]) / basis.strengths.steel,
        "transverse_moment": across.max(axis=-1),
        "transverse": (across / mesh_moment(strips.thickness[..., surface], basis)).max(axis=-1),
        "peak_stress": _largest(np.abs(n_y / t)),
    }


def mesh_moment(thickness: Array, basis: Basis) -> Array:
    """Bending resistance of the shell's mesh across the vault (...) [N m/m].

    a_s f_yd (d - x / 2), x = a_s f_yd / f_cd (rectangular block, EN 1992-1-1, 3.1.7): one mesh lies at
    mid-depth, d = t / 2; of two, one lies at each face, d = t - cover - 1.5 bars.

    Examples
    --------
    >>> from longvault.constraints.basis import Requirements
    >>> basis = Basis(span=24.0, pitch=9.0, requirements=Requirements(height_max=2.5))
    >>> round(float(mesh_moment(np.array(0.080), basis)) / 1e3, 2)  # 335 mm2/m x 435 MPa x 36.4 mm
    5.3
    """
    d = basis.detailing
    force = 0.25 * np.pi * d.mesh_bar**2 / d.mesh_spacing * basis.strengths.steel
    inset = max(d.cover_top, d.cover_bottom) + 1.5 * d.mesh_bar
    depth = 0.5 * thickness if d.mesh_layers == 1 else thickness - inset
    return np.maximum(force * (depth - 0.5 * force / basis.strengths.compression), 1.0)


def _service(joints: tuple[Joint, ...], states: Mapping[str, FoldedPlate], basis: Basis) -> dict[str, Array]:
    down = -displacements(states[SUSTAINED], 0.5)[..., 0, :, 2]
    sideways = np.abs(displacements(states[CHARACTERISTIC], 0.5)[..., 0, :, 0])
    slots = [j.node for j in joints if j.kind != "valley"]
    edge = sideways[..., slots].max(axis=-1) if slots else np.zeros_like(down[..., 0])
    return {
        "plate_deflection": basis.requirements.long_term_factor * down.max(axis=-1),
        "slot_movement": edge,
    }


def _largest(values: Array) -> Array:
    biggest: Array = values.max(axis=(-2, -1))
    return biggest
