"""Sheets along the span: every support and load of a brief; tapers read back, kept from the folded plate."""

import json
import re
from dataclasses import replace

import numpy as np
import pytest
from click.testing import CliRunner

from longvault.constraints.actions import Loads, Wind
from longvault.constraints.basis import Basis, Requirements
from longvault.constraints.evaluate_member import station_measures
from longvault.constraints.proof import Proving
from longvault.constraints.spans import Spans
from longvault.optimise.section_problem import section_problem
from longvault.sections import CAUTION, Section, Strips
from longvault.sections.export.section_json import export_json
from longvault.sections.section_file import SectionFileError
from longvault.studies.brief import basis_of, family_of, read_brief
from longvault.studies.brief_basis import proving_of
from longvault.studies.briefs import starter_text
from longvault.studies.checked import check_section
from longvault.studies.cli.group import cli
from longvault.studies.not_covered import PUSHED_BUCKLING, not_covered
from longvault.studies.sheet import make_sheet
from longvault.studies.sheet_html import drawings_of, sheet_html
from longvault.studies.sheet_text import sheet_text
from longvault.studies.stations import read_member, stations_document

from .sections_at_hand import checked_start, start_member, start_section, starter
from .test_brief_along_span import SUPPORTS, WIND, changed

LOADS = {
    "wind": WIND, "water_depth_mm": "100", "gutter_fall_pct": "1", "erection_kN_m2": "0.75",
    "drift": '"valley"', "sideways_ratio": "500", "glass_difference_max_mm": "10", "tie_down_max_kN": "10",
}  # fmt: skip
ROOFS = [
    *(("reading-hall", keys) for keys, _, _ in SUPPORTS),
    ("reading-hall", LOADS),
    ("classroom", {"arch_rise_m": "0.5", "tie_area_cm2": "40"}),
    ("classroom", {"long_term": '"cracked"', "camber_mm": "10"}),
]


@pytest.mark.parametrize(("kind", "keys"), ROOFS)
def test_every_roof_has_a_sheet_that_names_what_governs(kind, keys):
    brief = read_brief(changed(kind, **keys))
    family, basis = family_of(brief), basis_of(brief)
    section = Section("start", family.strips(family.starts()[3]), family.joints)
    checked = check_section(section, basis)
    sheet = make_sheet(checked, bays=4)
    text = sheet_text(sheet)
    assert CAUTION in sheet_html(sheet, drawings_of(checked))
    row = next(row for row in checked.rows if row.limit.key == "compression")
    assert row.case
    assert f"{row.case} at y = {row.place:.2f} m" in " ".join(text.split())
    assert any(table.title == "Temperature and shrinkage" for table in sheet.tables)


def test_every_load_given_stands_in_the_table_of_loads():
    brief = read_brief(changed("reading-hall", **LOADS))
    family = family_of(brief)
    section = Section("start", family.strips(family.starts()[3]), family.joints)
    table = next(
        t
        for t in make_sheet(check_section(section, basis_of(brief))).tables
        if t.title == "Loads of one module"
    )
    rows = {row[0]: float(row[2]) for row in table.rows}
    assert rows["wind, one side"] == pytest.approx((-1.3 + 0.5) * 0.5 * 7.5, rel=1e-3)
    assert rows["erection"] == pytest.approx(0.75 * 7.5, rel=1e-3)
    assert rows["snow, drift in the valleys"] > rows["snow S"]
    assert rows["water, blocked outlets"] > 0
    own = ("self-weight", "finish", "glass", "services", "screed of the gutters")
    assert rows["permanent G"] == pytest.approx(sum(rows[key] for key in own), rel=1e-3)


