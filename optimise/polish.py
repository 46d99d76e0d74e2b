"""Gradient polishing of many designs at a time, through the problem's own batched evaluation.

Each design improves one objective while the others must not get worse and every limit must hold
(epsilon-constraint: Haimes, Lasdon & Wismer, IEEE Trans. Syst. Man Cybern. 1 (1971) 296-297); a design
that fails a limit is led to the nearest point that holds them all. Derivatives are forward differences:
d designs each, evaluated in one batch. The step is the point nearest to a steepest-descent step that keeps
the linearised limits, the bounds and a trust region. "The largest stress" and "the smaller modulus" have
kinks, where one gradient misleads: as in a bundle method the linearisations at the last points tried stay
in force, also at points that were no better (C. Lemarechal, in Nonsmooth Optimization, Pergamon 1978).
Every design tried is handed back, so polishing can only add to what is found.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Self

import numpy as np

from longvault.optimise.front import costs
from longvault.optimise.problem import DELIVERED_MARGIN, Designs, Problem
from longvault.sections.symbols import Array, BoolArray, IntArray

DIFFERENCE = 1e-6
"""Forward difference as a share of the bounds; a stepped variable moves by one step."""
LENGTHS = np.array([1.0, 0.5, 0.25, 0.1])
"""Shares of the step tried at once."""
MEMORY = 6
"""Points tried whose linearisations stay in force."""
ROUNDS = 60
"""Rounds of the projection onto the linearised limits."""
PENALTY = 3.0
"""Weight of a violated limit, and of an objective that got worse, in the merit of a point."""
TRUST = (1e-4, 0.05, 0.5)
"""Least, first and greatest trust region, as shares of the bounds."""

Score = Callable[[Array], Designs]


@dataclass(frozen=True, slots=True, eq=False)
class Model:
    """Scaled costs and margins (B, R) linearised about points (B, d) of the unit cube: slopes (B, R, d)."""

    point: Array
    value: Array
    slope: Array

    def where(self, mask: BoolArray, other: "Model") -> "Model":
        """Take ``other``'s rows where ``mask`` (B,) holds."""
        return Model(
            np.where(mask[:, None], other.point, self.point),
            np.where(mask[:, None], other.value, self.value),
            np.where(mask[:, None, None], other.slope, self.slope),
        )

    def seen_from(self, centre: "Model") -> Array:
        """Value the model gives at another point, not above the true value there (curved functions)."""
        moved = self.value + np.einsum("brd,bd->br", self.slope, centre.point - self.point)
        return np.minimum(moved, centre.value)


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
    def begin(cls, problem: Problem, members: Designs, targets: IntArray, spans: Array) -> Self:
        """Return the squad before its first step."""
        caps = scaled_values(problem, members, spans).copy()
        count = len(problem.objectives)
        caps[:, count:] = 0.0
        caps[targets < 0, :count] = np.inf
        rows = np.flatnonzero(targets >= 0)
        caps[rows, targets[rows]] = np.inf
        merit = _merit(scaled_values(problem, members, spans), caps, targets)
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
    return members * iterations * (len(problem.lower) + len(LENGTHS))


