"""All limits of one section that is the same all along."""

from .late import late
from .line import Line, properties
from .loads import FACTORS, SPANS, drift
from .shape import making
from .slot import glass_angle, opening
from .strength import bent, least_thickness, mesh_area, modulus, strengths


def module_margins(x, z, ends, t, parts, basis):
    """Margins of one section by the key of their limit: <= 0 holds."""
    s = Line(x, z, ends, t, parts)
    p, need, detailing = properties(s), basis.requirements, basis.detailing
    made = making(s, need)
    clear = opening(s, basis.pitch, basis.frame)
    moment, shear_share, sag, twice = SPANS[basis.support.key]
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
    one = bent(s, p, basis, moment > 0)
    fcd, fc_service, strut, fyd, fy_shear = strengths(basis)
    shear_stress = 1.5 / p["area"] if one.solid else (one.flow / s.t).max()
    steel = m_d / (one.arm * fyd)
    stiff = p["ixx"] if basis.held else (p["ixx"] * p["izz"] - p["ixz"] ** 2) / p["izz"]
    moved = sag * w_q * span**4 / (modulus(basis) * stiff)
    moved *= late(s, p, basis, one, m_k, abs(moment) * w_q * span**2, steel, moment > 0)
    margins = {
        "height": height / need.height_max - 1,
        "span-to-depth": twice * span / height / need.span_to_depth_max - 1,
        "compression": m_d * one.compressed / fcd - 1,
        "compression-service": m_k * one.compressed / fc_service - 1,
        "steel-fits": 1 - one.room / steel,
        "shear": v_d * shear_stress / strut - 1,
        "web-steel": v_d * one.flow[s.roof].max(initial=0.0) / fy_shear / mesh_area(detailing) - 1,
        "deflection": moved / (twice * span / need.deflection_ratio) - 1,
        "thickness": 1 - made["thickness"] / least_thickness(detailing),
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
