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
from scipy.optimize import nnls

from longvault.optimise.front import costs
from longvault.optimise.problem import UNKNOWN, Designs, Problem
from longvault.sections.symbols import Array, BoolArray, IntArray

DIFFERENCE = 1e-6
"""Forward difference as a share of the bounds; a stepped variable moves by one step."""
STEEPEST = 1e4
"""A change of order 1 within a ten-thousandth of the bounds is a jump, which no slope describes: ignored."""
LENGTHS = np.array([1.0, 0.3, 0.1])
"""Shares of the step tried at once."""
CORRECTED = 2
"""How many of them are tried again, bent back to the limits."""
SPARE = 1e-5
"""How far inside its limits a design is aimed, so that a small error of a step does not carry it out."""
MEMORY = 8
"""Points tried whose linearisations stay in force."""
KINK = 0.05
"""Relative change of a slope above which a linearisation says more than the one at the centre."""
STIFFNESS = 1e8
"""Weight of linearised limits that no step can keep, against the length of the step."""
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

    def kinked(self, centre: "Model") -> BoolArray:
        """Which rows (B, R) slope differently here than at the centre; the others only repeat it."""
        apart = np.abs(self.slope - centre.slope).sum(axis=2)
        return np.asarray(apart > KINK * np.abs(centre.slope).sum(axis=2))

    def seen_from(self, centre: "Model") -> Array:
        """Value the model gives at another point, not above the true value there (curved functions)."""
        moved = self.value + np.einsum("brd,bd->br", self.slope, centre.point - self.point)
        seen: Array = np.minimum(moved, centre.value)
        return seen


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
        """Return the squad before its first step."""
        caps = scaled_values(problem, members, spans).copy()
        count = len(problem.objectives)
        caps[:, count:] = 0.0
        caps[free | (targets < 0), :count] = np.inf
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
    free : bool array (B,), optional
        Designs whose other objectives may get worse: they seek the end of the front.
    """
    everyone = np.ones(len(members), dtype=bool)
    squad = Squad.begin(problem, members, targets, spans, ~everyone if free is None else free)
    probe, better = members, everyone
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
    return Polished(squad.designs, problem.empty.joined(*tried), problem.empty.joined(*twins))


def scaled_values(problem: Problem, designs: Designs, spans: Array) -> Array:
    """Costs over their spans, and margins with a little to spare (B, R = M + K)."""
    cost = costs(designs.objectives, problem.maximise) / spans
    return np.concatenate([cost, designs.margins + SPARE], axis=1)


def linearised(problem: Problem, designs: Designs, spans: Array, score: Score) -> tuple[Model, Designs]:
    """Linearise about B designs by forward differences; also return the B d designs this took."""
    near = score(neighbours(problem, designs))
    return model_of(problem, designs, near, spans), near


def neighbours(problem: Problem, designs: Designs) -> Array:
    """Snapped designs (B d, d), each with one variable of one of B designs moved a little."""
    width = np.where(problem.upper > problem.lower, problem.upper - problem.lower, 1.0)
    move = np.maximum(DIFFERENCE * width, problem.steps(designs.x))
    move = np.where(designs.x + move > problem.upper, -move, move)
    each = np.arange(designs.x.shape[1])
    x = np.repeat(designs.x[:, None], len(each), axis=1)
    x[:, each, each] += move
    return problem.snap(x.reshape(-1, len(each)))


def model_of(problem: Problem, designs: Designs, near: Designs, spans: Array) -> Model:
    """Linear model about B designs by their neighbours."""
    count, size = designs.x.shape
    width = np.where(problem.upper > problem.lower, problem.upper - problem.lower, 1.0)
    each = np.arange(size)
    value = scaled_values(problem, designs, spans)
    moved = scaled_values(problem, near, spans).reshape(count, size, -1)
    moved_by = (near.x.reshape(count, size, size)[:, each, each] - designs.x) / width
    with np.errstate(divide="ignore", invalid="ignore"):
        slope = np.swapaxes((moved - value[:, None]) / moved_by[..., None], 1, 2)
    slope = np.where(np.abs(slope) < STEEPEST, slope, 0.0)  # also nan and inf: a limit not worked out
    return Model((designs.x - problem.lower) / width, value, slope)


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


def nearest_allowed(wish: Array, slope: Array, room: Array, low: Array, high: Array) -> Array:
    """Points nearest to ``wish`` (B, d) with slope . p <= room (B, R) and low <= p <= high.

    Rows whose room is infinite ask nothing. Where no point keeps all rows, the sum of the squared excesses
    is least. Least-distance problem, solved as non-negative least squares (Lawson & Hanson, Solving Least
    Squares Problems, Prentice-Hall 1974, ch. 23), with excesses weighted by ``STIFFNESS``.

    Examples
    --------
    >>> wish, slope, room = np.ones((1, 2)), np.ones((1, 1, 2)), np.ones((1, 1))
    >>> nearest_allowed(wish, slope, room, -2 * wish, 2 * wish).round(6)
    array([[0.5, 0.5]])
    """
    size = np.sqrt((slope * slope).sum(axis=2))
    asks = np.isfinite(room) & (size > 1e-12)
    straight = np.clip(wish, low, high)
    broken = asks & (np.einsum("brd,bd->br", slope, straight) > room)
    for i in np.flatnonzero(broken.any(axis=1)):
        rows = np.flatnonzero(asks[i])
        normal, distance = slope[i, rows] / size[i, rows, None], room[i, rows] / size[i, rows]
        straight[i] = _nearest_point(wish[i], normal, distance, low[i], high[i])
    return straight


def _nearest_point(wish: Array, normal: Array, distance: Array, low: Array, high: Array) -> Array:
    unit = np.eye(len(wish))
    walls = np.concatenate([normal, unit, -unit])
    far = np.concatenate([distance, high, -low])
    root = np.sqrt(STIFFNESS)
    matrix = np.concatenate([walls.T, np.diag(np.full(len(far), 1.0 / root))])
    try:
        force, _ = nnls(matrix, np.concatenate([wish, -root * far]))
    except RuntimeError:  # too many iterations: stay
        return np.zeros_like(wish)
    stepped: Array = np.clip(wish - (walls * force[:, None]).sum(axis=0), low, high)
    return stepped


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
