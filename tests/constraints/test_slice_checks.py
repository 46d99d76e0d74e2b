"""The slice in the search: the larger of all combinations and bays, a limit only where it judges alone."""

from dataclasses import replace

import numpy as np
import pytest
from roofs import KEYS, basis_for, designs_for, family_for

from longvault.constraints.actions import CHARACTERISTIC, ULTIMATE
from longvault.constraints.details import detail_keys, detail_limits, evaluate_closely
from longvault.constraints.evaluate import evaluate
from longvault.constraints.plates import PlateLoads
from longvault.constraints.plates_row import bay_supports
from longvault.constraints.proof_demands import combinations, mesh_use
from longvault.constraints.proof_loads import unit_loads
from longvault.constraints.proving import Proving
from longvault.constraints.slice import transverse_slice
from longvault.constraints.slice_checks import slice_limits, slice_measures
from longvault.optimise.section_problem import section_problem
from longvault.sections import Section
from longvault.sections.parts import roof_surface


def asked(key, *, loads=None, **kwargs):
    bays = ("interior", "lone") if key == "vault" else ("lone",)
    basis = basis_for(key, **kwargs)
    return replace(
        basis,
        crosswise=Proving(bays=bays, strut=3e7),
        joints=family_for(key).joints,
        loads=replace(basis.loads, **(loads or {})),
    )


def by_hand(strips, measures, basis, bay):
    """One slice a combination, every load put on at once."""
    section = Section("one", strips, basis.joints)
    links = basis.crosswise.links(strips, basis.joints, bay, basis.pitch)
    cases = unit_loads(strips, basis.joints, measures["opening"], basis)
    surface, found = np.flatnonzero(roof_surface(strips)), [[], [], []]
    slots = [joint.node for joint in basis.joints if joint.kind == "slot"]
    for state in (ULTIMATE, CHARACTERISTIC):
        for row in combinations(measures, basis, state):
            total = PlateLoads(
                *(
                    sum(f * np.asarray(getattr(case, name)) for f, case in zip(row, cases, strict=True))
                    for name in ("surface", "plan", "line_down", "line_right")
                )
            )
            one = transverse_slice(
                strips,
                total,
                modulus=basis.concrete.ecm,
                poisson=0.2,
                supports=bay_supports(section, bay),
                links=links,
            )
            across = np.abs(one.m_s[surface]).max(axis=-1)
            if state == ULTIMATE:
                found[0].append(across.max())
                t = strips.thickness[surface][:, None]
                found[1].append(mesh_use(one.m_s[surface], one.n_s[surface], t, basis).max())
            else:
                found[2].append(np.abs(one.moved[slots, 0]).max() if slots else 0.0)
    return [max(values) for values in found]


@pytest.mark.parametrize("key", KEYS)
@pytest.mark.parametrize(
    "loads", [{}, {"drift": "cylindrical", "ground_snow": 800.0}], ids=["plain", "drift"]
)
def test_equals_one_slice_a_combination(key, loads):
    basis = asked(key, loads=loads)
    strips = family_for(key).strips(designs_for(key, 5))
    measures = dict(evaluate(strips, basis).measures)
    found = slice_measures(strips, measures, basis)
    one = {name: values[4] for name, values in measures.items()}
    hand = np.max([by_hand(strips[4], one, basis, bay) for bay in basis.crosswise.bays], axis=0)
    got = [found[name][4] for name in ("slice_moment", "slice_use", "slice_movement")]
    np.testing.assert_allclose(got, hand, rtol=1e-7, atol=1e-12)


@pytest.mark.parametrize("key", KEYS)
def test_batch_law(key):
    basis, x = asked(key), designs_for(key, 7)
    strips = family_for(key).strips(x)
    whole = slice_measures(strips, evaluate(strips, basis).measures, basis)
    for i in (0, 3, 6):
        alone = slice_measures(strips[i], evaluate(strips[i], basis).measures, basis)
        for name, values in whole.items():
            assert values[i] == alone[name], name


def test_it_is_a_limit_only_where_no_folded_plate_judges():
    assert slice_limits(asked("vault")) == ()
    found = slice_limits(asked("vault", support="cantilever"))
    assert [limit.key for limit in found] == ["slice-moment", "slice-movement"]
    done = evaluate_closely(family_for("vault").strips(designs_for("vault", 3)), asked("vault"))
    assert np.isfinite(done.measures["slice_moment"]).all()
    hung = asked("gull-wing", support="cantilever")
    assert {"slice-moment", "slice-movement"} <= {limit.key for limit in detail_limits(hung)}


def test_not_asked_for_not_looked_at():
    basis = basis_for("vault")
    assert "slice_moment" not in detail_keys(basis)
    assert slice_measures(family_for("vault").strips(designs_for("vault", 2)), {}, basis) == {}


def test_every_design_that_holds_as_a_beam_has_it_in_the_search():
    """The problem puts the family's own joints in; designs that fail as beams keep NaN: not worked out."""
    family = family_for("vault")
    basis = replace(asked("vault"), joints=(), concrete_settings=None)
    easy = {
        "height_max": 4.0,
        "slope_max": 1.5,
        "opening_min": 0.0,
        "deflection_ratio": 20.0,
        "taper_max": 9.0,
    }
    basis = replace(basis, requirements=replace(basis.requirements, bend_radius_min=0.1, **easy))
    problem = section_problem(family, family.variables, basis, ("area", "section_modulus"))
    x = designs_for("vault", 60)
    done = problem.evaluate.evaluation(x)
    beam = evaluate(family.strips(x), basis)
    held = (beam.margins <= -1e-9).all(axis=-1)
    assert 0 < held.sum() < len(x)
    np.testing.assert_array_equal(np.isfinite(done.measures["slice_moment"]), held)
    wish = section_problem(family, family.variables, basis, ("area", "slice_moment"))
    assert np.isfinite(wish.evaluate.evaluation(x).measures["slice_moment"]).all()
