"""The transverse slice: published method's constants, statics, edge conditions, and the long folded plate."""

import numpy as np
import pytest

from longvault.constraints.plates import Links, PlateLoads, Supports, folded_plate
from longvault.constraints.plates_results import displacements, link_forces, smoothed, strip_forces
from longvault.constraints.plates_row import bay_supports
from longvault.constraints.slice import transverse_slice
from longvault.sections import Joint, Section, Strips

# Transverse moment / (g R^2), slice under load and specific shear. Derived for this project (beam-arch method
# after Lundgren, Cylindrical Shells, vol. 1, 1949, and Chinn, ACI Journal, May 1959); inextensible; 1e-6.
# Half-angle; dead load: free crown, interior crown and valley; plan load: the same.
CONSTANTS = {
    30: (0.04768239, 0.00533281, 0.01204724, 0.04259702, 0.00482577, 0.01082478),
    35: (0.06308839, 0.00707609, 0.01591326, 0.05392375, 0.00615125, 0.01370640),
    40: (0.07968359, 0.00897049, 0.02006416, 0.06454583, 0.00742081, 0.01641088),
    45: (0.09697466, 0.01096880, 0.02437575, 0.07361132, 0.00853639, 0.01872141),
}


def barrel(half, pieces, thickness=3e-4):
    angle = np.radians(np.linspace(-half, half, pieces + 1))
    return Strips.chain(np.sin(angle), np.cos(angle), thickness, "wing")


def valleys(nodes):
    spring = np.zeros((nodes, 4))
    spring[[0, -1], 0] = spring[[0, -1], 3] = np.inf
    return Supports(spring)


