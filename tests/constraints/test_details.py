"""Closer checks beside those of the beam: batch law, staging, what they hold under each basis of design."""

import dataclasses

import numpy as np
import pytest
from briefed_sections import reading_hall
from roofs import KEYS, basis_for, designs_for, family_for

from longvault.constraints.concrete_settings import ConcreteSettings
from longvault.constraints.daylight_factor import Room, daylight
from longvault.constraints.daylight_settings import DaylightSettings
from longvault.constraints.details import (
    BOTH_SIGNS,
    TENSIONED,
    detail_keys,
    detail_limits,
    evaluate_closely,
    staged,
)
from longvault.constraints.evaluate import evaluate
from longvault.constraints.measures import MEASURES
from longvault.constraints.prestress import Tensioning
from longvault.constraints.quantities import Factors
from longvault.constraints.spans import Spans
from longvault.optimise.section_problem import section_problem
from longvault.sections.properties import section_properties

LIGHT = DaylightSettings(level=-4.0, room=Room(bays=6, length=24.0, wall_height=4.0), mean_least=0.03)


def close(key="gull-wing", **change):
    return dataclasses.replace(basis_for(key), **{"daylight": LIGHT, **change})


@pytest.mark.parametrize("key", KEYS)
def test_batch_law_and_bad_rows(key):
    x = designs_for(key, 6)
    x[2, 0] = np.nan
    basis, strips = close(key), family_for(key).strips(x)
    whole = evaluate_closely(strips, basis)
    assert whole.margins.shape == (6, len(whole.limits))
    assert np.isnan(whole.margins[2]).all()
    for i in (0, 1, 5):
        one = evaluate_closely(strips[i], basis)
        assert one.margins.tobytes() == whole.margins[i].tobytes()
        for name, values in whole.measures.items():
            assert np.asarray(one.measures[name]).tobytes() == np.asarray(values[i]).tobytes(), name


@pytest.mark.parametrize("key", KEYS)
def test_staging_only_leaves_out(key):
    """Where the checks of the beam hold: the same bits as for all; elsewhere not worked out."""
    basis, strips = close(key), family_for(key).strips(designs_for(key, 40))
    beam, whole = evaluate(strips, basis), evaluate_closely(strips, basis)
    most = float(np.median(beam.margins.max(axis=-1)))
    part = staged(beam, strips, basis, most=most)
    reached = (beam.margins <= most).all(axis=-1)
    assert 10 < reached.sum() < 30
    assert part.limits == whole.limits
    assert part.margins[reached].tobytes() == whole.margins[reached].tobytes()
    left = part.margins[~reached]
    count = len(beam.limits)
    assert np.array_equal(left[:, :count], beam.margins[~reached])
    assert np.isposinf(left[:, count:]).all()
    for name in detail_keys(basis):
        assert part.measures[name][reached].tobytes() == whole.measures[name][reached].tobytes(), name
        assert np.isnan(part.measures[name][~reached]).all(), name


def test_what_is_worked_out_follows_the_basis():
    bare = close(concrete_settings=None, daylight=None)
    assert detail_keys(bare) == ()
    assert detail_limits(bare) == ()
    plain = close(daylight=None)
    assert not set(TENSIONED) & set(detail_keys(plain))
    stressed = close(concrete_settings=ConcreteSettings(tensioning=Tensioning()))
    assert set(TENSIONED) < set(detail_keys(stressed))
    assert {"prestress-window", "anchor", "daylight"} < {limit.key for limit in detail_limits(stressed)}
    overhang = close(spans=Spans(24.0, (4.0, 20.0)))
    assert not set(BOTH_SIGNS) & set(detail_keys(plain))
    assert set(BOTH_SIGNS) < set(detail_keys(overhang))
    more = {limit.key for limit in detail_limits(overhang)}
    assert more >= {limit.key for limit in detail_limits(close())}, "no check is left out on several spans"
    strips = family_for("gull-wing").strips(designs_for("gull-wing", 3))
    for basis in (bare, plain, stressed, overhang):
        found = evaluate_closely(strips, basis).measures
        assert set(detail_keys(basis)) == set(found) - set(evaluate(strips, basis).measures)
        assert set(found) <= set(MEASURES)