def test_a_taper_is_read_back_from_its_file_to_the_same_numbers(tmp_path):
    member, section, basis = (
        start_member("canopy", 1),
        start_section("canopy", 1),
        basis_of(starter("canopy")),
    )
    path = tmp_path / "taper.json"
    export_json(section, path, {"stations": stations_document(member, basis)})
    back = read_member(path)
    assert np.array_equal(back.sections.x, member.sections.x)
    assert np.array_equal(back.sections.thickness, member.sections.thickness)
    again = check_section(section, basis, member=back)
    assert dict(again.measures) == dict(checked_start("canopy", 1).measures)
    data = json.loads(path.read_text(encoding="utf-8"))
    data["stations"][2]["thickness_m"].pop()
    path.write_text(json.dumps(data), encoding="utf-8")
    with pytest.raises(SectionFileError, match="as many nodes and thicknesses"):
        read_member(path)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({3: 2}, "station 4 stands at"),  # repeated
        ({3: 4, 4: 3}, "none repeated"),  # out of order
        ({2: None}, "1 of 7 stations have none"),
        ({2: [5.0, 1.0]}, "first <= last"),
        ({2: [5.0]}, "cannot be read as a taper"),
    ],
)
def test_stations_that_are_repeated_or_out_of_order_are_refused(change, said, tmp_path, capsys):
    member, section, basis = (
        start_member("canopy", 1),
        start_section("canopy", 1),
        basis_of(starter("canopy")),
    )
    rows = stations_document(member, basis)
    old = [row["y_m"] for row in rows]
    assert len(rows) == 7
    for k, other in change.items():
        rows[k] = {**rows[k], "y_m": old[other] if isinstance(other, int) else other}
        if other is None:
            del rows[k]["y_m"]
    path, brief = tmp_path / "taper.json", tmp_path / "brief.toml"
    export_json(section, path, {"stations": rows})
    brief.write_text(starter_text("canopy"), encoding="utf-8")
    with pytest.raises(SectionFileError, match="stations: "):
        read_member(path)
    found = CliRunner().invoke(cli, ["check", str(brief), "--section", str(path)])
    assert found.exit_code == 2
    assert said in " ".join(found.output.split())
    assert "Traceback" not in found.output


@pytest.mark.parametrize(
    "spans",
    [
        Spans.cantilever(8.0), Spans.canopy(back=2.0, arm=6.0), Spans.simple(8.0),
        Spans.overhanging(8.0, left=2.0), Spans.overhanging(8.0, left=2.0, right=3.0),
    ],
)  # fmt: skip
def test_stations_of_every_support_are_read_back(spans, tmp_path):
    section, member = start_section("canopy", 1), start_member("canopy", 1)
    basis = replace(basis_of(starter("canopy")), spans=spans)
    path = tmp_path / "taper.json"
    export_json(section, path, {"stations": stations_document(member, basis)})
    assert read_member(path).stations == member.stations


def test_a_taper_is_not_proved_by_the_folded_plate():
    text = starter_text("reading-hall").replace('family = "gull-wing"', 'family = "tapered-gull-wing"')
    brief = read_brief(text.replace("keel_width_m = [0.8, 2.0]", ""))
    assert proving_of(brief) is None
    family = family_of(brief)
    with pytest.raises(ValueError, match="not proved by the folded plate"):
        section_problem(
            family, family.variables, basis_of(brief), ("area", "section_modulus"), proving=Proving()
        )
    problem = section_problem(family, family.variables, basis_of(brief), ("area", "section_modulus"))
    done = problem.evaluate.evaluation(family.starts()[:2])
    assert done.note == "beam level, not proved by the folded plate"
    assert done.cases["compression"].taken(np.array([1])).name(0) == done.cases["compression"].name(1)


def table_of(sheet, title):
    return next(table for table in sheet.tables if table.title == title)


