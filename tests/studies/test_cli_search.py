"""``longvault search``, ``show``, ``export``, ``demo``: the whole job from the command line."""

import json
import os
import shutil
import signal
import subprocess
import sys

import pytest

from longvault.sections import CAUTION, read_section
from longvault.studies.brief import load_brief
from longvault.studies.record import fresh_folder, open_run
from longvault.studies.run import make_job, run_job

from .sections_at_hand import run, small_brief

pytestmark = pytest.mark.usefixtures("no_figures")

LINE = [sys.executable, "-c", "from longvault.studies.cli import main; main()"]


@pytest.fixture(scope="module")
def done(tmp_path_factory):
    folder = tmp_path_factory.mktemp("job")
    brief = small_brief("market-hall", folder, deliver=40)
    result = run("search", brief, "--out", folder / "run", "--quiet")
    assert result.exit_code == 0, result.output
    return brief, folder / "run", result


def refused(said, *args):
    result = run(*args)
    assert result.exit_code == 2, result.output
    assert said in result.stderr
    assert "Traceback" not in result.output
    assert not result.stdout


def test_search_says_what_it_found_and_what_comes_next(done):
    _, folder, result = done
    assert "designs on the front after" in result.stdout
    assert "least area" in result.stdout
    assert f"longvault show {folder}" in result.stdout
    assert CAUTION in result.stdout
    assert result.stderr == "", "quiet"


def test_progress_goes_to_stderr_in_plain_lines(tmp_path):
    brief = small_brief("market-hall", tmp_path, deliver=3)
    result = run("search", brief, "--out", tmp_path / "run")
    assert result.exit_code == 0
    lines = result.stderr.splitlines()
    assert 1 <= len(lines) <= 10
    assert all("designs:" in line and "on the front" in line for line in lines)


def test_the_command_line_wins_over_the_brief_and_is_recorded(tmp_path):
    brief = small_brief("market-hall", tmp_path, deliver=3)
    result = run("search", brief, "--out", tmp_path / "run", "--seed", 11, "--evaluations", 800)
    assert result.exit_code == 0, result.output
    manifest = open_run(tmp_path / "run").manifest
    assert (manifest["seed"], manifest["settings"]["evaluations"]) == (11, 800)
    text = (tmp_path / "run" / "brief.toml").read_text(encoding="utf-8")
    assert "seed = 11 " in text
    assert "evaluations = 800 " in text


def test_a_seed_that_is_drawn_is_recorded(tmp_path):
    brief = small_brief("market-hall", tmp_path, deliver=3)
    brief.write_text(brief.read_text().replace("seed = 3", ""))
    assert run("search", brief, "--out", tmp_path / "run", "--quiet").exit_code == 0
    seed = open_run(tmp_path / "run").manifest["seed"]
    assert f"seed = {seed} " in (tmp_path / "run" / "brief.toml").read_text(encoding="utf-8")


