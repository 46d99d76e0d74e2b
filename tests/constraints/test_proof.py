"""The folded plate as judge of a design: sums of loads, long spans, struts, the batch law."""

from dataclasses import replace

import numpy as np
import pytest
from roofs import KEYS, basis_for, designs_for, family_for

from longvault.constraints.actions import Wind, line_loads
from longvault.constraints.basis import Basis, Requirements
from longvault.constraints.evaluate import evaluate
from longvault.constraints.load_cases import case_loads
from longvault.constraints.making import making
from longvault.constraints.measures import MEASURES
from longvault.constraints.proof import (
    Proving,
    covered,
    proof_limits,
    proof_measures,
    unit_loads,
)
from longvault.constraints.proof_demands import mesh_force, mesh_moment, mesh_use
from longvault.sections import Strips
from longvault.sections.properties import section_properties

COUNT = 6


def sections(key):
    return family_for(key).strips(designs_for(key, COUNT))


def proved(key, basis, proving, strips=None):
    strips = sections(key) if strips is None else strips
    measures = dict(evaluate(strips, basis).measures)
    return measures | proof_measures(strips, family_for(key).joints, measures, basis, proving)


@pytest.mark.parametrize("key", KEYS)
def test_loads_on_the_strips_add_up_to_the_hand_sum(key):
    """Sum over the section = plan load x bay + surface load x arc length + glass + services, to round-off."""
    strips, basis = sections(key), basis_for(key)
    p = section_properties(strips)
    opening = evaluate(strips, basis).measures["opening"]
    surface = making(strips, bend_radius=0.5, steep_slope=0.8).surface
    by_hand = line_loads(
        basis.loads,
        area=p.area,
        surface=surface,
        opening=opening,
        pitch=basis.pitch,
        weight=basis.concrete.weight,
    )
    permanent, plan = unit_loads(strips, family_for(key).joints, opening, basis)
    down = -permanent.nodal(strips)[..., 2].sum(axis=-1)
    np.testing.assert_allclose(down, by_hand.permanent, rtol=1e-12)
    np.testing.assert_allclose(-plan.nodal(strips)[..., 2].sum(axis=-1), basis.pitch, rtol=1e-12)


def drifted(key):
    basis = basis_for(key)
    wind = (Wind("lee side", ((0.0, 0.5, -300.0),)),)
    return replace(
        basis, loads=replace(basis.loads, drift="cylindrical", ground_snow=800.0, wind=wind, water=0.1)
    )


@pytest.mark.parametrize("key", KEYS)
def test_every_variable_case_adds_up_to_the_beam_s(key):
    strips, basis = sections(key), drifted(key)
    _, *variable = unit_loads(strips, family_for(key).joints, np.zeros(COUNT), basis)
    found = case_loads(basis.loads, strips, pitch=basis.pitch)
    assert len(variable) == len(found.cases) == 6
    for k, load in enumerate(variable):
        np.testing.assert_allclose(
            -load.nodal(strips)[..., 2].sum(axis=-1), found.down[..., k], rtol=1e-9, atol=1e-6
        )


def test_a_drift_on_one_half_bends_a_vault_across():
    """Half-bay drift: the moment across outgrows that of snow everywhere (derived by slice: 2.9 to 7.8)."""
    vaults, proving = sections("vault")[:3], Proving()
    even, uneven = (
        proved("vault", basis, proving, vaults) for basis in (basis_for("vault"), drifted("vault"))
    )
    assert np.all(uneven["transverse_moment"] > 1.3 * even["transverse_moment"])


@pytest.mark.parametrize("key", ["gull-wing", "vault"])
def test_beam_theory_and_folded_plate_meet_at_long_spans(key):
    """The difference falls with the span, below 1 % in stress at 15 times the usual one."""
    short, long = (
        Basis(span=span, pitch=basis_for(key).pitch, requirements=Requirements(height_max=3.0))
        for span in (24.0, 360.0)
    )
    still = Proving(poisson=0.0, allowance=0.0, harmonics=tuple(range(1, 40, 2)))
    far = proved(key, long, still)["beam_share_stress"]
    near = proved(key, short, still)["beam_share_stress"]
    assert np.abs(far - 1.0).max() < 0.01
    assert np.abs(near - 1.0).max() > 3 * np.abs(far - 1.0).max()


def test_struts_across_the_slot_hold_the_wings():
    """Circular wings, steep at the keel, bend across as cantilevers at a free slot; struts take most of it.

    Derived: a barrel cut at the crown and joined at the valley has 13 times the barrel's moment across.
    """
    basis, wings = basis_for("gull-wing"), sections("gull-wing")[:3]
    free, tied = (proved("gull-wing", basis, Proving(strut=k), wings) for k in (0.0, 1e8))
    assert np.all(free["transverse_moment"] > 4 * tied["transverse_moment"])
    assert np.all(free["slot_movement"] > 10 * tied["slot_movement"])
    alike = replace(basis, loads=replace(basis.loads, snow=0.0, maintenance=basis.loads.snow))
    free, even = (proved("gull-wing", alike, Proving(strut=k), wings) for k in (0.0, 1e8))
    assert np.all(free["slot_movement"] > 20 * even["slot_movement"])
    assert np.all(tied["slot_movement"] > even["slot_movement"])  # snow on every other bay pushes the next


