"""Lever arms, bar room and shear against closed forms."""

import numpy as np
import pytest

from longvault.constraints.basis import Detailing
from longvault.constraints.reinforcement import beam_section, clear_spacing
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
