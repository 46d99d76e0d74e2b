"""From strips to measures and margins: the one road every check takes, for one section or a batch."""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from longvault.constraints.actions import CHARACTERISTIC, SUSTAINED, ULTIMATE, LineLoads, line_loads
from longvault.constraints.arch_thrust import first_thrust, lasting_thrust
from longvault.constraints.basis import Basis
from longvault.constraints.combinations import ALONE
from longvault.constraints.drainage import fall_weight, gutter_fall, gutter_width, ponds
from longvault.constraints.effects import Effects, Governing, Signs, effects, signs_of
from longvault.constraints.erection import erection_case, erection_measures
from longvault.constraints.limit import governing_limit
from longvault.constraints.limits import Limit, limits_of
from longvault.constraints.load_cases import case_loads
from longvault.constraints.making import Making, making
from longvault.constraints.proving import covered
from longvault.constraints.reinforcement import BeamSection
from longvault.constraints.service import late_by_sign
from longvault.constraints.sideways import pushed_demands
from longvault.constraints.strength import ROUND_OFF, Moments, beam_sections, demands, governing_cases
from longvault.constraints.sway import holding, swayed, wind_forces
from longvault.sections.member import NOT_PROVED
from longvault.sections.opening import clear_opening, slot
from longvault.sections.properties import Properties, section_properties
from longvault.sections.strips import Strips
from longvault.sections.symbols import Array, IntArray

PATTERNED = 2.0
"""Steel over lasting moment, of the lesser sign over the larger: at most so much by loads on some fields."""
BLOCK = 512
"""Candidates evaluated at a time, so that temporaries stay in cache. Results do not depend on it."""


@dataclass(frozen=True, slots=True, eq=False)
class Evaluation:
    """Measures and margins of a batch.

    Parameters
    ----------
    measures : mapping of str to array (...)
        By the keys of `longvault.constraints.measures.MEASURES`, SI.
    margins : array (..., K)
        One column for each limit; <= 0 holds.
    limits : tuple of Limit, length K
        What the columns are.
    cases : mapping of limit key to Governing
        For each limit that depends on loads, and for ``holding-force``: the combination that governs it, and
        where along the span.
    note : str
        What the reader must know of the level of the analysis; empty where the folded plate covers the roof.
    """

    measures: Mapping[str, Array]
    margins: Array
    limits: tuple[Limit, ...]
    cases: Mapping[str, Governing] = field(default_factory=dict)
    note: str = ""

    @property
    def governing(self) -> IntArray:
        """Index of the limit that governs (...): the largest margin (0 for a NaN row)."""
        return governing_limit(self.limits, self.margins)


def evaluate(strips: Strips, basis: Basis) -> Evaluation:
    """Measure a section, or a batch (...), and compare it with every limit of the basis of design.

    Examples
    --------
    >>> from longvault.constraints.basis import Requirements
    >>> fold = Strips.chain([-3.0, 0.0, 3.0], [0.0, 2.0, 0.0], 0.1, ["wing", "crown"])
    >>> result = evaluate(fold, Basis(span=20.0, pitch=6.2, requirements=Requirements(height_max=2.5)))
    >>> round(float(result.measures["area"]), 4), result.limits[int(result.governing)].key
    (0.7211, 'height')
    >>> result.cases["compression"].name()
    '1.35 G + 1.5 snow'
    """
    p = section_properties(strips)
    need = basis.requirements
    made = making(strips, bend_radius=need.bend_radius_min, steep_slope=need.steep_slope)
    opening = np.maximum(clear_opening(strips, basis.pitch, basis.frame), 0.0)
    beam, cases = _beam(strips, p, made, opening, basis)
    measures = geometry_measures(p, made, opening, basis) | beam
    if need.glass_slope_min is not None:
        measures["glass_slope"] = glass_slope(strips, basis)
    if need.pond_depth_max is not None:
        measures["pond_depth"] = ponds(strips).depth
    if basis.loads.gutter_fall > 0:
        measures["fall_headroom"] = np.full_like(p.height, headroom(basis))
    if basis.loads.erection is not None:
        measures |= erection_measures(p, basis)
        cases["erection-compression"] = erection_case(basis, p.area.shape)
    limits = limits_of(basis)
    margins = np.stack([limit.margin(measures) for limit in limits], axis=-1)
    return Evaluation(measures, margins, limits, cases, "" if covered(basis) else NOT_PROVED)


