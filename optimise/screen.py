"""Looking closely only where it matters: a quick score for all children, the whole one for those that count.

A child that would not survive, and would not enter the archive, even if it held every limit not yet worked
out is not looked at closely: it keeps margins of inf there. It counts as evaluated, and as not feasible.
"""

from collections.abc import Callable

import numpy as np

from longvault.optimise.front import costs, nondominated
from longvault.optimise.generation import survivors
from longvault.optimise.problem import DELIVERED_MARGIN, Designs, Problem
from longvault.optimise.state import SearchState
from longvault.sections.symbols import Array, BoolArray

Score = Callable[[Array], Designs]

ROUNDS = 2
"""How often the places of those that fail closely are offered to the next best."""


def looked_at(problem: Problem, state: SearchState, x: Array, score: Score, screen: Score) -> Designs:
    """Score children x (N, d), snapped: all by ``screen``, those that could count by ``score``.

    Parameters
    ----------
    problem : Problem
    state : SearchState
        Its population is what the children compete with.
    x : array (N, d)
    score, screen : callable
        The whole evaluation, and its quick part, which leaves margins of inf.
    """
    new = screen(x)
    for _ in range(ROUNDS):
        rows = np.flatnonzero(_counting(problem, state, new))
        if not len(rows):
            break
        margins = new.margins.copy()
        margins[rows] = score(x[rows]).margins
        new = Designs(x, new.objectives, margins)
    return new


def unfinished(designs: Designs) -> BoolArray:
    """Which designs hold every limit worked out, while some were not (N,)."""
    left_out = np.isposinf(designs.margins)
    holds = (left_out | (designs.margins <= DELIVERED_MARGIN)).all(axis=1)
    return np.asarray(holds & left_out.any(axis=1) & np.isfinite(designs.objectives).all(axis=1))


def _counting(problem: Problem, state: SearchState, new: Designs) -> BoolArray:
    """Which unfinished children (N,) would survive, or be non-dominated, if they held every limit."""
    unsure = unfinished(new)
    if not unsure.any():
        return unsure
    before = len(state.population)
    merged = state.population.joined(new)
    violation = merged.violation
    violation[before:][unsure] = 0.0
    hopeful = np.flatnonzero(violation == 0.0)
    cost = costs(merged.objectives[hopeful], problem.maximise)
    counts = np.zeros(len(merged), dtype=bool)
    counts[survivors(problem, state, merged, violation)[: state.settings.population]] = True
    counts[hopeful[nondominated(cost)]] = True
    return np.asarray(counts[before:] & unsure)
