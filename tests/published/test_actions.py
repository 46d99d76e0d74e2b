"""Snow, wind, own weight and combinations against their standards and against hand sums."""

import numpy as np
import pytest

from longvault.constraints.actions import STANDARDS, Loads, Wind
from longvault.constraints.combinations import (
    CHARACTERISTIC,
    EQUILIBRIUM,
    FREQUENT,
    SUSTAINED,
    ULTIMATE,
    VariableCase,
    combined,
)
from longvault.constraints.load_cases import case_loads, plan_loads, variable_cases, wind_load
from longvault.constraints.plan_load import PlanLoad, roof_line
from longvault.constraints.snow import cylinder_coefficient, snow_width, valley_coefficient
from longvault.sections import Strips


def arc(radius=7.5, half=36.87, thickness=0.08, count=201):
    angle = np.radians(np.linspace(90 + half, 90 - half, count))
    return Strips.chain(radius * np.cos(angle), radius * np.sin(angle), thickness, "crown")


def gull_wing():
    x = [-3.6, -3.6, -2.0, -0.7, 0.7, 2.0, 3.6, 3.6]
    z = [2.6, 2.1, 1.5, 0.0, 0.0, 1.5, 2.1, 2.6]
    return Strips.chain(x, z, 0.1, ["kerb", "wing", "wing", "keel", "wing", "wing", "kerb"])


def north_light():
    return Strips.chain(
        [-0.55, -0.55, 0.0, 2.0, 4.35], [0.35, 0.0, 0.0, 1.6, 2.45], 0.1, ["kerb", "gutter", "wing", "wing"]
    )


def test_cylindrical_roof_20_m_wide():
    """EN 1991-1-3, 5.3.5, figure 5.5 and the width between tangents at 60 degrees; b = 20 m."""
    assert cylinder_coefficient(rise=[2, 3.6, 5, 10], width=20) == pytest.approx(
        [1.2, 2.0, 2.0, 2.0], abs=1e-9
    )
    assert snow_width(rise=[2, 5, 10], width=20) == pytest.approx([20, 20, 17.3205], abs=1e-4)


def test_the_width_is_where_a_circle_is_60_degrees_steep():
    """Derived: a semicircle of radius 10 is 60 degrees steep at x = 10 sin 60."""
    assert snow_width(rise=10.0, width=20.0) == pytest.approx(20 * np.sin(np.radians(60)))


def test_valleys_of_a_row():
    """EN 1991-1-3, table 5.2 (from memory): 0.8 + 0.8 alpha / 30, then 1.6."""
    assert valley_coefficient(np.radians([0, 22.5, 30, 60])) == pytest.approx([0.8, 1.4, 1.6, 1.6])


def test_drift_on_a_vault():
    """Two triangles on b / 2 each, mu_3 s and mu_3 s / 2 high: total 3/8 mu_3 s b, moment mu_3 s b^2 / 32."""
    roof = arc()
    loads = Loads(snow=640.0, drift="cylindrical", ground_snow=800.0)
    found = case_loads(loads, roof, pitch=9.0, place=True)
    names = [case.name for case in found.cases]
    peak = 800.0 * (0.2 + 10 * (7.5 - 7.5 * np.cos(np.radians(36.87))) / 9.0)
    right, left = names.index("drift to the right"), names.index("drift to the left")
    assert found.down[right] == pytest.approx(0.375 * peak * 9.0)
    assert found.down[left] == pytest.approx(found.down[right])
    assert found.about[right] == pytest.approx(peak * 81.0 / 32)
    assert found.about[left] == pytest.approx(-found.about[right])
    assert found.about[names.index("uniform")] == pytest.approx(0.0, abs=1e-9)


@pytest.mark.parametrize(
    ("roof", "valley", "pitch", "peak"),
    [(gull_wing(), 0.0, 7.5, 1218.0), (arc(), -4.5, 9.0, 1033.0), (north_light(), -0.55, 6.0, 1240.0)],
    ids=["gull-wing", "vault", "north-light"],
)
def test_drift_in_the_valleys(roof, valley, pitch, peak):
    """From 0.8 at the ridge to mu_2 in the valley: the mean lies half-way, wherever the valley stands.

    By hand: chords of 2.1 over 3.6 (30.3 degrees), 1.5 over 4.5 (18.4 degrees: mu_2 = 1.29), above 30; a
    level floor holds what gathers over its width in the mean: 1 - 0.7 / 3.6 / 2 of it, 1 for the vault, 0.94.
    """
    line = roof_line(roof)
    load = plan_loads(Loads(drift="valley", ground_snow=800.0), line, pitch=pitch)["drift in the valleys"]
    mean = float(load.total) / pitch / 800.0
    assert 0.8 < mean <= 1.2 + 1e-9
    assert load.q.max() == pytest.approx(peak, abs=8.0)
    assert np.interp(valley, load.x, load.q) >= load.q.max() - 0.04 * 640.0
    assert load.q.min() == pytest.approx(640.0, abs=0.03 * 640.0)
    if pitch == 6.0:  # slopes of roof and glass average above 30 degrees: 1.6 in the valley, 1.2 in the mean
        assert mean * 0.8 == pytest.approx(0.96)


