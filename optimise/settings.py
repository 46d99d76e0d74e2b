"""Settings of a search: immutable, checked once, complete in the record of a run."""

from dataclasses import dataclass, fields, replace
from typing import Any, Self

import numpy as np

STOP_FIELDS = ("evaluations", "time_limit", "stall_evaluations", "stall_gain")
"""Fields that say when to stop; all others say what is done, and stay when a run is resumed."""


@dataclass(frozen=True, slots=True)
class SearchSettings:
    """How a search runs and when it stops.

    Parameters
    ----------
    evaluations : int
        Budget; a generation that would exceed it is not begun.
    seed : int, optional
        Seed of every random draw. None draws one, which the outcome records.
    population : int, optional
        Designs in a generation, 2 or more: one alone has no mate. None takes 1/300 of the budget, between 40
        and 1000, but 1/50 of it up to 100: smaller ones cost more calls and find less.
    restarts : int
        Independent starts before all that they found is evolved together.
    start_evaluations : int, optional
        Evaluations of each start. None shares out ``start_share`` of the budget.
    start_share : float
        Share of the budget for the starts together, used where ``start_evaluations`` is None.
    archive_max : int
        Non-dominated designs kept at most (see `Archive`).
    differential : float, optional
        Share of children made by differential variation; the others come from simulated binary crossover.
        None lets the share follow the success of each.
    polish_share : float
        Share of the evaluations spent on gradient polishing once the starts are over, or while nothing is
        feasible; during the starts it is a third of that. 0 evolves only.
    stall_evaluations : int, optional
        Stop when the hypervolume has grown by less than ``stall_gain`` in this many evaluations.
    stall_gain : float
        Relative growth below which the search counts as stalled.
    time_limit : float, optional
        Stop at the first generation that ends after this many seconds.

    Raises
    ------
    ValueError
        Naming the field, what it got and what is allowed.

    Examples
    --------
    >>> SearchSettings(evaluations=20_000, seed=3).resolved().population
    100
    """

    evaluations: int = 100_000
    seed: int | None = None
    population: int | None = None
    restarts: int = 1
    start_evaluations: int | None = None
    start_share: float = 0.5
    archive_max: int = 20_000
    differential: float | None = None
    polish_share: float = 0.4
    stall_evaluations: int | None = None
    stall_gain: float = 1e-3
    time_limit: float | None = None

    def __post_init__(self) -> None:
        for name, least in (("evaluations", 1), ("restarts", 1), ("start_evaluations", 1)):
            _whole(name, getattr(self, name), least)
        _whole("population", self.population, min(2, self.evaluations))
        _whole("seed", self.seed, 0)
        _whole("archive_max", self.archive_max, 10)
        _whole("stall_evaluations", self.stall_evaluations, 1)
        for name in ("start_share", "differential", "polish_share", "stall_gain"):
            value = getattr(self, name)
            if value is not None and not 0.0 <= value <= 1.0:
                raise ValueError(f"{name}: got {value!r}; must lie between 0 and 1")
        if self.time_limit is not None and not self.time_limit > 0:
            raise ValueError(f"time_limit: got {self.time_limit!r}; must be above 0 seconds, or None")

    def resolved(self) -> Self:
        """Return the settings with every default filled in, as the record of a run keeps them."""
        seed = int(np.random.SeedSequence().generate_state(1)[0]) if self.seed is None else self.seed
        least = int(np.clip(self.evaluations // 50, 40, 100))
        size = (
            int(np.clip(self.evaluations // 300, least, 1000)) if self.population is None else self.population
        )
        size = min(size, self.evaluations)
        start = self.start_evaluations
        if start is None:
            start = max(size, int(self.start_share * self.evaluations / self.restarts))
        return replace(self, seed=seed, population=size, start_evaluations=start)

    def resumed(self, before: "SearchSettings") -> "SearchSettings":
        """Return the settings of a run that goes on: the stop rules of ``self``, all else as ``before``.

        Raises
        ------
        ValueError
            If a field that changes what is done was given another value than the run began with.
        """
        kept: dict[str, Any] = {}
        for item in fields(self):
            now, then = getattr(self, item.name), getattr(before, item.name)
            if item.name in STOP_FIELDS:
                continue
            if now is not None and now != then:
                raise ValueError(
                    f"{item.name}: the run to go on with began with {then!r}, now got {now!r}; "
                    "keep it, or begin a new run"
                )
            kept[item.name] = then
        return replace(self, **kept)


def _whole(name: str, value: object, least: int) -> None:
    if value is not None and (isinstance(value, bool) or not isinstance(value, int) or value < least):
        raise ValueError(f"{name}: got {value!r}; must be a whole number of {least} or more")