def test_bars_for_both_signs_of_moment_are_weighed():
    overhang = close(spans=Spans(24.0, (4.0, 20.0)))
    strips = family_for("gull-wing").strips(designs_for("gull-wing", 3))
    m = evaluate_closely(strips, overhang).measures
    bar = np.pi / 4 * overhang.detailing.main_bar**2
    assert (m["steel_area_reverse"] > 0.01 * m["steel_area"]).any()
    assert (m["bars"] * bar >= (m["steel_area"] + m["steel_area_reverse"]) * (1 - 1e-9)).all()


def test_daylight_measures_are_those_of_the_curve():
    strips = reading_hall()
    basis = close(pitch=7.5)
    m = evaluate_closely(strips, basis).measures
    level = section_properties(strips).bottom - 4.0
    curve = daylight(strips, pitch=7.5, level=level, room=LIGHT.room, points=LIGHT.points)
    along = curve.sky_component * curve.span_share + curve.internally_reflected
    assert m["daylight_mean"] == pytest.approx(along.mean())
    assert m["daylight_least"] == pytest.approx(along.min())
    assert m["daylight_uniformity"] == pytest.approx(along.min() / along.mean())
    assert m["daylight_formula"] == curve.average_formula
    assert m["glass_per_floor"] == pytest.approx(1.2 / 7.5)
    assert 0.0 <= m["sound_focusing"] <= 1.0
    done = evaluate_closely(strips, basis)
    assert "sound_focusing" not in {limit.demand for limit in done.limits}, "soft: never a limit"
    place = [limit.key for limit in done.limits].index("daylight")
    assert done.margins[place] == pytest.approx(1 - m["daylight_mean"] / 0.03)


def test_a_level_counts_from_the_lowest_point():
    strips, basis = reading_hall(), close(pitch=7.5)
    lifted = dataclasses.replace(strips, z=strips.z + 5.0)
    one, other = (evaluate_closely(s, basis).measures for s in (strips, lifted))
    assert other["daylight_mean"] == pytest.approx(one["daylight_mean"], rel=1e-9)


def test_factors_reach_the_measures():
    strips = family_for("vault").strips(designs_for("vault", 4))
    one = evaluate_closely(strips, close("vault")).measures
    dear = ConcreteSettings(factors=Factors(concrete_carbon=640.0))
    two = evaluate_closely(strips, close("vault", concrete_settings=dear)).measures
    assert two["carbon"] - one["carbon"] == pytest.approx(320.0 * one["equivalent_thickness"])
    assert np.array_equal(one["cost"], two["cost"])


@pytest.mark.parametrize("wish", ["carbon", "cost", "steel_weight", "daylight_mean"])
def test_an_objective_is_worked_out_for_every_design(wish):
    family, basis = family_for("gull-wing"), close()
    problem = section_problem(family, family.variables, basis, ("area", wish))
    x = problem.snap(designs_for("gull-wing", 30))
    scores = problem.evaluate(x)
    assert np.isfinite(scores.objectives).all()
    assert np.isfinite(scores.margins).all(), "so its limits are known too"
    lazy = section_problem(family, family.variables, basis, ("area", "opening")).evaluate(x)
    assert np.isposinf(lazy.margins).any()
    assert len(problem.margin_names) == scores.margins.shape[1] == lazy.margins.shape[1]


def test_an_objective_that_is_not_worked_out_is_refused():
    family = family_for("vault")
    with pytest.raises(ValueError, match="'daylight_mean' is not worked out for this roof"):
        section_problem(family, family.variables, close("vault", daylight=None), ("area", "daylight_mean"))
