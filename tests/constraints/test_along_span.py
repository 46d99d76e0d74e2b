"""Effects along the span: envelopes against every load pattern by itself, limits when asked for."""

from dataclasses import replace
from itertools import product

import numpy as np
import pytest
from roofs import KEYS, basis_for, designs_for, family_for

from longvault.constraints.actions import Loads, Wind
from longvault.constraints.along import envelope, influences
from longvault.constraints.arch import BeamArch
from longvault.constraints.basis import Basis, Requirements
from longvault.constraints.beam import SUPPORTS, support_of
from longvault.constraints.combinations import ULTIMATE, VariableCase, combined, european
from longvault.constraints.concrete_settings import ConcreteSettings
from longvault.constraints.details import evaluate_closely
from longvault.constraints.effects import signs
from longvault.constraints.evaluate import evaluate
from longvault.constraints.evaluate_member import evaluate_member
from longvault.constraints.limit import AMPLE_ROOM, FLOOR, Limit
from longvault.constraints.limits import limits_of
from longvault.constraints.measures import MEASURES
from longvault.constraints.member_details import evaluate_member_closely
from longvault.constraints.reinforcement import beam_section
from longvault.constraints.service import cracked_inertia
from longvault.constraints.spans import Spans, unit_response
from longvault.sections import Strips
from longvault.sections.member import Member
from longvault.sections.properties import section_properties

WINDS = (
    Wind("pressure", ((0.0, 1.0, 500.0),)),
    Wind("suction", ((0.0, 1.0, -1300.0),)),
    Wind("one side", ((0.0, 0.5, -1300.0), (0.5, 1.0, 500.0))),
)


def full_basis(key, spans, **more):
    """Everything at once: drift, wind, water, erection, every limit that may be asked for."""
    plain = basis_for(key)
    need = replace(
        plain.requirements, glass_difference_max=0.01, sideways_ratio=500.0, pond_depth_max=0.005,
        tie_down_max=4e5, camber=0.01,
    )  # fmt: skip
    loads = replace(plain.loads, drift="valley", ground_snow=800.0, wind=WINDS, water=0.15, erection=500.0)
    span = max(b - a for a, b in spans.fields)
    return replace(
        plain, requirements=need, loads=loads, span=span, spans=spans,
        support=support_of("row", spans, span), **more,
    )  # fmt: skip


SPANS = {
    "continuous": Spans.continuous(10.0, 12.0, 8.0),
    "canopy": Spans.canopy(back=4.0, arm=9.0),
    "overhangs": Spans.overhanging(14.0, left=2.0, right=4.0),
    "propped": Spans.propped(14.0),
}


@pytest.mark.parametrize("kind", SPANS)
@pytest.mark.parametrize("key", KEYS)
def test_batch_law_with_everything(key, kind):
    basis = full_basis(key, SPANS[kind])
    strips = family_for(key).strips(designs_for(key, 20))
    whole = evaluate(strips, basis)
    assert np.isfinite(whole.margins).all()
    for i in (0, 7, 19):
        one = evaluate(strips[i], basis)
        assert whole.margins[i].tobytes() == one.margins.tobytes()
        for name, values in whole.measures.items():
            assert values[i].tobytes() == np.asarray(one.measures[name]).tobytes(), name
        for name, found in whole.cases.items():
            assert found.names[found.index[i]] == one.cases[name].name()
    assert set(whole.measures) <= set(MEASURES)


@pytest.mark.parametrize("kind", SPANS)
def test_envelope_against_each_pattern_by_itself(kind):
    """Brute force: permanent load everywhere, variable load on each set of fields, each combination."""
    spans = SPANS[kind]
    rules = combined(european(), (VariableCase("snow", "snow"), VariableCase("up", "wind")), ULTIMATE)
    unit = unit_response(spans)
    permanent, variable = 9e3, np.array([5e3, -11e3])
    lines = influences(spans)
    for influence, response in ((lines.moment, unit.moment), (lines.reaction, unit.reaction)):
        most, least = envelope(influence, rules, permanent=np.array(permanent), variable=variable)
        rows = []
        for on in product((0.0, 1.0), repeat=len(spans.fields)):
            for c in range(len(rules.names)):
                load = rules.permanent[c] * permanent + np.array(on) * (rules.variable[c] @ variable)
                rows.append(load @ response)
        assert float(most.value) == pytest.approx(max(r.max() for r in rows), rel=1e-9)
        assert float(least.value) == pytest.approx(min(r.min() for r in rows), rel=1e-9)


