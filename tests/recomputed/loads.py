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
    x, z = np.r_[s.x1[s.roof], s.x2[s.roof]], np.r_[s.z1[s.roof], s.z2[s.roof]]
    rise = np.ptp(z)
    if loads.drift == "cylindrical":  # a triangle and half of one on half of l_s each
        mu = min(0.2 + 10 * rise / pitch, 2.0)
        wide = min(pitch, 3**0.5 * (pitch**2 + 4 * rise**2) / (8 * rise))
        return loads.ground_snow * mu * (0.5 + 0.25) * wide / 2
    return loads.ground_snow * valley(x, z, pitch)


def valley(x, z, pitch):
    """Coefficient times width of snow gathered in the valleys of a row: by height, linear on plan between."""
    low, high = z.min(), z.max()

    def level(side, at):
        """Middle of the nodes of a side that are within 1 mm of a height."""
        there = x[side & (np.abs(z - at) <= 1e-3)]
        return (there.min() + there.max()) / 2

    ends = [(x.min(), z[x.argmin()]), (x.max(), z[x.argmax()])]
    floor = level(x > -np.inf, low)
    if z[np.abs(x - floor).argmin()] > low + 1e-3:
        floor = x[z.argmin()]
    x0 = next((at for at, depth in ends if depth <= low + 1e-3), floor)
    ridges, turns = [], [(x0, low), *ends]
    for way in (-1.0, 1.0):
        side = way * (x - x0) >= 0
        top = z[side].max()
        ridges.append((way * (level(side, top) - x0), top - low))
        beyond = way * (x - level(side, top)) >= 0
        turns += [(level(side, top), top), (level(beyond, z[beyond].min()), z[beyond].min())]
    slopes = []
    for own, other in (ridges, ridges[::-1]):
        share = own[1] / max(high - low, 1e-9)
        near, far = np.arctan2(own[1], own[0]), np.arctan2(other[1], pitch - other[0])
        slopes.append((share * near if share else 0.0) + (1 - share) * far)
    mu = min(0.8 * np.degrees(np.mean(slopes)) / 30, 0.8)
    at, depth = (np.array(v) for v in zip(*sorted(turns), strict=True))
    q = 0.8 + mu * (high - depth) / max(high - low, 1e-9)
    middle = (ends[0][0] + ends[1][0]) / 2
    at = np.clip(at, middle - pitch / 2, middle + pitch / 2)
    gap = (q[0] + q[-1]) / 2  # half-way across the gap to the next module
    return np.trapezoid(np.r_[gap, q, gap], np.r_[middle - pitch / 2, at, middle + pitch / 2])


# EN 1990:2002 with wind: factors on permanent load, snow, maintenance, wind ((6.10), (6.14b); psi_0 of snow
# 0.5, of wind 0.6; from memory), ultimate and characteristic.
WITH_WIND = (
    (
        (1.35, 0, 0, 0), (1.35, 1.5, 0, 0), (1.35, 0, 1.5, 0), (1.35, 0, 0, 1.5), (1.35, 1.5, 0, 0.9),
        (1.35, 0.75, 0, 1.5), (1, 1.5, 0, 0), (1, 0, 1.5, 0), (1, 0, 0, 1.5),
    ),
    ((1, 0, 0, 0), (1, 1, 0, 0), (1, 0, 1, 0), (1, 0, 0, 1), (1, 1, 0, 0.6), (1, 0.5, 0, 1)),
)  # fmt: skip