def constants(half, pieces):
    strips, found = barrel(half, pieces), []
    for loads in (PlateLoads(surface=1.0), PlateLoads(plan=1.0)):
        free = transverse_slice(strips, loads, modulus=30e9)
        interior = transverse_slice(strips, loads, modulus=30e9, supports=valleys(pieces + 1))
        found += [free.m_s[pieces // 2, 0], interior.m_s[pieces // 2, 0], interior.m_s[0, 0]]
    return np.array(found)


@pytest.mark.parametrize("half", CONSTANTS)
def test_beam_arch_constants(half):
    # facets of an arc converge with h^2: one step of Richardson's extrapolation
    fine, coarse = constants(half, 128), constants(half, 64)
    np.testing.assert_allclose(fine + (fine - coarse) / 3, CONSTANTS[half], rtol=0, atol=1e-6)
    np.testing.assert_allclose(fine, CONSTANTS[half], rtol=0, atol=5 / 128**2)


def gull_wing():
    """Two wings of 100 mm on a keel, kerbs at the slot edges."""
    wing = np.linspace(0.7, 3.0, 9)
    rise = 2.1 * np.sin(np.linspace(0, np.pi / 2, 9))
    x = np.r_[-3, -wing[::-1], -0.35, 0, 0.35, wing, 3]
    z = np.r_[2.6, rise[::-1], 0, 0, 0, rise, 2.6]
    t = np.r_[0.2, np.full(8, 0.1), np.full(4, 0.18), np.full(8, 0.1), 0.2]
    return Strips.chain(x, z, t, "wing"), PlateLoads(surface=25e3 * t, plan=600.0)


def north_light():
    x, z = [0.0, 0.6, 1.5, 2.6, 3.6, 4.35, 4.6], [0.0, 0.0, 1.2, 2.0, 2.4, 2.45, 2.5]
    return Strips.chain(x, z, [0.15, 0.08, 0.08, 0.08, 0.08, 0.2], "wing"), PlateLoads(surface=2600.0)


def branch():
    x, z = np.array([-3.0, -2.0, 0.0, 2.0, 3.0, -2.0, 2.0]), np.array([0.9, 0.7, 0.0, 0.7, 0.9, 1.4, 1.4])
    ends = np.array([(0, 1), (1, 2), (2, 3), (3, 4), (1, 5), (3, 6)])
    return Strips(x, z, ends, np.full(6, 0.1), ("wing",) * 6), PlateLoads(surface=2600.0)


def box():
    x, z = np.array([0.0, 2.0, 2.0, 0.0, -1.5, 3.5]), np.array([0.0, 0.0, 1.0, 1.0, 1.2, 1.2])
    ends = np.array([(0, 1), (1, 2), (2, 3), (3, 0), (3, 4), (2, 5)])
    return Strips(x, z, ends, np.full(6, 0.1), ("web",) * 6), PlateLoads(surface=2600.0)


@pytest.mark.parametrize("make", [gull_wing, north_light, branch, box], ids=lambda f: f.__name__)
def test_a_lone_slice_needs_no_support(make):
    strips, loads = make()
    found = transverse_slice(strips, loads, modulus=33e9, poisson=0.2)
    size = np.abs(loads.nodal(strips)).sum()
    np.testing.assert_allclose(found.support, 0.0, atol=1e-8 * size)


def test_free_edges_are_free():
    for strips, loads in (gull_wing(), north_light()):
        found = transverse_slice(strips, loads, modulus=33e9)
        for strip, end in ((0, 0), (-1, 1)):
            assert abs(found.n_s[strip, end]) < 1e-8 * np.abs(found.n_s).max()
            assert abs(found.m_s[strip, end]) < 1e-4 * np.abs(found.m_s).max()


def test_torque_is_the_load_times_its_distance_to_the_shear_centre():
    # Thin channel (web up, flanges to the right), b 8, h 18, t small: the shear centre lies 3 b^2/(h + 6 b)
    # left of the web line (Pilkey, Analysis and Design of Elastic Beams, B.2, thin value 2.90909).
    b, h, t = 8.0, 18.0, 1e-3
    strips = Strips.chain([b, 0.0, 0.0, b], [h, h, 0.0, 0.0], t, "web")
    found = transverse_slice(strips, PlateLoads(line_down=[0.0, 0.5, 0.5, 0.0]), modulus=30e9)
    assert abs(float(found.torque)) == pytest.approx(2.90909, rel=1e-5)
    symmetrical = transverse_slice(*gull_wing(), modulus=30e9)
    assert abs(float(symmetrical.torque)) < 1e-9 * 3000


def test_a_long_folded_plate_tends_to_the_slice():
    strips, loads = gull_wing()
    found = transverse_slice(strips, loads, modulus=33e9)
    solved = folded_plate(strips, loads, span=120.0, modulus=33e9, harmonics=tuple(range(1, 100, 2)))
    forces, moved = smoothed(strips, strip_forces(solved)), displacements(solved)[0]
    valley = 10
    assert forces.m_s[0, valley, 0] == pytest.approx(found.m_s[valley, 0], rel=0.01)
    assert forces.n_s[0, valley, 0] == pytest.approx(found.n_s[valley, 0], rel=0.01)
    spread = moved[-1, 0] - moved[0, 0]
    assert found.moved[-1, 0] - found.moved[0, 0] == pytest.approx(spread, rel=0.02)
    assert spread > 0, "a lone gull-wing spreads outward"


def test_a_strut_across_the_slot_takes_the_moment_out_of_the_wings():
    strips, loads = gull_wing()
    last = strips.x.size - 1
    free = transverse_slice(strips, loads, modulus=33e9)
    spring = np.zeros((last + 1, 4))
    spring[[0, last], 0] = np.inf
    tied = transverse_slice(strips, loads, modulus=33e9, supports=Supports(spring))
    assert np.abs(tied.m_s).max() < 0.25 * np.abs(free.m_s).max()
    assert tied.support[0, 0] == pytest.approx(-tied.support[last, 0], rel=1e-9)
    assert tied.support[0, 0] > 0, "the struts are pushed"
    linked = transverse_slice(strips, loads, modulus=33e9, links=Links([[0, last]], [1e13]))
    np.testing.assert_allclose(linked.m_s, tied.m_s, atol=1e-4 * np.abs(free.m_s).max())
    solved = folded_plate(
        strips,
        loads,
        span=60.0,
        modulus=33e9,
        links=Links([[0, last]], [1e9]),
        harmonics=tuple(range(1, 100, 2)),
    )
    assert link_forces(solved)[0, 0] == pytest.approx(tied.support[0, 0], rel=0.03)


def market_hall(pieces=48):
    """Shallow vault R 7.5 m over a 9 m bay, half of a shared 0.25 x 0.75 m valley beam at each side."""
    half = np.arcsin(4.5 / 7.5)
    angle = np.linspace(-half, half, pieces + 1)
    x, z = 7.5 * np.sin(angle), 7.5 * np.cos(angle)
    x, z = np.r_[x[0], x, x[-1]], np.r_[z[0] - 0.75, z, z[-1] - 0.75]
    t = np.r_[0.125, np.full(pieces, 0.08), 0.125]
    joints = (Joint(1, "valley", "left"), Joint(pieces + 1, "valley", "right"))
    strips = Strips.chain(x, z, t, ("edge beam", *("wing",) * pieces, "edge beam"))
    finish = np.r_[0.0, np.full(pieces, 600.0), 0.0]
    return Section("market hall", strips, joints), PlateLoads(surface=25e3 * t + finish, plan=640.0)


def test_interior_bay_of_a_market_hall():
    section, loads = market_hall()
    supports = bay_supports(section, "interior")
    found = transverse_slice(section.strips, loads, modulus=33e9, poisson=0.2, supports=supports)
    # harmonic method of an independent prototype: 2.1 kNm/m and a pull of 5.1 kN/m at each valley
    assert np.abs(found.m_s).max() / 1e3 == pytest.approx(2.1, abs=0.1)
    assert found.support[1, 0] / 1e3 == pytest.approx(-5.1, abs=0.2)
    assert found.support[-2, 0] == pytest.approx(-found.support[1, 0], rel=1e-9)
    assert abs(found.support[..., 2]).max() < 1e-6 * 3000
    np.testing.assert_allclose(found.moved[[1, -2]][:, [0, 2]], 0.0, atol=1e-12)
    lone = transverse_slice(section.strips, loads, modulus=33e9, poisson=0.2)
    assert np.abs(lone.m_s).max() > 3 * np.abs(found.m_s).max()
    assert lone.moved[1, 0] > 0, "a lone vault's edges move inward under its weight"


def test_mirror_and_superposition():
    strips, loads = north_light()
    one = transverse_slice(strips, loads, modulus=33e9, poisson=0.2)
    two = transverse_slice(strips.mirrored(), loads, modulus=33e9, poisson=0.2)
    np.testing.assert_allclose(two.m_s, one.m_s, rtol=1e-8, atol=1e-6)
    np.testing.assert_allclose(two.moved, one.moved * [-1, 1, -1], rtol=1e-6, atol=1e-10)
    assert float(two.torque) == pytest.approx(-float(one.torque), rel=1e-9)
    double = transverse_slice(strips, PlateLoads(surface=2 * 2600.0), modulus=33e9, poisson=0.2)
    np.testing.assert_allclose(double.m_s, 2 * one.m_s, rtol=1e-9, atol=1e-6)


def test_batch_law_and_bad_candidates():
    strips, loads = gull_wing()
    rng = np.random.default_rng(4)
    x = strips.x + 0.03 * rng.random((9, strips.x.size))
    t = strips.thickness * (1 + 0.2 * rng.random((9, strips.thickness.size)))
    x[4, 3] = np.nan
    batch = Strips(x, np.tile(strips.z, (9, 1)), strips.ends, t, strips.parts)
    whole = transverse_slice(batch, loads, modulus=33e9, poisson=0.2)
    for i in (0, 5, 8):
        one = transverse_slice(batch[i], loads, modulus=33e9, poisson=0.2)
        for name in ("n_s", "m_s", "moved", "support", "torque"):
            np.testing.assert_array_equal(getattr(one, name), getattr(whole, name)[i], err_msg=name)
    assert np.isnan(whole.m_s[4]).any()
    assert np.isfinite(whole.m_s[[0, 1, 2, 3, 5, 6, 7, 8]]).all()
