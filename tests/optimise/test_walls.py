"""Nearest points between walls, against a general solver."""

import numpy as np
from scipy.optimize import minimize

from longvault.optimise.walls import nearest_allowed, nearest_point


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


def test_where_no_step_keeps_all_rows_the_excess_is_shared():
    # derived: p <= -1 and -p <= -1 cannot both hold; the least squared excess is at p = 0
    slope, room = np.array([[[1.0], [-1.0]]]), np.array([[-1.0, -1.0]])
    box = np.full((1, 1), 2.0)
    np.testing.assert_allclose(nearest_allowed(np.array([[0.7]]), slope, room, -box, box), 0.0, atol=1e-6)


def test_of_many_walls_those_that_hold_the_point_are_found():
    # derived: the ball's tangent planes; conditions of Karush, Kuhn and Tucker at the nearest point
    rng = np.random.default_rng(5)
    normal = rng.normal(size=(300, 6))
    normal /= np.sqrt((normal * normal).sum(axis=1, keepdims=True))
    wish, reach = 3.0 * normal[0] + 0.5 * rng.normal(size=6), np.ones(300)
    point, force = nearest_point(wish, normal, reach)
    over = normal @ point - reach
    np.testing.assert_allclose(wish - force @ normal, point, atol=1e-12)
    assert over.max() < 1e-6
    assert (force >= 0.0).all()
    assert 0 < (force > 0.0).sum() <= 6
    np.testing.assert_allclose(over[force > 0.0], 0.0, atol=1e-6)
