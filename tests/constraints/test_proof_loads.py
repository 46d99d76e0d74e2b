"""Loads of the folded plate as they lie on the strips: water where it stands, services where they hang."""

from dataclasses import replace

import numpy as np
import pytest
from roofs import basis_for, designs_for, family_for

from longvault.constraints.drainage import water_area, water_on_strips
from longvault.constraints.load_cases import WATER
from longvault.constraints.plates_beam import BeamShare, verdict
from longvault.constraints.proof_loads import unit_loads
from longvault.sections import Strips


def loaded(strips, joints=(), **loads):
    basis = basis_for("vault")
    basis = replace(basis, loads=replace(basis.loads, finish=0.0, glass=0.0, **loads))
    return basis, unit_loads(strips, joints, np.zeros(strips.batch), basis)


def down_and_about(load, strips):
    down = -load.nodal(strips)[..., 2]
    return down.sum(axis=-1), (down * strips.x).sum(axis=-1)


def two_valleys(deep=0.0):
    return Strips.chain([-3.0, -2.0, -1.0, 0.0, 1.0, 2.0, 3.0], [1, 0, 1, 1.2, 1, deep, 1], 1e-6, "wing")


def test_water_stands_in_all_valleys_of_one_depth_alike():
    """By hand: triangles 2 x 0.4 m wide and 0.4 m deep, 0.16 m2 in either valley."""
    strips = two_valleys()
    assert water_on_strips(strips, depth=0.4).round(4).tolist() == [0.08, 0.08, 0, 0, 0.08, 0.08]
    _, (_, *variable) = loaded(strips, water=0.4)
    down, about = down_and_about(variable[-1], strips)
    assert float(down) == pytest.approx(WATER * 0.32, rel=1e-5)
    assert float(about) == pytest.approx(0.0, abs=1e-6)


def test_a_higher_valley_gets_the_water_that_stands_over_it():
    strips = two_valleys(0.3)
    by_strip = water_on_strips(strips, depth=0.4)
    assert float(by_strip[:2].sum()) == pytest.approx(0.16, rel=1e-4)
    assert float(by_strip[4:].sum()) == pytest.approx(0.1**2 / 0.7, rel=1e-3)
    family = family_for("gull-wing")
    batch = family.strips(designs_for("gull-wing", 4))
    np.testing.assert_allclose(
        water_on_strips(batch, depth=0.2).sum(axis=-1), water_area(batch, depth=0.2).area, rtol=1e-12
    )


@pytest.mark.parametrize("place", [-0.7, 0.45, 2.5, 9.0])
def test_services_beside_the_middle_hang_there(place):
    """Force and first moment are those of the beam checks; beyond the roof they hang on its edge."""
    strips = two_valleys()
    _, (permanent, *_) = loaded(strips, services=5e3, services_x=place)
    _, (empty, *_) = loaded(strips, services=0.0)
    found = [
        a - b for a, b in zip(down_and_about(permanent, strips), down_and_about(empty, strips), strict=True)
    ]
    assert float(found[0]) == pytest.approx(5e3, rel=1e-9)
    assert float(found[1]) == pytest.approx(5e3 * min(place, 3.0), rel=1e-9)


def test_a_flat_slab_has_a_verdict():
    """No shear lag, no movement of its own: a deflection of nought by the folded plate divides nothing."""
    assert "high beyond measure in deflection" in verdict(BeamShare(np.array(1.0), np.array(0.0)))
    assert verdict(BeamShare(np.array(1.0), np.array(np.nan))).startswith("has no verdict")
