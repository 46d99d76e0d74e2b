"""Lever arms, bar room and shear against closed forms."""

from dataclasses import replace

import numpy as np
import pytest
from roofs import basis_for

from longvault.constraints.basis import Detailing
from longvault.constraints.effects import Signs
from longvault.constraints.reinforcement import beam_section, clear_spacing
from longvault.constraints.strength import Moments, beam_sections, demands
from longvault.sections import Strips
from longvault.sections.bending import bending_field, elastic_lever_arm
from longvault.sections.properties import section_properties
from longvault.sections.shear_flow import shear_flow

DETAILING = Detailing(
    cover_top=0.03, cover_bottom=0.03, mesh_bar=0.008, main_bar=0.025, aggregate=0.016, bar_zone=0.1
)


def looked_at(strips, **kwargs):
    return beam_section(strips, section_properties(strips), detailing=DETAILING, **kwargs)


def wall(height=3.0, thickness=0.3, count=6):
    z = np.linspace(0.0, height, count + 1)
    return Strips.chain(np.zeros_like(z), z, thickness, "web")


def test_rectangle():
    """Elastic blocks of a rectangle stand 2 h / 3 apart; tau = 3 V / (2 A); I = b h^3 / 12 (any textbook)."""
    b = looked_at(wall())
    assert float(b.arm_block) == pytest.approx(2.0, rel=1e-12)
    assert float(b.shear_stress) == pytest.approx(1.5 / 0.9, rel=1e-12)
    assert float(b.inertia) == pytest.approx(0.3 * 27 / 12, rel=1e-12)
    assert float(b.sway) == 0.0


def test_bars_by_hand():
    """Wall 0.3 m: (300 - 2 (30 + 8) + 25) / 50 = 4.98 -> 4 bars across, one layer every 50 mm over 0.3 m."""
    b = looked_at(wall())
    assert clear_spacing(DETAILING) == 0.025
    assert float(b.bar_room) == pytest.approx(4 * 6 * np.pi * 0.025**2 / 4, rel=1e-9)
    # compression resultant at 2/3 of the upper half: 2.5 m; bars at the middle of the zone: 0.15 m
    assert float(b.arm_bars) == pytest.approx(2.5 - 0.15, rel=1e-9)


def test_thin_shell_has_no_room_for_bars():
    flat = Strips.chain([0.0, 4.0], [0.0, 0.0], 0.06, "wing")
    assert float(looked_at(flat).bar_room) == 0.0


def test_shared_half_takes_half_of_the_whole_beam():
    """Two halves of a 0.25 m valley beam hold what one whole holds: (250 - 76 + 25) / 50 -> 3 bars."""

    def beams(part, thickness):
        return Strips.chain(
            [-3.0, -3.0, 3.0, 3.0],
            [-2.0, 0.0, 0.0, -2.0],
            [thickness, 0.08, thickness],
            [part, "crown", part],
        )

    half, whole = looked_at(beams("valley beam", 0.125)), looked_at(beams("edge beam", 0.25))
    assert float(half.bar_room) == pytest.approx(
        0.5 * float(whole.bar_room) * half_height_ratio(beams), rel=1e-9
    )
    assert float(looked_at(beams("edge beam", 0.125)).bar_room) < float(half.bar_room) * 2


def half_height_ratio(beams):
    p = [section_properties(beams(*a)) for a in (("valley beam", 0.125), ("edge beam", 0.25))]
    return float(p[0].height / p[1].height)


def test_cantilever_is_the_beam_upside_down():
    angle = np.linspace(np.pi, 0.0, 41)
    arch = Strips.chain(3 * np.cos(angle), 3 * np.sin(angle), 0.2, "crown")
    bowl = Strips.chain(3 * np.cos(angle), -3 * np.sin(angle), 0.2, "crown")
    up, down = looked_at(arch, sagging=False), looked_at(bowl)
    for name in ("arm_block", "arm_bars", "bar_room", "flow", "shear_stress", "inertia"):
        assert float(getattr(up, name)) == pytest.approx(float(getattr(down, name)), rel=1e-12)


