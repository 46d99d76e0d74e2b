import numpy as np
import pytest

from longvault.optimise import Designs, Objective, Problem, Scores

TWO = (Objective("a"), Objective("b", "max"))


def scores(x):
    return Scores(np.zeros((len(x), 2)), np.empty((len(x), 0)))


def test_steps_are_whole_multiples_and_decimals_are_exact():
    problem = Problem([0.065, -1.0, 0.0], [0.125, 1.0, 5.0], TWO, scores, step=[0.01, 0.0, 1.0])
    snapped = problem.snap([[0.0, -9.0, 2.4], [0.0749, 0.123456, 9.0], [0.9, 2.0, -3.0]])
    assert snapped.tolist() == [[0.07, -1.0, 2.0], [0.07, 0.123456, 5.0], [0.12, 1.0, 0.0]]


def test_snapping_twice_changes_nothing_and_equal_designs_have_equal_bytes():
    rng = np.random.default_rng(0)
    problem = Problem(np.full(4, -2.0), np.full(4, 2.0), TWO, scores, step=[0.01, 0.3, 0.0, 1.0])
    once = problem.snap(rng.uniform(-3, 3, (500, 4)))
    assert once.tobytes() == problem.snap(once).tobytes()
    assert (
        problem.snap([[-0.0, -0.0, -0.0, -0.0]]).tobytes() == problem.snap([[0.0, 0.0, 0.0, 0.0]]).tobytes()
    )


def test_snap_obeys_the_batch_law():
    x = np.random.default_rng(1).uniform(-3, 3, (50, 2))
    problem = Problem([-2.0, -2.0], [2.0, 2.0], TWO, scores, step=[0.07, 0.0])
    batch = problem.snap(x)
    assert all(batch[i].tobytes() == problem.snap(x[i : i + 1])[0].tobytes() for i in range(50))


def test_inputs_are_left_as_they_were_and_arrays_are_read_only():
    lower, upper, seeds = np.zeros(2), np.ones(2), np.full((1, 2), 0.5)
    problem = Problem(lower, upper, TWO, scores, seeds=seeds)
    lower[0] = seeds[0, 0] = 0.25
    assert problem.lower[0] == 0.0
    assert problem.seeds[0, 0] == 0.5
    with pytest.raises(ValueError, match="read-only"):
        problem.lower[0] = 1.0


@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"lower": [0.0, 2.0]}, r"bounds of variable 1: got 2 to 1"),
        ({"upper": [1.0, np.inf]}, r"bounds of variable 1: got 0 to inf"),
        ({"upper": [1.0]}, r"lower and upper must have one shape"),
        ({"objectives": (Objective("a"),)}, r"objectives: got 1"),
        ({"step": [0.0, -1.0]}, r"step must be 2 finite values"),
        ({"step": [0.0, 3.0], "lower": [0.0, 0.5]}, r"step of variable 1: no multiple of 3"),
        ({"seeds": [[0.5]]}, r"seeds must be finite, of shape \(k, 2\)"),
        ({"reference": [1.0]}, r"reference must have one value for each of the 2"),
    ],
)
def test_a_bad_problem_is_refused_by_name(changes, words):
    good = {"lower": [0.0, 0.0], "upper": [1.0, 1.0], "objectives": TWO, "evaluate": scores}
    Problem(**good)
    with pytest.raises(ValueError, match=words):
        Problem(**(good | changes))


def test_an_unknown_sense_lists_those_there_are():
    with pytest.raises(ValueError, match="got 'maximum'; must be one of min, max"):
        Objective("area", "maximum")


def test_scores_of_a_wrong_shape_are_refused():
    problem = Problem([0.0], [1.0], TWO, scores, ("limit",))
    with pytest.raises(ValueError, match=r"evaluate returned objectives \(3, 2\) and margins \(3, 0\)"):
        problem.score(np.zeros((3, 1)))


def test_feasible_and_violation_by_hand():
    designs = Designs(
        np.zeros((6, 1)),
        np.array([[1.0, 2.0], [1.0, 2.0], [1.0, 2.0], [np.nan, 2.0], [1.0, np.inf], [1.0, 2.0]]),
        np.array([[-1.0, -1e-9], [-1.0, 0.0], [0.5, 0.25], [-1.0, -1.0], [-1.0, -1.0], [np.nan, -1.0]]),
    )
    assert designs.feasible.tolist() == [True, False, False, False, False, False]
    np.testing.assert_allclose(
        designs.violation, [0.0, 1e-9, 0.75 + 2e-9, np.inf, np.inf, np.inf], rtol=1e-12
    )


def test_without_limits_every_finite_design_is_feasible():
    designs = Designs(np.zeros((2, 1)), np.array([[1.0, 2.0], [1.0, np.nan]]), np.empty((2, 0)))
    assert designs.feasible.tolist() == [True, False]
    assert designs.violation.tolist() == [0.0, np.inf]


def test_a_limit_not_worked_out_is_worse_than_any_that_was_and_better_than_nan():
    margins = np.array([[0.001, np.inf], [-1.0, 3.0], [0.5, np.inf], [np.nan, -1.0]])
    designs = Designs(np.zeros((4, 1)), np.zeros((4, 2)), margins)
    assert not designs.feasible.any()
    assert np.argsort(designs.violation).tolist() == [1, 0, 2, 3]
