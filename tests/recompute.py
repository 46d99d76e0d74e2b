"""All limits of one section, reckoned again from the formulas: plain numpy, one candidate a call.

Written for the tests, apart from the code it checks: nothing of the package is imported. It covers a module
that is the same all along, on a simple span or as a cantilever, under permanent load, snow (drifted too) and
maintenance; and a canopy that tapers, under wind beside them. Arrays run over strips and nodes; loops run
over the branches of a section alone.
"""

import numpy as np

BEAMS = ("kerb", "edge beam", "valley beam")
HALVES = ("valley beam",)

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


class Line:
    """One section as arrays over its strips."""

    def __init__(self, x, z, ends, t, parts):
        self.i, self.j = ends[:, 0], ends[:, 1]
        self.x1, self.z1, self.x2, self.z2 = x[self.i], z[self.i], x[self.j], z[self.j]
        self.dx, self.dz = self.x2 - self.x1, self.z2 - self.z1
        self.length = np.hypot(self.dx, self.dz)
        self.t, self.area = t, self.length * t
        names = np.array(parts)
        self.names = names
        self.roof, self.half = ~np.isin(names, BEAMS), np.isin(names, HALVES)
        self.whole = np.where(self.half, 2 * t, t)
        self.chain = np.array_equal(ends, np.column_stack([np.arange(len(ends)), np.arange(len(ends)) + 1]))
        nx, nz = -self.dz / self.length * t / 2, self.dx / self.length * t / 2
        # corners of each strip in order round its rectangle (4, e)
        self.cx = np.stack([self.x1 + nx, self.x2 + nx, self.x2 - nx, self.x1 - nx])
        self.cz = np.stack([self.z1 + nz, self.z2 + nz, self.z2 - nz, self.z1 - nz])


def properties(s):
    """Area, centroid, second moments of rectangles by the parallel-axis rule, extreme corners."""
    a, xm, zm = s.area, (s.x1 + s.x2) / 2, (s.z1 + s.z2) / 2
    total = a.sum()
    x0, z0 = (a * xm).sum() / total, (a * zm).sum() / total
    along, across = a * s.length**2 / 12, a * s.t**2 / 12
    cos, sin = s.dx / s.length, s.dz / s.length
    p = {"area": total, "x": x0, "z": z0}
    p["ixx"] = (a * (zm - z0) ** 2 + along * sin**2 + across * cos**2).sum()
    p["izz"] = (a * (xm - x0) ** 2 + along * cos**2 + across * sin**2).sum()
    p["ixz"] = (a * (xm - x0) * (zm - z0) + (along - across) * sin * cos).sum()
    p["top"], p["bottom"] = s.cz.max(), s.cz.min()
    p["width"] = s.cx.max() - s.cx.min()
    return p


def fibres(p, x, z, held):
    """Stress of a unit sagging moment, compression +: unsymmetrical bending, free or held straight."""
    if held:
        return (z - p["z"]) / p["ixx"]
    determinant = p["ixx"] * p["izz"] - p["ixz"] ** 2
    return ((z - p["z"]) * p["izz"] - (x - p["x"]) * p["ixz"]) / determinant


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
        beyond = part[_beyond(s, e, s.i[e])].sum()
        before[e], after[e] = beyond, beyond + part[e]
    return before, after


def _beyond(s, e, node):
    """Strips that hang on ``node`` when strip e is taken away."""
    found, reached = [], [node]
    while reached:
        here = reached.pop()
        for g in np.flatnonzero((s.i == here) | (s.j == here)):
            if g != e and g not in found:
                found.append(g)
                reached.append(s.j[g] if s.i[g] == here else s.i[g])
    return found


