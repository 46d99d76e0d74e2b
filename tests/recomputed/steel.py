"""Steel of one module summed again from the rules of detailing (EN 1992-1-1; lengths by common practice)."""

import numpy as np

from .line import fibres, hanging_on


def lengths(bar, basis):
    """Anchorage and lap: bond 2.25 x 0.7 f_ctm / 1.5, all bars lapped in one section."""
    tension = 0.3 * (basis.concrete.fck / 1e6) ** (2 / 3) * 0.7 / 1.5
    anchor = max(bar / 4 * basis.strengths.steel / 1e6 / (2.25 * tension), 10 * bar, 0.1)
    return anchor, max(1.5 * anchor, 15 * bar, 0.2)


def tension_zone(s, p, basis, sagging):
    """Mean width of the stretched part: its area over its depth, square to the neutral axis."""
    sign = 1.0 if sagging else -1.0
    f1, f2 = (sign * fibres(p, x, z, basis.held) for x, z in ((s.x1, s.z1), (s.x2, s.z2)))
    low, high = np.minimum(f1, f2), np.maximum(f1, f2)
    share = np.where(high <= 0, 1.0, np.where(low >= 0, 0.0, low / np.where(low == high, 1.0, low - high)))
    corner = sign * fibres(p, s.cx, s.cz, basis.held)
    steep = np.hypot(fibres(p, p["x"] + 1.0, p["z"], basis.held), fibres(p, p["x"], p["z"] + 1.0, basis.held))
    return (share * s.area).sum() / (-corner.min() / steep)


def least_steel(s, p, basis, sagging, depth):
    """max(0.26 f_ctm / f_yk, 0.0013) b_t d (9.2.1.1)."""
    fctm = 0.3 * (basis.concrete.fck / 1e6) ** (2 / 3)
    ratio = max(0.26 * fctm / (basis.steel.fyk / 1e6), 0.0013)
    return ratio * tension_zone(s, p, basis, sagging) * depth


def members(s):
    """Runs of strips of one part that are no roof surface, as lists of strips."""
    left, found = set(np.flatnonzero(~s.roof).tolist()), []
    while left:
        run = [left.pop()]
        for e in run:
            for node in (s.i[e], s.j[e]):
                near = [g for g in hanging_on(s, e, node) if g in left and s.names[g] == s.names[e]]
                touching = [g for g in near if node in (s.i[g], s.j[g])]
                run += touching
                left -= set(touching)
        found.append(run)
    return found


def steel_volume(s, basis, practice, main, length):
    """Steel per metre of span without what shear asks for: main bars, mesh, beams, laps, spacers."""
    d = basis.detailing
    (anchor, lap), (thin, short) = (lengths(bar, basis) for bar in (d.main_bar, d.mesh_bar))
    laps = np.ceil(max(length - practice.stock, 0.0) / (practice.stock - lap) - 1e-9)
    bars = main * (practice.curtailed * (1 + laps * lap / length) + 2 * anchor / length)
    roof = s.length[s.roof]
    area = d.mesh_layers * np.pi / 4 * d.mesh_bar**2 / d.mesh_spacing
    net = (roof * np.maximum(area, practice.shell_ratio * s.t[s.roof])).sum()
    count = np.bincount(np.r_[s.i[s.roof], s.j[s.roof]])
    edges = (count == 1).sum() + np.maximum(count - 2, 0).sum()
    run = roof.sum() / max(edges / 2, 1)
    along = np.ceil(max(length - practice.sheet_width, 0.0) / (practice.sheet_width - short) - 1e-9)
    across = max(run - practice.sheet_length, 0.0) / (practice.sheet_length - short)
    mesh = 2 * net * (1 + along * short / length) * (1 + across * short / run)
    mesh += 2 * net * thin / length + edges * area * thin
    one = np.pi / 4 * practice.stirrup_bar**2 / practice.stirrup_spacing
    beams = 0.0
    for run_of in members(s):
        e = np.array(run_of)
        half = 0.5 if s.half[e[0]] else 1.0
        part = s.length[e] / s.length[e].sum()
        across = (part * np.maximum(s.whole[e] - d.cover_top - d.cover_bottom, 0.0)).sum()
        around = 2 * (s.length[e].sum() + across)
        beams += half * one * (around + 20 * practice.stirrup_bar)
        corners = half * np.pi * practice.corner_bar**2 * part
        beams += np.maximum(practice.skin_ratio * s.area[e], corners).sum()
    return (1 + practice.allowance) * (bars + mesh + beams)
