"""Measures and limits of the concrete checks as one bundle: what they hold, batch law, graded margins."""

import dataclasses
from dataclasses import replace

import numpy as np
import pytest
from concrete_demands import demand_of
from roofs import KEYS, basis_for, designs_for, family_for

from longvault.constraints.beam import support_of
from longvault.constraints.concrete_checks import (
    CONCRETE_MEASURES,
    concrete_limits,
    concrete_measures,
    load_centre,
    stress_block,
)
from longvault.constraints.concrete_settings import ConcreteSettings
from longvault.constraints.crack_checks import SPACING, WIDTHS
from longvault.constraints.details import BOTH_SIGNS, evaluate_closely
from longvault.constraints.evaluate import evaluate
from longvault.constraints.prestress import Tensioning
from longvault.constraints.spans import Spans
from longvault.constraints.torsion import surface_centre
from longvault.sections.properties import section_properties

STRESSED = ConcreteSettings(tensioning=Tensioning(), uses=6.0)


def looked_at(key, count=12, settings=STRESSED, **change):
    basis = basis_for(key, **change)
    strips = family_for(key).strips(designs_for(key, count))
    p, demand = demand_of(strips, basis)
    return strips, p, basis, demand, concrete_measures(strips, p, basis, demand, settings)[0]


@pytest.mark.parametrize("key", KEYS)
@pytest.mark.parametrize("support", ["simple", "cantilever"])
@pytest.mark.parametrize("held", [False, True])
def test_every_measure_and_every_margin_is_there(key, support, held):
    strips, _, basis, _, m = looked_at(key, support=support, held=held)
    cracks = {*WIDTHS, *SPACING}  # post-tensioned: decompression instead
    assert set(m) == {measure.key for measure in CONCRETE_MEASURES} - cracks - set(BOTH_SIGNS)
    for name, values in m.items():
        assert np.isfinite(values).all(), name
    limits = concrete_limits(basis, STRESSED)
    assert len({limit.key for limit in limits}) == len(limits) == 14
    for limit in limits:
        assert limit.source
        assert limit.formula
        assert limit.margin(m | evaluate(strips, basis).measures).shape == (12,)


@pytest.mark.parametrize("key", KEYS)
def test_the_steel_to_provide_is_the_most_that_anything_asks_for(key):
    """Bars, amounts and the room are for it; with one-sided roofs the cracked section asks for more."""
    strips, _, basis, demand, m = looked_at(key, count=40)
    asked = np.stack([demand.steel, m["cracked_steel"], m["least_steel"]])
    np.testing.assert_array_equal(m["main_steel"], asked.max(axis=0))
    bar = 0.25 * np.pi * basis.detailing.main_bar**2
    assert (m["bars"] * bar >= m["main_steel"] * (1 - 1e-9)).all()
    fits = next(one for one in concrete_limits(basis, STRESSED) if one.key == "main-steel-fits")
    room = evaluate(strips, basis).measures["bar_room"]
    kept = fits.margin(m | {"bar_room": room}) <= 0
    np.testing.assert_array_equal(kept, m["main_steel"] <= room)


@pytest.mark.parametrize("key", KEYS)
def test_both_sides_get_their_least_steel_where_moments_change_sign(key):
    """Two spans hog over the middle support: tension on either face, so EN 1992-1-1, 9.2.1.1 asks on both."""
    spans, basis = Spans.continuous(12.0, 12.0), basis_for(key, support="cantilever")
    basis = dataclasses.replace(basis, spans=spans, span=12.0, support=support_of("continuous", spans, 12.0))
    done = evaluate_closely(family_for(key).strips(designs_for(key, 40)), basis)
    m = done.measures
    asked = np.stack([m["steel_area_reverse"], m["cracked_steel_reverse"]]).max(axis=0)
    assert (m["main_steel_reverse"] >= asked).all()
    more = m["main_steel_reverse"] > asked * (1 + 1e-9)
    assert more.any()
    row = next(i for i, limit in enumerate(done.limits) if limit.key == "main-steel-fits-reverse")
    np.testing.assert_array_equal(done.margins[:, row] <= 0, m["main_steel_reverse"] <= m["bar_room_reverse"])
    bar = 0.25 * np.pi * basis.detailing.main_bar**2
    whole = m["main_steel"] + m["main_steel_reverse"]
    assert (m["bars"] * bar >= whole * (1 - 1e-9)).all()
    one = evaluate_closely(family_for(key).strips(designs_for(key, 3)), basis_for(key)).measures
    assert not one["main_steel_reverse"].any()


