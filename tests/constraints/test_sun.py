"""The sun: position against published and closed-form values, hours on glass and floor."""

import numpy as np
import pytest
from daylight_sections import kerbed_deck, random_roof
from numpy.testing import assert_allclose

from longvault.constraints.daylight import bay_points
from longvault.constraints.direct_sun import direct_sun, north_light_advice, sun_path
from longvault.constraints.sun import (
    HOUR,
    day_length,
    declination,
    declination_cooper,
    noon_altitude,
    noon_cut_off_slope,
    noon_sun_days,
    solar_longitude,
    sun_position,
)
from longvault.constraints.visibility import sunlit_share, visible_wedges
from longvault.sections import Strips

DEG = np.pi / 180.0


def north_light(slope_deg, *, pitch=6.0, foot=(5.4, 0.3), length=2.4):
    """A module whose glass rises from the next kerb to its own tip at a slope and faces +x."""
    top = np.array(foot) + length * np.array([-np.cos(slope_deg * DEG), np.sin(slope_deg * DEG)])
    x = [foot[0] - pitch, foot[0] - pitch, top[0]]
    return Strips.chain(x, [foot[1], 0.0, top[1]], 1e-3, ["kerb", "wing"])


def test_declination_of_cooper():
    # P. I. Cooper, Solar Energy 12 (1969) 333, from memory: 0 on day 81, 23.45 on day 172, -23.45 on day 355.
    assert_allclose(declination_cooper([81, 172, 355]) / DEG, [0.0, 23.45, -23.45], atol=1e-3)


def test_almanac_position_of_a_printed_example():
    # Worked example after the Astronomical Almanac 1996, C24: 7 August 1997, 11:00, longitude 134.97925 deg.
    longitude, obliquity = solar_longitude(-877.04167)
    assert_allclose(longitude / DEG % 360, 134.97925, atol=0.003)
    assert_allclose(obliquity / DEG, 23.43935, atol=1e-3)


def test_two_formulas_for_the_declination_agree():
    day = np.arange(1, 366)
    assert np.abs(declination(day) - declination_cooper(day)).max() < 1.7 * DEG
    # Solstices and equinoxes of 2025: 20 March, 21 June, 22 September, 21 December (almanac, from memory).
    assert_allclose(declination([79, 172, 265, 355]) / DEG, [0.0, 23.44, 0.0, -23.44], atol=0.25)


@pytest.mark.parametrize("sign", [1.0, -1.0])
def test_noon_altitude(sign):
    # Derived: 90 - latitude + declination; 51.5 deg: 38.5, 61.94, 15.06; pole 0; equator 90.
    latitude = sign * np.array([51.5, 51.5, 51.5, 90.0, 0.0]) * DEG
    delta = sign * np.array([0.0, 23.44, -23.44, 0.0, 0.0]) * DEG
    expected = [38.5, 61.94, 15.06, 0.0, 90.0]
    assert_allclose(noon_altitude(latitude, delta) / DEG, expected, atol=1e-9)
    assert_allclose(sun_position(latitude, delta, 0.0)[0] / DEG, expected, atol=1e-6)


def test_day_length():
    # Derived: (2/15) acos(-tan latitude tan declination) at the solstices.
    latitude = np.array([35.0, 51.5, 0.0])[:, None] * DEG
    hours = day_length(latitude, np.array([23.44, -23.44]) * DEG)
    assert_allclose(hours, [[14.356, 9.644], [16.404, 7.596], [12.0, 12.0]], atol=1e-3)
    assert_allclose(day_length(-latitude, np.array([-23.44, 23.44]) * DEG), hours, rtol=1e-12)
    assert_allclose(day_length(80 * DEG, np.array([23.0, -23.0]) * DEG), [24.0, 0.0])


def test_nine_o_clock_at_forty_degrees():
    # Derived, astronomical triangle: altitude 32.7978, azimuth 57.2676 east of south.
    altitude, azimuth = sun_position(40 * DEG, 0.0, -3 * HOUR)
    assert_allclose([altitude / DEG, 180 - azimuth / DEG], [32.7978, 57.2676], atol=1e-3)
    altitude, azimuth = sun_position(-40 * DEG, 0.0, -3 * HOUR)
    assert_allclose([altitude / DEG, azimuth / DEG], [32.7978, 57.2676], atol=1e-3)


def test_afternoon_mirrors_the_morning():
    morning, evening = sun_position(30 * DEG, 0.2, -4 * HOUR), sun_position(30 * DEG, 0.2, 4 * HOUR)
    assert_allclose(evening[0], morning[0], rtol=1e-12)
    assert_allclose(evening[1], 2 * np.pi - morning[1], rtol=1e-12)


def test_noon_cut_off():
    # Derived: 113.45 deg less the latitude: 61.45 at 52, 68.45 at 45, 78.45 at 35; none inside the tropics.
    latitude = np.array([52.0, 45.0, 35.0, -52.0]) * DEG
    assert_allclose(noon_cut_off_slope(latitude) / DEG, [61.45, 68.45, 78.45, 61.45], rtol=1e-12)
    assert np.isnan(noon_cut_off_slope([20 * DEG, -10 * DEG, 0.0])).all()


