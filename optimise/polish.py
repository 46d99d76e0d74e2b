"""Gradient polishing of many designs at a time, through the problem's own batched evaluation.

Each design improves one objective while the others must not get worse and every limit must hold
(epsilon-constraint: Haimes, Lasdon & Wismer, IEEE Trans. Syst. Man Cybern. 1 (1971) 296-297); a design
that fails a limit is led to the nearest point that holds them all. Derivatives are forward differences:
d designs each, evaluated in one batch. The step is the point nearest to a steepest-descent step that keeps
the linearised limits, the bounds and a trust region. "The largest stress" and "the smaller modulus" have
kinks, where one gradient misleads: as in a bundle method the linearisations at the last points tried stay
in force, also at points that were no better (C. Lemarechal, in Nonsmooth Optimization, Pergamon 1978).
Limits that the problem tells by their smooth pieces (`Problem.pieces`) are kept piece by piece as well.
Every design tried is handed back, so polishing can only add to what is found.
"""

from dataclasses import dataclass, replace
from typing import Self

import numpy as np

from longvault.optimise.linear_model import Model, Score, linearised, scaled_values
from longvault.optimise.problem import UNKNOWN, Designs, Problem
from longvault.optimise.walls import nearest_allowed
from longvault.sections.symbols import Array, BoolArray, IntArray

LENGTHS = np.array([1.0, 0.3, 0.1])
"""Shares of the step tried at once."""
CORRECTED = 2
"""How many of them are tried again, bent back to the limits."""
MEMORY = 8
"""Points tried whose linearisations stay in force."""
PENALTY = 3.0
"""Weight of a violated limit, and of an objective that got worse, in the merit of a point."""
TRUST = (1e-4, 0.05, 0.5)
"""Least, first and greatest trust region, as shares of the bounds."""


@dataclass(frozen=True, slots=True, eq=False)
class Squad:
    """B designs under way: where they are, what they may not exceed, how far they may step.

    Parameters
    ----------
    designs : Designs
        Best of each so far.
    caps : array (B, R)
        What each scaled cost and margin must not exceed; inf for the objective to improve.
    targets : int array (B,)
        Objective to improve; -1 where limits are to be met first.
    merit : array (B,)
    trust : array (B,)
    """

    designs: Designs
    caps: Array
    targets: IntArray
    merit: Array
    trust: Array

    @classmethod
    def begin(
        cls, problem: Problem, members: Designs, targets: IntArray, spans: Array, free: BoolArray
    ) -> Self:
        """Return the squad before its first step; pieces broken at the start ask nothing."""
        values, count = scaled_values(problem, members, spans), len(problem.objectives)
        caps = values.copy()
        caps[:, count:] = 0.0
        pieces = len(problem.margin_names)
        caps[:, count + pieces :][members.margins[:, pieces:] > 0.0] = np.inf
        caps[:, :count][free | (targets < 0)[:, None]] = np.inf
        rows = np.flatnonzero(targets >= 0)
        caps[rows, targets[rows]] = np.inf
        merit = _merit(values, caps, targets)
        return cls(members, caps, targets, merit, np.full(len(members), TRUST[1]))

    def moved(self, probe: Designs, merit: Array, full: BoolArray) -> tuple[Self, BoolArray]:
        """Return the squad moved to the probes that are better, and which those are."""
        better = merit < self.merit - 1e-9
        keep = better[:, None]
        designs = Designs(
            np.where(keep, probe.x, self.designs.x),
            np.where(keep, probe.objectives, self.designs.objectives),
            np.where(keep, probe.margins, self.designs.margins),
        )
        factor = np.where(better, np.where(full, 2.0, 1.0), 0.5)
        trust = np.clip(factor * self.trust, TRUST[0], TRUST[2])
        return replace(self, designs=designs, merit=np.where(better, merit, self.merit), trust=trust), better


