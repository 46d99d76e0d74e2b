"""``longvault check``: sheet, JSON and page of a user's own section; bad input is one message."""

import json

import pytest
from click.testing import CliRunner

from longvault.sections.export import EXPORTERS
from longvault.studies.briefs import starter_text
from longvault.studies.cli.group import cli

from .sections_at_hand import start_section


@pytest.fixture
def files(tmp_path):
    brief, section = tmp_path / "hall.toml", tmp_path / "own.json"
    brief.write_text(starter_text("reading-hall"), encoding="utf-8")
    EXPORTERS["json"](start_section("reading-hall"), section)
    return brief, section


def run(*args):
    return CliRunner().invoke(cli, ["check", *map(str, args)])


def test_the_sheet_is_printed(files):
    brief, section = files
    result = run(brief, "--section", section)
    assert result.exit_code == 0, result.output
    assert "Calculation sheet: Reading hall with crown slots: start" in result.stdout
    assert "not kept" in result.stdout


def test_json_holds_flat_keys_and_every_limit(files):
    brief, section = files
    result = run(brief, "--section", section, "--json")
    data = json.loads(result.stdout)
    assert {"area_m2", "s_free_m3", "kern_top_m", "shear_centre_z_m", "deflection_mm", "caution"} <= set(data)
    wanted = {
        "key",
        "title",
        "demand",
        "capacity",
        "unit",
        "margin",
        "source",
        "governing",
        "formula",
        "sense",
        "case",
        "place_m",
    }
    assert all(set(limit) == wanted for limit in data["limits"])
    governing = [limit for limit in data["limits"] if limit["governing"]]
    assert [one["key"] for one in governing] == [data["governing"]]
    assert governing[0]["margin"] == max(limit["margin"] for limit in data["limits"])
    assert data["feasible"] is all(limit["margin"] <= 0 for limit in data["limits"])
    height = next(limit for limit in data["limits"] if limit["key"] == "height")
    assert height["demand"] == pytest.approx(data["height_m"])
    assert height["capacity"] == 2.65


def test_json_and_page_together_keep_stdout_clean(files, tmp_path):
    brief, section = files
    page = tmp_path / "sheet.html"
    result = run(brief, "--section", section, "--json", "--out", page)
    json.loads(result.stdout)
    assert "as a page" in result.stderr
    assert page.read_text(encoding="utf-8").startswith("<!DOCTYPE html>")


def test_bad_input_is_one_message_without_a_traceback(files, tmp_path):
    brief, section = files
    closed = tmp_path / "closed.json"
    data = json.loads(section.read_text())
    box = [[0, 0], [1, 0], [1, 1], [0, 1]]
    ring = [{"nodes": [i, (i + 1) % 4], "thickness_m": 0.1} for i in range(4)]
    closed.write_text(json.dumps({**data, "nodes_m": box, "strips": ring, "joints": []}))
    run_folder = tmp_path / "run" / "designs"
    run_folder.mkdir(parents=True)
    (run_folder / "d001.json").write_text(section.read_text())
    cases = [
        ((brief, "--section", "gone.json"), "there is no such file"),
        ((brief, "--section", "gone:d001"), "is no run folder"),
        ((brief, "--section", f"{tmp_path}/run:d9"), "the run has no design 'd9'; it has d001"),
        ((brief, "--section", f"{tmp_path}/run:../designs/d001"), "the run has no design"),
        ((brief, "--section", brief), "is not JSON"),
        (
            (brief, "--section", closed),
            f"{closed}: the strips form a closed cell; the beam checks need an open",
        ),
        ((section, "--section", section), "is not TOML"),
        ((tmp_path, "--section", section), "is a folder"),
        ((brief, "--section", section, "--out", tmp_path / "no" / "a.html"), "cannot be written"),
        ((brief,), "Missing option '--section'"),
    ]
    for args, said in cases:
        result = run(*args)
        assert result.exit_code == 2, result.output
        assert said in result.stderr
        assert "Traceback" not in result.output
        assert not result.stdout
    assert run(brief, "--section", f"{tmp_path}/run:d001").exit_code == 0


def test_several_faults_of_a_brief_are_counted(files):
    brief, section = files
    brief.write_text(
        starter_text("reading-hall")
        .replace("span_m = 24.0", "span_m = 24000")
        .replace("\nbays =", "\nbyas =")
    )
    result = run(brief, "--section", section)
    assert result.exit_code == 2
    assert "2 faults in the brief" in result.stderr
    assert "did you mean 24 m?" in result.stderr
