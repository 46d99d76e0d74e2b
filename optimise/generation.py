"""What a generation is made of: opening designs, children, survivors; no loop over single designs."""

from dataclasses import replace

import numpy as np

from longvault.optimise.adapter import differential, polynomial_mutation, simulated_binary
from longvault.optimise.front import costs, nondominated
from longvault.optimise.history import snapshot
from longvault.optimise.preferences import WISHED_SHARE
from longvault.optimise.problem import Designs, Problem
from longvault.optimise.state import SearchState
from longvault.optimise.survival import quality_order
from longvault.sections.symbols import Array, BoolArray, IntArray

PATIENCE = 10
"""Generations after which a start with nothing feasible takes in the archive."""
LEARNING = 0.1
"""Weight of the last generation in the success rates of the two kinds of variation."""
LEAST_SHARE = 0.1
"""Share of the children that each kind of variation always gets."""
TRIES = 4
"""How often new designs are asked for when most of those proposed are known already."""


def advanced(
    problem: Problem,
    state: SearchState,
    new: Designs,
    *,
    entrants: Designs | None = None,
    aside: Designs | None = None,
    moved: BoolArray | None = None,
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
    moved : bool array, optional
        Which of the new designs differential variation made: the share it gets next follows its success.
    """
    aside = problem.empty if aside is None else aside
    size = state.settings.population or len(new)
    found = new.take(new.feasible)
    kept = found.take(nondominated(found.objectives, maximise=problem.maximise))
    merged = state.population.joined(new if entrants is None else entrants)
    order = survivors(problem, state, merged, merged.violation)[:size]
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
        rates=state.rates if moved is None else _rates(state, moved, order),
    )
    full = len(state.waiting) >= max(size, len(state.archive) // 4)
    return flushed(problem, state) if full else state


def survivors(problem: Problem, state: SearchState, merged: Designs, violation: Array) -> IntArray:
    """Rows from best to worst, some kinds with a share of the first places.

    In the starts each family has its share; after them the wished region, where there are preferences.
    """
    order = quality_order(costs(merged.objectives, problem.maximise), violation)
    size = state.settings.population or len(merged)
    if state.start < state.settings.restarts:
        if problem.kinds is None:
            return order
        even = np.full(len(merged), size // len(problem.kinds.problems))
        return _shared_out(order, merged.x[:, 0], even)
    feasible = np.flatnonzero(violation == 0.0)
    if problem.preference is None or not len(feasible):
        return order
    wished = np.zeros(len(merged))
    wished[feasible] = problem.preference.wished(merged.objectives[feasible], maximise=problem.maximise)
    return _shared_out(order, wished, size * np.where(wished, WISHED_SHARE, 1.0 - WISHED_SHARE))


def _shared_out(order: IntArray, kind: Array, share: Array) -> IntArray:
    """Put the best of each kind in front, as many as its ``share`` (N,) of places: none is crowded out.

    Examples
    --------
    >>> _shared_out(np.array([3, 1, 0, 2]), np.array([0.0, 0.0, 1.0, 0.0]), np.ones(4)).tolist()
    [3, 2, 1, 0]
    """
    sorted_kind = kind[order]
    place = np.zeros(len(order), dtype=np.intp)
    for number in np.unique(kind):
        rows = np.flatnonzero(sorted_kind == number)
        place[rows] = np.arange(len(rows))
    return order[np.argsort(place >= share[order], kind="stable")]


def _rates(state: SearchState, moved: BoolArray, order: IntArray) -> tuple[float, float]:
    """Shares of the children that survived, differential and crossed, averaged over the last generations."""
    entered = order[order >= len(state.population)] - len(state.population)
    rates = []
    for kind, rate in zip((moved, ~moved), state.rates, strict=True):
        made = int(kind.sum())
        success = int(kind[entered].sum()) / made if made else rate
        rates.append((1.0 - LEARNING) * rate + LEARNING * success)
    return rates[0], rates[1]


def flushed(problem: Problem, state: SearchState) -> SearchState:
    """Return the state with the waiting designs put into the archive (done in batches: it is quicker)."""
    if not len(state.waiting):
        return state
    archive = state.archive.added(state.waiting, maximise=problem.maximise)
    return replace(state, archive=archive, waiting=problem.empty)


def turned(problem: Problem, state: SearchState) -> SearchState:
    """Return the state at the beginning of its next start when the present one is over.

    After the last start the population is taken from the archive: what separate starts found, and the user's
    own designs, are mixed. A start that finds nothing feasible for long takes the archive in before.
    """
    settings, size = state.settings, state.settings.population or 1
    if state.start >= settings.restarts:
        return state
    if state.start_evaluations >= (settings.start_evaluations or 1) or state.idle > 0:
        after = replace(state, start=state.start + 1, start_evaluations=0, polished=0, idle=0)
        alone = after.start < settings.restarts
        return replace(after, population=problem.empty) if alone else _joined(problem, after)
    stuck = state.start_evaluations >= PATIENCE * size and not state.population.feasible.any()
    return _joined(problem, state) if stuck else state


def _joined(problem: Problem, state: SearchState) -> SearchState:
    """Return the state with the best of the archive as its population; with its own while there is none."""
    state = flushed(problem, state)
    designs = state.archive.designs
    if not len(designs):
        return state
    order = quality_order(costs(designs.objectives, problem.maximise), np.zeros(len(designs)))
    return replace(state, population=designs.take(order[: state.settings.population]))


def proposals(problem: Problem, state: SearchState, rng: np.random.Generator) -> tuple[Array, BoolArray]:
    """Draw snapped designs, none in the population or drawn twice, and say which were made by differences.

    There may be fewer than asked: steps can leave few that are new.
    """
    size = state.settings.population or 2
    found, moved = problem.empty.x, np.zeros(0, dtype=bool)
    for _ in range(TRIES):
        missing = size - len(found)
        by_difference = 0
        if len(state.population):
            by_difference = round(difference_share(state) * missing)
            draft = children(problem, state, rng, by_difference, missing - by_difference)
        else:
            first = state.generation == 0 and not len(found)
            seeds = seeds_of(problem, state) if first else problem.empty.x
            draft = opening(problem, rng, missing, seeds=seeds)
        drafted = problem.snap(draft)
        fresh = _fresh(drafted, np.concatenate([state.population.x, found]))
        found = np.concatenate([found, drafted[fresh]])
        moved = np.concatenate([moved, (np.arange(missing) < by_difference)[fresh]])
        if 2 * len(found) >= size:
            break
    found = np.ascontiguousarray(found)
    found.flags.writeable = False
    return found, moved


def difference_share(state: SearchState) -> float:
    """Share of the next children that differential variation makes: as set, else by its success.

    Adaptive choice of operators as in Hadka & Reed, Evol. Comput. 21 (2013) 231-259.
    """
    if state.settings.differential is not None:
        return state.settings.differential
    by_difference, crossed = state.rates
    total = by_difference + crossed
    share = by_difference / total if total > 0 else 0.5
    return float(np.clip(share, LEAST_SHARE, 1.0 - LEAST_SHARE))


def _fresh(x: Array, known: Array) -> BoolArray:
    """Rows of x that are new, each counted once (compared byte by byte)."""
    rows = np.ascontiguousarray(np.concatenate([known, x]))
    keys = rows.view(f"V{rows.shape[1] * rows.itemsize}").ravel()
    first = np.unique(keys, return_index=True)[1]
    mask = np.zeros(len(rows), dtype=bool)
    mask[first] = True
    return mask[len(known) :]


def opening(problem: Problem, rng: np.random.Generator, count: int, *, seeds: Array) -> Array:
    """First designs of a start: the seeds, then a Latin hypercube.

    Latin hypercube: McKay, Beckman & Conover, Technometrics 21 (1979) 239-245.
    """
    span = problem.upper - problem.lower
    strata = rng.permuted(np.tile(np.arange(count), (len(span), 1)), axis=1).T
    x = problem.lower + span * (strata + rng.random(strata.shape)) / count
    return np.concatenate([seeds, x])[:count]


def newcomers(problem: Problem, state: SearchState, new: Designs) -> Designs:
    """Designs of a generation that may enter the population: all but the feasible seeds.

    A good design among random ones soon has all the others descend from it. The archive keeps the seeds, and
    mixes them in once the search has found its own.
    """
    if state.generation > 1:
        return new
    seeds = seeds_of(problem, state)
    own = np.arange(len(new)) >= len(seeds)
    return new.take(own | ~new.feasible)


def seeds_of(problem: Problem, state: SearchState) -> Array:
    """Snapped seeds, each once, as many as a generation holds."""
    snapped = problem.snap(np.asarray(problem.seeds))
    return snapped[_fresh(snapped, problem.empty.x)][: state.settings.population]


def children(
    problem: Problem, state: SearchState, rng: np.random.Generator, by_difference: int, crossed: int
) -> Array:
    """Vary parents into so many children by differential variation, then so many by crossover and mutation.

    The population is sorted from best to worst, so the smaller of two random row numbers wins a tournament.
    """
    lower, upper = problem.lower, problem.upper
    pairs = (crossed + 1) // 2
    rows = rng.integers(len(state.population), size=(2, 3 * by_difference + 2 * pairs)).min(axis=0)
    parents = state.population.x[rows]
    trio = parents[: 3 * by_difference].reshape(3, by_difference, len(lower))
    couple = parents[3 * by_difference :].reshape(2, pairs, len(lower))
    if problem.kinds is not None:
        trio, couple = (_alike(state, rng, mates) for mates in (trio, couple))
    scale = rng.uniform(0.2, 0.8, size=by_difference)
    moved = differential(trio, lower, upper, rng, scale=scale)
    mixed = simulated_binary(couple, lower, upper, rng)[:crossed]
    return np.concatenate(
        [moved, polynomial_mutation(mixed, lower, upper, rng, share=min(0.5, 1.0 / len(lower)))]
    )


def _alike(state: SearchState, rng: np.random.Generator, mates: Array) -> Array:
    """Replace mates (k, n, d) that are of another kind than the first by others of its kind."""
    mates = mates.copy()
    pool = state.population.x
    kind, wrong = mates[0, :, 0], mates[..., 0] != mates[0, :, 0]
    for number in np.unique(kind):
        places = wrong & (kind == number)
        rows = np.flatnonzero(pool[:, 0] == number)
        mates[places] = pool[rows[rng.integers(len(rows), size=(2, int(places.sum()))).min(axis=0)]]
    return mates


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
