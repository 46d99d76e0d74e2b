"""Closer checks of a taper: those of one section at every station, and which station governs each limit."""

from collections.abc import Mapping
from dataclasses import replace
from functools import lru_cache

import numpy as np

from longvault.constraints.actions import SUSTAINED, ULTIMATE
from longvault.constraints.basis import Basis
from longvault.constraints.crack_checks import CRACK_WIDTH
from longvault.constraints.details import (
    GOVERNED,
    Details,
    detail_keys,
    detail_limits,
    detail_measures,
    margins_of,
    staged_by,
    with_details,
)
from longvault.constraints.effects import Governing
from longvault.constraints.evaluate import Evaluation
from longvault.constraints.evaluate_member import along_of, judged
from longvault.constraints.limit import Limit
from longvault.constraints.measures import MEASURES
from longvault.constraints.member_acting import acting_at
from longvault.constraints.member_sections import (
    AtSections,
    by_section,
    case_at,
    largest_station,
    taken_at,
)
from longvault.sections.member import Member
from longvault.sections.symbols import Array, IntArray

MEANS = ("steel_weight", "form_area", "cost", "carbon")
"""Measures that are amounts: their mean along the span counts."""

_UNNAMED = {
    **dict.fromkeys(("slice-moment", "slice-movement"), "largest of all combinations"),
    "erection-transverse": "own weight + erection",
}
"""What stands for the combination where the check tells the largest alone."""

TINY = 1e-6
"""Least moment at a station, over the largest along the span: the closer checks want one."""


def member_keys(basis: Basis) -> tuple[str, ...]:
    """Measures that `evaluate_member_closely` gives beside those of `evaluate_member`."""
    return detail_keys(as_taper(basis))


def member_limits(basis: Basis) -> tuple[Limit, ...]:
    """Limits on them."""
    return detail_limits(as_taper(basis))


@lru_cache(maxsize=64)
def as_taper(basis: Basis) -> Basis:
    """Return the basis of design of a module that varies along the span; steel follows the stations.

    Prestress is left out: one force would have to serve all sections.
    """
    settings = basis.concrete_settings
    if settings is not None:
        settings = replace(settings, practice=replace(settings.practice, curtailed=1.0), tensioning=None)
    return replace(basis, prismatic=False, concrete_settings=settings)


def evaluate_member_closely(member: Member, basis: Basis) -> Evaluation:
    """Measure a taper, or a batch (...), with the closer checks of every station beside those of the beam.

    Examples
    --------
    >>> from longvault.constraints.basis import Requirements
    >>> from longvault.constraints.beam import SUPPORTS
    >>> from longvault.sections import Strips
    >>> root, tip = (
    ...     Strips.chain([-2, -0.3, 0.3, 2], [d, 0, 0, d], 0.1, ["wing", "keel", "wing"]) for d in (1.4, 0.3)
    ... )
    >>> need = Requirements(height_max=1.6)
    >>> basis = Basis(span=10.0, pitch=5.0, requirements=need, support=SUPPORTS["cantilever"])
    >>> done = evaluate_member_closely(Member.between(root, tip), basis)
    >>> float(done.cases["neutral-axis"].y), done.note
    (0.0, 'beam level, not proved by the folded plate')
    """
    along = along_of(member, basis)
    return with_details(judged(along), member_details(along), {}, member_limits(basis))


def staged_member(member: Member, basis: Basis, *, most: float, named: bool = True) -> Evaluation:
    """Beam checks of tapers (N,), closer checks of those whose beam margins are finite and at most ``most``.

    Without ``named`` it is left out what governs which limit.
    """
    along = along_of(member, basis)

    def look(rows: IntArray) -> Details:
        return member_details(along.taken(rows) if len(rows) < len(beam.margins) else along, named=named)

    beam = judged(along, named=named)
    return staged_by(look, beam, member_keys(basis), member_limits(basis), most=most)


def member_details(along: AtSections, *, named: bool = True) -> Details:
    """Map the closer checks of one section over the stations of a taper (...) and take the worst of each."""
    taper, limits = as_taper(along.basis), member_limits(along.basis)
    along = replace(along, basis=taper)
    with np.errstate(all="ignore"):  # what cannot be measured is a NaN row
        loads = station_loads(along)
        found = detail_measures(along.strips, loads, taper, acting_at(along))
        return worst_along(found, along, limits, {**loads, **found.measures}, named=named)


def station_loads(along: AtSections) -> dict[str, Array]:
    """Measures of each station (..., K) under the names that the checks of one section read."""
    shape, ultimate, service = (
        along.lines.permanent.shape,
        *(along.envelopes[k] for k in ("moment", "service")),
    )
    local = {key: values for key, values in along.local.items() if values.shape == shape}
    moment = by_section(ultimate.largest()[0], along.where)
    least = TINY * moment.max(axis=-1, keepdims=True)
    arm = np.minimum(local["arm_block"], local["arm_bars"]) * along.basis.strengths.steel
    if "main_moment" in local:
        local["main_moment"] = np.maximum(local["main_moment"], least)
    return local | {
        "ultimate_moment": np.maximum(moment, least),
        "characteristic_moment": np.maximum(by_section(service.largest()[0], along.where), least),
        "ultimate_shear": by_section(along.envelopes["shear"].largest()[0], along.where),
        "steel_area": np.maximum(local["steel_area"], least / arm),
    }


def worst_along(
    found: Details, along: AtSections, limits: tuple[Limit, ...], local: Mapping[str, Array], *, named: bool
) -> Details:
    """Take each limit from the station where it is nearest to broken (``local``: all measures there).

    Its measure is that of this station; measures without a limit are the worst by their sense, amounts the
    mean along the span, others those of the root.
    """
    every = margins_of(limits, local, along.strips.batch)
    at = {limit.key: every[..., i].argmax(axis=-1) for i, limit in enumerate(limits)}
    of = {limit.demand: at[limit.key] for limit in limits}
    if "cracked_arm" in found.measures:  # that of the most steel
        of["cracked_arm"] = found.measures["cracked_steel"].argmax(axis=-1)
    measures = {key: _worst(key, values, of, along) for key, values in found.measures.items()}
    asked = limits if named else ()
    own = {limit.key: _governing(limit, at[limit.key], found, along) for limit in asked}
    return Details(measures, None, own, every.max(axis=-2))


def _governing(limit: Limit, at: IntArray, found: Details, along: AtSections) -> Governing:
    """Name the combination and the place that govern a limit at station ``at`` (...)."""
    lasts = limit.key == CRACK_WIDTH
    moment, case = along.sized("sustained" if lasts else "moment", limit.key)
    station = largest_station(moment, along.where, at)
    y = along.where.mesh.y[station]
    if lasts:
        return Governing(along.rules[SUSTAINED].names, case_at(case, station), y)
    if limit.key not in GOVERNED:
        return Governing((_UNNAMED.get(limit.key, ""),), np.zeros_like(station), y)
    plain = Governing(along.rules[ULTIMATE].names, case_at(case, station), y)
    if found.twisted is None or limit.key not in found.twisted.places:
        return plain
    place = case_at(found.twisted.places[limit.key], at)
    return plain.where(place >= 0, found.twisted.names, place)


def _worst(key: str, values: Array, at: Mapping[str, IntArray], along: AtSections) -> Array:
    if key in MEANS:
        return along.mean(values)
    if key in at:
        return taken_at(values, at[key])[0]
    sense = MEASURES[key].sense
    if not sense:
        return values[..., 0]
    return np.asarray(values.max(axis=-1) if sense == "min" else values.min(axis=-1))
