import hashlib
import subprocess
import sys
import time
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from longvault.optimise import SearchSettings, StateError, Status, load_state, save_state, search

from .conftest import disc
from .test_search import same
from .thin_wall import gull_wing


class StopAfter:
    """Ask the search to stop after so many turns."""

    def __init__(self, turns):
        self.left = turns

    def __call__(self):
        self.left -= 1
        return self.left <= 0


def digest(path):
    return hashlib.sha256(path.read_bytes()).hexdigest()


@pytest.mark.parametrize("settings", [{}, {"restarts": 3}, {"polish_share": 0.0}])
def test_stopped_at_random_turns_and_resumed_it_equals_the_uninterrupted_run(tmp_path, settings):
    problem = gull_wing()
    rules = SearchSettings(evaluations=10_000, seed=7, archive_max=60, **settings)
    whole = search(problem, rules, checkpoint=tmp_path / "whole.npz")
    turns = whole.state.generation
    rng = np.random.default_rng(11)
    for _ in range(3):
        state = None
        stops = sorted(rng.choice(np.arange(1, turns), size=3, replace=False))
        for turns_more in np.diff([0, *stops]):
            part = search(
                problem, rules, state=state, stop=StopAfter(turns_more), checkpoint=tmp_path / "part.npz"
            )
            assert part.stopped is Status.USER
            state = load_state(tmp_path / "part.npz")
        ended = search(problem, rules, state=state, checkpoint=tmp_path / "part.npz")
        assert same(ended, whole)
        assert digest(tmp_path / "part.npz") == digest(tmp_path / "whole.npz")


def test_an_extended_run_equals_one_that_was_long_from_the_start(quarter_circle):
    rules = SearchSettings(evaluations=6000, seed=1, population=50, start_evaluations=1000)
    short = search(quarter_circle, rules)
    long = replace(short.settings, evaluations=12_000)
    assert same(search(quarter_circle, long, state=short.state), search(quarter_circle, long))


def test_a_saved_state_comes_back_the_same(tmp_path, quarter_circle):
    state = search(quarter_circle, SearchSettings(evaluations=3000, seed=1)).state
    save_state(state, tmp_path / "a.npz")
    save_state(load_state(tmp_path / "a.npz"), tmp_path / "b.npz")
    assert digest(tmp_path / "a.npz") == digest(tmp_path / "b.npz")
    assert sorted(p.name for p in tmp_path.iterdir()) == ["a.npz", "b.npz"]


def test_a_failed_write_leaves_the_old_file(tmp_path, quarter_circle, monkeypatch):
    state = search(quarter_circle, SearchSettings(evaluations=500, seed=1)).state
    path = tmp_path / "state.npz"
    save_state(state, path)
    before = digest(path)

    def full_disk(*_args, **_arrays):
        raise OSError("no space left")

    monkeypatch.setattr(np, "savez", full_disk)
    with pytest.raises(OSError, match="no space left"):
        save_state(state, path)
    assert digest(path) == before
    assert [p.name for p in tmp_path.iterdir()] == ["state.npz"]


def test_another_problem_is_refused_and_the_difference_named(quarter_circle):
    state = search(quarter_circle, SearchSettings(evaluations=500, seed=1)).state
    for change, name in (
        ({"upper": [2.0, 3.0]}, "upper"),
        ({"key": "another brief"}, "key"),
        ({"step": [0.1, 0.0]}, "step"),
        ({"margin_names": ("area",)}, "margin_names"),
        ({"seeds": [[0.0, 0.0]]}, "seeds"),
    ):
        with pytest.raises(StateError, match=f"^{name}: the run to go on with"):
            search(replace(quarter_circle, **change), state=state)


def test_other_settings_are_refused_and_the_difference_named(quarter_circle):
    state = search(quarter_circle, SearchSettings(evaluations=500, seed=1)).state
    for change in ({"seed": 2}, {"population": 77}, {"restarts": 9}, {"polish_share": 0.1}):
        (name,) = change
        with pytest.raises(ValueError, match=f"^{name}: the run to go on with began with"):
            search(quarter_circle, replace(state.settings, **change), state=state)


def test_a_damaged_or_foreign_file_is_refused_with_its_name(tmp_path, quarter_circle):
    path = tmp_path / "state.npz"
    save_state(search(quarter_circle, SearchSettings(evaluations=500, seed=1)).state, path)
    whole = path.read_bytes()
    path.write_bytes(whole[: len(whole) // 2])
    with pytest.raises(StateError, match=r"state\.npz: cannot be read"):
        load_state(path)
    np.savez(path, x=np.zeros(3))
    with pytest.raises(StateError, match=r"state\.npz: cannot be read"):
        load_state(path)
    with pytest.raises(StateError, match=r"none\.npz: cannot be read"):
        load_state(tmp_path / "none.npz")


def test_progress_and_checkpoints_change_nothing(tmp_path, quarter_circle):
    rules = SearchSettings(evaluations=3000, seed=1)
    kept = search(quarter_circle, rules, checkpoint=tmp_path / "s.npz", checkpoint_seconds=0.0)
    assert same(kept, search(replace(quarter_circle, evaluate=disc), rules))


SCRIPT = """
import sys
sys.path.insert(0, {folder!r})
from thin_wall import gull_wing
from longvault.optimise import SearchSettings, search
search(gull_wing(), SearchSettings(evaluations=40_000, seed=7), checkpoint={path!r}, checkpoint_seconds=0.0)
"""


def test_killed_by_the_system_and_resumed_it_equals_the_uninterrupted_run(tmp_path):
    path = tmp_path / "killed.npz"
    script = SCRIPT.format(folder=str(Path(__file__).parent), path=str(path))
    process = subprocess.Popen([sys.executable, "-c", script])
    try:
        deadline = time.monotonic() + 30
        while not path.exists() and time.monotonic() < deadline:
            time.sleep(0.01)
        time.sleep(0.2)
    finally:
        process.kill()
        process.wait()
    state = load_state(path)
    assert 0 < state.evaluations < 40_000 - 3000
    problem = gull_wing()
    resumed = search(problem, state=state, checkpoint=path)
    search(problem, SearchSettings(evaluations=40_000, seed=7), checkpoint=tmp_path / "whole.npz")
    assert resumed.stopped is Status.BUDGET
    assert digest(path) == digest(tmp_path / "whole.npz")
