"""What brings failing folded-plate limits back: edge members, struts, collars, thickness; at what cost."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np

from longvault.constraints.actions import ULTIMATE
from longvault.constraints.basis import Basis
from longvault.constraints.details import evaluate_closely
from longvault.constraints.end_structure import edge_forces
from longvault.constraints.materials import STEEL_DENSITY, Steel
from longvault.constraints.plates_results import link_forces
from longvault.constraints.plates_row import Bay
from longvault.constraints.proof import Proving, fine_proof, proof_limits
from longvault.constraints.proof_solved import solve_heaviest
from longvault.sections import Section, Strips
from longvault.sections.parts import roof_surface
from longvault.sections.symbols import Array

EDGE_WIDTH = 0.20
"""Thickness of an added edge member; half of it where a neighbour has the other half [m]."""

DEPTHS = (0.2, 0.4, 0.6, 0.8, 1.0)
"""Depths of an added edge member, upright or flat, that are tried in turn [m]."""

STRUTTED = "struts across the slot"
STRUTS = (3e6, 1e7, 3e7, 1e8)
"""Stiffness of struts, edge to plane of symmetry, per metre of span [N/m2]."""

COLLARED = "collars over the middle"
COLLARS = (1e7, 1e8)
"""Stiffness of collars, per metre of span [N/m2]."""

COLLARS_AT = {0.5: "halfway up", 0.0: "edge to edge"}
"""Where collars meet the profile, in the order they are tried."""

MORE = (0.01, 0.02, 0.04, 0.06, 0.10)
"""Added thickness of the roof surface [m]."""


@dataclass(frozen=True, slots=True)
class Remedy:
    """One kind of remedy at the least size that mends, or at the largest tried.

    Parameters
    ----------
    what, size : str
        In words: kind, and the size tried.
    mends : bool
        Whether all folded-plate limits that failed hold with it.
    left : tuple of str
        Keys of the limits that still fail, of any kind.
    worst : float
        Largest margin of the folded-plate limits.
    concrete : float
        Added concrete over plan area [m3/m2].
    steel : float
        Change of the main steel by the folded plate, and the steel that makes struts or collars as stiff as
        said, over plan area [kg/m2].
    cost : float
        Change of the cost by the prices of the basis of design, with that steel [money/m2]; NaN without any.
    push : float
        Ultimate force that struts or collars take at mid-span, compression positive; 0 for other kinds [N/m].
    """

    what: str
    size: str
    mends: bool
    left: tuple[str, ...]
    worst: float
    concrete: float
    steel: float
    cost: float
    push: float = 0.0


def remedies(section: Section, basis: Basis, proving: Proving) -> tuple[Remedy, ...]:
    """Try each kind of remedy in growing sizes until the failing folded-plate limits hold.

    Every try is a new section with its own weight, checked by beam theory and by the fine proof in the same
    bays. Empty where no folded-plate limit fails.
    """
    measures, margins = _judged(section, basis, proving)
    failing = [key for key in _plate_keys(basis, proving) if not margins[key] <= 0.0]
    if not failing:
        return ()
    found = []
    for tries in _kinds(section, proving).values():
        one = None
        for what, size, changed, proved in tries:
            one = _tried(what, size, (measures, failing), changed, basis, proved)
            if one.mends:
                break
        if one is not None:
            found.append(one)
    return tuple(found)


Try = tuple[str, str, Section, Proving]


def _kinds(section: Section, proving: Proving) -> dict[str, Iterator[Try]]:
    """Return the tries of each kind that the section allows."""
    edges = outer_edges(section.strips)
    kinds: dict[str, Iterator[Try]] = {}
    if edges:
        kinds["upright"] = _edge_tries("upright edge beam", section, edges, True, proving)
        kinds["flat"] = _edge_tries("flat edge beam", section, edges, False, proving)
    if any(joint.kind == "slot" for joint in section.joints):
        kinds["struts"] = (
            (STRUTTED, f"{k / 1e6:g} MN/m²", section, replace(proving, strut=k))
            for k in STRUTS
            if k > proving.strut
        )
    if proving.collars(section.strips, section.joints).ends.size == 0:
        kinds["collars"] = _collar_tries(section, proving)
    kinds["thicker"] = (
        ("thicker shell", f"+{more * 1e3:g} mm", _thicker(section, more), proving) for more in MORE
    )
    return kinds


def _edge_tries(
    what: str, section: Section, edges: list[int], upright: bool, proving: Proving
) -> Iterator[Try]:
    for depth in DEPTHS:
        yield what, f"{depth:g} m", _edged(section, edges, depth, upright), proving


def _collar_tries(section: Section, proving: Proving) -> Iterator[Try]:
    for stiffness in COLLARS:
        for at, words in COLLARS_AT.items():
            proved = replace(proving, collar=stiffness, collar_at=at)
            if proved.collars(section.strips, section.joints).ends.size:
                yield COLLARED, f"{stiffness / 1e6:g} MN/m², {words}", section, proved


def _judged(section: Section, basis: Basis, proving: Proving) -> tuple[Mapping[str, Array], dict[str, float]]:
    beam = evaluate_closely(section.strips, replace(basis, daylight=None, crosswise=None))
    measures = dict(beam.measures)
    measures |= fine_proof(section.strips, section.joints, measures, basis, proving)
    margins = dict(zip((limit.key for limit in beam.limits), beam.margins.tolist(), strict=True))
    margins |= {limit.key: float(limit.margin(measures)) for limit in proof_limits(basis, proving)}
    return measures, margins


def _plate_keys(basis: Basis, proving: Proving) -> list[str]:
    return [limit.key for limit in proof_limits(basis, proving)]


def _tried(
    what: str,
    size: str,
    before: tuple[Mapping[str, Array], list[str]],
    changed: Section,
    basis: Basis,
    proving: Proving,
) -> Remedy:
    measures, margins = _judged(changed, basis, proving)
    old, failing = before
    plates = _plate_keys(basis, proving)
    main = float(measures["plate_steel_area"] - old["plate_steel_area"])
    members = _member_steel(what, changed, measures, proving)
    push = _push(what, changed, measures, basis, proving) if members else 0.0
    price = basis.concrete_settings.factors.steel_price if basis.concrete_settings else np.nan
    more = float(measures["cost"] - old["cost"]) if "cost" in measures else np.nan
    return Remedy(
        what,
        size,
        all(margins[key] <= 0.0 for key in failing),
        tuple(key for key, margin in margins.items() if not margin <= 0.0),
        max(margins[key] for key in plates),
        float(measures["area"] - old["area"]) / basis.pitch,
        (main + members) * STEEL_DENSITY / basis.pitch,
        more + price * members * STEEL_DENSITY / basis.pitch,
        push,
    )


def _member_steel(what: str, section: Section, measures: Mapping[str, Array], proving: Proving) -> float:
    """Steel of struts or collars per metre of span, k l^2 / E_s for k = E_s A / (l spacing) [m2]."""
    if what == STRUTTED:
        return 0.5 * proving.strut * float(measures["opening"]) ** 2 / Steel().modulus
    if what == COLLARED:
        one, two = section.strips.nodes[proving.collars(section.strips, section.joints).ends[0]]
        return proving.collar * float(((two - one) ** 2).sum()) / Steel().modulus
    return 0.0


def _push(
    what: str, section: Section, measures: Mapping[str, Array], basis: Basis, proving: Proving
) -> float:
    """Force that collars, or struts on the right edge, take (no struts hold a lone module) [N/m]."""
    numbers = {key: float(measures[key]) for key in ("opening", "permanent_load")}
    bay: Bay = "interior" if "interior" in proving.bays else proving.bays[0]
    solved = solve_heaviest(section, numbers, basis, proving, bay, ULTIMATE)
    if what == COLLARED:
        return -float(link_forces(solved.plate)[0, 0])
    return -edge_forces(solved)[0] if bay != "lone" else 0.0


def outer_edges(strips: Strips) -> list[int]:
    """Return the two outer free edges: nodes of one strip, furthest left and right."""
    loose = np.flatnonzero(np.bincount(strips.ends.reshape(-1)) == 1)
    if len(loose) < 2:
        return []
    order = loose[np.argsort(strips.x[loose], kind="stable")]
    return [int(order[0]), int(order[-1])]


def _edged(section: Section, edges: list[int], depth: float, upright: bool) -> Section:
    """Add a member at both outer edges: upright away from the middle of the height, flat towards the middle.

    At a valley joint the section holds half of a member shared with the neighbour.
    """
    strips = section.strips
    valley = {joint.node for joint in section.joints if joint.kind == "valley"}
    middle = 0.5 * (strips.z.min() + strips.z.max())
    x, z, ends, t = list(strips.x), list(strips.z), strips.ends.tolist(), list(strips.thickness)
    for node, inward in zip(edges, (1.0, -1.0), strict=True):
        away = -1.0 if strips.z[node] < middle else 1.0
        ends.append([node, len(x)])
        x.append(strips.x[node] + (0.0 if upright else inward * depth))
        z.append(strips.z[node] + (away * depth if upright else 0.0))
        t.append(EDGE_WIDTH * (0.5 if upright and node in valley else 1.0))
    parts = (*strips.parts, "edge beam", "edge beam")
    return replace(section, strips=Strips(np.array(x), np.array(z), np.array(ends), np.array(t), parts))


def _thicker(section: Section, more: float) -> Section:
    s = section.strips
    thickness = s.thickness + more * roof_surface(s)
    return replace(section, strips=Strips(s.x, s.z, s.ends, thickness, s.parts))
