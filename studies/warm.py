"""Compile the kernels on two cores before a first run needs them; later runs find them kept on disk."""

from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import suppress
from dataclasses import replace
from multiprocessing import get_context
from pathlib import Path

import numpy as np

from longvault.optimise import Problem
from longvault.optimise.section_designs import parts_of
from longvault.optimise.section_problem import SectionScores
from longvault.optimise.workers import deaf_children
from longvault.sections.symbols import Array

SAMPLE = 4
"""Designs evaluated to have every kernel compiled."""


def is_cold() -> bool:
    """Whether the last kernels a search needs are not on disk yet."""
    from longvault.constraints.cracked_kernels import cracked_rows

    return not any(Path(cracked_rows.stats.cache_path).glob("cracked_kernels.cracked_rows-*.nbi"))


def warm(problem: Problem) -> None:
    """Evaluate a few designs: checks of concrete in a second process, all else in this one.

    Only for programs whose main module may be started again (a spawned process imports it). A second
    process that cannot be had costs time and nothing else.
    """
    scores, _, own = parts_of(problem, problem.snap(np.asarray(problem.seeds)))[0]
    x = own[:SAMPLE]
    concrete = replace(scores, basis=replace(scores.basis, daylight=None, crosswise=None), proving=None)
    others = replace(scores, basis=replace(scores.basis, concrete_settings=None), always=True)
    with suppress(BrokenProcessPool, OSError), ProcessPoolExecutor(1, get_context("spawn")) as pool:
        with deaf_children():
            second = pool.submit(_evaluate, concrete, x)
        _evaluate(others, x)
        second.result()


def _evaluate(scores: SectionScores, x: Array) -> None:
    scores.evaluation(x, every=True)
    if scores.proving is not None:
        scores.proved(x[:1], scores.proving)
