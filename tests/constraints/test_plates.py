"""The folded plate: equilibrium on every kind of section, and the laws it must obey."""

import dataclasses

import numpy as np
import pytest

from longvault.constraints.plates import Links, PlateLoads, Supports, combined, folded_plate, folded_plates
from longvault.constraints.plates_checks import equilibrium
from longvault.constraints.plates_results import (
    displacements,
    link_forces,
    smoothed,
    strip_forces,
    support_forces,
)
from longvault.sections import Strips

MODULUS = 30e9


def barrel(pieces=24, radius=6.0, half=40.0, thickness=0.1):
    angle = np.radians(np.linspace(-half, half, pieces + 1))
    return Strips.chain(radius * np.sin(angle), radius * np.cos(angle), thickness, "wing")


def horseshoe():
    """Turns back through the vertical on both sides."""
    return barrel(pieces=36, half=130.0)


def gull_wing():
    """Keel, two wings, kerbs at the slot edges; thickness jumps at each."""
    x = [-2.0, -2.0, -1.6, -1.1, -0.7, 0.0, 0.7, 1.1, 1.6, 2.0, 2.0]
    z = [1.9, 1.4, 1.3, 0.9, 0.0, 0.0, 0.0, 0.9, 1.3, 1.4, 1.9]
    return Strips.chain(x, z, [0.2, 0.1, 0.1, 0.1, 0.18, 0.18, 0.1, 0.1, 0.1, 0.2], "wing")


def north_light():
    """Unsymmetrical, two free edges."""
    x, z = [0.0, 0.6, 1.5, 2.6, 3.6, 4.35, 4.6], [0.0, 0.0, 1.2, 2.0, 2.4, 2.45, 2.5]
    return Strips.chain(x, z, [0.15, 0.08, 0.08, 0.08, 0.08, 0.2], "wing")


def branch():
    """A wing with a hanging beam and a kerb at one node."""
    x, z = np.array([0.0, 1.0, 2.0, 3.0, 2.0, 2.0]), np.array([0.0, 0.6, 0.9, 0.9, 0.0, 1.3])
    ends = np.array([(0, 1), (1, 2), (2, 3), (2, 4), (5, 2)])
    return Strips(x, z, ends, np.array([0.08, 0.08, 0.08, 0.2, 0.12]), ("wing",) * 5)


def closed_cell():
    """A box with two cantilevering plates."""
    x, z = np.array([0.0, 2.0, 2.0, 0.0, -1.5, 3.5]), np.array([0.0, 0.0, 1.0, 1.0, 1.2, 1.3])
    ends = np.array([(0, 1), (1, 2), (2, 3), (3, 0), (3, 4), (2, 5)])
    return Strips(x, z, ends, np.array([0.1, 0.12, 0.1, 0.12, 0.08, 0.08]), ("web",) * 6)


SECTIONS = (barrel, horseshoe, gull_wing, north_light, branch, closed_cell)
zoo = pytest.mark.parametrize("section", SECTIONS, ids=lambda f: f.__name__)


def uneven(strips):
    """Every kind of load at once, different on every strip and node."""
    e, n = len(strips.ends), strips.x.shape[-1]
    return PlateLoads(
        surface=2000.0 + 300.0 * np.arange(e) % 1700, plan=800.0 * (np.arange(e) % 2),
        line_down=150.0 * (np.arange(n) % 3), line_right=90.0 * (np.arange(n) % 4),
    )  # fmt: skip


def solve(strips, loads=None, **changes):
    arguments = {"span": 14.0, "modulus": MODULUS, "poisson": 0.2} | changes
    return folded_plate(strips, uneven(strips) if loads is None else loads, **arguments)


def held(strips):
    """Fixed, sprung and free nodes."""
    spring = np.zeros((strips.x.shape[-1], 4))
    spring[0, [0, 3]] = np.inf
    spring[-1, 0], spring[-1, 2], spring[2, 1] = 4e6, 1e5, 1e7
    return Supports(spring)


