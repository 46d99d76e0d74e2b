"""The calculation sheet: a checker with a pocket calculator finds the same numbers from what is printed."""

import re
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from longvault.constraints.basis import Basis, Requirements
from longvault.constraints.beam import SUPPORTS
from longvault.constraints.limit import AMPLE_ROOM
from longvault.sections import CAUTION, Section, Strips
from longvault.studies.brief import basis_of
from longvault.studies.briefs import KINDS
from longvault.studies.checked import check_section, limit_document
from longvault.studies.not_covered import NOT_COVERED
from longvault.studies.sheet import make_sheet
from longvault.studies.sheet_geometry import MOST_PIECES, pieces
from longvault.studies.sheet_html import drawings_of, sheet_html
from longvault.studies.sheet_table import digits, quantity
from longvault.studies.sheet_text import sheet_text

from .sections_at_hand import checked_start, start_section, starter


def table(sheet, title):
    return next(t for t in sheet.tables if t.title == title)


def numbers(rows, *columns):
    return np.array([[float(row[c]) for c in columns] for row in rows])


def value(sheet, title, name, column=2):
    row = next(r for r in table(sheet, title).rows if r[0].startswith(name))
    return float(re.match(r"-?[\d.]+", row[column])[0])


@pytest.mark.parametrize("kind", KINDS)
def test_area_centroid_inertia_and_modulus_follow_from_the_printed_pieces(kind):
    checked = checked_start(kind)
    p = checked.properties
    rows = numbers(table(make_sheet(checked), "Geometry").rows[:-1], 3, 4, 6, 10)
    length, thickness, z, own = rows.T
    area = length * thickness / 1e3
    centre = (area * z).sum() / area.sum()
    inertia = (area * (z - centre) ** 2 + own).sum()
    assert len(rows) <= MOST_PIECES + 2
    assert area.sum() == pytest.approx(float(p.area), rel=2e-3)
    assert centre == pytest.approx(float(p.centroid_z), abs=2e-3)
    assert inertia == pytest.approx(float(p.ixx), rel=5e-3)
    assert inertia / (float(p.top) - centre) == pytest.approx(float(p.s_top), rel=5e-3)


@pytest.mark.parametrize("kind", KINDS)
def test_pieces_add_up_exactly_and_follow_on(kind):
    checked = checked_start(kind)
    p = checked.properties
    found = pieces(checked.section.strips)
    area = np.array([one.area for one in found])
    dx, dz = np.array([(one.x - p.centroid_x, one.z - p.centroid_z) for one in found]).T
    assert area.sum() == pytest.approx(float(p.area), rel=1e-12)
    assert (area * dx**2).sum() + sum(o.own_zz for o in found) == pytest.approx(float(p.izz), rel=1e-12)
    product = (area * dx * dz).sum() + sum(o.own_xz for o in found)
    assert product == pytest.approx(float(p.ixz), rel=1e-12, abs=1e-12)
    breaks = sum(a.second != b.first for a, b in pairwise(found))
    assert breaks == (1 if kind == "workshop" else 0), "the downstand is a branch, all else one chain"


def test_sideways_sums_give_the_free_section_modulus():
    checked = checked_start("workshop")
    sheet = make_sheet(checked)
    *_, total = table(sheet, "Geometry, sideways").rows
    izz, ixz = float(total[4]) + float(total[5]), float(total[6]) + float(total[7])
    ixx = sum(float(cell) for cell in table(sheet, "Geometry").rows[-1][-2:])
    strips, p = checked.section.strips, checked.properties
    # thick corners of every strip, then sigma = -M (z I_zz - x I_xz) / (I_xx I_zz - I_xz^2)
    i, j = strips.ends.T
    dx, dz = strips.x[j] - strips.x[i], strips.z[j] - strips.z[i]
    nx, nz = -dz / np.hypot(dx, dz) * strips.thickness / 2, dx / np.hypot(dx, dz) * strips.thickness / 2
    x = np.concatenate([strips.x[k] + s * nx for k in (i, j) for s in (-1, 1)]) - float(p.centroid_x)
    z = np.concatenate([strips.z[k] + s * nz for k in (i, j) for s in (-1, 1)]) - float(p.centroid_z)
    fibre = (z * izz - x * ixz) / (ixx * izz - ixz**2)
    squeezed = value(sheet, "Section properties", "S compression, free")
    assert squeezed == pytest.approx(1 / fibre.max(), rel=1e-3)
    assert value(sheet, "Section properties", "S tension, free") == pytest.approx(-1 / fibre.min(), rel=1e-3)


