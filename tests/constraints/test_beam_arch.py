"""A rise along the span keeps every check of a straight module: with what acts, or on the safe side."""

from dataclasses import replace

import numpy as np
import pytest
from roofs import basis_for, designs_for, family_for

from longvault.constraints.arch import BeamArch
from longvault.constraints.details import evaluate_closely
from longvault.constraints.proving import Proving
from longvault.sections.member import NOT_PROVED

SLACK = BeamArch(rise=1.0, tie_area=1e-9)
"""A tie that takes nothing: the module is as good as straight."""

STIFF = BeamArch(rise=1.0, tie_area=10.0)


@pytest.fixture(scope="module")
def roof():
    """A few vaults with their joints, under a basis that looks across the span."""
    family = family_for("vault")
    strips = family.strips(designs_for("vault", 4))
    return strips, replace(basis_for("vault"), crosswise=Proving(), joints=family.joints)


def test_no_closer_limit_of_a_straight_module_is_dropped(roof):
    strips, basis = roof
    straight, arch = (evaluate_closely(strips, replace(basis, arch=one)) for one in (None, STIFF))
    keys = {limit.key for limit in arch.limits}
    assert {limit.key for limit in straight.limits} <= keys
    assert {"slice-moment", "slice-movement", "beam-buckling", "tie"} <= keys
    assert np.isfinite(arch.margins).all()
    assert (straight.note, arch.note) == ("", NOT_PROVED)


def test_a_tie_that_takes_nothing_leaves_the_straight_module(roof):
    strips, basis = roof
    straight = evaluate_closely(strips, basis).measures
    arch = evaluate_closely(strips, replace(basis, arch=SLACK)).measures
    for key in set(straight) - {"beam_buckling"}:
        np.testing.assert_allclose(arch[key], straight[key], rtol=1e-5, atol=1e-9, err_msg=key)


def test_stress_with_torsion_is_that_of_the_thrust_and_of_the_moment_it_leaves(roof):
    """By hand, held straight: M left / M x stress of the straight module + H / A."""
    strips, basis = roof
    basis = replace(basis, held=True)
    straight = evaluate_closely(strips, basis).measures
    arch = evaluate_closely(strips, replace(basis, arch=STIFF)).measures
    left = arch["ultimate_moment"] / straight["ultimate_moment"]
    assert (left < 0.9).all()
    by_hand = left * straight["edge_compression"] + arch["tie_force"] / arch["area"]
    np.testing.assert_allclose(arch["edge_compression"], by_hand, rtol=1e-9)


def test_cracked_bending_steel_and_slice_take_no_relief(roof):
    strips, basis = roof
    straight = evaluate_closely(strips, basis).measures
    arch = evaluate_closely(strips, replace(basis, arch=STIFF)).measures
    for key in ("cracked_steel", "neutral_depth", "least_steel", "mesh_spacing", "slice_use"):
        np.testing.assert_allclose(arch[key], straight[key], rtol=1e-6, err_msg=key)
    assert (arch["main_steel"] >= straight["cracked_steel"] * (1 - 1e-9)).all()


def test_thrust_adds_to_what_buckles(roof):
    """The same moment with a thrust beside it asks for more; a little more thrust, a little more."""
    strips, basis = roof
    found = [
        evaluate_closely(strips, replace(basis, arch=BeamArch(rise=0.2, tie_area=area))).measures
        for area in (1e-9, 2e-4, 4e-4)
    ]
    pressed = [one["tie_force"] / one["area"] for one in found]
    stress = [one["compression"] for one in found]
    assert (np.diff(pressed, axis=0) > 0).all()
    rises = np.diff(stress, axis=0) > 0
    assert (np.diff([one["beam_buckling"] for one in found], axis=0)[rises] > 0).all()
    assert rises.any()
