"""Bays and rows: what joints hold, and a row of modules as one chain."""

import numpy as np
import pytest

from longvault.constraints.plates import PlateLoads, Supports, folded_plate
from longvault.constraints.plates_checks import equilibrium
from longvault.constraints.plates_results import displacements, link_forces, link_pull, support_forces
from longvault.constraints.plates_row import bay_supports, neighbour_struts, row
from longvault.constraints.proving import Proving
from longvault.constraints.slice import transverse_slice
from longvault.sections import Joint, Section, Strips

LOADS = PlateLoads(surface=3000.0)


def vault(joints=True, pieces=16):
    angle = np.radians(np.linspace(-40.0, 40.0, pieces + 1))
    strips = Strips.chain(7 * np.sin(angle), 7 * np.cos(angle), 0.08, "wing")
    ends = (Joint(0, "valley", "left"), Joint(pieces, "valley", "right"))
    return Section("vault", strips, ends if joints else ())


def gull(spring=5e6):
    x = [-3.0, -2.2, -1.2, -0.7, 0.7, 1.2, 2.2, 3.0]
    z = [2.0, 1.8, 1.0, 0.0, 0.0, 1.0, 1.8, 2.0]
    kind = "strut" if spring else "slot"
    joints = (Joint(0, kind, "left", spring), Joint(7, kind, "right", spring))
    return Section("gull-wing", Strips.chain(x, z, 0.1, "wing"), joints)


def solve(strips, **arguments):
    return folded_plate(strips, LOADS, span=20.0, modulus=30e9, poisson=0.2, **arguments)


def test_what_each_bay_holds():
    section = vault()
    assert not bay_supports(section, "lone").spring.any()
    interior, end = bay_supports(section, "interior").spring, bay_supports(section, "end").spring
    assert np.isinf(interior[[0, -1]][:, [0, 3]]).all()
    assert not interior[:, 1:3].any()
    assert not interior[1:-1].any()
    assert not end[:-1].any()
    assert np.isinf(end[-1, [0, 3]]).all()


def test_outermost_nodes_are_never_held_for_being_outermost():
    section = gull(spring=0.0)
    assert not bay_supports(section, "interior").spring.any()
    assert not struts(section).ends.size
    assert not bay_supports(gull(), "interior").spring.any()


def struts(section, pitch=7.0, bay="interior"):
    return neighbour_struts(section.strips, section.joints, bay, pitch)


def test_struts_reach_to_the_next_module_with_both_halves_in_series():
    found = struts(gull())
    assert (found.ends.tolist(), found.stiffness.tolist(), found.shift.tolist()) == ([[7, 0]], [2.5e6], [7.0])
    assert not struts(gull(), bay="end").ends.size
    assert not struts(gull(), bay="lone").ends.size
    unlike = Section("u", gull().strips, (Joint(0, "strut", "left", 2e6), Joint(7, "strut", "right", 6e6)))
    assert struts(unlike).stiffness.tolist() == [1.5e6]
    alone = Section("a", gull().strips, (Joint(0, "slot", "left"), Joint(7, "strut", "right", 6e6)))
    assert not struts(alone).ends.size


def test_a_bay_without_joints_is_refused():
    for bay, side in (("interior", "left"), ("end", "right")):
        with pytest.raises(ValueError, match=side):
            bay_supports(vault(joints=False), bay)
    with pytest.raises(ValueError, match="lone, interior, end"):
        bay_supports(vault(), "middle")


def test_middle_of_a_long_row_is_the_interior_bay_and_its_end_the_end_bay():
    section = vault()
    pitch = 14 * np.sin(np.radians(40.0))
    strips, links = row(section, 9, pitch)
    assert strips.is_chain
    whole = displacements(solve(strips, links=links))[0]
    middle, last = whole[4 * 16 : 5 * 16 + 1], whole[:17]
    interior = displacements(solve(section.strips, supports=bay_supports(section, "interior")))[0]
    end = displacements(solve(section.strips, supports=bay_supports(section, "end")))[0]
    np.testing.assert_allclose(middle, interior, atol=0.01 * np.abs(interior).max())
    # an end bay is close to the outer bay of a row, not equal: the second bay gives a little
    assert abs(last[0, 2] / end[0, 2] - 1) < 0.15
    assert abs(end[0, 2] / interior[0, 2]) > 1.3


