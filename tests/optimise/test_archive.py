import numpy as np
import pytest

from longvault.optimise import Archive, Designs, hypervolume, nondominated


def designs(objectives, margins=None):
    objectives = np.asarray(objectives, dtype=float)
    margins = np.full((len(objectives), 1), -1.0) if margins is None else np.asarray(margins, dtype=float)
    return Designs(np.arange(len(objectives), dtype=float)[:, None], objectives, margins)


def sphere(count, seed):
    rng = np.random.default_rng(seed)
    points = np.abs(rng.normal(size=(count, 3)))
    return designs(1.0 - points / np.linalg.norm(points, axis=1, keepdims=True))


def test_only_feasible_and_unbeaten_designs_enter_and_beaten_ones_leave():
    archive = Archive(designs(np.empty((0, 2))), 100)
    archive = archive.added(
        designs([[2, 2], [1, 3], [3, 3], [0, 0]], [[-1], [-1], [-1], [0.1]]), maximise=False
    )
    assert archive.designs.objectives.tolist() == [[2, 2], [1, 3]]
    archive = archive.added(designs([[1, 1], [np.nan, 0]]), maximise=False)
    assert archive.designs.objectives.tolist() == [[1, 1]]


def test_of_designs_with_equal_objectives_the_first_met_stays():
    archive = Archive(designs([[1.0, 2.0]]), 100)
    again = archive.added(
        Designs(np.array([[77.0]]), np.array([[1.0, 2.0]]), np.array([[-1.0]])), maximise=False
    )
    assert again.designs.x.tolist() == [[0.0]]


def test_adding_returns_a_new_value_and_leaves_the_old_one():
    archive = Archive(designs([[1.0, 2.0]]), 100)
    archive.added(designs([[0.0, 0.0]]), maximise=False)
    assert archive.designs.objectives.tolist() == [[1.0, 2.0]]


def test_batches_of_any_size_lead_to_the_same_members():
    points = sphere(600, 1)
    whole = Archive(points.take(slice(0, 0)), 10_000).added(points, maximise=False)
    parts = Archive(points.take(slice(0, 0)), 10_000)
    for first in range(0, 600, 37):
        parts = parts.added(points.take(slice(first, first + 37)), maximise=False)
    assert whole.designs.x.tobytes() == parts.designs.x.tobytes()


def test_beyond_the_limit_it_is_thinned_evenly_and_keeps_the_extremes():
    points = sphere(6000, 2)
    full = Archive(points.take(slice(0, 0)), 100_000).added(points, maximise=False)
    thin = Archive(points.take(slice(0, 0)), 1000).added(points, maximise=False)
    assert full.resolution == 0.0
    assert len(full) == 6000
    assert 500 < len(thin) <= 1000
    assert 0.0 < thin.resolution < 0.1
    assert nondominated(thin.designs.objectives).all()
    np.testing.assert_array_equal(thin.designs.objectives.min(axis=0), full.designs.objectives.min(axis=0))
    # every design left out has a neighbour kept within one box of the grid (in each objective)
    span = np.ptp(full.designs.objectives, axis=0)
    gap = np.abs(full.designs.objectives[:, None] - thin.designs.objectives[None]) / span
    assert gap.max(axis=2).min(axis=1).max() <= thin.resolution
    # so the kept ones, moved by one box towards the ideal, dominate at least what the full set dominates
    moved = thin.designs.objectives - thin.resolution * span
    assert hypervolume(moved, [1.1] * 3) >= hypervolume(full.designs.objectives, [1.1] * 3)


def test_the_resolution_never_gets_finer_again():
    points = sphere(4000, 3)
    archive = Archive(points.take(slice(0, 0)), 500)
    seen = []
    for first in range(0, 4000, 400):
        archive = archive.added(points.take(slice(first, first + 400)), maximise=False)
        seen.append(archive.resolution)
        assert len(archive) <= 500
    assert seen == sorted(seen)


def test_a_limit_that_cannot_hold_the_extremes_is_refused():
    with pytest.raises(ValueError, match="archive limit: got 2; must be at least 3"):
        Archive(designs(np.empty((0, 2))), 2)


def test_sorted_designs_are_ordered_by_the_first_objective_then_the_next():
    archive = Archive(designs([[2, 1, 5], [1, 2, 4], [1, 1, 9]]), 10)
    assert archive.sorted_designs.objectives.tolist() == [[1, 1, 9], [1, 2, 4], [2, 1, 5]]
