"""Closer checks of a section: the slice across, torsion, cracked bending, steel, amounts, daylight.

They cost several times the checks of `longvault.constraints.evaluate.evaluate`, so a search asks for them
where those are held; a calculation sheet always does.
"""

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, field, replace
from functools import lru_cache

import numpy as np

from longvault.constraints.basis import Basis
from longvault.constraints.concrete_checks import (
    CONCRETE_MEASURES,
    Demand,
    Twisted,
    concrete_limits,
    concrete_measures,
)
from longvault.constraints.crack_checks import CRACK_WIDTH, SPACING, WIDTHS, measured
from longvault.constraints.daylight_settings import DAYLIGHT_MEASURES, daylight_limits, daylight_measures
from longvault.constraints.effects import Governing, signs_of
from longvault.constraints.erection import erection_case
from longvault.constraints.erection_across import erection_across_asked, erection_limits, erection_use
from longvault.constraints.evaluate import Evaluation, evaluate, module_loads
from longvault.constraints.limit import Limit
from longvault.constraints.making import making
from longvault.constraints.measures import ERECTION_USE, SLICE_MEASURES
from longvault.constraints.own_limits import own_limits
from longvault.constraints.slice_checks import slice_asked, slice_limits, slice_measures
from longvault.constraints.stability_checks import (
    BUCKLING,
    beam_buckling,
    buckling_asked,
    buckling_limits,
)
from longvault.constraints.strength import either
from longvault.constraints.twisting import Acting
from longvault.sections.properties import Properties, section_properties
from longvault.sections.strips import Strips
from longvault.sections.symbols import Array, IntArray

TENSIONED = (
    "prestress_force", "prestress_window", "strands", "ducts", "duct_room", "transfer_compression",
    "end_tension", "decompression", "tendon_bending", "bursting_steel", "bursting_room",
    "seat_thickness", "balanced_load",
)  # fmt: skip
"""Measures that come with post-tensioning alone."""

BOTH_SIGNS = ("cracked_steel_reverse", "crack_steel_reverse")
"""Measures that come where moments of both signs occur."""

GOVERNED = {
    "torsion-compression": "compression",
    "torsion-shear": "shear",
    "neutral-axis": "compression",
    "main-steel-fits": "steel-fits",
    "main-steel-fits-reverse": "steel-fits-reverse",
    "prestress-window": "compression-service",
    "tendon-bending": "steel-fits",
    "beam-buckling": "compression",
}
"""Limit of the closer checks -> limit of the beam that has the same governing combination."""


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
    if settings is not None:
        left_out: tuple[str, ...] = () if settings.tensioning is not None else TENSIONED
        left_out += () if signs_of(basis).both else BOTH_SIGNS
        left_out += tuple(set(WIDTHS + SPACING).difference(measured(basis, settings)))
        keys = tuple(measure.key for measure in CONCRETE_MEASURES if measure.key not in left_out)
    keys += SLICE_MEASURES if slice_asked(basis) else ()
    keys += (ERECTION_USE,) if erection_across_asked(basis) else ()
    keys += (BUCKLING,) if buckling_asked(basis) else ()
    return keys + (DAYLIGHT_MEASURES if basis.daylight is not None else ())


@lru_cache(maxsize=64)
def detail_limits(basis: Basis) -> tuple[Limit, ...]:
    """Limits on the measures of `detail_measures`."""
    limits: tuple[Limit, ...] = ()
    if basis.concrete_settings is not None:
        limits = concrete_limits(basis, basis.concrete_settings)
    limits += slice_limits(basis) if slice_asked(basis) else ()
    limits += erection_limits(basis)
    limits += buckling_limits(basis)
    limits += daylight_limits(basis.daylight) if basis.daylight is not None else ()
    known = detail_keys(basis)  # what is not worked out for this roof cannot be limited
    own = own_limits(basis.requirements.own, "closer")
    return limits + tuple(limit for limit in own if limit.demand in known)


def unread(basis: Basis, read: Collection[str]) -> frozenset[str]:
    """Measures that a search may leave out: of slice and daylight, read by no limit and not in ``read``.

    A group goes as a whole: its measures come together.

    Examples
    --------
    >>> from longvault.constraints.basis import Requirements
    >>> from longvault.constraints.proving import Proving
    >>> hall = Basis(span=24.0, pitch=7.5, requirements=Requirements(height_max=2.65), crosswise=Proving())
    >>> sorted(unread(hall, ("area",))), sorted(unread(hall, ("slice_moment",)))
    (['slice_moment', 'slice_movement', 'slice_use'], [])
    """
    needed = {limit.demand for limit in detail_limits(basis)}.union(read)
    groups = [group for group in (SLICE_MEASURES, DAYLIGHT_MEASURES) if needed.isdisjoint(group)]
    return frozenset(key for group in groups for key in group) & frozenset(detail_keys(basis))


