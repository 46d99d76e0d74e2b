"""From a brief in trade units to what the packages work with in SI: units are converted here, once."""

from dataclasses import replace
from math import radians

from longvault.constraints.actions import STANDARDS, Loads, Standard, Wind, european_standard
from longvault.constraints.basis import Basis, Detailing, Requirements
from longvault.constraints.materials import Concrete, Steel
from longvault.constraints.measures import DEG
from longvault.constraints.proof import Proving, covered
from longvault.constraints.stability import BucklingSettings
from longvault.sections.families import Family, Setting, Variable
from longvault.sections.families.registry import make_family
from longvault.sections.families.tapered import Tapered
from longvault.studies.brief_concrete import concrete_settings_of, daylight_settings_of
from longvault.studies.brief_model import Brief
from longvault.studies.brief_own import own_limits_of
from longvault.studies.brief_spans import arch_of_roof, support_of_roof


def variable_key(variable: Variable) -> tuple[str, float]:
    """Key of a variable in a brief, with its unit, and its value in that unit over its SI value.

    Examples
    --------
    >>> variable_key(Variable("keel_thickness", 0.08, 0.3, "m", "keel"))
    ('keel_thickness_mm', 1000.0)
    """
    if variable.unit == "rad":
        return f"{variable.name}_deg", DEG
    if variable.unit == "m" and "thickness" in variable.name:
        return f"{variable.name}_mm", 1e3
    return (f"{variable.name}_{variable.unit}" if variable.unit else variable.name), 1.0


def setting_of(brief: Brief) -> Setting:
    """Return what a family must know of the roof, SI."""
    return Setting(
        pitch=brief.roof.bay_m,
        height=brief.limits.height_max_m,
        thickness=detailing_of(brief).thickness_floor,
    )


def families_of(brief: Brief) -> tuple[Family, ...]:
    """Make the families of the brief."""
    return tuple(make_family(key, setting_of(brief)) for key in brief.section.all_families)


def family_of(brief: Brief) -> Family:
    """Make the family of the brief, the first of several."""
    return families_of(brief)[0]


def variables_of(brief: Brief, family: Family | None = None) -> tuple[Variable, ...]:
    """Return a family's variables with the ranges and the thickness step of the brief, SI."""
    step = brief.section.thickness_step_mm / 1e3
    result = []
    for variable in (family or family_of(brief)).variables:
        key, per_si = variable_key(variable)
        low, high = brief.section.ranges.get(key, (None, None))
        result.append(
            replace(
                variable,
                lower=variable.lower if low is None else low / per_si,
                upper=variable.upper if high is None else high / per_si,
                step=step if "thickness" in variable.name else variable.step,
            )
        )
    return tuple(result)


def detailing_of(brief: Brief) -> Detailing:
    """Return the detailing of the brief, SI."""
    d = brief.detailing
    return Detailing(
        cover_top=d.cover_top_mm / 1e3,
        cover_bottom=d.cover_bottom_mm / 1e3,
        mesh_bar=d.mesh_bar_mm / 1e3,
        mesh_layers=d.mesh_layers,
        mesh_spacing=d.mesh_spacing_mm / 1e3,
        support_spacing=d.support_spacing_mm / 1e3,
        main_bar=d.main_bar_mm / 1e3,
        aggregate=d.aggregate_mm / 1e3,
        tolerance=d.tolerance_mm / 1e3,
        fire_floor=d.fire_floor_mm / 1e3,
        bar_zone=d.bar_zone,
        lap_factor=d.lap_factor,
    )


def _requirements_of(brief: Brief) -> Requirements:
    n = brief.limits
    return Requirements(
        height_max=n.height_max_m,
        opening_min=n.opening_min_m,
        glass_slope_min=_in_si(n.glass_slope_min_deg, radians(1.0)),
        span_to_depth_max=n.span_to_depth_max,
        span_to_depth_min=n.span_to_depth_min,
        deflection_ratio=n.deflection_ratio,
        long_term_factor=n.long_term_factor,
        slope_max=radians(n.slope_max_deg),
        steep_slope=radians(n.steep_slope_deg),
        steep_share_max=n.steep_share_max_pct / 100.0,
        bend_radius_min=n.bend_radius_min_m,
        taper_max=n.taper_max,
        exposure=n.exposure,
        crack_width_max=_in_si(n.crack_width_max_mm, 1e-3),
        camber=n.camber_mm / 1e3,
        long_term=n.long_term,
        creep=n.creep,
        shrinkage=n.shrinkage_mm_m / 1e3,
        glass_difference_max=_in_si(n.glass_difference_max_mm, 1e-3),
        sideways_ratio=n.sideways_ratio,
        pond_depth_max=_in_si(n.pond_depth_max_mm, 1e-3),
        tie_down_max=_in_si(n.tie_down_max_kN, 1e3),
        own=own_limits_of(brief),
    )


