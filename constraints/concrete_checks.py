"""Stress with torsion, cracked bending, steel, prestress, quantities: measures and limits."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

import numpy as np

from longvault.constraints.bars import GatheredBars, gathered_bars
from longvault.constraints.basis import Basis
from longvault.constraints.concrete_settings import ConcreteSettings, SteelPractice
from longvault.constraints.crack_checks import WIDTHS, crack_limits, crack_measures, measured
from longvault.constraints.cracked import CrackedSection, steel_for_moment
from longvault.constraints.demand import Demand, provided
from longvault.constraints.design_strengths import StressBlock, american_block, eurocode_block
from longvault.constraints.effects import signs_of
from longvault.constraints.forms import form_areas
from longvault.constraints.limit import CAP, FLOOR, Limit
from longvault.constraints.materials import AmericanConcrete
from longvault.constraints.measures import CONCRETE_MEASURES
from longvault.constraints.prestress_checks import prestress_limits, prestress_measures
from longvault.constraints.quantities import quantities
from longvault.constraints.reinforcement import clear_spacing
from longvault.constraints.steel_layout import SteelLayout, steel_layout
from longvault.constraints.stress import stress_extremes
from longvault.constraints.torsion import ENDS
from longvault.constraints.twisting import Acting, acting_along, load_centre
from longvault.sections.properties import Properties
from longvault.sections.strips import Strips
from longvault.sections.symbols import Array, BoolArray, IntArray
from longvault.sections.torsion import TorsionProperties, torsion_properties

__all__ = [
    "CONCRETE_MEASURES",
    "Demand",
    "concrete_limits",
    "concrete_measures",
    "layout_of",
    "load_centre",
    "provided",
    "stress_block",
    "torsion_covered",
]


@dataclass(frozen=True, slots=True, eq=False)
class Twisted:
    """Which of the combinations looked at governs stresses with torsion; see `Acting`.

    Parameters
    ----------
    names : tuple of str
        Combinations.
    places : mapping of limit key to int array (...)
        Which of them governs; -1 for the heaviest load, that of plain bending.
    cracks_reverse : bool array (...) or None
        Where cracks are wider under the other sign of moment; None where one sign occurs.
    """

    names: tuple[str, ...]
    places: Mapping[str, IntArray]
    cracks_reverse: BoolArray | None = None


def concrete_measures(
    strips: Strips,
    properties: Properties,
    basis: Basis,
    demand: Demand,
    settings: ConcreteSettings,
    acting: Acting | None = None,
) -> tuple[dict[str, Array], Twisted]:
    """Measures of `CONCRETE_MEASURES` for a batch (...), those of prestress only with ``tensioning``.

    Stresses with torsion are those of a prismatic module on its supports, or of what is ``acting``; for a
    module held sideways bending alone counts. Cracked bending is looked at for the main sign of moment, and
    for the other one where that occurs; the amounts hold the bars of both. The thrust of a beam-arch counts
    in stresses; cracked bending and the main steel are those of the full moment, on the safe side.
    """
    torsion = torsion_properties(strips)
    if acting is None:
        acting = acting_along(
            strips, properties, torsion, basis, lines=demand.loads, heaviest=demand.ultimate,
            centre=load_centre(strips, properties, demand.loads, services_x=basis.loads.services_x),
        )  # fmt: skip
    if basis.arch is not None:
        relief = np.asarray(demand.relief)
        acting = replace(acting, forces=basis.arch.relieved(acting.forces, acting.part, relief))
    found, twisted = _stress(strips, properties, torsion, basis, demand, acting)
    laid = gathered_bars(
        strips, properties, area=demand.steel, detailing=basis.detailing, sagging=basis.sagging
    )
    found |= _cracked(strips, properties, basis, demand, laid)
    first, demand = demand.steel, provided(demand, found)
    layout = layout_of(strips, properties, basis, demand, settings, laid)
    strand_area: Array | float = 0.0
    if settings.tensioning is not None:
        tendons, strand_area = prestress_measures(
            strips, properties, basis, demand, settings, laid, stress_block(basis)
        )
        found |= tendons
    main, reverse = _to_provide(demand, layout)
    same = laid if np.array_equal(main, first) else None
    cracks, wider = crack_measures(strips, properties, basis, demand, settings, main, reverse, same)
    demand = provided(demand, cracks | found)
    more, turned = _to_provide(demand, layout)
    if not (np.all(more <= main) and np.all(turned <= reverse)):  # NaN rows too
        layout = layout_of(strips, properties, basis, demand, settings, laid)
    found |= cracks | {"main_steel": more, "main_steel_reverse": turned}
    amounts = _amounts(strips, properties, basis, settings, layout, strand_area)
    return found | amounts, replace(twisted, cracks_reverse=wider)


def _to_provide(demand: Demand, layout: SteelLayout) -> tuple[Array, Array]:
    """Return the main steel of both sides: what is demanded, and no less than the least (...) [m2]."""
    return np.maximum(demand.steel, layout.least_main), np.maximum(demand.reverse, layout.least_reverse)


def layout_of(
    strips: Strips,
    properties: Properties,
    basis: Basis,
    demand: Demand,
    settings: ConcreteSettings,
    laid: GatheredBars,
) -> SteelLayout:
    """Lay out the steel of a batch (...) for what the beam analysis hands over."""
    return steel_layout(
        strips,
        properties,
        area=demand.steel,
        reverse=demand.reverse if signs_of(basis).both else None,
        shear=demand.shear,
        length=basis.line.length,
        detailing=basis.detailing,
        concrete=basis.concrete,
        steel=basis.steel,
        strengths=basis.strengths,
        practice=settings.practice,
        laid=laid,
        sagging=basis.sagging,
        held=basis.held,
    )


def torsion_covered(basis: Basis) -> bool:
    """Whether lines of principal stress can be drawn: one span on supports whose ends are known."""
    return basis.spans is None and basis.support.key in ENDS


def _stress(
    strips: Strips, p: Properties, torsion: TorsionProperties, basis: Basis, demand: Demand, acting: Acting
) -> tuple[dict[str, Array], Twisted]:
    """Largest stresses over stations and combinations; characteristic ones in the ratio of the loads."""
    at = stress_extremes(strips, p, torsion, acting.forces, held=basis.held)
    less = demand.characteristic / demand.ultimate
    tension = less * at.principal_tension.max(axis=-1)
    pressed = np.asarray(demand.pressed)
    measures = {
        "end_torque": acting.end_torque,
        "side_torque": acting.side_torque,
        "edge_compression": at.compression.max(axis=-1) + pressed,
        "edge_tension": less * at.tension.max(axis=-1),
        "principal_tension": tension,
        "cracked_use": tension / basis.concrete.cracking,
        "torsion_shear": at.shear.max(axis=-1),
    }
    places = {
        "torsion-compression": acting.governing(at.compression),
        "torsion-shear": acting.governing(at.shear),
    }
    return measures, Twisted(acting.names, places)


def _cracked(
    strips: Strips, p: Properties, basis: Basis, demand: Demand, laid: GatheredBars
) -> dict[str, Array]:
    """Steel and neutral axis of the cracked section; both signs of moment where both occur."""
    found, depth = _cracked_one(strips, basis, demand.moment, laid, sagging=basis.sagging)
    known = found.steel_area, depth, found.arm
    area, depth, arm = _obliquely(strips, basis, demand.oblique, laid, known, sagging=basis.sagging)
    result = {"cracked_steel": area, "cracked_arm": arm}
    if signs_of(basis).both:
        area = np.broadcast_to(np.asarray(demand.reverse, dtype=np.float64), strips.batch)
        other = gathered_bars(strips, p, area=area, detailing=basis.detailing, sagging=not basis.sagging)
        turned, more = _cracked_one(
            strips, basis, np.asarray(demand.reverse_moment), other, sagging=not basis.sagging
        )
        known = turned.steel_area, more, turned.arm
        area, more, _ = _obliquely(
            strips, basis, demand.oblique_reverse, other, known, sagging=not basis.sagging
        )
        depth = np.maximum(depth, more)
        result["cracked_steel_reverse"] = area
    return result | {"neutral_depth": depth}


def _obliquely(
    strips: Strips,
    basis: Basis,
    pair: tuple[Array, Array] | None,
    laid: GatheredBars,
    known: tuple[Array, Array, Array],
    *,
    sagging: bool,
) -> tuple[Array, Array, Array]:
    """Raise steel and depth of the neutral axis to what the moments of both ways ask for together.

    Looked at where the sideways one is the smaller; beyond that, gathered bars are the wrong picture and the
    elastic pull of both counts alone. The lever arm is the upright one of the steel told.
    """
    if pair is None or not np.any(np.nan_to_num(pair[1])):
        return known
    upright, side = pair
    looked = (side != 0.0) & (np.abs(side) <= np.abs(upright))
    slant = np.where(looked, side / np.where(looked, upright, 1.0), 0.0)
    moment = np.where(looked, np.abs(upright), 0.0)
    found, depth = _cracked_one(strips, basis, moment, laid, sagging=sagging, slant=slant)
    more = looked & ~(found.steel_area <= known[0])
    area, arm = np.where(more, found.steel_area, known[0]), np.where(more, found.arm, known[2])
    return area, np.where(looked, np.maximum(known[1], depth), known[1]), arm


def _cracked_one(
    strips: Strips,
    basis: Basis,
    moment: Array,
    laid: GatheredBars,
    *,
    sagging: bool,
    slant: Array | float = 0.0,
) -> tuple[CrackedSection, Array]:
    """Cracked section for one sign of moment, and the depth of its neutral axis over the limit."""
    found = steel_for_moment(
        strips,
        laid.bars,
        moment=moment,
        block=stress_block(basis),
        steel=basis.strengths.steel,
        modulus=basis.steel.modulus,
        sagging=sagging,
        held=basis.held,
        slant=slant,
    )
    lacking = np.maximum(moment / found.moment, 1.0)
    return found, found.depth / found.limit_depth * lacking


def stress_block(basis: Basis) -> StressBlock:
    """Compression block by the family of standards in force."""
    make = american_block if basis.standard.key.startswith("ASCE") else eurocode_block
    return make(basis.concrete)


def _amounts(
    strips: Strips,
    p: Properties,
    basis: Basis,
    settings: ConcreteSettings,
    layout: SteelLayout,
    strand_area: Array | float,
) -> dict[str, Array]:
    q = quantities(
        area=p.area,
        steel_volume=layout.volume,
        forms=form_areas(strips),
        pitch=basis.pitch,
        uses=settings.uses,
        strand_area=strand_area,
        factors=settings.factors,
    )
    return {
        "least_steel": layout.least_main,
        "bars": layout.bars,
        "mesh_needed": layout.mesh_needed,
        "mesh_spacing": layout.spacing_ratio,
        "steel_weight": q.steel,
        "form_area": q.form,
        "cost": q.cost,
        "carbon": q.carbon,
    }


def _least_mesh(basis: Basis, practice: SteelPractice) -> tuple[Limit, ...]:
    """Least steel of the shell each way: thick parts get more mesh, which must fit; none if none is asked."""
    if not practice.shell_ratio:
        return ()
    d = basis.detailing
    room = d.mesh_area * d.mesh_spacing / (d.mesh_bar + clear_spacing(d, d.mesh_bar))
    source = "ACI 318.2 (0.0018, from memory)"
    if not isinstance(basis.concrete, AmericanConcrete):
        source += "; EN 1992-1-1, 9.3.1.1, has it for slabs alone: 0.26 f_ctm / f_yk of the depth to the bars"
    return (
        Limit(
            "mesh-fits", "least mesh of the shell fits", "mesh_needed", room, CAP,
            f"max(mesh, {practice.shell_ratio:g} t) where the roof surface is thickest; its bars of "
            f"{d.mesh_bar * 1e3:g} mm no closer than {clear_spacing(d, d.mesh_bar) * 1e3:g} mm clear",
            f"{source}; EN 1992-1-1, 8.2(2)",
        ),
    )  # fmt: skip


def concrete_limits(basis: Basis, settings: ConcreteSettings) -> tuple[Limit, ...]:
    """Limits on the measures of `concrete_measures`."""
    strength, practice = basis.strengths, settings.practice
    block = stress_block(basis).source
    vlasov = "Vlasov, Thin-Walled Elastic Beams; Megson, Aircraft Structures, ch. 16-18, 27"
    aside = (" + H g", ", the sideways flow with it") if basis.pushed else ("", "")
    torsion = (
        Limit(
            "torsion-compression", "compression with torsion and warping", "edge_compression",
            strength.compression, CAP,
            f"|N / A - M f{aside[0]} + B omega / Gamma|, largest corner and station",
            f"{strength.source_compression}; {vlasov}",
        ),
        Limit(
            "torsion-shear", "shear with torsion, inclined struts", "torsion_shear", strength.strut, CAP,
            f"|V q_1 - T_w S_omega / Gamma| / t + T_s t / J{aside[1]}",
            f"{strength.source_strut}; {vlasov}",
        ),
    )  # fmt: skip
    widths = ", for the crack width" if measured(basis, settings) == WIDTHS else ""
    asked = f"largest of A_s by the elastic lever arms, of the cracked section{widths} and the least steel"
    limits = (
        Limit(
            "neutral-axis", "compression zone at ultimate bending", "neutral_depth", 1.0, CAP,
            "x / x_yield, x_yield = d eps_cu / (eps_cu + f_yd / E_s); beyond it times M_d / M", block,
        ),
        Limit(
            "main-steel-fits", "main steel to provide fits", "bar_room", "main_steel", FLOOR,
            f"{asked}; room = bars with cover and spacing, <= 4 % A",
            f"{block}; EN 1992-1-1, 8.2(2); {basis.concrete.least_source}",
        ),
        Limit(
            "mesh-spacing", "spacing of the mesh", "mesh_spacing", 1.0, CAP,
            f"spacing <= min({practice.spacing_thicknesses:g} t, {practice.spacing:g} m)",
            "ACI 318.2 (from memory)",
        ),
        *_least_mesh(basis, practice),
    )  # fmt: skip
    reverse: tuple[Limit, ...] = ()
    if signs_of(basis).both:
        reverse = (
            Limit(
                "main-steel-fits-reverse", "steel to provide for the other sign of moment fits",
                "bar_room_reverse", "main_steel_reverse", FLOOR,
                f"{asked}; room as for the main steel",
                f"{block}; EN 1992-1-1, 8.2(2); {basis.concrete.least_source}",
            ),
        )  # fmt: skip
    cracks = crack_limits(basis, settings)
    return (*torsion, *limits, *reverse, *cracks, *prestress_limits(basis, settings, block))