def test_a_simple_span_is_the_textbook():
    """M = w L^2 / 8, V = w L / 2, 5 w L^4 / 384 EI, with the heaviest combination (hand sums)."""
    fold = Strips.chain([-3.0, 0.0, 3.0], [0.0, 2.0, 0.0], 0.1, ["wing", "crown"])
    need = Requirements(height_max=2.5, long_term="factor")
    basis = Basis(span=20.0, pitch=6.0, requirements=need, loads=Loads(finish=600.0, snow=640.0))
    done = evaluate(fold, basis)
    g = float(section_properties(fold).area) * 25e3 + 600.0 * float(done.measures["surface"])
    w = 1.35 * g + 1.5 * 640.0 * 6.0
    assert float(done.measures["ultimate_moment"]) == pytest.approx(w * 50.0)
    assert float(done.measures["ultimate_shear"]) == pytest.approx(w * 10.0)
    assert float(done.measures["reaction"]) == pytest.approx(w * 10.0)
    service = g + 640.0 * 6.0
    stiff = basis.concrete.ecm * float(section_properties(fold).ixx)
    assert float(done.measures["deflection_short"]) == pytest.approx(5 / 384 * service * 20.0**4 / stiff)
    assert float(done.measures["deflection"]) == pytest.approx(4.0 * 5 / 384 * g * 20.0**4 / stiff)
    alone = 5 / 384 * 640.0 * 6.0 * 20.0**4 / stiff
    assert float(done.measures["glass_difference"]) == pytest.approx(alone)
    assert done.cases["compression"].name() == "1.35 G + 1.5 snow"
    assert done.cases["compression"].y == 10.0
    assert done.cases["shear"].y in (0.0, 20.0)


@pytest.mark.parametrize("key", ["simple", "cantilever"])
def test_supports_by_name_and_by_place_agree(key):
    spans = {"simple": Spans.simple(12.0), "cantilever": Spans.cantilever(12.0)}[key]
    strips = family_for("gull-wing").strips(designs_for("gull-wing", 10))
    named = replace(basis_for("gull-wing"), span=12.0, support=SUPPORTS[key])
    placed = replace(named, spans=spans, support=support_of(key, spans, 12.0))
    one, other = evaluate(strips, named), evaluate(strips, placed)
    np.testing.assert_allclose(one.margins, other.margins, rtol=1e-12, atol=1e-12)


def test_both_signs_of_moment_ask_for_steel_on_both_sides():
    assert signs(Spans.continuous(10.0, 10.0), uplift=False).both
    assert not signs(Spans.cantilever(10.0), uplift=False).both
    assert signs(Spans.cantilever(10.0), uplift=True).both
    strips = family_for("vault").strips(designs_for("vault", 10))
    spans = Spans.continuous(12.0, 12.0)
    row = replace(basis_for("vault"), span=12.0, spans=spans, support=support_of("row", spans, 12.0))
    done = evaluate(strips, row)
    limits = {limit.key: limit for limit in done.limits}
    assert limits["steel-fits-reverse"].demand == "bar_room_reverse"
    simple = evaluate(strips, replace(basis_for("vault"), span=12.0))
    # hogging -1/8 at the support as sagging 1/8 in a simple span, snow on both spans: the same moment
    np.testing.assert_allclose(
        done.measures["ultimate_moment"], simple.measures["ultimate_moment"], rtol=1e-9
    )
    p = section_properties(strips)
    hogging = done.measures["ultimate_moment"] / p.s_free_tension
    assert np.all(done.measures["compression"] >= hogging * (1 - 1e-12))
    # the other sign: one span loaded, 9/128 and 49/512 of w L^2 / (wL^2/8)
    ratio = done.measures["steel_area_reverse"] / simple.measures["steel_area"]
    assert np.all((ratio > 9 / 16) & (ratio < 49 / 64))


