from dataclasses import replace

import numpy as np
import pytest

from longvault.optimise import (
    Objective,
    Problem,
    Scores,
    SearchSettings,
    Status,
    hypervolume,
    nondominated,
    search,
)

from .conftest import BOTH_MAX, disc, flat, two_parabolas, with_holes


def same(a, b):
    """Whether two outcomes hold the same bytes."""
    parts = (
        (a.front.x, b.front.x),
        (a.front.objectives, b.front.objectives),
        (a.front.margins, b.front.margins),
        (a.history.hypervolume, b.history.hypervolume),
        (a.history.evaluations, b.history.evaluations),
        (a.nearest.x, b.nearest.x),
    )
    return all(p.tobytes() == q.tobytes() for p, q in parts) and a.evaluations == b.evaluations


def test_parabolas_reach_their_hypervolume(parabolas):
    # derived: area above the front up to (4, 4) is 40/3
    outcome = search(parabolas, SearchSettings(evaluations=5000, seed=1))
    value = hypervolume(outcome.front.objectives, [4.0, 4.0])
    assert 40 / 3 - 0.02 < value <= 40 / 3
    assert outcome.status is Status.BUDGET
    assert outcome.history.hypervolume[-1] == value


def test_a_limit_shapes_the_front_and_every_delivered_design_keeps_it(quarter_circle):
    outcome = search(quarter_circle, SearchSettings(evaluations=10_000, seed=2))
    assert (outcome.front.margins <= -1e-9).all()
    # derived: the quarter disc; the archive holds only the few designs that land just inside the circle
    value = hypervolume(outcome.front.objectives, [0, 0], maximise=True)
    assert 0.985 * np.pi / 4 < value <= np.pi / 4
    assert nondominated(outcome.front.objectives, maximise=True).all()
    assert (np.diff(outcome.front.objectives[:, 0]) > 0).all()


def test_same_seed_same_bytes_other_seed_other_bytes(quarter_circle):
    runs = [search(quarter_circle, SearchSettings(evaluations=3000, seed=s)) for s in (5, 5, 6)]
    assert same(runs[0], runs[1])
    assert not same(runs[0], runs[2])


def test_a_seed_that_was_drawn_is_recorded_and_repeats_the_run(quarter_circle):
    first = search(quarter_circle, SearchSettings(evaluations=2000))
    assert same(first, search(quarter_circle, SearchSettings(evaluations=2000, seed=first.seed)))


def test_nothing_feasible_reports_the_nearest_design(impossible):
    outcome = search(impossible, SearchSettings(evaluations=4000, seed=3))
    assert outcome.status is Status.NOTHING_FEASIBLE
    assert outcome.stopped is Status.BUDGET
    assert len(outcome.front) == 0
    # the origin is nearest: margin 1
    np.testing.assert_allclose(outcome.nearest.x, 0.0, atol=0.02)
    np.testing.assert_allclose(outcome.nearest.margins, 1.0, atol=1e-3)
    assert outcome.history.hypervolume.tolist() == [0.0] * len(outcome.history.evaluations)
    assert np.isnan(outcome.history.reference).all()
    assert "nearest" in outcome.status.sentence


def test_nan_and_infinite_rows_are_never_delivered():
    problem = Problem([-1.0, -1.0], [2.0, 2.0], BOTH_MAX, with_holes, ("radius",))
    outcome = search(problem, SearchSettings(evaluations=10_000, seed=4))
    assert np.isfinite(outcome.front.objectives).all()
    assert np.isfinite(outcome.front.margins).all()
    # the front of the holes is still close to the quarter circle
    assert hypervolume(outcome.front.objectives, [0, 0], maximise=True) == pytest.approx(np.pi / 4, rel=0.02)


def test_all_rows_nan_still_gives_a_complete_outcome():
    def broken(x):
        return Scores(np.full((len(x), 2), np.nan), np.full((len(x), 1), np.nan))

    outcome = search(Problem([0.0], [1.0], BOTH_MAX, broken, ("m",)), SearchSettings(evaluations=500, seed=1))
    assert outcome.status is Status.NOTHING_FEASIBLE
    assert len(outcome.nearest) == 1
    assert outcome.feasible_share == 0.0


