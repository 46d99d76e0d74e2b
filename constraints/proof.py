"""Proof of a section as a folded plate: the same demands as the beam checks, by the stronger analysis."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from longvault.constraints.actions import CHARACTERISTIC, SUSTAINED, ULTIMATE
from longvault.constraints.basis import Basis
from longvault.constraints.combinations import combined as combined_cases
from longvault.constraints.limits import CAP, COMMON_PRACTICE, FLOOR, Limit
from longvault.constraints.load_cases import case_loads, plan_loads, variable_cases
from longvault.constraints.plan_load import roof_line
from longvault.constraints.plates import FoldedPlate, PlateLoads, combined, folded_plates
from longvault.constraints.plates_proof import subdivided
from longvault.constraints.plates_results import displacements, smoothed, strip_forces
from longvault.constraints.plates_row import Bay, bay_supports
from longvault.constraints.spans import Spans
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
    return basis.line == Spans.simple(basis.span) and basis.arch is None


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
    loads: tuple[PlateLoads, ...],
    measures: Mapping[str, Array],
    basis: Basis,
    proving: Proving,
) -> dict[str, Array]:
    """Demands of one bay: the largest over the combinations of each state."""
    solved = folded_plates(
        section.strips,
        loads,
        span=basis.span,
        modulus=basis.concrete.ecm,
        poisson=proving.poisson,
        supports=bay_supports(section, bay),
        harmonics=proving.harmonics,
    )
    slots = [joint.node for joint in section.joints if joint.kind != "valley"]
    factor = basis.requirements.long_term_factor
    states = {
        ULTIMATE: lambda one: _strength(section.strips, one, basis),
        CHARACTERISTIC: lambda one: {"slot_movement": _slot_movement(one, slots)},
        SUSTAINED: lambda one: {"plate_deflection": factor * _sag(one)},
    }
    found: dict[str, Array] = {}
    for state, demands in states.items():
        cases = [demands(one) for one in _combinations(solved, measures, basis, state)]
        found |= {key: np.maximum.reduce([case[key] for case in cases]) for key in cases[0]}
    return found


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
) -> tuple[PlateLoads, ...]:
    """Permanent loads, then every variable case, as they lie on the strips.

    Where only snow and maintenance everywhere can govern (`Basis.plain`), one plan load of 1 N/m2 stands for
    both. Glass, and what falls on it, hangs on the joints in equal parts; standing water on the lowest line
    of the roof. The sums equal those of the beam checks. Of wind the vertical part is taken.
    """
    surface = basis.concrete.weight * strips.thickness + basis.loads.finish * roof_surface(strips)
    glass = _on_joints(strips, joints, basis.loads.glass * opening)
    permanent = PlateLoads(surface=surface, plan=_services(strips, basis), line_down=glass)
    if basis.plain:
        return permanent, _on_plan(strips, joints, np.ones_like(strips.thickness), np.array(basis.pitch))
    found = case_loads(basis.loads, strips, pitch=basis.pitch)
    spread = plan_loads(basis.loads, roof_line(strips), pitch=basis.pitch)
    variable = [
        _on_plan(strips, joints, spread[case.name].on(strips), found.down[..., k])
        if case.name in spread
        else PlateLoads(line_down=_on_lowest(strips, found.down[..., k]))
        for k, case in enumerate(found.cases)
    ]
    return (permanent, *variable)


def _services(strips: Strips, basis: Basis) -> Array:
    """Services spread over the plan of the parts that carry them (..., e) [N/m2]."""
    carriers = strips.of_part(*SERVICE_PARTS)
    share = np.zeros(strips.thickness.shape[-1])
    share[carriers if carriers.size else slice(None)] = 1.0
    carried = np.einsum("...e,e->...", np.abs(strips.span_vectors()[0]), share)
    return basis.loads.services / carried[..., None] * share


def _on_plan(strips: Strips, joints: tuple[Joint, ...], plan: Array, total: Array) -> PlateLoads:
    """Put a plan load on the strips; what the total has beyond them (glass, tops of beams) on the joints."""
    carried = np.einsum("...e,...e->...", plan, np.abs(strips.span_vectors()[0]))
    return PlateLoads(plan=plan, line_down=_on_joints(strips, joints, total - carried))


def _on_joints(strips: Strips, joints: tuple[Joint, ...], load: Array) -> Array:
    """Line loads (..., n) that share ``load`` (...) [N/m] out to the joints, or to all nodes without any."""
    nodes = sorted({joint.node for joint in joints}) or list(range(strips.x.shape[-1]))
    line = np.zeros_like(strips.x)
    line[..., nodes] = np.asarray(load / len(nodes))[..., None]
    return line


def _on_lowest(strips: Strips, load: Array) -> Array:
    lowest = np.argmin(strips.z, axis=-1)[..., None]
    line = np.zeros_like(strips.x)
    np.put_along_axis(line, lowest, load[..., None], axis=-1)
    return line


def _combinations(
    solved: tuple[FoldedPlate, ...], measures: Mapping[str, Array], basis: Basis, state: str
) -> list[FoldedPlate]:
    """Superpose the solved cases for the combinations of a state; the heaviest alone where all are alike."""
    if not basis.plain:
        rows = combined_cases(basis.combinations, variable_cases(basis.loads), state)
        return [combined(solved, (g, *row)) for g, row in zip(rows.permanent, rows.variable, strict=True)]
    cases = [c for c in basis.combinations if c.state == state]
    permanent = measures["permanent_load"][..., None]
    g = np.array([c.permanent for c in cases])
    plan = np.array([c.snow * basis.loads.snow + c.maintenance * basis.loads.maintenance for c in cases])
    worst = np.argmax(g * permanent + plan * basis.pitch, axis=-1)
    return [combined(solved, (g[worst], plan[worst]))]


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


def _slot_movement(solved: FoldedPlate, slots: list[int]) -> Array:
    """Largest sideways movement of the slot edges at mid-span (...) [m]; 0 without a slot."""
    sideways = np.abs(displacements(solved, 0.5)[..., 0, :, 0])
    edge: Array = sideways[..., slots].max(axis=-1) if slots else np.zeros_like(sideways[..., 0])
    return edge


def _sag(solved: FoldedPlate) -> Array:
    """Largest downward movement at mid-span (...) [m]."""
    down: Array = (-displacements(solved, 0.5)[..., 0, :, 2]).max(axis=-1)
    return down


def _largest(values: Array) -> Array:
    biggest: Array = values.max(axis=(-2, -1))
    return biggest
