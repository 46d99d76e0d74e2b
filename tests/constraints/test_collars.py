"""Collars: which nodes they join, and that slice, folded plate and proof carry them."""

from dataclasses import replace

import numpy as np
import pytest
from briefed_sections import market_hall
from roofs import basis_for, designs_for, family_for

from longvault.constraints.actions import ULTIMATE
from longvault.constraints.collars import collars
from longvault.constraints.evaluate import evaluate
from longvault.constraints.plates import PlateLoads, Supports, folded_plate
from longvault.constraints.plates_checks import equilibrium
from longvault.constraints.plates_results import displacements, link_forces
from longvault.constraints.proof import fine_proof, proof_measures
from longvault.constraints.proof_solved import solve_heaviest
from longvault.constraints.proving import Proving
from longvault.constraints.slice import transverse_slice
from longvault.sections import Section, Strips

LONE = Proving(bays=("lone",))


def fold():
    x = np.linspace(-4.0, 4.0, 33)
    return Strips.chain(x, 2.0 - np.abs(x) / 2, 0.1, "wing")


@pytest.mark.parametrize(("at", "pair"), [(0.0, [0, 32]), (0.5, [8, 24]), (0.75, [12, 20])])
def test_it_joins_the_same_place_of_both_sides(at, pair):
    assert collars(fold(), (), stiffness=1e6, at=at).ends.tolist() == [pair]


@pytest.mark.parametrize("key", ["gull-wing", "vault", "one-sided"])
def test_families(key):
    """From joint to joint, whatever else hangs on the profile; the same nodes in every row of a batch."""
    family = family_for(key)
    strips = family.strips(designs_for(key, 3))
    ends = collars(strips, family.joints, stiffness=1e6, at=0.0).ends[0].tolist()
    assert ends == [joint.node for joint in family.joints]
    one, two = collars(strips, family.joints, stiffness=1e6, at=0.5).ends[0]
    assert one != two
    if key != "one-sided":
        np.testing.assert_allclose(strips.x[:, one], -strips.x[:, two], atol=1e-9)


def test_without_two_edges_or_stiffness_there_is_none():
    ring = Strips([0, 1, 1, 0], [0, 0, 1, 1], [[0, 1], [1, 2], [2, 3], [3, 0]], [0.1] * 4, ["web"] * 4)
    assert collars(ring, (), stiffness=1e6, at=0.5).ends.size == 0
    assert collars(fold(), (), stiffness=0.0, at=0.5).ends.size == 0
    with pytest.raises(ValueError, match="at must be at least 0"):
        collars(fold(), (), stiffness=1e6, at=1.0)


def test_a_stiff_collar_holds_both_sides_like_a_plane_of_symmetry():
    """A rigid level collar of a symmetrical section: no sideways movement at either end of it."""
    strips, loads = fold(), PlateLoads(surface=4000.0)
    links = collars(strips, (), stiffness=1e13, at=0.5)
    held = np.zeros((33, 4))
    held[[8, 24], 0] = np.inf
    kwargs = {"span": 16.0, "modulus": 30e9, "poisson": 0.2}
    one = folded_plate(strips, loads, links=links, **kwargs)
    two = folded_plate(strips, loads, supports=Supports(held), **kwargs)
    np.testing.assert_allclose(one.displacement, two.displacement, atol=1e-6 * np.abs(two.displacement).max())
    assert equilibrium(one).worst < 1e-9


def test_force_in_a_long_roof_is_that_of_the_slice():
    strips, loads = fold(), PlateLoads(surface=4000.0)
    links = collars(strips, (), stiffness=1e8, at=0.5)
    solved = folded_plate(
        strips, loads, span=120.0, modulus=30e9, links=links, harmonics=tuple(range(1, 80, 2))
    )
    cut = transverse_slice(strips, loads, modulus=30e9, links=links)
    free = transverse_slice(strips, loads, modulus=30e9)
    gap = cut.moved[24, 0] - cut.moved[8, 0]
    assert link_forces(solved)[0, 0] == pytest.approx(1e8 * gap, rel=0.01)
    assert np.abs(cut.m_s).max() < 0.7 * np.abs(free.m_s).max()


def test_the_proof_carries_them():
    """A lone vault whose edges drop inward: collars push against it; in the search as in the fine proof."""
    basis, strips = basis_for("vault"), market_hall(0.3)
    measures = dict(evaluate(strips, basis).measures)
    braced = replace(LONE, collar=1e8, collar_at=0.0)
    for prove in (proof_measures, fine_proof):
        without, with_ = (prove(strips, (), measures, basis, one) for one in (LONE, braced))
        assert with_["transverse_moment"] < 0.8 * without["transverse_moment"]
        assert with_["plate_deflection"] < without["plate_deflection"]
    fine = fine_proof(strips, (), measures, basis, braced)["plate_deflection"]
    assert proof_measures(strips, (), measures, basis, braced)["plate_deflection"] == pytest.approx(
        1.02 * fine, rel=0.03
    )
    numbers = {key: float(value) for key, value in measures.items()}
    solved = solve_heaviest(Section("lone", strips), numbers, basis, braced, "lone", ULTIMATE)
    moved = displacements(solved.plate)[0]
    gap = moved[solved.plate.links.ends[0], 0]
    assert link_forces(solved.plate)[0, 0] == pytest.approx(1e8 * (gap[1] - gap[0]), rel=1e-6)


def test_batch_law():
    basis = basis_for("gull-wing")
    family = family_for("gull-wing")
    strips = family.strips(designs_for("gull-wing", 6))
    measures = dict(evaluate(strips, basis).measures)
    braced = Proving(collar=3e7, collar_at=0.0)
    whole = proof_measures(strips, family.joints, measures, basis, braced)
    one = {key: values[3] for key, values in measures.items()}
    alone = proof_measures(strips[3], family.joints, one, basis, braced)
    for key, values in whole.items():
        assert values[3] == alone[key], key