@pytest.mark.parametrize("number", [1, 3])
def test_the_sheet_of_a_canopy_tells_the_support_forces_its_tie_down_first(number):
    checked = checked_start("canopy", number)
    sheet = make_sheet(checked)
    rows = table_of(sheet, "Support forces").rows
    pull, push = -float(rows[0][3]), max(float(row[3]) for row in rows)
    assert rows[0][:2] == ("y = 0.00 m, tie-down", "pull")
    # statics by hand: the back span of 4 m turns about the columns, M = R l + g l^2 / 2, root section on it
    root = station_measures(checked.member, checked.basis)
    moment, g = float(root["hogging"][0]) / 1e3, float(root["permanent_load"][0]) / 1e3
    assert pull == pytest.approx(moment / 4 - 1.35 * g * 4 / 2, rel=1e-3)
    assert pull == pytest.approx(checked.measures["tie_down"] / 1e3, rel=1e-3)
    assert push == pytest.approx(checked.measures["reaction"] / 1e3, rel=1e-3)
    assert "A pull needs a tie-down" in table_of(sheet, "Support forces").notes[1]
    for row in rows:  # each sum gives its force
        words = row[2].partition(";")[0]
        parts = [part.split(" x ") for part in words.split(" + ")]
        numbers = [[float(n.strip("()")) for n in part] for part in parts]
        assert sum(np.prod(part) for part in numbers) == pytest.approx(float(row[3]), abs=0.2)


@pytest.mark.parametrize("kind", ["canopy", "reading-hall"])
def test_the_quantities_on_the_sheet_are_the_measures_of_a_taper_means_along_its_span(kind):
    checked = checked_start(kind, 1)
    sheet = make_sheet(checked)
    amounts = {row[0]: row for row in table_of(sheet, "Quantities").rows}
    bands = table_of(sheet, "Reinforcement")
    shown = {
        "steel_weight": (amounts["reinforcement"][1], bands.rows[-1][3]),
        "form_area": (amounts["forms"][1],),
        "cost": (amounts["sum"][3],),
        "carbon": (amounts["sum"][4],),
        "equivalent_thickness": (amounts["concrete"][1],),
    }
    for key, texts in shown.items():
        for text in texts:
            assert float(text.split()[0]) == pytest.approx(checked.measures[key], rel=2e-3), key
    parts = sum(float(row[3]) for row in bands.rows[:-1])
    assert parts == pytest.approx(float(bands.rows[-1][3]), rel=1e-3)
    said = any("Means along the span" in note for note in bands.notes)
    assert said is (kind == "canopy")


@pytest.mark.parametrize(
    ("keys", "said"),
    [
        ({"support": '"continuous"', "span_m": "12", "spans_m": "[12, 9, 12]"}, "continuous 12 + 9 + 12 m,"),
        ({"support": '"canopy"', "span_m": "10", "back_span_m": "6"}, "canopy 6 + 10 m,"),
        ({}, "simple span 24 m,"),
        ({"support": '"propped"'}, "propped 24 m,"),
    ],
)
def test_the_head_of_the_sheet_names_every_span(keys, said):
    brief = read_brief(changed("reading-hall", **keys))
    checked = check_section(start_section("reading-hall"), basis_of(brief))
    assert f"{checked.note}; {said}".removeprefix("; ") in make_sheet(checked).subtitle


def test_the_sheet_says_what_is_done_with_the_sideways_part_of_wind():
    brief = read_brief(changed("reading-hall", **LOADS))
    family = family_of(brief)
    section = Section("start", family.strips(family.starts()[3]), family.joints)
    text = " ".join(sheet_text(make_sheet(check_section(section, basis_of(brief)))).split())
    assert "Its sideways part counts in the torque" in text
    assert "Wind from the side" in text
    assert PUSHED_BUCKLING in not_covered(checked_start("canopy", 1))
    still = read_brief(changed("reading-hall"))
    text = sheet_text(make_sheet(check_section(section, basis_of(still))))
    assert "sideways part" not in text


