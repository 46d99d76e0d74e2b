"""Preferences steer a search and hide nothing of its front."""

from dataclasses import replace

import numpy as np
import pytest

from longvault.optimise import SearchSettings, hypervolume, search
from longvault.optimise.preferences import WISHED_SHARE, Preference

from .thin_wall import gull_wing

NAN = np.nan


def of(problem, preference, seed, evaluations=12_000):
    steered = replace(problem, preference=preference)
    return search(steered, SearchSettings(evaluations=evaluations, seed=seed, population=100)).front


@pytest.mark.parametrize("which", ["wish", "weights"])
def test_more_designs_lie_in_the_wished_region_and_the_front_stays_whole(which):
    """20 variables, three objectives, median of three seeds: twice as many there, 95 % of the hypervolume."""
    problem = gull_wing()
    plain = [of(problem, None, seed) for seed in (1, 2, 3)]
    values = np.concatenate([front.objectives for front in plain])
    wish = [NAN, NAN, np.quantile(values[:, 2], 0.85)]
    preference = {
        "wish": Preference(wish, np.zeros(3)),
        "weights": Preference([NAN] * 3, [3.0, 1.0, 0.0]),
    }[which]
    steered = [of(problem, preference, seed) for seed in (1, 2, 3)]
    low, span = values.min(axis=0), np.ptp(values, axis=0)

    def there(front):
        if which == "wish":
            return (front.objectives[:, 2] >= wish[2]).sum()
        unit = (front.objectives - low) / span
        return (3 * unit[:, 0] + (1 - unit[:, 1]) < 1.2).sum()

    before, after = (np.median([there(front) for front in fronts]) for fronts in (plain, steered))
    assert after > 1.5 * before > 0
    reference = np.where(problem.maximise, low - 0.1 * span, low + 1.1 * span)
    whole, kept = (
        np.median([hypervolume(f.objectives, reference, maximise=problem.maximise) for f in fronts])
        for fronts in (plain, steered)
    )
    assert kept > 0.95 * whole


def test_the_same_preference_and_seed_give_the_same_bits():
    problem, wish = gull_wing(), Preference([NAN, NAN, 1.5], np.zeros(3))
    one, two = (of(problem, wish, 7, 3000) for _ in range(2))
    assert one.x.tobytes() == two.x.tobytes()


def test_wished_region():
    values = np.array([[1.0, 9.0], [2.0, 5.0], [3.0, 4.5], [9.0, 1.0]])
    reached = Preference([2.5, NAN], [0, 0]).wished(values, maximise=False)
    assert reached.tolist() == [True, True, False, False]
    upwards = Preference([NAN, 5.0], [0, 0]).wished(values, maximise=[False, True])
    assert upwards.tolist() == [True, True, False, False]
    nearest = Preference([0.5, NAN], [0, 0]).wished(values, maximise=False)
    assert nearest.tolist() == [True, False, False, False], "out of reach: the nearest"
    weighted = Preference([NAN, NAN], [1, 1]).wished(values, maximise=False)
    assert weighted.tolist() == [False, True, False, False], "the better quarter"


def test_the_region_gets_its_share_of_the_draws():
    values = np.stack([np.arange(100.0), -np.arange(100.0)], axis=1)
    even = np.full(100, 0.01)
    chances = Preference([9.5, NAN], [0, 0]).chances(even, values, maximise=False)
    assert chances[:10].sum() == pytest.approx(WISHED_SHARE)
    assert chances.sum() == pytest.approx(1.0)
    all_of_them = Preference([1e3, NAN], [0, 0]).chances(even, values, maximise=False)
    np.testing.assert_array_equal(all_of_them, even)


@pytest.mark.parametrize(
    ("wishes", "weights", "said"),
    [
        ([NAN, NAN], [0, 0], "at least one wish"),
        ([1.0, NAN], [1, -1], "0 or more"),
        ([1.0, NAN], [1, 1, 1], "one value an objective"),
    ],
)
def test_bad_calls_are_refused(wishes, weights, said):
    with pytest.raises(ValueError, match=said):
        Preference(wishes, weights)
