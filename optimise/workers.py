"""Spreading an evaluation over workers: the same bits for any number of them."""

import os
import signal
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from itertools import pairwise
from multiprocessing import get_context, parent_process, resource_tracker
from threading import Thread
from typing import Any

import numpy as np

from longvault.optimise.problem import Designs, Evaluate, Problem, Scores
from longvault.sections.symbols import Array

MapBlocks = Callable[[Callable[[Array], Scores], Sequence[Array]], Iterable[Scores]]
"""Like the built-in ``map``; an executor's ``map`` will do."""

_problem: list[Problem] = []
"""The problem a worker process was started with."""


def scorer(
    problem: Problem, map_blocks: MapBlocks, blocks: int, function: Evaluate | None = None
) -> Callable[[Array], Designs]:
    """Return a function that scores designs x (N, d) in nearly equal blocks through ``map_blocks``.

    ``function`` is the problem's ``evaluate`` (the default) or its ``screen``.
    """
    wanted = problem.evaluate if function is None else function
    if isinstance(blocks, bool) or not isinstance(blocks, int) or blocks < 1:
        raise ValueError(f"blocks: got {blocks!r}; must be a whole number of 1 or more")

    def score(x: Array) -> Designs:
        cuts = np.linspace(0, len(x), min(blocks, len(x)) + 1).astype(int)
        parts = [x[a:b] for a, b in pairwise(cuts)]
        done = list(map_blocks(wanted, parts))
        if len(done) == 1:
            return problem.designs(x, done[0])
        scores = Scores(
            np.concatenate([np.asarray(s.objectives) for s in done]),
            np.concatenate([np.asarray(s.margins) for s in done]),
        )
        return problem.designs(x, scores)

    return score


@contextmanager
def process_workers(problem: Problem, workers: int) -> Iterator[MapBlocks]:
    """Start worker processes for a problem and yield a `MapBlocks` that uses them.

    Worth it where one block takes 50 ms or more; below that one process is quicker. The problem is sent
    once, to each worker as it starts, so ``problem.evaluate`` must be picklable (a function of a module or
    a method of a picklable object). When a worker dies, its blocks are evaluated here instead.

    Parameters
    ----------
    problem : Problem
    workers : int
        1 evaluates in this process.
    """
    if isinstance(workers, bool) or not isinstance(workers, int) or workers < 1:
        raise ValueError(f"workers: got {workers!r}; must be a whole number of 1 or more")
    if workers == 1:
        yield map
        return
    pool = ProcessPoolExecutor(workers, get_context("spawn"), _start, (problem,))
    try:
        with deaf_children():
            for _ in range(workers):  # each starts one: none is idle yet
                pool.submit(os.getpid)
        yield _mapper(pool, problem)
    finally:
        pool.shutdown(wait=True, cancel_futures=True)


@contextmanager
def deaf_children() -> Iterator[None]:
    """Let processes started here never hear Ctrl-C, not even while they import; this one hears it after.

    The set of blocked signals is inherited (POSIX, fork and exec). Elsewhere workers are deaf once they have
    started (`_start`).
    """
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    resource_tracker.ensure_running()  # its start would unblock the signal again
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)


def _mapper(pool: ProcessPoolExecutor, problem: Problem) -> MapBlocks:
    def map_blocks(evaluate: Callable[[Array], Scores], blocks: Sequence[Array]) -> list[Scores]:
        try:
            return list(pool.map(_work if evaluate == problem.evaluate else _screen, blocks))
        except (BrokenProcessPool, RuntimeError):  # RuntimeError: the pool was shut down after it broke
            return list(map(evaluate, blocks))

    return map_blocks


def _start(problem: Problem) -> None:
    """Prepare a worker: Ctrl-C is left to the parent; a worker does not outlive it."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    Thread(target=_leave_with_parent, daemon=True).start()
    _problem[:] = [problem]


def _leave_with_parent() -> None:
    """End a worker whose parent was killed: nobody is left to read what it finds."""
    parent = parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)


def _work(block: Array) -> Any:
    return _problem[0].evaluate(block)


def _screen(block: Array) -> Any:
    screen = _problem[0].screen
    return _problem[0].evaluate(block) if screen is None else screen(block)