def test_the_sheet_of_a_canopy_says_which_deflection_it_shows():
    """Back span 4 m, arm 11 m: the tip, with 2 x 11 m over the ratio; the limit says the same place."""
    checked = checked_start("canopy", 1)
    sheet = make_sheet(checked)
    rows = {row[0]: row for row in next(t for t in sheet.tables if t.title == "Deflection").rows}
    place = checked.measures["deflection_place"]
    words = rows["place of that: nearest its limit"][1]
    limit = next(row for row in checked.rows if row.limit.key == "deflection")
    assert limit.place == place
    arm, ratio = checked.basis.span, checked.basis.requirements.deflection_ratio
    printed = next(
        r for r in next(t for t in sheet.tables if t.title == "Limits").rows if limit.limit.title in r[0]
    )
    assert place == checked.basis.line.length
    assert words.startswith(f"tip of the overhang, y = {place:.2f} m")
    assert printed[1].endswith("tip of the overhang")
    assert f"{2 * arm:g} m / {ratio:g}" in printed[1]
    assert checked.shown("deflection_tip") == pytest.approx(checked.shown("deflection"))
    assert f"2 x {arm:g} m / {ratio:g}" in rows["tip of the overhang, long term, cracked"][1]


def pushed_shed(*winds):
    fold = Strips.chain([-2.6, -1.4, 0.0, 1.5, 2.6], [0.0, 0.7, 1.3, 1.8, 2.0], 0.14, "wing")
    loads = Loads(finish=500.0, snow=800.0, wind=winds)
    return check_section(Section("shed", fold), Basis(14.0, 5.6, Requirements(3.0), loads=loads))


def stresses(checked):
    rows = next(t for t in make_sheet(checked).tables if t.title == "Stresses").rows
    keys = ("compression", "compression_service", "tension_service")
    for row, key in zip(rows, keys, strict=False):
        assert float(row[2]) == pytest.approx(checked.measures[key] / 1e6, rel=1e-3)
    return rows


def test_a_reader_finds_the_stresses_of_both_moments_in_the_table_of_stresses():
    """A shed pushed hard: M and H with their corner give the value printed; no made-up section modulus."""
    checked = pushed_shed(Wind("gust", ((0.0, 0.5, 6e3),)))
    rows = stresses(checked)
    for row in rows[:3]:
        m, f, h, g = (float(v) for v in re.findall(r"(-?[0-9.]+) (?:kNm|1/m³)", row[1]))
        assert abs(m * f - h * g) / 1e3 == pytest.approx(float(row[2]), rel=2e-3)
    assert rows[-1][1].endswith("more with the sideways one")
    bent = next(t for t in make_sheet(checked).tables if t.title == "Cracked bending").rows[0]
    moment, arm, strength = (float(v) for v in re.findall(r"([0-9.]+) (?:kNm \(|m x|MPa)", bent[1]))
    assert 10.0 * moment / (arm * strength) == pytest.approx(float(bent[2].split()[0]), rel=2e-3)
    assert "sideways" in bent[1]
    limit = next(row for row in checked.rows if row.limit.key == "torsion-compression")
    assert "H g" in limit.limit.formula


def test_uplift_that_presses_most_is_what_governs_compression():
    """Hogging is the smaller moment, over the smaller modulus: case, moment and modulus are its own."""
    checked = pushed_shed(Wind("up", ((0.0, 1.0, -7e3),)))
    m, p = checked.measures, checked.properties
    reverse = m["reverse_moment"] / float(p.s_free_tension)
    assert m["reverse_moment"] < m["main_moment"]
    assert reverse > m["main_moment"] / float(p.s_free_compression)
    assert m["compression"] == pytest.approx(reverse)
    named = {row.limit.key: row.case for row in checked.rows}
    assert named["compression"] == "G + 1.5 wind"
    assert named["steel-fits"] == "1.35 G + 1.5 snow"
    for row in stresses(checked)[:3]:
        moment, modulus = re.fullmatch(r"M_. / S_. = ([0-9.]+) kNm / ([0-9.]+) m³", row[1]).groups()
        assert float(moment) / float(modulus) / 1e3 == pytest.approx(float(row[2]), rel=2e-3)
        ends = float(p.s_free_compression), float(p.s_free_tension)
        assert min(abs(float(modulus) - s) for s in ends) < 1e-4