def glass_slope(strips: Strips, basis: Basis) -> Array:
    """Angle of the glass from the horizontal (...) [rad]; upright where there is no slot, so no glass."""
    gap = slot(strips, basis.pitch)
    upright = np.where(np.isnan(gap.width), np.nan, 0.5 * np.pi)
    return np.where(gap.width > 0.0, gap.slope, upright)


def geometry_measures(p: Properties, made: Making, opening: Array, basis: Basis) -> dict[str, Array]:
    """Measures of the section that no load enters."""
    modulus = np.minimum(p.s_top, p.s_bottom) if basis.held else p.s_free
    efficiency = modulus / (p.area * p.height)
    return {
        "area": p.area,
        "section_modulus": modulus,
        "opening": opening,
        "height": p.height,
        "width": p.width,
        "equivalent_thickness": p.area / basis.pitch,
        "centroid_height": p.centroid_z - p.bottom,
        "ixx": p.ixx,
        "izz": p.izz,
        "ixz": p.ixz,
        "s_top": p.s_top,
        "s_bottom": p.s_bottom,
        "shape_efficiency": efficiency,
        "ideal_share": 2.0 * efficiency,
        "slenderness": basis.depth_span / p.height,
        "thickness": made.thickness,
        "slope": made.slope,
        "steep_share": made.steep_share,
        "bend": made.tightness,
        "taper": made.taper,
        "clearance": made.clearance,
        "surface": made.surface,
    }


def _beam(
    strips: Strips, p: Properties, made: Making, opening: Array, basis: Basis
) -> tuple[dict[str, Array], dict[str, Governing]]:
    loads = module_loads(p, made, opening, basis, strips)
    variable = case_loads(basis.loads, strips, pitch=basis.pitch)
    found = signs_of(basis)
    sections = beam_sections(strips, p, basis, found)
    e = effects(basis, permanent=loads.permanent, variable=variable)
    left, thrust = first_thrust(p, sections[0], e, basis)
    states = (ULTIMATE, CHARACTERISTIC)
    m = Moments.told(*(size[state] * left for state in states for size in (e.sagging, e.hogging)))
    result = {
        "permanent_load": loads.permanent,
        "ultimate_load": e.load[ULTIMATE],
        "characteristic_load": e.load[CHARACTERISTIC],
        "ultimate_moment": np.maximum(m.sagging, m.hogging),
        "characteristic_moment": np.maximum(m.sagging_service, m.hogging_service),
        "ultimate_shear": e.shear,
        "reaction": e.push,
        "tie_down": e.pull,
    }
    lasting = (e.sagging[SUSTAINED] * left, e.hogging[SUSTAINED] * left)
    result |= lasting_moments(*lasting, basis, found)
    result |= demands(m, e.shear, p, sections, basis, found, thrust)
    cases = governing_cases(e, m, p, basis, found)
    pushed: dict[str, Array] = {}
    if basis.pushed:
        both = pushed_demands(strips, p, sections, basis, loads.permanent, variable, m, result, thrust)
        result |= both.measures
        m, cases = both.moments, cases | both.cases(cases)
        pushed, more = swayed(p, sections[0], basis, permanent=loads.permanent, variable=variable)
        cases |= more
    late = _late(strips, p, sections, m, result, basis)
    result |= _movements(sections[0], e, basis, left, late) | pushed
    result["holding_force"] = e.load[CHARACTERISTIC] * p.ixz / p.ixx  # of a free module: what would hold it
    if basis.loads.pushes:
        result |= wind_forces(basis, variable)
        if basis.held:
            result["holding_force"], cases["holding-force"] = holding(
                p, basis, permanent=loads.permanent, variable=variable
            )
    if thrust is not None:
        result |= lasting_thrust(strips, p, sections[0], result, thrust, basis)
    return result, cases