def corners(s):
    """Pairs of strips that meet where no third one does: into the corner and out of it."""
    if s.chain:
        first = np.arange(len(s.t) - 1)
        return first, first + 1, np.ones(len(first)), np.ones(len(first))
    rows = []
    for node in range(max(s.i.max(), s.j.max()) + 1):
        meeting = np.flatnonzero((s.i == node) | (s.j == node))
        if len(meeting) == 2:
            e, g = meeting
            rows.append((e, g, 1.0 if s.j[e] == node else -1.0, 1.0 if s.i[g] == node else -1.0))
    e, g, into, out = np.array(rows).T
    return e.astype(int), g.astype(int), into, out


def making(s, need):
    """Slopes, thickness, bends, tapers, clearance."""
    sine = np.abs(s.dz) / s.length
    steep = s.roof & (sine > np.sin(need.steep_slope) * (1 + 1e-12))
    surface = s.length[s.roof].sum()
    e, g, into, out = corners(s)
    ax, az, bx, bz = into * s.dx[e], into * s.dz[e], out * s.dx[g], out * s.dz[g]
    turn = np.abs(np.arctan2(ax * bz - az * bx, ax * bx + az * bz))
    step = (s.length[e] + s.length[g]) / 2
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


def _heading(ax):
    """Latest step across that is not zero."""
    place = np.maximum.accumulate(np.where(ax != 0, np.arange(len(ax)), -1))
    return np.where(place >= 0, ax[np.maximum(place, 0)], 0.0)


def clearance(s):
    """Least distance over mean thickness of stretches further apart along the profile than three of it."""
    along = _along(s)
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


def _along(s):
    """Distance of each node from the last one along the strips."""
    if s.chain:
        return np.concatenate([np.cumsum(s.length[::-1])[::-1], [0.0]])
    far = np.full(max(s.i.max(), s.j.max()) + 1, np.inf)
    far[s.j[-1]] = 0.0
    for _ in range(len(s.t)):
        np.minimum.at(far, s.i, far[s.j] + s.length)
        np.minimum.at(far, s.j, far[s.i] + s.length)
    return far


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


def opening(s, pitch, frame):
    """Clear distance of the rectangles at the right edge from those at the left edge of the next module."""
    right, left = slot_edge(s, 1.0), slot_edge(s, -1.0)
    # (a, b, corner or side): outlines as closed rings
    ax, az = s.cx.T[right][:, None], s.cz.T[right][:, None]
    bx, bz = s.cx.T[left][None] + pitch, s.cz.T[left][None]
    if separate(ax, az, bx, bz).all():
        gaps = (ring_gap(ax, az, bx, bz), ring_gap(bx, bz, ax, az))
        return max(min(gaps) - frame, 0.0)
    return 0.0


def glass_angle(s, pitch):
    """Angle from the horizontal of the shortest line across the slot; upright where there is none."""
    if opening(s, pitch, 0.0) <= 0:
        return np.pi / 2
    right, left = slot_edge(s, 1.0), slot_edge(s, -1.0)
    rings = [s.cx.T[right], s.cz.T[right]], [s.cx.T[left] + pitch, s.cz.T[left]]
    best = np.inf, 0.0
    for (px, pz), (qx, qz) in (rings, rings[::-1]):
        for ax, az in zip(px.ravel(), pz.ravel(), strict=True):
            for ring_x, ring_z in zip(qx, qz, strict=True):
                for k in range(4):
                    bx, bz, cx, cz = ring_x[k - 1], ring_z[k - 1], ring_x[k], ring_z[k]
                    ux, uz = cx - bx, cz - bz
                    u = min(max(((ax - bx) * ux + (az - bz) * uz) / (ux**2 + uz**2), 0.0), 1.0)
                    dx, dz = ax - bx - u * ux, az - bz - u * uz
                    best = min(best, (np.hypot(dx, dz), np.arctan2(abs(dz), abs(dx))))
    return best[1]


def slot_edge(s, side):
    """Strips of one slot edge: kerbs of that half, strips at the outermost node, the outermost outline."""
    outer = np.maximum(side * s.x1, side * s.x2)
    tip, size = outer.max(), np.ptp(np.concatenate([s.x1, s.x2]))
    reach = (side * s.cx).max(axis=0)
    at_tip, at_face = outer >= tip - 1e-9 * size, reach >= reach.max() - 1e-9 * size
    kerb = (s.names == "kerb") & (side * (s.x1 + s.x2) / 2 > tip - size / 2)
    return np.flatnonzero(at_tip | at_face | kerb)


