"""The search: generations until a stop rule holds, with progress, checkpoints and a clean end."""

import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from longvault.optimise.generation import flushed
from longvault.optimise.history import gain, history_of, hypervolume_of
from longvault.optimise.outcome import Outcome, Status
from longvault.optimise.problem import Problem
from longvault.optimise.settings import SearchSettings
from longvault.optimise.state import SearchState, begin, check_problem, save_state
from longvault.optimise.turns import step
from longvault.optimise.workers import MapBlocks, scorer

IDLE_MOST = 10
"""Generations in a row without a new design after which the search is exhausted."""


@dataclass(frozen=True, slots=True)
class Progress:
    """What the progress callback is told after each generation.

    Parameters
    ----------
    evaluations, budget : int
        Made and allowed.
    members : int
        Designs in the archive.
    hypervolume : float
        At the latest record, against the problem's reference or, without one, a reference that moves with the
        front: good for a sign of life; the curve to keep is in the outcome's history.
    feasible_share : float
        Share of the evaluated designs that were found to hold every limit (see `Outcome`).
    """

    evaluations: int
    budget: int
    members: int
    hypervolume: float
    feasible_share: float


def search(
    problem: Problem,
    settings: SearchSettings | None = None,
    *,
    state: SearchState | None = None,
    map_blocks: MapBlocks = map,
    blocks: int = 1,
    progress: Callable[[Progress], object] | None = None,
    stop: Callable[[], bool] | None = None,
    checkpoint: str | Path | None = None,
    checkpoint_seconds: float = 10.0,
) -> Outcome:
    """Search a problem for its whole trade-off.

    Parameters
    ----------
    problem : Problem
    settings : SearchSettings, optional
        Budget, seed, population ... The defaults otherwise.
    state : SearchState, optional
        A saved state to go on from (`load_state`). The result equals that of a run never interrupted, bit
        for bit. To extend it pass ``dataclasses.replace(state.settings, evaluations=...)``.
    map_blocks : callable
        Like the built-in ``map``: applies a function to blocks of designs, in order. An executor's ``map``
        spreads a generation over workers (see `longvault.optimise.workers`).
    blocks : int
        Number of blocks a generation is cut into; results do not depend on it.
    progress : callable, optional
        Told a `Progress` after each generation.
    stop : callable, optional
        Asked after each generation; True ends the search. Ctrl-C does the same at any moment.
    checkpoint : path, optional
        File to keep the state in, written atomically every ``checkpoint_seconds`` and at the end.
    checkpoint_seconds : float

    Returns
    -------
    Outcome
        Complete in every case; with no feasible design its ``nearest`` holds the one of least violation.

    Raises
    ------
    ValueError
        If a state is given that belongs to another problem or to other settings.

    Examples
    --------
    >>> import numpy as np
    >>> from longvault.optimise import Objective, Problem, Scores, SearchSettings, search
    >>> def parabolas(x):
    ...     return Scores(np.hstack([x**2, (x - 2) ** 2]), 1.0 - x)   # limit: x >= 1
    >>> problem = Problem([-3.0], [3.0], [Objective("near 0"), Objective("near 2")], parabolas, ["x"])
    >>> outcome = search(problem, SearchSettings(evaluations=2000, seed=1))
    >>> outcome.status.name, outcome.front.x.min().round(2).item(), outcome.front.x.max().round(2).item()
    ('BUDGET', 1.0, 2.0)
    """
    if state is None:
        state = begin(problem, settings or SearchSettings())
        rules = state.settings
    else:
        check_problem(state, problem)
        rules = (settings or state.settings).resumed(state.settings)
    score = scorer(problem, map_blocks, blocks)
    screen = None if problem.screen is None else scorer(problem, map_blocks, blocks, problem.screen)
    keeper = _Keeper(checkpoint, checkpoint_seconds)
    report = _Reporter(problem, rules, progress)
    began = time.monotonic()
    stopped = _stop_rule(problem, state, rules)
    try:
        while stopped is None:
            after = step(problem, state, score, rules.evaluations, screen)
            if after is None:
                stopped = Status.BUDGET
                break
            state = after
            report(state)
            keeper.keep_if_due(state)
            stopped = _stop_rule(problem, state, rules) or _outside_stop(rules, began, stop)
    except KeyboardInterrupt:  # the generation under way is dropped: the state is that before it
        stopped = Status.USER
    keeper.keep(state)
    return outcome_of(problem, state, rules, stopped)


def _stop_rule(problem: Problem, state: SearchState, rules: SearchSettings) -> Status | None:
    """Stop rules that depend on the state alone, and so hold again when a run is replayed."""
    if state.idle >= IDLE_MOST:
        return Status.EXHAUSTED
    if rules.stall_evaluations is not None and _stalled(
        problem, state, rules.stall_evaluations, rules.stall_gain
    ):
        return Status.STALL
    return None


def _stalled(problem: Problem, state: SearchState, window: int, least: float) -> bool:
    """Whether the latest record gained too little over the one a window before; never during the starts."""
    records = state.recorder.records
    if not records or records[-1].evaluations != state.evaluations or state.start < state.settings.restarts:
        return False
    began = state.evaluations - state.start_evaluations
    before = [r for r in records if began <= r.evaluations <= state.evaluations - window]
    return bool(before) and gain(problem, before[-1], records[-1]) < least


def _outside_stop(rules: SearchSettings, began: float, stop: Callable[[], bool] | None) -> Status | None:
    if stop is not None and stop():
        return Status.USER
    if rules.time_limit is not None and time.monotonic() - began >= rules.time_limit:
        return Status.TIME
    return None


def outcome_of(problem: Problem, state: SearchState, rules: SearchSettings, stopped: Status) -> Outcome:
    """Read the result out of a state."""
    complete = flushed(problem, state)
    front = complete.archive.sorted_designs
    history = history_of(
        problem, state.recorder, front, evaluations=state.evaluations, feasible=state.feasible
    )
    return Outcome(
        status=stopped if len(front) else Status.NOTHING_FEASIBLE,
        stopped=stopped,
        front=front,
        archive=complete.archive,
        history=history,
        nearest=front.take(slice(0, 1)) if len(front) else state.nearest,
        evaluations=state.evaluations,
        feasible_share=state.feasible / max(state.evaluations, 1),
        seed=int(rules.seed or 0),
        settings=rules,
        state=state,
    )


class _Keeper:
    """Writes checkpoints, not more often than asked."""

    def __init__(self, path: str | Path | None, seconds: float) -> None:
        self.path, self.seconds, self.last = path, seconds, time.monotonic()

    def keep_if_due(self, state: SearchState) -> None:
        if self.path is not None and time.monotonic() - self.last >= self.seconds:
            self.keep(state)

    def keep(self, state: SearchState) -> None:
        if self.path is not None:
            save_state(state, self.path)
            self.last = time.monotonic()


class _Reporter:
    """Tells the progress callback where the search stands; the hypervolume is measured once a record."""

    def __init__(
        self, problem: Problem, rules: SearchSettings, tell: Callable[[Progress], object] | None
    ) -> None:
        self.problem, self.rules, self.tell = problem, rules, tell
        self.measured, self.hypervolume = -1, 0.0

    def __call__(self, state: SearchState) -> None:
        if self.tell is None:
            return
        records = state.recorder.records
        if records and records[-1].evaluations != self.measured:
            self.measured = records[-1].evaluations
            self.hypervolume = hypervolume_of(self.problem, records[-1])
        share = state.feasible / max(state.evaluations, 1)
        self.tell(
            Progress(state.evaluations, self.rules.evaluations, len(state.archive), self.hypervolume, share)
        )
