"""Buckling against the classical plate and cylinder values, and the screen against finite strips.

Values: Timoshenko & Gere, Theory of Elastic Stability; Gerard & Becker, NACA TN 3781; EN 1993-1-5 table 4.1
(from memory, recomputed for this project from the governing equations).
"""

import numpy as np
import pytest

from longvault.constraints.materials import Concrete
from longvault.constraints.plates import Links, Supports
from longvault.constraints.stability import (
    BucklingSettings,
    buckling,
    cylinder_stress,
    free_edge_factor,
    half_waves,
    lowest_factor,
    panel_stress,
    plate_stress,
)  # fmt: skip
from longvault.constraints.stability_screen import local_screen
from longvault.sections import Strips

ACROSS, UP, TURN = 0, 2, 3


def plate_factors(edges, waves, poisson=0.3, stress=(1.0, 1.0), pieces=16):
    """Return k of a flat plate of unit width whose two long edges are simply supported, clamped or free."""
    x, t = np.linspace(0.0, 1.0, pieces + 1), 0.01
    spring = np.zeros((pieces + 1, 4))
    for node, edge in zip((0, -1), edges, strict=True):
        spring[node, UP] = np.inf if edge in "sc" else 0.0
        spring[node, TURN] = np.inf if edge == "c" else 0.0
    spring[0, ACROSS] = np.inf  # no sideways buckling of the whole plate as a column
    level = stress[0] + (stress[1] - stress[0]) * x
    found = buckling(
        Strips.chain(x, 0 * x, t, "slab"), -np.stack([level[:-1], level[1:]], axis=-1),
        half_waves=waves, modulus=1.0, poisson=poisson, supports=Supports(spring),
    )  # fmt: skip
    return found.factors / plate_stress(1.0, thickness=t, width=1.0, modulus=1.0, poisson=poisson)


def test_simply_supported_plate():
    assert plate_factors("ss", [1.0], pieces=32)[0] == pytest.approx(4.0, rel=1e-6)
    several = plate_factors("ss", [0.5, 0.8, 1.0, 1.3, 2.0])
    ratio = np.array([0.5, 0.8, 1.0, 1.3, 2.0])
    np.testing.assert_allclose(several, (ratio + 1 / ratio) ** 2, rtol=1e-4)


def test_pure_bending():
    assert plate_factors("ss", [0.672], stress=(1.0, -1.0), pieces=32)[0] == pytest.approx(23.8806, abs=1e-3)


@pytest.mark.parametrize(("poisson", "k"), [(0.3, 0.42555), (0.2, 0.48634), (0.0, 0.60793)])
def test_one_free_edge(poisson, k):
    assert free_edge_factor(poisson) == pytest.approx(k, abs=1e-5)
    assert plate_factors("sf", [200.0], poisson=poisson)[0] == pytest.approx(k, abs=1e-4)


def test_one_free_edge_of_short_plates():
    np.testing.assert_allclose(
        plate_factors("sf", [1.0, 2.0, 5.0, 20.0]), [1.40160, 0.66814, 0.46423, 0.42796], atol=1e-4
    )


def test_clamped_edges():
    assert plate_factors("cc", np.linspace(0.6, 0.72, 25)).min() == pytest.approx(6.97, abs=5e-3)


def ring(poisson, pieces=80, radius=10.0, t=0.08):
    """Closed cylinder under its own classical stress, at the half-waves round the axisymmetric one."""
    angle = 2 * np.pi * np.arange(pieces) / pieces
    first = np.arange(pieces)
    ends = np.stack([first, (first + 1) % pieces], axis=1)
    strips = Strips(
        radius * np.sin(angle), radius * np.cos(angle), ends, np.full(pieces, t), ("wing",) * pieces
    )
    wave = np.pi * np.sqrt(radius * t) / (12 * (1 - poisson**2)) ** 0.25
    assert strips.length.max() <= 0.9 * np.sqrt(radius * t)
    return buckling(
        strips,
        np.full((pieces, 2), -1.0),
        half_waves=wave * np.array([0.8, 1.0, 1.25]),
        modulus=1.0,
        poisson=poisson,
    )