def test_loads_moments_stresses_steel_and_deflection_redo_by_hand():
    checked = checked_start("reading-hall")
    sheet, m = make_sheet(checked), checked.measures
    # 25 kN/m3, finish 0.6 on the surface, glass 0.5, pipes 0.7 kN/m, snow 0.8 x 0.8 on 7.5 m, span 24 m
    permanent = 25 * m["area"] + 0.6 * m["surface"] + 0.5 * m["opening"] + 0.7
    assert value(sheet, "Loads of one module", "permanent") == pytest.approx(permanent, rel=1e-3)
    ultimate = 1.35 * permanent + 1.5 * 0.64 * 7.5
    moment = ultimate * 24**2 / 8
    assert value(sheet, "Combinations and effects", "1.35 G + 1.5 snow", 3) == pytest.approx(moment, rel=1e-3)
    s_top = float(checked.properties.s_top)
    assert value(sheet, "Stresses", "compression, ultimate") == pytest.approx(moment / s_top / 1e3, rel=1e-3)
    fyd = 500 / 1.15
    arms = [float(re.search(r"\(([\d.]+) m x", row[1])[1]) for row in table(sheet, "Steel").rows[:2]]
    areas = [moment / (arm * fyd * 1e3) * 1e4 for arm in arms]
    shown = [float(row[2].split()[0]) for row in table(sheet, "Steel").rows[:3]]
    assert shown[:2] == pytest.approx(areas, rel=1e-3)
    assert "width of cracks" in table(sheet, "Steel").rows[2][1]  # 0.4 mm asks for more
    assert shown[2] == pytest.approx(m["crack_steel"] * 1e4, rel=1e-3)
    assert max(areas) < shown[2] < 1.3 * max(areas)
    ecm = 22e6 * (43 / 10) ** 0.3  # kN/m2, EN 1992-1-1 table 3.1 for fck 35
    elastic = 5 / 384 * permanent * 24**4 / (ecm * float(checked.properties.ixx)) * 1e3
    assert value(sheet, "Deflection", "elastic, quasi-permanent") == pytest.approx(elastic, rel=1e-3)
    # EN 1992-1-1, (7.18)-(7.21): f_ctm = 0.3 x 35^(2/3), creep 2.5; I_cr as the sheet tells it
    cracking = 0.3 * 35 ** (2 / 3) * 1e3 * float(checked.properties.s_bottom)
    assert value(sheet, "Deflection", "moment that cracks, M_cr") == pytest.approx(cracking, rel=1e-3)
    zeta = 1 - 0.5 * (cracking / (m["characteristic_moment"] / 1e3)) ** 2
    assert value(sheet, "Deflection", "share cracked, zeta") == pytest.approx(zeta, rel=1e-3)
    softer = float(checked.properties.ixx) / value(sheet, "Deflection", "cracked section, I_cr")
    late = 3.5 * (zeta * softer + 1 - zeta) * elastic
    # (7.21): 0.4 mm/m x alpha_e A_s (d - x) / I_cr of the cracked section, and of the whole one by its share
    alpha, steel = 3.5 * 200e6 / ecm, m["steel_area"]
    p, z = checked.properties, float(checked.beam.bars_z)
    heavy, apart = alpha * steel, float(p.centroid_z) - z
    own = apart * float(p.area) / (float(p.area) + heavy)
    whole = float(p.ixx) + heavy * own * apart
    arm = cracked_axis(checked, heavy) - z
    inertia = value(sheet, "Deflection", "cracked section, I_cr")
    bent = 0.4e-3 * heavy * (zeta * arm / inertia + (1 - zeta) * own / whole)
    shrunk = bent / (permanent * 24**2 / 8 / (ecm * float(p.ixx))) * elastic
    assert value(sheet, "Deflection", "sag by shrinkage") == pytest.approx(shrunk, rel=2e-3)
    assert value(sheet, "Deflection", "long term, cracked") == pytest.approx(late + shrunk, rel=1e-3)


def cracked_axis(checked, heavy):
    """Height at which first moments of concrete above and bars below balance, by halving."""
    s, bars = checked.section.strips, float(checked.beam.bars_z)
    x, z, ends = s.x, s.z, s.ends
    dx, dz = np.abs(np.diff(x[ends])[:, 0]), np.abs(np.diff(z[ends])[:, 0])
    length = np.hypot(dx, dz)
    reach, middle = 0.5 * (dz + s.thickness * dx / length), z[ends].mean(axis=1)
    below, above = bars, float((middle + reach).max())
    for _ in range(80):
        axis = 0.5 * (below + above)
        low, high = (np.maximum(middle + way * reach - axis, 0.0) for way in (-1.0, 1.0))
        first = (s.thickness * length / (4.0 * reach) * (high**2 - low**2)).sum()
        below, above = (axis, above) if first > heavy * (axis - bars) else (below, axis)
    return axis