def test_one_feasible_point_given_as_a_seed_is_kept():
    # the limit leaves a disc of radius 1e-6 about (0.5, 0.25): only the seed can hit it
    def needle(x):
        off = np.sqrt(((x - [0.5, 0.25]) ** 2).sum(axis=1))
        return Scores(x.copy(), (off - 1e-6)[:, None])

    problem = Problem([0, 0], [1, 1], BOTH_MAX, needle, ("off",), seeds=[[0.5, 0.25]])
    outcome = search(problem, SearchSettings(evaluations=1000, seed=1))
    assert len(outcome.front) >= 1
    assert np.abs(outcome.front.x - [0.5, 0.25]).max() <= 1e-6


def test_equal_objectives_everywhere_leave_one_design():
    problem = Problem([0, 0], [1, 1], [Objective(n) for n in "abc"], flat, ("m",))
    outcome = search(problem, SearchSettings(evaluations=1000, seed=1))
    assert len(outcome.front) == 1
    assert outcome.status is Status.BUDGET


def test_a_small_grid_is_exhausted_and_solved_exactly():
    problem = Problem([-3], [3], [Objective("near 0"), Objective("near 2")], two_parabolas, step=[1])
    outcome = search(problem, SearchSettings(evaluations=10_000, seed=1))
    assert outcome.stopped is Status.EXHAUSTED
    assert outcome.front.x.ravel().tolist() == [0.0, 1.0, 2.0]
    assert outcome.evaluations < 1000


@pytest.mark.parametrize("polish_share", [0.0, 0.5])
def test_only_rounded_designs_are_evaluated_and_none_twice_in_a_generation(polish_share):
    seen = []

    def watched(x):
        seen.append(x)
        return disc(x)

    problem = Problem([-1, -1], [2, 2], BOTH_MAX, watched, ("radius",), step=[0.01, 0.05])
    search(problem, SearchSettings(evaluations=4000, seed=1, polish_share=polish_share))
    for x in seen:
        assert not x.flags.writeable
        assert problem.snap(x).tobytes() == x.tobytes()
        assert len(np.unique(x, axis=0)) == len(x) or polish_share


@pytest.mark.parametrize("evaluations", [1, 2, 3, 39, 41, 100])
def test_tiny_budgets_are_kept(quarter_circle, evaluations):
    outcome = search(quarter_circle, SearchSettings(evaluations=evaluations, seed=1))
    assert outcome.evaluations <= evaluations
    assert len(outcome.nearest) == 1


def test_seeds_are_evaluated_first_even_more_seeds_than_designs():
    seeds = np.random.default_rng(0).random((100, 2))
    first = []

    def watched(x):
        first.append(x)
        return disc(x)

    problem = Problem([-1, -1], [2, 2], BOTH_MAX, watched, ("radius",), seeds=seeds)
    search(problem, SearchSettings(evaluations=200, seed=1, population=40))
    np.testing.assert_array_equal(first[0], seeds[:40])


def test_stop_callable_ends_after_the_generation_with_a_valid_result(quarter_circle):
    calls = []
    outcome = search(
        quarter_circle,
        SearchSettings(evaluations=100_000, seed=1, population=100),
        stop=lambda: calls.append(1) or len(calls) >= 3,
    )
    assert outcome.stopped is Status.USER
    assert outcome.evaluations <= 300
    assert len(outcome.front) > 0


def test_interrupt_in_the_middle_of_an_evaluation_gives_the_state_before_it():
    count = [0]

    def interrupted(x):
        count[0] += 1
        if count[0] == 5:
            raise KeyboardInterrupt
        return disc(x)

    settings = SearchSettings(evaluations=1000, seed=1, population=100)
    problem = Problem([-1, -1], [2, 2], BOTH_MAX, interrupted, ("radius",))
    outcome = search(problem, settings)
    assert outcome.stopped is Status.USER
    # the same seed goes on from there to the same result
    clean = search(replace(problem, evaluate=disc), settings)
    assert same(search(replace(problem, evaluate=disc), state=outcome.state), clean)


