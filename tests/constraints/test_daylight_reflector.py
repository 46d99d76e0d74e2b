"""View factors by crossed strings and the first bounce off a reflector."""

import itertools

import numpy as np
import pytest
from numpy.testing import assert_allclose

from longvault.constraints.reflector import exchange_length, facet_lengths, first_bounce, soffit_facets
from longvault.constraints.sky import wedge_light
from longvault.sections import Strips


def down(left, right, z):
    return np.array([[[right, z], [left, z]]])


def up(left, right, z):
    return np.array([[[left, z], [right, z]]])


@pytest.mark.parametrize(("width", "height", "factor"), [(1.0, 1.0, 0.4142136), (1.0, 4.0, 0.1231056)])
def test_opposed_strips(width, height, factor):
    # Hottel's crossed strings (from memory): sqrt(1 + (h/w)^2) - h/w.
    found = exchange_length(up(0, width, 0), down(0, width, height)) / width
    assert_allclose(found, factor, atol=5e-8)
    assert_allclose(found, np.hypot(1, height / width) - height / width, rtol=1e-12)


def test_slot_above_a_floor_and_reciprocity():
    # Hottel: slot 1 m above a floor of 6 m at 4 m: slot to floor 0.5980823, floor to slot 0.0996804.
    slot, floor = down(-0.5, 0.5, 4.0), up(-3, 3, 0.0)
    to_floor, to_slot = exchange_length(slot, floor) / 1.0, exchange_length(floor, slot) / 6.0
    assert_allclose([to_floor[0, 0], to_slot[0, 0]], [0.5980823, 0.0996804], atol=5e-8)


def test_mean_of_the_point_values_is_the_view_factor():
    # Second way: light at points of the floor from the wedge of a uniform sky in the slot, averaged.
    x = (np.arange(4000) + 0.5) / 4000 * 6 - 3
    at_points = wedge_light(np.arctan2(-0.5 - x, 4.0), np.arctan2(0.5 - x, 4.0), sky="uniform")
    assert_allclose(at_points.mean(), exchange_length(up(-3, 3, 0), down(-0.5, 0.5, 4))[0, 0] / 6, rtol=1e-6)


def test_a_closed_room_takes_all_the_light():
    # Sum rule: in a convex closed outline the view factors of each face add up to one.
    corners = np.array([[0.0, 0.0], [6.0, 0.0], [7.0, 3.0], [3.5, 5.0], [-0.5, 2.5]])
    facets = np.stack([corners, np.roll(corners, -1, axis=0)], axis=1)
    exchange = exchange_length(facets, facets)
    np.fill_diagonal(exchange, 0.0)
    assert_allclose(exchange.sum(axis=1), facet_lengths(facets), rtol=1e-12)
    assert_allclose(exchange, exchange.T, atol=1e-12)


def test_back_sides_see_nothing_and_half_hidden_facets_are_cut():
    assert_allclose(exchange_length(down(0, 1, 0), down(0, 1, 4)), 0.0, atol=1e-15)
    wall = np.array([[[0.0, 2.0], [0.0, -2.0]]])  # bright side to +x
    half = exchange_length(up(-3, 3, -2.5), wall)
    assert_allclose(half, exchange_length(up(0, 3, -2.5), wall), rtol=1e-12)
    assert half[0, 0] > 0


def test_reflector_sends_light_to_the_vault_in_proportion():
    slot, plate = down(-0.5, 0.5, 4.0), up(-0.8, 0.8, 3.2)
    x = np.linspace(0.5, 3.0, 21)
    wing = Strips.chain(x, 4.0 - 0.2 * (x - 0.5) ** 2, 0.1, "wing")
    soffit = soffit_facets(wing)
    light, dull = (first_bounce(slot, plate, soffit, reflectance=r) for r in (0.8, 0.4))
    assert_allclose(light.on_target, 2 * dull.on_target, rtol=1e-12)
    assert_allclose(light.sent, (light.on_target * facet_lengths(soffit)).sum(), rtol=1e-12)
    assert light.sent < 0.8 * light.caught < 0.8
    both = np.concatenate([soffit, soffit_facets(wing.mirrored())])
    mirrored = first_bounce(slot, plate, both)
    count = len(soffit)
    assert_allclose(mirrored.on_target[count:], mirrored.on_target[:count], rtol=1e-12, atol=1e-12)


def test_fine_facets_give_the_sum_of_coarse_ones():
    slot, soffit = down(-0.5, 0.5, 4.0), np.concatenate([down(-3, -0.5, 4.0), down(0.5, 3, 4.0)])
    edges = np.linspace(-0.8, 0.8, 41)
    fine = np.concatenate([up(a, b, 3.2) for a, b in itertools.pairwise(edges)])
    assert_allclose(
        first_bounce(slot, fine, soffit).caught, first_bounce(slot, up(-0.8, 0.8, 3.2), soffit).caught
    )


def test_first_bounce_against_random_rays():
    # Second implementation: rays from the slot by the cosine law, sent on by the plate by the cosine law.
    rng, count = np.random.default_rng(3), 200_000
    slot, plate, soffit = down(-0.5, 0.5, 4.0), up(-0.9, 0.4, 3.3), down(0.6, 2.5, 4.0)
    start = rng.uniform(-0.5, 0.5, count)
    sine = rng.uniform(-1, 1, count)  # cosine law in the plane of the section
    hit = start + 0.7 * sine / np.sqrt(1 - sine**2)
    met = (hit > -0.9) & (hit < 0.4)
    sine = rng.uniform(-1, 1, count)
    end = hit + 0.7 * sine / np.sqrt(1 - sine**2)
    reached = met & (end > 0.6) & (end < 2.5)
    cells = np.concatenate([up(a, a + 0.0325, 3.3) for a in -0.9 + 0.0325 * np.arange(40)])
    found = first_bounce(slot, cells, soffit, reflectance=1.0)
    for share, value in ((met, found.caught), (reached, found.sent)):
        assert abs(share.mean() - value) < 3 * share.std() / np.sqrt(count)
    assert_allclose(found.caught, first_bounce(slot, plate, soffit).caught, rtol=1e-12)


def test_bad_reflectance_is_named():
    with pytest.raises(ValueError, match=r"reflectance: got 1\.2; must be from 0 to 1"):
        first_bounce(down(0, 1, 4), up(0, 1, 3), down(1, 2, 4), reflectance=1.2)
