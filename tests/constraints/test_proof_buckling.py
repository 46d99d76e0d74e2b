"""Buckling as a limit of a design: the screen in the search, finite strips where it is proved finely."""

from dataclasses import replace

import numpy as np
import pytest
from plain_plates import mid_span_arrays
from roofs import KEYS, basis_for, designs_for, family_for

from longvault.constraints.evaluate import evaluate
from longvault.constraints.own_limits import own_limit
from longvault.constraints.plates import combined, folded_plates
from longvault.constraints.plates_records import Supports
from longvault.constraints.proof import Proving, fine_proof, proof_limits, proof_measures, unit_loads
from longvault.constraints.proof_demands import finite_strip_buckling
from longvault.constraints.stability import BucklingSettings, cylinder_stress, plate_stress
from longvault.sections import Strips

BASIS = basis_for("vault")


def proved(strips, proving=None, prove=fine_proof):
    measures = dict(evaluate(strips, BASIS).measures)
    return prove(strips, (), measures, BASIS, proving or Proving(bays=("lone",)))


def trough_with_lid(width, thickness=0.06):
    """A flat compressed lid on two webs with heavy feet."""
    x = np.linspace(-0.5 * width, 0.5 * width, 17)
    return Strips.chain(
        np.r_[x[0] - 0.4, x[0] - 0.1, x, x[-1] + 0.1, x[-1] + 0.4],
        np.r_[0.0, 0.0, np.full(17, 1.8), 0.0, 0.0],
        np.r_[0.25, 0.15, np.full(16, thickness), 0.15, 0.25],
        ["edge beam", "wing", *["crown"] * 16, "wing", "edge beam"],
    )


def test_a_wide_thin_lid_buckles_as_the_plate_it_is():
    strips = trough_with_lid(6.0)
    proving = Proving(bays=("lone",), allowance=0.0, stability=BucklingSettings(2.5, 0.3, 1.5))
    found = proved(strips, proving)
    plate = plate_stress(4.0, thickness=0.06, width=6.0, modulus=BASIS.concrete.ecm, poisson=0.2)
    share = 0.3 / 3.5 / 1.5
    permanent, plan = unit_loads(strips, (), evaluate(strips, BASIS).measures["opening"], BASIS)
    cases = folded_plates(strips, (permanent, plan), span=24.0, modulus=BASIS.concrete.ecm, poisson=0.2)
    solved = mid_span_arrays(combined(cases, (1.35, 1.5 * 640.0)))
    pressed = -(solved.n_y / strips.thickness[:, None])[2:-2].min()
    assert 0.98 < float(found["buckling"]) / (pressed / (share * float(plate))) < 1.1
    (limit,) = (one for one in proof_limits(BASIS, proving) if one.key == "buckling")
    assert float(limit.margin(found)) > 0
    narrow = proved(trough_with_lid(2.0, 0.10), proving)
    assert float(limit.margin(narrow)) < 0


def test_settings_act_as_written():
    strips = trough_with_lid(4.0)
    one, two = (
        proved(strips, Proving(bays=("lone",), stability=s))["buckling"]
        for s in (BucklingSettings(2.5, 0.3, 1.5), BucklingSettings(1.0, 0.15, 3.0))
    )
    assert float(two / one) == pytest.approx((0.3 / 3.5 / 1.5) / (0.15 / 2.0 / 3.0), rel=1e-3)


@pytest.mark.parametrize("key", KEYS)
def test_what_the_search_sees_is_what_the_fine_proof_says(key):
    """Over the span by finite strips, locally by the screen; not looked at where another limit fails."""
    strips, family, basis = family_for(key).strips(designs_for(key, 40)), family_for(key), basis_for(key)
    measures = dict(evaluate(strips, basis).measures)
    proving = Proving(strut=1e8)
    seen = proof_measures(strips, family.joints, measures, basis, proving)
    known = measures | {name: values / (1.0 + proving.allowance) for name, values in seen.items()}
    others = [limit.margin(known) for limit in proof_limits(basis, proving) if limit.key != "buckling"]
    looked = (np.array(others) <= 0).all(axis=0)
    np.testing.assert_array_equal(np.isfinite(seen["buckling"]), looked)
    assert looked.any()
    for i in np.flatnonzero(looked)[:5]:
        one = {name: values[i] for name, values in measures.items()}
        fine = fine_proof(strips[i], family.joints, one, basis, proving)["buckling"]
        # half of the limit is told as half (the search looks closer only where it matters); between the
        # half-waves that the search looks at the fine proof may find a tenth more
        assert max(float(fine), 0.5) < 1.1 * float(seen["buckling"][i]), i
        assert max(float(fine), 0.5) > 0.94 * float(seen["buckling"][i]), i


def test_a_free_edge_without_kerb_costs_most_of_the_resistance():
    """Arc between edges held by heavy beams, and the same arc bare: 0.12 of the panel is left (nu = 0.2)."""
    angle = np.linspace(-0.6, 0.6, 41)
    arc = Strips.chain(7.5 * np.sin(angle), 7.5 * np.cos(angle), 0.08, "crown")
    stress = np.full((40, 2), -5e6)
    held = np.zeros((41, 4))
    held[[0, -1], 0] = held[[0, -1], 2] = np.inf
    free, between = (
        finite_strip_buckling(arc, stress, supports, BASIS, Proving())
        for supports in (Supports.free(41), Supports(held))
    )
    share = Proving().stability.design_share()
    classical = cylinder_stress(thickness=0.08, radius=7.5, modulus=BASIS.concrete.ecm, poisson=0.2)
    assert between == pytest.approx(5e6 / (share * classical), rel=0.05)
    assert free > 5 * between


def test_tension_everywhere_asks_nothing():
    arc = trough_with_lid(4.0)
    pulled = np.full((len(arc.parts), 2), 1e6)
    assert finite_strip_buckling(arc, pulled, Supports.free(arc.x.size), BASIS, Proving()) == 0.0
    assert replace(Proving(), stability=BucklingSettings(0.0, 1.0, 1.0)).stability.design_share() == 1.0


def test_a_cap_of_the_users_own_below_one_half_is_not_refused_unseen():
    """The search tells half where there is plenty; with a cap of 0.2 it looks as far as that asks."""
    key = "vault"
    basis = basis_for(key)
    need = replace(basis.requirements, own=(own_limit("buckling", 0.2, "cap"),))
    strips, family = family_for(key).strips(designs_for(key, 40)), family_for(key)
    measures = dict(evaluate(strips, basis).measures)
    found = [
        proof_measures(strips, family.joints, measures, one, Proving())["buckling"]
        for one in (basis, replace(basis, requirements=need))
    ]
    looked = np.isfinite(found[1])
    assert found[0][looked].min() >= 0.5
    assert found[1][looked].min() < 0.45
