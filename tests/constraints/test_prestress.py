"""Post-tensioning against hand formulas and against the corners of the section."""

import dataclasses

import numpy as np
import pytest
from briefed_sections import market_hall, reading_hall
from roofs import KEYS, designs_for, family_for

from longvault.constraints.prestress import Tensioning, friction_loss, prestress, tendon_line
from longvault.constraints.stress import SectionForces, stress_extremes
from longvault.sections import Strips
from longvault.sections.properties import section_properties
from longvault.sections.torsion import torsion_properties

PLAIN = Tensioning(later_loss=0.0)


def test_no_tension_by_hand():
    """P (1/A + e / S_b) = M / S_b (any text on prestressing), symmetrical section."""
    strips = reading_hall()
    p = section_properties(strips)
    found = prestress(strips, p, service=2.87e6, transfer=2.0e6, tensioning=PLAIN)
    e = float(p.centroid_z - found.z)
    assert float(found.x) == pytest.approx(0.0, abs=1e-12)
    assert float(found.z) == pytest.approx(0.0)  # 90 mm to either face of the keel, 60 + 30 needed
    assert float(found.least) == pytest.approx(2.87e6 / p.s_bottom / (1 / p.area + e / p.s_bottom), rel=1e-9)
    assert float(found.tension_service) == pytest.approx(0.0, abs=1.0)
    top = 2.0e6 / p.s_top - found.force * (e / p.s_top - 1 / p.area)
    bottom = found.force * (e / p.s_bottom + 1 / p.area) - 2.0e6 / p.s_bottom
    assert float(found.compression_transfer) == pytest.approx(float(max(top, bottom)), rel=1e-9)
    assert -float(found.tension_transfer) == pytest.approx(float(min(top, bottom)), rel=1e-9)
    assert float(found.tension_end) == pytest.approx(
        float(found.force * (e / p.s_top - 1 / p.area)), rel=1e-9
    )


def test_reading_hall_in_figures():
    """Own hand calculation for an invented hall: P = 1.62 MN, top 1.7 MPa compressed at transfer, no tension.

    M_k = 2870 kNm, own weight 25 kN/m3 at transfer, span 24 m.
    """
    strips = reading_hall()
    p = section_properties(strips)
    own = 25e3 * float(p.area) * 24.0**2 / 8
    found = prestress(strips, p, service=2870e3, transfer=own, tensioning=PLAIN)
    assert float(found.least) / 1e6 == pytest.approx(1.62, rel=0.05)
    assert float(found.compression_transfer) / 1e6 == pytest.approx(1.7, rel=0.02)
    assert float(found.tension_transfer) < 0.0
    assert float(found.least) < float(found.most)
    assert (
        10
        <= float(
            prestress(strips, p, service=2870e3, transfer=own, tensioning=Tensioning()).strands(Tensioning())
        )
        <= 12
    )


def test_the_most_force_just_meets_the_transfer_limit():
    """With P = most the top is at the allowed tension at transfer, losses still to come."""
    strips = market_hall()
    p = section_properties(strips)
    found = prestress(strips, p, service=2.6e6, transfer=0.6e6, tensioning=Tensioning())
    again = prestress(strips, p, service=2.6e6, transfer=0.6e6, tensioning=Tensioning(), force=found.most)
    assert float(again.tension_transfer) == pytest.approx(0.0, abs=1.0)
    assert float(again.force) == float(found.most)
    looser = Tensioning(tension_transfer=1e6)
    assert float(prestress(strips, p, service=2.6e6, transfer=0.6e6, tensioning=looser).most) > float(
        found.most
    )


def test_tendon_lies_in_the_valley_beam_with_its_cover():
    """Half beams of 0.125 m: the whole has room for 60 + 30 mm each side, over the soffit, under the top."""
    strips = market_hall()
    found = prestress(
        strips, section_properties(strips), service=2.6e6, transfer=1e6, tensioning=Tensioning()
    )
    assert float(found.z) == pytest.approx(-0.75 + 0.09)
    assert float(found.x) == pytest.approx(0.0, abs=1e-12)
    assert float(found.rise) == pytest.approx(0.75 - 0.18)
    assert float(found.seat_thickness) == 0.25
    line = tendon_line(found, span=24.0, stations=5)
    assert line[[0, 2, 4]] == pytest.approx([-0.09, -0.66, -0.09])
    assert float(found.balanced_load(24.0)) == pytest.approx(8 * float(found.force) * 0.57 / 24**2)


def north():
    ends = [[0, 1], [1, 2], [2, 3], [3, 4], [1, 5]]
    return Strips(
        [-0.5, 0.0, 1.5, 3.2, 4.4, 0.0], [0.1, 0.0, 1.4, 2.2, 2.4, -0.6], ends, [0.15, 0.1, 0.1, 0.15, 0.2],
        ["gutter", "wing", "wing", "kerb", "edge beam"],
    )  # fmt: skip