def test_a_time_stop_replays_as_its_number_of_evaluations(quarter_circle):
    settings = SearchSettings(
        evaluations=10_000_000, seed=1, population=100, start_evaluations=500, time_limit=0.05
    )
    outcome = search(quarter_circle, settings)
    assert outcome.stopped is Status.TIME
    again = search(quarter_circle, replace(settings, evaluations=outcome.evaluations, time_limit=None))
    assert same(outcome, again)


def test_stall_stops_a_search_that_has_found_the_front(parabolas):
    settings = SearchSettings(
        evaluations=1_000_000,
        seed=1,
        population=100,
        start_evaluations=1000,
        stall_evaluations=5000,
        stall_gain=1e-3,
    )
    outcome = search(parabolas, settings)
    assert outcome.stopped is Status.STALL
    assert 6000 <= outcome.evaluations < 100_000
    assert outcome.history.hypervolume[-1] == pytest.approx(40 / 3, rel=2e-3)


def test_progress_is_told_and_changes_nothing(quarter_circle):
    told = []
    settings = SearchSettings(evaluations=2000, seed=1)
    outcome = search(quarter_circle, settings, progress=told.append)
    assert same(outcome, search(quarter_circle, settings))
    counts = [p.evaluations for p in told]
    assert counts == sorted(counts)
    assert counts[-1] == outcome.evaluations
    assert told[-1].feasible_share == outcome.feasible_share
    assert 0 < told[-1].hypervolume <= np.pi / 4


def test_history_never_falls_and_is_bounded(quarter_circle):
    outcome = search(quarter_circle, SearchSettings(evaluations=10_000, seed=1, population=40))
    history = outcome.history
    assert (np.diff(history.hypervolume) >= 0).all()
    assert (np.diff(history.evaluations) > 0).all()
    assert 32 <= len(history.evaluations) <= 65
    assert history.evaluations[-1] == outcome.evaluations
    assert history.members[-1] == len(outcome.front)


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("evaluations", 0),
        ("population", 1),
        ("seed", -1),
        ("restarts", 0),
        ("start_share", 1.5),
        ("time_limit", 0.0),
    ],
)
def test_bad_settings_are_refused_by_name(field, value):
    with pytest.raises(ValueError, match=f"^{field}: got"):
        SearchSettings(**{field: value})


def test_a_staged_limit_is_reached_through_the_first():
    # the second limit asks for a small radius but is only worked out inside the circle of radius 1
    def staged(x):
        radius = np.sqrt((x**2).sum(axis=1))
        inner = np.abs(x - 0.1).max(axis=1) / 0.01 - 1
        return Scores(x.copy(), np.stack([radius - 1, np.where(radius <= 1 - 1e-9, inner, np.inf)], axis=1))

    problem = Problem([-1, -1], [2, 2], BOTH_MAX, staged, ("outer", "inner"))
    outcome = search(problem, SearchSettings(evaluations=4000, seed=1))
    assert outcome.front.objectives.max() == pytest.approx(0.11, abs=1e-4)


def test_a_feasible_seed_is_kept_without_taking_the_population_over():
    # the seed holds the limit and is best in x; the first generation must not descend from it
    problem = Problem([-1, -1], [2, 2], BOTH_MAX, disc, ("radius",), seeds=[[0.9999, 0.0]])
    settings = SearchSettings(evaluations=10_000, seed=1, population=100)
    begun = search(problem, settings, stop=lambda: True)
    assert begun.state.generation == 1
    assert not (begun.state.population.x == [0.9999, 0.0]).all(axis=1).any()
    assert begun.front.x[-1].tolist() == [0.9999, 0.0]
    ended = search(problem, settings)
    assert ended.front.objectives[:, 0].max() >= 0.9999


def test_infeasible_seeds_join_the_population():
    problem = Problem([-1, -1], [2, 2], BOTH_MAX, disc, ("radius",), seeds=[[1.0001, 0.0]])
    begun = search(problem, SearchSettings(evaluations=10_000, seed=1, population=100), stop=lambda: True)
    assert (begun.state.population.x == [1.0001, 0.0]).all(axis=1).any()
