"""Long-term over elastic deflection: two states of the section and what lies between."""

import numpy as np

from .line import fibres
from .strength import modulus


def cracked_inertia(s, heavy, bars_z, sign):
    """Second moment about the neutral axis where the first moments balance, strips spread over their height.

    ``heavy`` is the steel times the ratio of moduli. The distance of the axis from the bars comes with it.
    """
    reach = (np.abs(s.dz) + s.t * np.abs(s.dx) / s.length) / 2
    middle = sign * (s.z1 + s.z2) / 2
    low, high, bars = middle - reach, middle + reach, sign * bars_z

    def moment(axis, power):
        a, b = np.maximum(low - axis, 0.0), np.maximum(high - axis, 0.0)
        return (s.area / (2 * reach) * (b**power - a**power) / power).sum()

    below, above = bars, high.max()
    for _ in range(100):  # halving
        axis = (below + above) / 2
        if moment(axis, 2) > heavy * (axis - bars):
            below = axis
        else:
            above = axis
    return moment(axis, 3) + heavy * (axis - bars) ** 2, axis - bars


def shrunk(p, heavy, apart, cracked, zeta):
    """EN 1992-1-1, (7.21): alpha_e S / I of both states, by the transformed section, strain 1."""
    area, z = p["area"] + heavy, heavy / (p["area"] + heavy) * apart
    whole = p["ixx"] + heavy * apart**2 - area * z**2
    return zeta * heavy * cracked[1] / cracked[0] + (1 - zeta) * heavy * (apart - z) / whole


def late(s, p, basis, one, moment, lasting, steel, sagging):
    """EN 1992-1-1, (7.18)-(7.21): both states creep, zeta = 1 - 0.5 (M_cr / M)^2 for sustained load.

    ACI 318-19, 24.2.3.5: I_e = I_cr / (1 - (2/3 M_cr / M)^2 (1 - I_cr / I_g)), and 1 + 2.0 for time. ``one``
    is the section bent that way, ``moment`` the largest characteristic one, ``lasting`` the quasi-permanent.
    """
    need, fck, sign = basis.requirements, basis.concrete.fck / 1e6, 1.0 if sagging else -1.0
    if need.long_term == "factor":
        return need.long_term_factor
    stretched = (-sign * fibres(p, s.cx, s.cz, basis.held)).max()
    if basis.standard.key == "EN 1990:2002":
        tension = 0.3 * fck ** (2 / 3) if fck <= 50 else 2.12 * np.log(1 + (fck + 8) / 10)
        cracking, softer = tension * 1e6 / stretched, 1 + need.creep
        heavy = softer * 200e9 / modulus(basis) * steel
        cracked = cracked_inertia(s, heavy, one.bars_z, sign)
        zeta = 1 - 0.5 * (cracking / moment) ** 2 if moment > cracking else 0.0
        load = softer * (zeta * max(p["ixx"] / cracked[0], 1.0) + 1 - zeta) if zeta else softer
        if lasting <= 0 or steel == 0:
            return load
        free = (p["ixx"] * p["izz"] - p["ixz"] ** 2) / p["izz"]
        elastic = lasting / (modulus(basis) * (p["ixx"] if basis.held else free))
        return load + need.shrinkage * shrunk(p, heavy, abs(p["z"] - one.bars_z), cracked, zeta) / elastic
    cracking = 0.62e6 * fck**0.5 / stretched
    if moment <= 2 / 3 * cracking:
        return 3.0
    i_cr, _ = cracked_inertia(s, 200e9 / modulus(basis) * steel, one.bars_z, sign)
    i_cr = min(i_cr, p["ixx"])
    return 3.0 * p["ixx"] / (i_cr / (1 - (2 / 3 * cracking / moment) ** 2 * (1 - i_cr / p["ixx"])))
