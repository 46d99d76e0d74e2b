import importlib
import os
import signal
import subprocess
import sys
import time
from concurrent.futures import ThreadPoolExecutor

import numpy as np
import pytest

from longvault.optimise import Objective, Problem, SearchSettings, process_workers, search

from .test_search import same
from .thin_wall import barrel

SETTINGS = SearchSettings(evaluations=6000, seed=1, population=200)


MODULE = """
import os
from pathlib import Path

import numpy as np
from longvault.optimise import Scores


def plain(x):
    return Scores(np.stack([x[:, 0], x[:, 1] * np.exp(x[:, 0])], axis=1), np.empty((len(x), 0)))


class Marking:
    # evaluates like plain; leaves a mark in another process, and may end it there, once

    def __init__(self, marker, dying):
        self.marker, self.home, self.dying = Path(marker), os.getpid(), dying

    def __call__(self, x):
        if os.getpid() != self.home and not self.marker.exists():
            self.marker.touch()
            if self.dying:
                os._exit(1)
        return plain(x)
"""


@pytest.fixture
def functions(tmp_path, monkeypatch):
    """A module that worker processes can import, as they import a user's own."""
    (tmp_path / "worker_functions.py").write_text(MODULE)
    monkeypatch.syspath_prepend(str(tmp_path))
    monkeypatch.delitem(sys.modules, "worker_functions", raising=False)
    return importlib.import_module("worker_functions")


def problem_of(evaluate):
    return Problem([0.0, 0.0], [1.0, 1.0], (Objective("a"), Objective("b", "max")), evaluate)


@pytest.mark.parametrize("blocks", [2, 3, 7, 1000])
def test_any_number_of_blocks_gives_the_same_bytes(blocks):
    assert same(search(barrel(), SETTINGS), search(barrel(), SETTINGS, blocks=blocks))


def test_threads_give_the_same_bytes():
    with ThreadPoolExecutor(2) as pool:
        assert same(search(barrel(), SETTINGS), search(barrel(), SETTINGS, map_blocks=pool.map, blocks=4))


@pytest.mark.parametrize("dying", [False, True])
def test_processes_give_the_same_bytes_and_a_dead_one_costs_time_alone(functions, tmp_path, dying):
    """They take their part once they have come up; until then this process works alone."""
    marker, until = tmp_path / "marked", time.monotonic() + 60
    problem, blocks = problem_of(functions.Marking(marker, dying)), np.random.default_rng(0).random((4, 3, 2))
    with process_workers(problem, 2) as map_blocks:
        while not marker.exists() and time.monotonic() < until:
            time.sleep(0.05)
            for block, scores in zip(blocks, map_blocks(problem.evaluate, blocks), strict=True):
                assert scores.objectives.tobytes() == functions.plain(block).objectives.tobytes()
        spread = search(problem, SETTINGS, map_blocks=map_blocks, blocks=4)
    assert marker.exists()
    assert same(spread, search(problem_of(functions.plain), SETTINGS))


SLOW = """
import sys
import time
from pathlib import Path

import numpy as np
from longvault.optimise import Objective, Problem, Scores, SearchSettings, process_workers, search

if __name__ == "__mp_main__":  # a worker imports
    Path(sys.argv[1]).touch()
    time.sleep(1.0)


def plain(x):
    return Scores(np.stack([x[:, 0], x[:, 1] - x[:, 0]], axis=1), np.empty((len(x), 0)))


if __name__ == "__main__":
    problem = Problem([0.0, 0.0], [1.0, 1.0], (Objective("a"), Objective("b")), plain)
    with process_workers(problem, 2) as map_blocks:
        outcome = search(problem, SearchSettings(10_000_000, seed=1), map_blocks=map_blocks, blocks=2)
    print(outcome.stopped.name)
"""


@pytest.mark.skipif(os.name != "posix", reason="signals are sent as on posix")
def test_ctrl_c_while_workers_import_is_heard_by_the_parent_alone(tmp_path):
    """A terminal sends it to all of them; a worker that hears it while it imports prints where it was."""
    script, marker = tmp_path / "slow.py", tmp_path / "importing"
    script.write_text(SLOW)
    line = [sys.executable, str(script), str(marker)]
    pipes = {"stdout": subprocess.PIPE, "stderr": subprocess.PIPE, "text": True}
    with subprocess.Popen(line, start_new_session=True, **pipes) as process:
        until = time.monotonic() + 60
        while not marker.exists() and time.monotonic() < until:
            time.sleep(0.05)
        imported = marker.exists()
        os.killpg(process.pid, signal.SIGINT)
        out, err = process.communicate(timeout=60)
    assert imported
    assert (out, err, process.returncode) == ("USER\n", "", 0)


@pytest.mark.parametrize("value", [0, -1, 1.5, True])
def test_bad_counts_are_refused_by_name(value):
    with pytest.raises(ValueError, match=r"^blocks: got"):
        search(barrel(), SETTINGS, blocks=value)
    with pytest.raises(ValueError, match=r"^workers: got"), process_workers(barrel(), value):
        pass
