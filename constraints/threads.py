"""Sharing work out to the cores of one process: compiled kernels let go of the interpreter while they run."""

import os
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from multiprocessing import parent_process
from typing import TypeVar

Part = TypeVar("Part")
Result = TypeVar("Result")


_beside_others: list[bool] = []
"""Marks of `one_core` that stand."""


@contextmanager
def one_core() -> Iterator[None]:
    """Let this process use one core: it is a worker among others."""
    _beside_others.append(True)
    try:
        yield
    finally:
        _beside_others.pop()


def cores() -> int:
    """Return the cores that this process may use: one where it is a worker among others."""
    if parent_process() is not None or _beside_others:
        return 1
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


def in_threads(job: Callable[[Part], Result], parts: Sequence[Part]) -> list[Result]:
    """Return the job done for each part, in order, by as many threads as there are cores.

    Examples
    --------
    >>> in_threads(abs, [-1, 2, -3])
    [1, 2, 3]
    """
    threads = min(cores(), len(parts))
    if threads < 2:
        return [job(part) for part in parts]
    with ThreadPoolExecutor(threads) as pool:
        return list(pool.map(job, parts))
