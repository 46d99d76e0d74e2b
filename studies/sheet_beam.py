"""The beam on the sheet: loads with sums, combinations, stresses, steel by both lever arms, deflection."""

from math import ceil, pi

from longvault.constraints.actions import CHARACTERISTIC, SUSTAINED, ULTIMATE
from longvault.constraints.evaluate import heaviest
from longvault.studies.checked import Checked
from longvault.studies.sheet_table import SheetTable, digits, quantity

KN = 1e-3
STATE_WORDS = {ULTIMATE: "ultimate", CHARACTERISTIC: "characteristic", SUSTAINED: "quasi-permanent"}


def loads_table(checked: Checked) -> SheetTable:
    """Characteristic loads of one module per metre of span, each with its sum."""
    basis, q, m = checked.basis, checked.loads, checked.measures
    given = basis.loads
    rows = [
        ("self-weight", f"{basis.concrete.weight * KN:g} kN/m³ x {m['area']:.4f} m²", _line(q.self_weight)),
        ("finish", f"{given.finish * KN:g} kN/m² x {m['surface']:.3f} m of surface", _line(q.finish)),
        ("glass", f"{given.glass * KN:g} kN/m² x {m['opening']:.3f} m of glass", _line(q.glass)),
        ("services", "as given", _line(q.services)),
        ("permanent G", "sum of the above", _line(q.permanent)),
        ("snow S", f"{given.snow * KN:g} kN/m² x {basis.pitch:g} m of plan", _line(q.snow)),
        (
            "maintenance",
            f"{given.maintenance * KN:g} kN/m² x {basis.pitch:g} m of plan",
            _line(q.maintenance),
        ),
    ]
    header = ("load", "sum", "per metre of span [kN/m]")
    return SheetTable("Loads of one module", header, tuple(rows), marked=(4,), words=(0, 1))


def _line(value: object) -> str:
    return digits(float(value) * KN)  # type: ignore[arg-type]


def effects_table(checked: Checked) -> SheetTable:
    """List the combinations by name with load, moment, shear; the heaviest of each state stands out."""
    basis, support = checked.basis, checked.basis.support
    rows: list[tuple[str, ...]] = []
    marked: list[int] = []
    largest = {state: float(heaviest(checked.loads, basis, state)) for state in STATE_WORDS}
    for combination in basis.standard.combinations:
        w = float(checked.loads.combined(combination))
        if w == largest[combination.state]:
            marked.append(len(rows))
        moment, shear = support.moment * w * basis.span**2, support.shear * w * basis.span
        effects = (digits(w * KN), digits(moment * KN), digits(shear * KN))
        rows.append((combination.name, STATE_WORDS[combination.state], *effects))
    shape = (
        "w L² / 8 at mid-span, V = w L / 2"
        if support.key == "simple"
        else "- w L² / 2, V = w L, both at the root"
    )
    notes = (
        f"Combinations of {basis.standard.key} (from memory).",
        f"M = {shape}; L = {basis.span:g} m; sagging is +.",
        "The heaviest of each state is used.",
    )
    header = ("combination", "state", "w [kN/m]", "M [kNm]", "V [kN]")
    return SheetTable("Combinations and effects", header, tuple(rows), notes, tuple(marked), words=(0, 1))


def stress_table(checked: Checked) -> SheetTable:
    """Stresses under the heaviest combinations, and whether the concrete cracks."""
    basis, m = checked.basis, checked.measures
    compressed = m["ultimate_moment"] / m["compression"]
    stretched = m["characteristic_moment"] / m["tension_service"]
    ultimate, service = m["ultimate_moment"] * KN, m["characteristic_moment"] * KN
    cracked = m["tension_service"] > basis.concrete.fctm
    shear = float(checked.beam.shear_stress)
    rows = (
        (
            "compression, ultimate",
            f"M_d / S_c = {digits(ultimate)} kNm / {compressed:.4f} m³",
            _mpa(m["compression"]),
        ),
        (
            "compression, characteristic",
            f"M_k / S_c = {digits(service)} kNm / {compressed:.4f} m³",
            _mpa(m["compression_service"]),
        ),
        (
            "tension if uncracked, characteristic",
            f"M_k / S_t = {digits(service)} kNm / {stretched:.4f} m³",
            _mpa(m["tension_service"]),
        ),
        ("mean tensile strength f_ctm", "EN 1992-1-1:2004, table 3.1", _mpa(basis.concrete.fctm)),
        (
            "shear, ultimate",
            f"V_d max(Q / (I t)) = {digits(m['ultimate_shear'] * KN)} kN x {digits(shear)} 1/m²",
            _mpa(m["shear_stress"]),
        ),
    )
    state = (
        "above f_ctm: cracked, steel carries the tension"
        if cracked
        else "below f_ctm: the concrete stays uncracked"
    )
    side = "above" if basis.support.moment > 0 else "below"
    notes = (
        f"Tension {quantity(m['tension_service'] / 1e6, 'MPa')} is {state}.",
        f"S_c and S_t: section moduli of the compressed side ({side} the neutral axis) and of the stretched "
        "side, "
        f"{'held straight' if basis.held else 'free to move sideways'}.",
    )
    return SheetTable("Stresses", ("stress", "formula", "value [MPa]"), rows, notes, words=(0, 1))


