"""Strengths, lever arms, room for bars and shear flow of a section in bending."""

from typing import NamedTuple

import numpy as np

from .line import fibres, hanging_on


def positive_share(f1, f2):
    """Bounds u0, u1 in 0..1 between which a linear f is above zero, and f there."""
    gap = np.where(f1 == f2, 1.0, f2 - f1)
    zero = np.clip(-f1 / gap, 0.0, 1.0)
    u0, u1 = np.where((f1 < 0) & (f2 > 0), zero, 0.0), np.where((f1 > 0) & (f2 < 0), zero, 1.0)
    none = (f1 <= 0) & (f2 <= 0)
    return u0, np.where(none, u0, u1), none


def block(s, f1, f2):
    """Integral of max(f, 0) over the area, and of the same times z, by Simpson's rule (exact here)."""
    u0, u1, none = positive_share(f1, f2)
    wide = np.where(none, 0.0, (u1 - u0) * s.area)
    values = []
    for u in (u0, (u0 + u1) / 2, u1):
        f = np.where(none, 0.0, f1 + u * (f2 - f1))
        values.append((f, f * (s.z1 + u * s.dz)))
    (fa, ga), (fm, gm), (fb, gb) = values
    return (wide * (fa + 4 * fm + fb) / 6).sum(), (wide * (ga + 4 * gm + gb) / 6).sum()


def bars(s, p, detailing, sagging):
    """Steel that fits near the tension edge, and the height of its centroid."""
    bar, mesh = detailing.main_bar, detailing.mesh_bar
    cover = detailing.cover_bottom if sagging else detailing.cover_top
    clear = max(bar, detailing.aggregate + 0.005, 0.020)  # EN 1992-1-1, 8.2(2)
    edge = p["bottom"] if sagging else p["top"]
    d1, d2 = np.abs(s.z1 - edge), np.abs(s.z2 - edge)
    near, far = np.minimum(d1, d2), np.maximum(d1, d2)
    inset = cover + mesh + bar / 2
    zone = max(detailing.bar_zone * (p["top"] - p["bottom"]), inset + bar / 2)  # one layer at least
    rows = np.maximum(np.floor((s.whole - 2 * (cover + mesh) + clear) / (bar + clear) + 1e-9), 0.0)
    # a strip whose mid-line lies beyond the zone has the layer at its face
    beyond = (near >= zone) & (far > zone)
    nearer = np.where(beyond, np.maximum(s.t / 2 - inset, 0.0) * np.abs(s.dx) / s.length, 0.0)
    near, far, rows = near - nearer, far - nearer, np.where(beyond, np.minimum(rows, 1.0), rows)
    flat = far - near <= 1e-300
    inside = np.where(flat, near < zone, np.clip((zone - near) / np.where(flat, 1.0, far - near), 0.0, 1.0))
    steel = inside * s.length * rows * np.pi / 4 * bar**2 / (bar + clear) * np.where(s.half, 0.5, 1.0)
    middle = np.maximum(near + inside * (far - near) / 2, cover + mesh + bar / 2)
    depth = (steel * middle).sum() / steel.sum() if steel.sum() > 0 else cover + mesh + bar / 2
    room = min(steel.sum() / detailing.lap_factor, 0.04 * p["area"])  # EN 1992-1-1, 9.2.1.1(3)
    return room, edge + depth if sagging else edge - depth


def lever_arm(p, pull, push, push_z, bars_z, sign):
    """Smaller of the lever arms of the elastic block and of bars at the edge; a flat slab is solid."""
    height = p["top"] - p["bottom"]
    if 1 / pull > height:
        effective = p["top"] - bars_z if sign > 0 else bars_z - p["bottom"]
        return min(2 * height / 3, effective - height / 6)
    return min(1 / pull, sign * (push_z / push - bars_z))


def shear(s, f1, f2):
    """Shear flow per unit shear force, largest on each strip: integral of f over the area on one side."""
    part = s.area * (f1 + f2) / 2
    if s.chain:
        after = np.cumsum(part)
        before = after - part
    else:
        before, after = _tree_flow(s, part)
    cut = (f1 * f2) < 0
    inner = before + s.area * f1 * np.abs(f1) / np.where(cut, np.abs(f1) + np.abs(f2), 1.0) / 2
    return np.maximum(np.maximum(np.abs(before), np.abs(after)), np.where(cut, np.abs(inner), 0.0))


def _tree_flow(s, part):
    """Flow at both ends of each strip of a branched section, from the side that ends in free tips."""
    before, after = np.empty(len(part)), np.empty(len(part))
    for e in range(len(part)):
        beyond = part[hanging_on(s, e, s.i[e])].sum()
        before[e], after[e] = beyond, beyond + part[e]
    return before, after


def strengths(basis):
    """Design strengths: EN 1992-1-1:2004 with 1.5 and 1.15, or ACI 318-19 with its reduction factors.

    Compression ultimate and in service, struts, steel in bending, steel in shear.
    """
    fck, fyk = basis.concrete.fck / 1e6, basis.steel.fyk
    if basis.standard.key == "EN 1990:2002":
        fcd = fck / 1.5
        return fcd * 1e6, 0.6 * fck * 1e6, 0.5 * 0.6 * (1 - fck / 250) * fcd * 1e6, fyk / 1.15, fyk / 1.15
    return (
        0.65 * 0.85 * fck * 1e6,
        0.45 * fck * 1e6,
        0.75 * 0.83 * fck**0.5 * 1e6,
        0.9 * fyk,
        0.75 * min(fyk, 550e6),
    )


class Bent(NamedTuple):
    """A section bent one way."""

    compressed: float
    """Largest compression of a unit moment, the reciprocal of the modulus."""
    arm: float
    room: float
    bars_z: float
    flow: np.ndarray
    """Shear flow per unit shear force on each strip."""
    solid: bool
    """Whether it is a flat slab, whose shear stress is 1.5 V / A."""


def bent(s, p, basis, sagging):
    """Compression, lever arm, room for bars and shear flow of a section bent one way."""
    sign = 1.0 if sagging else -1.0
    compressed = (sign * fibres(p, s.cx, s.cz, basis.held)).max()
    f1, f2 = (sign * fibres(p, *at, basis.held) for at in ((s.x1, s.z1), (s.x2, s.z2)))
    pull, _ = block(s, -f1, -f2)
    push, push_z = block(s, f1, f2)
    room, bars_z = bars(s, p, basis.detailing, sagging)
    arm = lever_arm(p, pull, push, push_z, bars_z, sign)
    return Bent(compressed, arm, room, bars_z, shear(s, f1, f2), 1 / pull > p["top"] - p["bottom"])


def mesh_area(d):
    """Mesh of one direction at the supports, per metre."""
    return d.mesh_layers * np.pi / 4 * d.mesh_bar**2 / d.support_spacing


def least_thickness(d):
    """Covers, two bars a mesh and tolerance, or the fire class; met to a micrometre."""
    stack = d.cover_top + d.cover_bottom + d.tolerance + 2 * d.mesh_layers * d.mesh_bar
    return max(stack, d.fire_floor) - 1e-6


def modulus(basis):
    """Mean modulus of concrete (EN 1992-1-1, table 3.1), or 4700 sqrt(f'c) MPa (ACI 318-19, 19.2.2)."""
    if basis.standard.key != "EN 1990:2002":
        return 4700e6 * (basis.concrete.fck / 1e6) ** 0.5
    return 22e9 * ((basis.concrete.fck / 1e6 + 8) / 10) ** 0.3