@dataclass(frozen=True, slots=True, eq=False)
class Polished:
    """What a round of polishing made.

    Parameters
    ----------
    best : Designs
        B designs: the best of each, maybe where it began.
    tried : Designs
        All steps tried, and the neighbours one step of a stepped variable away.
    neighbours : Designs
        The other neighbours the differences took: twins, a millionth of the bounds away, not worth keeping.
    """

    best: Designs
    tried: Designs
    neighbours: Designs

    @property
    def evaluations(self) -> int:
        """Evaluations made."""
        return len(self.tried) + len(self.neighbours)


def polish_cost(problem: Problem, members: int, iterations: int) -> int:
    """Return the number of evaluations `polish` makes."""
    return members * iterations * (len(problem.lower) + len(LENGTHS) + CORRECTED)


def polish(
    problem: Problem,
    members: Designs,
    targets: IntArray,
    spans: Array,
    score: Score,
    *,
    iterations: int,
    free: BoolArray | None = None,
) -> Polished:
    """Improve each of B designs.

    Parameters
    ----------
    problem : Problem
    members : Designs
        Designs to start from, finite.
    targets : int array (B,)
        Objective each is to improve; -1 for a design that is to meet the limits first.
    spans : array (M,)
        Range of each objective over the front, which brings them to one scale.
    score : callable
        Evaluates snapped designs.
    iterations : int
        Steps of each design; together they cost `polish_cost` evaluations.
    free : bool array (B, M), optional
        Objectives of each that may get worse: they seek ends and edges of the front.
    """
    members, score = _with_pieces(problem, members), _scoring_pieces(problem, score)
    free = np.zeros((len(members), len(spans)), dtype=bool) if free is None else free
    squad = Squad.begin(problem, members, targets, spans, free)
    probe, better = members, np.ones(len(members), dtype=bool)
    centre: Model | None = None
    models: list[Model] = []
    tried: list[Designs] = []
    twins: list[Designs] = []
    stepped = (problem.steps(members.x) > 0).ravel()
    for _ in range(iterations):
        model, near = linearised(problem, probe, spans, score)
        centre = model if centre is None else centre.where(better, model)
        models = [*models, model][-MEMORY - 1 :]
        step = descent_step(centre, models, squad)
        first = score(_placed(problem, centre, LENGTHS[:, None] * step[:, None]))
        bent = corrected(centre, squad, step, scaled_values(problem, first, spans))
        ahead = first.joined(score(_placed(problem, centre, bent)))
        probe, merit, full = _best_ahead(problem, squad, ahead, spans)
        squad, better = squad.moved(probe, merit, full)
        tried += [near.take(stepped), ahead]
        twins.append(near.take(~stepped))
    best, tried, twins = (
        [_without_pieces(problem, one) for one in some] for some in ([squad.designs], tried, twins)
    )
    return Polished(best[0], problem.empty.joined(*tried), problem.empty.joined(*twins))


def _with_pieces(problem: Problem, designs: Designs) -> Designs:
    """Put the pieces of kinked limits behind the margins."""
    if problem.pieces is None:
        return designs
    margins = np.concatenate([designs.margins, problem.pieces(designs.x)], axis=1)
    return Designs(designs.x, designs.objectives, margins)


def _without_pieces(problem: Problem, designs: Designs) -> Designs:
    return Designs(designs.x, designs.objectives, designs.margins[:, : len(problem.margin_names)])


def _scoring_pieces(problem: Problem, score: Score) -> Score:
    """Return a score that puts the pieces behind the margins."""
    return lambda x: _with_pieces(problem, score(x))


