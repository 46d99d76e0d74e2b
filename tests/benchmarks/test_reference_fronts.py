"""Reference fronts of starter briefs: the numbers that were stored, of the problem that there is today."""

import numpy as np
import pytest

from longvault.optimise import hypervolume, nondominated
from longvault.sections.families.tapered import Tapered

from .search_cases import BRIEFS, reference, section_ideals, starter


@pytest.mark.parametrize("name", BRIEFS)
def test_a_reference_front_is_that_of_its_recipe(name):
    problem, stored = starter(name), reference(name)
    changed = stored.differs(problem)
    assert not changed, f"stale: {changed} of {name} changed; rebuild it (reference_fronts_recipe.py)"
    assert nondominated(stored.front, maximise=problem.maximise).all()
    kept = hypervolume(stored.front, stored.point, maximise=problem.maximise) / stored.hypervolume
    assert kept == pytest.approx(stored.recipe["share_kept"], abs=1e-5)
    assert 0.99 < kept <= 1.0
    runs = stored.recipe["share_of_each_run"]
    assert len(runs) >= 3
    assert all(len(shares) >= 3 for shares in runs.values())
    assert stored.recipe["evaluations_a_run"] >= 500_000


@pytest.mark.parametrize("name", BRIEFS)
def test_a_changed_problem_is_noticed(name):
    stored, other = reference(name), starter(next(brief for brief in BRIEFS if brief != name))
    assert stored.differs(other)


@pytest.mark.parametrize("name", BRIEFS)
def test_no_design_beats_its_ideal(name):
    # law: S / ideal <= 1, of designs at random and of the best known
    problem, stored = starter(name), reference(name)
    if isinstance(problem.evaluate.family, Tapered):
        pytest.skip("one that varies along the span has no ideal section")
    ratio = section_ideals(problem, stored.samples)
    ratio = ratio[np.isfinite(ratio)]
    assert len(ratio)
    assert (ratio > 0).all()
    assert (ratio <= 1).all()
