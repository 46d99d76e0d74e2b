"""Limits on the sheet: each with its formula, the numbers in it, source, demand, capacity and margin."""

from collections.abc import Callable
from math import degrees, isfinite

from longvault.studies.checked import Checked, LimitRow, formula_of
from longvault.studies.place_words import place_words
from longvault.studies.sheet_beam import over_modulus
from longvault.studies.sheet_cracks import crack_numbers, spacing_numbers
from longvault.studies.sheet_sideways import aside_words
from longvault.studies.sheet_table import SheetTable, cm2, digits, fixed, quantity


def limits_table(checked: Checked) -> SheetTable:
    """Every limit with its numbers; the governing one stands out."""
    rows = []
    for row in checked.rows:
        sign = "<=" if row.limit.sense == "cap" else ">="
        name = f"{row.limit.title}{' (governs)' if row.governs else ''}"
        rows.append(
            (
                name,
                worked(checked, row),
                quantity(row.demand, row.unit),
                f"{sign} {quantity(row.capacity, row.unit)}",
                percent(row.margin),
                "kept" if row.holds else "NOT KEPT",
                row.limit.source,
            )
        )
    header = ("limit", "formula with numbers", "demand", "allowed", "margin", "", "source")
    notes = (
        "Margin: demand / allowed - 1 for an upper limit, 1 - demand / allowed for a lower one; 0 or less is "
        "kept. The largest margin governs.",
    )
    return SheetTable(
        "Limits",
        header,
        tuple(rows),
        notes,
        marked=tuple(i for i, row in enumerate(checked.rows) if row.governs),
        broken=tuple(i for i, row in enumerate(checked.rows) if not row.holds),
        words=(0, 1, 5, 6),
    )


def percent(margin: float) -> str:
    """Write a margin in per cent with its sign: one decimal, two below 1 %; "no value" if it has none.

    Examples
    --------
    >>> percent(0.123), percent(-0.004), percent(-1e-8), percent(-30.0), percent(float("nan"))
    ('+12.3 %', '-0.40 %', '0.00 %', '< -1000 %', 'no value')
    """
    if not isfinite(margin):
        return "no value"
    if margin < -10.0:
        return "< -1000 %"
    if abs(margin) < 5e-5:
        return "0.00 %"
    return f"{100 * margin:+.1f} %" if abs(margin) >= 0.01 else f"{100 * margin:+.2f} %"


def worked(checked: Checked, row: LimitRow) -> str:
    """Write the formula of a limit with the numbers of the section in it."""
    numbers = WORKED.get(row.limit.key)
    if checked.member is not None and row.limit.key in STATION_BY_STATION:
        numbers = None
    text = f"{formula_of(row)}: {numbers(checked)}" if numbers else formula_of(row)
    place = "" if row.place is None else f" at y = {row.place:.2f} m"
    if row.place is not None and row.limit.key in MOVED:
        place += f", {place_words(checked.basis.line, row.place)}"
    return f"{text}; {row.case}{place}" if row.case else text


def _floor(c: Checked) -> str:
    d = c.basis.detailing
    parts = [d.cover_top, d.cover_bottom, d.tolerance]
    top, bottom, tolerance = (f"{v * 1e3:g}" for v in parts)
    stack = sum(parts) + 2 * d.mesh_layers * d.mesh_bar
    mesh = f"{2 * d.mesh_layers} x {d.mesh_bar * 1e3:g}"
    return f"{top} + {bottom} + {mesh} + {tolerance} = {stack * 1e3:g} mm; fire {d.fire_floor * 1e3:g} mm"


def _steel(c: Checked) -> str:
    m, fyd = c.measures, c.basis.strengths.steel
    arm = min(m["arm_block"], m["arm_bars"])
    if m.get("oblique_side"):  # wind from the side asks for more
        moment, side = m["oblique_moment"], m["oblique_side"]
        more = m["steel_area"] * fyd - abs(moment) / arm
        return (
            f"({digits(abs(moment) / 1e3)} kNm / {fixed(arm)} m + {digits(more / 1e3)} kN) / "
            f"{fyd / 1e6:.1f} MPa = {cm2(m['steel_area'])}; sideways {digits(abs(side) / 1e3)} kNm"
        )
    return (
        f"{digits(m['ultimate_moment'] / 1e3)} kNm / ({fixed(arm)} m x {fyd / 1e6:.1f} MPa) = "
        f"{cm2(m['steel_area'])}"
    )


