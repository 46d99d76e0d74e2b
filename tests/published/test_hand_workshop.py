"""An invented north-light workshop against its hand results: section, load, stress, steel, carbon.

Derived, hand estimates: 48 x 36 m in bays of 6.0 m and spans of 12.0 m, C30/37. Arc (0, 0) to (4.35, 2.45) of
80 mm; gutter slab 0.55 x 0.15, kerb 0.35 x 0.12, downstand 0.20 x 0.55, top beam 0.15 x 0.35. Finish 0.6
kN/m2 of surface, snow 0.96 kN/m2 on plan in the mean of a drifted bay, glass 0.5 kN/m2. Agreement: 15 %;
section properties 2 % and half of the last digit that the hand prints.
"""

from dataclasses import replace
from itertools import product

import numpy as np
import pytest
from drawn_roofs import arc, north_light

from longvault.constraints.actions import Loads
from longvault.constraints.basis import Basis, Detailing, Requirements
from longvault.constraints.details import evaluate_closely
from longvault.constraints.evaluate import evaluate
from longvault.sections import Strips
from longvault.sections.properties import section_properties

HAND = 0.15
PRINTED = np.array([0.005, *[0.0005] * 3])
"""Half of the last digit of A and of the three moduli [m2, m3]."""

# slope at the gutter [deg], depth of downstand and top beam [m]: R, A, S held, S free top and bottom, stress
# free top and bottom [MPa]
ROWS = {
    (45.5, 0.55, 0.35): (9.0, 0.69, 0.417, 0.075, 0.060, 6.8, 8.5),
    (55.0, 0.55, 0.35): (5.8, 0.70, 0.465, 0.141, 0.089, 3.7, 5.8),
    (65.0, 0.55, 0.35): (4.3, 0.71, 0.489, 0.211, 0.133, 2.5, 3.9),
    (55.0, 0.90, 0.60): (5.8, 0.81, 0.545, 0.221, 0.137, 2.6, 4.1),
}
FLAT, MIDDLE, STEEP, DEEP = ROWS


def drawn(slope, down, top, kerb_x=-0.55, down_x=0.1, top_x=4.35, top_z=2.625):
    """Members where a draughtsman puts them; the hand gives their sizes and the line of the glass only.

    Slab of the gutter below the origin; kerb over its outer edge, up to the foot of the next glass (z 0.35);
    downstand with its outer face where slab and arc meet, its top level with the slab; beam about the end of
    the arc, a deeper one hangs lower.
    """
    x, z = arc(np.radians(slope), 4.35, 2.45)
    n = len(x)
    ends = [[i, i + 1] for i in range(n - 1)] + [[n + i, n + i + 1] for i in (0, 2, 4, 6)]
    return Strips(
        np.r_[x, -0.55, 0.0, kerb_x, kerb_x, down_x, down_x, top_x, top_x],
        np.r_[z, -0.075, -0.075, 0.0, 0.35, 0.0, -down, top_z, top_z - top],
        ends,
        [*[0.08] * (n - 1), 0.15, 0.12, 0.20, 0.15],
        [*["wing"] * (n - 1), "gutter", "kerb", "edge beam", "kerb"],
    )


def moduli(strips):
    """Modulus held, and free on the compressed and on the stretched side [m3]."""
    p = section_properties(strips)
    return np.array([min(p.s_top, p.s_bottom), p.s_free_compression, p.s_free_tension])


def basis(span=12.0, **need):
    loads = Loads(finish=600.0, snow=960.0, maintenance=600.0, glass=500.0)
    return Basis(
        span=span, pitch=6.0, requirements=Requirements(**{"height_max": 3.4} | need), loads=loads,
        detailing=Detailing(fire_floor=0.08),
    )  # fmt: skip


@pytest.mark.parametrize("row", ROWS)
def test_section(row):
    """R, A and moduli as printed; the free moduli lie between those of members put elsewhere."""
    radius, area, *hand = ROWS[row][:5]
    half = np.radians(row[0]) - np.arctan2(2.45, 4.35)
    assert np.hypot(4.35, 2.45) / (2 * np.sin(half)) == pytest.approx(radius, rel=0.01)
    found = np.r_[float(section_properties(drawn(*row)).area), moduli(drawn(*row))]
    given = np.array([area, *hand])
    assert (np.abs(found - given) <= 0.02 * given + PRINTED).all()
    places = product((-0.61, -0.49), (-0.275, -0.1, 0.1), (4.275, 4.425), (2.45, 2.49))
    every = np.array([moduli(drawn(*row, *one)) for one in places])
    assert (every.min(axis=0) < hand)[1:].all()
    assert (every.max(axis=0) > hand)[1:].all()


@pytest.mark.parametrize("row", ROWS)
def test_load_moment_and_stress(row):
    """28 to 32 kN/m, 510 to 580 and 705 to 800 kNm; the deepest members bring a little more."""
    done = evaluate(north_light(*row), basis()).measures
    w, service, ultimate = (
        float(done[key]) / 1e3 for key in ("characteristic_load", "characteristic_moment", "ultimate_moment")
    )
    assert w == pytest.approx(30.0, rel=HAND)
    assert service == pytest.approx(545.0, rel=HAND)
    assert ultimate == pytest.approx(752.0, rel=HAND)
    assert service * 1e3 / moduli(drawn(*row))[1:] / 1e6 == pytest.approx(ROWS[row][-2:], rel=HAND)


