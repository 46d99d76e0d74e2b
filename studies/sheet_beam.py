"""The beam on the sheet: loads with sums, combinations, stresses, steel by both lever arms."""

from math import ceil, isfinite, nan

from longvault.constraints.actions import CHARACTERISTIC, SUSTAINED, ULTIMATE
from longvault.constraints.beam import SUPPORTS
from longvault.constraints.combinations import VariableCase
from longvault.constraints.effects import signs_of
from longvault.constraints.evaluate import heaviest
from longvault.constraints.load_cases import WATER
from longvault.constraints.strength import moduli
from longvault.studies.checked import Checked
from longvault.studies.main_steel import main_steel
from longvault.studies.sheet_effects import effects_along
from longvault.studies.sheet_sideways import aside_words, both_ways
from longvault.studies.sheet_table import KN, SheetTable, cm2, digits, fixed, kilo, mpa

STATE_WORDS = {ULTIMATE: "ultimate", CHARACTERISTIC: "characteristic", SUSTAINED: "quasi-permanent"}


def loads_table(checked: Checked) -> SheetTable:
    """Characteristic loads of one module per metre of span, each with its sum."""
    basis, q, m = checked.basis, checked.loads, checked.measures
    given = basis.loads
    rows: list[tuple[str, ...]] = [
        ("self-weight", f"{basis.concrete.weight * KN:g} kN/m³ x {m['area']:.4f} m²", _line(q.self_weight)),
        ("finish", f"{given.finish * KN:g} kN/m² x {m['surface']:.3f} m of surface", _line(q.finish)),
        ("glass", f"{given.glass * KN:g} kN/m² x {m['opening']:.3f} m of glass", _line(q.glass)),
        ("services", "as given", _line(q.services)),
    ]
    if q.screed:
        fall = f"fall of {given.gutter_fall:.1%}, {given.outlets} outlets".replace("%", " %")
        rows.append(("screed of the gutters", f"{fall}: half of {m['fall_headroom']:.3f} m", _line(q.screed)))
    permanent = len(rows)
    rows.append(("permanent G", "sum of the above", _line(q.permanent)))
    if checked.variable is not None:
        pairs = zip(checked.variable.cases, checked.variable.down, strict=True)
        rows += [_variable(checked, case, float(load)) for case, load in pairs]
    if given.erection is not None:
        words = f"{given.erection * KN:g} kN/m² x {basis.pitch:g} m of plan, module alone with its own weight"
        rows.append(("erection", words, _line(given.erection * basis.pitch)))
    header = ("load", "sum", "per metre of span [kN/m]")
    words = "Mean of the stations for permanent load, the root for variable load."
    notes = (words,) if checked.member else ()
    return SheetTable("Loads of one module", header, tuple(rows), notes, marked=(permanent,), words=(0, 1))


def _variable(checked: Checked, case: VariableCase, load: float) -> tuple[str, ...]:
    """Write one variable case with the sum it comes from."""
    given, pitch = checked.basis.loads, checked.basis.pitch
    if case.kind == "water":
        depth = f"{WATER * KN:g} kN/m³ x {load / WATER:.4f} m² of water, {given.water * 1e3:g} mm deep"
        return ("water, blocked outlets", depth, _line(load))
    if case.kind == "wind":
        zones = next(wind.zones for wind in given.wind if wind.name == case.name)
        shares = " + ".join(f"{p * KN:g} x {high - low:g}" for low, high, p in zones)
        return (f"wind, {case.name}", f"({shares}) kN/m² x {pitch:g} m of plan", _line(load))
    if case.kind == "snow" and case.name != "uniform":
        mean = f"mean {load / pitch * KN:.3f} kN/m² x {pitch:g} m of plan, EN 1991-1-3, 5.3 (from memory)"
        return (f"snow, {case.name}", mean, _line(load))
    name, value = ("snow S", given.snow) if case.kind == "snow" else ("maintenance", given.maintenance)
    return (name, f"{value * KN:g} kN/m² x {pitch:g} m of plan", _line(load))


def _line(value: object) -> str:
    return digits(float(value) * KN)  # type: ignore[arg-type]


def effects_table(checked: Checked) -> SheetTable:
    """List the combinations by name with load, moment, shear; the heaviest of each state stands out."""
    basis, support = checked.basis, checked.basis.support
    if not basis.plain or support.key not in SUPPORTS:
        return effects_along(checked)
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
        f"Combinations of {basis.standard.key} (from memory). {basis.standard.note}",
        f"M = {shape}; L = {basis.span:g} m; sagging is +.",
        "The heaviest of each state is used.",
    )
    header = ("combination", "state", "w [kN/m]", "M [kNm]", "V [kN]")
    return SheetTable("Combinations and effects", header, tuple(rows), notes, tuple(marked), words=(0, 1))


def stress_table(checked: Checked) -> SheetTable:
    """Stresses under the heaviest combinations, and whether the concrete cracks."""
    m = checked.measures
    shear = f"{kilo(m['ultimate_shear'])} x {digits(float(checked.beam.shear_stress))} 1/m²"
    shear += aside_words(checked, "shear_stress", float(checked.beam.shear_stress))
    rows = (
        *(
            (name, over_modulus(checked, key, f"{words} = "), _mpa(m[key]))
            for name, key, words in (
                ("compression, ultimate", "compression", "M_d / S_c"),
                ("compression, characteristic", "compression_service", "M_k / S_c"),
                ("tension if uncracked, characteristic", "tension_service", "M_k / S_t"),
            )
        ),
        (
            checked.basis.concrete.cracking_words,
            checked.basis.concrete.cracking_source,
            _mpa(checked.basis.concrete.cracking),
        ),
        ("shear, ultimate", f"V_d max(Q / (I t)) = {shear}", _mpa(m["shear_stress"])),
    )
    header = ("stress", "formula", "value [MPa]")
    return SheetTable("Stresses", header, rows, _stress_notes(checked), words=(0, 1))


