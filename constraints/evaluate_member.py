"""From a module that varies along the span to measures and margins: every limit, station by station."""

import numpy as np

from longvault.constraints.basis import Basis
from longvault.constraints.evaluate import Evaluation, evaluate
from longvault.constraints.limits import limits_of
from longvault.constraints.member_along import Along
from longvault.constraints.member_governing import governing_along
from longvault.constraints.member_sections import by_section, taken_at
from longvault.sections.families.base import Family
from longvault.sections.families.tapered import Tapered
from longvault.sections.member import NOT_PROVED, Member
from longvault.sections.symbols import Array, IntArray

_LARGEST = (
    "height", "width", "slope", "steep_share", "bend", "taper", "compression", "compression_service",
    "tension_service", "shear_stress", "web_steel", "holding_force", "pond_depth", "sustained_moment",
    "sustained_moment_reverse", "wind_push",
)  # fmt: skip
OBLIQUE = ("main_moment", "oblique_moment", "oblique_side")
OBLIQUE_REVERSE = ("oblique_moment_reverse", "oblique_side_reverse")
"""Measures that come where wind bends a module sideways."""
_SIGNED = ("holding_force",)
_LEAST = ("opening", "glass_slope", "thickness", "clearance")
_STEEL = (
    ("steel_area", "bar_room", ("arm_block", "arm_bars", *OBLIQUE)),
    ("steel_area_reverse", "bar_room_reverse", ("reverse_moment", *OBLIQUE_REVERSE)),
)


def evaluate_design(family: Family, x: Array, basis: Basis, *, named: bool = True) -> Evaluation:
    """Evaluate designs x (..., d) of any family, prismatic or tapered (``named`` as `judged` has it)."""
    if isinstance(family, Tapered):
        return judged(along_of(family.member(x), basis), named=named)
    return evaluate(family.strips(x), basis)


def evaluate_member(member: Member, basis: Basis) -> Evaluation:
    """Measure a tapered module, or a batch (...), and compare it with every limit of the basis of design.

    Concrete is the volume over the length (``area``) and over the plan (``equivalent_thickness``); the
    section modulus is the least over the stations of S(y) |M_ref| / |M(y)|, M_ref the largest ultimate
    moment, stations below 5 % of it left out; the opening is the smallest along the span. Stresses, steel
    and shear are those of the worst station, the properties of area those of the root. Deflections follow
    from the stiffness along the span. The shear that inclined flanges carry is not taken off.

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
    >>> done = evaluate_member(Member.between(root, tip), basis)
    >>> float(done.cases["compression"].y), done.note
    (0.0, 'beam level, not proved by the folded plate')
    """
    return judged(along_of(member, basis))


def along_of(member: Member, basis: Basis) -> Along:
    """Measure a taper; refuses a beam-arch."""
    if basis.arch is not None:
        raise ValueError("arch: a beam-arch is one section from end to end; leave the taper or the arch out")
    return Along.measure(member, basis)


def judged(found: Along, *, named: bool = True) -> Evaluation:
    """Compare a measured taper with every limit; without ``named`` it is left out what governs which."""
    basis = found.basis
    measures = found.local | found.movements()
    places_of: dict[str, IntArray] = {}
    depth = len(found.strips.batch) - 1
    result = _geometry(found, depth) | {k: v for k, v in measures.items() if v.ndim == depth}
    for key in _LARGEST:
        if key in measures:
            size = np.abs(measures[key]) if key in _SIGNED else measures[key]
            result[key], places_of[key] = taken_at(measures[key], size.argmax(axis=-1))
    for key in _LEAST:
        if key not in measures:
            continue
        result[key], places_of[key] = taken_at(measures[key], measures[key].argmin(axis=-1))
    for steel, room, arms in _STEEL:
        if steel in measures:
            worst = (measures[steel] / np.maximum(measures[room], 1e-9)).argmax(axis=-1)
            for key in (name for name in (steel, room, *arms) if name in measures):
                result[key], places_of[key] = taken_at(measures[key], worst)
    limits = limits_of(basis)
    margins = np.stack([limit.margin(result) for limit in limits], axis=-1)
    cases = governing_along(found, places_of, tuple(limit.key for limit in limits)) if named else {}
    return Evaluation(result, margins, limits, cases, NOT_PROVED)


def station_measures(member: Member, basis: Basis) -> dict[str, Array]:
    """Measures of every section of a taper (..., K), from root to tip, with the effects they come from.

    Beside the keys of `longvault.constraints.measures.MEASURES` that belong to a section: ``sagging`` and
    ``hogging``, the largest ultimate moments there, both >= 0 [N m], and ``shear`` [N].
    """
    found = Along.measure(member, basis)
    shape = member.sections.batch
    local = {key: values for key, values in found.local.items() if values.shape == shape}
    moment, shear = found.envelopes["moment"], found.envelopes["shear"]
    return local | {
        "sagging": np.maximum(by_section(moment.most, found.where), 0.0),
        "hogging": np.maximum(by_section(-moment.least, found.where), 0.0),
        "shear": by_section(shear.largest()[0], found.where),
    }


def _geometry(found: Along, depth: int) -> dict[str, Array]:
    """Measures that are volumes or means along the span, and those of the root."""
    local = found.local
    result = {key: values[..., 0] for key, values in local.items() if values.ndim > depth}
    for key in ("area", "surface", "permanent_load", "ultimate_load", "characteristic_load"):
        result[key] = found.mean(local[key])
    result["equivalent_thickness"] = result["area"] / found.basis.pitch
    height = local["height"].max(axis=-1)
    result["slenderness"] = found.basis.depth_span / height
    result["shape_efficiency"] = local["section_modulus"] / (result["area"] * height)
    result["ideal_share"] = 2.0 * result["shape_efficiency"]
    return result