def test_curving_the_arc_more_lifts_the_free_modulus():
    """45.5 to 65 degrees: x 2.2 at the bottom, x 2.8 at the top, 3 % more concrete; held by 17 %."""
    flat, middle, steep = (moduli(drawn(*row)) for row in (FLAT, MIDDLE, STEEP))
    assert steep[1:] / flat[1:] == pytest.approx((2.8, 2.2), rel=0.05)
    assert middle[1:] / flat[1:] == pytest.approx((1.9, 1.5), rel=0.07)
    assert steep[0] / flat[0] == pytest.approx(1.17, rel=0.07)
    areas = [float(section_properties(drawn(*row)).area) for row in (FLAT, STEEP)]
    assert areas[1] / areas[0] == pytest.approx(1.03, abs=0.005)
    # S about the horizontal axis flatters 3 to 7 times
    flattery = [float(one[0] / one[1:].min()) for one in (flat, middle, steep)]
    assert flattery == pytest.approx((7.0, 5.2, 3.7), rel=0.05)


def test_what_breaks_the_brief():
    """65 degrees breaks the slope of 55, the deepest members the envelope of 3.4 m (3.55); 48 mm allowed."""
    need = {"slope_max": np.radians(55.0), "height_max": 3.4}
    broken = {}
    for row in ROWS:
        done = evaluate(north_light(*row), basis(**need))
        broken[row] = {limit.key for limit, m in zip(done.limits, done.margins, strict=True) if m > 1e-9}
    assert [("slope" in broken[row]) for row in ROWS] == [False, False, True, False]
    heights = [float(section_properties(drawn(*row)).height) for row in ROWS]
    assert [height > 3.4 for height in heights] == [False, False, False, True]
    assert heights[-1] == pytest.approx(3.55, rel=0.03)
    allowed = next(limit for limit in done.limits if limit.key == "deflection").capacity
    assert allowed == pytest.approx(0.048)


def test_the_flat_one_fails_at_15_m():
    """+13 MPa at the bottom."""
    done = evaluate(north_light(*FLAT), basis(15.0)).measures
    assert float(done["characteristic_moment"]) / moduli(drawn(*FLAT))[2] / 1e6 == pytest.approx(
        13.0, rel=0.06
    )


def test_main_steel():
    """15 to 22 cm2 in the gutter: by the lever arms, the cracked section and the least steel."""
    for row in (MIDDLE, STEEP):
        done = evaluate_closely(north_light(*row), basis()).measures
        assert 0.85 * 15 < float(done["main_steel"]) * 1e4 < 1.15 * 22


def test_all_steel_and_carbon():
    """20 to 28 kg/m2 and 50 to 70 kgCO2e/m2 by hand; summed again here, part by part, in kg/m2 of plan.

    The shell of 80 mm holds one mesh (25 + 25 + 16 + 10 = 76 mm), and with one the sum is 12: two meshes, as
    thick as 92 mm, are what the hand's figure needs. Bars of 25 mm: 12 m are not lapped, 0.893 m of anchorage
    at both ends; mesh of 8 mm at 150: laps of 0.429 m, anchorage 0.286 m.
    """
    strips = north_light(*MIDDLE)
    weights, carbon = [], []
    for layers in (1, 2):
        given = replace(basis(), detailing=Detailing(mesh_layers=layers))
        done = evaluate_closely(strips, given).measures
        weights.append(float(done["steel_weight"]))
        carbon.append(float(done["carbon"]))
        kg = 7850.0 / 6.0
        bars = float(done["main_steel"]) * (0.8 + 2 * 0.8935 / 12.0)
        surface, mesh = 0.55 + 5.162, layers * 3.351e-4
        sheets = 1.0 + 5 * 0.4289 / 12.0  # 2.4 m wide: five laps; the arc is shorter than a sheet
        net = 2 * surface * mesh * sheets + surface * mesh * 2 * 0.2859 / 12.0 + 2 * mesh * 0.2859
        # kerb, top beam, downstand: two legs of 8 mm at 200, hooks of 80 mm; four bars of 10 mm or 0.3 %
        round_ = [(0.35 + 0.12 - 0.05), (0.35 + 0.15 - 0.05), (0.55 + 0.20 - 0.05)]
        links = sum(one * 2 + 0.16 for one in round_) * 0.503e-4 / 0.2
        long = 2 * 3.142e-4 + 0.003 * 0.11
        assert weights[-1] == pytest.approx(1.05 * kg * (bars + net + links + long), rel=0.02)
        assert 0.85 * 50 < carbon[-1] < 1.15 * 70
    single, double = weights
    assert single == pytest.approx(12.0, rel=0.03)
    assert 0.85 * 20 < double < 1.15 * 28
    assert Detailing().thickness_floor == pytest.approx(0.076)
    assert Detailing(mesh_layers=2).thickness_floor == pytest.approx(0.092)