def separate(ax, az, bx, bz):
    """Whether convex rings are apart: a side of one of them parts them (separating-axis rule)."""
    parted = np.zeros(np.broadcast_shapes(ax.shape[:2], bx.shape[:2]), bool)
    for px, pz, qx, qz in ((ax, az, bx, bz), (bx, bz, ax, az)):
        for k in (0, 1):
            ux, uz = px[..., k + 1] - px[..., k], pz[..., k + 1] - pz[..., k]
            p = px * ux[..., None] + pz * uz[..., None]
            q = qx * ux[..., None] + qz * uz[..., None]
            parted |= (p.max(-1) < q.min(-1)) | (q.max(-1) < p.min(-1))
    return parted


def ring_gap(px, pz, qx, qz):
    """Least distance of the corners of rings p from the sides of rings q."""
    nx, nz = np.roll(qx, -1, -1), np.roll(qz, -1, -1)
    sides = (v[..., None, :] for v in (qx, qz, nx, nz))
    return point_gap(px[..., :, None], pz[..., :, None], *sides).min()


def strengths(basis):
    """Design strengths: EN 1992-1-1:2004 with 1.5 and 1.15, or ACI 318-19 with its reduction factors."""
    fck, fyk = basis.concrete.fck / 1e6, basis.steel.fyk
    if basis.standard.key == "EN 1990:2002":
        fcd = fck / 1.5
        return fcd * 1e6, 0.6 * fck * 1e6, 0.5 * 0.6 * (1 - fck / 250) * fcd * 1e6, fyk / 1.15
    return 0.65 * 0.85 * fck * 1e6, 0.45 * fck * 1e6, 0.75 * 0.83 * fck**0.5 * 1e6, 0.9 * fyk


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