def test_a_free_slot_bay_is_a_lone_module():
    """Nothing is held because it is the outermost node."""
    basis = basis_for("gull-wing")
    lone, interior = (proved("gull-wing", basis, Proving(bays=(bay,))) for bay in ("lone", "interior"))
    np.testing.assert_array_equal(lone["transverse_moment"], interior["transverse_moment"])


def test_several_bays_give_the_largest_demand():
    basis = basis_for("vault")
    each = [proved("vault", basis, Proving(bays=(bay,))) for bay in ("interior", "end", "lone")]
    together = proved("vault", basis, Proving(bays=("interior", "end", "lone")))
    for name in ("plate_deflection", "transverse", "plate_steel_area", "beam_share_stress"):
        np.testing.assert_array_equal(together[name], np.max([one[name] for one in each], axis=0))


def test_neighbours_hold_a_vault():
    """Circular vaults with small valley beams sag more alone than between neighbours."""
    basis, vaults = basis_for("vault"), sections("vault")[:3]
    lone, interior = (proved("vault", basis, Proving(bays=(bay,)), vaults) for bay in ("lone", "interior"))
    assert np.all(lone["plate_deflection"] > interior["plate_deflection"])


@pytest.mark.parametrize("key", KEYS)
def test_batch_law(key):
    basis, proving = basis_for(key), Proving(strut=1e7)
    strips = sections(key)
    whole = proved(key, basis, proving)
    for i in (0, COUNT - 1):
        one = proved(key, basis, proving, strips[i])
        for name in (m for m in whole if m.startswith(("plate", "transverse", "slot", "beam_share"))):
            assert np.asarray(whole[name][i]).tobytes() == np.asarray(one[name]).tobytes(), name


def test_every_limit_reads_measures_that_are_there():
    basis = basis_for("vault")
    measures = proved("vault", basis, Proving())
    for limit in proof_limits(basis, Proving()):
        assert limit.demand in MEASURES
        assert limit.source
        margin = limit.margin(measures)
        assert np.isfinite(margin).all() or (limit.key == "buckling" and not np.isnan(margin).any())


def test_mesh_moment_by_hand():
    """One mesh of 8 mm at 150 in 100 mm: 335 mm2/m x 434.8 MPa = 145.7 kN/m, x = 7.3 mm, z = 46.4 mm."""
    basis = basis_for("vault")
    assert float(mesh_moment(np.array(0.100), basis)) == pytest.approx(145.7e3 * 0.04636, rel=1e-3)


def test_tension_across_takes_its_share_of_the_mesh():
    """4.643 kNm/m with 25.85 kN/m in 80 mm: by hand (145.7 - 25.85)(40 - 3) = 4.43 kNm/m, so 1.05 of it."""
    basis = basis_for("vault")
    use = mesh_use(np.array(4.643e3), np.array(25.85e3), np.array(0.080), basis)
    assert float(use) == pytest.approx(4.643 / 4.43, rel=0.02)
    # the straight line is on the safe side of the resistance (F - n)(d - (F - n) / (2 f_cd)), never far off
    force, d = mesh_force(basis), 0.040
    for n in np.linspace(0.0, 0.95, 20) * force:
        resists = (force - n) * (d - 0.5 * (force - n) / basis.strengths.compression)
        assert 1.0 <= float(mesh_use(np.array(resists), np.array(n), np.array(0.080), basis)) < 1.03
    # compression is left out
    assert mesh_use(np.array(1e3), np.array(-5e4), np.array(0.08), basis) == mesh_use(
        np.array(1e3), np.array(0.0), np.array(0.08), basis
    )


@pytest.mark.parametrize("long_term", ["factor", "cracked"])
def test_cracking_and_creep_reach_the_deflection_of_the_folded_plate(long_term):
    """Long-term over elastic is the same in both theories, and camber comes off both, once."""
    plain = basis_for("vault")
    need = replace(plain.requirements, long_term=long_term, camber=0.0)
    found = proved("vault", replace(plain, requirements=need), Proving(allowance=0.0))
    late = found["deflection"] / found["deflection_sustained"]
    elastic = found["beam_share_deflection"] * found["deflection_sustained"]
    np.testing.assert_allclose(found["plate_deflection"], late * elastic, rtol=1e-12)
    if long_term == "cracked":
        assert np.ptp(late) > 0.01
    raised = replace(plain, requirements=replace(need, camber=0.010))
    less = proved("vault", raised, Proving(allowance=0.0))
    np.testing.assert_allclose(found["plate_deflection"] - less["plate_deflection"], 0.010, rtol=1e-9)
    np.testing.assert_allclose(less["beam_share_deflection"], found["beam_share_deflection"], rtol=1e-9)


def test_cantilevers_are_not_covered():
    assert covered(basis_for("vault"))
    assert not covered(basis_for("vault", support="cantilever"))


def test_services_on_an_upright_wall_are_carried_and_nothing_warns():
    """Nothing to spread them over on plan: they hang on the height of the wall."""
    wall = Strips.chain([0.0, 0.0, 0.0], [0.0, 1.0, 2.0], 0.2, "wing")
    basis = basis_for("vault")
    loads = unit_loads(wall, (), np.array(0.0), basis)
    down = -float(loads[0].nodal(wall)[..., 2].sum())
    assert basis.loads.services > 0
    assert down == pytest.approx(2.0 * (0.2 * basis.concrete.weight + 600.0) + basis.loads.services)
    measures = dict(evaluate(wall, basis).measures)
    found = proof_measures(wall, (), measures, basis, Proving(bays=("lone",)))
    assert found["beam_share_stress"] == pytest.approx(1.0, abs=0.03)
