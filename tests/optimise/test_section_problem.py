"""The search problem of a roof: staging of the folded plate, delivered margins, refusals."""

import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "constraints"))
from roofs import basis_for, designs_for, family_for

from longvault.constraints.own_limits import own_limit
from longvault.constraints.proof import PROOF_MEASURES, Proving
from longvault.optimise import DELIVERED_MARGIN, SearchSettings, search
from longvault.optimise.families import united
from longvault.optimise.section_problem import section_problem
from longvault.sections.families import Setting
from longvault.sections.families.registry import make_family

OBJECTIVES = ("area", "section_modulus", "opening")


def problem(key="gull-wing", proving=None, **kwargs):
    family = family_for(key)
    return section_problem(family, family.variables, basis_for(key, **kwargs), OBJECTIVES, proving=proving)


def found(evaluations=4000, proving=None):
    return search(problem(proving=proving), SearchSettings(evaluations=evaluations, seed=5)).front


def test_staging_proves_just_the_designs_that_pass_as_beams():
    one, x = (
        problem(proving=Proving(strut=1e8)),
        np.concatenate([designs_for("gull-wing", 30), found().x[:20]]),
    )
    beam, staged = problem().evaluate.evaluation(x), one.evaluate.evaluation(x)
    passed = (beam.margins <= DELIVERED_MARGIN).all(axis=1)
    assert 0 < passed.sum() < len(x)
    assert np.isfinite(staged.measures["plate_deflection"][passed]).all()
    assert np.isnan(staged.measures["plate_deflection"][~passed]).all()
    np.testing.assert_array_equal(staged.margins[:, : beam.margins.shape[1]], beam.margins)
    assert len(one.margin_names) == staged.margins.shape[1]


def test_rows_do_not_depend_on_their_block():
    one, x = problem(proving=Proving(strut=1e8)), found().x[:30]
    whole = one.evaluate(x)
    for i in (0, 13, 29):
        alone = one.evaluate(x[i : i + 1])
        assert whole.margins[i].tobytes() == alone.margins[0].tobytes()
        assert whole.objectives[i].tobytes() == alone.objectives[0].tobytes()


def test_every_delivered_design_passes_the_fine_proof():
    proving = Proving(strut=1e8)
    front = found(proving=proving)
    assert len(front) >= 30
    fine = problem(proving=proving).evaluate.proved(front.x[::5], proving)
    assert fine.margins.max() <= DELIVERED_MARGIN
    assert np.isfinite(fine.margins).all()


def test_beam_theory_alone_would_let_designs_through():
    """A free slot bends the wings across: the folded plate refuses designs that beam theory accepts."""
    front, proving = found(), Proving(strut=0.0)
    fine = problem(proving=proving).evaluate.proved(front.x[:20], proving)
    assert (fine.margins > 0).any(axis=1).mean() > 0.5


def test_refusals():
    with pytest.raises(ValueError, match="cantilever is not covered"):
        problem(proving=Proving(), support="cantilever")
    family, basis = family_for("vault"), basis_for("vault")
    with pytest.raises(ValueError, match=r"objectives: got 'beauty'; must be among area"):
        section_problem(family, family.variables, basis, ("area", "beauty"))
    with pytest.raises(ValueError, match="transverse"):
        section_problem(family, family.variables, basis, ("area", PROOF_MEASURES[5]))
    with pytest.raises(ValueError, match="the family vault has"):
        section_problem(family, family.variables[1:], basis, ("area", "height"))


def test_the_screen_of_a_roof_is_its_beam_and_leaves_the_rest_open():
    one, x = problem(proving=Proving(strut=1e8)), designs_for("gull-wing", 30)
    quick, whole = one.screen(x), one.evaluate(x)
    np.testing.assert_array_equal(quick.objectives, whole.objectives)
    known = np.isfinite(quick.margins)
    assert known.any(axis=1).all()
    assert not known.all(axis=1).any()
    np.testing.assert_array_equal(quick.margins[known], whole.margins[known])
    assert quick.margins.shape == whole.margins.shape


@pytest.mark.parametrize("own", [(), (own_limit("slice_moment", 3e3, "cap"),)])
def test_scores_are_those_of_the_whole_evaluation_but_for_what_no_limit_reads(own):
    family, x, basis = family_for("gull-wing"), found().x[:20], basis_for("gull-wing", row=True)
    basis = replace(basis, requirements=replace(basis.requirements, own=own))
    one = section_problem(family, family.variables, basis, OBJECTIVES)
    scores, whole = one.evaluate(x), one.evaluate.evaluation(x)
    assert np.isfinite(whole.measures["slice_moment"]).sum() >= 5
    np.testing.assert_array_equal(scores.margins, whole.margins)
    np.testing.assert_array_equal(scores.objectives[:, 0], whole.measures["area"])
    left = one.evaluate.evaluation(x, scores=True).measures["slice_moment"]
    assert np.isnan(left).all() == (not own)


def test_pieces_tell_the_limits_they_are_of_row_by_row():
    one, x = problem(), designs_for("gull-wing", 30)
    pieces, margins = one.pieces(x), one.evaluate.evaluation(x).margins
    known = np.isfinite(margins).any(axis=1)
    keys = [one.margin_names.index(key) for key in ("height", "thickness", "slope", "bend")]
    assert known.any()
    assert pieces[known].max(axis=1) == pytest.approx(margins[known][:, keys].max(axis=1), abs=1e-9)
    for i in (0, 13, 29):
        assert pieces[i].tobytes() == one.pieces(x[i : i + 1])[0].tobytes()


def test_a_taper_has_no_pieces_and_families_searched_together_have_those_of_each():
    family = make_family("tapered-gull-wing", Setting(pitch=7.5, height=2.5, thickness=0.08))
    taper = section_problem(family, family.variables, basis_for("gull-wing"), OBJECTIVES)
    assert taper.pieces(taper.snap(np.asarray(taper.seeds))).shape == (len(taper.seeds), 0)
    both = united([problem(), problem("vault")])
    x = np.asarray(both.seeds)[:6]
    pieces = both.pieces(x)
    for number, rows, own in both.kinds.split(x):
        alone = both.kinds.problems[number].pieces(own)
        np.testing.assert_array_equal(pieces[rows][:, : alone.shape[1]], alone)
        assert (pieces[rows][:, alone.shape[1] :] == -1.0).all()
