"""From strips to measures and margins: the one road every check takes, for one section or a batch."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from longvault.constraints import beam
from longvault.constraints.actions import CHARACTERISTIC, SUSTAINED, ULTIMATE, LineLoads, line_loads
from longvault.constraints.basis import Basis
from longvault.constraints.limits import Limit, limits_of
from longvault.constraints.making import Making, making
from longvault.constraints.reinforcement import BeamSection, beam_section
from longvault.sections.opening import clear_opening
from longvault.sections.properties import Properties, section_properties
from longvault.sections.strips import Strips
from longvault.sections.symbols import Array, IntArray

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
    """

    measures: Mapping[str, Array]
    margins: Array
    limits: tuple[Limit, ...]

    @property
    def governing(self) -> IntArray:
        """Index of the limit that governs (...): the largest margin (0 for a NaN row)."""
        worst: IntArray = np.argmax(np.where(np.isnan(self.margins), -np.inf, self.margins), axis=-1)
        return worst


def evaluate(strips: Strips, basis: Basis) -> Evaluation:
    """Measure a section, or a batch (...), and compare it with every limit of the basis of design.

    Examples
    --------
    >>> from longvault.constraints.basis import Requirements
    >>> fold = Strips.chain([-3.0, 0.0, 3.0], [0.0, 2.0, 0.0], 0.1, ["wing", "crown"])
    >>> result = evaluate(fold, Basis(span=20.0, pitch=6.2, requirements=Requirements(height_max=2.5)))
    >>> round(float(result.measures["area"]), 4), result.limits[int(result.governing)].key
    (0.7211, 'neighbour')
    """
    p = section_properties(strips)
    need = basis.requirements
    made = making(strips, bend_radius=need.bend_radius_min, steep_slope=need.steep_slope)
    section = beam_section(
        strips, p, detailing=basis.detailing, sagging=basis.support.moment > 0, held=basis.held
    )
    opening = np.maximum(clear_opening(strips, basis.pitch, basis.frame), 0.0)
    measures = _geometry(p, made, opening, basis) | _beam(p, made, section, opening, basis)
    limits = limits_of(basis)
    margins = np.stack([limit.margin(measures) for limit in limits], axis=-1)
    return Evaluation(measures, margins, limits)


def _geometry(p: Properties, made: Making, opening: Array, basis: Basis) -> dict[str, Array]:
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
    p: Properties, made: Making, section: BeamSection, opening: Array, basis: Basis
) -> dict[str, Array]:
    loads = line_loads(
        basis.loads,
        area=p.area,
        surface=made.surface,
        opening=opening,
        pitch=basis.pitch,
        weight=basis.concrete.weight,
    )
    w = {state: heaviest(loads, basis, state) for state in (ULTIMATE, CHARACTERISTIC, SUSTAINED)}
    m = {state: np.abs(beam.moment(basis.support, load=w[state], span=basis.span)) for state in w}
    v = beam.shear(basis.support, load=w[ULTIMATE], span=basis.span)
    compressed, stretched = _moduli(p, basis)
    strength = basis.strengths
    elastic = {
        state: beam.deflection(
            basis.support, load=w[state], span=basis.span, modulus=basis.concrete.ecm, inertia=section.inertia
        )
        for state in (CHARACTERISTIC, SUSTAINED)
    }
    arm = np.minimum(section.arm_block, section.arm_bars)
    return {
        "permanent_load": loads.permanent,
        "ultimate_load": w[ULTIMATE],
        "characteristic_load": w[CHARACTERISTIC],
        "ultimate_moment": m[ULTIMATE],
        "characteristic_moment": m[CHARACTERISTIC],
        "ultimate_shear": v,
        "compression": m[ULTIMATE] / compressed,
        "compression_service": m[CHARACTERISTIC] / compressed,
        "tension_service": m[CHARACTERISTIC] / stretched,
        "arm_block": section.arm_block,
        "arm_bars": section.arm_bars,
        "steel_area": m[ULTIMATE] / (arm * strength.steel),
        "bar_room": section.bar_room,
        "shear_stress": v * section.shear_stress,
        "web_steel": v * section.flow / strength.steel,
        "deflection_short": elastic[CHARACTERISTIC],
        "deflection": basis.requirements.long_term_factor * elastic[SUSTAINED],
        "sideways": elastic[CHARACTERISTIC] * section.sway,
        "holding_force": w[CHARACTERISTIC] * p.ixz / p.ixx if basis.held else np.zeros_like(p.ixx),
    }


def _moduli(p: Properties, basis: Basis) -> tuple[Array, Array]:
    """Section modulus on the compressed and on the stretched side for the sign of the governing moment."""
    above, below = (p.s_top, p.s_bottom) if basis.held else (p.s_free_compression, p.s_free_tension)
    return (above, below) if basis.support.moment > 0 else (below, above)


def heaviest(loads: LineLoads, basis: Basis, state: str) -> Array:
    """Largest load per metre of span among the combinations of one state (...) [N/m]."""
    cases = [loads.combined(c) for c in basis.standard.combinations if c.state == state]
    heaviest_case: Array = np.maximum.reduce(cases)
    return heaviest_case
