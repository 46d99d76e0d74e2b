"""Laws of modules in a row: numbers of nodes and mirroring are of no account; a row may rock as one."""

from dataclasses import replace

import numpy as np
import pytest

from longvault.constraints.actions import Loads, Wind
from longvault.constraints.basis import Basis, Requirements
from longvault.constraints.evaluate import evaluate
from longvault.constraints.plates_records import Links
from longvault.constraints.plates_row import row
from longvault.constraints.proof import Proving, proof_measures
from longvault.constraints.slice_checks import slice_measures
from longvault.constraints.stability import lowest_factor
from longvault.sections import Joint, Section, Strips

PITCH = 6.6
PROVING = Proving(strut=1e8)
SLOTS = ("slot", "slot")
WIND = Wind("from the left", ((0.0, 0.5, 900.0), (0.5, 1.0, -300.0)))


def gull(kerb=0.5):
    """Gull-wing with kerbs on its wing tips; nodes run on from the left tip, kerb tops come last."""
    x = np.array([-3.0, -2.4, -1.8, -1.3, -0.9, -0.7, 0.7, 0.9, 1.3, 1.8, 2.4, 3.0, -3.0, 3.0])
    z = np.array([2.1, 1.8, 1.4, 0.9, 0.4, 0.0, 0.0, 0.4, 0.9, 1.4, 1.8, 2.1, 2.1 + kerb, 2.1 + kerb])
    ends = np.array([*((i, i + 1) for i in range(11)), (0, 12), (11, 13)])
    parts = ("wing",) * 5 + ("keel",) + ("wing",) * 5 + ("kerb",) * 2
    strips = Strips(x, z, ends, np.full(13, 0.1), parts)
    return strips, (Joint(0, "slot", "left"), Joint(11, "slot", "right"))


def renumbered(strips, joints, order):
    """Give node ``order[k]`` the number k, and turn the strips about."""
    new = np.argsort(order)
    ends = new[strips.ends][::-1, ::-1]
    return (
        Strips(strips.x[order], strips.z[order], ends, strips.thickness[::-1], strips.parts[::-1]),
        tuple(replace(joint, node=int(new[joint.node])) for joint in joints[::-1]),
    )


def mirrored(strips, joints):
    other = {"left": "right", "right": "left"}
    return strips.mirrored(), tuple(replace(joint, side=other[joint.side]) for joint in joints)


def basis(wind=()):
    loads = Loads(finish=600.0, snow=800.0, maintenance=400.0, wind=wind)
    return Basis(span=24.0, pitch=PITCH, loads=loads, requirements=Requirements(height_max=3.0), held=False)


def demands(strips, joints, asked):
    asked = replace(asked, joints=joints, crosswise=PROVING)
    measures = dict(evaluate(strips, asked).measures)
    strict = replace(PROVING, stability=replace(PROVING.stability, safety=1.0), slot_movement=10.0)
    found = proof_measures(strips, joints, measures, asked, strict)
    return found | slice_measures(strips, measures, asked)


@pytest.mark.parametrize("wind", [(), (WIND,)], ids=["snow", "wind"])
def test_struts_do_not_look_at_the_numbers_of_nodes_nor_at_the_side(wind):
    asked, drawn = basis(wind), gull()
    own = demands(*drawn, asked)
    again = demands(*renumbered(*drawn, np.array([12, *range(12), 13])), asked)
    shuffled = demands(*renumbered(*drawn, np.random.default_rng(4).permutation(14)), asked)
    for key, value in own.items():
        assert float(again[key]) == pytest.approx(float(value), rel=1e-6, abs=1e-9), key
        assert float(shuffled[key]) == pytest.approx(float(value), rel=1e-6, abs=1e-9), key
    if not wind:
        turned = demands(*mirrored(*drawn), asked)
        for key, value in own.items():
            assert float(turned[key]) == pytest.approx(float(value), rel=1e-6, abs=1e-9), key


def test_wind_from_one_side_moves_a_row_that_struts_join_as_one():
    """A level strut is not strained where all modules lean alike: the edges move as those of a free slot."""
    asked, (strips, joints) = basis((WIND,)), gull()
    strutted = float(demands(strips, joints, asked)["slot_movement"])
    calm = float(demands(strips, joints, basis())["slot_movement"])  # snow on every other bay moves them too
    alike = basis()
    alike = replace(alike, loads=replace(alike.loads, snow=0.0, maintenance=800.0))
    even = float(demands(strips, joints, alike)["slot_movement"])
    assert strutted > 20.0 * even
    assert strutted > 10.0 * calm


def factor(strips, links, factor_of=1e6):
    stress = np.full((len(strips.ends), 2), -factor_of)
    found, _ = lowest_factor(
        strips, stress, half_waves=[24.0, 12.0, 6.0], modulus=33e9, poisson=0.2, links=links, accuracy=1e-7
    )
    return float(found)


def ring(section, count):
    """Stand modules in a row and join the last to the first: a row without an end."""
    strips, links = row(section, count, PITCH)
    one = PROVING.links(section.strips, section.joints, "interior", PITCH)
    nodes = section.strips.x.size
    closing = Links(one.ends + np.array([(count - 1) * nodes, 0]), one.stiffness, one.shift * count)
    return strips, links.and_also(closing)


def north_light():
    x, z = np.linspace(0.0, 5.0, 9), np.array([0.0, 0.0, 0.5, 1.1, 1.6, 2.0, 2.3, 2.45, 2.5])
    strips = Strips.chain(x, z, np.r_[0.2, np.full(7, 0.08)], ["gutter", *["wing"] * 7])
    return Section("north-light", strips, (Joint(0, "slot", "left"), Joint(8, "slot", "right")))


@pytest.mark.parametrize("section", [Section("gull", *gull()), north_light()], ids=["gull", "north-light"])
def test_a_row_without_an_end_buckles_in_unison_or_in_turn(section):
    """Ring of six modules: waves of 1, 2, 3 and 6 modules along the row; none is lower than those two."""
    struts = tuple(replace(joint, kind="strut", spring=1e8) for joint in section.joints)
    whole = factor(*ring(replace(section, joints=struts), 6))
    links = PROVING.links(section.strips, section.joints, "interior", PITCH)
    unison, turns = factor(section.strips, links), factor(section.strips, replace(links, in_turn=True))
    assert min(unison, turns) == pytest.approx(whole, rel=1e-3)


def test_struts_do_not_help_a_module_alike_on_both_sides_against_buckling():
    """Leaning in unison strains no level strut, nor does one module that opens as the next closes."""
    strips, joints = gull()
    links = PROVING.links(strips, joints, "interior", PITCH)
    free = factor(strips, Links.none())
    assert min(factor(strips, links), factor(strips, replace(links, in_turn=True))) == pytest.approx(free)