def _late(
    strips: Strips,
    p: Properties,
    sections: tuple[BeamSection, BeamSection | None],
    m: Moments,
    known: Mapping[str, Array],
    basis: Basis,
) -> Array | float:
    """Long-term over elastic deflection (...): of both signs of moment that last, the larger.

    Where the lesser sign lasts lies at most `PATTERNED` times the steel of its share of the larger moment:
    what uplift asks for lies elsewhere.
    """
    if basis.requirements.long_term == "factor":
        return basis.requirements.long_term_factor
    most, least = known["sustained_moment"], known.get("sustained_moment_reverse")
    if least is None:
        return late_by_sign(strips, p, sections, m, known, basis)[0]
    share = known["steel_area_reverse"] / np.maximum(known["steel_area"], 1e-12)
    weighed = {"sustained_moment_reverse": np.maximum(least, most * share / PATTERNED)}
    late, turned = late_by_sign(strips, p, sections, m, {**known, **weighed}, basis)
    return late if turned is None else np.where(least > ROUND_OFF * most, np.maximum(late, turned), late)


def lasting_moments(sagging: Array, hogging: Array, basis: Basis, found: Signs) -> dict[str, Array]:
    """Name the largest quasi-permanent moments (...) [N m]: of the main sign, of the other if it occurs."""
    own, other = (sagging, hogging) if basis.sagging else (hogging, sagging)
    return {"sustained_moment": own} | ({"sustained_moment_reverse": other} if found.both else {})


def module_loads(
    p: Properties, made: Making, opening: Array, basis: Basis, strips: Strips | None = None
) -> LineLoads:
    """Permanent loads of one module per metre of span; ``strips`` are needed where gutters have a fall."""
    fall = headroom(basis)
    if fall and strips is None:
        raise ValueError("strips: gutters with a fall need the section to weigh their screed")
    return line_loads(
        basis.loads,
        area=p.area,
        surface=made.surface,
        opening=opening,
        pitch=basis.pitch,
        weight=basis.concrete.weight,
        screed=fall_weight(gutter_width(strips), headroom=fall) if fall and strips is not None else 0.0,
    )


def headroom(basis: Basis) -> float:
    """Height that the fall of the gutters takes [m]."""
    fall = basis.loads.gutter_fall
    return gutter_fall(basis.line.length, fall=fall, outlets=basis.loads.outlets) if fall else 0.0


def _movements(
    section: BeamSection, e: Effects, basis: Basis, left: Array | float, late: Array | float
) -> dict[str, Array]:
    """Deflections short and long term, sideways, and between a loaded module and an empty neighbour."""
    need = basis.requirements
    stiffness = basis.concrete.ecm * section.inertia
    short, sustained, alone = (
        e.sag[state] * left / stiffness for state in (CHARACTERISTIC, SUSTAINED, ALONE)
    )
    result = {
        "deflection_short": short,
        "deflection_sustained": sustained,
        "deflection": late * sustained - need.camber,
        "sideways": short * section.sway,
        "glass_difference": alone * np.sqrt(1.0 + section.sway**2),
    }
    if need.camber:
        result["upward"] = need.camber - sustained
    if need.sideways_ratio is not None:
        result["sideways_size"] = np.abs(result["sideways"])
    if len(basis.line.fields) > 1:
        allowed = basis.depth_span / need.deflection_ratio
        result["deflection_allowed"] = allowed / e.sag_scale[SUSTAINED]
        place = e.governing["sag_sustained"].y
        result["deflection_place"] = place + 0.0 * sustained
    if e.tip is not None:
        result["deflection_tip"] = late * (e.tip * left / stiffness) - need.camber
    return result


def heaviest(loads: LineLoads, basis: Basis, state: str) -> Array:
    """Largest load per metre of span among the combinations of one state (...) [N/m]."""
    cases = [loads.combined(c) for c in basis.standard.combinations if c.state == state]
    return np.asarray(np.maximum.reduce(cases))
