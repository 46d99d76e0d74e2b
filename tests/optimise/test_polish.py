import numpy as np
import pytest

from longvault.optimise import Objective, Problem, Scores, SearchSettings, search
from longvault.optimise.polish import CORRECTED, LENGTHS, polish, polish_cost

from .test_search import same
from .thin_wall import gull_wing


def bowl_and_kink(x):
    """Second objective |x0 - x1| + |x1|: a kink on which plain gradients stall."""
    first = ((x - 1.0) ** 2).sum(axis=1)
    second = np.abs(x[:, 0] - x[:, 1]) + np.abs(x[:, 1])
    return Scores(np.stack([first, second], axis=1), (x[:, 0] - 0.8)[:, None])


@pytest.fixture
def kinked():
    return Problem([-2, -2, -2], [2, 2, 2], [Objective("bowl"), Objective("kink")], bowl_and_kink, ("x0",))


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


class Steep:
    """Least sum of x, where at most one of six slopes |x - 0.5| may exceed 0.3: a share that jumps.

    Derived: from a start with no steep one, held gentle, the least is at x = 0.2, the sum 1.2.
    """

    def __call__(self, x):
        steep = (self.slopes(x) > 0.3).sum(axis=1)
        worst = self.slopes(x).max(axis=1) / 0.45 - 1.0
        return Scores(np.stack([x.sum(axis=1), -x[:, 0]], axis=1), np.stack([steep - 1.5, worst], axis=1))

    def slopes(self, x):
        return np.abs(x - 0.5)


class Pieced(Steep):
    def pieces(self, x):
        return np.concatenate([self.slopes(x) / 0.3 - 1.0, self.slopes(x) / 0.45 - 1.0], axis=1)


def steep_problem(evaluate):
    return Problem(
        np.zeros(6), np.ones(6), (Objective("sum"), Objective("first")), evaluate, ("share", "worst")
    )


def polished(evaluate, x):
    problem = steep_problem(evaluate)
    start = problem.score(problem.snap(np.atleast_2d(x)))
    free = np.ones((1, 2), dtype=bool)
    return polish(problem, start, np.array([0]), np.ones(2), problem.score, iterations=8, free=free)


def test_pieces_lead_to_the_corner_where_a_jump_stops_plain_slopes():
    x = np.linspace(0.35, 0.65, 6)
    plain, pieced = polished(Steep(), x), polished(Pieced(), x)
    assert pieced.best.objectives[0, 0] == pytest.approx(1.2, abs=1e-3)
    assert plain.best.objectives[0, 0] > 1.3
    assert pieced.best.feasible.all()
    assert pieced.evaluations == plain.evaluations
    assert {one.margins.shape[1] for one in (pieced.best, pieced.tried, pieced.neighbours)} == {2}


def test_a_piece_that_is_broken_at_the_start_asks_nothing():
    # derived: the first is steep and may go to the limit of the worst, 0.05; the others stay gentle at 0.2
    found = polished(Pieced(), [0.15, 0.4, 0.5, 0.5, 0.6, 0.6]).best
    assert found.x[0] == pytest.approx([0.05, *[0.2] * 5], abs=1e-3)
    assert found.feasible.all()


def test_an_objective_that_is_free_may_get_worse_and_the_others_may_not():
    # derived: x0 + x1 grows by x0 alone where x1 is held, to 1 + 0.3; with both held it cannot
    def plane(x):
        return Scores(np.stack([x[:, 0], -x.sum(axis=1), x[:, 1]], axis=1), np.empty((len(x), 0)))

    problem = Problem([0, 0], [1, 1], [Objective(name) for name in "abc"], plane)
    start = problem.score(problem.snap([[0.2, 0.3]] * 2))
    free = np.array([[True, False, False], [False, False, False]])
    done = polish(problem, start, np.array([1, 1]), np.ones(3), problem.score, iterations=8, free=free)
    assert done.best.x[0] == pytest.approx([1.0, 0.3], abs=1e-4)
    assert done.best.x[1] == pytest.approx([0.2, 0.3], abs=1e-4)


def test_searches_with_pieces_go_on_to_the_same_bits_and_for_any_blocks():
    problem, rules = steep_problem(Pieced()), SearchSettings(6000, seed=1, population=100)
    whole, calls = search(problem, rules), []
    assert whole.state.polished > 0
    part = search(problem, rules, stop=lambda: calls.append(1) or len(calls) >= 35)
    assert part.evaluations < whole.evaluations
    assert same(whole, search(problem, rules, state=part.state))
    assert same(whole, search(problem, rules, blocks=3))
    without = search(steep_problem(Steep()), rules)
    assert without.front.objectives[:, 0].min() >= whole.front.objectives[:, 0].min() - 1e-3
