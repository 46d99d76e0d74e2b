"""Skies, wedges of sky and daylight factors against published and closed-form values."""

import numpy as np
import pytest
from numpy.testing import assert_allclose
from scipy.integrate import dblquad, quad

from longvault.constraints.daylight_factor import average_daylight_factor
from longvault.constraints.daylight_targets import TARGETS, band, target_factor, target_level
from longvault.constraints.sky import (
    finite_share,
    mean_span_share,
    overcast_luminance,
    tilted_plane_light,
    wedge_light,
)


def test_overcast_sky_of_the_cie():
    # CIE S 011 (ISO 15469), overcast sky: horizon a third of the zenith; illuminance 7 pi/9 from memory.
    assert_allclose(overcast_luminance(0.0), 1.0 / 3.0, rtol=1e-15)
    total, _ = quad(lambda g: overcast_luminance(g) * np.sin(g) * np.cos(g) * 2.0 * np.pi, 0.0, np.pi / 2)
    assert_allclose(total, 7.0 * np.pi / 9.0, rtol=1e-12)
    assert_allclose(total, 2.4434610, rtol=1e-7)


def test_vertical_plane_sees_39_6_per_cent():
    # Widely quoted 39.6 % for the CIE overcast sky; closed form 3/14 + 4/(7 pi).
    assert_allclose(tilted_plane_light(np.pi / 2, sky="overcast"), 3 / 14 + 4 / (7 * np.pi), rtol=1e-14)
    assert_allclose(tilted_plane_light(np.pi / 2, sky="overcast"), 0.3961771, atol=5e-8)
    assert_allclose(tilted_plane_light(np.pi / 2, sky="uniform"), 0.5, rtol=1e-14)


def test_tilted_planes():
    # Derived: numerical integration over the sky, printed to seven digits.
    tilt = np.deg2rad([0.0, 30.0, 45.0, 60.0, 90.0])
    overcast = [1.0, 0.9032013, 0.7974710, 0.6694273, 0.3961771]
    assert_allclose(tilted_plane_light(tilt, sky="overcast"), overcast, atol=1e-7)
    assert_allclose(tilted_plane_light(tilt, sky="uniform"), (1 + np.cos(tilt)) / 2, rtol=1e-14)
    assert_allclose(tilted_plane_light(tilt, sky="uniform"), [1, 0.9330127, 0.8535534, 0.75, 0.5], atol=1e-7)


@pytest.mark.parametrize(
    ("left", "right", "height", "uniform", "overcast"),
    [
        (-0.5, 0.5, 4.0, 0.1240347, 0.1431692),
        (-1.0, 1.0, 4.0, 0.2425356, 0.2786588),
        (1.0, 3.0, 4.0, 0.1787322, 0.1935972),
    ],
)
def test_endless_slots(left, right, height, uniform, overcast):
    # Derived: closed form of a strip of sky, agreed with two-dimensional quadrature to 1e-10.
    start, stop = np.arctan2([left, right], height)
    assert_allclose(wedge_light(start, stop, sky="uniform"), uniform, atol=5e-8)
    assert_allclose(wedge_light(start, stop, sky="overcast"), overcast, atol=5e-8)


def test_north_light_wedge_and_the_whole_sky():
    # Derived, as above.
    edge, level = np.deg2rad([30.0, 90.0])
    assert_allclose(wedge_light(edge, level, sky="uniform"), 0.25, rtol=1e-14)
    assert_allclose(wedge_light(edge, level, sky="overcast"), 0.2188578, atol=5e-8)
    for sky in ("uniform", "overcast"):
        assert_allclose(wedge_light(-level, level, sky=sky), 1.0, rtol=1e-14)


