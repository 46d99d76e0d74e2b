import numpy as np
import pytest
from scipy.optimize import minimize

from longvault.optimise import Objective, Problem, Scores
from longvault.optimise.polish import CORRECTED, LENGTHS, nearest_allowed, polish, polish_cost

from .thin_wall import gull_wing


def bowl_and_kink(x):
    """Second objective |x0 - x1| + |x1|: a kink on which plain gradients stall."""
    first = ((x - 1.0) ** 2).sum(axis=1)
    second = np.abs(x[:, 0] - x[:, 1]) + np.abs(x[:, 1])
    return Scores(np.stack([first, second], axis=1), (x[:, 0] - 0.8)[:, None])


@pytest.fixture
def kinked():
    return Problem([-2, -2, -2], [2, 2, 2], [Objective("bowl"), Objective("kink")], bowl_and_kink, ("x0",))


def test_projection_equals_that_of_a_general_solver():
    rng = np.random.default_rng(3)
    wish, slope = rng.normal(size=(6, 4)), rng.normal(size=(6, 3, 4))
    room, high = rng.uniform(0.1, 1.0, size=(6, 3)), np.full((6, 4), 0.7)
    got = nearest_allowed(wish, slope, room, -high, high)
    for i in range(6):
        limits = {
            "type": "ineq",
            "fun": lambda p, i=i: room[i] - slope[i] @ p,
            "jac": lambda p, i=i: -slope[i],
        }
        best = minimize(
            lambda p, i=i: ((p - wish[i]) ** 2).sum(),
            np.zeros(4),
            jac=lambda p, i=i: 2 * (p - wish[i]),
            constraints=limits,
            bounds=[(-0.7, 0.7)] * 4,
            method="SLSQP",
            options={"ftol": 1e-14},
        )
        np.testing.assert_allclose(got[i], best.x, atol=1e-5)


def test_a_limit_is_met_at_its_boundary(kinked):
    # derived: the bowl alone is least at (1, 1, 1), cut off by x0 <= 0.8 to (0.8, 1, 1), value 0.04;
    # the second objective may not grow beyond its first value 3
    start = kinked.score(kinked.snap([[-1.0, 1.0, 0.0]]))
    done = polish(kinked, start, np.array([0]), np.ones(2), kinked.score, iterations=25)
    np.testing.assert_allclose(done.best.x, [[0.8, 1.0, 1.0]], atol=2e-3)
    assert done.best.feasible.all()
    assert done.best.objectives[0, 1] <= start.objectives[0, 1]


def test_it_follows_a_kink_where_one_gradient_stalls(kinked):
    # derived: with the bowl held at its first value the kink is least where |x0 - x1| + |x1| = 0
    start = kinked.score(kinked.snap([[-0.9, 0.4, 0.3]]))
    done = polish(kinked, start, np.array([1]), np.ones(2), kinked.score, iterations=40)
    assert done.best.objectives[0, 1] < 0.02
    assert done.best.objectives[0, 0] <= start.objectives[0, 0] + 1e-9


def test_a_squad_improves_thin_walled_sections_without_harm():
    problem = gull_wing()
    rng = np.random.default_rng(0)
    x = problem.snap(rng.uniform(problem.lower, problem.upper, (40, 20)))
    start = problem.score(x)
    assert not start.feasible.any()
    spans = np.array([2.0, 0.6, 2.0])
    met = polish(problem, start, np.full(40, -1), spans, problem.score, iterations=25).best
    assert met.feasible.mean() > 0.8
    members = met.take(met.feasible)
    targets = np.arange(len(members)) % 3
    better = polish(problem, members, targets, spans, problem.score, iterations=10).best
    sign = np.where(problem.maximise, -1.0, 1.0)
    gain = (sign * (members.objectives - better.objectives))[np.arange(len(members)), targets] / spans[
        targets
    ]
    assert (gain >= 0).mean() > 0.95
    assert np.median(gain) > 0.02


def test_evaluations_are_counted_and_the_result_repeats(kinked):
    calls = []

    def counted(x):
        calls.append(len(x))
        return kinked.score(x)

    members = kinked.score(kinked.snap(np.random.default_rng(1).uniform(-1, 0.7, (5, 3))))
    runs = [polish(kinked, members, np.zeros(5, int), np.ones(2), counted, iterations=4) for _ in range(2)]
    assert (
        runs[0].evaluations
        == polish_cost(kinked, 5, 4)
        == sum(calls) // 2
        == 5 * 4 * (3 + len(LENGTHS) + CORRECTED)
    )
    assert runs[0].best.x.tobytes() == runs[1].best.x.tobytes()
    assert not runs[0].best.x.flags.writeable


def test_stepped_and_fixed_variables_and_nan_rows_do_no_harm():
    def holed(x):
        scores = bowl_and_kink(x)
        scores.objectives[x[:, 2] > 1.5] = np.nan
        return scores

    problem = Problem(
        [-2, -2, 0.5],
        [2, 2, 0.5],
        [Objective("bowl"), Objective("kink")],
        holed,
        ("x0",),
        step=[0.1, 0.0, 0.0],
    )
    start = problem.score(problem.snap([[-1.0, 0.0, 0.5], [0.3, -1.2, 0.5]]))
    done = polish(problem, start, np.array([0, 0]), np.ones(2), problem.score, iterations=15)
    assert problem.snap(done.best.x).tobytes() == done.best.x.tobytes()
    assert (done.best.objectives[:, 0] < start.objectives[:, 0]).all()
    assert len(done.tried) == 2 * 15 * (
        1 + len(LENGTHS) + CORRECTED
    )  # neighbours by a step are designs of their own


def test_where_no_step_keeps_all_rows_the_excess_is_shared():
    # derived: p <= -1 and -p <= -1 cannot both hold; the least squared excess is at p = 0
    slope, room = np.array([[[1.0], [-1.0]]]), np.array([[-1.0, -1.0]])
    box = np.full((1, 1), 2.0)
    np.testing.assert_allclose(nearest_allowed(np.array([[0.7]]), slope, room, -box, box), 0.0, atol=1e-6)


@pytest.mark.parametrize("left_out", [0.0, np.inf])
def test_a_limit_left_out_elsewhere_is_not_taken_for_a_slope(left_out):
    # a limit that is only worked out where the first one holds; derived: -x0 - x1 is least at -1.4
    def staged(x):
        first = x[:, 0] - 0.5
        second = np.where(first <= -1e-9, x[:, 1] - 0.9, left_out)
        return Scores(np.stack([-x[:, 0] - x[:, 1], x[:, 2]], axis=1), np.stack([first, second], axis=1))

    problem = Problem([0, 0, 0], [1, 1, 1], [Objective("a"), Objective("b")], staged, ("first", "second"))
    start = problem.score(problem.snap([[0.5 - 2e-9, 0.2, 0.5]]))
    done = polish(problem, start, np.array([0]), np.ones(2), problem.score, iterations=12)
    np.testing.assert_allclose(done.best.objectives[0, 0], -1.4, atol=1e-3)
    assert done.best.feasible.all()
