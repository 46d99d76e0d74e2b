import numpy as np
import pytest
from pymoo.operators.survival.rank_and_crowding.metrics import calc_crowding_distance
from pymoo.util.nds.non_dominated_sorting import NonDominatedSorting

from longvault.optimise.front import hypervolume, nondominated, rank
from longvault.optimise.survival import BEYOND, crowding, quality_order, worth


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


@pytest.mark.parametrize("count", [2, 3])
def test_worth_is_the_volume_that_is_lost_without_a_design(count):
    points = np.random.default_rng(7).random((80, count))
    costs = points[nondominated(points)]
    unit = (costs - costs.min(axis=0)) / np.ptp(costs, axis=0)
    reference = np.full(count, 1.0 + BEYOND)
    whole, ends = hypervolume(unit, reference), set(unit.argmin(axis=0).tolist())
    for row, value in enumerate(worth(costs)):
        lost = whole - hypervolume(np.delete(unit, row, axis=0), reference)
        assert np.isinf(value) if row in ends else value == pytest.approx(lost, abs=1e-12)


def test_of_twins_one_goes_last_and_the_ends_come_first():
    costs = np.array([[0.0, 4.0], [1.0, 2.0], [1.0, 2.0], [3.0, 1.0], [4.0, 0.0]])
    assert quality_order(costs, np.zeros(5)).tolist() == [0, 4, 1, 3, 2]


def test_with_four_objectives_crowding_decides():
    costs = np.random.default_rng(1).random((40, 4))
    front = rank(costs)
    expected = np.lexsort((-crowding(costs, front), front))
    np.testing.assert_array_equal(quality_order(costs, np.zeros(40)), expected)