@dataclass(frozen=True, slots=True, eq=False)
class Details:
    """What the closer checks of a batch (...) find.

    Parameters
    ----------
    measures : mapping of str to array (...)
        SI, by the keys of `detail_keys`.
    twisted : Twisted or None
        Which combination governs stresses with torsion; None where concrete is not looked at.
    own : mapping of limit key to Governing
        What governs other limits, where that is not what governs plain bending.
    margins : array (..., K) or None
        Of the closer limits, where they do not follow from the measures: a taper's are those of its stations.
    """

    measures: dict[str, Array]
    twisted: Twisted | None = None
    own: Mapping[str, Governing] = field(default_factory=dict)
    margins: Array | None = None

    def cases(self, plain: Mapping[str, Governing]) -> dict[str, Governing]:
        """Name what governs the closer limits, given what governs those of the beam for the same designs."""
        found = {key: plain[same] for key, same in GOVERNED.items() if same in plain}
        if self.twisted is not None:
            for key, place in self.twisted.places.items():
                found[key] = found[key].where(place >= 0, self.twisted.names, place)
            wider = self.twisted.cracks_reverse
            if wider is not None:
                found[CRACK_WIDTH] = either(wider, plain[f"{CRACK_WIDTH}-reverse"], plain[CRACK_WIDTH])
        return {**found, **self.own}


def detail_measures(
    strips: Strips,
    measures: Mapping[str, Array],
    basis: Basis,
    acting: Acting | None = None,
    *,
    without: Collection[str] = (),
) -> Details:
    """Closer checks of a batch (...).

    Parameters
    ----------
    strips : Strips
        Batch (...) of open sections.
    measures : mapping
        Of the same strips, from `longvault.constraints.evaluate.evaluate`.
    basis : Basis
        ``concrete_settings``, ``daylight`` and ``crosswise`` say what is asked.
    acting : Acting, optional
        Internal forces at the section, where it is no prismatic module.
    without : collection of str
        Measures left out (`unread`).
    """
    p = section_properties(strips)
    found: dict[str, Array] = {}
    twisted, own = None, {}
    with np.errstate(all="ignore"):  # what cannot be measured is a NaN row
        if basis.concrete_settings is not None:
            demand = demand_of(strips, p, measures, basis)
            found, twisted = concrete_measures(strips, p, basis, demand, basis.concrete_settings, acting)
        if basis.daylight is not None and not set(without).issuperset(DAYLIGHT_MEASURES):
            found |= daylight_measures(strips, p, basis.pitch, basis.daylight)
        if slice_asked(basis) and not set(without).issuperset(SLICE_MEASURES):
            found |= slice_measures(strips, measures, basis)
        if buckling_asked(basis):
            pressed = measures.get("tie_force", 0.0) / p.area
            found[BUCKLING] = beam_buckling(strips, p, basis, pressed=pressed, **_by_sign(measures, basis))
        if erection_across_asked(basis):
            found[ERECTION_USE] = erection_use(strips, basis)
            own["erection-transverse"] = erection_case(basis, strips.batch)
    return Details(found, twisted, own)


def _by_sign(measures: Mapping[str, Array], basis: Basis) -> dict[str, Array]:
    """Ultimate moments of both signs, as the beam analysis tells them."""
    own = main_moment(measures)
    other = np.asarray(measures.get("reverse_moment", np.zeros_like(own)))
    return {"sagging": own if basis.sagging else other, "hogging": other if basis.sagging else own}


def main_moment(measures: Mapping[str, Array]) -> Array:
    """Largest ultimate moment of the main sign."""
    return measures.get("main_moment", measures["ultimate_moment"])


def demand_of(strips: Strips, p: Properties, measures: Mapping[str, Array], basis: Basis) -> Demand:
    """Gather what the beam analysis hands to the checks of concrete; of a beam-arch without its relief."""
    need = basis.requirements
    made = making(strips, bend_radius=need.bend_radius_min, steep_slope=need.steep_slope)
    reverse = measures.get("steel_area_reverse")
    moment, relief = main_moment(measures), np.zeros(())
    if basis.arch is not None:
        relief = measures["thrust"] * basis.arch.rise
        relief = relief / (moment + relief)
    return Demand(
        moment=moment / (1.0 - relief),
        service=measures["characteristic_moment"],
        shear=measures["ultimate_shear"],
        steel=measures["steel_area"] / (1.0 - relief),
        ultimate=measures["ultimate_load"],
        characteristic=measures["characteristic_load"],
        loads=module_loads(p, made, measures["opening"], basis, strips),
        reverse=0.0 if reverse is None else reverse,
        reverse_moment=measures.get("reverse_moment", 0.0),
        sustained=measures["sustained_moment"] / (1.0 - relief),
        reverse_sustained=measures.get("sustained_moment_reverse", 0.0),
        oblique=_together(measures, ""),
        oblique_reverse=_together(measures, "_reverse"),
        relief=relief,
        pressed=(measures["tie_force"] - measures["thrust"]) / p.area if basis.arch is not None else 0.0,
    )


