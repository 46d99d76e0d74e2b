"""Linear models of costs and limits about many designs at a time, by forward differences in one batch."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from longvault.optimise.front import costs
from longvault.optimise.problem import Designs, Problem
from longvault.sections.symbols import Array, BoolArray

DIFFERENCE = 1e-6
"""Forward difference as a share of the bounds; a stepped variable moves by one step."""
STEEPEST = 1e4
"""A change of order 1 within a ten-thousandth of the bounds is a jump, which no slope describes: ignored."""
SPARE = 1e-5
"""How far inside its limits a design is aimed, so that a small error of a step does not carry it out."""
KINK = 0.05
"""Relative change of a slope above which a linearisation says more than the one at the centre."""

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
