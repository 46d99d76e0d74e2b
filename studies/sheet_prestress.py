"""Prestress on the sheet: force, strands, stress at transfer and in service, anchors."""

import numpy as np

from longvault.constraints.concrete_settings import ConcreteSettings
from longvault.constraints.details import demand_of
from longvault.constraints.prestress import Prestress, Tensioning, prestress
from longvault.studies.checked import Checked
from longvault.studies.sheet_table import KN, SheetTable, digits, kilo, mm


def prestress_of(checked: Checked, use: Tensioning) -> Prestress:
    """Work out the tendon of a checked section again, with the moments its limits were reckoned with."""
    m, strips = checked.measures, checked.section.strips
    demand = demand_of(
        strips, checked.properties, {key: np.asarray(value) for key, value in m.items()}, checked.basis
    )
    per_load = float(demand.service) / float(demand.characteristic)
    return prestress(
        strips,
        checked.properties,
        service=float(demand.service),
        transfer=per_load * float(demand.loads.self_weight),
        tensioning=use,
        force=float(m["prestress_force"]),
        sagging=checked.basis.sagging,
        held=checked.basis.held,
    )


def prestress_table(checked: Checked, settings: ConcreteSettings) -> SheetTable:
    """Force, strands, stresses at transfer and in service, anchor."""
    use, m, basis = settings.tensioning, checked.measures, checked.basis
    if use is None:
        raise ValueError("settings: got no tensioning; prestress needs it")
    found = prestress_of(checked, use)
    rows = (
        *_line_rows(checked, found),
        ("least force", "leaves no more tension in service than allowed", kilo(float(found.least))),
        (
            "strands",
            f"whole ones for {kilo(float(found.least))}; {kilo(use.strand_force)} each, after "
            f"{use.immediate_loss:.0%} and {use.later_loss:.0%} of losses".replace("%", " %"),
            f"{m['strands']:.0f}",
        ),
        (
            "force in service P",
            f"{m['strands']:.0f} x {kilo(use.strand_force)}: what is laid",
            kilo(m["prestress_force"]),
        ),
        (
            "P over most force",
            f"the most leaves no more tension at transfer than allowed, {kilo(float(found.most))}",
            digits(m["prestress_window"]),
        ),
        (
            "ducts",
            f"{m['strands']:.0f} strands / {use.per_duct:g} a duct (40 % of its inside); "
            f"{m['duct_room']:g} lie beside each other, {1e3 * use.apart:g} mm apart",
            f"{m['ducts']:.0f}",
        ),
        *_stress_rows(found, use),
        ("load the curved tendon balances", "8 P f / L²", kilo(m["balanced_load"], "kN/m")),
        (
            "member at the tendon",
            f"duct {use.duct * 1e3:g} mm, covers {use.cover * 1e3:g} mm",
            mm(m["seat_thickness"]),
        ),
    )
    notes = (
        f"Tension allowed {use.tension_service / 1e6:g} MPa in service, {use.tension_transfer / 1e6:g} MPa "
        f"at transfer; bending {'held straight' if basis.held else 'free to move sideways'}. P_0 = P / (1 - "
        f"{use.later_loss:g}). On a symmetrical section least P = (M_k / S_t - allowed tension) / "
        "(1 / A + e / S_t). Losses from memory.",
        "The limits on cracked bending and main steel stand as without prestress.",
    )
    return SheetTable("Prestress", ("item", "formula", "value"), rows, notes, words=(0, 1))


def _line_rows(checked: Checked, found: Prestress) -> list[tuple[str, str, str]]:
    """Where the tendon lies: enough to redo the force."""
    p, up = checked.properties, 1.0 if checked.basis.sagging else -1.0
    z, rise = float(found.z), float(found.rise)
    e = up * (float(p.centroid_z) - z)
    shape = "parabola, " + ("up" if up > 0 else "down") + " to the ends inside its member, f"
    where = f"at x = {float(found.x):.3f} m, the centroid of the ducts; z"
    return [
        ("tendon where the moment governs", where, f"{z:.3f} m"),
        ("eccentricity there", f"|{float(p.centroid_z):.3f} - ({z:.3f})| m", f"{e:.3f} m"),
        ("sag of the tendon", shape, f"{rise:.3f} m"),
        ("height at its ends", f"{z:.3f} {'+' if up > 0 else '-'} {rise:.3f} m", f"{z + up * rise:.3f} m"),
    ]


def _stress_rows(found: Prestress, use: Tensioning) -> list[tuple[str, str, str]]:
    """Stress blocks at the governing station: the corners of most compression and of most tension."""
    force = float(found.force) * KN
    states = (
        ("transfer", f"P_0 = {digits(force / (1.0 - use.later_loss))} kN and own weight", "transfer"),
        ("service", f"P = {digits(force)} kN and the characteristic load", "service"),
    )
    rows = []
    for name, how, key in states:
        for side in ("compression", "tension"):
            value = float(getattr(found, f"{side}_{key}"))
            rows.append((f"most {side}, {name}", f"{how}, largest corner", f"{digits(value / 1e6)} MPa"))
    return rows
