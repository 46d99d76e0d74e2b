"""The least change that mends a design: closed forms, brute force, steps, and what cannot be mended."""

import numpy as np
import pytest

from longvault.optimise import Objective, Problem, Scores
from longvault.optimise.mend import bounds_around, mended

GOALS = (Objective("x"), Objective("y"))


def of(margins, step=None, seeds=None, size=2):
    def evaluate(x):
        return Scores(x[:, :2].copy(), np.stack([m(x) for m in margins], axis=1))

    names = tuple(f"m{i}" for i in range(len(margins)))
    return Problem(np.zeros(size), np.ones(size), GOALS, evaluate, names, step=step, seeds=seeds)


def test_projection_on_a_circle_is_along_its_radius():
    """Derived: the nearest point of a disc of radius r lies on the line to its centre, |x - c| - r away."""
    problem = of([lambda x: ((x - 0.5) ** 2).sum(axis=1) / 0.04 - 1.0])
    found = mended(problem, [0.95, 0.9])
    away = np.hypot(0.45, 0.4)
    assert found.distance == pytest.approx(away - 0.2, abs=1e-4)
    np.testing.assert_allclose(found.design.x[0], 0.5 + 0.2 * np.array([0.45, 0.4]) / away, atol=2e-3)


def test_a_corner_of_two_limits_is_found():
    """Derived: nearest to the origin with x + 2 y >= 1 and 2 x + y >= 1 is (1/3, 1/3)."""
    problem = of([lambda x: 1 - x[:, 0] - 2 * x[:, 1], lambda x: 1 - 2 * x[:, 0] - x[:, 1]])
    np.testing.assert_allclose(mended(problem, [0.0, 0.0]).design.x[0], 1 / 3, atol=1e-4)


def wavy(x):
    return 0.35 + 0.15 * np.sin(9 * x[:, 0]) + 0.3 * np.abs(x[:, 0] - 0.6) - x[:, 1]


def hollow(x):
    return 0.05 / (0.02 + (x[:, 0] - 0.3) ** 2 + (x[:, 1] - 0.7) ** 2) - 1.0


@pytest.mark.parametrize("step", [0.0, 0.05])
def test_no_point_of_a_fine_grid_is_nearer(step):
    """Two limits with a kink, waves and a hole: against all 1001 x 1001 points, from 40 random designs."""
    seeds = [[0.1, 0.95], [0.9, 0.95], [0.9, 0.6], [0.05, 0.9]]
    problem = of([wavy, hollow], step=[0.0, step], seeds=seeds)
    side = np.linspace(0, 1, 1001)
    high = side if not step else np.arange(21) * step
    grid = np.stack(np.meshgrid(side, high, indexing="ij"), axis=-1).reshape(-1, 2)
    holding = grid[(problem.evaluate(grid).margins <= -1e-9).all(axis=1)]
    ratios = []
    for x in np.random.default_rng(2).random((80, 2)):
        x = problem.snap(x[None])
        if problem.score(x).feasible[0]:
            continue
        found = mended(problem, x[0])
        assert found.design.feasible[0]
        best = np.sqrt(((holding - x[0]) ** 2).sum(axis=1).min())
        ratios.append((found.distance - best) / max(best, 0.05))
    assert len(ratios) > 20
    assert np.median(ratios) < 0.01
    assert np.mean(np.array(ratios) < 0.05) > 0.9, "a hole in between may hide the nearest point"


def test_what_holds_is_left_alone_and_what_cannot_hold_is_said():
    problem = of([lambda x: x[:, 0] - 0.5])
    assert mended(problem, [0.2, 0.3]).distance == 0.0
    assert mended(of([lambda x: 1.0 + x[:, 0]]), [0.2, 0.3], starts=[[0.5, 0.5]]) is None


def test_the_same_call_gives_the_same_bits_and_counts_its_designs():
    problem = of([wavy, hollow])
    one, two = mended(problem, [0.3, 0.1]), mended(problem, [0.3, 0.1])
    assert one.design.x.tobytes() == two.design.x.tobytes()
    assert one.evaluations == two.evaluations < 1000


def test_bounds_take_in_a_design_from_outside():
    low, high = bounds_around(of([wavy]), [-1.0, 0.5])
    assert low.tolist() == [-1.0, 0.0]
    assert high.tolist() == [1.0, 1.0]
