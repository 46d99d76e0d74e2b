"""Demands on one bay from its solved folded plate: strength, movement, stability, by superposition."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np

from longvault.constraints.actions import CHARACTERISTIC, SUSTAINED, ULTIMATE
from longvault.constraints.alternate import alternate_rows
from longvault.constraints.basis import Basis
from longvault.constraints.combinations import combined as combined_cases
from longvault.constraints.load_cases import variable_cases
from longvault.constraints.plates_midspan import MidSpan, superposed
from longvault.constraints.plates_records import Links, Supports
from longvault.constraints.plates_row import valleys_in_turn
from longvault.constraints.proving import Proving
from longvault.constraints.stability import half_waves, lowest_factor
from longvault.constraints.stability_kernel import MOST
from longvault.constraints.stability_screen import LocalScreen
from longvault.sections import Section, Strips
from longvault.sections.bending import mean_positive_part
from longvault.sections.parts import roof_surface
from longvault.sections.symbols import Array

SHORTEST_WAVE = 12.0
"""Half-wavelengths are tried down to this many of the least thickness: shorter ones need far more stress."""


PANEL_WAVES = (60.0, 30.0)
"""In the search: half-waves of panels, in least thicknesses; the fine proof finds at most a tenth more."""

AMPLE = 2.0
"""In the search, a section with this many times the resistance it needs is not looked at more closely: its
demand is told as one half of what is allowed, whatever less it is. Delivered designs are told in full."""

COARSE, FINE = 2e-2, 1e-4
"""Accuracy of a buckling factor, always from below: in the search, and of a fine proof."""


def combinations(measures: Mapping[str, Array], basis: Basis, state: str) -> list[tuple[Array | float, ...]]:
    """Factors on the solved cases for each combination of a state; the heaviest alone where all are alike."""
    if not basis.plain:
        rows = combined_cases(basis.combinations, variable_cases(basis.loads), state)
        return [(g, *row) for g, row in zip(rows.permanent, rows.variable, strict=True)]
    cases = [c for c in basis.combinations if c.state == state]
    permanent = measures["permanent_load"][..., None]
    g = np.array([c.permanent for c in cases])
    plan = np.array([c.snow * basis.loads.snow + c.maintenance * basis.loads.maintenance for c in cases])
    worst = np.argmax(g * permanent + plan * basis.pitch, axis=-1)
    return [(g[worst], plan[worst])]


def bay_demands(
    section: Section,
    cases: Sequence[MidSpan],
    screen: LocalScreen,
    measures: Mapping[str, Array],
    basis: Basis,
    proving: Proving,
) -> tuple[dict[str, Array], Array]:
    """Demands (...), each the largest over the combinations of its state, and the stress to look at.

    Behind the even cases may stand those of `longvault.constraints.alternate.alternate_bays`.

    The stress along the span (..., e, 2) is that of the ultimate combination nearest to buckling by the
    screen.
    """
    slots = [joint.node for joint in section.joints if joint.kind != "valley"]
    rows = {state: combinations(measures, basis, state) for state in (ULTIMATE, CHARACTERISTIC, SUSTAINED)}
    others = len(rows[ULTIMATE][0]) - 1
    if len(cases) > 1 + others:  # snow on every other bay too
        rows = {
            state: [*((*row, 0.0, 0.0) for row in even), *alternate_rows(basis, state, others)]
            for state, even in rows.items()
        }
    right, up = [case.right[..., slots] for case in cases], [case.up for case in cases]
    heaviest = [MidSpan.combined(cases, factors) for factors in rows[ULTIMATE]]
    share = proving.stability.design_share()
    ultimate = [_strength(section.strips, one, screen, share, basis) for one in heaviest]
    found = {key: np.maximum.reduce([one[key] for one in ultimate]) for key in ultimate[0]}
    moved = [np.abs(superposed(right, factors)) for factors in rows[CHARACTERISTIC]] if slots else []
    none = np.zeros(section.strips.batch)
    found["slot_movement"] = np.maximum.reduce([none, *(edges.max(axis=-1) for edges in moved)])
    sag = np.maximum.reduce([-superposed(up, factors).min(axis=-1) for factors in rows[SUSTAINED]])
    late = (measures["deflection"] + basis.requirements.camber) / measures["deflection_sustained"]
    found["plate_deflection"] = late * sag  # cracking and creep multiply it as they do that of the beam
    worst = np.argmax([one["buckling"] for one in ultimate], axis=0)
    stress = np.stack([one.n_y for one in heaviest]) / section.strips.thickness[..., None]
    governing = np.take_along_axis(stress, worst[None, ..., None, None], axis=0)[0]
    return found, governing


def _strength(
    strips: Strips, one: MidSpan, screen: LocalScreen, share: float, basis: Basis
) -> dict[str, Array]:
    t = strips.thickness[..., None]
    shear, stress = np.abs(one.n_ys), one.n_y / t
    surface = np.flatnonzero(roof_surface(strips))
    tension = np.einsum("...e,...e->...", strips.length, mean_positive_part(one.n_y[..., 0], one.n_y[..., 1]))
    pulled, bent = one.n_s[..., surface, :], one.m_s[..., surface, :]
    return {
        "plate_compression": _largest(6.0 * np.abs(one.m_y) / (t * t) - stress),
        "plate_steel_area": tension / basis.strengths.steel,
        "plate_shear_stress": _largest(shear / t),
        "plate_web_steel": _largest(shear[..., surface, :]) / basis.strengths.shear_steel,
        "transverse_moment": _largest(np.abs(bent)),
        "transverse": _largest(mesh_use(bent, pulled, t[..., surface, :], basis)),
        "peak_stress": _largest(np.abs(stress)),
        "buckling": 1.0 / (share * screen.factor(stress)),
    }


def finite_strip_buckling(
    strips: Strips,
    stress: Array,
    supports: Supports,
    basis: Basis,
    proving: Proving,
    *,
    links: Links | None = None,
    coarse: bool = False,
    waves: Array | None = None,
    known: Array | None = None,
) -> Array:
    """Demand over capacity (...) by finite strips over half-wavelengths; ``coarse``: a few, or ``waves`` [m].

    The stress at mid-span is taken all along the span: on the heavy side for long half-waves. Neighbours,
    struts and collars hold the section as in the folded plate. With struts to the next module, or a valley
    shared with it, the row may buckle alike or module by module in turn, and the more unfavourable counts: in
    unison no strut is strained where modules lean, in turn none where one opens as the next closes; a valley
    neither moves across nor turns where both sides do the same, and is a hinge where they do the opposite
    (`longvault.constraints.plates_row.valleys_in_turn`). Valleys on both sides are taken as of one kind: so
    are the extremes of a row of symmetric modules. No less is told than what is ``known`` (...) to be asked,
    or in a ``coarse`` look 1 / `AMPLE` of what is allowed.
    """
    share = proving.stability.design_share()
    if waves is None and coarse:
        near = {min(basis.span, panel * basis.detailing.thickness_floor) for panel in PANEL_WAVES}
        waves = np.array(sorted({basis.span, *near}, reverse=True))
    elif waves is None:
        shortest = min(SHORTEST_WAVE * float(strips.thickness.min()), basis.span)
        waves = half_waves(basis.span, shortest=shortest)
    factor: Array | float = AMPLE / (share * _least_allowed(basis)) if coarse else MOST
    if known is not None:
        factor = 1.0 / (share * known)
    for held, way in _ways(supports, Links.none() if links is None else links):
        factor, _ = lowest_factor(
            strips, stress, half_waves=waves, modulus=basis.concrete.ecm, poisson=proving.poisson,
            supports=held, links=way, guess=1.0 / share, accuracy=COARSE if coarse else FINE,
            most=np.minimum(factor, MOST),
        )  # fmt: skip
    found: Array = 1.0 / (share * np.asarray(factor))
    return found


def _ways(supports: Supports, links: Links) -> list[tuple[Supports, Links]]:
    """Ways in which a row can buckle: valleys mirrored or in turn, struts in unison or in turn."""
    opposite = valleys_in_turn(supports)
    valleys = [supports] if opposite is None else [supports, opposite]
    struts = [links, replace(links, in_turn=True)] if links.shift.any() else [links]
    return [(valley, strut) for valley in valleys for strut in struts]


def _least_allowed(basis: Basis) -> float:
    """Least demand over capacity of buckling that is asked for: 1, or a cap of the user's own below it."""
    own = [limit.capacity for limit in basis.requirements.own if limit.demand.endswith("buckling")]
    return min([1.0, *(cap for cap in own if isinstance(cap, float))])