STRESSES = {
    "compression": (ULTIMATE, "ultimate_moment", 0),
    "compression_service": (CHARACTERISTIC, "characteristic_moment", 0),
    "tension_service": (CHARACTERISTIC, "characteristic_moment", 1),
}
"""Stress -> its state, the larger moment of that, compressed or stretched side."""


def over_modulus(checked: Checked, key: str, words: str = "") -> str:
    """Write a moment over its section modulus, or moments of both ways where those govern.

    Parameters
    ----------
    checked : Checked
        A section.
    key : str
        One of `STRESSES`.
    words : str
        What the two are called.
    """
    basis, (state, moment, side) = checked.basis, STRESSES[key]
    size = checked.measures[moment]
    modulus = size / checked.measures[key]
    if checked.effects is not None and basis.arch is None and signs_of(basis).both:
        signs = (True, checked.effects.sagging[state]), (False, checked.effects.hogging[state])
        pairs = [
            (float(one), float(moduli(checked.properties, sagging=sagging, held=basis.held)[side]))
            for sagging, one in signs
        ]
        size, modulus = max(pairs, key=lambda pair: pair[0] / pair[1])
    return both_ways(checked, key) or f"{words}{digits(size * KN)} kNm / {modulus:.4f} m³"


def _stress_notes(checked: Checked) -> tuple[str, ...]:
    """Say whether the concrete cracks, what S_c and S_t are, and what a thrust does to them."""
    basis, m, concrete = checked.basis, checked.measures, checked.basis.concrete
    state = (
        f"above the {concrete.cracking_words}: cracked, steel carries the tension"
        if m["tension_service"] > concrete.cracking
        else f"below the {concrete.cracking_words}: the concrete stays uncracked"
    )
    side = "above" if basis.sagging else "below"
    where = "the worse of the two signs of moment" if signs_of(basis).both else f"{side} the neutral axis"
    notes: tuple[str, ...] = (
        f"Tension {mpa(m['tension_service'])} is {state}.",
        f"S_c and S_t: section moduli of the compressed side ({where}) and of the stretched side, "
        f"{'held straight' if basis.held else 'free to move sideways'}.",
    )
    if basis.arch is not None:
        thrust = f"{kilo(m['tie_force'])} / {m['area']:.4f} m²"
        notes += (
            f"Beam-arch: M is what the thrust at first leaves, {kilo(m['thrust'], 'kN')}, the concrete whole "
            "and not crept; compression and the tie hold the thrust of the cracked and crept module, "
            f"H_d / A = {thrust}: of both states the worse for each. S_c and S_t are M over their sum.",
        )
    return notes


def _mpa(value: float) -> str:
    return digits(value / 1e6)


def steel_table(checked: Checked) -> SheetTable:
    """List the main steel by both lever arms, its bars, the room for them, and the mesh at the supports."""
    basis, m = checked.basis, checked.measures
    detail, shear, fyd = basis.detailing, basis.strengths, basis.strengths.steel
    moment = m["ultimate_moment"]
    arms = (("elastic tension block", m["arm_block"]), ("bars gathered at the edge", m["arm_bars"]))
    rows = []
    for name, arm in arms:
        formula = f"M_d / (z f_yd) = {kilo(moment, 'kNm')} / ({fixed(arm)} m x {fyd / 1e6:.1f} MPa)"
        needed = moment / (arm * fyd) if isfinite(arm) else nan
        rows.append((f"A_s, {name}", formula, cm2(needed)))
    provide, words = main_steel(m)
    count = f"{ceil(provide / detail.bar_area - 1e-9)}" if isfinite(provide) else "-"
    flow = m["ultimate_shear"] * float(checked.beam.flow)
    if "steel_area_reverse" in m:
        room = f"other sign of moment; room {cm2(m['bar_room_reverse'])}"
        other = m.get("main_steel_reverse", m["steel_area_reverse"])
        rows.append(("A_s, other side", room, cm2(other)))
    rows += [
        ("A_s to provide", f"largest of all that ask for it: {words}", cm2(provide)),
        ("bars", f"A_s / {detail.bar_area * 1e4:.3f} cm²", f"{count} of {detail.main_bar * 1e3:g} mm"),
        ("room for bars", _zone_words(checked), cm2(m["bar_room"])),
        (
            "mesh at the supports",
            f"q_d / {shear.words_shear_steel} = {kilo(flow, 'kN/m')} / {shear.shear_steel / 1e6:.1f} MPa, "
            "each way" + aside_words(checked, "web_steel", float(checked.beam.flow) / shear.shear_steel),
            cm2(m["web_steel"], "cm²/m"),
        ),
    ]
    notes = (
        "Elastic tension block: z = M / T, T the resultant of the tensile stresses of the uncracked section. "
        "Bars gathered: z from the bars' centroid to the resultant of the compressive stresses.",
    )
    total = next(i for i, row in enumerate(rows) if row[0] == "A_s to provide")
    header = ("item", "formula", "value")
    return SheetTable("Steel", header, tuple(rows), notes, marked=(total,), words=(0, 1))


def _zone_words(checked: Checked) -> str:
    detail = checked.basis.detailing
    sagging = checked.basis.sagging
    side, cover = ("lowest", detail.cover_bottom) if sagging else ("highest", detail.cover_top)
    return (
        f"{side} {detail.bar_zone:.0%} of the height, {detail.main_bar * 1e3:g} mm bars, "
        f"cover {cover * 1e3:g} mm; over {detail.lap_factor:g} for laps"
    ).replace("%", " %")
