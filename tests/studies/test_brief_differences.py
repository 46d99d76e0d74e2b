"""A run goes on with the brief it began with: what differs is named, key by key."""

import shutil
from pathlib import Path

import pytest

from longvault.studies.brief import read_brief
from longvault.studies.brief_differences import brief_differences
from longvault.studies.briefs import starter_text
from longvault.studies.record import open_run

from .sections_at_hand import run, small_brief

pytestmark = pytest.mark.usefixtures("no_figures")


@pytest.fixture(scope="module")
def done(tmp_path_factory):
    folder = tmp_path_factory.mktemp("job")
    brief = small_brief("market-hall", folder, evaluations=1200)
    assert run("search", brief, "--out", folder / "run", "--quiet").exit_code == 0
    return folder / "run"


def going_on(done, folder, *more, **changes):
    brief = small_brief("market-hall", folder, **({"evaluations": 1200} | changes))
    shutil.copytree(done, folder / "run")
    return run("search", brief, "--out", folder / "run", "--quiet", *(more or ["--resume"]))


@pytest.mark.parametrize("more", [("--resume",), ("--extend", "500")])
@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"fck_MPa": 41}, "materials.fck_MPa: "),
        ({"seed": 4}, "search.seed: 3 in the run, now 4"),
        ({"population": 64}, "search.population: left out in the run, now 64"),
        ({"archive_max": 70}, "search.archive_max: 20000 in the run, now 70"),
        ({"objectives": '["area", "height"]'}, "search.objectives: ['area', "),
    ],
)
def test_what_makes_another_run_is_refused_by_name(done, tmp_path, more, changes, said):
    result = going_on(done, tmp_path, *more, **changes)
    assert result.exit_code == 2, result.output
    assert "its run began with another brief:\n  " + said in result.stderr
    assert result.stderr.count(" in the run, now ") == 1
    assert (tmp_path / "run" / "front.csv").read_bytes() == (done / "front.csv").read_bytes()


def test_the_budget_of_the_brief_is_not_passed_over_in_silence(done, tmp_path):
    result = going_on(done, tmp_path, evaluations=5000)
    assert result.exit_code == 0, result.output
    assert "goes on to its 1200, not to the 5000 of the brief; use --extend N" in result.stderr
    assert (tmp_path / "run" / "front.csv").read_bytes() == (done / "front.csv").read_bytes()


def test_more_designs_are_delivered_when_asked(done, tmp_path):
    result = going_on(done, tmp_path, deliver=9)
    assert (result.exit_code, result.stderr) == (0, ""), result.output
    assert len(open_run(done).ids) <= 6 < len(open_run(tmp_path / "run").ids) <= 9
    for name in ("archive.npz", "history.csv"):
        assert (tmp_path / "run" / name).read_bytes() == (done / name).read_bytes(), name


def test_a_seed_left_out_or_said_again_is_no_change(done, tmp_path):
    assert going_on(done, tmp_path).stderr == ""
    brief = tmp_path / "market-hall.toml"
    brief.write_text(brief.read_text().replace("seed = 3", ""))
    for more in ((), ("--seed", 3)):
        result = run("search", brief, "--out", tmp_path / "run", "--quiet", "--resume", *more)
        assert (result.exit_code, result.stderr) == (0, ""), result.output


def test_files_to_start_from_are_compared_by_what_they_hold(done, tmp_path):
    for name, place in (("run/mine.json", "d001"), ("his.json", "d001"), ("her.json", "d002")):
        (tmp_path / "run").mkdir(exist_ok=True)
        (tmp_path / name).write_bytes((done / "designs" / f"{place}.json").read_bytes())
    text = starter_text("market-hall")
    assert "start_sections = []" in text

    def brief(*names):
        listed = str([*names]).replace("'", '"')
        return read_brief(text.replace("start_sections = []", f"start_sections = {listed}"), folder=tmp_path)

    def differences(given):
        began = read_brief(
            text.replace("start_sections = []", 'start_sections = ["mine.json"]'), folder=tmp_path / "run"
        )
        return brief_differences(began, tmp_path / "run", given, tmp_path)

    assert differences(brief("his.json")) == []
    assert differences(brief("her.json"))[0].startswith(
        "section.start_sections: 1 file in the run, now others"
    )
    assert "['her.json', 'his.json']" in differences(brief("her.json", "his.json"))[0]
    assert len(differences(brief())) == 1


def test_tables_with_names_of_the_user_are_compared_name_by_name():
    text = starter_text("reading-hall")
    other = text.replace("keel_width_m = [0.8, 2.0]", "keel_width_m = [0.9, 2.0]\nthickness_5_mm = [80, 200]")
    lines = brief_differences(read_brief(text), Path(), read_brief(other), Path())
    assert lines == [
        "section.ranges.keel_width_m: [0.8, 2.0] in the run, now [0.9, 2.0]",
        "section.ranges.thickness_5_mm: left out in the run, now [80.0, 200.0]",
    ]