def test_a_row_of_one_is_lone_and_valley_forces_cancel_inside_but_not_in_the_end_bay():
    section = vault()
    pitch = 14 * np.sin(np.radians(40.0))
    one, none = row(section, 1, pitch)
    np.testing.assert_array_equal(one.x, section.strips.x)
    assert none.ends.shape == (0, 2)
    held = support_forces(solve(section.strips, supports=bay_supports(section, "interior")))
    assert held[0, 0, 0] == pytest.approx(-held[0, -1, 0], rel=1e-8)
    outer = support_forces(solve(section.strips, supports=bay_supports(section, "end")))
    # an end bay has nobody on the left: it carries the pull of its neighbour sideways, as a beam
    assert outer[0, -1, 0] > 0.5 * held[0, -1, 0] > 0
    assert abs(outer[0, 0, 0]) < 1e-6 * outer[0, -1, 0]


def test_struts_between_modules_are_the_spring_to_the_plane_of_symmetry():
    section = gull()
    strips, links = row(section, 9, 7.0)
    assert links.ends.shape == (8, 2)
    assert strips.x[links.ends[:, 1]] - strips.x[links.ends[:, 0]] == pytest.approx(np.ones(8))
    solved = solve(strips, links=links)
    interior = solve(section.strips, links=struts(section))
    moved = displacements(solved)[0][4 * 8 : 5 * 8]
    alone = displacements(interior)[0]
    np.testing.assert_allclose(moved, alone, atol=0.02 * np.abs(alone).max())
    pushed = link_pull(interior)[0][:, 0] @ np.sin(np.pi / 2 * interior.harmonics)
    assert link_forces(solved)[0, 3] == pytest.approx(pushed, rel=0.02)
    assert pushed < 0, "struts across the slot of a gull-wing are pushed"
    assert equilibrium(solved).worst < 1e-6


def test_rows_that_do_not_pair_are_refused():
    with pytest.raises(ValueError, match="pitch"):
        row(vault(), 3, 5.0)
    with pytest.raises(ValueError, match="count"):
        row(vault(), 0, 9.0)
    with pytest.raises(ValueError, match="pair"):
        row(vault(joints=False), 2, 9.0)


def test_a_free_support_record_holds_nothing():
    assert not Supports.free(5).spring.any()


def north_light(spring=2e7):
    """Gutter, shell and top beam; glass with struts to the next gutter, 6 m on."""
    angle = np.linspace(0.15, 0.95, 21)
    x, z = np.r_[0.0, 0.55 + 6.0 * (angle - 0.15)], np.r_[0.0, 2.4 * np.sin(1.9 * (angle - 0.15))]
    x, z = np.r_[x, x[-1]], np.r_[z, z[-1] - 0.4]
    t = np.r_[0.15, np.full(20, 0.08), 0.15]
    joints = (Joint(0, "strut", "left", spring), Joint(22, "strut", "right", spring))
    return Section("north-light", Strips.chain(x, z, t, ["gutter", *["wing"] * 20, "edge beam"]), joints)


def by_shift(section, spring, pitch=6.0, bay="interior"):
    slots = tuple(Joint(joint.node, "slot", joint.side) for joint in section.joints)
    return Proving(strut=spring).links(section.strips, slots, bay, pitch)


def to_the_plane(section):
    """Springs from both edges to a plane of symmetry mid-slot, of a module whose neighbours mirror it."""
    spring = np.zeros((section.strips.x.size, 4))
    for joint in section.joints:
        spring[joint.node, 0] = joint.spring
    return Supports(spring)


def test_interior_north_light_repeats_by_shift_as_the_middle_of_a_long_row():
    """Each module moves as the next one does, to 1e-9; the mirror image of a north-light is no neighbour."""
    section = north_light()
    links = by_shift(section, 2e7)
    assert links.ends.tolist() == [[22, 0]]
    solved = solve(section.strips, links=links)
    strips, between = row(section, 25, 6.0)
    whole = solve(strips, links=between)
    middle = displacements(whole)[0].reshape(25, -1, 4)[12]
    alone, size = displacements(solved)[0], np.abs(middle).max()
    assert np.isfinite(size)
    np.testing.assert_allclose(alone, middle, atol=1e-9 * size)
    assert link_forces(solved)[0, 0] == pytest.approx(link_forces(whole)[0, 12], rel=1e-8)
    assert equilibrium(solved).worst < 1e-6
    mirrored = displacements(solve(section.strips, supports=to_the_plane(section)))[0]
    assert np.abs(mirrored - middle).max() > 0.2 * size


