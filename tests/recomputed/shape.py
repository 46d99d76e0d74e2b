"""What the builder asks of the shape: slopes, bends, tapers, thickness, a profile clear of itself."""

import numpy as np

from .line import corners, distance_along


def making(s, need):
    """Slopes, thickness, bends, tapers, clearance."""
    sine = np.abs(s.dz) / s.length
    steep = s.roof & (sine > np.sin(need.steep_slope) * (1 + 1e-12))
    surface = s.length[s.roof].sum()
    e, g, into, out = corners(s)
    ax, az, bx, bz = into * s.dx[e], into * s.dz[e], out * s.dx[g], out * s.dz[g]
    turn = np.abs(np.arctan2(ax * bz - az * bx, ax * bx + az * bz))
    facet = facets(s, e, g, turn)
    step = (facet[e] + facet[g]) / 2
    smooth = (s.names[e] == s.names[g]) & s.roof[e] & s.roof[g]
    tight = 2 * np.tan(turn / 2) / step * (need.bend_radius_min + np.maximum(s.t[e], s.t[g]) / 2)
    taper = np.abs(s.t[e] - s.t[g]) / step
    heading = _heading(ax)
    folded = len(e) != len(s.t) - 1 or (turn > np.pi / 2).any() or (heading * bx < 0).any()
    return {
        "surface": surface,
        "slope": np.arcsin(min(sine[s.roof].max(initial=0.0), 1.0)),
        "steep_share": s.length[steep].sum() / surface if surface > 0 else 0.0,
        "thickness": s.whole.min(),
        "bend": tight[smooth].max(initial=0.0),
        "taper": taper[smooth].max(initial=0.0),
        "clearance": clearance(s) if folded else 2.0,
    }


def facets(s, e, g, turn):
    """Length of the straight run of like strips, of one thickness, that each strip stands in."""
    run = [{k} for k in range(len(s.t))]
    like = (s.roof[e] == s.roof[g]) & (s.half[e] == s.half[g]) & (s.t[e] == s.t[g])
    straight = like & (turn * np.minimum(s.length[e], s.length[g]) < 4e-6)
    for a, b in zip(e[straight], g[straight], strict=True):
        joined = run[a] | run[b]
        for k in joined:
            run[k] = joined
    return np.array([sum(s.length[k] for k in own) for own in run])


def _heading(ax):
    """Latest step across that is not zero."""
    place = np.maximum.accumulate(np.where(ax != 0, np.arange(len(ax)), -1))
    return np.where(place >= 0, ax[np.maximum(place, 0)], 0.0)


def clearance(s):
    """Least distance over mean thickness of stretches further apart along the profile than three of it."""
    along = distance_along(s)
    low = np.minimum(along[s.i], along[s.j])
    one, other = np.triu_indices(len(s.t), 1)
    swap = low[one] > low[other]
    e, g = np.where(swap, other, one), np.where(swap, one, other)
    back = along[s.i[g]] > along[s.j[g]]
    kx, kz = np.where(back, s.x2[g], s.x1[g]), np.where(back, s.z2[g], s.z1[g])
    mx, mz = np.where(back, s.x1[g], s.x2[g]), np.where(back, s.z1[g], s.z2[g])
    mean = (s.t[e] + s.t[g]) / 2
    apart = low[g] - np.maximum(along[s.i[e]], along[s.j[e]])
    trim = np.maximum(0.0, 3 * mean - apart) / s.length[g]
    seen = (apart >= -1e-9 * mean) & (trim < 1)
    e, trim, mean = e[seen], trim[seen], mean[seen]
    kx, kz, mx, mz = kx[seen], kz[seen], mx[seen], mz[seen]
    gap = segment_gap(
        (s.x1[e], s.z1[e], s.x2[e], s.z2[e]), (kx + trim * (mx - kx), kz + trim * (mz - kz), mx, mz)
    )
    return min(2.0, (gap / mean).min(initial=2.0))


def segment_gap(one, other):
    """Distances of pairs of segments (x1, z1, x2, z2)."""
    ax, az, bx, bz = one
    cx, cz, dx, dz = other

    def side(px, pz, qx, qz, rx, rz):
        return (qx - px) * (rz - pz) - (qz - pz) * (rx - px)

    cross = (side(ax, az, bx, bz, cx, cz) * side(ax, az, bx, bz, dx, dz) < 0) & (
        side(cx, cz, dx, dz, ax, az) * side(cx, cz, dx, dz, bx, bz) < 0
    )
    gaps = (
        point_gap(ax, az, *other), point_gap(bx, bz, *other), point_gap(cx, cz, *one), point_gap(dx, dz, *one)
    )  # fmt: skip
    return np.where(cross, 0.0, np.minimum.reduce(gaps))


def point_gap(px, pz, ax, az, bx, bz):
    """Distance of points from segments."""
    ux, uz = bx - ax, bz - az
    u = np.clip(((px - ax) * ux + (pz - az) * uz) / (ux**2 + uz**2), 0.0, 1.0)
    return np.hypot(px - ax - u * ux, pz - az - u * uz)
