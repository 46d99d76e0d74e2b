"""All limits of a canopy that tapers, under wind too."""

import numpy as np

from .late import late
from .line import Line, properties
from .loads import WITH_WIND
from .shape import making
from .slot import opening
from .statics import both_ways, canopy_forces, canopy_sag
from .strength import bent, least_thickness, mesh_area, strengths


def canopy_margins(sections, basis, back_span):
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
        ends.append([both_ways(dead[kind], live[kind], cases) for kind in (0, 1)])
    m = [[np.array([v[at == k].max() for k in range(count)]) for v in one[0]] for one in ends]
    v = np.array([np.maximum(*ends[0][1])[at == k].max() for k in range(count)])
    (sag, hog), (sag_k, hog_k) = ([np.maximum(one, 0.0) for one in pair] for pair in m)
    sag[sag <= 1e-9 * max(sag.max(), hog.max())] = 0.0  # round-off is no moment
    down = [bent(s, p, basis, True) for s, p in zip(lines, shapes, strict=True)]
    up = [bent(s, p, basis, False) for s, p in zip(lines, shapes, strict=True)]
    fcd, fc_service, strut, fyd, fy_shear = strengths(basis)
    c_down, c_up = np.array([one.compressed for one in down]), np.array([one.compressed for one in up])
    y, (sag_y, hog_y) = np.r_[back, arm], ends[0][0]
    steel, reverse = (
        _moved(y, at, np.maximum(m_y, 0.0) * (m_y > 1e-9 * max(sag.max(), hog.max())), one, fyd)
        for m_y, one in ((hog_y, up), (sag_y, down))
    )
    height = max(p["top"] - p["bottom"] for p in shapes)
    own = sum(dead[0])
    more = [
        late(s, p, basis, down[k], sag_k[k], own[at == k].max(), reverse[k], True)
        if sag_k[k] > hog_k[k]
        else late(s, p, basis, up[k], hog_k[k], -own[at == k].min(), steel[k], False)
        for k, (s, p) in enumerate(zip(lines, shapes, strict=True))
    ]
    flow = np.array([(one.flow / s.t).max() for one, s in zip(up, lines, strict=True)])
    roof = np.array([one.flow[s.roof].max() for one, s in zip(up, lines, strict=True)])
    margins = {
        "height": height / need.height_max - 1,
        "span-to-depth": 2 * span / height / need.span_to_depth_max - 1,
        "compression": np.maximum(sag * c_down, hog * c_up).max() / fcd - 1,
        "compression-service": np.maximum(sag_k * c_down, hog_k * c_up).max() / fc_service - 1,
        "steel-fits": _fits(steel, np.array([one.room for one in up])),
        "steel-fits-reverse": _fits(reverse, np.array([one.room for one in down])),
        "shear": (v * flow).max() / strut - 1,
        "web-steel": (v * roof).max() / fy_shear / mesh_area(basis.detailing) - 1,
        "deflection": canopy_sag(shapes, dead[0], (back, arm), basis, np.array(more)) - 1,
        "opening": 1 - min(clear) / need.opening_min,
        "thickness": 1 - min(one["thickness"] for one in made) / least_thickness(basis.detailing),
        "slope": max(one["slope"] for one in made) / need.slope_max - 1,
        "bend": max(one["bend"] for one in made) - 1,
        "taper": max(one["taper"] for one in made) / need.taper_max - 1,
        "clearance": 1 - min(one["clearance"] for one in made),
        "neighbour": max(p["width"] for p in shapes) / (pitch + 1e-3) - 1,
    }
    if need.span_to_depth_min is not None:
        margins["span-to-depth-least"] = 1 - 2 * span / height / need.span_to_depth_min
    return margins


def _moved(y, at, moment, bent_sections, fyd):
    """Steel at each section, its line moved by half a lever arm both ways (EN 1992-1-1, 9.2.1.3)."""
    z = np.array([one.arm for one in bent_sections])[at]
    line, found = moment / (z * fyd), np.zeros(len(bent_sections))
    for i, k in enumerate(at):
        low, high = y[i] - z[i] / 2, y[i] + z[i] / 2
        inside = line[(y >= low) & (y <= high)].max()
        ends = np.interp([max(low, y[0]), min(high, y[-1])], y, line)
        found[k] = max(found[k], inside, *ends)
    return found


def _fits(steel, room):
    """Margin where steel over room is largest; a hundred times what is asked is as good as more."""
    k = (steel / np.maximum(room, 1e-9)).argmax()
    return 1 - min(room[k] / steel[k], 100.0) if steel[k] else -99.0