def bent(droop):
    """North light whose edge at the glass hangs ``droop`` below its crown."""
    x = np.r_[-0.55, 0.0, np.linspace(0.0, 4.35, 88)[1:]]
    u = np.clip((x - 0.0) / 4.0, 0.0, None)
    z = np.where(x <= 4.0, 2.45 * u * (2.0 - u), 2.45 - droop * (x - 4.0) / 0.35)
    return Strips.chain(x, np.where(x <= 0.0, 0.0, z), 0.08, ["gutter"] + ["wing"] * 87)


def test_valley_drift_follows_the_shape_without_a_jump():
    """The crown of a north light moves inside its edge: slopes of roof and glass still meet in the gutter.

    By hand (EN 1991-1-3, 5.3.4): chords of 2.45 over 4.55 and over 6.0 - 4.55 average above 30 degrees, so
    1.6 in the gutter, 0.8 at the crown, and above 0.8 at the edge that hangs lower.
    """
    droops = np.array([0.0, 0.0005, 0.0011, 0.002, 0.05, 0.051])
    drifts = [
        plan_loads(Loads(drift="valley", ground_snow=800.0), roof_line(bent(d)), pitch=6.0) for d in droops
    ]
    load = np.array([float(d["drift in the valleys"].total) for d in drifts]) / 6.0
    assert np.abs(np.diff(load)[[0, 1, 2, 4]]).max() < 0.005 * load[0]
    assert load == pytest.approx(960.0, rel=0.02)
    place = np.array([float(d["drift in the valleys"].about) for d in drifts]) / load
    assert np.abs(np.diff(place)[[0, 1, 2, 4]]).max() < 0.05


@pytest.mark.parametrize("roof", [gull_wing(), arc(), north_light(), bent(0.05)])
def test_valley_drift_of_a_mirrored_roof_is_the_mirrored_drift(roof):
    other = Strips(-roof.x, roof.z, roof.ends, roof.thickness, roof.parts)
    a, b = (
        plan_loads(Loads(drift="valley", ground_snow=800.0), roof_line(r), pitch=9.0)["drift in the valleys"]
        for r in (roof, other)
    )
    assert float(a.total) == pytest.approx(float(b.total), rel=1e-9)
    assert float(a.about) == pytest.approx(-float(b.about), rel=1e-9, abs=1e-6)


def test_loads_on_plan_add_up_on_the_strips():
    """Sum over the strips = load per plan area x width, whatever its shape; and its place across."""
    roof = arc()
    x = np.linspace(-4.4, 4.4, 9)
    q = np.random.default_rng(1).random(9)
    load = PlanLoad(x, q)
    dx = np.diff(roof.x)
    assert (load.on(roof) * dx).sum() == pytest.approx(float(load.total), rel=1e-9)
    fine = np.linspace(-4.4, 4.4, 400001)
    values = np.interp(fine, x, q)
    assert float(load.total) == pytest.approx(np.trapezoid(values, fine), rel=1e-9)
    assert float(load.about) == pytest.approx(np.trapezoid(values * fine, fine), rel=1e-8)


def test_hand_sum_of_a_market_hall_module():
    """Own weight and finish by the length of the curve, snow by the bay: to 0.1 %."""
    from longvault.constraints.actions import line_loads
    from longvault.sections.properties import section_properties

    roof = arc()
    p = section_properties(roof)
    length = 2 * 7.5 * np.radians(36.87)
    found = line_loads(
        Loads(finish=600.0, snow=640.0), area=p.area, surface=p.developed_length,
        opening=np.array(0.0), pitch=9.0, weight=25e3,
    )  # fmt: skip
    assert float(found.permanent) == pytest.approx(length * (0.08 * 25e3 + 600.0), rel=1e-3)
    assert found.snow == pytest.approx(9.0 * 640.0, rel=1e-3)


def test_wind_on_an_arc_is_pressure_times_chord():
    """Derived: a uniform pressure square to an arc has the resultant p x chord, and none sideways."""
    roof = arc()
    chord = roof.x[-1] - roof.x[0]
    load = wind_load(Wind("suction", ((0.0, 1.0, -500.0),)), roof_line(roof), pitch=chord + 0.5)
    assert float((load.on(roof) * np.diff(roof.x)).sum()) == pytest.approx(-500.0 * chord, rel=1e-9)
    assert float(load.total) == pytest.approx(-500.0 * (chord + 0.5))  # the glass beside it too
    assert float(load.push(roof)) == pytest.approx(0.0, abs=1e-9)


def test_wind_square_to_a_slope_pushes_sideways():
    slope = Strips.chain([0.0, 3.0], [0.0, 4.0], [0.1], "wing")
    load = wind_load(Wind("pressure", ((0.0, 1.0, 1000.0),)), roof_line(slope), pitch=3.0)
    assert float(load.push(slope)) == pytest.approx(4000.0)
    assert float(load.total) == pytest.approx(3000.0)


