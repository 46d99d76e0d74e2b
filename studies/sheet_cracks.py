"""Width of cracks on the sheet: each side of the section with its steps."""

import numpy as np

from longvault.constraints.crack_checks import Cracked, bonded_bars, cracked_side
from longvault.constraints.crack_width import BONDS, COVERS, LASTING, LEAST_STRAIN, RIBBED
from longvault.constraints.service import long_term_of
from longvault.studies.checked import Checked
from longvault.studies.mean_amounts import provided_of
from longvault.studies.sheet_table import SheetTable, cm2, digits, kilo, mm, mpa


def crack_sides(checked: Checked) -> dict[str, Cracked]:
    """Sides of the section whose cracks a limit looks at: ``bottom`` and ``top``; none of a taper."""
    basis, m, p = checked.basis, checked.measures, checked.properties
    if "crack_width" not in m or checked.member is not None:
        return {}
    demand = provided_of(checked)
    rows = [(basis.sagging, demand.sustained, m["main_steel"])]
    if "crack_steel_reverse" in m:
        rows.append((not basis.sagging, demand.reverse_sustained, m["main_steel_reverse"]))
    return {
        "bottom" if sagging else "top": cracked_side(
            checked.section.strips,
            p,
            basis,
            moment=np.asarray(moment),
            steel=np.asarray(steel),
            sagging=sagging,
        )
        for sagging, moment, steel in rows
        if float(moment) > 0.0
    }


def crack_tables(checked: Checked) -> list[SheetTable]:
    """Table of the width of cracks, where it is worked out at one section."""
    rows = [row for name, side in crack_sides(checked).items() for row in _steps(checked, name, side)]
    if not rows:
        return []
    ratio = long_term_of(checked.basis).softer * checked.basis.steel.modulus / checked.basis.concrete.ecm
    notes = (
        f"Cracked elastic section, steel {ratio:.2f} times as stiff as concrete that creeps; main bars as "
        "provided; heights from the stretched edge. k_2 is the mean over the largest strain of all concrete "
        "in tension: 0.5 for a web, 1 for a pulled flange. Concrete counts as cracked whatever its tension.",
    )
    return [SheetTable("Width of cracks", ("item", "formula", "value"), tuple(rows), notes, words=(0, 1))]


def _steps(checked: Checked, name: str, side: Cracked) -> list[tuple[str, str, str]]:
    basis, demand, sagging = checked.basis, provided_of(checked), name == "bottom"
    main = sagging == basis.sagging
    moment = float(demand.sustained if main else demand.reverse_sustained)
    steel = checked.measures["main_steel" if main else "main_steel_reverse"]
    zone, found, bonded = side.zone, side.found, bonded_bars(basis, sagging=sagging)
    stress, stiff = float(zone.stress), bonded.modulus / basis.concrete.ecm
    ratio, three = float(found.ratio), (2.5 * float(zone.bars), float(zone.below) / 3.0)
    whole = 0.5 * checked.measures["height"]
    held = LASTING * basis.concrete.fctm / ratio * (1.0 + stiff * ratio)
    floor = LEAST_STRAIN * stress / bonded.modulus
    bond = BONDS * RIBBED * float(zone.evenness)
    return [
        (f"stress in the bars, {name}", f"M = {kilo(moment, 'kNm')}, A_s = {cm2(steel)}", mpa(stress)),
        (
            "depth that the bars hold, h_c,ef",
            f"min(2.5 (h - d), (h - x) / 3, h / 2) = min({mm(three[0])}, {mm(three[1])}, {mm(whole)})",
            mm(float(zone.depth)),
        ),
        (
            "ratio of steel there, rho",
            f"A_s there / A_c,eff = {cm2(float(side.within))} / {cm2(float(zone.area))}",
            digits(ratio),
        ),
        (
            "spacing of cracks, s_r,max",
            f"{COVERS:g} x {mm(bonded.cover)} + {BONDS:g} x {RIBBED:g} x {float(zone.evenness):.3f} x "
            f"{mm(bonded.bar)} / {ratio:.4f}"
            if float(found.spacing) <= COVERS * bonded.cover + bond * bonded.bar / ratio + 1e-9
            else f"1.3 (h - x): bars and mesh farther apart than {mm(bonded.close)}",
            mm(float(found.spacing)),
        ),
        (
            "strain of steel less that of concrete",
            f"max(({stress / 1e6:.1f} - {LASTING:g} x {basis.concrete.fctm / 1e6:.2f} / {ratio:.4f} x (1 + "
            f"{stiff:.2f} x {ratio:.4f}), {LEAST_STRAIN:g} x {stress / 1e6:.1f}) MPa / E_s = "
            f"max({(stress - held) / bonded.modulus * 1e3:.3f}, {floor * 1e3:.3f}) mm/m",
            f"{float(found.strain) * 1e3:.3f} mm/m",
        ),
        (f"width of cracks, {name}, w_k", "spacing x strain", mm(float(found.width))),
    ]


def crack_numbers(checked: Checked) -> str:
    """Numbers of the limit on the width of cracks: those of the side where it is larger."""
    worst = max(crack_sides(checked).values(), key=lambda side: float(side.found.width), default=None)
    if worst is None:
        return f"A_s that holds it {cm2(checked.measures['crack_steel'])}"
    return f"{mm(float(worst.found.spacing))} x {float(worst.found.strain) * 1e3:.3f} mm/m"


def spacing_numbers(checked: Checked) -> str:
    """Numbers of the limit on the distance of bars by ACI 318."""
    basis = checked.basis
    share = 280e6 / (2.0 / 3.0 * basis.steel.fyk)
    cover = bonded_bars(basis, sagging=basis.sagging).cover
    return f"min(380 x {share:.3f} - 2.5 x {mm(cover)}, 300 x {share:.3f}) mm"


def cracks_said(checked: Checked) -> bool:
    """Whether a limit speaks of cracks along the main bars: their width, their distance or decompression."""
    keys = ("crack_width", "bar_spacing", "decompression")
    return any(key in checked.measures for key in keys)
