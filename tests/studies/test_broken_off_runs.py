"""Runs that were killed: gone on with whatever they had kept, replaced when told, never a dead end."""

import json
import os
import shutil
import signal
import subprocess
import sys

import pytest

from longvault.studies.briefs import starter_text
from longvault.studies.cli.group import INTERRUPTED
from longvault.studies.record import RecordError, fresh_folder, open_run

from .sections_at_hand import run, small_brief

pytestmark = pytest.mark.usefixtures("no_figures")

KEPT = ("front.csv", "archive.npz", "history.csv", "brief.toml", "sheet.html")


@pytest.fixture(scope="module")
def whole(tmp_path_factory):
    folder = tmp_path_factory.mktemp("whole")
    brief = small_brief("classroom", folder)
    assert run("search", brief, "--out", folder / "run", "--quiet").exit_code == 0
    return brief, folder / "run"


def killed(whole, folder):
    """Leave what a kill leaves before the first state is kept: the brief, and a manifest of a run begun."""
    fresh_folder(folder)
    (folder / "brief.toml").write_bytes((whole[1] / "brief.toml").read_bytes())
    (folder / "manifest.json").write_text(json.dumps({"status": "RUNNING"}))
    (folder / ".checkpoint.0a1b2c.part").write_bytes(b"half")


def test_a_run_killed_before_its_first_state_is_resumed_to_the_same_bits(whole, tmp_path):
    brief, folder = whole
    killed(whole, tmp_path / "run")
    with pytest.raises(RecordError, match="go on with longvault search --resume"):
        open_run(tmp_path / "run")
    assert run("search", brief, "--out", tmp_path / "run", "--resume", "--quiet").exit_code == 0
    for name in KEPT:
        assert (tmp_path / "run" / name).read_bytes() == (folder / name).read_bytes(), name
    assert open_run(tmp_path / "run").ids == open_run(folder).ids


def test_a_finished_run_that_lost_its_state_is_not_begun_again(whole, tmp_path):
    killed(whole, tmp_path / "run")
    (tmp_path / "run" / "manifest.json").write_text(json.dumps({"status": "BUDGET"}))
    result = run("search", whole[0], "--out", tmp_path / "run", "--resume", "--quiet")
    assert result.exit_code == 2
    assert "holds no run to go on with" in result.stderr


def test_a_file_written_by_half_does_not_keep_a_run_from_being_replaced(whole, tmp_path):
    killed(whole, tmp_path / "run")
    fresh_folder(tmp_path / "run", overwrite=True)
    assert sorted(path.name for path in (tmp_path / "run").rglob("*")) == ["designs", "figures"]
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine" / ".film.part").write_text("precious")
    with pytest.raises(RecordError, match="it is no run folder"):
        fresh_folder(tmp_path / "mine", overwrite=True)
    assert (tmp_path / "mine" / ".film.part").read_text() == "precious"


@pytest.mark.skipif(os.name != "posix", reason="signals are sent as on posix")
def test_ctrl_c_outside_the_search_has_a_status_of_its_own(tmp_path):
    (tmp_path / "brief.toml").write_text(starter_text("classroom"), encoding="utf-8")
    code = (
        "import longvault.studies.run as run, os, signal, time\n"
        "def make_job(*args, **options):\n"
        "    os.kill(os.getpid(), signal.SIGINT)\n"
        "    time.sleep(60)\n"
        "run.make_job = make_job\n"
        "from longvault.studies.cli import main; main()\n"
    )
    line = [sys.executable, "-c", code, "search", "brief.toml", "--out", "run"]
    done = subprocess.run(line, cwd=tmp_path, capture_output=True, text=True, timeout=60)
    assert (done.returncode, done.stderr.strip(), done.stdout) == (INTERRUPTED, "Stopped.", "")
    assert INTERRUPTED == 128 + signal.SIGINT


def test_a_design_that_was_spoilt_is_named_with_what_it_lacks(whole, tmp_path):
    shutil.copytree(whole[1], tmp_path / "run")
    (tmp_path / "run" / "designs" / "d001.json").write_text("{}")
    result = run("show", tmp_path / "run", "--pick", "d001")
    assert result.exit_code == 2
    assert "d001.json: cannot be read as a design (it has no 'name')" in result.stderr