def test_a_moment_that_does_not_occur_is_told_as_none():
    """Back span 2 m, arm 12 m, no uplift: half of the moment over the support hogs all of the back span."""
    spans = Spans.canopy(back=2.0, arm=12.0)
    basis = replace(basis_for("gull-wing"), span=12.0, spans=spans, support=support_of("row", spans, 12.0))
    basis = replace(basis, concrete_settings=ConcreteSettings())
    strips = family_for("gull-wing").strips(designs_for("gull-wing", 6))
    done = evaluate_closely(strips, basis)
    for key in ("reverse_moment", "steel_area_reverse", "cracked_steel_reverse"):
        assert (done.measures[key] == 0.0).all(), key
    assert np.isfinite(done.margins).all()
    keys = [limit.key for limit in done.limits]
    assert (done.margins[:, keys.index("steel-fits-reverse")] == 1.0 - AMPLE_ROOM).all()
    whole = evaluate_member_closely(Member.between(strips, strips, stations=5), basis)
    assert (whole.measures["reverse_moment"] == 0.0).all()
    assert (whole.measures["cracked_steel_reverse"] == 0.0).all()
    assert np.isfinite(whole.margins).all()


def test_a_floor_that_asks_for_next_to_nothing_keeps_its_scale():
    """Room 2 cm2: asked 4, 2, 0.1 and 0.01 and nothing; and no room where nothing is asked."""
    fits = Limit("fits", "steel fits", "bar_room", "steel_area", FLOOR, "", "")
    asked = np.array([4.0, 2.0, 0.1, 0.01, 0.0, 0.0, np.nan])
    room = np.array([2.0, 2.0, 2.0, 2.0, 2.0, 0.0, 2.0])
    margin = fits.margin({"bar_room": room, "steel_area": asked})
    np.testing.assert_allclose(margin, [0.5, 0.0, -19.0, -99.0, -99.0, -99.0, np.nan], rtol=1e-12)


def test_limits_appear_only_when_asked_for():
    plain = {limit.key for limit in limits_of(basis_for("gull-wing"))}
    every = {limit.key for limit in limits_of(full_basis("gull-wing", SPANS["canopy"]))}
    assert every - plain == {
        "steel-fits-reverse", "erection-compression", "glass-difference", "sideways", "tie-down", "ponding",
        "upward",
    }  # fmt: skip
    assert all(limit.source for limit in limits_of(full_basis("gull-wing", SPANS["canopy"])))


def test_the_allowed_deflection_is_that_of_the_field():
    """Back span 4, arm 9: the arm counts 18, the back span 4."""
    done = evaluate(
        family_for("gull-wing").strips(designs_for("gull-wing", 4)), full_basis("gull-wing", SPANS["canopy"])
    )
    allowed = np.unique(done.measures["deflection_allowed"])
    assert set(allowed.round(9)) <= {18 / 250, 4 / 250}


@pytest.mark.parametrize(("back", "arm"), [(4.0, 9.0), (14.0, 6.0)])
def test_the_tip_of_an_overhang_by_the_beam_table(back, arm):
    """w a (3 a^3 + 4 a^2 L - L^3) / (24 E I) under load everywhere (any beam table), long term; a size."""
    spans, given = Spans.canopy(back=back, arm=arm), basis_for("gull-wing")
    need = replace(given.requirements, long_term="factor")
    given = replace(given, spans=spans, span=arm, support=support_of("row", spans, arm), requirements=need)
    strips = family_for("gull-wing").strips(designs_for("gull-wing", 4))
    done, p = evaluate(strips, given).measures, section_properties(strips)
    inertia = (p.ixx * p.izz - p.ixz**2) / p.izz
    w, stiffness = done["permanent_load"], given.concrete.ecm * inertia
    tip = w * arm * (3 * arm**3 + 4 * arm**2 * back - back**3) / (24 * stiffness)
    expected = given.requirements.long_term_factor * np.abs(tip)
    np.testing.assert_allclose(done["deflection_tip"], expected, rtol=1e-9)
    at_tip = done["deflection_place"] == back + arm
    assert at_tip.all() == (arm > back)
    if arm > back:
        np.testing.assert_array_equal(done["deflection_tip"], done["deflection"])
        np.testing.assert_allclose(done["deflection_allowed"], 2 * arm / 250)
    else:  # the middle of the back span is nearer to its own limit
        assert (np.abs(done["deflection_place"] - back / 2) < 0.1 * back).all()
        np.testing.assert_allclose(done["deflection_allowed"], back / 250)
    taper = evaluate_member(Member.between(strips, strips, stations=9), given).measures
    np.testing.assert_allclose(taper["deflection_tip"], done["deflection_tip"], rtol=1e-6)
    np.testing.assert_allclose(taper["deflection_place"], done["deflection_place"], atol=0.06 * back)
    assert "deflection_tip" not in evaluate(strips, replace(given, spans=Spans.cantilever(9.0))).measures