def test_the_default_folder_is_named_after_the_brief_and_never_overwritten(tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    small_brief("market-hall", tmp_path, deliver=3, evaluations=400)
    assert run("search", "market-hall.toml", "--quiet").exit_code == 0
    assert (tmp_path / "runs" / "market-hall" / "front.csv").is_file()
    refused("is not empty; give another folder with --out, or --overwrite", "search", "market-hall.toml")
    assert run("search", "market-hall.toml", "--quiet", "--overwrite").exit_code == 0


def test_nothing_feasible_is_exit_1_with_the_nearest_design_in_words(tmp_path):
    brief = small_brief("market-hall", tmp_path, height_max_m=1.4, fck_MPa=12, span_m=25)
    result = run("search", brief, "--out", tmp_path / "run", "--quiet")
    assert result.exit_code == 1, result.output
    assert "No design holds every limit" in result.stderr
    assert "(governs)" in result.stderr
    assert "off; see " in result.stderr
    assert not result.stdout
    folder = tmp_path / "run"
    data = json.loads((folder / "designs" / "nearest.json").read_text(encoding="utf-8"))
    assert max(data["margins"].values()) > 0
    assert read_section(folder / "designs" / "nearest.json").strips
    assert open_run(folder).ids == ()
    assert "NOT KEPT" in (folder / "sheet.html").read_text(encoding="utf-8")
    assert run("show", folder).exit_code == 0
    refused("has no feasible design", "show", folder, "--pick", "knee")


def test_show_prints_a_table_or_one_json_document(done):
    _, folder, _ = done
    result = run("show", folder)
    assert result.exit_code == 0, result.output
    assert "d001" in result.stdout
    assert "knee" in result.stdout
    assert CAUTION in result.stdout
    data = json.loads(run("show", folder, "--json").stdout)
    assert [design["id"] for design in data["designs"]] == list(open_run(folder).ids)
    assert data["caution"] == CAUTION
    assert len(run("show", folder, "--all").stdout.splitlines()) > len(result.stdout.splitlines())


def test_show_sorts_by_a_measure_with_or_without_its_unit(done):
    _, folder, _ = done
    for name in ("height", "height_m"):
        data = json.loads(run("show", folder, "--sort", name, "--json").stdout)
        heights = [design["height_m"] for design in data["designs"]]
        assert heights == sorted(heights)
    refused("did you mean height_m?", "show", folder, "--sort", "hieght")


def test_a_number_that_is_not_finite_is_null_in_json(done, tmp_path):
    _, folder, _ = done
    copy = tmp_path / "run"
    shutil.copytree(folder, copy)
    text = (copy / "front.csv").read_text(encoding="utf-8").splitlines()
    place = text[1].split(",").index("height_m")
    cells = text[2].split(",")
    cells[place] = "nan"
    (copy / "front.csv").write_text("\n".join([*text[:2], ",".join(cells), *text[3:]]), encoding="utf-8")
    data = json.loads(run("show", copy, "--json").stdout)
    assert data["designs"][0]["height_m"] is None
    assert run("show", copy).exit_code == 0


def test_show_picks_one_design(done):
    _, folder, _ = done
    knee = open_run(folder).manifest["picks"]["knee"]
    text = run("show", folder, "--pick", "knee").stdout
    assert f", {knee}" in text
    assert "limits, the tightest first" in text
    assert json.loads(run("show", folder, "--pick", "knee", "--json").stdout)["id"] == knee
    assert json.loads(run("show", folder, "--pick", "least area", "--json").stdout)["id"] == "d001"
    assert json.loads(run("show", folder, "--pick", "d002", "--json").stdout)["id"] == "d002"
    refused("or an ID from d001 to", "show", folder, "--pick", "x9")
    refused("there is no such folder", "show", folder / "gone")


def test_check_takes_a_design_of_a_run(done):
    brief, folder, _ = done
    data = json.loads(run("check", brief, "--section", f"{folder}:d001", "--json").stdout)
    assert data["feasible"] is True
    assert max(limit["margin"] for limit in data["limits"]) <= -1e-9


def test_export_writes_each_format(done, tmp_path):
    _, folder, _ = done
    result = run(
        "export", f"{folder}:d002", "--as", "DXF, .svg,csv,json", "--out", tmp_path / "new" / "place"
    )
    assert result.exit_code == 0, result.output
    found = sorted(path.name for path in (tmp_path / "new" / "place").iterdir())
    assert found == ["d002.csv", "d002.dxf", "d002.json", "d002.svg"]
    assert len(result.stdout.splitlines()) == 4
    for path in (tmp_path / "new" / "place").iterdir():
        assert "licensed engineer" in path.read_text(encoding="utf-8")


def test_export_refuses_what_it_cannot_do(done, tmp_path):
    _, folder, _ = done
    refused("must be among svg, dxf, csv, json", "export", f"{folder}:d001", "--as", "dwg")
    refused("got nothing", "export", f"{folder}:d001", "--as", " , ")
    refused("has no design 'd999'", "export", f"{folder}:d999")
    source = folder / "designs" / "d001.json"
    refused("is the section itself", "export", source, "--as", "json", "--out", folder / "designs")
    (tmp_path / "file").write_text("")
    refused("cannot be written", "export", source, "--out", tmp_path / "file")


def test_resume_and_extend_refuse_what_makes_no_sense(done, tmp_path):
    brief, folder, _ = done
    refused("not together", "search", brief, "--out", folder, "--resume", "--extend", 10)
    refused("is not in the range", "search", brief, "--seed", 10**30)
    refused("not together", "search", brief, "--out", folder, "--resume", "--overwrite")
    refused("search.seed: 3 in the run, now 10", "search", brief, "--out", folder, "--resume", "--seed", 10)
    refused("use --extend N", "search", brief, "--out", folder, "--resume", "--evaluations", 1000)
    refused("holds no run to go on with", "search", brief, "--out", tmp_path / "no", "--resume")
    other = small_brief("canopy", tmp_path)
    refused("began with another brief", "search", other, "--out", folder, "--resume")


def test_extend_goes_on_and_resume_of_a_finished_run_changes_nothing(tmp_path):
    brief = small_brief("market-hall", tmp_path, deliver=5)
    folder = tmp_path / "run"
    assert run("search", brief, "--out", folder, "--quiet").exit_code == 0
    before, first = (folder / "front.csv").read_bytes(), open_run(folder).manifest
    assert run("search", brief, "--out", folder, "--resume", "--quiet").exit_code == 0
    assert (folder / "front.csv").read_bytes() == before
    assert run("search", brief, "--out", folder, "--extend", 1500, "--quiet").exit_code == 0
    after = open_run(folder).manifest
    assert after["evaluations"] > first["evaluations"] + 1000
    assert after["settings"]["evaluations"] == first["settings"]["evaluations"] + 1500
    assert "evaluations = 4500 " in (folder / "brief.toml").read_text(encoding="utf-8")


@pytest.mark.skipif(os.name != "posix", reason="signals are sent as on posix")
def test_ctrl_c_leaves_a_valid_run(tmp_path):
    brief = small_brief("canopy", tmp_path, evaluations=40_000, population=200, archive_max=60)
    folder = tmp_path / "run"
    command = [*LINE, "search", str(brief), "--out", str(folder)]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True) as process:
        assert "designs:" in process.stderr.readline(), "it says how far it is"
        process.send_signal(signal.SIGINT)
        out, err = process.communicate(timeout=120)
    assert process.returncode == 0, err
    assert "Traceback" not in err
    assert "Stopped by the user" in out
    done = open_run(folder)
    assert done.manifest["stopped"] == "USER"
    assert done.ids
    assert 4_000 <= done.manifest["evaluations"] < 40_000