def mesh_use(moment: Array, pull: Array, thickness: Array, basis: Basis) -> Array:
    """Share of the mesh across the vault that a moment [N m/m] and a tension [N/m] take together.

    |m_s| / m_R + n_s / (a_s f_yd), n_s a tension: a straight line between pure bending and pure tension,
    which the resistance (a_s f_yd - n)(d - x / 2) of a mesh at mid-depth bulges over by a few per cent
    (derived); of two meshes, the one on the stretched side alone. Compression is left out: it helps.

    Parameters
    ----------
    moment, pull : array (...)
        m_s [N m/m] and n_s, tension positive [N/m].
    thickness : array (...)
        Of the shell [m].

    Returns
    -------
    array (...)
        1 where the mesh is used up.

    Examples
    --------
    >>> from longvault.constraints.basis import Requirements
    >>> basis = Basis(span=24.0, pitch=9.0, requirements=Requirements(height_max=2.5))
    >>> round(float(mesh_use(np.array(2.65e3), np.array(25.0e3), np.array(0.080), basis)), 2)
    0.67
    """
    force = mesh_force(basis)
    return np.asarray(np.abs(moment) / mesh_moment(thickness, basis) + np.maximum(pull, 0.0) / force)


def mesh_force(basis: Basis) -> float:
    """Force at yield of one mesh across the vault, a_s f_yd [N/m].

    Examples
    --------
    >>> from longvault.constraints.basis import Requirements
    >>> basis = Basis(span=24.0, pitch=9.0, requirements=Requirements(height_max=2.5))
    >>> round(mesh_force(basis) / 1e3, 1)  # 335.1 mm2/m x 434.8 MPa
    145.7
    """
    d = basis.detailing
    return float(0.25 * np.pi * d.mesh_bar**2 / d.mesh_spacing * basis.strengths.steel)


def mesh_moment(thickness: Array, basis: Basis) -> Array:
    """Bending resistance of the shell's mesh across the vault (...) [N m/m].

    a_s f_yd (d - x / 2), x = a_s f_yd / f_cd (rectangular block, EN 1992-1-1, 3.1.7). Of one mesh the bars
    across lie at mid-depth, d = t / 2, those along the span beside them; of two meshes one lies at each
    face, d = t - cover - 1.5 bars.

    Examples
    --------
    >>> from longvault.constraints.basis import Requirements
    >>> basis = Basis(span=24.0, pitch=9.0, requirements=Requirements(height_max=2.5))
    >>> round(float(mesh_moment(np.array(0.080), basis)) / 1e3, 2)  # 335 mm2/m x 435 MPa x 36.4 mm
    5.3
    """
    d, force = basis.detailing, mesh_force(basis)
    inset = max(d.cover_top, d.cover_bottom) + 1.5 * d.mesh_bar
    depth = 0.5 * thickness if d.mesh_layers == 1 else thickness - inset
    return np.maximum(force * (depth - 0.5 * force / basis.strengths.compression), 1.0)


def _largest(values: Array) -> Array:
    biggest: Array = values.max(axis=(-2, -1))
    return biggest
