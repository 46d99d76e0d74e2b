"""Spreading an evaluation over workers: the same bits for any number of them."""

import os
import signal
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from multiprocessing import get_context, parent_process, resource_tracker
from threading import Thread
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from longvault.constraints.threads import one_core
from longvault.optimise.memory import keep_memory
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
        count = max(min(blocks, len(x)), 1)  # neighbours of one design cost alike: dealt out in turn
        parts = [np.ascontiguousarray(x[i::count]) for i in range(count)]
        done = list(map_blocks(wanted, parts))
        if len(done) == 1:
            return problem.designs(x, done[0])
        names = ("objectives", "margins")
        return problem.designs(x, Scores(*(_dealt([getattr(s, name) for s in done]) for name in names)))

    return score


def _dealt(parts: Sequence[ArrayLike]) -> Array:
    """Rows in their order from parts that hold each so-and-so-many-th.

    Examples
    --------
    >>> _dealt([np.array([[0.0], [2.0]]), np.array([[1.0]])]).ravel().tolist()
    [0.0, 1.0, 2.0]
    """
    rows = [np.asarray(part, dtype=np.float64) for part in parts]
    whole = np.empty((sum(map(len, rows)), *rows[0].shape[1:]))
    for i, part in enumerate(rows):
        whole[i :: len(rows)] = part
    return whole


@contextmanager
def process_workers(problem: Problem, workers: int) -> Iterator[MapBlocks]:
    """Start worker processes for a problem and yield a `MapBlocks` that uses them.

    This process is one of the workers, and works alone until the others have come up. Worth it where one
    block takes 50 ms or more; below that one process is quicker. The problem is sent once, to each worker as
    it starts, so ``problem.evaluate`` must be picklable (a function of a module or a method of a picklable
    object). When a worker dies, its blocks are evaluated here instead.

    Parameters
    ----------
    problem : Problem
    workers : int
        1 evaluates in this process.
    """
    if isinstance(workers, bool) or not isinstance(workers, int) or workers < 1:
        raise ValueError(f"workers: got {workers!r}; must be a whole number of 1 or more")
    keep_memory()
    if workers == 1:
        yield map
        return
    others = workers - 1
    pool = ProcessPoolExecutor(others, get_context("spawn"), _start, (problem,))
    seeds = problem.snap(np.asarray(problem.seeds))
    try:
        with deaf_children():  # each starts one: none is idle yet
            ready = [
                pool.submit(_work, seeds) if len(seeds) else pool.submit(os.getpid) for _ in range(others)
            ]
        with one_core():
            yield _mapper(pool, problem, workers, ready)
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


def _mapper(
    pool: ProcessPoolExecutor, problem: Problem, workers: int, ready: Sequence[Future[Any]]
) -> MapBlocks:
    def map_blocks(evaluate: Callable[[Array], Scores], blocks: Sequence[Array]) -> list[Scores]:
        if not all(one.done() and one.exception() is None for one in ready):
            return list(map(evaluate, blocks))
        function = _work if evaluate == problem.evaluate else _screen
        sent = {i: _sent(pool, function, block) for i, block in enumerate(blocks) if i % workers}
        own = {i: evaluate(block) for i, block in enumerate(blocks) if i not in sent}
        return [own[i] if i in own else _received(sent[i], evaluate, blocks[i]) for i in range(len(blocks))]

    return map_blocks


def _sent(pool: ProcessPoolExecutor, function: Callable[[Array], Any], block: Array) -> Future[Any] | None:
    try:
        return pool.submit(function, block)
    except (BrokenProcessPool, RuntimeError):  # RuntimeError: the pool was shut down after it broke
        return None


def _received(answer: Future[Any] | None, evaluate: Callable[[Array], Scores], block: Array) -> Scores:
    """Wait for the scores of a block; evaluate it here if the worker that had it died."""
    try:
        return evaluate(block) if answer is None else answer.result()
    except BrokenProcessPool:
        return evaluate(block)


def _start(problem: Problem) -> None:
    """Prepare a worker: Ctrl-C is left to the parent; a worker does not outlive it."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    Thread(target=_leave_with_parent, daemon=True).start()
    keep_memory()
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
