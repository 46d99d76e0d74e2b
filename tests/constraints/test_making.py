"""Slopes, bends, tapers and clearance against figures drawn by hand."""

import numpy as np
import pytest
from recomputed.line import Line
from recomputed.shape import clearance

from longvault.constraints.making import making
from longvault.sections import Strips


def made(x, z, t, parts="wing", bend_radius=0.5, steep=np.pi / 4):
    return making(Strips.chain(x, z, t, parts), bend_radius=bend_radius, steep_slope=steep)


def test_circle_has_its_own_curvature():
    """A polyline on a circle of 2 m: three-point curvature tends to 1/R with n squared (closed form)."""
    errors = []
    for count in (20, 40, 80):
        angle = np.linspace(2.5, 0.6, count + 1)
        tightness = float(made(2 * np.cos(angle), 2 * np.sin(angle), 0.1).tightness)
        errors.append(abs(tightness - (0.5 + 0.05) / 2.0))
    assert errors[-1] < 2e-5
    assert np.log2(errors[0] / errors[1]) == pytest.approx(2.0, abs=0.1)


def test_straight_profile_has_no_bend_and_no_taper():
    m = made([0.0, 1.0, 2.0, 4.0], [0.0, 0.5, 1.0, 2.0], 0.1)
    assert float(m.tightness) == pytest.approx(0.0, abs=1e-12)
    assert float(m.taper) == 0.0
    assert float(m.slope) == pytest.approx(np.arctan(0.5))


def test_steep_share_counts_length():
    """3-4-5: 5 m at 53.13 deg, 5 m flat: half of the surface is over 45 deg."""
    m = made([0.0, 3.0, 8.0], [0.0, 4.0, 4.0], 0.1)
    assert float(m.steep_share) == pytest.approx(0.5)
    assert float(made([0.0, 3.0, 8.0], [0.0, 3.0, 3.0], 0.1).steep_share) == 0.0  # just 45 deg is allowed


def test_beams_are_no_roof_surface_and_shared_halves_count_whole():
    m = made(
        [0.0, 0.0, 3.0, 3.0], [-0.5, 0.0, 0.0, -0.5], [0.06, 0.08, 0.2], ["valley beam", "crown", "edge beam"]
    )
    assert float(m.surface) == pytest.approx(3.0)
    assert float(m.slope) == 0.0
    assert float(m.thickness) == pytest.approx(0.08)


def test_taper():
    m = made([0.0, 1.0, 2.0], [0.0, 0.0, 0.0], [0.1, 0.25])
    assert float(m.taper) == pytest.approx(0.15)


def test_hairpin_touches_itself():
    """Two parallel limbs 0.15 m apart, 0.1 m thick: clearance 1.5; at 0.08 m they overlap."""
    for gap in (0.15, 0.08):
        m = made([0.0, 2.0, 2.0, 0.0], [0.0, 0.0, gap, gap], 0.1)
        assert float(m.clearance) == pytest.approx(gap / 0.1)


def test_crossing_profile_has_no_clearance():
    m = made([0.0, 2.0, 2.0, 1.0, 1.0], [0.0, 0.0, 1.0, 1.0, -1.0], 0.1)
    assert float(m.clearance) == 0.0


def test_open_profile_is_clear_of_itself():
    angle = np.linspace(np.pi, 0.0, 41)
    assert float(made(np.cos(angle), np.sin(angle), 0.05).clearance) == 2.0


@pytest.mark.parametrize("branched", [False, True])
def test_clearance_of_winding_profiles_is_the_least_of_all_pairs(branched):
    """Second implementation: every pair of strips, none left out for being far away."""
    rng = np.random.default_rng(8)
    heading = np.cumsum(rng.normal(0.0, 0.45, (600, 40)), axis=-1)
    x, z = (np.cumsum(0.3 * f(heading), axis=-1) for f in (np.cos, np.sin))
    thickness = rng.uniform(0.1, 0.3, (600, 39))
    first = np.arange(39)
    ends = np.stack([first, first + 1], axis=1)
    if branched:  # the first ten strips hang on node 20, numbered the other way
        ends[9] = [20, 9]
        x[:, :10] += (x[:, 20] - x[:, 10])[:, None]
        z[:, :10] += (z[:, 20] - z[:, 10])[:, None]
        ends[:9] = ends[:9, ::-1]
    strips = Strips(x, z, ends, thickness, ["wing"] * 39)
    found = making(strips, bend_radius=0.5, steep_slope=0.7).clearance
    rows = zip(strips.x, strips.z, strips.thickness, strict=True)
    expected = [clearance(Line(*nodes, ends, t, strips.parts)) for *nodes, t in rows]
    np.testing.assert_allclose(found, expected, rtol=1e-12, atol=1e-12)
    assert np.sum((found > 0.0) & (found < 2.0)) >= 20
    assert np.sum(found == 0.0) >= 20
    assert np.sum(found == 2.0) >= 20


def test_branches_are_measured_from_any_end():
    """A downstand under the middle of a slab: no corner of two strips, so no bend for the forms."""
    strips = Strips(
        [0.0, 2.0, 4.0, 2.0],
        [0.0, 0.0, 0.0, -1.0],
        [[0, 1], [1, 2], [1, 3]],
        [0.1, 0.1, 0.2],
        ["wing", "wing", "edge beam"],
    )
    m = making(strips, bend_radius=0.5, steep_slope=0.7)
    assert float(m.tightness) == 0.0
    assert float(m.surface) == 4.0
    assert float(m.clearance) == 2.0


def test_closed_cells_are_refused_with_a_reason():
    box = Strips(
        [0.0, 1.0, 1.0, 0.0], [0.0, 0.0, 1.0, 1.0], [[0, 1], [1, 2], [2, 3], [3, 0]], [0.1] * 4, ["web"] * 4
    )
    with pytest.raises(ValueError, match="closed cell"):
        making(box, bend_radius=0.5, steep_slope=0.7)
