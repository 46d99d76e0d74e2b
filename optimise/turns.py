"""One turn of the search as a pure function, state in and state out: a generation, or a turn of polishing."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from longvault.optimise.archive import even_weights
from longvault.optimise.front import costs, nondominated
from longvault.optimise.generation import advanced, flushed, newcomers, proposals, recorded, turned
from longvault.optimise.polish import polish, polish_cost
from longvault.optimise.problem import Designs, Problem
from longvault.optimise.screen import looked_at
from longvault.optimise.state import SearchState, generator
from longvault.sections.symbols import Array, BoolArray, IntArray

ITERATIONS = 8
"""Steps of each design in a turn of polishing."""
SPARING = 0.3
"""Part of the share of polishing that is spent during the starts."""
SQUAD_SHARE = 16
"""A turn polishes one design for so many in the population, and the best of each objective."""

EDGES = 0.5
"""Share of the others that seek edges of the front, where all objectives but one are traded."""
SETTLED = 0.5
"""Chance that the best of an objective keeps that and improves another: many may be the best of one."""

Score = Callable[[Array], Designs]


def step(
    problem: Problem, state: SearchState, score: Score, budget: int, screen: Score | None = None
) -> SearchState | None:
    """Return the state after one more turn, or None where that would exceed the budget of evaluations.

    Parameters
    ----------
    problem : Problem
    state : SearchState
    score : callable
        Evaluates snapped designs x (N, d); in one block or spread over workers, with the same bits.
    budget : int
        Evaluations allowed over the whole run.
    screen : callable, optional
        The quick part of ``score`` (see `longvault.optimise.screen`).
    """
    state = turned(problem, state)
    size = _squad_size(problem, state)
    fits = state.evaluations + polish_cost(problem, size, ITERATIONS) <= budget
    if fits and _polishing_due(problem, state):
        return _polishing(problem, state, score, size)
    return _generation(problem, state, score, budget, screen)


def _squad_size(problem: Problem, state: SearchState) -> int:
    return (state.settings.population or 1) // SQUAD_SHARE + len(problem.objectives)


def _polishing_due(problem: Problem, state: SearchState) -> bool:
    """Whether the next turn polishes: sparingly in a start, which it leads into the first hollow it meets."""
    size = _squad_size(problem, state)
    cost = polish_cost(problem, size, ITERATIONS)
    share = state.settings.polish_share
    if state.start < state.settings.restarts and state.population.feasible.any():
        share *= SPARING
    return len(state.population) >= size and state.polished + cost <= share * (state.start_evaluations + cost)


def _generation(
    problem: Problem, state: SearchState, score: Score, budget: int, screen: Score | None
) -> SearchState | None:
    rng = generator(state)
    x, moved = proposals(problem, state, rng)
    if state.evaluations + max(len(x), 1) > budget:
        return None
    state = replace(state, rng=dict(rng.bit_generator.state), generation=state.generation + 1)
    if not len(x):
        return replace(state, idle=state.idle + 1)
    new = score(x) if screen is None else looked_at(problem, state, x, score, screen)
    entrants = newcomers(problem, state, new)
    return recorded(problem, advanced(problem, state, new, entrants=entrants, moved=moved))


def _polishing(problem: Problem, state: SearchState, score: Score, size: int) -> SearchState:
    rng = generator(state)
    state = flushed(problem, state)
    members, targets, free = _squad(problem, state, rng, size)
    spans = _spans(problem, state)
    done = polish(problem, members, targets, spans, score, iterations=ITERATIONS, free=free)
    state = replace(
        state,
        rng=dict(rng.bit_generator.state),
        generation=state.generation + 1,
        polished=state.polished + done.evaluations,
    )
    return recorded(problem, advanced(problem, state, done.tried, entrants=done.best, aside=done.neighbours))


def _squad(
    problem: Problem, state: SearchState, rng: np.random.Generator, size: int
) -> tuple[Designs, IntArray, BoolArray]:
    """Draw designs to polish, the objective of each, and which objectives of each may get worse (size, M).

    The best of each objective seeks the end of the front, or the best among its like there; others seek its
    edges; the rest are drawn evenly over the front. While nothing is feasible, the least violated designs are
    led to the limits.
    """
    own = state.population.take(state.population.feasible)
    pool = state.archive.designs if state.start >= state.settings.restarts else own
    count = len(problem.objectives)
    free = np.zeros((size, count), dtype=bool)
    if not len(pool):
        return state.population.take(slice(0, size)), np.full(size, -1), free
    cost = costs(pool.objectives, problem.maximise)
    chances = _chances(problem, pool, np.arange(count))
    others = rng.choice(len(pool), size=size - count, replace=len(pool) < size - count, p=chances)
    rows = np.concatenate([cost.argmin(axis=0), others])
    ends = np.arange(count)
    settled = rng.random(count) < SETTLED
    aims = np.where(settled, (ends + rng.integers(1, count, size=count)) % count, ends)
    targets = np.concatenate([aims, rng.integers(count, size=len(others))])
    free[:count] = True
    free[ends, ends] = ~settled
    if count > 2:
        _to_edges(problem, pool, rng, (rows, targets, free), slice(count, count + round(EDGES * len(others))))
    return pool.take(rows), targets, free


def _to_edges(
    problem: Problem,
    pool: Designs,
    rng: np.random.Generator,
    squad: tuple[IntArray, IntArray, BoolArray],
    places: slice,
) -> None:
    """Fill places of a squad with designs of edges of the front: none is better in all objectives but one.

    Drawing over the whole front and holding every objective hardly moves an edge outwards: the one that it is
    free of would be held too.
    """
    cost = costs(pool.objectives, problem.maximise)
    every = np.arange(cost.shape[1])
    others = [np.delete(every, k) for k in every]
    edges = [np.flatnonzero(nondominated(cost[:, asked])) for asked in others]
    chances = [_chances(problem, pool.take(edge), asked) for edge, asked in zip(edges, others, strict=True)]
    rows, targets, free = squad
    for i in range(places.start, places.stop):
        left_out = int(rng.integers(len(every)))
        rows[i] = rng.choice(edges[left_out], p=chances[left_out])
        targets[i] = rng.choice(others[left_out])
        free[i, left_out] = True


def _chances(problem: Problem, designs: Designs, columns: IntArray) -> Array:
    """Chances (N,) of designs to be drawn: even over some objectives, more in a wished region."""
    even = even_weights(designs.objectives[:, columns])
    if problem.preference is None:
        return even
    return problem.preference.chances(even, designs.objectives, maximise=problem.maximise)


def _spans(problem: Problem, state: SearchState) -> Array:
    """Range of each objective over the archive, or over the population while nothing is feasible."""
    designs = state.archive.designs if len(state.archive) > 1 else state.population
    cost = costs(designs.objectives, problem.maximise)
    cost = cost[np.isfinite(cost).all(axis=1)]
    if not len(cost):
        return np.ones(len(problem.objectives))
    span: Array = np.ptp(cost, axis=0)
    return np.where(span > 0, span, 1.0)