@pytest.mark.parametrize(("poisson", "factor"), [(0.3, 0.60523), (0.2, 0.58926), (0.0, 0.57735)])
def test_cylinder(poisson, factor):
    unit = cylinder_stress(thickness=1.0, radius=1.0, modulus=1.0, poisson=poisson)
    assert unit == pytest.approx(factor, abs=1e-5)
    found = ring(poisson)
    # many modes lie close together below; at these half-waves all give the classical figure
    np.testing.assert_allclose(found.factors[1:] * 10.0 / 0.08, factor, rtol=0.012)


def half_cylinder(held, poisson=0.2, pieces=72):
    angle = np.linspace(-np.pi / 2, np.pi / 2, pieces + 1)
    strips = Strips.chain(10 * np.sin(angle), 10 * np.cos(angle), 0.08, "wing")
    assert strips.length.max() <= 0.5 * np.sqrt(10 * 0.08)
    spring = np.zeros((pieces + 1, 4))
    if held:
        spring[[0, -1], UP] = spring[[0, -1], ACROSS] = np.inf
    waves = half_waves(10.0, shortest=1.2, ratio=1.25)
    found = buckling(
        strips,
        np.full((pieces, 2), -1.0),
        half_waves=waves,
        modulus=1.0,
        poisson=poisson,
        supports=Supports(spring),
    )
    return strips, found


def test_half_cylinder_panel_and_what_a_free_edge_costs():
    strips, held = half_cylinder(held=True)
    _, free = half_cylinder(held=False)
    assert 0.58 <= float(held.factor) * 10 / 0.08 <= 0.61
    assert 0.07 <= float(free.factor) * 10 / 0.08 <= 0.13
    screen = local_screen(strips, modulus=1.0, poisson=0.2)
    stress = np.full((72, 2), -1.0)
    assert not screen.flat.any()
    np.testing.assert_allclose(1 / screen.curvature, 10.0, rtol=1e-3)
    # the screen knows the free edge and stays on the heavy side of finite strips
    assert 0.5 * free.factor < screen.factor(stress) <= free.factor


def test_concrete_vault_figures():
    # derived: C30, E 33 GPa, nu 0.2, R 10 m, t 80 mm
    classical = cylinder_stress(thickness=0.08, radius=10.0, modulus=33e9, poisson=0.2)
    assert classical / 1e6 == pytest.approx(155.56, rel=1e-4)
    share = BucklingSettings(creep=2.5, knock_down=1.0, safety=1.0).design_share()
    assert classical * share / 1e6 == pytest.approx(44.45, rel=1e-4)
    assert classical * share * 0.3 / 1e6 == pytest.approx(13.33, abs=5e-3)
    assert BucklingSettings(creep=2.5, knock_down=0.3, safety=2.0).design_share() == pytest.approx(
        0.3 / 3.5 / 2
    )
    flat = plate_stress(4.0, thickness=0.08, width=3.0, modulus=33e9, poisson=0.2)
    assert flat / 1e6 == pytest.approx(80.42, rel=1e-4)
    # creep-reduced modulus, EN 1992-1-1 (7.20): C30, phi 2.5
    assert Concrete(30e6).ecm / 3.5 / 1e9 == pytest.approx(9.3819, rel=1e-4)


def test_curved_panel_formula_has_both_limits():
    arguments = {"thickness": 0.08, "modulus": 33e9, "poisson": 0.2}
    flat = panel_stress(width=3.0, curvature=0.0, **arguments)
    assert flat == pytest.approx(plate_stress(4.0, width=3.0, **arguments), rel=1e-12)
    wide = panel_stress(width=1e5, curvature=0.1, **arguments)
    assert wide == pytest.approx(cylinder_stress(radius=10.0, **arguments), rel=1e-6)


