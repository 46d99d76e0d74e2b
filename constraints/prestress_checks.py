"""Post-tensioning among the closer checks: window, stresses, cracking, resistance with tendons, anchors."""

from typing import TYPE_CHECKING

import numpy as np

from longvault.constraints.bars import Bars, GatheredBars
from longvault.constraints.basis import Basis
from longvault.constraints.combinations import FREQUENT
from longvault.constraints.concrete_settings import ConcreteSettings
from longvault.constraints.cracked import bending_resistance
from longvault.constraints.design_strengths import StressBlock
from longvault.constraints.limit import CAP, FLOOR, Limit
from longvault.constraints.prestress import Prestress, Tensioning, prestress
from longvault.constraints.reinforcement import clear_spacing
from longvault.sections.properties import Properties
from longvault.sections.strips import Strips
from longvault.sections.symbols import Array

if TYPE_CHECKING:
    from longvault.constraints.concrete_checks import Demand

ANCHOR_FACTOR = 1.2
"""Factor on the force at an anchor for local effects (EN 1992-1-1, 2.4.2.2(3), from memory)."""
BURSTING_STRESS = 300e6
"""Steel stress below which cracks at an anchor need no check (EN 1992-1-1, 8.10.3(4), from memory) [Pa]."""


def prestress_measures(
    strips: Strips,
    p: Properties,
    basis: Basis,
    demand: "Demand",
    settings: ConcreteSettings,
    laid: GatheredBars,
    block: StressBlock,
) -> tuple[dict[str, Array], Array]:
    """Measures of prestress for a batch (...), and the area of the strands [m2].

    The force is that of the whole strands laid, the fewest that give the least force.
    The moment of the frequent combination follows from its load over the characteristic one.
    """
    use = settings.tensioning
    if use is None:
        raise ValueError("tensioning: got None; prestress needs its settings")
    per_load = demand.service / demand.characteristic

    def under(load: Array, tensioning: Tensioning, force: Array | None = None) -> Prestress:
        return prestress(
            strips, p, service=per_load * load, transfer=per_load * demand.loads.self_weight,
            tensioning=tensioning, force=force, sagging=basis.sagging, held=basis.held,
        )  # fmt: skip

    strands = under(demand.characteristic, use).strands(use)
    found = under(demand.characteristic, use, strands * use.strand_force)
    strict = Tensioning(use.strand, use.duct, use.cover, use.immediate_loss, use.later_loss)
    frequent = under(frequent_load(basis, demand), strict)
    area = strands * use.strand.area
    measures = {
        "prestress_force": found.force,
        "prestress_window": found.window,
        "strands": strands,
        "ducts": np.ceil(strands / use.per_duct - 1e-9),
        "duct_room": found.duct_room,
        "transfer_compression": found.compression_transfer,
        "end_tension": np.maximum(found.tension_end, 0.0),
        "decompression": frequent.least / np.maximum(found.force, 1.0),
        "tendon_bending": demand.moment / _resistance(strips, basis, found, area, use, laid, block),
        "seat_thickness": found.seat_thickness,
        "balanced_load": found.balanced_load(basis.span),
    }
    return measures | _bursting(
        p, basis, settings.practice.stirrup_bar, area * use.strand.jacking_stress
    ), area


def _bursting(p: Properties, basis: Basis, stirrup: float, jacking: Array) -> dict[str, Array]:
    """Steel against bursting, and what two legs of stirrups at the closest spacing give over the height."""
    spacing = stirrup + clear_spacing(basis.detailing)
    return {
        "bursting_steel": 0.25 * ANCHOR_FACTOR * jacking / BURSTING_STRESS,
        "bursting_room": 0.5 * np.pi * stirrup**2 * p.height / spacing,
    }


def frequent_load(basis: Basis, demand: "Demand") -> Array:
    """Heaviest load of the frequent combinations (...) [N/m]."""
    rules = [c for c in basis.standard.every if c.state == FREQUENT]
    heaviest: Array = np.maximum.reduce([np.asarray(demand.loads.combined(c)) for c in rules])
    return heaviest


def _resistance(
    strips: Strips,
    basis: Basis,
    found: Prestress,
    area: Array,
    use: Tensioning,
    laid: GatheredBars,
    block: StressBlock,
) -> Array:
    """Bending resistance with main bars and tendons, these at their design strength f_p0.1k / 1.15 (...)."""
    steel = basis.strengths.steel
    worth = area * use.strand.fp01k / 1.15 / steel
    both = Bars(
        *(
            np.concatenate([own, np.broadcast_to(tendon, strips.batch)[..., None]], axis=-1)
            for own, tendon in ((laid.bars.x, found.x), (laid.bars.z, found.z), (laid.bars.area, worth))
        )
    )
    return bending_resistance(
        strips, both, block=block, steel=steel, modulus=basis.steel.modulus, sagging=basis.sagging,
        held=basis.held,
    ).moment  # fmt: skip


def prestress_limits(basis: Basis, settings: ConcreteSettings, block: str) -> tuple[Limit, ...]:
    """Limits on prestress, none without it; ``block`` is the source of the stress block."""
    use, fctm = settings.tensioning, basis.concrete.fctm
    if use is None:
        return ()
    return (
        Limit(
            "prestress-window", "prestress for service and transfer", "prestress_window", 1.0, CAP,
            "P / P_most, P of whole strands: no more tension than allowed at the bottom in service, at the "
            "top at transfer",
            "derived from plane sections (any text on prestressing)",
        ),
        Limit(
            "transfer-compression", "compression at transfer", "transfer_compression",
            0.6 * basis.concrete.fck, CAP, "largest corner, P_0 = P / (1 - later losses), own weight",
            "EN 1992-1-1, 5.10.2.2(5)",
        ),
        Limit(
            "end-tension", "tension at the ends at transfer", "end_tension", fctm, CAP,
            "P_0 (e f - 1 / A) <= f_ctm, no load helps at the ends", "EN 1992-1-1, 7.1(2)",
        ),
        Limit(
            "decompression", "decompression, frequent", "decompression", 1.0, CAP,
            "P that leaves no tension under the frequent combination <= P; asked of XD and XS, on the safe "
            "side of the crack width of 0.2 mm that X0 and XC may have",
            "EN 1992-1-1, 7.3.1(5), table 7.1N (from memory)",
        ),
        Limit(
            "tendon-bending", "bending with tendons, ultimate", "tendon_bending", 1.0, CAP,
            "M_d / M_R, tendons at f_p0.1k / 1.15 and the main bars", f"{block}; 3.3.6(7)",
        ),
        Limit(
            "bursting", "bursting at the anchors", "bursting_room", "bursting_steel", FLOOR,
            "A_s = 0.25 x 1.2 P_jack / 300 MPa; room: two legs, closest spacing, over the height",
            "EN 1992-1-1, 6.5.3(3), 8.10.3(4) (from memory)",
        ),
        Limit(
            "ducts-fit", "ducts fit beside each other", "duct_room", "ducts", FLOOR,
            f"strands / {use.per_duct:g} a duct (40 % of its inside); room at the tendon, in one level, "
            f"{1e3 * use.apart:g} mm apart",
            "common practice (filling); EN 1992-1-1, 8.10.1.3 (from memory)",
        ),
        Limit(
            "anchor", "member takes the anchor", "seat_thickness", max(use.anchor, use.member), FLOOR,
            "thickness at the tendon >= duct and two covers, anchor plate with edge distance",
            "EN 1992-1-1, 4.4.1.2(3); anchor from common practice",
        ),
    )  # fmt: skip