def descent_step(centre: Model, models: list[Model], squad: Squad) -> Array:
    """Step (B, d) in the unit cube: steepest descent, brought back to the linearised limits.

    ``models`` are the last points tried, the newest last; the centre is one of them or older.
    """
    rows = np.arange(len(squad.targets))
    aimed = squad.targets >= 0
    caps = squad.caps.copy()
    caps[rows[aimed], squad.targets[aimed]] = centre.value[rows[aimed], squad.targets[aimed]]
    slopes = [centre.slope] + [model.slope for model in models]
    rooms = [squad.caps - centre.value] + [caps - model.seen_from(centre) for model in models]
    room, slope = np.concatenate(rooms, axis=1), np.concatenate(slopes, axis=1)
    reach = (np.abs(slope) * squad.trust[:, None, None]).sum(axis=2)
    ready = np.concatenate(
        [np.ones_like(centre.value, dtype=bool)] + [m.kinked(centre) for m in models], axis=1
    )
    room = np.where((room < reach) & ready, room, np.inf)
    downhill = np.where(aimed[:, None], -centre.slope[rows, squad.targets], 0.0)
    length = np.sqrt((downhill * downhill).sum(axis=1, keepdims=True))
    trust = squad.trust[:, None]
    wish = downhill / np.maximum(length, 1e-12) * trust * np.sqrt(centre.point.shape[1])
    low, high = np.maximum(-trust, -centre.point), np.minimum(trust, 1.0 - centre.point)
    return nearest_allowed(wish, slope, room, low, high)


def corrected(centre: Model, squad: Squad, step: Array, values: Array) -> Array:
    """Bend steps (B, CORRECTED, d) back to the limits that the straight ones break by curvature.

    Second-order correction: R. Fletcher, Practical Methods of Optimization, 2nd ed., Wiley 1987, sec. 14.4.
    """
    count, size = step.shape
    straight = LENGTHS[:CORRECTED, None] * step[:, None]
    room = squad.caps[:, None] - values.reshape(count, len(LENGTHS), -1)[:, :CORRECTED]
    room = np.where(np.isfinite(room), room, np.inf).reshape(count * CORRECTED, -1)
    slope = np.repeat(centre.slope, CORRECTED, axis=0)
    low = (-centre.point[:, None] - straight).reshape(-1, size)
    high = low + 1.0
    back = nearest_allowed(np.zeros_like(low), slope, room, low, high)
    return straight + back.reshape(straight.shape)


def _placed(problem: Problem, centre: Model, steps: Array) -> Array:
    """Snapped designs (B n, d) at steps (B, n, d) from the centres."""
    x = problem.lower + (centre.point[:, None] + steps) * (problem.upper - problem.lower)
    return problem.snap(x.reshape(-1, x.shape[-1]))


def _best_ahead(
    problem: Problem, squad: Squad, ahead: Designs, spans: Array
) -> tuple[Designs, Array, BoolArray]:
    """Best design tried by each, its merit, and whether it lies at the full length of the step.

    The rows of ``ahead`` are the straight steps, length by length, design by design; then the bent ones.
    """
    count, lengths = len(squad.targets), len(LENGTHS)
    straight = np.arange(count * lengths).reshape(count, lengths)
    bent = count * lengths + np.arange(count * CORRECTED).reshape(count, CORRECTED)
    places = np.concatenate([straight, bent], axis=1)
    each = np.repeat(np.arange(count), places.shape[1])
    values = scaled_values(problem, ahead.take(places.ravel()), spans)
    merit = _merit(values, squad.caps[each], squad.targets[each]).reshape(places.shape)
    best = merit.argmin(axis=1)
    rows = np.arange(count)
    full = (best == 0) | (best == lengths)
    return ahead.take(places[rows, best]), merit[rows, best], full


def _merit(values: Array, caps: Array, targets: IntArray) -> Array:
    """Objective to improve plus the penalised excess over the caps (B,); inf for a row that is not finite."""
    excess = np.clip(values - caps, 0.0, UNKNOWN).sum(axis=1)
    aimed = np.where(targets >= 0, values[np.arange(len(values)), targets], 0.0)
    merit = aimed + PENALTY * excess
    return np.where(np.isfinite(merit), merit, np.inf)