def with_flat_crown(flat=2.0, pieces=24):
    """Two arcs of R 7.5 m with a flat between, kerbs at both edges."""
    angle = np.linspace(0.02, 0.64, pieces)
    right = np.stack([flat / 2 + 7.5 * (np.sin(angle) - np.sin(0.02)), 7.5 * np.cos(angle)], axis=-1)
    left = right[::-1] * [-1, 1]
    middle = np.linspace(-flat / 2, flat / 2, 9)[1:-1]
    crown = np.stack([middle, np.full(7, 7.5 * np.cos(0.02))], axis=-1)
    nodes = np.concatenate([left[:1] - [0.0, 0.7], left, crown, right, right[-1:] - [0.0, 0.7]])
    count = len(nodes) - 1
    thickness = np.where((np.arange(count) == 0) | (np.arange(count) == count - 1), 0.25, 0.08)
    return Strips.chain(nodes[:, 0], nodes[:, 1], thickness, "wing")


def test_a_flat_stretch_is_flagged_and_the_arc_is_not():
    strips = with_flat_crown()
    screen = local_screen(strips, modulus=33e9, poisson=0.2)
    middle = 0.5 * (strips.x[:-1] + strips.x[1:])
    on_flat = np.abs(middle) < 0.9
    on_arc = (np.abs(middle) > 1.3) & (np.abs(middle) < 5.2)
    assert screen.flat[on_flat].all()
    assert not screen.flat[on_arc].any()
    assert screen.width[on_flat] == pytest.approx(2.0, rel=0.15)
    plate = plate_stress(4.0, thickness=0.08, width=screen.width[on_flat], modulus=33e9, poisson=0.2)
    np.testing.assert_allclose(screen.critical[on_flat], plate, rtol=1e-3)
    cylinder = cylinder_stress(thickness=0.08, radius=7.5, modulus=33e9, poisson=0.2)
    assert np.all(screen.critical[on_arc] > 0.95 * cylinder)


def test_screen_of_a_batch_is_the_screen_of_each_bit_for_bit():
    strips = with_flat_crown()
    rng = np.random.default_rng(2)
    x = strips.x + 0.05 * rng.random((7, strips.x.size))
    t = strips.thickness * (1 + rng.random((7, strips.thickness.size)))
    batch = Strips(x, np.tile(strips.z, (7, 1)), strips.ends, t, strips.parts)
    whole = local_screen(batch, modulus=33e9, poisson=0.2)
    stress = -rng.random((7, len(strips.ends), 2))
    for i in (0, 3, 6):
        one = local_screen(batch[i], modulus=33e9, poisson=0.2)
        for name in ("critical", "curvature", "width", "flat"):
            np.testing.assert_array_equal(getattr(one, name), getattr(whole, name)[i])
        assert one.factor(stress[i]) == whole.factor(stress)[i]


def test_branches_and_rings_are_walked():
    ends = np.array([(0, 1), (1, 2), (2, 3), (2, 4), (5, 2)])
    x, z = np.array([0.0, 1.0, 2.0, 3.0, 2.0, 2.0]), np.array([0.0, 0.1, 0.2, 0.3, -0.8, 0.9])
    tree = Strips(x, z, ends, np.full(5, 0.1), ("wing",) * 5)
    screen = local_screen(tree, modulus=33e9, poisson=0.2)
    assert screen.width == pytest.approx([2 * np.hypot(1, 0.1)] * 2 + [np.hypot(1, 0.1), 1.0, 0.7])
    held = plate_stress(4.0, thickness=0.1, width=1.0, modulus=33e9, poisson=0.2)
    assert screen.critical[3] == pytest.approx(held * free_edge_factor(0.2) / 4, rel=1e-6)
    angle = 2 * np.pi * np.arange(40) / 40
    ring_ends = np.stack([np.arange(40), (np.arange(40) + 1) % 40], axis=1)
    closed = Strips(np.cos(angle), np.sin(angle), ring_ends, np.full(40, 0.01), ("wing",) * 40)
    round_screen = local_screen(closed, modulus=33e9, poisson=0.2)
    classical = cylinder_stress(thickness=0.01, radius=1.0, modulus=33e9, poisson=0.2)
    np.testing.assert_allclose(round_screen.critical, classical, rtol=0.01)


