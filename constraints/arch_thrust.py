"""Thrust of a beam-arch at first, and once the module has cracked and crept."""

from collections.abc import Mapping

import numpy as np

from longvault.constraints.actions import CHARACTERISTIC, ULTIMATE
from longvault.constraints.basis import Basis
from longvault.constraints.effects import Effects
from longvault.constraints.reinforcement import BeamSection
from longvault.constraints.service import cracked_inertia
from longvault.sections.properties import Properties
from longvault.sections.strips import Strips
from longvault.sections.symbols import Array


def first_thrust(
    p: Properties, section: BeamSection, e: Effects, basis: Basis
) -> tuple[Array | float, tuple[Array, Array] | None]:
    """Share of the moment that is left in a beam-arch, and its thrust, ultimate and characteristic [N].

    Those at first: whole concrete that has not crept leaves the module the largest moment.
    """
    if basis.arch is None:
        return 1.0, None
    ratio = basis.concrete.ecm / basis.steel.modulus
    share = basis.arch.share(inertia=section.inertia, area=p.area, modular_ratio=ratio)
    ultimate, service = (share * e.sagging[state] / basis.arch.rise for state in (ULTIMATE, CHARACTERISTIC))
    return 1.0 - share, (ultimate, service)


def lasting_thrust(
    strips: Strips,
    p: Properties,
    section: BeamSection,
    found: Mapping[str, Array],
    first: tuple[Array, Array],
    basis: Basis,
) -> dict[str, Array]:
    """Thrust at first and at last, and compression under the moment at first with the thrust at last.

    A cracked and crept module is softer in bending against its tie, which then takes more: the largest tie
    force is that of the cracked section with E / (1 + creep). Neither state is on the safe side of both.
    """
    if basis.arch is None:
        return {}
    creep = 1.0 + basis.requirements.creep
    ratio = creep * basis.steel.modulus / basis.concrete.ecm
    cracked = cracked_inertia(
        strips, steel=found["steel_area"], bars_z=section.bars_z, ratio=ratio, sagging=basis.sagging
    )
    soft = section.inertia * np.minimum(cracked / p.ixx, 1.0)
    share = [
        basis.arch.share(inertia=inertia, area=p.area, modular_ratio=n)
        for inertia, n in ((section.inertia, creep / ratio), (soft, 1.0 / ratio))
    ]
    more = share[1] / share[0]
    pressed = [(more - 1.0) * one / p.area for one in first]
    return {
        "thrust": first[0],
        "tie_force": more * first[0],
        "compression": found["compression"] + pressed[0],
        "compression_service": found["compression_service"] + pressed[1],
    }