def test_noon_sun_on_north_glass():
    # Derived: at 52 deg north 62.3 deg keeps the noon sun out; 55 deg lets it in once it stands higher.
    assert len(noon_sun_days(52 * DEG, 62.3 * DEG)) == 0
    days = noon_sun_days(52 * DEG, 55 * DEG)
    first = int(days[0])
    assert (
        noon_altitude(52 * DEG, declination(first))
        > 55 * DEG
        > noon_altitude(52 * DEG, declination(first - 1))
    )
    assert len(noon_sun_days(-52 * DEG, 62.3 * DEG)) == 0
    assert noon_sun_days(-52 * DEG, 55 * DEG)[0] < 60  # the southern summer
    assert len(noon_sun_days(10 * DEG, 89 * DEG)) > 60


def test_advice_in_both_hemispheres():
    assert north_light_advice(52 * DEG, 62.3 * DEG).towards == "north"
    assert north_light_advice(-34 * DEG, 80 * DEG).towards == "south"
    assert not north_light_advice(-34 * DEG, 80 * DEG).noon_sun_days
    assert "tropics" in north_light_advice(5 * DEG, 85 * DEG).words
    assert "61.45" in north_light_advice(52 * DEG, 55 * DEG).words


def test_sun_is_up_half_of_the_year():
    for latitude in (0.0, 40 * DEG, -60 * DEG):
        path = sun_path(latitude)
        hours = day_length(latitude, declination(np.arange(1, 366))).sum()
        assert_allclose(len(path.month) * path.step, hours, rtol=1e-3)
        assert_allclose(hours, 4380.0, rtol=0.02)


def test_glass_hours_follow_slope_and_hemisphere():
    at_north = {"pitch": 6.0, "latitude": 52 * DEG, "x_azimuth": 0.0}
    steep, flat = (direct_sun(north_light(s), **at_north) for s in (62.3, 40.0))
    assert_allclose(steep.faces, 0.0, atol=1e-9)
    assert steep.glass[11] == 0.0
    assert steep.glass[5] > 60.0  # mornings and evenings north of the east-west line
    assert np.all(flat.glass >= steep.glass - 1e-9)
    assert flat.glass.sum() > 1.5 * steep.glass.sum()
    south = direct_sun(north_light(62.3), pitch=6.0, latitude=-52 * DEG, x_azimuth=np.pi)
    assert_allclose(south.glass.sum(), steep.glass.sum(), rtol=0.06)
    assert south.glass[11] > south.glass[5] == 0.0
    equator_side = direct_sun(north_light(62.3), **(at_north | {"x_azimuth": np.pi}))
    assert equator_side.glass.sum() > 2.0 * steep.glass.sum()


def test_thin_flat_slots_let_the_sun_in_all_day():
    # Derived: a ceiling without thickness lights 1 m in 6 m whatever the sun's place and the orientation.
    deck = Strips.chain([0.5, 5.5], [4.0, 4.0], 1e-9, "ceiling")
    for azimuth in (0.0, 1.1):
        sun = direct_sun(deck, pitch=6.0, latitude=45 * DEG, x_azimuth=azimuth)
        assert_allclose(sun.glass, sun.above_horizon, rtol=1e-12)
        assert_allclose(sun.floor, sun.above_horizon / 6, rtol=1e-6)


def test_floor_is_lit_while_the_sun_stands_in_the_slot():
    # Derived: at the equator in March the sun swings within 8 deg of the plane of an east-west span, so
    # 1 m in 6 m of the floor is lit, as from overhead.
    piece = Strips.chain([0.5, 5.5], [4.0, 4.0], 1e-6, "ceiling")
    sun = direct_sun(piece, pitch=6.0, latitude=0.0, x_azimuth=0.0)
    assert_allclose(sun.floor[2] / sun.above_horizon[2], 1 / 6, rtol=0.05)


@pytest.mark.parametrize("seed", range(4))
def test_sunlit_share_is_the_share_of_points_that_see_the_sun(seed):
    # Second way: count the points of a bay whose wedges of sky hold the sun's angle.
    strips, pitch = random_roof(seed)
    wedges = visible_wedges(strips, bay_points(0.0, pitch, 2000), -3.0, pitch=pitch)
    angles = np.deg2rad([-70.0, -45.0, -20.0, 0.0, 10.0, 35.0, 60.0, 80.0])
    counted = [np.mean(np.any((wedges.start < t) & (t < wedges.stop), axis=1)) for t in angles]
    found = sunlit_share(strips, angles, pitch=pitch)
    assert_allclose(found, counted, atol=1.5e-3)
    assert found.max() > 0.05


def test_sunlit_share_of_separate_pieces():
    # Derived: two plates of 1 m in a bay of 6 m, at two heights: 4 m lit from overhead; a low sun can hide
    # one plate behind the other, tan t = 2/1, and then lights 5 m.
    plates = Strips([0, 1, 2, 3], [4, 4, 5, 5], [[0, 1], [2, 3]], [1e-9, 1e-9], ["wing", "wing"])
    found = sunlit_share(plates, [0.0, np.arctan(2.0), np.arctan(0.5)], pitch=6.0)
    assert_allclose(found, [4 / 6, 5 / 6, 4 / 6], atol=1e-6)


def test_kerbs_shade_the_slot():
    sun = {k: direct_sun(kerbed_deck(kerb=k), pitch=6.0, latitude=0.8, x_azimuth=0.0) for k in (0.1, 0.6)}
    assert np.all(sun[0.6].floor < sun[0.1].floor)
    assert np.all(sun[0.6].glass <= sun[0.6].above_horizon)


def test_bad_latitude_is_named():
    with pytest.raises(ValueError, match=r"latitude: got 95 deg; must be from -90 to 90"):
        sun_path(95 * DEG)
