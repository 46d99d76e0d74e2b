"""The run folder: complete, readable, the same bits for the same seed, and never written over unasked."""

import hashlib
import json
import re

import numpy as np
import pytest

from longvault.constraints.measures import MEASURES
from longvault.sections import CAUTION, read_section
from longvault.sections.export import read_table
from longvault.sections.properties import section_properties
from longvault.studies.brief import basis_of, load_brief
from longvault.studies.brief_basis import proving_of
from longvault.studies.brief_model import SearchTable
from longvault.studies.checked import check_section
from longvault.studies.record import RecordError, fresh_folder, open_run
from longvault.studies.record_write import npz_bytes
from longvault.studies.run import make_job, run_job, workers_of

from .sections_at_hand import small_brief

TIMELESS = ("brief.toml", "front.csv", "history.csv", "archive.npz", "sheet.html")


def searched(path, folder, **changes):
    brief = load_brief(path)
    search = brief.search.model_copy(update=changes)
    job = make_job(brief.model_copy(update={"search": search}), folder=path.parent)
    return run_job(job, fresh_folder(folder))


@pytest.fixture(autouse=True)
def _quick(monkeypatch, request):
    """Draw no figures, which take most of the time of a small run, unless a test asks for them."""
    if request.function is not test_a_state_written_again_leaves_nothing_of_the_one_before:
        monkeypatch.setattr("longvault.studies.run_figures.draw_figures", lambda *args: None)


@pytest.fixture(scope="module")
def run(tmp_path_factory):
    folder = tmp_path_factory.mktemp("run")
    outcome, delivered = searched(small_brief("reading-hall", folder), folder / "out")
    return folder / "out", outcome, delivered


def test_the_folder_holds_every_file(run):
    folder, _, delivered = run
    found = {str(path.relative_to(folder)) for path in folder.rglob("*") if path.is_file()}
    picked = set(delivered.picks.values())
    wanted = {*TIMELESS, "manifest.json", "checkpoint"}
    wanted |= {f"designs/{name}.json" for name in delivered.names}
    drawn = [
        "front",
        "convergence",
        *(f"{kind}-{delivered.picks['knee']}" for kind in ("steel", "shape", "ends", "isostatics", "light")),
        *(f"section-{name}" for name in picked),
    ]
    wanted |= {f"figures/{name}.{kind}" for name in drawn for kind in ("png", "svg")}
    assert found == wanted


def test_front_has_units_in_its_header_and_follows_the_area(run):
    folder, _, delivered = run
    front = read_table(folder / "front.csv")
    columns = [m.column for m in MEASURES.values() if m.column in front]
    assert {"area_m2", "section_modulus_m3", "opening_m", "deflection_mm", "steel_area_cm2"} <= set(columns)
    assert (
        list(front["id"])
        == list(delivered.names)
        == [f"d{i:03d}" for i in range(1, len(delivered.names) + 1)]
    )
    assert (np.diff(front["area_m2"]) >= 0).all()
    assert (front["margin"] <= -1e-9).all()
    assert (folder / "front.csv").read_text(encoding="utf-8").startswith(f"# {CAUTION}")


def test_each_design_file_is_a_section_that_measures_and_checks_as_the_table_says(run):
    folder, _, _ = run
    done, brief = open_run(folder), load_brief(folder / "brief.toml")
    for name in done.ids:
        row, section = done.row(name), done.section(name)
        assert float(section_properties(section.strips).area) == row["area_m2"]
        checked = check_section(section, basis_of(brief), proving_of(brief))
        data = json.loads(done.path_of(name).read_text(encoding="utf-8"))
        assert checked.feasible
        assert {limit.limit.key: limit.margin for limit in checked.rows} == data["margins"]
        assert data["governing"] == checked.governing.limit.key == row["governing"]
        assert data["measures"]["opening_m"] == row["opening_m"] == checked.shown("opening")
        assert data["caution"] == CAUTION
        assert read_section(done.path_of(name)).joints == section.joints


def test_the_archive_holds_all_designs_and_agrees_with_the_outcome(run):
    folder, outcome, delivered = run
    with np.load(folder / "archive.npz", allow_pickle=False) as archive:
        assert np.array_equal(archive["x"], outcome.front.x)
        assert np.array_equal(archive["objective_values"], outcome.front.objectives)
        assert archive["objectives"].tolist() == ["area", "section_modulus", "opening"]
        assert archive["margin_values"].shape[1] == len(archive["limits"])
        rows = {row.tobytes() for row in archive["x"]}
        assert str(archive["caution"]) == CAUTION
    assert all(design.x.tobytes() in rows for design in delivered.designs)