@zoo
@pytest.mark.parametrize("poisson", [0.0, 0.2])
@pytest.mark.parametrize("loaded", [(0.0, 1.0), (0.0, 0.5)])
@pytest.mark.parametrize("supported", [False, True])
def test_equilibrium_of_forces_moments_and_torque_closes(section, poisson, loaded, supported):
    strips = section()
    supports = held(strips) if supported else None
    links = Links([[0, strips.x.shape[-1] - 1]], [3e6])
    solved = solve(
        strips, poisson=poisson, loaded=loaded, supports=supports, links=links, harmonics=(1, 2, 3, 5)
    )
    balance = equilibrium(solved)
    assert balance.residual.shape == (4, 6)
    assert balance.worst < 1e-8


@zoo
def test_total_reaction_is_the_total_load(section):
    strips = section()
    loads = uneven(strips)
    down = -loads.nodal(strips)[:, 2].sum()
    for loaded in ((0.0, 1.0), (0.0, 0.5), (0.25, 0.75)):
        solved = solve(strips, loaded=loaded, harmonics=(1, 2, 3, 4, 5))
        assert equilibrium(solved).reaction == pytest.approx(down * 14.0 * (loaded[1] - loaded[0]), rel=1e-9)


def test_equilibrium_tells_a_wrong_solution():
    solved = solve(gull_wing())
    wrong = solved.displacement.copy()
    wrong[0, 4, 2] *= 1.001
    assert equilibrium(dataclasses.replace(solved, displacement=wrong)).worst > 1e-4
    assert equilibrium(dataclasses.replace(solved, poisson=0.19)).worst > 1e-4


@zoo
def test_nothing_holds_a_lone_module(section):
    solved = solve(section())
    applied = np.abs(solved.nodal_load).max()
    assert np.abs(support_forces(solved)).max() < 1e-7 * applied


@zoo
def test_mirror(section):
    strips = section()
    loads = uneven(strips)
    mirrored = dataclasses.replace(loads, line_right=-np.asarray(loads.line_right))
    one, two = solve(strips), solve(strips.mirrored(), mirrored)
    flip = np.array([-1.0, 1.0, 1.0, -1.0])
    np.testing.assert_allclose(displacements(two), displacements(one) * flip, rtol=1e-9, atol=1e-13)
    a, b = strip_forces(one, (0.1, 0.5)), strip_forces(two, (0.1, 0.5))
    upright = np.abs(strips.span_vectors()[0]) < 1e-9
    np.testing.assert_allclose(b.n_y, a.n_y, rtol=1e-7, atol=1e-3)
    np.testing.assert_allclose(b.n_ys[:, ~upright], -a.n_ys[:, ~upright], rtol=1e-7, atol=1e-3)
    np.testing.assert_allclose(b.m_s[:, ~upright], a.m_s[:, ~upright], rtol=1e-7, atol=1e-3)
    # a vertical strip keeps its direction (up) and swaps its left and right faces
    np.testing.assert_allclose(b.n_ys[:, upright], a.n_ys[:, upright], rtol=1e-7, atol=1e-3)
    np.testing.assert_allclose(b.m_s[:, upright], -a.m_s[:, upright], rtol=1e-7, atol=1e-3)


@zoo
def test_superposition_and_scale(section):
    strips = section()
    both = uneven(strips)
    one, two = PlateLoads(surface=both.surface), dataclasses.replace(both, surface=0.0)
    total = solve(strips, one).displacement + solve(strips, two).displacement
    np.testing.assert_allclose(total, solve(strips, both).displacement, rtol=1e-8, atol=1e-14)
    stiffer = solve(strips, both, modulus=2 * MODULUS).displacement
    np.testing.assert_allclose(2 * stiffer, solve(strips, both).displacement, rtol=1e-9, atol=1e-14)


@zoo
def test_numbering_and_direction_of_strips_do_not_matter(section):
    strips = section()
    count, e = strips.x.shape[-1], len(strips.ends)
    order = np.random.default_rng(5).permutation(count)
    place = np.argsort(order)
    ends = place[strips.ends].copy()
    ends[::2] = ends[::2, ::-1]
    other = Strips(strips.x[order], strips.z[order], ends, strips.thickness, strips.parts)
    loads = uneven(strips)
    turned = dataclasses.replace(
        loads, line_down=np.asarray(loads.line_down)[order], line_right=np.asarray(loads.line_right)[order]
    )
    one, two = solve(strips), solve(other, turned)
    np.testing.assert_allclose(two.displacement[:, place], one.displacement, rtol=1e-8, atol=1e-13)
    a, b = (smoothed(s.strips, strip_forces(s, (0.2, 0.5))) for s in (one, two))
    for name in ("n_y", "n_s", "n_ys", "m_s", "m_y", "m_sy"):
        first, second = getattr(a, name), getattr(b, name).copy()
        second[:, np.arange(0, e, 2)] = second[:, np.arange(0, e, 2), ::-1]
        np.testing.assert_allclose(second, first, rtol=1e-7, atol=1e-7 * np.abs(first).max(), err_msg=name)