def test_same_numbers_as_the_public_fields():
    """Second implementation: the numpy field and the shear flow give the arms, the flow and the stress."""
    strips = Strips(
        [-1.0, 0.0, 2.0, 4.0, 4.0, 0.0],
        [0.5, 0.0, 1.5, 2.0, 2.6, -0.7],
        [[0, 1], [1, 2], [2, 3], [3, 4], [1, 5]],
        [0.12, 0.1, 0.08, 0.15, 0.2],
        ["kerb", "wing", "wing", "kerb", "edge beam"],
    )
    p = section_properties(strips)
    for held in (False, True):
        field = bending_field(
            strips, x=p.centroid_x, z=p.centroid_z, ixx=p.ixx, izz=p.izz, ixz=p.ixz, held=held
        )
        b = looked_at(strips, held=held)
        flow = shear_flow(strips, field)
        assert float(b.arm_block) == pytest.approx(float(elastic_lever_arm(strips, field)), rel=1e-12)
        assert float(b.flow) == pytest.approx(flow.peak[1:3].max(), rel=1e-12)
        assert float(b.shear_stress) == pytest.approx((flow.peak / strips.thickness).max(), rel=1e-12)
    assert float(looked_at(strips, held=True).inertia) == pytest.approx(float(p.ixx))
    free = (p.ixx * p.izz - p.ixz**2) / p.izz
    assert float(looked_at(strips).inertia) == pytest.approx(float(free))


def test_a_flat_slab_is_a_solid_section():
    """5 m x 0.10 m: z = d - h / 6, the one layer that fits in the middle, d = 50 mm; 1.5 V / A."""
    for lift in (0.0, 1e-4):  # level, and not quite
        slab = Strips.chain([-2.5, 0.0, 2.5], [0.0, lift, 0.0], 0.10, "wing")
        b = beam_section(slab, section_properties(slab), detailing=Detailing())
        assert float(b.arm_bars) == pytest.approx(0.05 - 0.1 / 6, abs=2e-4)
        assert float(b.arm_block) == pytest.approx(2 * 0.1 / 3, rel=2e-3)
        assert float(b.shear_stress) == pytest.approx(1.5 / 0.5, rel=1e-9)
        assert float(b.bar_room) == pytest.approx(5.0 * np.pi / 4 * 0.025**2 / 0.05, rel=2e-2)


def test_a_thick_flange_whose_middle_lies_beyond_the_zone_keeps_its_outer_layer():
    """Foot 1.2 m x 0.5 m under a thin web, 1.8 m high: zone 180 mm, mid-line at 250 mm."""
    foot = Strips.chain([-0.6, 0.0, 0.6], [0.25, 0.25, 0.25], 0.5, "wing")
    x, z = np.r_[foot.x, 0.0], np.r_[foot.z, 1.8]
    strips = Strips(x, z, [[0, 1], [1, 2], [1, 3]], [0.5, 0.5, 0.06], ["wing", "wing", "web"])
    low = Detailing(bar_zone=0.1)
    b = beam_section(strips, section_properties(strips), detailing=low)
    # one layer over 1.2 m, and none in the web: 60 mm has no room between its covers
    assert float(b.bar_room) == pytest.approx(1.2 * np.pi / 4 * 0.025**2 / 0.05, rel=1e-9)
    assert float(b.bars_z) == pytest.approx(0.0455, abs=1e-9)


def test_no_more_steel_than_four_hundredths_of_the_concrete():
    block = Strips.chain([0.0, 0.0], [0.0, 0.5], [1.5], "web")
    wide = Detailing(bar_zone=1.0, main_bar=0.04, lap_factor=1.0)
    given = replace(basis_for("vault"), detailing=wide)
    p = section_properties(block)
    sections = beam_sections(block, p, given, Signs(True, False))
    one = np.array(1.0)
    m = Moments(one, 0 * one, one, 0 * one)
    found = demands(m, one, p, sections, given, Signs(True, False))
    assert float(sections[0].bar_room) > 0.04 * 0.75
    assert float(found["bar_room"]) == pytest.approx(0.04 * 0.75)