def _deflection(c: Checked) -> str:
    need, elastic = c.basis.requirements, c.measures["deflection_sustained"]
    ratio, factor = need.deflection_ratio, (c.measures["deflection"] + need.camber) / elastic
    several = len(c.basis.line.fields) > 1
    span = c.measures["deflection_allowed"] * ratio if several else c.basis.depth_span
    return f"{digits(factor)} x {digits(elastic * 1e3)} mm; {span:g} m / {ratio:g}"


def _mesh(c: Checked) -> str:
    m, fyd, d = c.measures, c.basis.strengths.shear_steel, c.basis.detailing
    flow = m["ultimate_shear"] * float(c.beam.flow) / 1e3
    layers = f"{d.mesh_layers} x {d.mesh_bar * 1e3:g} mm at {d.support_spacing * 1e3:g} mm"
    aside = aside_words(c, "web_steel", float(c.beam.flow) / fyd)
    return f"{digits(flow)} kN/m / {fyd / 1e6:.1f} MPa{aside}; mesh {layers}"


MOVED = {"deflection", "sideways", "glass-difference"}
"""Limits on movements: a reader wants to know whether that is the tip or a span."""

STATION_BY_STATION = {
    "height", "compression", "compression-service", "steel-fits", "shear", "web-steel", "steep-share",
}  # fmt: skip
"""Limits of a taper whose numbers stand in the table of stations."""

WORKED: dict[str, Callable[[Checked], str]] = {
    "height": lambda c: (
        f"{float(c.properties.top):.3f} - ({float(c.properties.bottom):.3f}) m, thickness counted"
    ),
    "span-to-depth": lambda c: f"{c.basis.depth_span:g} / {c.measures['height']:.4f}",
    "span-to-depth-least": lambda c: f"{c.basis.depth_span:g} / {c.measures['height']:.4f}",
    "opening": lambda c: f"kerb to kerb, less {c.basis.frame * 1e3:g} mm of frame",
    "compression": lambda c: over_modulus(c, "compression"),
    "compression-service": lambda c: over_modulus(c, "compression_service"),
    "steel-fits": _steel,
    "shear": lambda c: (
        f"{digits(c.measures['ultimate_shear'] / 1e3)} kN x {digits(float(c.beam.shear_stress))} 1/m²"
        + aside_words(c, "shear_stress", float(c.beam.shear_stress))
    ),
    "web-steel": _mesh,
    "deflection": _deflection,
    "thickness": _floor,
    "slope": lambda c: f"{degrees(c.measures['slope']):.2f}° at the steepest strip",
    "steep-share": lambda c: (
        f"{c.measures['steep_share'] * c.measures['surface']:.3f} m of "
        f"{c.measures['surface']:.3f} m steeper than {degrees(c.basis.requirements.steep_slope):g}°"
    ),
    "bend": lambda c: f"R_min = {c.basis.requirements.bend_radius_min:g} m on the inner face",
    "torsion-compression": lambda c: f"end torque {digits(c.measures['end_torque'] / 1e3)} kNm",
    "torsion-shear": lambda c: (
        f"end torque {digits(c.measures['end_torque'] / 1e3)} kNm, "
        f"V_d = {digits(c.measures['ultimate_shear'] / 1e3)} kN"
    ),
    "neutral-axis": lambda c: (
        f"z = {digits(c.measures['cracked_arm'])} m, A_s = {cm2(c.measures['cracked_steel'])}"
    ),
    "crack-width": crack_numbers,
    "bar-spacing": spacing_numbers,
    "mesh-spacing": lambda c: (
        f"{c.basis.detailing.mesh_spacing * 1e3:g} mm / "
        f"{c.basis.detailing.mesh_spacing * 1e3 / c.measures['mesh_spacing']:.0f} mm"
    ),
    "mesh-fits": lambda c: (
        f"mesh {c.basis.detailing.mesh_area * 1e4:.2f} cm²/m, "
        f"needed {c.measures['mesh_needed'] * 1e4:.2f} cm²/m"
    ),
    "prestress-window": lambda c: (
        f"{digits(c.measures['prestress_force'] / 1e3)} kN / "
        f"{digits(c.measures['prestress_force'] / c.measures['prestress_window'] / 1e3)} kN"
    ),
    "transfer-compression": lambda c: f"0.6 x {c.basis.concrete.fck / 1e6:g} MPa",
    "daylight": lambda c: (
        f"{100 * c.measures['daylight_mean']:.3g} %, least {100 * c.measures['daylight_least']:.3g} %"
    ),
    "neighbour": lambda c: f"{c.measures['width']:.4f} m in a bay of {c.basis.pitch:g} m",
}
"""Key of a limit -> its numbers; a limit without an entry shows its formula alone."""
