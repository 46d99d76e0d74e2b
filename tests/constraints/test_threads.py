"""Threads: order kept, one in a worker process, and the same bits whatever their number."""

from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context

import numpy as np
import pytest
from roofs import basis_for, designs_for, family_for

from longvault.constraints import threads
from longvault.constraints.proof import Proving
from longvault.optimise import section_problem as module


def test_a_worker_process_uses_one_core():
    with ProcessPoolExecutor(1, get_context("spawn")) as pool:
        assert pool.submit(threads.cores).result() == 1


def test_a_process_beside_workers_uses_one_core():
    with threads.one_core():
        assert threads.cores() == 1
    assert threads.cores() >= 1


def test_order_and_errors(monkeypatch):
    monkeypatch.setattr(threads, "cores", lambda: 3)
    assert threads.in_threads(lambda i: i * i, range(7)) == [0, 1, 4, 9, 16, 25, 36]
    with pytest.raises(ZeroDivisionError):
        threads.in_threads(lambda i: 1 // i, [2, 0])


@pytest.mark.parametrize("count", [3, 40])
def test_same_bits(monkeypatch, count):
    family = family_for("gull-wing")
    problem = module.section_problem(
        family, family.variables, basis_for("gull-wing"), ("area", "opening"), proving=Proving(strut=1e8),
        always=True,
    )  # fmt: skip
    x, found = designs_for("gull-wing", count), []
    for number in (1, 3):
        monkeypatch.setattr(threads, "cores", lambda n=number: n)
        monkeypatch.setattr(module, "cores", lambda n=number: n)
        both = problem.evaluate.evaluation(x), problem.evaluate.proved(x[:2], Proving(strut=1e8))
        found.append(np.concatenate([one.margins for one in both]))
    np.testing.assert_array_equal(*found)
