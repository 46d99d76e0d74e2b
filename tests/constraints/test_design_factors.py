"""Factors of the concrete's design strength: recommended values, and those of a national annex."""

from dataclasses import replace

import pytest

from longvault.constraints.basis import Basis, Requirements
from longvault.constraints.design_strengths import eurocode_block, eurocode_strengths
from longvault.constraints.laps import anchorage_length
from longvault.constraints.materials import Concrete, Steel


def test_alpha_and_gamma_scale_what_goes_by_fcd():
    """0.85 x 30 / 1.5 = 17 MPa; 30 / 1.2 = 25 MPa (EN 1992-1-1, 3.1.6)."""
    for concrete, fcd in ((Concrete(30e6, alpha=0.85), 17e6), (Concrete(30e6, gamma=1.2), 25e6)):
        strengths = eurocode_strengths(concrete, Steel())
        assert strengths.compression == pytest.approx(fcd)
        assert strengths.strut == pytest.approx(0.3 * (1 - 30 / 250) * fcd)
        assert eurocode_block(concrete).stress == pytest.approx(fcd)
    assert "0.85 fck / 1.5" in eurocode_strengths(Concrete(30e6, alpha=0.85), Steel()).source_compression


def test_bond_goes_by_gamma():
    usual, other = (anchorage_length(0.025, concrete=Concrete(30e6, gamma=g), stress=4e8) for g in (1.5, 1.2))
    assert other == pytest.approx(0.8 * usual)


def test_they_survive_a_change_of_standard():
    given = Concrete(30e6, alpha=0.85, gamma=1.4)
    basis = Basis(span=24.0, pitch=9.0, requirements=Requirements(height_max=3.0), concrete=given)
    assert replace(basis, span=20.0).concrete == given


@pytest.mark.parametrize("wrong", [{"alpha": 0.4}, {"gamma": 0.9}])
def test_out_of_range_is_refused(wrong):
    with pytest.raises(ValueError, match=next(iter(wrong))):
        Concrete(30e6, **wrong)