def test_tension_never_buckles_and_a_bad_candidate_is_nan():
    x, z = np.zeros((2, 5)), np.zeros((2, 5))
    x[:] = np.linspace(0, 1, 5)
    z[1, 2] = np.nan
    strips = Strips.chain(x, z, 0.01, "slab")
    found = buckling(strips, np.ones((2, 4, 2)), half_waves=[1.0], modulus=1.0, poisson=0.2)
    assert found.factor[0] == np.inf
    assert np.isnan(found.factor[1])
    pressed = buckling(strips, -np.ones((2, 4, 2)), half_waves=[1.0, 2.0], modulus=1.0, poisson=0.2)
    alone = buckling(strips[0], -np.ones((4, 2)), half_waves=[1.0, 2.0], modulus=1.0, poisson=0.2)
    assert pressed.factor[0] == alone.factor
    assert np.abs(alone.mode).max() == pytest.approx(1.0)


def test_a_bad_call_is_refused():
    strips = Strips.chain([0.0, 1.0], [0.0, 0.0], 0.1, "slab")
    with pytest.raises(ValueError, match="half_waves"):
        buckling(strips, -np.ones((1, 2)), half_waves=[0.0], modulus=1.0, poisson=0.2)
    with pytest.raises(ValueError, match="knock_down"):
        BucklingSettings(knock_down=0.0)
    with pytest.raises(ValueError, match="shortest"):
        half_waves(10.0, shortest=0.0)


def test_signs_of_pivots_find_the_load_that_the_eigenvalues_give():
    """Two implementations: bisection on the inertia of the banded matrix, and dense eigenvalues."""
    rng = np.random.default_rng(4)
    branch = Strips(
        np.array([0.0, 1.0, 2.0, 3.0, 1.0, 1.0]), np.array([0.0, 0.4, 0.5, 0.4, -0.6, -1.1]),
        np.array([(0, 1), (1, 2), (2, 3), (1, 4), (4, 5)]), np.full(5, 0.05), ("wing",) * 5,
    )  # fmt: skip
    spring = np.zeros((with_flat_crown().x.size, 4))
    spring[-1, [0, 3]] = np.inf
    spring[0, 0] = 2e7
    for strips, supports in (
        (with_flat_crown(), Supports(spring)),
        (with_flat_crown(), None),
        (branch, None),
    ):
        stress = -1e6 * (rng.random((len(strips.ends), 2)) - 0.3)
        arguments = {
            "half_waves": half_waves(24.0, shortest=2.0),
            "modulus": 33e9,
            "poisson": 0.2,
            "supports": supports,
        }
        dense = buckling(strips, stress, **arguments)
        factor, wave = lowest_factor(strips, stress, **arguments)
        assert factor == pytest.approx(float(dense.factor), rel=1.5e-4)
        assert wave == pytest.approx(float(dense.half_wave), rel=0.2)


def test_signs_of_pivots_know_tension_and_bad_sections():
    strips = with_flat_crown()
    arguments = {"half_waves": [24.0, 3.0], "modulus": 33e9, "poisson": 0.2}
    pulled = np.ones((len(strips.ends), 2))
    assert lowest_factor(strips, pulled, **arguments)[0] == np.inf
    broken = Strips.chain(np.where(np.arange(strips.x.size) == 3, np.nan, strips.x), strips.z, 0.08, "wing")
    assert np.isnan(lowest_factor(broken, -pulled, **arguments)[0])


