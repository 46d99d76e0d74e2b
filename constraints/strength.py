"""What bending and shear ask of a section, for both signs of moment; at one place or station by station."""

from dataclasses import dataclass

import numpy as np

from longvault.constraints.basis import Basis
from longvault.constraints.effects import Effects, Governing, Signs
from longvault.constraints.reinforcement import BeamSection, beam_section
from longvault.sections.properties import Properties
from longvault.sections.strips import Strips
from longvault.sections.symbols import Array, BoolArray


@dataclass(frozen=True, slots=True, eq=False)
class Moments:
    """Moments of both signs, ultimate and characteristic, all >= 0 (...) [N m]."""

    sagging: Array
    hogging: Array
    sagging_service: Array
    hogging_service: Array

    @classmethod
    def told(cls, *sizes: Array, axis: tuple[int, ...] = ()) -> "Moments":
        """Take the four, with what is round-off of the largest (along ``axis``) as none."""
        most = np.maximum(sizes[0], sizes[1]).max(axis=axis, keepdims=True)
        return cls(*(np.where(size <= ROUND_OFF * most, 0.0, size) for size in sizes))


ROUND_OFF = 1e-9
"""Share of the largest moment below which one is no moment."""


def beam_sections(
    strips: Strips, p: Properties, basis: Basis, found: Signs
) -> tuple[BeamSection, BeamSection | None]:
    """Cracked section for the main sign of moment, and for the other one where that occurs too."""

    def one(sagging: bool) -> BeamSection:
        return beam_section(strips, p, detailing=basis.detailing, sagging=sagging, held=basis.held)

    return one(basis.sagging), (one(not basis.sagging) if found.both else None)


def moduli(p: Properties, *, sagging: bool, held: bool) -> tuple[Array, Array]:
    """Section modulus on the compressed and on the stretched side for one sign of moment."""
    above, below = (p.s_top, p.s_bottom) if held else (p.s_free_compression, p.s_free_tension)
    return (above, below) if sagging else (below, above)


def demands(
    m: Moments,
    shear: Array,
    p: Properties,
    sections: tuple[BeamSection, BeamSection | None],
    basis: Basis,
    found: Signs,
    thrust: tuple[Array, Array] | None = None,
) -> dict[str, Array]:
    """Stresses, main steel of both signs, mesh for shear; keys of `MEASURES`.

    ``thrust`` is the compression along the module, ultimate and characteristic [N].
    """
    main, other = sections
    strength = basis.strengths
    stress = _stresses(m, p, basis, found, thrust)
    own, reverse = (m.sagging, m.hogging) if basis.sagging else (m.hogging, m.sagging)
    arm = np.minimum(main.arm_block, main.arm_bars)
    result = stress | {
        "arm_block": main.arm_block,
        "arm_bars": main.arm_bars,
        "steel_area": own / (arm * strength.steel),
        "bar_room": _room(main, p, basis),
        "shear_stress": shear * main.shear_stress,
        "web_steel": shear * main.flow / strength.shear_steel,
    }
    if other is not None:
        arm = np.minimum(other.arm_block, other.arm_bars)
        result["steel_area_reverse"] = reverse / (arm * strength.steel)
        result["main_moment"], result["reverse_moment"] = own, reverse
        result["bar_room_reverse"] = _room(other, p, basis)
    return result


MOST_STEEL = 0.04
"""Main steel over the section of concrete at most, outside laps (EN 1992-1-1, 9.2.1.1(3))."""


def _room(section: BeamSection, p: Properties, basis: Basis) -> Array:
    """Steel that fits with its laps, and no more than the section may hold (...) [m2]."""
    return np.minimum(section.bar_room / basis.detailing.lap_factor, MOST_STEEL * p.area)


def _stresses(
    m: Moments, p: Properties, basis: Basis, found: Signs, thrust: tuple[Array, Array] | None
) -> dict[str, Array]:
    """Elastic stresses, the larger of both signs."""
    pairs = [
        (found.sagging, True, m.sagging, m.sagging_service),
        (found.hogging, False, m.hogging, m.hogging_service),
    ]
    rows = []
    for occurs, sagging, ultimate, service in pairs:
        if occurs:
            compressed, stretched = moduli(p, sagging=sagging, held=basis.held)
            rows.append((ultimate / compressed, service / compressed, service / stretched))
    compression, compression_service, tension = (_larger(values) for values in zip(*rows, strict=True))
    if thrust is not None:
        compression = compression + thrust[0] / p.area
        compression_service = compression_service + thrust[1] / p.area
        tension = tension - thrust[1] / p.area
    return {
        "compression": compression,
        "compression_service": compression_service,
        "tension_service": tension,
    }


def _larger(values: tuple[Array, ...]) -> Array:
    return values[0] if len(values) == 1 else np.maximum(values[0], values[1])


def governing_cases(
    e: Effects, m: Moments, p: Properties, basis: Basis, occurs: Signs
) -> dict[str, Governing]:
    """For each limit that loads enter, what governs it; of both signs of moment the one with more stress."""
    g, own = e.governing, "sagging" if basis.sagging else "hogging"
    ultimate, service = g[own], g[f"{own}_service"]
    other: dict[str, Governing] = {}
    if occurs.both:
        above, below = (moduli(p, sagging=sagging, held=basis.held)[0] for sagging in (True, False))
        ultimate = either(m.sagging / above >= m.hogging / below, g["sagging"], g["hogging"])
        first = m.sagging_service / above >= m.hogging_service / below
        service = either(first, g["sagging_service"], g["hogging_service"])
        turned = "hogging" if basis.sagging else "sagging"
        other = {"steel-fits-reverse": g[turned], "crack-width-reverse": g[f"{turned}_sustained"]}
    found = {
        "compression": ultimate,
        "compression-service": service,
        "steel-fits": g[own],
        "shear": g["shear"],
        "web-steel": g["shear"],
        "deflection": g["sag_sustained"],
        "sideways": g["sag"],
        "glass-difference": g["sag_alone"],
        "holding-force": g["load_service"],
        "tie": g[own],
        "crack-width": g[f"{own}_sustained"],
    }
    return found | other | ({"tie-down": g["pull"]} if "pull" in g else {})


def either(first: BoolArray, one: Governing, other: Governing) -> Governing:
    """Let ``one`` govern where ``first`` (...), else ``other``, of the same combinations."""
    return Governing(one.names, np.where(first, one.index, other.index), np.where(first, one.y, other.y))