def test_a_factor_stands_beside_the_cracked_states():
    checked = checked_start("reading-hall")
    need = replace(checked.basis.requirements, long_term="factor", camber=0.01)
    other = check_section(checked.section, replace(checked.basis, requirements=need))
    elastic = other.measures["deflection_sustained"] * 1e3
    sheet = make_sheet(other)
    assert value(sheet, "Deflection", "long term, by the factor") == pytest.approx(4 * elastic - 10, rel=1e-3)
    cracked = checked.measures["deflection"] * 1e3 - 10
    assert value(sheet, "Deflection", "the same by cracked states") == pytest.approx(cracked, rel=1e-3)
    assert value(sheet, "Deflection", "upward at first") == pytest.approx(10 - elastic, rel=1e-3)


@pytest.mark.parametrize("kind", KINDS)
def test_every_limit_stands_with_formula_source_and_the_governing_one_marked(kind):
    checked = checked_start(kind)
    limits = table(make_sheet(checked), "Limits")
    assert len(limits.rows) == len(checked.rows)
    assert limits.marked == (int(np.argmax([row.margin for row in checked.rows])),)
    for row, printed in zip(checked.rows, limits.rows, strict=True):
        assert row.limit.title in printed[0]
        assert row.limit.formula in printed[1]
        assert row.limit.source in printed[6]
        ratio = row.demand / row.capacity if row.capacity else AMPLE_ROOM  # nothing asked
        assert row.margin == pytest.approx(ratio - 1 if row.limit.sense == "cap" else 1 - ratio, abs=1e-9)
        assert (printed[5] == "kept") is (row.margin <= 0)


def test_the_states_of_the_concrete_are_told_apart():
    def notes(span):
        deep = Section("web", Strips.chain([0.0, 0.0], [0.0, 2.5], [0.3], "web"))
        basis = Basis(span=span, pitch=2.0, requirements=Requirements(height_max=3.0))
        return " ".join(table(make_sheet(check_section(deep, basis)), "Stresses").notes)

    assert "cracked, steel carries the tension" in notes(40.0)
    assert "stays uncracked" in notes(8.0)


def cantilever():
    """The root of the canopy as a clamped arm of one section."""
    brief = starter("canopy")
    basis = replace(basis_of(brief), support=SUPPORTS["cantilever"], spans=None)
    return basis, start_section("canopy")


def test_a_cantilever_is_reckoned_at_its_root_with_tension_on_top():
    basis, section = cantilever()
    checked = check_section(section, replace(basis, loads=replace(basis.loads, wind=())))
    sheet = make_sheet(checked)
    assert value(sheet, "Combinations and effects", "1.35 G + 1.5 snow", 3) < 0
    assert any("both at the root" in note for note in table(sheet, "Combinations and effects").notes)
    stretched = checked.measures["characteristic_moment"] / checked.measures["tension_service"]
    assert stretched == pytest.approx(float(checked.properties.s_top))


def test_a_canopy_of_one_section_shows_sums_a_checker_redoes():
    basis = basis_of(starter("canopy"))
    checked = check_section(start_section("canopy"), basis)
    effects = table(make_sheet(checked), "Combinations and effects")
    g = float(checked.loads.permanent) / 1e3
    snow, wind = 0.6 * 4.8, 0.5 * 4.8  # kN/m
    ultimate = 1.35 * g + 1.5 * snow + 0.9 * wind
    row = next(r for r in effects.rows if r[0] == "1.35 G + 1.5 snow + 0.9 wind (pressure)")
    assert float(row[4]) == pytest.approx(-ultimate * 11**2 / 2, rel=1e-3), "hogging at the root"
    assert checked.measures["ultimate_moment"] / 1e3 == pytest.approx(ultimate * 11**2 / 2, rel=1e-6)
    tilt = next(r for r in effects.rows if r[0] == "1.1 G / 0.9 G + 1.5 snow")
    pull = ((1.1 * g + 1.5 * snow) * 11**2 / 2 - 0.9 * g * 4**2 / 2) / 4
    assert float(tilt[7]) == pytest.approx(-pull, rel=1e-3), "tie-down of the back span"
    note = next(n for n in effects.notes if n.startswith("Largest hogging moment"))
    numbers_in = [float(v) for v in re.findall(r"-?\d+\.?\d*", note.split(" kNm at")[0].split(": ")[1])]
    a, w, x, q, y, total = numbers_in
    assert a * w * x + q * y == pytest.approx(total, rel=2e-3)


