"""However a run ends, exit status, manifest, files and words agree."""

from dataclasses import replace
from importlib import import_module

import numpy as np
import pytest

from longvault.optimise import Status, search
from longvault.studies import run as runs
from longvault.studies.brief import load_brief
from longvault.studies.cli.group import INTERRUPTED
from longvault.studies.record import RecordError, fresh_folder, open_run

from .sections_at_hand import run, small_brief

pytestmark = pytest.mark.usefixtures("no_figures")


@pytest.fixture(scope="module")
def found(tmp_path_factory):
    """A brief with its job and the outcome of its search."""
    brief = small_brief("market-hall", tmp_path_factory.mktemp("ends"), evaluations=1200)
    job = runs.make_job(load_brief(brief))
    return brief, job, search(job.problem, runs.settings_of(job.brief))


def ending(monkeypatch, folder, brief, outcome):
    """Run the command with a search that ends as told."""
    monkeypatch.setattr(runs, "search", lambda *args, **options: outcome)
    monkeypatch.setattr(runs, "beam_alone", lambda *args: (1, 7))
    return run("search", brief, "--out", folder, "--quiet")


def without_front(outcome, nearest):
    return replace(
        outcome, status=Status.NOTHING_FEASIBLE, front=outcome.front.take(slice(0)), nearest=nearest
    )


def failing(job):
    """A design the family starts from that fails its limits."""
    starts = job.problem.score(job.problem.snap(np.asarray(job.problem.seeds)))
    return starts.take(~starts.feasible).take(slice(0, 1))


def test_a_nearest_design_that_proves_to_hold_every_limit_is_delivered(found, tmp_path, monkeypatch):
    brief, _, outcome = found
    outcome = without_front(outcome, outcome.front.take(slice(3, 4)))
    result = ending(monkeypatch, tmp_path / "run", brief, outcome)
    assert result.exit_code == 0, result.output
    assert "0 designs on the front after" in result.stdout
    assert "the nearest one holds every limit at fine resolution and is delivered" in result.stdout
    done = open_run(tmp_path / "run")
    assert done.ids == ("d001",)
    assert (done.manifest["status"], done.manifest["delivered"], done.manifest["archive"]) == ("BUDGET", 1, 0)
    assert "fine resolution" in done.manifest["sentence"]
    assert done.manifest["picks"]["knee"] == "d001"
    assert [path.name for path in (tmp_path / "run" / "designs").iterdir()] == ["d001.json"]
    assert run("check", brief, "--section", f"{tmp_path / 'run'}:d001").exit_code == 0
    assert run("show", tmp_path / "run", "--pick", "knee").exit_code == 0


def test_a_nearest_design_that_fails_ends_with_status_1_everywhere(found, tmp_path, monkeypatch):
    brief, job, outcome = found
    result = ending(monkeypatch, tmp_path / "run", brief, without_front(outcome, failing(job)))
    assert result.exit_code == 1, result.output
    assert "No design holds every limit" in result.stderr
    assert "refused" not in result.stderr
    done = open_run(tmp_path / "run")
    assert (done.ids, done.manifest["status"], done.manifest["delivered"]) == ((), "NOTHING_FEASIBLE", 0)


def test_a_front_that_the_fine_proof_refuses_as_a_whole_is_nothing_feasible(found, tmp_path, monkeypatch):
    brief, job, outcome = found
    result = ending(monkeypatch, tmp_path / "run", brief, replace(outcome, front=failing(job)))
    assert result.exit_code == 1, result.output
    assert "The folded plate at fine resolution refused 1 of the 1 chosen" in result.stderr
    done = open_run(tmp_path / "run")
    assert (done.ids, done.manifest["status"]) == ((), "NOTHING_FEASIBLE")


def test_designs_that_the_folded_plate_refuses_are_told_beside_those_found(found, tmp_path, monkeypatch):
    _, job, outcome = found
    brief = small_brief("market-hall", tmp_path, evaluations=1200, folded_plate='"front-only"')
    front = outcome.front.take(slice(0, 3)).joined(failing(job))
    result = ending(monkeypatch, tmp_path / "run", brief, replace(outcome, front=front))
    assert result.exit_code == 0, result.output
    first, second = result.stdout.splitlines()[:2]
    assert first.startswith("4 designs on the front")
    assert "; 3 delivered" in first
    assert second == "The folded plate at fine resolution refused 1 of the 4 chosen from the front."


def test_after_a_stop_nothing_is_searched_again(found, tmp_path, monkeypatch):
    brief, _, outcome = found
    for stopped, said, alone in ((Status.USER, True, None), (Status.BUDGET, False, [1, 7])):
        folder = tmp_path / stopped.name
        result = ending(monkeypatch, folder, brief, replace(outcome, status=stopped, stopped=stopped))
        assert result.exit_code == 0, result.output
        assert ("Stopped, so left out: how many designs of beam theory alone" in result.stdout) is said
        assert open_run(folder).manifest["folded_plate"]["refused_of_beam_alone"] == alone
        assert len(open_run(folder).ids) >= 3


@pytest.mark.parametrize("families", ["[]", '["vault", "parabola-vault"]'])
def test_a_stop_before_the_first_generation_leaves_a_run_to_resume(families, tmp_path, monkeypatch):
    one = '"vault"' if families == "[]" else '""'
    brief = small_brief("market-hall", tmp_path, evaluations=800, family=one, families=families)
    folder, turns = tmp_path / "run", import_module("longvault.optimise.search")

    def stop(*args):
        raise KeyboardInterrupt

    with monkeypatch.context() as patched:
        patched.setattr(turns, "step", stop)
        result = run("search", brief, "--out", folder, "--quiet")
    assert (result.exit_code, result.stderr, result.stdout) == (INTERRUPTED, "Stopped.\n", "")
    with pytest.raises(RecordError, match="go on with longvault search --resume"):
        open_run(folder)
    result = run("search", brief, "--out", folder, "--quiet", "--resume")
    assert result.exit_code == 0, result.output
    whole = fresh_folder(tmp_path / "whole")
    runs.run_job(runs.make_job(load_brief(brief)), whole)
    assert (folder / "front.csv").read_bytes() == (whole / "front.csv").read_bytes()
