"""Several families in one search: one archive, mates of one family, the same bits after a stop."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from longvault.optimise import Objective, Problem, Scores, SearchSettings, hypervolume, load_state, search
from longvault.optimise.families import united
from longvault.optimise.generation import _alike
from longvault.optimise.state import generator

GOALS = (Objective("f1"), Objective("f2"))


def left(x):
    """f2 = 1 - f1 with f1 up to 0.5, if y = 0.3: the front of this family ends in the middle."""
    f1 = 0.5 * x[:, 0]
    return Scores(np.stack([f1, 1 - f1 + (x[:, 1] - 0.3) ** 2], axis=1), (0.1 - x[:, :1]))


def right(x):
    """The other half of the same line, from one number between 10 and 15 in steps of 0.01."""
    f1 = x[:, 0] / 10 - 0.5
    return Scores(np.stack([f1, 1 - f1], axis=1), np.full((len(x), 1), -1.0))


LEFT = Problem([0.0, 0.0], [1.0, 1.0], GOALS, left, ("far enough",), reference=[1.1, 1.1])
RIGHT = Problem(
    [10.0], [15.0], GOALS, right, ("far enough",), step=[0.01], reference=[1.1, 1.1], seeds=[[12.0]]
)
BOTH = united([LEFT, RIGHT])
SETTINGS = SearchSettings(evaluations=6000, seed=4, population=60)


@pytest.fixture(scope="module")
def outcome():
    return search(BOTH, SETTINGS)


def test_one_front_is_made_of_both_families(outcome):
    front = outcome.front
    number = front.x[:, 0]
    assert set(number) == {0.0, 1.0}
    assert front.objectives[number == 0, 0].max() <= 0.5 <= front.objectives[number == 1, 0].min()
    line = np.linspace(0.05, 1.0, 20001)
    exact = hypervolume(np.stack([line, 1 - line], axis=1), [1.1, 1.1])
    assert hypervolume(front.objectives, [1.1, 1.1]) > 0.99 * exact
    assert front.objectives[:, 0].min() == pytest.approx(0.05, abs=1e-3)


def test_designs_come_back_in_their_own_variables(outcome):
    for number, rows, own in BOTH.kinds.split(outcome.front.x):
        again = (LEFT, RIGHT)[number].evaluate(own)
        np.testing.assert_array_equal(again.objectives, outcome.front.objectives[rows])
        if number == 1:
            assert np.abs(own * 100 - np.rint(own * 100)).max() < 1e-9, "on its steps"


def test_rounding_twice_changes_nothing():
    x = np.random.default_rng(3).uniform(-0.5, 1.5, (500, 3))
    once = BOTH.snap(x)
    np.testing.assert_array_equal(BOTH.snap(once), once)
    assert (once[once[:, 0] == 1, 2] == 0).all(), "nothing behind the last variable"
    assert 200 < (once[:, 0] == 1).sum() < 300


def test_seeds_of_every_family_are_tried_in_turn():
    third = replace(LEFT, seeds=[[0.2, 0.3], [0.4, 0.3]])
    seeds = united([third, RIGHT]).seeds
    assert seeds[:, 0].tolist() == [0.0, 1.0, 0.0]
    assert seeds[1, 1] == pytest.approx(0.4)


def test_mates_are_of_one_family(outcome):
    """No difference and no crossing is taken between families: a child stands on a whole number."""
    state, rng = outcome.state, generator(outcome.state)
    mates = _alike(state, rng, state.archive.designs.x[rng.integers(len(state.archive), size=(3, 200))])
    assert (mates[..., 0] == mates[0, :, 0]).all()
    assert 0 < mates[0, :, 0].mean() < 1
    known = {row.tobytes() for row in np.concatenate([state.population.x, state.archive.designs.x])}
    assert all(row.tobytes() in known for row in mates.reshape(-1, 3))


def test_the_same_bits_after_a_stop_and_for_any_blocks(tmp_path, outcome):
    asked = iter(range(10**6))
    search(BOTH, SETTINGS, checkpoint=tmp_path / "s", checkpoint_seconds=0.0, stop=lambda: next(asked) > 20)
    state = load_state(tmp_path / "s")
    assert state.evaluations < 5000
    resumed = search(BOTH, state=state, blocks=3)
    assert resumed.front.x.tobytes() == outcome.front.x.tobytes()
    assert resumed.evaluations == outcome.evaluations


def test_families_that_are_not_judged_alike_are_refused():
    with pytest.raises(ValueError, match="same objectives and limits"):
        united([LEFT, replace(RIGHT, margin_names=("near enough",))])
    with pytest.raises(ValueError, match="got none"):
        united([])


def test_every_block_is_scored_as_each_row_alone():
    x = BOTH.snap(np.random.default_rng(5).uniform(-0.5, 1.5, (40, 3)))
    whole = BOTH.evaluate(x)
    for a, b in pairwise(range(0, 41, 8)):
        part = BOTH.evaluate(x[a:b])
        assert part.objectives.tobytes() == whole.objectives[a:b].tobytes()
        assert part.margins.tobytes() == whole.margins[a:b].tobytes()
