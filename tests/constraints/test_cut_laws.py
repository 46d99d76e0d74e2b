"""Law of cuts: it does not matter into how many strips a stretch of a section is cut."""

from dataclasses import replace

import numpy as np
import pytest
from roofs import basis_for, designs_for, family_for

from longvault.constraints.details import evaluate_closely
from longvault.constraints.plates_proof import subdivided
from longvault.constraints.proof import fine_proof
from longvault.constraints.proving import Proving
from longvault.constraints.stability_screen import local_screen
from longvault.sections import Strips

EXACT, SERIES = 1e-6, 1e-3
"""What is exact along straight strips; what is found by rules of integration or by strips of plates."""

WAYS = {"in two": (2, 2), "in three": (3, 3), "here and there": (1, 4)}


def cut(strips, way):
    often, more = WAYS[way]
    return subdivided(strips, np.where(np.arange(len(strips.ends)) % 4 == 1, more, often))


def whole(key):
    family, basis = family_for(key), basis_for(key)
    basis = replace(basis, joints=family.joints, crosswise=Proving())
    return family.strips(designs_for(key, 3))[1], basis


def far_apart(one, two, rel):
    """Values that differ by more, over the larger of both and what is nothing: 1e-7 in SI."""
    pairs = {key: (float(value), float(two[key])) for key, value in one.items()}
    return {
        key: pair
        for key, pair in pairs.items()
        if not (np.isnan(pair).all() or abs(pair[0] - pair[1]) <= rel * np.abs(pair).max() + 1e-7)
    }


KEYS = ["vault", "gull-wing"]


@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("key", KEYS)
def test_measures_and_margins_do_not_depend_on_how_strips_are_cut(key, way):
    strips, basis = whole(key)
    one, two = (evaluate_closely(each, basis) for each in (strips, cut(strips, way)))
    rough = far_apart(one.measures, two.measures, EXACT)
    assert set(rough) <= {
        "deflection", "edge_compression", "edge_tension", "principal_tension", "cracked_use", "torsion_shear",
        "steel_weight", "cost", "carbon", "slice_movement",
    }  # fmt: skip
    assert not far_apart(one.measures, two.measures, SERIES)
    np.testing.assert_allclose(two.margins, one.margins, rtol=SERIES, atol=SERIES)


@pytest.mark.parametrize("key", KEYS)
def test_a_proof_does_not_depend_on_how_strips_are_cut(key):
    """Within what strips of plates still converge by: they are stiffer in the plane the wider they are."""
    strips, basis = whole(key)
    measures = dict(evaluate_closely(strips, basis).measures)
    one, two = (
        fine_proof(each, basis.joints, measures, basis, Proving()) for each in (strips, cut(strips, "in two"))
    )
    assert not far_apart(one, two, 0.01)


def arc(radius=7.5, half=0.64, pieces=24):
    angle = np.linspace(-half, half, pieces + 1)
    return Strips.chain(radius * np.sin(angle), radius * np.cos(angle), 0.08, "wing")


@pytest.mark.parametrize("way", WAYS)
def test_the_quick_look_at_buckling_reads_the_radius_from_facet_to_facet(way):
    strips = arc()
    one, two = (local_screen(each, modulus=33e9, poisson=0.2) for each in (strips, cut(strips, way)))
    assert two.critical.min() == pytest.approx(one.critical.min(), rel=EXACT)
    assert two.critical.max() == pytest.approx(one.critical.max(), rel=EXACT)


def test_nodes_rounded_to_the_micrometre_are_still_in_line():
    fine = cut(arc(), "in three")
    rounded = Strips(fine.x.round(6), fine.z.round(6), fine.ends, fine.thickness, fine.parts)
    one, two = (local_screen(each, modulus=33e9, poisson=0.2) for each in (arc(), rounded))
    assert two.critical.min() == pytest.approx(one.critical.min(), rel=1e-3)
