"""Labels and joints of sections from outside: no beam is roof surface, no neighbour no joint."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from longvault.sections import Joint, Section, Strips
from longvault.sections.families import Setting
from longvault.sections.families.registry import FAMILIES, make_family
from longvault.sections.families.vaults import curve_vault
from longvault.sections.plausible import check_joints, judged_parts

BAY = 9.0
SETTING = Setting(pitch=BAY, height=3.2, thickness=0.08)


def hall(parts=("wing", "crown", "wing"), beam="valley beam", wide=0.15):
    """Circular vault of 24 strips between upright half-beams, its joints at the springing."""
    half, n = 0.5 * (BAY - wide), 24
    angle = np.linspace(-0.64, 0.64, n + 1)
    x, z = half * np.sin(angle) / np.sin(0.64), half * (np.cos(angle) - np.cos(0.64)) / np.sin(0.64)
    x, z = np.append(x, [x[0], x[-1]]), np.append(z, [-1.0, -1.0])
    ends = [(i, i + 1) for i in range(n)] + [(0, n + 1), (n, n + 2)]
    third = n // 3
    names = [part for part in parts for _ in range(third)] + [beam] * 2
    thickness = [0.1] * n + [wide] * 2
    joints = (Joint(0, "valley", "left"), Joint(n, "valley", "right"))
    return Section("hall", Strips(x, z, np.array(ends), thickness, tuple(names)), joints)


def labels(section, bay=BAY):
    return judged_parts(section, bay)[0].strips.parts


@pytest.mark.parametrize("name", [name for name in FAMILIES if not name.startswith("tapered-")])
def test_every_family_is_what_it_says(name):
    family = make_family(name, SETTING)
    rng = np.random.default_rng(4)
    low, high = np.array([(v.lower, v.upper) for v in family.variables]).T
    x = np.concatenate([family.starts(), rng.uniform(low, high, (20, len(low)))])
    for one in (family.strips(x)[i] for i in range(len(x))):
        if np.isfinite(one.x).all():
            section = Section(name, one, family.joints)
            assert judged_parts(section, BAY) == (section, "")
            check_joints(section, BAY)
            check_joints(section)


@pytest.mark.parametrize("edge", ["valley beam", "vertical beam", "horizontal beam", "gutter box", "none"])
def test_vaults_meet_at_the_edge_of_the_bay(edge):
    family = curve_vault("segment-vault", SETTING, edge)
    strips = family.strips(family.starts())[0]
    check_joints(Section("vault", strips, family.joints), BAY)
    reach = {node: abs(float(strips.x[node])) for node in (j.node for j in family.joints)}
    room = float(strips.thickness.max())
    assert all(0.5 * BAY - room <= x <= 0.5 * BAY + 1e-9 for x in reach.values())


@pytest.mark.parametrize("part", ["kerb", "edge beam", "valley beam"])
def test_a_roof_called_beam_is_roof(part):
    """The whole shell, a strip in its middle, every second strip: none ends free, none is straight enough."""
    assert set(labels(hall(parts=(part, "crown", part)))[:8]) == {"wing"}
    plain = hall()
    for called in ({12}, set(range(0, 24, 2))):
        parts = tuple(part if e in called else p for e, p in enumerate(plain.strips.parts))
        s = plain.strips
        found, said = judged_parts(Section("x", Strips(s.x, s.z, s.ends, s.thickness, parts)), BAY)
        assert not {found.strips.parts[e] for e in called} & {"kerb", "edge beam", "valley beam"}
        assert part in said


def test_real_beams_keep_their_names():
    section = hall()
    assert judged_parts(section, BAY) == (section, "")
    assert labels(hall(beam="edge beam"))[-1] == "edge beam"


def test_a_roof_called_kerb_leaves_the_beams_that_are_there():
    assert labels(hall(parts=("kerb", "kerb", "kerb"))) == ("wing",) * 24 + ("valley beam",) * 2


def test_a_valley_beam_stands_at_the_edge_of_the_bay():
    assert labels(hall(), 9.0)[-2:] == ("valley beam", "valley beam")
    assert labels(hall(), 9.5)[-2:] == ("wing", "wing")


def test_slender_uprights_are_walls():
    assert labels(hall(beam="edge beam", wide=0.04))[-1] == "wing"


def test_a_section_of_beams_alone_is_refused():
    wall = Strips.chain([0.0, 0.0], [0.0, 1.0], 0.2, "kerb")
    with pytest.raises(ValueError, match="every strip is called beam or kerb"):
        judged_parts(Section("wall", wall), 6.0)


def moved(section, **joints):
    return Section(section.name, section.strips, joints["joints"])


@pytest.mark.parametrize(
    ("joints", "bay", "said"),
    [
        (
            [(0, "valley", "left"), (24, "valley", "right")],
            12.0,
            "3.15 m apart at a bay of 12 m; set bay_m = 9",
        ),
        ([(n, "valley", "left" if n < 12 else "right") for n in range(25)], 9.0, "one upright line"),
        ([(0, "valley", "left"), (24, "valley", "right"), (26, "valley", "right")], 9.0, "must pair"),
        ([(25, "valley", "left"), (24, "valley", "right")], 9.0, "different heights"),
        ([(5, "slot", "left"), (24, "slot", "right")], 9.0, "slot joint 5 on the left lies at x = -"),
        ([(0, "slot", "left"), (18, "strut", "right")], 9.0, "strut joint 18 on the right"),
    ],
)
def test_joints_that_meet_nobody_are_refused(joints, bay, said):
    with pytest.raises(ValueError, match=said):
        check_joints(moved(hall(), joints=tuple(Joint(*one) for one in joints)), bay)


def test_joints_down_a_shared_beam_are_taken():
    joints = [(0, "valley", "left"), (25, "valley", "left"), (24, "valley", "right"), (26, "valley", "right")]
    check_joints(moved(hall(), joints=tuple(Joint(*one) for one in joints)), 9.0)


@given(st.floats(0.5, 3.0))
@settings(max_examples=20, deadline=None)
def test_a_scaled_roof_in_a_scaled_bay_is_judged_alike(size):
    """Shape and place decide, not size: all but the millimetre that two places may differ by."""
    section = hall(parts=("kerb", "crown", "wing"))
    s = section.strips
    scaled = Section("x", Strips(size * s.x, size * s.z, s.ends, size * s.thickness, s.parts), section.joints)
    assert labels(scaled, size * BAY) == labels(section)


def test_a_strut_stiffer_than_steel_is_refused():
    stiff = tuple(Joint(joint.node, "strut", joint.side, 1e12) for joint in hall().joints)
    with pytest.raises(ValueError, match="no steel strut is stiffer than 1e\\+07"):
        check_joints(Section("x", hall().strips, stiff), BAY)


@pytest.mark.parametrize("name", [name for name in FAMILIES if name.startswith("tapered-")])
def test_tapers_are_what_they_say_from_root_to_tip(name):
    family = make_family(name, SETTING)
    rng = np.random.default_rng(4)
    low, high = np.array([(v.lower, v.upper) for v in family.variables]).T
    for x in rng.uniform(low, high, (8, len(low))):
        sections = family.member(x).sections
        if np.isfinite(sections.x).all():
            stations = [sections[k] for k in range(sections.batch[0])]
            assert judged_parts(Section(name, stations[0], family.joints), BAY, stations)[1] == ""


def test_a_beam_that_leans_into_the_surface_on_the_way_to_the_tip_is_none():
    """At the root an upright kerb; at the tip it lies flat, 2.4 m wide, over a quarter of the bay of 9 m."""
    x, z = [-4.4, -2.0, 2.0, 4.4], np.array([1.2, 1.0, 1.0, 1.2])
    tip = Strips.chain(x, z, 0.14, ["kerb", "wing", "kerb"])
    root = Strips.chain([-2.1, -2.0, 2.0, 2.1], [2.0, 1.0, 1.0, 2.0], 0.14, tip.parts)
    section = Section("canopy", root)
    assert judged_parts(section, BAY)[1] == ""
    found, said = judged_parts(section, BAY, (root, tip))
    assert found.strips.parts == ("wing", "wing", "wing")
    assert said == "2 strips called kerb are no beams or kerbs and are looked at as roof surface"


@pytest.mark.parametrize(
    ("thickness", "rise", "is_beam"), [(0.1, 0.0, False), (0.2, 0.0, True), (0.1, 0.5, True)]
)
def test_a_flat_lip_that_runs_on_as_the_surface_does_is_no_edge_beam(thickness, rise, is_beam):
    """Lip of 0.6 m at either side: as thick as the level surface, twice as thick, turned by 40 degrees."""
    x, z = [-3.6, -3.0, 3.0, 3.6], [rise, 0.0, 0.0, rise]
    lip = Strips.chain(x, z, [thickness, 0.1, thickness], ["edge beam", "wing", "edge beam"])
    assert (judged_parts(Section("roof", lip), 7.2)[1] == "") is is_beam