def recompute(x, z, ends, t, parts, basis):
    """Margins of one section by the key of their limit: <= 0 holds."""
    s = Line(x, z, ends, t, parts)
    p, need, detailing = properties(s), basis.requirements, basis.detailing
    made = making(s, need)
    clear = opening(s, basis.pitch, basis.frame)
    moment, shear_share, sag, twice = SPANS[basis.support.key]
    sagging = moment > 0
    loads, span, height = basis.loads, basis.span, p["top"] - p["bottom"]
    permanent = (
        basis.concrete.weight * p["area"]
        + loads.finish * made["surface"]
        + loads.glass * clear
        + loads.services
    )
    states = FACTORS[basis.standard.key]
    snow = max(loads.snow, drift(s, basis) / basis.pitch)  # the heaviest governs: all of them press down
    w_d, w_k, w_q = (
        max(g * permanent + (a * snow + b * loads.maintenance) * basis.pitch for g, a, b in rows)
        for rows in states
    )
    m_d, m_k, v_d = abs(moment) * w_d * span**2, abs(moment) * w_k * span**2, shear_share * w_d * span
    corner = fibres(p, s.cx, s.cz, basis.held)
    compressed = corner.max() if sagging else -corner.min()
    sign = 1.0 if sagging else -1.0
    f1, f2 = (sign * fibres(p, *at, basis.held) for at in ((s.x1, s.z1), (s.x2, s.z2)))
    pull, _ = block(s, -f1, -f2)
    push, push_z = block(s, f1, f2)
    room, bars_z = bars(s, p, detailing, sagging)
    arm = lever_arm(p, pull, push, push_z, bars_z, sign)
    fcd, fc_service, strut, fyd = strengths(basis)
    flow = shear(s, f1, f2)
    solid = 1 / pull > height  # a flat slab: 1.5 V / A
    shear_stress = 1.5 / p["area"] if solid else (flow / s.t).max()
    steel = m_d / (arm * fyd)
    mesh = detailing.mesh_layers * np.pi / 4 * detailing.mesh_bar**2 / detailing.support_spacing
    stiff = p["ixx"] if basis.held else (p["ixx"] * p["izz"] - p["ixz"] ** 2) / p["izz"]
    ecm = 22e9 * ((basis.concrete.fck / 1e6 + 8) / 10) ** 0.3  # EN 1992-1-1, table 3.1
    late = need.long_term_factor * sag * w_q * span**4 / (ecm * stiff)
    stack = detailing.cover_top + detailing.cover_bottom + detailing.tolerance
    floor = max(stack + 2 * detailing.mesh_layers * detailing.mesh_bar, detailing.fire_floor)
    margins = {
        "height": height / need.height_max - 1,
        "span-to-depth": twice * span / height / need.span_to_depth_max - 1,
        "compression": m_d * compressed / fcd - 1,
        "compression-service": m_k * compressed / fc_service - 1,
        "steel-fits": 1 - room / steel,
        "shear": v_d * shear_stress / strut - 1,
        "web-steel": v_d * flow[s.roof].max(initial=0.0) / fyd / mesh - 1,
        "deflection": late / (twice * span / need.deflection_ratio) - 1,
        "thickness": 1 - made["thickness"] / (floor - 1e-6),  # met to a micrometre
        "slope": made["slope"] / need.slope_max - 1,
        "bend": made["bend"] - 1,
        "taper": made["taper"] / need.taper_max - 1,
        "clearance": 1 - made["clearance"],
        "neighbour": p["width"] / (basis.pitch + 1e-3) - 1,  # members that touch, to a millimetre
    }
    if need.opening_min > 0:
        margins["opening"] = 1 - clear / need.opening_min
    if need.glass_slope_min is not None:
        margins["glass-slope"] = 1 - glass_angle(s, basis.pitch) / need.glass_slope_min
    if need.span_to_depth_min is not None:
        margins["span-to-depth-least"] = 1 - twice * span / height / need.span_to_depth_min
    if need.steep_share_max < 1:
        margins["steep-share"] = made["steep_share"] / need.steep_share_max - 1
    return margins


# EN 1990:2002 with wind: factors on permanent load, snow, maintenance, wind ((6.10), (6.14b); psi_0 of snow
# 0.5, of wind 0.6; from memory), ultimate and characteristic.
WITH_WIND = (
    (
        (1.35, 0, 0, 0), (1.35, 1.5, 0, 0), (1.35, 0, 1.5, 0), (1.35, 0, 0, 1.5), (1.35, 1.5, 0, 0.9),
        (1.35, 0.75, 0, 1.5), (1, 1.5, 0, 0), (1, 0, 1.5, 0), (1, 0, 0, 1.5),
    ),
    ((1, 0, 0, 0), (1, 1, 0, 0), (1, 0, 1, 0), (1, 0, 0, 1), (1, 1, 0, 0.6), (1, 0.5, 0, 1)),
)  # fmt: skip


def parabolas(y, values):
    """Coefficients of the parabolas through stations 0-1-2, 2-3-4 ..., with the places they run between."""
    return [
        (y[k], y[k + 2], np.polyfit(y[k : k + 3] - y[k], values[k : k + 3], 2))
        for k in range(0, len(y) - 2, 2)
    ]


def beyond(y, w):
    """Load of an arm beyond each station, and its moment about it: integrals of the parabolas."""
    force, moment = np.zeros(len(y)), np.zeros(len(y))
    for i, place in enumerate(y):
        for start, end, fit in parabolas(y, w):
            middle = start + (end - start) / 2
            for low, high in ((start, middle), (middle, end)):
                if low >= place - 1e-12:  # three-point Gauss rule: exact for the cubic that stands here
                    at = (low + high) / 2 + (high - low) / 2 * np.array([-(0.6**0.5), 0.0, 0.6**0.5])
                    parts = np.polyval(fit, at - start) * (high - low) / 18 * np.array([5.0, 8.0, 5.0])
                    force[i], moment[i] = force[i] + parts.sum(), moment[i] + (parts * (at - place)).sum()
    return force, moment