def test_picks_are_the_best_of_the_whole_front(run):
    _, outcome, delivered = run
    best = outcome.front.objectives
    row = delivered.names.index(delivered.picks["least area"])
    assert delivered.evaluation.measures["area"][row] == best[:, 0].min()
    row = delivered.names.index(delivered.picks["most section_modulus"])
    assert delivered.evaluation.measures["section_modulus"][row] == best[:, 1].max()


def test_the_manifest_tells_what_was_run(run):
    folder, outcome, _ = run
    manifest = open_run(folder).manifest
    assert manifest["brief_sha256"] == hashlib.sha256((folder / "brief.toml").read_bytes()).hexdigest()
    assert (manifest["seed"], manifest["evaluations"]) == (3, outcome.evaluations)
    assert manifest["status"] == "BUDGET"
    assert {"python", "numpy", "longvault"} <= set(manifest["versions"])
    history = read_table(folder / "history.csv")
    assert history["hypervolume"][-1] == manifest["hypervolume"] > 0


def test_same_seed_same_bytes_also_with_two_workers(run, tmp_path):
    folder, _, _ = run
    again = tmp_path / "again"
    searched(folder / "brief.toml", again, workers=2)
    for name in TIMELESS[1:]:
        assert (again / name).read_bytes() == (folder / name).read_bytes(), name
    designs = sorted(path.name for path in (folder / "designs").iterdir())
    assert designs == sorted(path.name for path in (again / "designs").iterdir())
    for name in designs:
        assert (again / "designs" / name).read_bytes() == (folder / "designs" / name).read_bytes()


@pytest.mark.parametrize(
    ("asked", "cores", "workers"),
    [
        ({}, 2, 2),
        ({}, 64, 4),
        ({"workers": 3}, 2, 3),
        ({"workers": 1}, 2, 1),
        ({"evaluations": 20_000}, 2, 1),
        ({"evaluations": 20_000, "workers": 2}, 1, 2),
    ],
)
def test_a_long_run_uses_the_cores_unless_told_how_many(monkeypatch, asked, cores, workers):
    monkeypatch.setattr("longvault.studies.run.cores", lambda: cores)
    assert workers_of(SearchTable(**asked)) == workers


def test_another_seed_gives_another_front(run, tmp_path):
    folder, _, _ = run
    searched(folder / "brief.toml", tmp_path / "other", seed=4)
    assert (tmp_path / "other" / "front.csv").read_bytes() != (folder / "front.csv").read_bytes()


def test_no_clock_outside_the_manifest(run):
    folder, _, _ = run
    for name in ("front.csv", "history.csv", "sheet.html", "designs/d001.json", "figures/front.svg"):
        assert not re.search(r"20\d\d-\d\d-\d\d", (folder / name).read_text(encoding="utf-8")), name


def test_a_search_starts_from_a_design_that_is_given(run, tmp_path):
    folder, _, delivered = run
    given = tmp_path / "mine.json"
    given.write_bytes((folder / "designs" / "d002.json").read_bytes())
    path = small_brief("reading-hall", tmp_path, start_sections='["mine.json"]')
    job = make_job(load_brief(path), folder=tmp_path)
    assert np.array_equal(job.problem.seeds[0], delivered.designs[1].x)
    outcome, _ = run_job(job, fresh_folder(tmp_path / "out"))
    found = outcome.front.objectives
    start = np.array(
        [delivered.evaluation.measures[key][1] for key in ("area", "section_modulus", "opening")]
    )
    assert ((found - start) * [1, -1, -1] <= 0).all(axis=1).any(), (
        "the given design is there, or a better one"
    )
    again = load_brief(tmp_path / "out" / "brief.toml")
    assert again.section.start_sections == ("starts/1.json",), "the run folder is complete by itself"
    assert make_job(again, folder=tmp_path / "out").problem.key == job.problem.key


