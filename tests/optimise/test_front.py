import numpy as np
import pytest

from longvault.optimise import best_under, by_weights, clusters, hypervolume, knee, nondominated, spread


def plain_nondominated(values, maximise):
    """Compare every pair by the definition; of twins the first stays."""
    cost = np.where(maximise, -values, values)
    mask = np.isfinite(cost).all(axis=1)
    for i, row in enumerate(cost):
        for j, other in enumerate(cost):
            beats = (other <= row).all() and ((other < row).any() or j < i)
            if mask[i] and i != j and np.isfinite(other).all() and beats:
                mask[i] = False
                break
    return mask


@pytest.mark.parametrize("count", [2, 3, 4])
def test_nondominated_equals_the_definition(count):
    rng = np.random.default_rng(count)
    values = rng.integers(0, 6, (200, count)).astype(float)
    values[rng.random(values.shape) < 0.02] = np.nan
    values[rng.random(values.shape) < 0.02] = np.inf
    values[rng.random(values.shape) < 0.02] = -np.inf
    maximise = np.arange(count) % 2 == 1
    before = values.copy()
    np.testing.assert_array_equal(
        nondominated(values, maximise=maximise), plain_nondominated(values, maximise)
    )
    np.testing.assert_array_equal(values, before)


def test_nothing_finite_gives_an_empty_set():
    assert nondominated(np.full((3, 2), np.nan)).tolist() == [False] * 3
    assert nondominated(np.empty((0, 2))).tolist() == []
    assert hypervolume(np.empty((0, 2)), [1.0, 1.0]) == 0.0
    assert hypervolume([[np.nan, 0.0]], [1.0, 1.0]) == 0.0


def test_hypervolume_of_three_boxes_by_hand():
    # derived: union of the boxes 3 x 1, 2 x 2, 1 x 3 up to (4, 4) is 6
    assert hypervolume([[1, 3], [2, 2], [3, 1]], [4, 4]) == 6.0
    assert hypervolume([[1, 3], [2, 2], [3, 1], [5, 0], [np.nan, 0]], [4, 4]) == 6.0


def test_hypervolume_against_counting_lattice_cells():
    # second implementation: count unit cells dominated, for integer points in three objectives
    points = np.random.default_rng(5).integers(0, 8, (12, 3)).astype(float)
    cells = np.stack(np.meshgrid(*[np.arange(8)] * 3, indexing="ij"), axis=-1).reshape(-1, 3)
    count = (points[None] <= cells[:, None]).all(axis=2).any(axis=1).sum()
    assert hypervolume(points, [8, 8, 8]) == count
    assert hypervolume(points * [1, -1, 1], [8, -8, 8], maximise=[False, True, False]) == count


def test_knee_of_a_bulge_is_the_point_farthest_from_the_chord():
    # superellipse u^p + v^p = 1 with u = 1 - f1, v = 1 - f2: by symmetry the knee is at u = v
    u = np.linspace(0.0, 1.0, 201)
    v = (1.0 - u**3) ** (1 / 3)
    middle = knee(np.stack([1 - u, 1 - v], axis=1))
    assert abs(u[middle] - v[middle]) < 0.01
    # the same front measured in other units and senses has the same knee
    assert knee(np.stack([1e3 * (1 - u), 7 * v - 40], axis=1), maximise=[False, True]) == middle


def test_knee_in_three_objectives_uses_the_plane_through_the_extremes():
    front = np.array([[0.0, 1.0, 1.0], [1.0, 0.0, 1.0], [1.0, 1.0, 0.0], [0.4, 0.4, 0.4], [0.1, 0.9, 0.8]])
    assert knee(front) == 3
    assert knee(np.ones((3, 3))) == 0
    assert knee([[np.nan, 0.0], [1.0, 1.0]]) == 1
    with pytest.raises(ValueError, match="no row is finite"):
        knee([[np.nan, 0.0]])


def test_weights_move_the_pick_along_the_front():
    front = np.array([[0.0, 1.0], [0.3, 0.3], [1.0, 0.0]])
    assert [by_weights(front, w) for w in ([1, 0], [1, 1], [0, 1])] == [0, 1, 2]
    for bad in ([0, 0], [1, -1], [1, np.nan]):
        with pytest.raises(ValueError, match="weights: got"):
            by_weights(front, bad)
    with pytest.raises(ValueError, match="one for each of the 2"):
        by_weights(front, [1, 1, 1])


def test_best_under_a_cap_keeps_the_cap_and_ties_go_to_the_better_rest():
    front = np.array([[1.0, 5.0], [2.0, 6.0], [2.0, 6.0], [3.0, 9.0], [np.nan, 99.0]])
    senses = [False, True]
    assert best_under(front, [2.5, np.nan], best=1, maximise=senses) == 1
    assert best_under(front, [np.nan, 5.5], best=0, maximise=senses) == 1
    assert best_under(front, [0.5, np.nan], best=1, maximise=senses) is None


def test_spread_covers_within_twice_the_best_possible():
    # Gonzalez 1985: on the unit segment 5 centres can cover within 1/8; farthest-point within 1/4
    u = np.linspace(0, 1, 401)
    front = np.stack([u, 1 - u], axis=1)
    picks = spread(front, 5)
    assert len(set(picks.tolist())) == 5
    radius = np.abs(u[:, None] - u[picks][None]).min(axis=1).max()
    assert radius <= 0.25 + 1e-9
    label = clusters(front, picks)
    np.testing.assert_array_equal(label, np.abs(u[:, None] - u[picks][None]).argmin(axis=1))


def test_spread_never_repeats_a_place_and_starts_where_told():
    front = np.array([[0.0, 1.0], [0.0, 1.0], [1.0, 0.0], [np.nan, 0.0], [0.5, 0.5]])
    assert spread(front, 10).tolist() == [0, 2, 4]
    assert spread(front, 2, first=4).tolist() == [4, 0]
    assert clusters(front, [0, 2]).tolist() == [0, 0, 1, -1, 0]
