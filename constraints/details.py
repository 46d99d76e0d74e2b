"""Closer checks of a section: torsion, cracked bending, steel, prestress, amounts, daylight.

They cost several times the checks of `longvault.constraints.evaluate.evaluate`, so a search asks for them
where those are held; a calculation sheet always does.
"""

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from longvault.constraints.basis import Basis
from longvault.constraints.concrete_checks import (
    CONCRETE_MEASURES,
    Demand,
    concrete_limits,
    concrete_measures,
    torsion_covered,
)
from longvault.constraints.daylight_settings import DAYLIGHT_MEASURES, daylight_limits, daylight_measures
from longvault.constraints.effects import Governing
from longvault.constraints.evaluate import Evaluation, evaluate, module_loads
from longvault.constraints.limit import Limit
from longvault.constraints.making import making
from longvault.constraints.own_limits import own_limits
from longvault.sections.properties import Properties, section_properties
from longvault.sections.strips import Strips
from longvault.sections.symbols import Array

TENSIONED = (
    "prestress_force", "prestress_window", "strands", "transfer_compression", "seat_thickness",
    "balanced_load",
)  # fmt: skip
"""Measures that come with post-tensioning alone."""

TWISTED = (
    "end_torque", "edge_compression", "edge_tension", "principal_tension", "cracked_use", "torsion_shear",
)  # fmt: skip
"""Measures of stress with torsion."""

GOVERNED = {
    "torsion-compression": "compression",
    "torsion-shear": "shear",
    "neutral-axis": "compression",
    "prestress-window": "compression-service",
}
"""Limit of the closer checks -> limit of the beam that has the same governing combination."""


def concrete_covered(basis: Basis) -> bool:
    """Whether the closer checks of concrete apply: asked for, and no thrust along the span."""
    return basis.concrete_settings is not None and basis.arch is None


def detail_keys(basis: Basis) -> tuple[str, ...]:
    """Measures that `detail_measures` gives under a basis of design.

    Examples
    --------
    >>> from longvault.constraints.basis import Requirements
    >>> basis = Basis(span=24.0, pitch=7.5, requirements=Requirements(height_max=2.65))
    >>> "carbon" in detail_keys(basis), "daylight_mean" in detail_keys(basis)
    (True, False)
    """
    keys: tuple[str, ...] = ()
    settings = basis.concrete_settings
    if settings is not None and concrete_covered(basis):
        left_out: tuple[str, ...] = () if settings.tensioning is not None else TENSIONED
        left_out += () if torsion_covered(basis) else TWISTED
        keys = tuple(measure.key for measure in CONCRETE_MEASURES if measure.key not in left_out)
    return keys + (DAYLIGHT_MEASURES if basis.daylight is not None else ())


def detail_limits(basis: Basis) -> tuple[Limit, ...]:
    """Limits on the measures of `detail_measures`."""
    limits: tuple[Limit, ...] = ()
    if basis.concrete_settings is not None and concrete_covered(basis):
        limits = concrete_limits(basis, basis.concrete_settings)
    limits += daylight_limits(basis.daylight) if basis.daylight is not None else ()
    return limits + own_limits(basis.requirements.own, "closer")


def detail_measures(strips: Strips, measures: Mapping[str, Array], basis: Basis) -> dict[str, Array]:
    """Measures of the closer checks for a batch (...).

    Parameters
    ----------
    strips : Strips
        Batch (...) of open sections.
    measures : mapping
        Of the same strips, from `longvault.constraints.evaluate.evaluate`.
    basis : Basis
        ``concrete_settings`` and ``daylight`` say what is asked.
    """
    p = section_properties(strips)
    found: dict[str, Array] = {}
    with np.errstate(all="ignore"):  # what cannot be measured is a NaN row
        if basis.concrete_settings is not None and concrete_covered(basis):
            demand = demand_of(strips, p, measures, basis)
            found |= concrete_measures(strips, p, basis, demand, basis.concrete_settings)
        if basis.daylight is not None:
            found |= daylight_measures(strips, p, basis.pitch, basis.daylight)
    return found


def demand_of(strips: Strips, p: Properties, measures: Mapping[str, Array], basis: Basis) -> Demand:
    """Gather what the beam analysis hands to the checks of concrete."""
    need = basis.requirements
    made = making(strips, bend_radius=need.bend_radius_min, steep_slope=need.steep_slope)
    moment, steel = measures["ultimate_moment"], measures["steel_area"]
    reverse = measures.get("steel_area_reverse")
    if reverse is not None:  # the largest moment may be that of the other side
        arm = np.minimum(measures["arm_block"], measures["arm_bars"])
        moment = steel * arm * basis.strengths.steel
    return Demand(
        moment=moment,
        service=measures["characteristic_moment"],
        shear=measures["ultimate_shear"],
        steel=steel,
        ultimate=measures["ultimate_load"],
        characteristic=measures["characteristic_load"],
        loads=module_loads(p, made, measures["opening"], basis, strips),
        reverse=0.0 if reverse is None else reverse,
    )


def evaluate_closely(strips: Strips, basis: Basis) -> Evaluation:
    """Measure a section, or a batch (...), with the closer checks beside those of the beam.

    Examples
    --------
    >>> from longvault.constraints.basis import Requirements
    >>> fold = Strips.chain([-3.0, 0.0, 3.0], [0.0, 2.0, 0.0], 0.1, ["wing", "crown"])
    >>> done = evaluate_closely(fold, Basis(span=20.0, pitch=6.2, requirements=Requirements(height_max=2.5)))
    >>> round(float(done.measures["neutral_depth"]), 2), done.limits[-1].key
    (0.13, 'mesh-spacing')
    """
    beam = evaluate(strips, basis)
    limits = detail_limits(basis)
    measures = {**beam.measures, **detail_measures(strips, beam.measures, basis)}
    return joined(beam, measures, _margins(limits, measures, beam.margins.shape[:-1]), limits)


def joined(
    beam: Evaluation, measures: Mapping[str, Array], margins: Array, limits: tuple[Limit, ...]
) -> Evaluation:
    """Put the closer measures and limits behind those of the beam."""
    cases: dict[str, Governing] = dict(beam.cases)
    keys = {limit.key for limit in limits}
    cases |= {key: cases[same] for key, same in GOVERNED.items() if key in keys and same in cases}
    return replace(
        beam,
        measures=measures,
        margins=np.concatenate([beam.margins, margins], axis=-1),
        limits=beam.limits + limits,
        cases=cases,
    )


def _margins(limits: tuple[Limit, ...], measures: Mapping[str, Array], batch: tuple[int, ...]) -> Array:
    rows = [limit.margin(measures) for limit in limits]
    return np.stack(rows, axis=-1) if rows else np.empty((*batch, 0))


def staged(beam: Evaluation, strips: Strips, basis: Basis, *, most: float) -> Evaluation:
    """Closer checks of those designs (N,) whose beam margins are finite and at most ``most``.

    The others keep NaN measures and margins of inf: not worked out.
    """
    limits, keys, count = detail_limits(basis), detail_keys(basis), len(beam.margins)
    measures = {**beam.measures, **{key: np.full(count, np.nan) for key in keys}}
    margins = np.full((count, len(limits)), np.inf)
    rows = np.flatnonzero((np.isfinite(beam.margins) & (beam.margins <= most)).all(axis=-1))
    if len(rows):
        held = {key: values[rows] for key, values in beam.measures.items()}
        found = detail_measures(strips[rows], held, basis)
        for key, values in found.items():
            measures[key][rows] = values
        margins[rows] = _margins(limits, {**held, **found}, (len(rows),))
    return joined(beam, measures, margins, limits)
