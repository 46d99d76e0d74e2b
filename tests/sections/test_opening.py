"""Clear opening of the slot between two modules."""

import numpy as np
import pytest
from numpy.testing import assert_allclose, assert_array_equal
from shapely.geometry import Polygon

from longvault.sections import Strips
from longvault.sections.opening import clear_opening, slot


def kerbed(gap: float, width: float, *, pitch: float = 6.0) -> Strips:
    """A flat wing with upright kerbs whose inner faces stand ``gap`` apart across the slot."""
    half = 0.5 * (pitch - gap - width)
    x = [-half, -half, half, half]
    return Strips(
        x, [0.6, 0.0, 0.0, 0.6], [[0, 1], [1, 2], [2, 3]], [width, 0.1, width], ["kerb", "wing", "kerb"]
    )


def test_kerb_faces_not_their_centres() -> None:
    # Derived: kerbs 0.2 m wide with faces 1.2 m apart leave 1.2 m, not 1.4 (centres) nor 1.6 (outer faces).
    assert_allclose(clear_opening(kerbed(1.2, 0.2), 6.0), 1.2, rtol=1e-12)
    assert_allclose(clear_opening(kerbed(1.2, 0.2), 6.0, 0.15), 1.05, rtol=1e-12)


@pytest.mark.parametrize("slope_deg", [0.0, 30.0, 62.3, 90.0])
def test_inclined_glass_is_measured_along_itself(slope_deg: float) -> None:
    # Derived: two tip strips square to a glass line of given slope, faces 2.37 m apart along it.
    slope, clear, t, pitch = np.deg2rad(slope_deg), 2.37, 0.12, 6.0
    along = np.array([np.cos(slope), -np.sin(slope)])
    normal = np.array([np.sin(slope), np.cos(slope)])
    top = np.array([4.35, 2.45])
    foot = top + (clear + t) * along - np.array([pitch, 0.0])
    nodes = np.array(
        [foot + 0.2 * normal, foot - 0.2 * normal, [0.5, -3.0], top - 0.2 * normal, top + 0.2 * normal]
    )
    strips = Strips.chain(nodes[:, 0], nodes[:, 1], [t, 0.02, 0.02, t], ["kerb", "gutter", "wing", "kerb"])
    found = slot(strips, pitch)
    assert_allclose(found.width, clear, rtol=1e-9)
    assert_allclose(np.rad2deg(found.slope), slope_deg, atol=1e-6)


def test_touching_and_overlapping_modules() -> None:
    vault = Strips([-3.0, -3.0, 0.0, 3.0, 3.0], [-0.7, 0.0, 1.0, 0.0, -0.7], [[0, 1], [1, 2], [2, 3], [3, 4]],
                   [0.25, 0.08, 0.08, 0.25], ["edge beam", "wing", "wing", "edge beam"])  # fmt: skip
    assert_allclose(clear_opening(vault, 6.25), 0.0, atol=1e-12)
    assert_allclose(clear_opening(vault, 6.15), -0.1, atol=1e-12)
    assert_allclose(clear_opening(vault, 6.35), 0.1, atol=1e-12)


def test_a_part_that_reaches_past_the_kerb_narrows_the_slot() -> None:
    plain = kerbed(1.2, 0.2)
    x, z = np.append(plain.x, 2.5), np.append(plain.z, 0.0)
    ends = np.vstack([plain.ends, [2, 4]])
    lip = Strips(x, z, ends, np.append(plain.thickness, 0.05), (*plain.parts, "wing"))
    assert_allclose(clear_opening(lip, 6.0), 6.0 - 2.5 - 2.4, rtol=1e-12)


def test_against_polygons() -> None:
    # Second implementation: shapely's distance between the outlines of the two kerbs.
    rng, compared = np.random.default_rng(6), 0
    for _ in range(50):
        wing = np.array([-1.0, -0.5, 0.5, 1.0]) + rng.uniform(-0.1, 0.1, 4)
        z = rng.uniform(-0.6, 0.6, 4)
        t = rng.uniform(0.05, 0.3, 3)
        strips = Strips.chain(wing, z, t, ["kerb", "wing", "kerb"])
        pitch = rng.uniform(2.7, 4.0)
        first, last = (Polygon(_outline(strips, e, dx)) for e, dx in ((2, 0.0), (0, pitch)))
        inner = Polygon(_outline(strips, 1, 0.0)), Polygon(_outline(strips, 1, pitch))
        expected = first.distance(last)
        if expected <= min(inner[0].distance(last), inner[1].distance(first)):
            assert_allclose(clear_opening(strips, pitch), expected, rtol=1e-9)
            compared += 1
    assert compared >= 25


def _outline(strips: Strips, e: int, dx: float) -> np.ndarray:
    (i, j), t = strips.ends[e], strips.thickness[e]
    a, b = strips.nodes[i] + [dx, 0], strips.nodes[j] + [dx, 0]
    n = np.array([-(b - a)[1], (b - a)[0]]) / np.hypot(*(b - a)) * t / 2
    return np.array([a + n, b + n, b - n, a - n])


def test_batch_law_mirror_and_bad_rows() -> None:
    rng = np.random.default_rng(1)
    base = kerbed(1.2, 0.2)
    x, z = (v + rng.uniform(-0.2, 0.2, (7, 4)) for v in (base.x, base.z))
    x[3, 1] = np.nan
    batch = Strips(x, z, base.ends, np.tile(base.thickness, (7, 1)), base.parts)
    pitch = np.linspace(5.5, 6.5, 7)
    found = clear_opening(batch, pitch)
    assert np.isnan(found[3])
    assert_array_equal(found, [float(clear_opening(batch[i], pitch[i])) for i in range(7)])
    assert_allclose(clear_opening(batch.mirrored(), pitch), found, rtol=1e-12)


def test_bad_calls_name_the_argument() -> None:
    with pytest.raises(ValueError, match=r"pitch: got 0 m; must be above 0"):
        clear_opening(kerbed(1.2, 0.2), 0.0)
    with pytest.raises(ValueError, match=r"frame: got -0\.1 m"):
        clear_opening(kerbed(1.2, 0.2), 6.0, -0.1)
