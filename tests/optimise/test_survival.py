import numpy as np
from pymoo.operators.survival.rank_and_crowding.metrics import calc_crowding_distance
from pymoo.util.nds.non_dominated_sorting import NonDominatedSorting

from longvault.optimise.front import rank
from longvault.optimise.survival import crowding, quality_order


def test_fronts_equal_those_of_pymoo():
    for seed, count in ((0, 2), (1, 3), (2, 4)):
        costs = np.random.default_rng(seed).integers(0, 9, (300, count)).astype(float)
        fronts = NonDominatedSorting().do(costs)
        expected = np.empty(300, dtype=int)
        for number, rows in enumerate(fronts):
            expected[rows] = number
        np.testing.assert_array_equal(rank(costs), expected)


def test_crowding_equals_that_of_pymoo_front_by_front():
    costs = np.random.default_rng(4).random((200, 3))
    front = rank(costs)
    got = crowding(costs, front)
    for number in range(front.max() + 1):
        rows = front == number
        if rows.sum() > 2:
            np.testing.assert_allclose(got[rows], 3 * calc_crowding_distance(costs[rows]), rtol=1e-12)
        else:
            assert np.isinf(got[rows]).all()


def test_order_is_feasible_by_front_then_infeasible_by_violation_then_nan():
    costs = np.array([[3.0, 3.0], [1.0, 2.0], [np.nan, 0.0], [0.0, 0.0], [2.0, 1.0], [0.0, 0.0]])
    violation = np.array([0.0, 0.0, np.inf, 0.2, 0.0, 0.1])
    assert quality_order(costs, violation).tolist() == [1, 4, 0, 5, 3, 2]


def test_equal_rows_keep_their_order():
    assert quality_order(np.ones((4, 2)), np.full(4, 0.5)).tolist() == [0, 1, 2, 3]
    assert quality_order(np.full((3, 2), np.nan), np.full(3, np.inf)).tolist() == [0, 1, 2]
