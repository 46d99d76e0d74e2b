"""Sky component, glass, daylight factor: closed forms, laws, bad input."""

import numpy as np
import pytest
from daylight_sections import bare_slot, kerbed_deck, north_light, random_roof
from numpy.testing import assert_allclose, assert_array_equal

from longvault.constraints.daylight import bay_points, sky_component
from longvault.constraints.daylight_factor import Room, daylight
from longvault.constraints.finite_span import finite_span_light
from longvault.constraints.glazing import BARE, Glazing, glass_sky
from longvault.constraints.sky import tilted_plane_light, wedge_light
from longvault.constraints.visibility import visible_wedges
from longvault.sections import Strips


@pytest.mark.parametrize(
    ("left", "right", "uniform", "overcast"),
    [(-0.5, 0.5, 0.1240347, 0.1431692), (-1, 1, 0.2425356, 0.2786588), (1, 3, 0.1787322, 0.1935972)],
)
def test_bare_slots(left, right, uniform, overcast):
    # Derived: strip of sky in closed form, checked by two-dimensional quadrature.
    found = sky_component(bare_slot(left, right, 4.0), [0.0], 0.0)
    assert_allclose([found.uniform[0], found.overcast[0]], [uniform, overcast], atol=1e-7)


def test_one_piece_a_module_is_a_row_of_slots():
    # Closed form: the slots of an endless row, summed far out.
    piece = Strips.chain([0.5, 5.5], [4.0, 4.0], 1e-9, "ceiling")
    x = np.array([-1.0, 0.0, 2.0])
    slots = 6.0 * np.arange(-3000, 3001)
    edges = [np.arctan2(slots + side - x[:, None], 4.0) for side in (-0.5, 0.5)]
    for sky in ("overcast", "uniform"):
        expected = wedge_light(*edges, sky=sky).sum(axis=1)
        assert_allclose(getattr(sky_component(piece, x, 0.0, pitch=6.0), sky), expected, atol=2e-6)
        near = wedge_light(*(e[:, 2998:3003] for e in edges), sky=sky).sum(axis=1)
        found = sky_component(piece, x, 0.0, pitch=6.0, neighbours=3)
        outer = wedge_light(*(e[:, [2997, 3003]] for e in edges), sky=sky).sum(axis=1)
        assert np.all(found.overcast > 0)
        assert np.all(getattr(found, sky) >= near - 1e-12)
        assert np.all(getattr(found, sky) <= near + outer + 1e-12)


def test_thickness_and_kerbs_take_light():
    thin, thick = (bare_slot(-0.5, 0.5, 4.0, thickness=t) for t in (1e-9, 0.3))
    x = np.array([0.0, 1.0, 3.0])
    assert np.all(sky_component(thick, x, 0.0).uniform < sky_component(thin, x, 0.0).uniform)
    low, high = (sky_component(kerbed_deck(kerb=k), x, -4.0, pitch=6.0).overcast for k in (0.2, 0.8))
    assert np.all(high < low)


@pytest.mark.parametrize("seed", range(4))
def test_compiled_rows_equal_strip_by_strip_visibility(seed):
    strips, pitch = random_roof(seed)
    x = bay_points(0.3, pitch, 23)
    found = sky_component(strips, x, -3.0, pitch=pitch)
    wedges = visible_wedges(strips, x, -3.0, pitch=pitch)
    for sky in ("overcast", "uniform"):
        expected = np.nansum(wedge_light(wedges.start, wedges.stop, sky=sky), axis=1)
        assert_allclose(getattr(found, sky), expected, rtol=1e-12, atol=1e-14)


def test_separate_pieces_in_a_row():
    # A baffle under each slot, as a piece of its own; compiled rows against strip by strip.
    deck = kerbed_deck()
    x, z = np.append(deck.x, [2.6, 3.4]), np.append(deck.z, [-0.3, -0.4])
    strips = Strips(
        x, z, np.vstack([deck.ends, [4, 5]]), np.append(deck.thickness, 0.02), (*deck.parts, "baffle")
    )
    points = bay_points(-3.0, 6.0, 31)
    found, open_slot = (sky_component(s, points, -3.0, pitch=6.0).overcast for s in (strips, deck))
    wedges = visible_wedges(strips, points, -3.0, pitch=6.0, neighbours=60)
    expected = np.nansum(wedge_light(wedges.start, wedges.stop, sky="overcast"), axis=1)
    assert_allclose(found, expected, rtol=1e-5)
    assert np.all(found <= open_slot + 1e-15)
    assert found.mean() < 0.9 * open_slot.mean()


def test_a_piece_through_the_working_plane_hides_what_is_behind_it():
    deck = kerbed_deck()
    x, z = np.append(deck.x, [-1.0, -1.0]), np.append(deck.z, [0.0, -4.0])
    walled = Strips(
        x, z, np.vstack([deck.ends, [4, 5]]), np.append(deck.thickness, 0.1), (*deck.parts, "wall")
    )
    points = np.array([-3.0, 0.5, -1.0])
    found = sky_component(walled, points, -3.0, pitch=6.0).overcast
    assert np.isnan(found[2])  # inside the wall
    plain = sky_component(deck, points, -3.0, pitch=6.0).overcast
    assert 0 < found[0] < plain[0]
    assert 0 < found[1] < plain[1]