def test_a_taper_shows_its_stations_and_what_governs_where():
    checked = checked_start("canopy", 1)
    stations = table(make_sheet(checked), "Stations along the span")
    assert [row[0] for row in stations.rows][::6] == ["0.00-4.00", "15.00"]
    assert len(stations.rows) == 7
    assert 0 in stations.marked, "the root governs"
    cases = {row[0]: row for row in table(make_sheet(checked), "What governs").rows}
    assert cases["concrete compression, ultimate"][2] == "4.00"
    assert cases["concrete compression, ultimate"][1] == "1.35 G + 1.5 snow + 0.9 wind (pressure)"
    assert "not proved by the folded plate" in make_sheet(checked).subtitle
    # moment at the root: the arm's permanent load by the trapezoidal rule from the printed stations
    g = np.array([float(row[4]) for row in stations.rows])
    y = np.linspace(0.0, 11.0, 7)
    root = np.trapezoid((1.35 * g + 1.5 * 0.6 * 4.8 + 0.9 * 0.5 * 4.8) * y, y)
    assert float(stations.rows[0][6]) == pytest.approx(root, rel=0.02)


@pytest.mark.parametrize("kind", KINDS)
def test_text_and_page_say_the_same_and_carry_the_caution_twice(kind):
    checked = checked_start(kind)
    sheet = make_sheet(checked, project="A & B <hall>", bays=3)
    text = sheet_text(sheet)
    page = sheet_html(sheet, drawings_of(checked))
    assert text.startswith(CAUTION[:60])
    assert text.rstrip().endswith(CAUTION[-40:])
    assert page.count(f'<p class="caution">{CAUTION}</p>') == 2
    assert "A &amp; B &lt;hall&gt;" in page
    effects = "Stations along the span" if kind == "canopy" else "Steel"
    for row in (*table(sheet, "Loads of one module").rows, *table(sheet, effects).rows):
        assert row[2] in text
        assert f">{row[2]}<" in page
    for item in NOT_COVERED:
        assert item in page
    assert "<svg" in page
    assert not re.search(r"(src|href)=|url\(|@import|<script", page), "nothing is loaded from elsewhere"
    assert "nan" not in re.sub("<[^>]*>", " ", page).lower().split()


def test_a_section_without_finite_properties_is_refused():
    zero = Section("zero", Strips.chain([0.0, 0.0], [0.0, 0.0], [0.1], "web"))
    basis = Basis(span=20.0, pitch=6.0, requirements=Requirements(height_max=2.0))
    with pytest.raises(ValueError, match="no finite properties"):
        check_section(zero, basis)
    batch = Section("two", Strips.chain([[0.0, 1.0]] * 2, [[0.0, 1.0]] * 2, 0.1, "web"))
    with pytest.raises(ValueError, match="batch of shape"):
        check_section(batch, basis)


def test_numbers_that_are_not_finite_never_reach_the_json():
    row = checked_start("classroom").rows[0]
    document = limit_document(type(row)(row.limit, "m", float("inf"), 2.0, float("nan"), True))
    assert document["demand"] is None
    assert document["margin"] is None


@pytest.mark.parametrize(
    ("number", "text"),
    [
        (1234567.0, "1234567"),
        (0.00012345, "0.0001234"),
        (-2.5, "-2.500"),
        (0.99999, "1.0000"),
        (1e12, "1.000e+12"),
    ],
)
def test_digits(number, text):
    assert digits(number) == text


def test_quantities_have_their_units():
    assert quantity(4.524, "cm2_m") == "4.524 cm²/m"
    assert quantity(float("nan"), "m") == "-"


def test_limits_stand_in_columns_on_the_terminal():
    text = sheet_text(make_sheet(checked_start("reading-hall")))
    limits = text[text.index("Limits\n") :].splitlines()
    kept = [line for line in limits if line.endswith(" kept")]
    assert len(kept) > 10
    assert len({len(line) for line in kept}) == 1, "margins end in one column"


def test_a_sheet_with_a_value_that_cannot_be_found_says_so():
    checked = checked_start("classroom")
    lost = replace(checked.rows[3], demand=float("nan"), margin=float("nan"))
    checked = replace(checked, rows=(*checked.rows[:3], lost, *checked.rows[4:]))
    assert not checked.feasible
    text = sheet_text(make_sheet(checked))
    assert not re.search(r"\b(nan|inf)\b", text)
    assert "no value  NOT KEPT" in text


@pytest.mark.parametrize("kind", KINDS)
def test_no_sheet_prints_round_off_or_a_minus_before_zero(kind):
    text = sheet_text(make_sheet(checked_start(kind, 1), bays=3))
    assert not re.findall(r"\S*\de-\d\d\S*", text)
    assert not re.findall(r"(?<![\d.])-0\.?0*(?![\d.])", text)
