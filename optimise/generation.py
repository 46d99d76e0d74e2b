"""What a generation is made of: opening designs, children, survivors; no loop over single designs."""

from dataclasses import replace

import numpy as np

from longvault.optimise.adapter import differential, polynomial_mutation, simulated_binary
from longvault.optimise.archive import Archive
from longvault.optimise.front import costs, nondominated
from longvault.optimise.history import snapshot
from longvault.optimise.problem import Designs, Problem
from longvault.optimise.settings import SearchSettings
from longvault.optimise.state import SearchState
from longvault.optimise.survival import quality_order
from longvault.sections.symbols import Array, BoolArray

SEED_SPREAD = 0.1
"""Standard deviation of the copies of a seed, as a share of the bounds."""
TRIES = 4
"""How often new designs are asked for when most of those proposed are known already."""


def advanced(
    problem: Problem,
    state: SearchState,
    new: Designs,
    *,
    entrants: Designs | None = None,
    aside: Designs | None = None,
) -> SearchState:
    """Return the state with newly evaluated designs taken in: population, archive, nearest, counts.

    Parameters
    ----------
    problem, state
    new : Designs
        Offered to the archive.
    entrants : Designs, optional
        Those of them that may enter the population, where not all are to.
    aside : Designs, optional
        Evaluated as well and only counted.
    """
    aside = problem.empty if aside is None else aside
    size = state.settings.population or len(new)
    found = new.take(new.feasible)
    kept = found.take(nondominated(found.objectives, maximise=problem.maximise))
    merged = state.population.joined(new if entrants is None else entrants)
    cost = costs(merged.objectives, problem.maximise)
    order = quality_order(cost, merged.violation)[:size]
    made = len(new) + len(aside)
    state = replace(
        state,
        population=merged.take(order),
        waiting=state.waiting.joined(kept),
        nearest=_nearest(state.nearest.joined(new)),
        evaluations=state.evaluations + made,
        feasible=state.feasible + len(found) + int(aside.feasible.sum()),
        start_evaluations=state.start_evaluations + made,
        idle=0,
    )
    full = len(state.waiting) >= max(size, len(state.archive) // 4)
    return flushed(problem, state) if full else state


def flushed(problem: Problem, state: SearchState) -> SearchState:
    """Return the state with the waiting designs put into the archive (done in batches: it is quicker)."""
    if not len(state.waiting):
        return state
    archive = state.archive.added(state.waiting, maximise=problem.maximise)
    return replace(state, archive=archive, waiting=problem.empty)


def turned(problem: Problem, state: SearchState) -> SearchState:
    """Return the state at the beginning of its next start when the present one is over.

    After the last start the population is taken from the archive: what separate starts found is mixed.
    """
    settings = state.settings
    over = state.start_evaluations >= (settings.start_evaluations or 1) or state.idle > 0
    if state.start >= settings.restarts or not over:
        return state
    state = flushed(problem, replace(state, start=state.start + 1, start_evaluations=0, polished=0, idle=0))
    if state.start < settings.restarts:
        return replace(state, population=problem.empty)
    return replace(state, population=_best_of_archive(problem, state))


def _best_of_archive(problem: Problem, state: SearchState) -> Designs:
    if not len(state.archive):
        return state.population
    designs = state.archive.designs
    order = quality_order(costs(designs.objectives, problem.maximise), np.zeros(len(designs)))
    return designs.take(order[: state.settings.population])


def proposals(problem: Problem, state: SearchState, rng: np.random.Generator) -> Array:
    """Draw snapped designs, none in the population or drawn twice; may be fewer than asked."""
    size = state.settings.population or 2
    found = problem.empty.x
    for _ in range(TRIES):
        missing = size - len(found)
        if len(state.population):
            draft = children(problem, state.settings, state.population, _mixed(state), rng, missing)
        else:
            draft = opening(problem, rng, missing, with_seeds=state.start == 0 and not len(found))
        drafted = problem.snap(draft)
        known = np.concatenate([state.population.x, found])
        found = np.concatenate([found, drafted[_fresh(drafted, known)]])
        if 2 * len(found) >= size:
            break
    found = np.ascontiguousarray(found)
    found.flags.writeable = False
    return found


def _mixed(state: SearchState) -> Archive | None:
    return state.archive if state.start >= state.settings.restarts and len(state.archive) else None


def _fresh(x: Array, known: Array) -> BoolArray:
    """Rows of x that are new, each counted once (compared byte by byte)."""
    rows = np.ascontiguousarray(np.concatenate([known, x]))
    keys = rows.view(f"V{rows.shape[1] * rows.itemsize}").ravel()
    first = np.unique(keys, return_index=True)[1]
    mask = np.zeros(len(rows), dtype=bool)
    mask[first] = True
    return mask[len(known) :]


def opening(problem: Problem, rng: np.random.Generator, count: int, *, with_seeds: bool) -> Array:
    """First designs of a start: the seeds and copies spread about them, the rest a Latin hypercube.

    Latin hypercube: McKay, Beckman & Conover, Technometrics 21 (1979) 239-245.
    """
    span = problem.upper - problem.lower
    strata = rng.permuted(np.tile(np.arange(count), (len(span), 1)), axis=1).T
    x = problem.lower + span * (strata + rng.random(strata.shape)) / count
    seeds = np.asarray(problem.seeds)[:count]
    if with_seeds and len(seeds):
        copies = max((count - len(seeds)) // 2, 0)
        spread = seeds[np.arange(copies) % len(seeds)] + SEED_SPREAD * span * rng.standard_normal(
            (copies, len(span))
        )
        x[: len(seeds)], x[len(seeds) : len(seeds) + copies] = seeds, spread
    return x


def children(
    problem: Problem,
    settings: SearchSettings,
    population: Designs,
    archive: Archive | None,
    rng: np.random.Generator,
    count: int,
) -> Array:
    """Vary parents into ``count`` children: differential variation or crossover, then mutation.

    The population is sorted from best to worst, so the smaller of two random row numbers wins a tournament.
    """
    lower, upper = problem.lower, problem.upper
    moved = round(settings.differential * count)
    pairs = (count - moved + 1) // 2
    parents = _parents(settings, population, archive, rng, 3 * moved + 2 * pairs)
    trio = parents[: 3 * moved].reshape(3, moved, len(lower))
    couple = parents[3 * moved :].reshape(2, pairs, len(lower))
    scale = rng.uniform(0.2, 0.8, size=moved)
    crossed = simulated_binary(couple, lower, upper, rng)[: count - moved]
    drawn = differential(trio, lower, upper, rng, scale=scale, share=0.9)
    both = np.concatenate([drawn, crossed])
    return polynomial_mutation(both, lower, upper, rng, share=min(0.5, 1.0 / len(lower)))


def _parents(
    settings: SearchSettings,
    population: Designs,
    archive: Archive | None,
    rng: np.random.Generator,
    count: int,
) -> Array:
    rows = rng.integers(len(population), size=(2, count)).min(axis=0)
    x: Array = population.x[rows]
    if archive is not None:
        chosen = rng.random(count) < settings.archive_share
        x[chosen] = archive.designs.x[rng.integers(len(archive), size=int(chosen.sum()))]
    return x


def _nearest(designs: Designs) -> Designs:
    """Keep the one design of least violation, the first met on a tie."""
    return designs.take([int(np.argmin(designs.violation))])


def recorded(problem: Problem, state: SearchState) -> SearchState:
    """Return the state with a record of its front added, when one is due."""
    if not state.recorder.due(state.generation):
        return state
    state = flushed(problem, state)
    record = snapshot(
        state.archive, evaluations=state.evaluations, feasible=state.feasible, maximise=problem.maximise
    )
    return replace(state, recorder=state.recorder.added(record))