@zoo
def test_batch_law_bit_for_bit(section):
    strips = section()
    rng = np.random.default_rng(3)
    shape = (2, 19)
    x = strips.x + 0.02 * rng.random((*shape, strips.x.size))
    z = strips.z + 0.02 * rng.random((*shape, strips.x.size))
    t = strips.thickness * (1 + 0.3 * rng.random((*shape, strips.thickness.size)))
    batch = Strips(x, z, strips.ends, t, strips.parts)
    span = 10 + 5 * rng.random(shape)
    links = lambda index: Links([[0, 2]], links_k[index][..., None])  # noqa: E731
    links_k = 1e6 * rng.random(shape)
    whole = solve(batch, span=span, supports=held(strips), links=links(...))
    forces, balance = smoothed(batch, strip_forces(whole, (0.0, 0.3))), equilibrium(whole)
    for index in ((0, 0), (1, 7), (1, 18)):
        one = solve(batch[index], uneven(strips), span=span[index], supports=held(strips), links=links(index))
        np.testing.assert_array_equal(one.displacement, whole.displacement[index])
        own = smoothed(one.strips, strip_forces(one, (0.0, 0.3)))
        for name in ("n_y", "n_s", "n_ys", "m_s", "m_y", "m_sy"):
            np.testing.assert_array_equal(getattr(own, name), getattr(forces, name)[index], err_msg=name)
        np.testing.assert_array_equal(equilibrium(one).residual, balance.residual[index])
        np.testing.assert_array_equal(link_forces(one), link_forces(whole)[index])
    np.testing.assert_array_equal(
        solve(batch, span=span, supports=held(strips), links=links(...), threads=3).displacement,
        whole.displacement,
    )


def test_a_bad_candidate_is_a_nan_row_and_spares_its_neighbours():
    strips = barrel()
    x = np.stack([strips.x, strips.x, strips.x])
    z = np.stack([strips.z, strips.z, strips.z])
    x[1, 5], z[1, 5] = x[1, 4], z[1, 4]
    z[2, 3] = np.nan
    batch = Strips(x, z, strips.ends, np.tile(strips.thickness, (3, 1)), strips.parts)
    solved = solve(batch, PlateLoads(surface=1e3))
    assert np.isfinite(solved.displacement[0]).all()
    assert np.isnan(solved.displacement[1:]).any(axis=(-3, -2, -1)).all()
    np.testing.assert_array_equal(solved.displacement[0], solve(strips, PlateLoads(surface=1e3)).displacement)


def test_a_flat_plate_bends_as_a_plate_between_four_supports():
    # Square plate, simply supported all round, uniform load: w = 0.00406 q a^4 / D, M = 0.0479 q a^2 (nu 0.3;
    # Timoshenko & Woinowsky-Krieger, Theory of Plates and Shells, table 8; from memory).
    x = np.linspace(0.0, 1.0, 33)
    strips = Strips.chain(x, 0 * x, 0.01, "slab")
    spring = np.zeros((33, 4))
    spring[[0, -1], 2] = np.inf
    solved = solve(strips, PlateLoads(surface=1.0), span=1.0, poisson=0.3, supports=Supports(spring),
                   harmonics=tuple(range(1, 40, 2)))  # fmt: skip
    stiffness = MODULUS * 0.01**3 / 12 / (1 - 0.3**2)
    assert -displacements(solved)[0, 16, 2] * stiffness == pytest.approx(0.00406, abs=5e-6)
    forces = strip_forces(solved)
    assert forces.m_s[0, 16, 0] == pytest.approx(-0.0479, abs=2e-4)
    assert forces.m_y[0, 16, 0] == pytest.approx(-0.0479, abs=2e-4)