def test_camber_is_taken_off_and_no_more():
    strips = family_for("gull-wing").strips(designs_for("gull-wing", 4))
    basis = basis_for("gull-wing")
    raised = replace(basis, requirements=replace(basis.requirements, camber=0.02))
    flat, bent = evaluate(strips, basis).measures, evaluate(strips, raised).measures
    np.testing.assert_allclose(flat["deflection"] - bent["deflection"], 0.02)
    np.testing.assert_array_equal(flat["deflection_short"], bent["deflection_short"])


def test_erection_is_free_bending_under_own_weight():
    """A north-light held by its neighbours stands free while it is built (hand sum)."""
    strips = family_for("one-sided").strips(designs_for("one-sided", 6))
    basis = basis_for("one-sided", held=True)
    basis = replace(basis, loads=replace(basis.loads, erection=750.0))
    done = evaluate(strips, basis).measures
    p = section_properties(strips)
    own, user = p.area * 25e3, 750.0 * 6.0
    moment = (1.35 * own + 1.5 * user) * 12.0**2 / 8
    np.testing.assert_allclose(done["erection_moment"], moment)
    np.testing.assert_allclose(done["erection_compression"], moment / p.s_free_compression)
    np.testing.assert_allclose(done["erection_tension"], (own + user) * 18.0 / p.s_free_tension)
    assert np.all(np.abs(done["erection_sideways"]) > 0)
    assert np.all(done["sideways"] == 0.0)


def test_net_uplift_turns_the_moment():
    strips = family_for("gull-wing").strips(designs_for("gull-wing", 5))
    storm = Wind("storm", ((0.0, 1.0, -9000.0),))
    basis = basis_for("gull-wing")
    basis = replace(basis, loads=replace(basis.loads, wind=(storm,)))
    done = evaluate(strips, basis)
    g = done.measures["permanent_load"]
    lift = 1.5 * 9000.0 * 7.5 - g
    moment = np.maximum(lift, 1.35 * g + 1.5 * 640.0 * 7.5) * 24.0**2 / 8
    np.testing.assert_allclose(done.measures["ultimate_moment"], moment)
    turned = lift > 1.35 * g + 1.5 * 640.0 * 7.5
    assert turned.any()
    assert done.cases["compression"].name(int(np.flatnonzero(turned)[0])) == "G + 1.5 wind"
    # equilibrium counts 0.9 G where it helps: more pull than the ultimate G
    np.testing.assert_allclose(done.measures["tie_down"], (1.5 * 9000.0 * 7.5 - 0.9 * g) * 12.0)


def test_water_behind_blocked_outlets_is_a_case():
    keel = Strips.chain([-3.0, -0.7, 0.7, 3.0], [2.0, 0.0, 0.0, 2.0], 0.1, ["wing", "keel", "wing"])
    basis = Basis(
        span=20.0, pitch=6.2, requirements=Requirements(height_max=2.5), loads=Loads(snow=100.0, water=0.5)
    )
    done = evaluate(keel, basis)
    assert done.cases["compression"].name() == "1.35 G + 1.5 water"
    water = float(done.measures["characteristic_load"] - done.measures["permanent_load"])
    # 1.4 m wide at the bottom, sides 2.3 : 2.0, a little narrower at the lifted face
    assert water == pytest.approx(10e3 * (1.4 * 0.5 + 0.5**2 * 2.3 / 2.0), rel=0.06)


def test_beam_arch_between_beam_and_rope():
    """Thrust lowers the moment: a stiff tie carries w L^2 / 8 f, a thin one next to nothing (derived)."""
    strips = family_for("vault").strips(designs_for("vault", 6))
    basis = basis_for("vault")
    straight = evaluate(strips, basis)
    w = straight.measures["ultimate_load"]
    stiff = evaluate(strips, replace(basis, arch=BeamArch(rise=1.0, tie_area=10.0)))
    thin = evaluate(strips, replace(basis, arch=BeamArch(rise=1.0, tie_area=1e-7)))
    np.testing.assert_allclose(
        thin.measures["ultimate_moment"], straight.measures["ultimate_moment"], rtol=1e-3
    )
    p = section_properties(strips)
    share = stiff.measures["thrust"] * 1.0 / (w * 24.0**2 / 8)
    np.testing.assert_allclose(
        share, 1 / (1 + 15 / 8 * p.ixx * (1 / p.area + basis.concrete.ecm / 200e9 / 10.0)), rtol=1e-9
    )
    np.testing.assert_allclose(
        stiff.measures["ultimate_moment"] + stiff.measures["thrust"], straight.measures["ultimate_moment"]
    )
    assert "tie" in [limit.key for limit in stiff.limits]
    with pytest.raises(ValueError, match="one simple span"):
        replace(basis_for("vault", support="cantilever"), arch=BeamArch(rise=1.0, tie_area=0.002))


