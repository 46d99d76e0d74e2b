"""Own limits on any measure: `Limit` objects like all others, in search, sheet, JSON and why-not."""

import json

import numpy as np
import pytest
from click.testing import CliRunner

from longvault.constraints.measures import MEASURES
from longvault.constraints.own_limits import own_limit, stage_of
from longvault.optimise import SearchSettings, search
from longvault.sections.export.section_json import export_json
from longvault.studies.brief import BriefError, basis_of, read_brief
from longvault.studies.brief_basis import proving_of
from longvault.studies.briefs import starter_text
from longvault.studies.checked import check_section
from longvault.studies.cli.group import cli
from longvault.studies.run import make_job
from longvault.studies.sheet import make_sheet
from longvault.studies.sheet_text import sheet_text
from longvault.studies.why_not import failing_lines

from .sections_at_hand import start_section

LIMITS = {"at_most": "steel_weight_kg_m2 = 20\nslot_movement_mm = 3", "at_least": "ixx_m4 = 0.05"}
KEYS = ("most-steel-weight", "most-slot-movement", "least-ixx")


def text_with(kind="market-hall", **tables):
    text = starter_text(kind)
    for table, lines in tables.items():
        text = text.replace(f"[limits.{table}]", f"[limits.{table}]\n{lines}")
    return text


def faults(kind="market-hall", **tables):
    with pytest.raises(BriefError) as caught:
        read_brief(text_with(kind, **tables))
    return str(caught.value)


def test_margins_are_those_of_the_measure_in_the_unit_of_its_name():
    brief = read_brief(text_with(**LIMITS))
    checked = check_section(start_section("market-hall"), basis_of(brief), proving_of(brief))
    rows = {row.limit.key: row for row in checked.rows}
    assert rows["most-steel-weight"].margin == pytest.approx(checked.shown("steel_weight") / 20.0 - 1.0)
    assert rows["most-slot-movement"].margin == pytest.approx(1e3 * checked.measures["slot_movement"] / 3 - 1)
    assert rows["least-ixx"].margin == pytest.approx(1.0 - checked.measures["ixx"] / 0.05)


def test_the_sheet_and_why_not_name_them():
    brief = read_brief(text_with(at_most="steel_weight_kg_m2 = 1"))
    checked = check_section(start_section("market-hall"), basis_of(brief), proving_of(brief))
    assert "all steel per plan area, at most" in sheet_text(make_sheet(checked, project="x", bays=1))
    (line,) = [line for line in failing_lines(checked.rows) if line.startswith("all steel")]
    assert "allowed at most 1.0" in line
    assert line.endswith("see limits.at_most")


def test_the_sheet_writes_them_in_units_that_a_person_reads():
    most = "steel_weight_kg_m2 = 20\ncost_per_m2 = 90"
    brief = read_brief(text_with(at_most=most, at_least="ixx_m4 = 0.05"))
    checked = check_section(start_section("market-hall"), basis_of(brief), proving_of(brief))
    (table,) = [one for one in make_sheet(checked).tables if one.title == "Limits"]
    said = [row[1] for row in table.rows if row[6] == "brief (own limit)"]
    assert sorted(said) == ["at least 0.05000 m⁴", "at most 20.00 kg/m²", "at most 90.00 money/m²"]


def test_the_json_of_check_holds_them(tmp_path):
    path = tmp_path / "hall.toml"
    path.write_text(text_with(**LIMITS), encoding="utf-8")
    section = tmp_path / "section.json"
    export_json(start_section("market-hall"), section)
    result = CliRunner().invoke(cli, ["check", str(path), "--section", str(section), "--json"])
    assert result.exit_code == 0, result.output
    listed = {limit["key"]: limit for limit in json.loads(result.stdout)["limits"]}
    assert set(KEYS) <= set(listed)
    assert listed["most-steel-weight"]["capacity"] == pytest.approx(20.0)
    assert listed["most-steel-weight"]["source"] == "brief (own limit)"
    assert listed["most-steel-weight"]["formula"] == "at most 20.00 kg/m²"
    assert listed["least-ixx"]["formula"] == "at least 0.05000 m⁴"


def test_a_search_keeps_them_and_is_narrowed_by_them():
    free = make_job(read_brief(text_with())).problem
    open_front = search(free, SearchSettings(evaluations=3000, seed=1)).front
    cap = 1e4 * float(np.median(free.evaluate.evaluation(open_front.x, every=True).measures["steel_area"]))
    held = make_job(read_brief(text_with(at_most=f"steel_area_cm2 = {cap}"))).problem
    assert set(held.margin_names) - set(free.margin_names) == {"most-steel-area"}
    front = search(held, SearchSettings(evaluations=3000, seed=1)).front
    assert len(front) > 10
    steel = held.evaluate.evaluation(front.x, every=True).measures["steel_area"]
    assert steel.max() * 1e4 <= cap
    assert free.key != held.key


@pytest.mark.parametrize(
    ("tables", "said"),
    [
        ({"at_most": "steel_weight = 60"}, "write it with its unit, steel_weight_kg_m2"),
        ({"at_most": "steel_wait_kg_m2 = 60"}, "there is no such measure; did you mean steel_weight_kg_m2?"),
        ({"at_least": "ixx_m4 = 0"}, "got 0; must be above 0"),
        ({"at_most": "strands = 4"}, "limits.at_most.strands: it is not worked out for this roof"),
        ({"at_most": "pond_depth_mm = 4"}, "no key of this brief asks for it"),
        ({"at_most": "steel_area_reverse_cm2 = 4"}, "needs a support with moments of both signs"),
        ({"at_most": "area_m2 = 0.5", "at_least": "area_m2 = 0.8"}, "0.8 is above at_most, 0.5"),
        ({"at_most": 'area_m2 = "small"'}, 'got "small" (text); must be a number'),
    ],
)
def test_faults_are_named(tables, said):
    assert said in faults(**tables)


def test_a_canopy_has_no_folded_plate_to_limit():
    assert "does not cover this roof" in faults("canopy", at_most="slot_movement_mm = 4")
    assert "not worked out" in faults("canopy", at_most="strands = 40")
    brief = read_brief(text_with("canopy", at_most="steel_weight_kg_m2 = 40\nbeam_buckling = 0.9"))
    limits = {limit.key for limit in make_job(brief).problem.evaluate.limits}
    assert {"most-steel-weight", "most-beam-buckling"} <= limits


def test_every_measure_can_be_limited_somewhere():
    assert {stage_of(key) for key in MEASURES} == {"beam", "closer", "plate"}
    keys = [own_limit(key, 1.0, sense).key for key in MEASURES for sense in ("cap", "floor")]
    assert len(set(keys)) == 2 * len(MEASURES)


def test_bad_calls_are_refused():
    for arguments, said in (
        (("beauty", 1.0, "cap"), "key: got 'beauty'"),
        (("area", 0.0, "cap"), "must be above 0"),
        (("area", 1.0, "above"), "must be cap or floor"),
    ):
        with pytest.raises(ValueError, match=said):
            own_limit(*arguments)
