"""Factors on loads, drifted snow, and the forces of beams."""

import numpy as np

# Largest moment over w L^2, shear over w L, deflection over w L^4 / (E I), and span in depth rules over L
# (any beam table).
SPANS = {"simple": (1 / 8, 1 / 2, 5 / 384, 1.0), "cantilever": (-1 / 2, 1.0, 1 / 8, 2.0)}

# Factors on permanent load, snow, maintenance: EN 1990:2002 (6.10), (6.14b), (6.16b) and ASCE 7-16, 2.3.1.
FACTORS = {
    "EN 1990:2002": (
        ((1.35, 1.5, 0.0), (1.35, 0.0, 1.5)),
        ((1.0, 1.0, 0.0), (1.0, 0.0, 1.0)),
        ((1.0, 0.0, 0.0),),
    ),
    "ASCE 7-16": (
        ((1.4, 0.0, 0.0), (1.2, 1.6, 0.0), (1.2, 0.0, 1.6)),
        ((1.0, 1.0, 0.0), (1.0, 0.0, 1.0)),
        ((1.0, 0.0, 0.0),),
    ),
}


def drift(s, basis):
    """Drifted snow on one bay, per metre of span (EN 1991-1-3, 5.3.4 and 5.3.5)."""
    loads, pitch = basis.loads, basis.pitch
    if not loads.drift:
        return 0.0
    rise = np.ptp(np.r_[s.z1[s.roof], s.z2[s.roof]])
    if loads.drift == "cylindrical":  # a triangle and half of one on half of l_s each
        mu = min(0.2 + 10 * rise / pitch, 2.0)
        wide = min(pitch, 3**0.5 * (pitch**2 + 4 * rise**2) / (8 * rise))
        return loads.ground_snow * mu * (0.5 + 0.25) * wide / 2
    return loads.ground_snow * valley(s, rise, pitch)


def upper_surface(s):
    """Highest point at 49 even places, clefts steeper than 3 filled to that; at both ends the foot."""
    ends = [(s.x1[s.roof], s.z1[s.roof]), (s.x2[s.roof], s.z2[s.roof])]
    nodes = np.concatenate(ends, axis=1)
    x = np.linspace(nodes[0].min(), nodes[0].max(), 49)
    z = np.full(49, -np.inf)
    for x1, z1, x2, z2 in zip(*ends[0], *ends[1], strict=True):
        (a, za), (b, zb) = sorted([(x1, z1), (x2, z2)])
        on = (x >= a - 1e-9 * (x[1] - x[0])) & (x <= b + 1e-9 * (x[1] - x[0]))
        here = np.interp(x[on], [a, b], [za, zb]) if b - a > 1e-9 * (x[1] - x[0]) else max(za, zb)
        z[on] = np.maximum(z[on], here)
    covered = z > -np.inf
    z = np.interp(x, x[covered], z[covered])
    known = np.r_[x, nodes[0]], np.r_[z, nodes[1]]
    z = (known[1] - 3.0 * np.abs(x[:, None] - known[0])).max(axis=1)
    for k in (0, -1):
        z[k] = min(z[k], (nodes[1] + 3.0 * np.abs(nodes[0] - x[k])).min())
    return x, z


def valley(s, rise, pitch):
    """Coefficient times width of snow gathered in the valleys of a row.

    On ground that rises to the right, what gathers at a place goes by the share of such ground that is
    higher; likewise where it falls. Heights in 24 steps; each piece of roof stands with half its width at
    either end; slopes within 5 % are shared between both ways; glass that drops by less than a tenth of the
    rise counts the less.
    """
    x, z = upper_surface(s)
    middle, mean = (x[0] + x[-1]) / 2, (z[0] + z[-1]) / 2
    edges = middle - pitch / 2, middle + pitch / 2
    x = np.clip(x, *edges)
    at = np.r_[np.linspace(edges[0], x[0], 7)[:-1], x, np.linspace(x[-1], edges[1], 7)[1:]]
    top = np.r_[np.linspace(mean, z[0], 7)[:-1], z, np.linspace(z[-1], mean, 7)[1:]]
    wide, up = np.diff(at), np.diff(top)
    counts = np.full(len(wide), min(abs(z[-1] - z[0]) / max(0.1 * rise, 1e-9), 1.0))
    counts[6:-6] = 1.0
    rising = np.clip(0.5 + up / np.maximum(0.1 * wide, 1e-300), 0, 1)
    rising[wide <= 0] = 0.5
    level = (top - top.min()) / max(np.ptp(top), 1e-9) * 24
    hats = np.clip(1 - np.abs(level[:, None] - np.arange(25)), 0, None)
    total, angles = 0.0, []
    for part, climb in ((rising, up.clip(0).sum()), (1 - rising, -up.clip(None, 0).sum())):
        width = counts * wide * part
        angles.append(np.arctan2(climb, width.sum()))
        mass = (width[:, None] * (hats[:-1] + hats[1:])).sum(axis=0) / 2
        rank = (mass.sum() - np.cumsum(mass) + mass / 2) / max(mass.sum(), 1e-12)
        share = hats @ rank
        total += (part * wide * (share[:-1] + share[1:])).sum() / 2
    return 0.8 * pitch + min(0.8 * np.degrees(np.mean(angles)) / 30, 0.8) * total


# EN 1990:2002 with wind: factors on permanent load, snow, maintenance, wind ((6.10), (6.14b); psi_0 of snow
# 0.5, of wind 0.6; from memory), ultimate and characteristic.
WITH_WIND = (
    (
        (1.35, 0, 0, 0), (1.35, 1.5, 0, 0), (1.35, 0, 1.5, 0), (1.35, 0, 0, 1.5), (1.35, 1.5, 0, 0.9),
        (1.35, 0.75, 0, 1.5), (1, 1.5, 0, 0), (1, 0, 1.5, 0), (1, 0, 0, 1.5),
    ),
    ((1, 0, 0, 0), (1, 1, 0, 0), (1, 0, 1, 0), (1, 0, 0, 1), (1, 1, 0, 0.6), (1, 0.5, 0, 1)),
)  # fmt: skip