def test_free_unsymmetrical_stresses_are_those_of_two_moments():
    """A force at (ex, ez) is the axial force and the moments -P ez and, about the vertical axis, -P ex."""
    strips = north()
    p = section_properties(strips)
    found = prestress(strips, p, service=4e5, transfer=2e5, tensioning=PLAIN, force=5e5)
    assert float(found.x) == pytest.approx(0.0)
    ex, ez = float(found.x - p.centroid_x), float(found.z - p.centroid_z)
    determinant = float(p.ixx * p.izz - p.ixz**2)
    corners = []
    for (i, j), t in zip(strips.ends, strips.thickness, strict=True):
        along = np.array([strips.x[j] - strips.x[i], strips.z[j] - strips.z[i]])
        normal = np.array([-along[1], along[0]]) / np.hypot(*along) * t / 2
        corners += [np.array([strips.x[n], strips.z[n]]) + s * normal for n in (i, j) for s in (1, -1)]
    x, z = (np.array(corners) - [p.centroid_x, p.centroid_z]).T
    mx, mz = 4e5 + 5e5 * ez, 5e5 * ex
    sigma = (
        -5e5 / p.area
        - mx * (z * p.izz - x * p.ixz) / determinant
        - mz * (x * p.ixx - z * p.ixz) / determinant
    )
    assert float(found.tension_service) == pytest.approx(sigma.max(), rel=1e-9)
    assert float(found.compression_service) == pytest.approx(-sigma.min(), rel=1e-9)


@pytest.mark.parametrize("held", [False, True])
def test_without_force_the_stresses_are_those_of_bending(held):
    strips = north()
    p, t = section_properties(strips), torsion_properties(strips)
    found = prestress(strips, p, service=4e5, transfer=2e5, tensioning=PLAIN, force=0.0, held=held)
    bending = stress_extremes(strips, p, t, SectionForces(np.array([4e5]), np.array([0.0])), held=held)
    assert float(found.tension_service) == pytest.approx(float(bending.tension[0]), rel=1e-9)
    assert float(found.compression_service) == pytest.approx(float(bending.compression[0]), rel=1e-9)


def test_a_hogging_member_is_a_sagging_one_upside_down():
    up, strips = north(), north()
    down = Strips(up.x, -up.z, up.ends, up.thickness, up.parts)
    one = prestress(strips, section_properties(up), service=4e5, transfer=2e5, tensioning=PLAIN)
    two = prestress(
        down, section_properties(down), service=4e5, transfer=2e5, tensioning=PLAIN, sagging=False
    )
    for name in ("x", "rise", "least", "most", "tension_service", "tension_end"):
        assert float(getattr(one, name)) == pytest.approx(float(getattr(two, name)), rel=1e-9, abs=1e-6)
    assert float(one.z) == pytest.approx(-float(two.z))


def test_where_no_force_helps_it_says_so():
    """Tendon in a shelf far to one side: more force makes the far edge worse, and tension is left."""
    shelf = Strips.chain([0.0, 1.0, 6.0], [0.0, 0.0, 0.6], [0.3, 0.08], ["gutter", "wing"])
    found = prestress(shelf, section_properties(shelf), service=1e5, transfer=5e4, tensioning=PLAIN)
    assert float(found.tension_service) > 1e6
    assert float(found.window) > 1.0


def test_the_window_is_graded():
    """Least over most, going on straight where most falls below half of least; the slopes meet."""
    found = prestress(north(), section_properties(north()), service=4e5, transfer=2e5, tensioning=PLAIN)
    shares = np.array([2.0, 1.0, 0.5 + 1e-9, 0.5 - 1e-9, 0.0, -1.0])
    windows = [float(dataclasses.replace(found, most=share * found.least).window) for share in shares]
    assert windows == pytest.approx([0.5, 1.0, 2.0, 2.0, 4.0, 8.0])


def test_a_keel_too_thin_for_the_duct_keeps_the_tendon():
    """Only the kerbs at the top are thick enough: the tendon stays in the keel, and its member fails."""
    hall = reading_hall()
    t = np.where(hall.thickness == 0.18, 0.15, hall.thickness)
    thick = Strips(hall.x, hall.z, hall.ends, t, hall.parts)
    found = prestress(thick, section_properties(thick), service=2.8e6, transfer=2e6, tensioning=PLAIN)
    assert float(found.z) == pytest.approx(0.0)
    assert float(found.seat_thickness) == 0.15 < PLAIN.member


def test_friction():
    """EN 1992-1-1 (5.45): 1 - exp(-0.19 (0.2 + 0.01 x 12)), from memory."""
    assert float(friction_loss(angle=0.2, length=12.0)) == pytest.approx(1 - np.exp(-0.19 * 0.32))


@pytest.mark.parametrize("key", KEYS)
def test_batch_law_and_bad_rows(key):
    x = designs_for(key, 6)
    x[2, 0] = np.nan
    strips = family_for(key).strips(x)

    def found(s):
        return prestress(s, section_properties(s), service=2e6, transfer=1e6, tensioning=Tensioning())

    whole = found(strips)
    for i in (0, 1, 5):
        one = found(strips[i])
        for name in ("x", "z", "rise", "least", "most", "tension_transfer", "tension_end"):
            assert getattr(whole, name)[i].tobytes() == getattr(one, name).tobytes()
    assert np.isnan(whole.least[2])


def test_a_negative_force_is_refused():
    with pytest.raises(ValueError, match="force: got -1 N"):
        prestress(
            north(), section_properties(north()), service=1.0, transfer=1.0, tensioning=PLAIN, force=-1.0
        )