def _together(measures: Mapping[str, Array], side: str) -> tuple[Array, Array] | None:
    """Moments of both ways that stand together for the steel of one side; None without wind from the side."""
    keys = f"oblique_moment{side}", f"oblique_side{side}"
    return (measures[keys[0]], measures[keys[1]]) if keys[0] in measures else None


def evaluate_closely(strips: Strips, basis: Basis) -> Evaluation:
    """Measure a section, or a batch (...), with the closer checks beside those of the beam.

    Examples
    --------
    >>> from longvault.constraints.basis import Requirements
    >>> fold = Strips.chain([-3.0, 0.0, 3.0], [0.0, 2.0, 0.0], 0.1, ["wing", "crown"])
    >>> done = evaluate_closely(fold, Basis(span=20.0, pitch=6.2, requirements=Requirements(height_max=2.5)))
    >>> round(float(done.measures["neutral_depth"]), 2), done.limits[-1].key
    (0.13, 'crack-width')
    """
    beam = evaluate(strips, basis)
    return with_details(beam, detail_measures(strips, beam.measures, basis), beam.cases, detail_limits(basis))


def with_details(
    beam: Evaluation, found: Details, cases: Mapping[str, Governing], limits: tuple[Limit, ...]
) -> Evaluation:
    """Put closer measures of the same designs and their limits behind those of the beam."""
    measures, margins = {**beam.measures, **found.measures}, found.margins
    if margins is None:
        margins = margins_of(limits, measures, beam.margins.shape[:-1])
    return joined(beam, measures, margins, limits, found.cases(cases))


def joined(
    beam: Evaluation,
    measures: Mapping[str, Array],
    margins: Array,
    limits: tuple[Limit, ...],
    cases: Mapping[str, Governing],
) -> Evaluation:
    """Put measures, margins, limits and what governs them behind those of the beam."""
    keys = {limit.key for limit in limits}
    return replace(
        beam,
        measures=measures,
        margins=np.concatenate([beam.margins, margins], axis=-1),
        limits=beam.limits + limits,
        cases={**beam.cases, **{key: case for key, case in cases.items() if key in keys}},
    )


def margins_of(limits: tuple[Limit, ...], measures: Mapping[str, Array], batch: tuple[int, ...]) -> Array:
    """Margins (..., K) of a batch, one column for each limit."""
    rows = [limit.margin(measures) for limit in limits]
    return np.stack(rows, axis=-1) if rows else np.empty((*batch, 0))


def staged(
    beam: Evaluation, strips: Strips, basis: Basis, *, most: float, without: Collection[str] = ()
) -> Evaluation:
    """Closer checks of those designs (N,) whose beam margins are finite and at most ``most``.

    The others keep NaN measures and margins of inf: not worked out; so do measures ``without`` (`unread`).
    """

    def look(rows: IntArray) -> Details:
        held = {key: values[rows] for key, values in beam.measures.items()}
        return detail_measures(strips[rows], held, basis, without=without)

    return staged_by(look, beam, detail_keys(basis), detail_limits(basis), most=most)


def staged_by(
    look: Callable[[IntArray], Details],
    beam: Evaluation,
    keys: tuple[str, ...],
    limits: tuple[Limit, ...],
    *,
    most: float,
) -> Evaluation:
    """Let ``look`` work out ``keys`` for those designs (N,) whose beam margins are at most ``most``."""
    count = len(beam.margins)
    measures = {**beam.measures, **{key: np.full(count, np.nan) for key in keys}}
    margins = np.full((count, len(limits)), np.inf)
    cases: dict[str, Governing] = {}
    rows = np.flatnonzero((np.isfinite(beam.margins) & (beam.margins <= most)).all(axis=-1))
    if len(rows):
        found = look(rows)
        for key, values in found.measures.items():
            measures[key][rows] = values
        known = {key: values[rows] for key, values in measures.items()}
        own = found.margins
        margins[rows] = margins_of(limits, known, (len(rows),)) if own is None else own
        plain = {key: case.taken(rows) for key, case in beam.cases.items()}
        cases = {key: case.spread(rows, count) for key, case in found.cases(plain).items()}
    return joined(beam, measures, margins, limits, cases)