@pytest.mark.parametrize("key", ["gull-wing", "vault"])
def test_a_symmetrical_roof_is_not_twisted_and_agrees_with_plain_bending(key):
    strips, _, basis, demand, m = looked_at(key, row=True)
    assert np.abs(m["end_torque"]).max() < 1e-6 * np.abs(demand.moment).max()
    basis = replace(basis, loads=replace(basis.loads, snow=0.0, maintenance=0.0))  # no load on one side
    plain, m = evaluate(strips, basis).measures, evaluate_closely(strips, basis).measures
    # what is left is the strain of the shear flow
    assert m["edge_compression"] == pytest.approx(plain["compression"], rel=0.05)
    assert m["edge_tension"] == pytest.approx(plain["tension_service"], rel=0.05)


def test_a_north_light_is_twisted():
    strips, p, _, demand, m = looked_at("one-sided")
    assert np.median(m["end_torque"]) > 5e3
    centre = load_centre(strips, p, demand.loads)
    assert ((centre > p.left) & (centre < p.right)).all()


def test_load_centre_by_hand():
    strips, p, _, demand, _ = looked_at("one-sided", count=3)
    w = demand.loads
    rest = w.glass + w.services + np.maximum(w.snow, w.maintenance)
    parts = np.stack([w.self_weight, w.finish, rest])
    at = np.stack([p.centroid_x, surface_centre(strips), 0.5 * (p.left + p.right)])
    assert load_centre(strips, p, w) == pytest.approx((parts * at).sum(0) / parts.sum(0))
    assert parts.sum(0) == pytest.approx(demand.characteristic)
    beside = load_centre(strips, p, w, services_x=1.5) - load_centre(strips, p, w)
    assert beside == pytest.approx(1.5 * w.services / parts.sum(0))


def test_more_moment_asks_for_more():
    """Graded, bars in their places: cracked steel and neutral axis grow, beyond the limit too."""
    strips, p, basis, demand, _ = looked_at("gull-wing", count=6)
    depths, areas = [], []
    for factor in (0.5, 1.0, 2.0, 8.0, 32.0):
        more = dataclasses.replace(demand, moment=factor * demand.moment)
        m, _ = concrete_measures(strips, p, basis, more, ConcreteSettings())
        depths.append(m["neutral_depth"])
        areas.append(m["cracked_steel"])
    assert (np.diff(depths, axis=0) > 0).all()
    assert (np.diff(areas, axis=0) > 0).all()
    assert (depths[-1] > 1).all()


def test_prestress_only_where_it_is_asked_for():
    *_, m = looked_at("vault", settings=ConcreteSettings(uses=6.0))
    assert "prestress_force" not in m
    *_, stressed = looked_at("vault")
    assert (stressed["carbon"] > m["carbon"]).all()


def test_the_block_follows_the_standard():
    assert stress_block(basis_for("vault")).source.startswith("EN 1992")
    assert stress_block(basis_for("vault", standard="ASCE 7-16")).source.startswith("ACI 318")


@pytest.mark.parametrize("key", KEYS)
def test_batch_law_and_bad_rows(key):
    x = designs_for(key, 6)
    x[2, 0] = np.nan
    basis, strips = basis_for(key), family_for(key).strips(x)

    def found(s):
        return concrete_measures(s, section_properties(s), basis, demand_of(s, basis)[1], STRESSED)[0]

    whole = found(strips)
    for i in (0, 1, 5):
        one = found(strips[i])
        for name, values in whole.items():
            assert np.asarray(values[i]).tobytes() == np.asarray(one[name]).tobytes(), name
    for name, values in whole.items():
        assert np.isnan(values[2]), name
