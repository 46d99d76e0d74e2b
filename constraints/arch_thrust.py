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

    Those at first: whole concrete that has not crept leaves the module the largest moment. 1 and None without
    an arch.

    Parameters
    ----------
    p, section : Properties, BeamSection
        Batch (...), whole and as a beam of the main sign of moment.
    e : Effects
        Of the straight module; its sagging moments [N m] are read.
    basis : Basis
        Its ``arch`` gives rise and tie: H = share x M / rise (`longvault.constraints.arch.BeamArch.share`).
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
    Derived: the share of `longvault.constraints.arch.BeamArch.share` with I cracked and E / (1 + creep) in
    the place of I and E; what it grows by presses on the whole section.

    Parameters
    ----------
    strips, p, section
        Batch (...).
    found : mapping
        ``steel_area`` [m2], ``compression`` and ``compression_service`` [Pa] (...), with the thrust at first.
    first : (array, array)
        Thrust at first, ultimate and characteristic (...) [N], from `first_thrust`.
    basis : Basis
        Nothing is returned where it has no ``arch``.

    Returns
    -------
    dict of array (...)
        ``thrust``, ``tie_force`` [N]; ``compression``, ``compression_service`` [Pa].

    Examples
    --------
    By hand, at first: 1.35 x 25 x 0.721 x 20^2 / 8 = 1217 kNm, of which 1 / (1 + 76) over the rise of 0.5 m.

    >>> from longvault.constraints.arch import BeamArch
    >>> from longvault.constraints.basis import Requirements
    >>> from longvault.constraints.evaluate import evaluate
    >>> fold = Strips.chain([-3.0, 0.0, 3.0], [0.0, 2.0, 0.0], 0.1, ["wing", "crown"])
    >>> roof = Basis(20.0, 6.2, Requirements(height_max=2.5), arch=BeamArch(rise=0.5, tie_area=4e-3))
    >>> m = evaluate(fold, roof).measures
    >>> round(float(m["thrust"] / 1e3)), round(float(m["tie_force"] / 1e3))
    (31, 237)
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