def polish(
    problem: Problem, members: Designs, targets: IntArray, spans: Array, score: Score, *, iterations: int
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
    """
    squad = Squad.begin(problem, members, targets, spans)
    probe, better = members, np.ones(len(members), dtype=bool)
    centre: Model | None = None
    models: list[Model] = []
    tried: list[Designs] = []
    twins: list[Designs] = []
    stepped = np.tile(np.asarray(problem.step) > 0, len(members))
    for _ in range(iterations):
        model, near = linearised(problem, probe, spans, score)
        centre = model if centre is None else centre.where(better, model)
        models = [*models, model][-MEMORY - 1 :]
        step = descent_step(centre, models, squad)
        ahead = score(_ahead(problem, centre, step))
        probe, merit, full = _best_ahead(problem, squad, ahead, spans)
        squad, better = squad.moved(probe, merit, full)
        tried += [near.take(stepped), ahead]
        twins.append(near.take(~stepped))
    return Polished(squad.designs, problem.empty.joined(*tried), problem.empty.joined(*twins))


def scaled_values(problem: Problem, designs: Designs, spans: Array) -> Array:
    """Costs over their spans and margins over the delivered one (B, R = M + K)."""
    cost = costs(designs.objectives, problem.maximise) / spans
    return np.concatenate([cost, designs.margins - 2 * DELIVERED_MARGIN], axis=1)


def linearised(problem: Problem, designs: Designs, spans: Array, score: Score) -> tuple[Model, Designs]:
    """Linearise about B designs by forward differences; also return the B d designs this took."""
    count, size = designs.x.shape
    width = np.where(problem.upper > problem.lower, problem.upper - problem.lower, 1.0)
    move = np.maximum(DIFFERENCE * width, np.asarray(problem.step))
    move = np.where(designs.x + move > problem.upper, -move, move)
    each = np.arange(size)
    x = np.repeat(designs.x[:, None], size, axis=1)
    x[:, each, each] += move
    near = score(problem.snap(x.reshape(-1, size)))
    value = scaled_values(problem, designs, spans)
    moved = scaled_values(problem, near, spans).reshape(count, size, -1)
    moved_by = (near.x.reshape(count, size, size)[:, each, each] - designs.x) / width
    with np.errstate(divide="ignore", invalid="ignore"):
        slope = np.swapaxes((moved - value[:, None]) / moved_by[..., None], 1, 2)
    slope = np.where(np.isfinite(slope), slope, 0.0)
    return Model((designs.x - problem.lower) / width, value, slope), near


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
    room = np.concatenate(rooms, axis=1)
    bound = np.isfinite(room)
    slope = np.where(bound[..., None], np.concatenate(slopes, axis=1), 0.0)
    downhill = np.where(aimed[:, None], -centre.slope[rows, squad.targets], 0.0)
    length = np.sqrt((downhill * downhill).sum(axis=1, keepdims=True))
    trust = squad.trust[:, None]
    wish = downhill / np.maximum(length, 1e-12) * trust * np.sqrt(centre.point.shape[1])
    low, high = np.maximum(-trust, -centre.point), np.minimum(trust, 1.0 - centre.point)
    return nearest_allowed(wish, slope, np.where(bound, room, 1.0), low, high)


def nearest_allowed(wish: Array, slope: Array, room: Array, low: Array, high: Array) -> Array:
    """Point nearest to ``wish`` (B, d) with slope . p <= room (B, R) and low <= p <= high, approximately.

    Accelerated projected gradient on the dual (Beck & Teboulle, SIAM J. Imaging Sci. 2 (2009) 183-202);
    where no point keeps all rows the result is a compromise.

    Examples
    --------
    >>> wish, slope, room = np.ones((1, 2)), np.ones((1, 1, 2)), np.ones((1, 1))
    >>> nearest_allowed(wish, slope, room, -2 * wish, 2 * wish).round(6)
    array([[0.5, 0.5]])
    """
    scale = np.sqrt((slope * slope).sum(axis=2)) + 1e-12
    slope, room = np.ascontiguousarray(slope / scale[..., None]), room / scale
    turned = np.ascontiguousarray(np.swapaxes(slope, 1, 2))
    gram = np.einsum("brd,bsd->brs", slope, slope)
    rate = 1.0 / np.maximum(np.abs(gram).sum(axis=2).max(axis=1), 1e-12)[:, None]
    before = force = np.zeros_like(room)
    momentum = 1.0
    for _ in range(ROUNDS):
        point = np.clip(wish - np.einsum("bdr,br->bd", turned, force), low, high)
        after = np.maximum(0.0, force + rate * (np.einsum("brd,bd->br", slope, point) - room))
        following = 0.5 * (1.0 + np.sqrt(1.0 + 4.0 * momentum * momentum))
        force = np.maximum(0.0, after + (momentum - 1.0) / following * (after - before))
        before, momentum = after, following
    return np.clip(wish - np.einsum("bdr,br->bd", turned, before), low, high)


def _ahead(problem: Problem, centre: Model, step: Array) -> Array:
    """Snapped designs (B len(LENGTHS), d) at all lengths of the step."""
    unit = centre.point[:, None] + LENGTHS[:, None] * step[:, None]
    x = problem.lower + unit * (problem.upper - problem.lower)
    return problem.snap(x.reshape(-1, x.shape[-1]))


def _best_ahead(
    problem: Problem, squad: Squad, ahead: Designs, spans: Array
) -> tuple[Designs, Array, BoolArray]:
    """Best design tried by each, its merit, and whether it lies at the full length of the step."""
    count = len(LENGTHS)
    values = scaled_values(problem, ahead, spans)
    merit = _merit(values, np.repeat(squad.caps, count, axis=0), np.repeat(squad.targets, count))
    merit = merit.reshape(-1, count)
    best = merit.argmin(axis=1)
    rows = np.arange(len(best))
    return ahead.take(rows * count + best), merit[rows, best], best == 0


def _merit(values: Array, caps: Array, targets: IntArray) -> Array:
    """Objective to improve plus the penalised excess over the caps (B,); inf for a row that is not finite."""
    excess = np.maximum(values - caps, 0.0).sum(axis=1)
    aimed = np.where(targets >= 0, values[np.arange(len(values)), targets], 0.0)
    merit = aimed + PENALTY * excess
    return np.where(np.isfinite(merit), merit, np.inf)