def test_the_tie_of_a_cracked_and_crept_arch():
    """The share at last by quadrature of the same least work: I cracked, E / 3.5 (derived)."""
    basis, strips = basis_for("vault"), family_for("vault").strips(designs_for("vault", 3))[1]
    arch = BeamArch(rise=1.0, tie_area=20e-4)
    m, p = evaluate(strips, replace(basis, arch=arch)).measures, section_properties(strips)
    section = beam_section(strips, p, detailing=basis.detailing)
    late = basis.concrete.ecm / 3.5
    cracked = cracked_inertia(
        strips, steel=m["steel_area"], bars_z=section.bars_z, ratio=200e9 / late, sagging=True
    )
    y = np.linspace(0.0, 24.0, 20001)
    axis, beam = 4 * y * (24.0 - y) / 24.0**2, 0.5 * y * (24.0 - y)
    inertia = float(cracked) * float(section.inertia / p.ixx)
    soft = np.trapezoid(axis**2, y) / inertia + 24.0 / float(p.area) + late / 200e9 * 24.0 / 20e-4
    thrust = float(m["ultimate_load"]) * np.trapezoid(beam * axis, y) / inertia / soft
    assert float(m["tie_force"]) == pytest.approx(thrust, rel=1e-6)
    assert float(m["tie_force"]) > 1.2 * float(m["thrust"])
    straight = evaluate(strips, basis).measures
    left = m["ultimate_moment"] / straight["ultimate_moment"]
    expected = left * straight["compression"] + m["tie_force"] / p.area
    assert float(m["compression"]) == pytest.approx(float(expected))


def test_thrust_of_a_tied_arch_by_numerical_integration():
    """Second implementation: least work with the integrals by quadrature."""
    rise, area, inertia, ratio, tie, span, w = 1.2, 0.9, 0.4, 1 / 6, 0.004, 24.0, 1.0
    y = np.linspace(0.0, span, 20001)
    axis, beam = 4 * rise * y * (span - y) / span**2, 0.5 * w * y * (span - y)
    soft = np.trapezoid(axis**2, y) / inertia + span / area + ratio * span / tie
    thrust = np.trapezoid(beam * axis, y) / inertia / soft
    share = BeamArch(rise, tie).share(inertia=np.array(inertia), area=np.array(area), modular_ratio=ratio)
    assert float(share) * w * span**2 / 8 / rise == pytest.approx(thrust, rel=1e-6)


def test_drift_that_is_not_there_is_refused():
    with pytest.raises(ValueError, match="must be one of"):
        Loads(drift="sideways")
    with pytest.raises(ValueError, match="give `spans`"):
        _ = replace(basis_for("vault"), support=support_of("row", Spans.continuous(1.0, 1.0), 1.0)).line


@pytest.mark.parametrize("kind", ["simple", "cantilever"])
def test_a_camber_lifts_by_no_more_than_a_deflection_may_lower(kind):
    """camber - 5 w L^4 / 384 EI (w L^4 / 8 EI) against L_eq / ratio, graded; EN 1992-1-1, 7.4.1(4)."""
    strips, given = family_for("vault").strips(designs_for("vault", 3)), basis_for("vault", support=kind)
    need = replace(given.requirements, camber=0.02, deflection_ratio=2000.0)
    done = evaluate(strips, replace(given, requirements=need))
    k = [limit.key for limit in done.limits].index("upward")
    up = 0.02 - done.measures["deflection_sustained"]
    np.testing.assert_allclose(done.margins[..., k], up / (given.depth_span / 2000.0) - 1, rtol=1e-12)
    assert "upward" not in [limit.key for limit in evaluate(strips, given).limits]


def test_a_camber_above_a_250th_is_refused():
    given = basis_for("vault")
    with pytest.raises(ValueError, match=r"camber: got 97 mm; at most L_eq / 250 = 96 mm"):
        replace(given, requirements=replace(given.requirements, camber=0.097))