def _in_si(value: float | None, unit: float) -> float | None:
    return None if value is None else value * unit


def _loads_of(brief: Brief) -> Loads:
    q = brief.loads
    return Loads(
        finish=q.finish_kN_m2 * 1e3,
        snow=q.snow_ground_kN_m2 * q.snow_factor * 1e3,
        maintenance=q.maintenance_kN_m2 * 1e3,
        glass=q.glass_kN_m2 * 1e3,
        services=q.services_kN_m * 1e3,
        services_x=q.services_x_m,
        drift="" if q.drift == "none" else q.drift,
        ground_snow=q.snow_ground_kN_m2 * 1e3,
        wind=tuple(Wind(w.name, tuple((a, b, p * 1e3) for a, b, p in w.zones)) for w in q.wind),
        gutter_fall=q.gutter_fall_pct / 100.0,
        outlets=q.outlets,
        water=q.water_depth_mm / 1e3,
        erection=_in_si(q.erection_kN_m2, 1e3),
    )


def proving_of(brief: Brief) -> Proving | None:
    """Return how the brief has designs proved as folded plates; None where that does not cover the roof."""
    basis = basis_of(brief)
    return None if not covered(basis) or isinstance(family_of(brief), Tapered) else basis.crosswise


def _crosswise_of(brief: Brief) -> Proving:
    """Return which bays are looked at across the span, with what between them."""
    return Proving(
        bays=brief.roof.proved_bays,
        strut=brief.roof.slot_strut_MN_m2 * 1e6,
        spacing=brief.roof.strut_spacing_m,
        collar=brief.roof.collar_MN_m2 * 1e6,
        collar_at=brief.roof.collar_at,
        slot_movement=brief.limits.slot_movement_max_mm / 1e3,
        stability=BucklingSettings(
            creep=brief.limits.buckling_creep,
            knock_down=brief.limits.buckling_knock_down,
            safety=brief.limits.buckling_safety,
        ),
    )


def _standard_of(brief: Brief) -> Standard:
    standard, (psi0, psi1, psi2) = STANDARDS[brief.loads.standard], brief.loads.snow_psi
    return standard if standard.concrete is not Concrete else european_standard((psi0, psi1, psi2))


def basis_of(brief: Brief) -> Basis:
    """Return the basis of design of the brief, SI.

    Examples
    --------
    >>> from longvault.studies.brief import read_brief
    >>> from longvault.studies.briefs import starter_text
    >>> basis = basis_of(read_brief(starter_text("market-hall")))
    >>> basis.span, round(basis.loads.snow, 6), round(basis.detailing.thickness_floor, 6)
    (24.0, 640.0, 0.08)
    """
    roof, materials = brief.roof, brief.materials
    support, spans = support_of_roof(roof)
    return Basis(
        span=roof.span_m,
        pitch=roof.bay_m,
        requirements=_requirements_of(brief),
        support=support,
        loads=_loads_of(brief),
        concrete=Concrete(
            materials.fck_MPa * 1e6, materials.weight_kN_m3 * 1e3, materials.alpha_cc, materials.gamma_c
        ),
        steel=Steel(materials.fyk_MPa * 1e6),
        standard=_standard_of(brief),
        detailing=detailing_of(brief),
        held=roof.held_sideways,
        frame=roof.glazing_frame_mm / 1e3,
        spans=spans,
        arch=arch_of_roof(roof),
        concrete_settings=concrete_settings_of(brief),
        daylight=daylight_settings_of(brief),
        crosswise=_crosswise_of(brief),
    )