def _mpa(value: float) -> str:
    return digits(value / 1e6)


def steel_table(checked: Checked) -> SheetTable:
    """List the main steel by both lever arms, its bars, the room for them, and the mesh at the supports."""
    basis, m = checked.basis, checked.measures
    detail, fyd = basis.detailing, basis.strengths.steel
    moment = m["ultimate_moment"]
    arms = (("elastic tension block", m["arm_block"]), ("bars gathered at the edge", m["arm_bars"]))
    rows = []
    for name, arm in arms:
        formula = f"M_d / (z f_yd) = {digits(moment * KN)} kNm / ({arm:.4f} m x {fyd / 1e6:.1f} MPa)"
        rows.append((f"A_s, {name}", formula, f"{digits(moment / (arm * fyd) * 1e4)} cm²"))
    bar = pi / 4 * detail.main_bar**2
    count = ceil(m["steel_area"] / bar - 1e-9)
    flow = m["ultimate_shear"] * float(checked.beam.flow)
    rows += [
        ("A_s to provide", "the larger of the two", f"{digits(m['steel_area'] * 1e4)} cm²"),
        ("bars", f"A_s / {bar * 1e4:.3f} cm²", f"{count} of {detail.main_bar * 1e3:g} mm"),
        ("room for bars", _zone_words(checked), f"{digits(m['bar_room'] * 1e4)} cm²"),
        (
            "mesh at the supports",
            f"q_d / f_yd = {digits(flow * KN)} kN/m / {fyd / 1e6:.1f} MPa, each way",
            f"{digits(m['web_steel'] * 1e4)} cm²/m",
        ),
    ]
    notes = (
        "Elastic tension block: z = M / T, T the resultant of the tensile stresses of the uncracked section. "
        "Bars gathered: z from the bars' centroid to the resultant of the compressive stresses.",
    )
    return SheetTable("Steel", ("item", "formula", "value"), tuple(rows), notes, marked=(2,), words=(0, 1))


def _zone_words(checked: Checked) -> str:
    detail = checked.basis.detailing
    sagging = checked.basis.support.moment > 0
    side, cover = ("lowest", detail.cover_bottom) if sagging else ("highest", detail.cover_top)
    return (
        f"{side} {detail.bar_zone:.0%} of the height, {detail.main_bar * 1e3:g} mm bars, "
        f"cover {cover * 1e3:g} mm; over {detail.lap_factor:g} for laps"
    ).replace("%", " %")


def deflection_table(checked: Checked) -> SheetTable:
    """Elastic and long-term deflection."""
    basis, m = checked.basis, checked.measures
    support, factor = basis.support, basis.requirements.long_term_factor
    inertia, modulus = float(checked.beam.inertia), basis.concrete.ecm
    share = "5/384" if support.key == "simple" else "1/8"
    loads = {state: float(heaviest(checked.loads, basis, state)) for state in (CHARACTERISTIC, SUSTAINED)}
    under = f"(E I) = {share} x w x {basis.span:g}⁴ m⁴ / ({modulus / 1e9:.2f} GPa x {inertia:.5f} m⁴)"
    elastic = m["deflection"] / factor
    rows = [
        (
            "elastic, characteristic",
            f"{share} w L⁴ / {under}, w = {digits(loads[CHARACTERISTIC] * KN)} kN/m",
            _mm(m["deflection_short"]),
        ),
        ("elastic, quasi-permanent", f"the same with w = {digits(loads[SUSTAINED] * KN)} kN/m", _mm(elastic)),
        (
            "long term, cracked",
            f"{factor:g} x {digits(elastic * 1e3)} mm (cracking and creep, screening)",
            _mm(m["deflection"]),
        ),
    ]
    if m["sideways"]:
        rows.append(("sideways, elastic, characteristic", "I_xz / I_zz x vertical", _mm(m["sideways"])))
    if m["holding_force"]:
        rows.append(
            ("force that holds it straight", "w I_xz / I_xx", f"{digits(m['holding_force'] * KN)} kN/m")
        )
    which = "I_xx" if basis.held else "(I_xx I_zz - I_xz²) / I_zz"
    notes = (f"E = E_cm of EN 1992-1-1:2004, table 3.1; I = {which}, uncracked.",)
    return SheetTable("Deflection", ("deflection", "formula", "value"), tuple(rows), notes, words=(0, 1))


def _mm(value: float) -> str:
    return f"{digits(value * 1e3)} mm"
