"""Daylight of two roofs against hand estimates (derived, hand estimate; within 15 per cent).

The roofs are invented: a north-light workshop and a reading hall with crown slots.
"""

import numpy as np
import pytest
from numpy.testing import assert_allclose

from longvault.constraints.daylight_factor import Room, average_daylight_factor, daylight
from longvault.constraints.glazing import Glazing, glass_sky
from longvault.sections import Strips


def arc(start, stop, slope, count=33):
    """Points of the circular arc between two points that leaves the first at a slope [rad]."""
    (x1, z1), (x2, z2) = start, stop
    chord, lean = np.hypot(x2 - x1, z2 - z1), np.arctan2(z2 - z1, x2 - x1)
    half = slope - lean
    radius = 0.5 * chord / np.sin(half)
    angle = np.linspace(np.pi / 2 + slope, np.pi / 2 + slope - 2 * half, count)
    return x1 + radius * (np.sin(slope) + np.cos(angle)), z1 + radius * (np.sin(angle) - np.cos(slope))


def workshop(slope_deg):
    """Arc from the gutter to the top beam; gutter slab, kerb and downstand on the left; bay 6 m."""
    x, z = arc((0.0, 0.0), (4.35, 2.45), np.deg2rad(slope_deg))
    n = len(x)
    x, z = np.r_[x, -0.55, -0.55, 0.0, 4.35], np.r_[z, 0.0, 0.35, -0.55, 2.45 - 0.35]
    ends = [*[[i, i + 1] for i in range(n - 1)], [0, n], [n, n + 1], [0, n + 2], [n - 1, n + 3]]
    thickness = [0.08] * (n - 1) + [0.15, 0.12, 0.20, 0.15]
    return Strips(x, z, ends, thickness, ["wing"] * (n - 1) + ["gutter", "kerb", "edge beam", "edge beam"])


def reading_hall(clear):
    """Valley floor 1.4 m wide, wings at 65 degrees to the slot edge 2.1 m up, kerbs 0.2 x 0.5; bay 7.5 m."""
    x, z = arc((0.7, 0.0), (3.75 - 0.5 * clear - 0.1, 2.1), np.deg2rad(65.0))
    x, z = np.r_[-x[::-1], x], np.r_[z[::-1], z]
    n = len(x)
    ends = [*[[i, i + 1] for i in range(n - 1)], [n, 0], [0, n + 1], [n + 2, n - 1], [n - 1, n + 3]]
    thickness = [0.1] * (n - 1) + [0.2] * 4
    thickness[n // 2 - 1] = 0.18
    x, z = np.r_[x, x[0], x[0], x[-1], x[-1]], np.r_[z, np.tile(z[0] + [0.25, -0.25], 2)]
    return Strips(x, z, ends, thickness, ["wing"] * (n - 1) + ["kerb"] * 4)


@pytest.mark.parametrize("slope_deg", [45.5, 55.0])
def test_workshop_slot(slope_deg):
    # Derived: the glass line from the top (4.35, 2.45) to the kerb (5.45, 0.35) is 2.37 m at 62.3 deg.
    seen = glass_sky(workshop(slope_deg), pitch=6.0)
    assert_allclose(np.hypot(5.45 - 4.35, 2.45 - 0.35), 2.37, atol=0.005)
    assert 0.8 * 2.37 < seen.slot.width < 2.37  # clear of top beam and kerb
    assert_allclose(np.rad2deg(seen.slot.slope), 62.3, atol=2.0)


@pytest.mark.parametrize("reflectance", [0.4, 0.5])
@pytest.mark.parametrize("slope_deg", [45.5, 55.0])
def test_workshop_average_daylight_factor(slope_deg, reflectance):
    # Derived, hand estimate: 6 to 7 % by the average daylight factor formula, 8 bays x 36 m of glass.
    room = Room(reflectance, reflectance, reflectance, bays=8, length=36.0, wall_height=6.0)
    strips = workshop(slope_deg)
    found = daylight(strips, pitch=6.0, level=-5.55, room=room)
    assert 0.85 * 6.0 < 100 * found.average_formula < 1.15 * 7.0
    whole = average_daylight_factor(
        transmittance=Glazing().factor(np.deg2rad(62.3)),
        glass_area=8 * 36 * 2.37,
        sky_angle=glass_sky(strips, pitch=6.0).sky_angle,
        surface_area=48 * 36 + 8 * 36 * (strips.length.sum() + 2.37) + 2 * (48 + 36) * 6.0,
        reflectance=reflectance,
    )
    assert 0.85 * 6.0 < 100 * whole < 1.15 * 7.0
    assert found.uniformity > 0.6


def test_reading_hall():
    # Derived, hand estimate: 4.5 % from the slots at 1.2 m clear; 0.25 of it behind baffles is 1.1 %.
    room = Room(bays=6, length=24.0, wall_height=5.0)
    found = daylight(reading_hall(1.2), pitch=7.5, level=-3.9 - 0.09 + 0.85, room=room)
    assert_allclose(found.clear_opening, 1.2, rtol=1e-9)
    assert_allclose(100 * found.average_formula, 4.5, rtol=0.15)
    in_room = found.sky_component.mean() * found.span_share + found.internally_reflected
    assert_allclose(100 * in_room, 4.5, rtol=0.15)
    assert_allclose(25 * found.average_formula, 1.1, rtol=0.15)


def test_reading_hall_wider_slots_give_more_light_in_proportion():
    formula = [
        float(daylight(reading_hall(c), pitch=7.5, level=-3.1).average_formula) for c in (0.6, 1.2, 1.8)
    ]
    assert_allclose(np.array(formula) / formula[1], [0.5, 1.0, 1.5], rtol=0.05)
