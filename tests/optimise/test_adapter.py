import numpy as np
import pytest

from longvault.optimise import Objective, Problem, Scores, hypervolume
from longvault.optimise.adapter import differential, plain_nsga2, polynomial_mutation, simulated_binary

LOWER, UPPER = np.array([-1.0, 0.0, 5.0]), np.array([1.0, 10.0, 5.0])


def drawn(count, seed=0):
    return np.random.default_rng(seed).uniform(LOWER, UPPER, (count, 50, 3))


def test_children_stay_inside_the_bounds_and_leave_their_parents_alone():
    pair, trio = drawn(2), drawn(3)
    before = pair.copy(), trio.copy()
    rng = np.random.default_rng(1)
    made = [
        simulated_binary(pair, LOWER, UPPER, rng),
        differential(trio, LOWER, UPPER, rng, scale=np.full(50, 0.9)),
        polynomial_mutation(pair[0], LOWER, UPPER, rng, share=0.5),
    ]
    for children, count in zip(made, (100, 50, 50), strict=True):
        assert children.shape == (count, 3)
        assert ((children >= LOWER) & (children <= UPPER)).all()
        assert not np.array_equal(children[:50], pair[0])
    np.testing.assert_array_equal(pair, before[0])
    np.testing.assert_array_equal(trio, before[1])


def test_crossover_keeps_the_middle_of_the_parents():
    # Deb & Agrawal 1995: away from the bounds the two children lie evenly about the parents' middle
    pair = np.full((2, 500, 4), 0.5)
    pair[0] -= 0.001
    pair[1] += 0.001
    children = simulated_binary(pair, np.zeros(4), np.ones(4), np.random.default_rng(2), share=0.9)
    np.testing.assert_allclose(children.reshape(2, 500, 4).mean(axis=0), 0.5, atol=1e-9)


def test_differential_of_the_whole_row_is_the_formula():
    trio = 0.4 + 0.1 * np.random.default_rng(3).random((3, 20, 5))
    child = differential(trio, np.zeros(5), np.ones(5), np.random.default_rng(4), scale=np.full(20, 0.7))
    np.testing.assert_allclose(child, trio[0] + 0.7 * (trio[1] - trio[2]), rtol=1e-12)


def test_the_same_generator_gives_the_same_children():
    runs = [simulated_binary(drawn(2), LOWER, UPPER, np.random.default_rng(5)) for _ in range(2)]
    assert runs[0].tobytes() == runs[1].tobytes()


@pytest.mark.parametrize("left_out", [np.nan, np.inf, 1.0])
def test_plain_nsga2_keeps_the_limits_whatever_marks_a_bad_design(left_out):
    def disc(x):
        radius = (x**2).sum(axis=1)
        other = np.where(radius <= 1, -1.0, left_out)
        return Scores(x.copy(), np.stack([radius - 1.0, other], axis=1))

    problem = Problem([-1, -1], [2, 2], (Objective("x", "max"), Objective("y", "max")), disc, ("r", "other"))
    front = plain_nsga2(problem, evaluations=5000, seed=1)
    assert front.feasible.all()
    assert hypervolume(front.objectives, [0, 0], maximise=True) > 0.97 * np.pi / 4