def test_a_strut_keeps_two_edges_apart_and_its_force_balances():
    strips = gull_wing()
    last = strips.x.size - 1
    loads = PlateLoads(surface=3000.0)
    free = displacements(solve(strips, loads))[0]
    tied = solve(strips, loads, links=Links([[0, last]], [1e12]))
    moved = displacements(tied)[0]
    assert abs(free[0, 0] - free[last, 0]) > 1e-4
    assert moved[last, 0] - moved[0, 0] == pytest.approx(link_forces(tied)[0, 0] / 1e12, rel=1e-9)
    assert equilibrium(tied).worst < 1e-7
    spring = np.zeros((last + 1, 4))
    spring[[0, last], 0] = np.inf  # by symmetry a rigid strut is a sideways support at both ends
    same = solve(strips, loads, supports=Supports(spring))
    reaction = support_forces(same)[:, 0, 0] @ np.sin(np.pi / 2 * same.harmonics)
    assert reaction > 0, "wings spread outward: the tie is pulled"
    assert link_forces(tied)[0, 0] == pytest.approx(reaction, rel=1e-5)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"span": 0.0}, "span"),
        ({"modulus": -1.0}, "modulus"),
        ({"poisson": 0.5}, "poisson"),
        ({"harmonics": (1, 1)}, "harmonics"),
        ({"harmonics": ()}, "harmonics"),
        ({"loaded": (0.6, 0.2)}, "loaded"),
        ({"threads": 0}, "threads"),
    ],
)
def test_a_bad_call_names_the_argument(change, words):
    with pytest.raises(ValueError, match=words):
        solve(barrel(), **change)
    lonely = Strips(np.arange(3.0), np.zeros(3), np.array([[0, 1]]), np.array([0.1]), ("slab",))
    with pytest.raises(ValueError, match="node 2"):
        solve(lonely)
    with pytest.raises(ValueError, match="stations"):
        strip_forces(solve(barrel()), 1.2)


def test_few_wide_plates_are_enough_and_strips_converge():
    # A folded roof of five plates: each plate bends in its plane, which the quadratic terms hold.
    x, z = [0.0, 0.6, 2.4, 4.8, 6.6, 7.2], [0.0, 0.0, 1.4, 1.4, 0.0, 0.0]
    drops, shears = [], []
    for pieces in (1, 2, 4, 8, 16, 32):
        fraction = np.arange(5 * pieces + 1) / pieces
        fine = [np.interp(fraction, np.arange(6), v) for v in (x, z)]
        strips = Strips.chain(*fine, np.repeat([0.25, 0.1, 0.1, 0.1, 0.25], pieces), "wing")
        solved = solve(strips, PlateLoads(surface=4000.0), span=24.0)
        drops.append(-displacements(solved)[0, pieces, 2])
        shears.append(smoothed(strips, strip_forces(solved, 0.1)).n_ys[0, 2 * pieces, 0])
    assert drops[0] == pytest.approx(drops[-1], rel=1e-3)
    steps = np.abs(np.diff(shears))
    np.testing.assert_allclose(np.log2(steps[:-1] / steps[1:]), 2.0, atol=0.05)


def test_several_load_cases_share_one_factorisation_and_add_up():
    strips = gull_wing()
    whole = uneven(strips)
    cases = (
        PlateLoads(surface=whole.surface),
        PlateLoads(plan=whole.plan),
        dataclasses.replace(whole, surface=0.0),
    )
    arguments = {"span": 14.0, "modulus": MODULUS, "poisson": 0.2}
    together = folded_plates(strips, cases, **arguments)
    for case, loads in zip(together, cases, strict=True):
        np.testing.assert_array_equal(
            case.displacement, folded_plate(strips, loads, **arguments).displacement
        )
    design = combined(together, (1.35, 1.5, 0.0))
    factored = PlateLoads(surface=1.35 * whole.surface, plan=1.5 * whole.plan)
    expected = folded_plate(strips, factored, **arguments)
    for name in ("displacement", "nodal_load", "strip_load"):
        np.testing.assert_allclose(getattr(design, name), getattr(expected, name), rtol=1e-9, atol=1e-14)
    assert equilibrium(design).worst < 1e-8