def test_mirrored_section_gives_the_mirrored_curve():
    for seed in range(4):
        strips, pitch = random_roof(seed)
        x = bay_points(0.0, pitch, 50)
        curve = sky_component(strips, x, -3.0, pitch=pitch)
        mirrored = sky_component(strips.mirrored(), -x, -3.0, pitch=pitch)
        for sky in ("overcast", "uniform"):
            assert_allclose(getattr(mirrored, sky), getattr(curve, sky), rtol=0, atol=1e-12)


def test_a_slot_that_faces_its_neighbours_back_gets_less_light():
    x = np.linspace(0.5, 5.0, 40)
    facing, free = (sky_component(north_light(neighbour=n), x, -3.0).overcast for n in (True, False))
    assert np.all(facing <= free + 1e-15)
    row = Strips.chain([0.0, 0.0, 2.5, 4.6], [0.4, 0.0, 2.2, 3.2], 0.1, ["kerb", "wing", "wing"])
    flat = kerbed_deck(kerb=0.1, clear=float(glass_sky(row, pitch=5.2).slot.width), pitch=5.2)
    seen = [glass_sky(s, pitch=5.2) for s in (row, flat)]
    assert_allclose(seen[0].slot.width, seen[1].slot.width, rtol=1e-12)
    for sky in ("overcast", "uniform"):
        assert seen[0].light(sky) < tilted_plane_light(seen[0].tilt, sky=sky) < seen[1].light(sky)
    facing_mean, open_mean = (daylight(s, pitch=5.2, level=-3.0).mean for s in (row, flat))
    assert facing_mean < 0.8 * open_mean


def test_the_light_on_the_floor_entered_through_the_glass():
    # Conservation: what reaches an endless floor from above cannot exceed what the glass receives.
    for seed in range(6):
        strips, pitch = random_roof(seed)
        found = daylight(strips, pitch=pitch, level=-3.0, glazing=BARE, room=Room(0, 0, 0), points=400)
        seen = glass_sky(strips, pitch=pitch)
        received = float(seen.light("overcast") * found.clear_opening)
        assert 0 < found.mean * pitch <= 1.02 * received


def test_flat_thin_slots_lose_nothing_between_glass_and_floor():
    # Derived: a thin flat ceiling sends all light of its slots to the floor below, so mean = width/pitch.
    piece = Strips.chain([0.5, 5.5], [4.0, 4.0], 1e-9, "ceiling")
    found = daylight(piece, pitch=6.0, level=0.0, glazing=BARE, room=Room(0, 0, 0), points=200)
    assert_allclose(found.mean, 1.0 / 6.0, rtol=2e-4)


def test_reflected_light_of_a_closed_box():
    # Derived: even reflectance R turns a flux F that lands anywhere into F R/(A (1 - R)).
    piece = Strips.chain([0.5, 5.5], [4.0, 4.0], 1e-9, "ceiling")
    room = Room(0.4, 0.4, 0.4)
    found = daylight(piece, pitch=6.0, level=0.0, glazing=BARE, room=room, points=200)
    area, mean = 6.0 + 5.0 + 1.0, 0.4 * 11.0 / 12.0
    assert_allclose(found.internally_reflected, 0.4 * 1.0 / (area * (1 - mean)), rtol=1e-3)
    more = daylight(piece, pitch=6.0, level=0.0, glazing=BARE, room=Room(0.6, 0.6, 0.6), points=200)
    assert more.internally_reflected > found.internally_reflected
    walled = Room(0.4, 0.4, 0.4, bays=6, length=24.0, wall_height=4.0)
    assert_allclose(walled.wall_width(6.0), 2 * (36 + 24) * 4 / (6 * 24), rtol=1e-14)
    assert daylight(piece, pitch=6.0, level=0.0, room=walled).average_formula < found.average_formula


def test_glass_dirt_and_frames_multiply():
    deck = kerbed_deck()
    bare, glazed = (
        daylight(deck, pitch=6.0, level=-4.0, glazing=g, room=Room(0, 0, 0)).daylight_factor
        for g in (BARE, Glazing(0.7, 0.9, 0.8))
    )
    assert_allclose(glazed, 0.7 * 0.9 * 0.8 * bare, rtol=1e-12)
    with pytest.raises(ValueError, match=r"transmittance: got 1\.2; must be a share"):
        Glazing(transmittance=1.2)


def test_continuous_vault_is_dark():
    vault = Strips.chain([-3.0, -3.0, 0.0, 3.0, 3.0], [-0.7, 0, 1, 0, -0.7], [0.25, 0.08, 0.08, 0.25], "wing")
    found = daylight(vault, pitch=6.25, level=-4.0)
    assert_allclose(found.daylight_factor, 0.0, atol=1e-15)
    assert np.isnan(found.glass_slope)
    assert np.isnan(found.uniformity)