def test_a_stopped_run_is_resumed_to_the_same_bits(done, tmp_path):
    brief, whole, _ = done

    def interrupt(progress):
        if progress.evaluations > 500:
            raise KeyboardInterrupt

    folder = fresh_folder(tmp_path / "run")
    outcome, _ = run_job(make_job(load_brief(brief)), folder, tell=interrupt)
    assert outcome.evaluations < open_run(whole).manifest["evaluations"]
    assert (folder / "front.csv").read_bytes() != (whole / "front.csv").read_bytes()
    assert run("search", brief, "--out", folder, "--resume", "--quiet").exit_code == 0
    for name in ("front.csv", "archive.npz", "history.csv", "brief.toml", "sheet.html"):
        assert (folder / name).read_bytes() == (whole / name).read_bytes(), name
    stale = {path.name for path in (folder / "designs").iterdir()}
    assert stale == {path.name for path in (whole / "designs").iterdir()}


def test_help_is_quick_and_loads_no_arrays():
    code = "import sys; from longvault.studies.cli.group import cli\n"
    code += "try: cli.main(ARGS)\nexcept SystemExit: pass\n"
    code += "print([m for m in ('numpy', 'numba', 'matplotlib', 'rich', 'pydantic') if m in sys.modules])"
    for args in (
        ["--help"],
        ["search", "--help"],
        ["new", "--help"],
        ["demo", "--help"],
        ["lesson", "--help"],
    ):
        done = subprocess.run(
            [sys.executable, "-c", code.replace("ARGS", repr(args))], capture_output=True, text=True
        )
        assert done.stdout.splitlines()[-1] == "[]", args


def test_show_filters_by_any_measure_such_as_the_beam_share(done):
    _, folder, _ = done
    every = json.loads(run("show", folder, "--json").stdout)["designs"]
    middle = sorted(design["beam_share_stress"] for design in every)[len(every) // 2]
    bounds = ("--at-most", f"beam_share_stress={middle}", "--at-least", "height_m=1")
    kept = json.loads(run("show", folder, *bounds, "--json").stdout)["designs"]
    wanted = [d["id"] for d in every if d["beam_share_stress"] <= middle and d["height_m"] >= 1]
    assert [design["id"] for design in kept] == wanted
    assert 0 < len(kept) < len(every)
    said = run("show", folder, *bounds).stdout
    assert f"of {len(kept)} that keep the bounds" in said
    assert "share: beam share: folded plate over beam, stress" in " ".join(said.split())
    refused("did you mean beam_share_stress?", "show", folder, "--at-most", "beam_share_stres=1")
    refused("MEASURE=VALUE", "show", folder, "--at-least", "height_m")