def double_integral(y, values, first, slope):
    """Integrate curvature twice over one field from a start value and slope; values at the stations."""
    found, end = np.zeros(len(y)), slope
    found[0] = first
    for k, (start, _, fit) in zip(range(0, len(y) - 2, 2), parabolas(y, values), strict=True):
        once = np.polyint(fit, k=end)
        twice = np.polyint(once, k=found[k])
        for j in (1, 2):
            found[k + j] = np.polyval(twice, y[k + j] - start)
        end = np.polyval(once, y[k + 2] - start)
    return found, end


def canopy_forces(back, arm, loads):
    """Moments and shears at the stations of back span and arm: load on the back span, then on the arm.

    Statics alone: the arm is free, the back span rests at its start and at the root.
    """
    on_back, on_arm = loads
    force, moment = beyond(arm, on_arm)
    b = back[-1]
    rest = on_back * b / 2
    pull = -moment[0] / b
    none = np.zeros(len(arm))
    moments = (np.r_[rest * back - on_back * back**2 / 2, none], np.r_[pull * back, -moment])
    shears = (np.r_[rest - on_back * back, none], np.r_[np.full(len(back), pull), force])
    return moments, shears


def one_sign(s, p, basis, sagging):
    """Reciprocal modulus of the compressed side, lever arm, room for bars, flow on each strip."""
    sign = 1.0 if sagging else -1.0
    compressed = (sign * fibres(p, s.cx, s.cz, basis.held)).max()
    f1, f2 = (sign * fibres(p, *at, basis.held) for at in ((s.x1, s.z1), (s.x2, s.z2)))
    pull, _ = block(s, -f1, -f2)
    push, push_z = block(s, f1, f2)
    room, bars_z = bars(s, p, basis.detailing, sagging)
    return compressed, lever_arm(p, pull, push, push_z, bars_z, sign), room, shear(s, f1, f2)