def test_a_start_of_another_family_is_refused(run, tmp_path):
    folder, _, _ = run
    (tmp_path / "hall.json").write_bytes((folder / "designs" / "d001.json").read_bytes())
    path = small_brief("market-hall", tmp_path, start_sections='["hall.json"]')
    with pytest.raises(ValueError, match="it is a gull-wing, the brief asks for a vault"):
        make_job(load_brief(path), folder=tmp_path)
    (tmp_path / "hall.json").write_text("[]")
    with pytest.raises(ValueError, match="cannot be started from"):
        make_job(load_brief(path), folder=tmp_path)


def test_a_place_that_is_taken_is_left_alone(tmp_path):
    (tmp_path / "notes.txt").write_text("precious")
    with pytest.raises(RecordError, match="is not empty; give another folder"):
        fresh_folder(tmp_path)
    with pytest.raises(RecordError, match=r"holds notes.txt, so it is no run folder"):
        fresh_folder(tmp_path, overwrite=True)
    assert (tmp_path / "notes.txt").read_text() == "precious"
    with pytest.raises(RecordError, match="is a file"):
        fresh_folder(tmp_path / "notes.txt")
    with pytest.raises(RecordError, match="cannot be written"):
        fresh_folder(tmp_path / "notes.txt" / "run")


def test_an_old_run_is_replaced_when_told(run, tmp_path):
    folder, _, _ = run
    out = tmp_path / "out"
    searched(folder / "brief.toml", out, deliver=8)
    with pytest.raises(RecordError):
        fresh_folder(out)
    fresh_folder(out, overwrite=True)
    assert sorted(path.name for path in out.rglob("*")) == ["designs", "figures"]


def test_a_state_written_again_leaves_nothing_of_the_one_before(run, tmp_path, monkeypatch):
    monkeypatch.setattr("longvault.studies.run_figures.first_figures", lambda checked: {})  # the slow ones
    folder, _, _ = run
    brief = load_brief(folder / "brief.toml")
    fewer = brief.model_copy(update={"search": brief.search.model_copy(update={"deliver": 3})})
    out = fresh_folder(tmp_path / "out")
    run_job(make_job(brief), out)
    _, delivered = run_job(make_job(fewer), out)
    assert {path.stem for path in (out / "designs").iterdir()} == set(delivered.names)
    sections = {path.stem for path in (out / "figures").glob("section-*")}
    assert sections == {f"section-{name}" for name in delivered.picks.values()}


def test_folders_that_are_no_runs_say_so(tmp_path):
    with pytest.raises(RecordError, match="there is no such folder"):
        open_run(tmp_path / "gone")
    with pytest.raises(RecordError, match="is no run folder"):
        open_run(tmp_path)
    (tmp_path / "manifest.json").write_text('{"status": "RUNNING"}')
    with pytest.raises(RecordError, match="under way or was broken off; begin it again"):
        open_run(tmp_path)
    (tmp_path / "manifest.json").write_text('{"status": "BUDGET"}')
    with pytest.raises(RecordError, match="cannot be read as a run"):
        open_run(tmp_path)
    (tmp_path / "front.csv").write_text("a,b\n1,2\n")
    with pytest.raises(RecordError, match="cannot be read as a run"):
        open_run(tmp_path)


def test_every_file_of_a_run_carries_the_caution(run):
    folder, _, _ = run
    for path in folder.rglob("*"):
        if path.suffix in (".csv", ".json", ".html", ".svg", ".toml"):
            text = re.sub(r"\s+", " ", re.sub("<[^>]*>", " ", path.read_text(encoding="utf-8")))
            assert "licensed engineer decide" in text, path
        elif path.suffix == ".png":
            assert CAUTION.encode() in path.read_bytes(), path


def test_what_was_found_is_safe_when_a_figure_fails(run, tmp_path, monkeypatch):
    def fail(*args):
        raise RuntimeError("no ink")

    monkeypatch.setattr("longvault.studies.run_figures.draw_figures", fail)
    folder, _, delivered = run
    with pytest.raises(RuntimeError, match="no ink"):
        searched(folder / "brief.toml", tmp_path / "out")
    assert open_run(tmp_path / "out").ids == delivered.names


def test_archive_bytes_depend_on_the_arrays_alone():
    arrays = {"a": np.arange(6.0).reshape(2, 3), "names": np.array(["x", "yy"])}
    assert npz_bytes(arrays) == npz_bytes({k: v.copy() for k, v in arrays.items()})
    assert npz_bytes(arrays) != npz_bytes({"a": arrays["a"] + 1, "names": arrays["names"]})
