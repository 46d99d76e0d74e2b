"""Temperature and shrinkage along rows, by hand."""

import pytest

from longvault.constraints.materials import Concrete
from longvault.constraints.restraint import Climate, restraint


def test_a_row_of_54_m():
    """0.25 + 0.30 per mille: 29.7 mm; E_cm / 3.5 = 9.38 GPa (EN 1992-1-1, (7.20)): 5.16 MPa > f_ctm 2.90."""
    row = restraint(length=54.0, area=2.0, concrete=Concrete(30e6))
    assert row.movement == pytest.approx(0.0297)
    assert row.stress == pytest.approx(0.55e-3 * 32.837e9 / 3.5, rel=1e-4)
    assert row.force == pytest.approx(2.0 * row.stress)
    assert row.cracks
    assert row.joint_spacing == pytest.approx(0.020 / 0.55e-3)
    assert "54 m shorten by 30 mm" in row.note


def test_half_held_and_mild():
    mild = Climate(cooling=10.0, shrinkage=1e-4)
    row = restraint(length=30.0, area=1.0, concrete=Concrete(30e6), climate=mild, degree=0.5)
    assert row.stress == pytest.approx(0.5 * 0.2e-3 * 32.837e9 / 3.5, rel=1e-4)
    assert not row.cracks
    assert "without cracking" in row.note
    assert mild.lengthening == pytest.approx(2e-4)


@pytest.mark.parametrize("wrong", [{"degree": 1.5}, {"length": 0.0}, {"area": -1.0}, {"movement_max": 0.0}])
def test_refused(wrong):
    given = {"length": 30.0, "area": 1.0, "concrete": Concrete(30e6)} | wrong
    with pytest.raises(ValueError, match=next(iter(wrong))):
        restraint(**given)
