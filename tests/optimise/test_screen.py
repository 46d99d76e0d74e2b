"""Looking closely only at children that could count: nothing delivered unseen, fewer costly checks."""

from dataclasses import dataclass, field

import numpy as np
import pytest

from longvault.optimise import (
    Objective,
    Problem,
    Scores,
    SearchSettings,
    hypervolume,
    process_workers,
    search,
)
from longvault.optimise.families import united
from longvault.optimise.screen import unfinished

from .test_search import same


@dataclass(frozen=True)
class Wedge:
    """Quarter disc (derived: hypervolume pi / 4) less the costly limit x >= y, which halves it."""

    closely: list = field(default_factory=list)

    def __call__(self, x):
        self.closely.append(len(x))
        quick = self.screen(x)
        costly = np.where(quick.margins[:, 0] <= -1e-9, x[:, 1] - x[:, 0], np.inf)
        return Scores(quick.objectives, np.stack([quick.margins[:, 0], costly], axis=1))

    def screen(self, x):
        first = (x[:, :2] ** 2).sum(axis=1) - 1.0
        return Scores(x[:, :2].copy(), np.stack([first, np.full(len(x), np.inf)], axis=1))


BOTH_MAX = (Objective("x", "max"), Objective("y", "max"))
RULES = SearchSettings(6000, seed=1, population=100)


def wedge(evaluate):
    return Problem([-1, -1], [2, 2], BOTH_MAX, evaluate, ("radius", "wedge"), reference=[0.0, 0.0])


def test_every_delivered_design_was_looked_at_closely_and_many_were_not():
    evaluate = Wedge()
    found = search(wedge(evaluate), RULES)
    again = evaluate(found.front.x)
    np.testing.assert_array_equal(found.front.margins, again.margins)
    assert (found.front.margins <= -1e-9).all()
    # derived: the part of the quarter disc dominated by its arc below 45 degrees
    exact = 0.25 + np.pi / 8
    assert 0.97 * exact < hypervolume(found.front.objectives, [0, 0], maximise=True) <= exact
    plain = Wedge()
    search(wedge(lambda x: plain(x)), RULES)
    assert sum(evaluate.closely) < 0.8 * sum(plain.closely)


def test_unfinished_are_those_that_hold_all_that_was_worked_out():
    problem = wedge(Wedge())
    x = np.array([[0.5, 0.6], [2.0, 2.0], [0.6, 0.5]])
    assert unfinished(problem.designs(x, problem.screen(x))).tolist() == [True, False, True]
    assert not unfinished(problem.score(x)).any()


def test_a_function_without_a_quick_part_has_no_screen():
    assert wedge(lambda x: Wedge()(x)).screen is None


@pytest.mark.parametrize("blocks", [2, 3])
def test_same_bits_for_any_number_of_blocks_and_for_worker_processes(blocks):
    one = search(wedge(Wedge()), RULES)
    assert same(one, search(wedge(Wedge()), RULES, blocks=blocks))
    if blocks == 2:
        with process_workers(wedge(Wedge()), 2) as map_blocks:
            assert same(one, search(wedge(Wedge()), RULES, map_blocks=map_blocks, blocks=2))


def test_a_stopped_run_goes_on_to_the_same_bits():
    whole = search(wedge(Wedge()), RULES)
    calls = []
    part = search(wedge(Wedge()), RULES, stop=lambda: calls.append(1) or len(calls) >= 9)
    assert same(whole, search(wedge(Wedge()), RULES, state=part.state))


def test_families_are_screened_each_by_its_own():
    first, second = Wedge(), Wedge()
    both = united([wedge(first), wedge(second)])
    quick = both.screen(both.snap(both.evaluate.rows_of(1, np.array([[0.5, 0.6]]))))
    assert np.isposinf(quick.margins[0, 1])
    assert not first.closely
    assert not second.closely
    found = search(both, RULES)
    assert (found.front.margins <= -1e-9).all()
    assert hypervolume(found.front.objectives, [0, 0], maximise=True) > 0.97 * (0.25 + np.pi / 8)