def test_wind_of_zones():
    load = wind_load(
        Wind("one side", ((0.0, 0.5, -1300.0), (0.5, 1.0, 500.0))), roof_line(gull_wing()), pitch=7.2
    )
    assert float(load.total) == pytest.approx(3.6 * (500.0 - 1300.0))
    assert float(load.about) == pytest.approx(1.8 * 3.6 * (500.0 + 1300.0))
    with pytest.raises(ValueError, match="within 0 to 1"):
        Wind("wrong", ((0.5, 1.5, 1.0),))


def test_market_hall_has_six_cases():
    wind = (Wind("pressure", ((0.0, 1.0, 250.0),)), Wind("suction", ((0.0, 1.0, -960.0),)))
    cases = variable_cases(Loads(snow=640.0, drift="cylindrical", ground_snow=800.0, wind=wind, water=0.1))
    assert len(cases) >= 6
    assert {case.kind for case in cases} == {"snow", "maintenance", "wind", "water"}


def values(standard, state, **loads):
    """Combine plain numbers, dead load 2.5; each key is a kind of action."""
    cases = tuple(VariableCase(kind, kind) for kind in loads)
    c = combined(STANDARDS[standard].every, cases, state)
    return dict(zip(c.names, c.permanent * 2.5 + c.variable @ np.array(list(loads.values())), strict=True))


def test_combinations_of_en_1990():
    """EN 1990:2002 A1 (from memory): G = 2.5, S = 1.2 by hand; uplift G + 1.5 x (-0.5)."""
    ultimate = values("EN 1990:2002", ULTIMATE, snow=1.2, wind=-0.5)
    assert ultimate["1.35 G + 1.5 snow"] == pytest.approx(5.175)
    assert ultimate["G + 1.5 wind"] == pytest.approx(1.75)
    assert max(values("EN 1990:2002", CHARACTERISTIC, snow=1.2).values()) == pytest.approx(3.7)
    assert max(values("EN 1990:2002", FREQUENT, snow=1.2).values()) == pytest.approx(2.74)
    assert max(values("EN 1990:2002", SUSTAINED, snow=1.2).values()) == pytest.approx(2.5)


def test_combinations_of_asce_7():
    """ASCE 7-16, 2.3.1 (from memory): D = 2.5, S = 1.2, W = 0.8 by hand."""
    found = values("ASCE 7-16", ULTIMATE, snow=1.2, maintenance=1.0, wind=0.8)
    expected = {
        "1.4 D": 3.5, "1.2 D + 0.5 S": 3.6, "1.2 D + 1.6 S + 0.5 W": 5.32, "1.2 D + 1.0 W + 0.5 S": 4.4,
        "1.2 D + 1.6 Lr": 4.6,
    }  # fmt: skip
    for name, value in expected.items():
        assert found[name] == pytest.approx(value)
    assert values("ASCE 7-16", ULTIMATE, wind=-0.8)["0.9 D + 1.0 W"] == pytest.approx(1.45)


def test_equilibrium_has_a_helping_and_a_driving_factor():
    c = combined(STANDARDS["EN 1990:2002"].every, variable_cases(Loads(snow=1.0)), EQUILIBRIUM)
    assert set(c.permanent) == {1.1}
    assert set(c.relieving) == {0.9}


@pytest.mark.parametrize("key", STANDARDS)
def test_the_short_list_is_part_of_the_full_one(key):
    """What governs a single span under snow and maintenance stands in the full list with equal factors."""
    every = {(c.state, c.permanent, c.snow, c.maintenance) for c in STANDARDS[key].every if not c.wind}
    assert {(c.state, c.permanent, c.snow, c.maintenance) for c in STANDARDS[key].combinations} <= every


def test_batch_law_of_the_cases():
    wind = (Wind("one side", ((0.0, 0.5, -1300.0), (0.5, 1.0, 500.0))),)
    rng = np.random.default_rng(2)
    roofs = [gull_wing(), arc(count=8)]
    for one, drift in zip(roofs, ("valley", "cylindrical"), strict=True):
        z = one.z + 0.1 * rng.random((5, one.z.size))
        z[3, 2] = np.nan
        batch = Strips(np.tile(one.x, (5, 1)), z, one.ends, np.tile(one.thickness, (5, 1)), one.parts)
        loads = Loads(snow=640.0, drift=drift, ground_snow=800.0, wind=wind, water=0.2)
        whole = case_loads(loads, batch, pitch=9.0, place=True)
        for i in (0, 2, 4):
            alone = case_loads(loads, batch[i], pitch=9.0, place=True)
            assert whole.down[i].tobytes() == alone.down.tobytes()
            assert whole.about[i].tobytes() == alone.about.tobytes()
            assert whole.right[i].tobytes() == alone.right.tobytes()
        assert np.isfinite(whole.down[[0, 1, 2, 4]]).all()
