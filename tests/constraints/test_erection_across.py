"""A module alone and unpropped while the roof is built: bending across with free edges and no struts."""

from dataclasses import replace

import numpy as np
import pytest
from roofs import basis_for, designs_for, family_for

from longvault.constraints.details import detail_limits, evaluate_closely
from longvault.constraints.erection_across import erection_use
from longvault.constraints.proof_demands import mesh_moment
from longvault.constraints.proving import Proving
from longvault.sections import Strips

FOLD = Strips.chain(
    np.linspace(-4.0, 4.0, 17), [*np.linspace(0.0, 2.0, 9), *np.linspace(1.75, 0.0, 8)], 0.1, "wing"
)


def alone(key="gull-wing", erection=500.0, **changed):
    basis = basis_for(key)
    return replace(
        basis,
        joints=family_for(key).joints,
        crosswise=Proving(strut=1e8),
        loads=replace(basis.loads, erection=erection),
        **changed,
    )


def test_it_is_a_limit_only_where_erection_is_asked():
    keys = [limit.key for limit in detail_limits(alone())]
    assert keys.count("erection-transverse") == 1
    assert "erection-transverse" not in [limit.key for limit in detail_limits(alone(erection=None))]
    with pytest.raises(ValueError, match="erection"):
        erection_use(FOLD, alone(erection=None))


def test_wings_hang_on_the_ridge_by_hand():
    """1.35 x 2500 x 4.4721 x 2 + 1.5 x 500 x 4 x 2 = 36187 Nm/m at the ridge, where nothing pulls across.

    The folded plate tells as much of a roof 20 times as long as wide, the slice of any.
    """
    basis = replace(alone(pitch=8.0), joints=())
    moment = 1.35 * basis.concrete.weight * 0.1 * np.hypot(4.0, 2.0) * 2.0 + 1.5 * 500.0 * 4.0 * 2.0
    by_hand = moment / float(mesh_moment(np.array(0.1), basis))
    assert float(erection_use(FOLD, replace(basis, prismatic=False))) == pytest.approx(by_hand, rel=1e-3)
    fine = Proving(harmonics=tuple(range(1, 80, 2)), allowance=0.0)
    plate = erection_use(FOLD, replace(basis, span=160.0, crosswise=fine))
    assert float(plate) == pytest.approx(by_hand, rel=0.02)


def test_struts_that_hold_the_wings_later_do_not_yet():
    """Free wings of a strutted gull-wing bend as if there were no struts; the finished row holds them."""
    family = family_for("gull-wing")
    strips = family.strips(designs_for("gull-wing", 4))
    with_struts, without = alone(), replace(alone(), crosswise=Proving())
    np.testing.assert_array_equal(erection_use(strips, with_struts), erection_use(strips, without))
    done = evaluate_closely(strips, with_struts)
    column = [limit.key for limit in done.limits].index("erection-transverse")
    np.testing.assert_allclose(done.margins[:, column], done.measures["erection_use"] - 1.0)
    assert (done.measures["erection_use"] > done.measures["slice_use"]).any()
    assert done.cases["erection-transverse"].name(0) == "1.35 own weight + 1.5 erection"


def test_a_batch_is_each_by_itself():
    family = family_for("gull-wing")
    strips = family.strips(designs_for("gull-wing", 4))
    for basis in (alone(), replace(alone(), prismatic=False)):
        whole = erection_use(strips, basis)
        assert [float(erection_use(strips[i], basis)) for i in range(4)] == whole.tolist()