def test_many_sections_side_by_side_are_held_to_what_each_dense_solution_says():
    """Against eigenvalues: where more than the true factor is asked about it is told, else what is asked."""
    one, rng = with_flat_crown(), np.random.default_rng(6)
    x, z = (rng.uniform(0.8, 1.2, (41, 1)) * values for values in (one.x, one.z))
    thickness = rng.uniform(0.06, 0.09, (41, 1)) * np.ones(len(one.ends))
    batch, stress = Strips(x, z, one.ends, thickness, one.parts), -1e6 * rng.random((41, len(one.ends), 2))
    spring = np.zeros((one.x.size, 4))
    spring[0, [0, 3]], spring[-1, 0] = np.inf, 2e7
    held = Supports(spring)
    arguments = {"half_waves": [24.0, 6.0, 2.0], "modulus": 33e9, "poisson": 0.2, "supports": held}
    true = buckling(batch[::10], stress[::10], **arguments).factor
    whole, _ = lowest_factor(batch, stress, **arguments, accuracy=1e-4)
    assert whole[::10] == pytest.approx(true, rel=1.5e-4)
    most = whole * np.where(np.arange(41) % 2 == 0, 0.99, 1.01)
    found, waves = lowest_factor(batch, stress, **arguments, accuracy=1e-4, most=most)
    np.testing.assert_array_equal(found[::2], most[::2])
    assert found[1::2] == pytest.approx(whole[1::2], rel=2e-4)
    np.testing.assert_array_equal(np.isnan(waves), np.arange(41) % 2 == 0)
    for i in (0, 7, 40):
        assert lowest_factor(batch[i], stress[i], **arguments, accuracy=1e-4, most=most[i])[0] == found[i]


def test_an_edge_that_a_neighbour_holds_is_not_free():
    angle = np.linspace(-0.6, 0.6, 25)
    strips = Strips.chain(7.5 * np.sin(angle), 7.5 * np.cos(angle), 0.08, "wing")
    free = local_screen(strips, modulus=33e9, poisson=0.2).critical
    held = local_screen(strips, modulus=33e9, poisson=0.2, held=(0, 24)).critical
    np.testing.assert_allclose(free, 0.25 * free_edge_factor(0.2) * held, rtol=1e-12)


def test_a_link_between_nodes_is_in_the_buckling_load():
    """A stiff strut across two level free edges holds them as a plane of symmetry does, but for a sway."""
    angle = np.linspace(0.5, np.pi - 0.5, 33)
    arch = Strips.chain(4.0 * np.cos(angle), 4.0 * np.sin(angle), 0.06, "wing")
    held = np.zeros((33, 4))
    held[[0, -1], 0] = np.inf
    stress = np.full((32, 2), -1e6)
    kwargs = {"half_waves": [12.0, 6.0, 3.0], "modulus": 33e9, "poisson": 0.2, "accuracy": 1e-6}
    free, strutted, fast = (
        float(lowest_factor(arch, stress, **kwargs, **one)[0])
        for one in ({}, {"links": Links([[0, 32]], [1e13])}, {"supports": Supports(held)})
    )
    # the plane allows symmetrical shapes alone; the strut also lets both edges sway together
    assert free < strutted * (1 + 1e-6)
    assert strutted < fast * (1 + 1e-5)
    x, z = (np.stack([values] * 2) for values in (arch.x, arch.z))
    batch = Strips(x, z, arch.ends, np.outer([1.0, 2.0], arch.thickness), arch.parts)
    both, _ = lowest_factor(batch, np.stack([stress] * 2), **kwargs, links=Links([[0, 32]], [1e9]))
    alone, _ = lowest_factor(arch, stress, **kwargs, links=Links([[0, 32]], [1e9]))
    assert both[0] == alone


def test_a_spring_to_the_next_node_is_the_same_as_a_link_to_a_held_one():
    """A link from a node to one held fast is a spring on it along the link."""
    plate = Strips.chain(
        np.r_[np.linspace(0.0, 1.0, 9), 1.5], np.zeros(10), np.r_[np.full(8, 0.02), 1e-6], "slab"
    )
    stress = np.full((9, 2), -1e6)
    stress[-1] = 0.0
    fast, sprung = np.zeros((2, 10, 4))
    fast[-1] = sprung[-1] = np.inf
    sprung[4, 0] = 2e7
    kwargs = {"half_waves": [1.0], "modulus": 30e9, "poisson": 0.2, "accuracy": 1e-7}
    linked = lowest_factor(plate, stress, **kwargs, supports=Supports(fast), links=Links([[4, 9]], [2e7]))
    spring = lowest_factor(plate, stress, **kwargs, supports=Supports(sprung))
    assert float(linked[0]) == pytest.approx(float(spring[0]), rel=1e-6)