def recompute_canopy(sections, basis, back_span):
    """Margins of a tapered canopy by the key of their limit, from its sections (x, z, ends, t, parts).

    The root stands all along the back span, the others at even distances on the arm.
    """
    loads, need, pitch, span = basis.loads, basis.requirements, basis.pitch, basis.span
    lines = [Line(*one) for one in sections]
    shapes = [properties(s) for s in lines]
    made = [making(s, need) for s in lines]
    clear = [opening(s, pitch, basis.frame) for s in lines]
    permanent = np.array([
        basis.concrete.weight * p["area"] + loads.finish * m["surface"] + loads.glass * c + loads.services
        for p, m, c in zip(shapes, made, clear, strict=True)
    ])  # fmt: skip
    count = len(lines)
    back, arm = np.linspace(0, back_span, 2 * count - 1), np.linspace(back_span, back_span + span, count)
    at = np.r_[np.zeros(len(back), int), np.arange(count)]
    dead = canopy_forces(back, arm, (permanent[0], permanent))
    live = canopy_forces(back, arm, (1.0, np.ones(count)))
    wind = [pitch * sum((high - low) * q for low, high, q in case.zones) for case in loads.wind]
    ends = []
    for rows in WITH_WIND:
        cases = [
            (g, pitch * (a * loads.snow + b * loads.maintenance) + c * w)
            for g, a, b, c in rows
            for w in (wind if c else [0.0])
        ]
        ends.append([_both(dead[kind], live[kind], cases) for kind in (0, 1)])
    m = [[np.array([v[at == k].max() for k in range(count)]) for v in one[0]] for one in ends]
    v = np.array([np.maximum(*ends[0][1])[at == k].max() for k in range(count)])
    (sag, hog), (sag_k, hog_k) = ([np.maximum(one, 0.0) for one in pair] for pair in m)
    down = [one_sign(s, p, basis, True) for s, p in zip(lines, shapes, strict=True)]
    up = [one_sign(s, p, basis, False) for s, p in zip(lines, shapes, strict=True)]
    fcd, fc_service, strut, fyd = strengths(basis)
    d = basis.detailing
    mesh = d.mesh_layers * np.pi / 4 * d.mesh_bar**2 / d.support_spacing
    floor = max(d.cover_top + d.cover_bottom + d.tolerance + 2 * d.mesh_layers * d.mesh_bar, d.fire_floor)
    c_down, c_up = np.array([one[0] for one in down]), np.array([one[0] for one in up])
    steel = hog / (np.array([one[1] for one in up]) * fyd)
    reverse = np.maximum(sag / (np.array([one[1] for one in down]) * fyd), 0.01 * steel)
    height = max(p["top"] - p["bottom"] for p in shapes)
    flow = np.array([(one[3] / s.t).max() for one, s in zip(up, lines, strict=True)])
    roof = np.array([one[3][s.roof].max() for one, s in zip(up, lines, strict=True)])
    margins = {
        "height": height / need.height_max - 1,
        "span-to-depth": 2 * span / height / need.span_to_depth_max - 1,
        "compression": np.maximum(sag * c_down, hog * c_up).max() / fcd - 1,
        "compression-service": np.maximum(sag_k * c_down, hog_k * c_up).max() / fc_service - 1,
        "steel-fits": _fits(steel, np.array([one[2] for one in up])),
        "steel-fits-reverse": _fits(reverse, np.array([one[2] for one in down])),
        "shear": (v * flow).max() / strut - 1,
        "web-steel": (v * roof).max() / fyd / mesh - 1,
        "deflection": _canopy_sag(shapes, dead[0], back, arm, basis) - 1,
        "opening": 1 - min(clear) / need.opening_min,
        "thickness": 1 - min(one["thickness"] for one in made) / (floor - 1e-6),
        "slope": max(one["slope"] for one in made) / need.slope_max - 1,
        "bend": max(one["bend"] for one in made) - 1,
        "taper": max(one["taper"] for one in made) / need.taper_max - 1,
        "clearance": 1 - min(one["clearance"] for one in made),
        "neighbour": max(p["width"] for p in shapes) / (pitch + 1e-3) - 1,
    }
    if need.span_to_depth_min is not None:
        margins["span-to-depth-least"] = 1 - 2 * span / height / need.span_to_depth_min
    return margins


def _both(dead, live, cases):
    """Largest response and largest one the other way at each station; variable load where it adds."""
    most, least = [], []
    for g, q in cases:
        parts = [q * one for one in live]
        most.append(g * sum(dead) + sum(np.maximum(part, 0.0) for part in parts))
        least.append(g * sum(dead) + sum(np.minimum(part, 0.0) for part in parts))
    return np.max(most, axis=0), -np.min(least, axis=0)


def _fits(steel, room):
    """Margin where steel over room is largest."""
    k = (steel / np.maximum(room, 1e-9)).argmax()
    return 1 - room[k] / steel[k]


def _canopy_sag(shapes, moments, back, arm, basis):
    """Long-term deflection under permanent load over what is allowed on its field, the larger of both."""
    ecm = 22e9 * ((basis.concrete.fck / 1e6 + 8) / 10) ** 0.3
    stiff = np.array([p["ixx"] - (0.0 if basis.held else p["ixz"] ** 2 / p["izz"]) for p in shapes])
    moment, size = moments[0] + moments[1], len(back)
    curve = -moment[:size] / (ecm * stiff[0]), -moment[size:] / (ecm * stiff)
    loose, _ = double_integral(back, curve[0], 0.0, 0.0)
    one, slope = double_integral(back, curve[0], 0.0, -loose[-1] / back[-1])
    other, _ = double_integral(arm, curve[1], 0.0, slope)
    ratio, late = basis.requirements.deflection_ratio, basis.requirements.long_term_factor
    return max(
        late * np.abs(one).max() / (back[-1] / ratio), late * np.abs(other).max() / (2 * basis.span / ratio)
    )