def test_finite_slots():
    strips = bare_slot(-0.5, 0.5, 4.0)
    # Derived: view factor from a horizontal patch to a parallel rectangle above its corner, four of them.
    a, b = 0.5 / 4.0, 3.0 / 4.0
    corner = (a / np.sqrt(1 + a * a) * np.arctan(b / np.sqrt(1 + a * a))
              + b / np.sqrt(1 + b * b) * np.arctan(a / np.sqrt(1 + b * b))) / (2 * np.pi)  # fmt: skip
    finite, endless = finite_span_light(strips, [0.0], 0.0, span=6.0, sky="uniform")
    assert_allclose(finite, 4 * corner, rtol=1e-7)
    assert_allclose(endless, 0.1240347, atol=1e-7)
    roof, pitch = random_roof(2)
    x = bay_points(0.0, pitch, 9)
    spans = [finite_span_light(roof, x, -3.0, span=s, pitch=pitch)[0] for s in (6.0, 24.0, 2400.0)]
    assert np.all(spans[0] < spans[1])
    assert_allclose(spans[2], sky_component(roof, x, -3.0, pitch=pitch).overcast, rtol=1e-3)
    end = finite_span_light(roof, x, -3.0, span=2400.0, along=1200.0, pitch=pitch)[0]
    assert_allclose(end, spans[2] / 2, rtol=1e-2)


def test_rows_do_not_depend_on_their_batch():
    rng = np.random.default_rng(5)
    base, pitch = random_roof(3)
    x, z = (v + rng.uniform(-0.1, 0.1, (9, len(v))) for v in (base.x, base.z))
    z[4, 0] = np.nan
    batch = Strips(x, z, base.ends, np.tile(base.thickness, (9, 1)), base.parts)
    level = np.linspace(-4.0, -2.0, 9)
    found = daylight(batch, pitch=pitch, level=level, points=20)
    for i in range(9):
        one = daylight(batch[i], pitch=pitch, level=level[i], points=20)
        for name in ("daylight_factor", "mean", "average_formula", "clear_opening", "uniformity"):
            assert_array_equal(getattr(found, name)[i], getattr(one, name))
    assert np.isnan(found.mean[4])
    assert np.isfinite(np.delete(found.mean, 4)).all()


def test_bad_calls_name_the_argument():
    deck = kerbed_deck()
    with pytest.raises(ValueError, match=r"pitch: got -1 m; must be above 0"):
        sky_component(deck, [0.0], -3.0, pitch=-1.0)
    with pytest.raises(ValueError, match=r"x: got 0; must hold the points"):
        sky_component(deck, 0.0, -3.0, pitch=6.0)
    with pytest.raises(ValueError, match=r"neighbours: got -1"):
        sky_component(deck, [0.0], -3.0, pitch=6.0, neighbours=-1)
    with pytest.raises(ValueError, match=r"span: got 0 m"):
        finite_span_light(deck, [0.0], -3.0, span=0.0)
    with pytest.raises(ValueError, match=r"floor: got 1; a reflectance"):
        Room(floor=1.0)


def test_open_sides_show_sky_down_to_the_horizon():
    # Closed form: a thin canopy from x = -2 to 1, 3 m above the point, hides one wedge of the whole sky.
    canopy = Strips.chain([-2.0, 1.0], [3.0, 3.0], 1e-9, "wing")
    found = sky_component(canopy, [0.0], 0.0, open_sides=True)
    for sky in ("overcast", "uniform"):
        hidden = wedge_light(np.arctan2(-2, 3), np.arctan2(1, 3), sky=sky)
        assert_allclose(getattr(found, sky), 1.0 - hidden, rtol=1e-8)
        assert getattr(sky_component(canopy, [0.0], 0.0), sky) == 0.0
    # Derived: a north light, roof back from 30 deg past the zenith and open beyond, 0.25 and 0.2188578.
    roof = Strips.chain([-1e6, 4.0 * np.tan(np.pi / 6)], [4.0, 4.0], 1e-9, "wing")
    found = sky_component(roof, [0.0], 0.0, open_sides=True)
    assert_allclose([found.uniform[0], found.overcast[0]], [0.25, 0.2188578], atol=1e-6)
    row = sky_component(kerbed_deck(), [0.0, 2.9], -3.0, pitch=6.0, neighbours=1, open_sides=True)
    closed = sky_component(kerbed_deck(), [0.0, 2.9], -3.0, pitch=6.0, neighbours=1)
    assert np.all(row.uniform > closed.uniform)
    with pytest.raises(ValueError, match="open_sides: a row without end has no sides"):
        sky_component(kerbed_deck(), [0.0], -3.0, pitch=6.0, open_sides=True)


def test_points_that_are_not_numbers_give_nan():
    found = sky_component(kerbed_deck(), [0.0, np.nan], -3.0, pitch=6.0)
    assert np.isnan(found.overcast).all()


def test_a_screen_leaves_its_share():
    plain, screened = (
        daylight(kerbed_deck(), pitch=6.0, level=-4.0, glazing=Glazing(screen=s)).mean for s in (1.0, 0.25)
    )
    assert_allclose(screened, 0.25 * plain, rtol=1e-12)