def test_a_symmetrical_module_is_the_same_by_shift_and_by_mirror():
    section = gull()
    one = displacements(solve(section.strips, links=by_shift(section, 5e6, 7.0)))[0]
    two = displacements(solve(section.strips, supports=to_the_plane(section)))[0]
    np.testing.assert_allclose(one, two, atol=1e-9 * np.abs(two).max())


def test_slice_of_a_north_light_with_struts_is_in_balance():
    """The sloping struts take the torque of the module on to the next; nothing else is held."""
    section = north_light()
    links = by_shift(section, 2e7)
    found = transverse_slice(section.strips, LOADS, modulus=30e9, poisson=0.2, links=links)
    free = transverse_slice(section.strips, LOADS, modulus=30e9, poisson=0.2)
    assert np.abs(found.support).max() < 1e-7 * np.abs(LOADS.nodal(section.strips)).sum()
    one, two = links.ends[0]
    along = section.strips.nodes[two] + [6.0, 0.0] - section.strips.nodes[one]
    along /= np.hypot(*along)
    force = float(links.stiffness[0] * ((found.moved[two, :2] - found.moved[one, :2]) @ along))
    # the couple of the force and its answer one pitch further on balances what load and shear leave over
    assert 6.0 * force * along[1] == pytest.approx(-float(free.torque), rel=1e-6)


def point_strut_forces(section, stiffness, spacing, span, harmonics):
    """Push in struts that stand ``spacing`` apart across a slot, by the force method: nothing is smeared.

    Struts reach from each edge to the plane of symmetry. In harmonic m the edges part by f_m a unit pair of
    line loads; a point force X at y is a line load of amplitude 2 X sin(m pi y / L) / L.
    """
    left, right = (joint.node for joint in section.joints)
    nodes, kwargs = section.strips.x.size, {"span": span, "modulus": 30e9, "poisson": 0.2}
    pair = np.zeros(nodes)
    pair[left], pair[right] = 1.0, -1.0
    free, unit = (
        folded_plate(section.strips, loads, harmonics=harmonics, **kwargs)
        for loads in (LOADS, PlateLoads(line_right=pair))
    )
    m = np.array(harmonics)
    flexibility = -unit.displacement[:, right, 0] / unit.amplitude
    place = np.arange(0.5 * spacing, span, spacing)
    sine = np.sin(np.pi * np.outer(place, m) / span)
    closing = sine @ free.displacement[:, right, 0]
    own = 2.0 / span * np.einsum("jm,m,im->ji", sine, flexibility, sine)
    return np.linalg.solve(own + np.eye(len(place)) / (stiffness * spacing), closing), place


def test_struts_three_metres_apart_push_as_continuous_ones_say():
    """Discrete struts by the force method against springs spread along the span, at mid-span within 3 %."""
    section, spring, span = gull(), 5e6, 24.0
    forces, place = point_strut_forces(section, spring, 3.0, span, tuple(range(1, 200, 2)))
    spread = folded_plate(
        section.strips, LOADS, span=span, modulus=30e9, poisson=0.2, harmonics=tuple(range(1, 200, 2)),
        links=struts(section),
    )  # fmt: skip
    sine = np.sin(np.pi * np.outer(place, spread.harmonics) / span)
    smeared = -3.0 * sine @ link_pull(spread)[0][:, 0]
    middle = len(place) // 2
    assert forces[middle] > 0, "pushed"
    np.testing.assert_allclose(forces[2:-2], smeared[2:-2], rtol=0.03)
    assert forces.sum() == pytest.approx(smeared.sum(), rel=0.03)


def test_the_last_north_light_of_a_row_is_not_held_by_a_plane():
    """It stands alone: its neighbour leans as it does, and a long row shows how much."""
    section = north_light()
    assert by_shift(section, 2e7, bay="end").ends.size == 0
    assert not bay_supports(section, "end").spring.any()
    strips, between = row(section, 9, 6.0)
    whole = displacements(solve(strips, links=between))[0].reshape(9, -1, 4)
    alone = displacements(solve(section.strips))[0]
    # of both last modules the lone one moves at least nearly as much as the worse
    assert np.abs(alone[:, 2]).max() > 0.9 * np.abs(whole[[0, -1]][..., 2]).max()