@pytest.mark.parametrize("tilt_deg", [0.0, 35.0, -60.0])
def test_wedges_against_quadrature_over_the_sky(tilt_deg):
    # Second implementation: the integral over both angles, for a wedge from -20 to 25 degrees.
    tilt, start, stop = np.deg2rad([tilt_deg, -20.0, 25.0])

    def overcast(f, t):
        return (1 + 2 * np.cos(f) * np.cos(t)) / 3 * np.cos(f) ** 2 * np.cos(t - tilt)

    expected, _ = dblquad(overcast, start, stop, -np.pi / 2, np.pi / 2, epsabs=1e-12)
    assert_allclose(
        wedge_light(start, stop, sky="overcast", tilt=tilt), expected / (7 * np.pi / 9), rtol=1e-10
    )


def test_finite_share_against_quadrature():
    for before, after, cos_t in ((0.3, 1.2, 0.9), (1.0, 1.0, 0.4)):
        weight = {"uniform": lambda f: 1.0, "overcast": lambda f, c=cos_t: 1 + 2 * np.cos(f) * c}
        for sky, luminance in weight.items():
            part, _ = quad(lambda f, v=luminance: v(f) * np.cos(f) ** 2, -before, after)
            whole, _ = quad(lambda f, v=luminance: v(f) * np.cos(f) ** 2, -np.pi / 2, np.pi / 2)
            assert_allclose(finite_share(before, after, sky=sky, cos_t=cos_t), part / whole, rtol=1e-10)


def test_average_daylight_factor():
    # Formula of BRE Digest 310, CIBSE LG10 and Tregenza & Sharples, Daylighting Algorithms, 2.12.
    values = {"transmittance": 0.68, "glass_area": 12.0, "surface_area": 500.0, "reflectance": 0.5}
    found = average_daylight_factor(**values, sky_angle=np.pi / 2, maintenance=0.7)
    assert_allclose(100 * found, 0.68 * 12 * 90 * 0.7 / (500 * (1 - 0.25)), rtol=1e-14)
    assert_allclose(100 * found, 1.37088, atol=1e-6)


def test_bands_of_the_average():
    # BS 8206-2 and CIBSE, from memory: below 2 % gloomy, 2 to 5 % well daylit, above 5 % strongly daylit.
    assert [band(v).split(":")[0] for v in (0.019, 0.021, 0.049, 0.051)] == [
        "gloomy",
        "well daylit",
        "well daylit",
        "strongly daylit",
    ]


def test_levels_of_en_17037():
    # EN 17037:2018, Tables A.1 and A.2 (medium level looked up, others from memory); London 14 100 lx.
    assert_allclose(
        100 * target_factor([300, 500, 750], median_diffuse=14100), [2.1277, 3.5461, 5.3191], atol=1e-4
    )
    wanted = {t.name: t.wanted(roof=False) for t in TARGETS}
    assert wanted == {
        "minimum": ((300, 0.5), (100, 0.95)),
        "medium": ((500, 0.5), (300, 0.95)),
        "high": ((750, 0.5), (500, 0.95)),
    }
    assert [t.wanted(roof=True) for t in TARGETS] == [((300, 0.95),), ((500, 0.95),), ((750, 0.95),)]


def test_level_needs_its_share_of_the_plane():
    curve = np.full(100, 0.03)
    curve[:5] = 0.02
    assert target_level(curve) == 1
    curve[:6] = 0.02
    assert target_level(curve) == 0
    assert target_level(curve, roof=False) == 1
    assert target_level(np.array([np.full(9, 0.06), np.full(9, 0.001)])).tolist() == [3, 0]


def test_mean_over_the_span_against_quadrature():
    for sky in ("uniform", "overcast"):
        for distance, length, cos_t in ((5.0, 24.0, 1.0), (3.0, 4.0, 0.5)):

            def share(y, d=distance, half=length / 2, c=cos_t, sky=sky):
                return finite_share(np.arctan((half - y) / d), np.arctan((half + y) / d), sky=sky, cos_t=c)

            expected = quad(share, -length / 2, length / 2)[0] / length
            assert_allclose(mean_span_share(distance, length, sky=sky, cos_t=cos_t), expected, rtol=1e-10)
