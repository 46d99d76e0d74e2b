"""The curves of the trade: shape, springing, crown, equal spacing, length against quadrature."""

from typing import get_args

import numpy as np
import pytest
from scipy.integrate import quad
from scipy.optimize import brentq

from longvault.sections.curves import CurveKind, curve_length, curve_points

KINDS = get_args(CurveKind)
RISES = np.array([0.05, 0.5, 1.0, 1.9735, 3.1, 4.5])


def shape_error(kind, x, z, width, rise):
    """How far points stand off the curve's own equation, written independently of the package."""
    half = 0.5 * width
    if kind == "arc":
        radius = (half**2 + rise**2) / (2 * rise)
        return np.hypot(x, z - (rise - radius)) - radius
    if kind == "ellipse":
        return (x / half) ** 2 + (z / rise) ** 2 - 1
    if kind == "parabola":
        return z - rise * (1 - (x / half) ** 2)
    if kind == "cycloid":
        turn = np.arccos(np.clip(1 - 2 * z / rise, -1, 1))  # angle on the left half
        return np.abs(x) - (half - half / np.pi * (turn - np.sin(turn)))
    # a catenary is the curve with z'' = sqrt(1 + z'^2) / c
    c = brentq(lambda c: c * (np.cosh(half / c) - 1) - rise, 0.05 * half, 1e3 * half, xtol=1e-14)
    return z - (rise - c * (np.cosh(x / c) - 1))


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("rise", RISES)
def test_points_lie_on_the_curve_evenly_spaced(kind, rise):
    width = 6.2
    x, z = curve_points(kind, width=width, rise=rise, stations=101)
    assert np.abs(shape_error(kind, x, z, width, rise)).max() < 2e-7
    assert x[0] == pytest.approx(-3.1, abs=1e-14)
    assert z[0] == pytest.approx(0, abs=1e-14)
    assert z[50] == pytest.approx(rise, abs=1e-14)
    assert x[50] == 0
    np.testing.assert_array_equal(x, -x[::-1])
    np.testing.assert_array_equal(z, z[::-1])
    step = np.hypot(np.diff(x), np.diff(z))
    assert np.ptp(step) / step.mean() < 2e-2  # chords of equal arcs differ only by curvature


@pytest.mark.parametrize("kind", KINDS)
def test_closed_form_length_equals_polyline_limit(kind):
    coarse, fine = (
        np.hypot(*(np.diff(v) for v in curve_points(kind, width=6.2, rise=RISES, stations=n))).sum(-1)
        for n in (4001, 8001)
    )
    limit = fine + (fine - coarse) / 3  # chords fall short by O(1/n^2)
    closed = curve_length(kind, width=6.2, rise=RISES)
    # near the springing the flattest curves turn within millimetres; the cycloid has a cusp
    assert (np.abs(limit / closed - 1) < [5e-6, 1e-7, 1e-8, 2e-9, 2e-9, 2e-9]).all()


@pytest.mark.parametrize("rise", RISES)
def test_length_of_ellipse_and_stretched_cycloid_equals_quadrature(rise):
    a, r = 3.1, 3.1 / np.pi
    ellipse = quad(lambda u: np.hypot(a * np.sin(u), rise * np.cos(u)), 0, np.pi, epsrel=1e-12)[0]
    cycloid = quad(
        lambda u: np.hypot(r * (1 - np.cos(u)), 0.5 * rise * np.sin(u)), 0, 2 * np.pi, epsrel=1e-12
    )[0]
    assert curve_length("ellipse", width=6.2, rise=rise) == pytest.approx(ellipse, rel=1e-10)
    assert curve_length("cycloid", width=6.2, rise=rise) == pytest.approx(cycloid, rel=1e-10)


def test_cycloid_of_62_dm_rises_by_width_over_pi():
    _, z = curve_points("cycloid", width=6.2, stations=201)
    assert z.max() == pytest.approx(6.2 / np.pi, rel=1e-14)


def test_semicircle_and_half_angle():
    x, z = curve_points("arc", width=2.0, rise=1.0, stations=37)
    np.testing.assert_allclose(np.hypot(x, z), 1.0, rtol=1e-15)
    x, z = curve_points("arc", width=2 * np.sin(0.7), half_angle=0.7, stations=37)
    np.testing.assert_allclose(z.max(), 1 - np.cos(0.7), rtol=1e-14)


@pytest.mark.parametrize("kind", KINDS)
def test_batch_rows_equal_single_rows_bitwise(kind):
    width, rise = np.array([[4.0], [7.5]]), RISES
    x, z = curve_points(kind, width=width, rise=rise, stations=33)
    assert x.shape == (2, 6, 33)
    for i in range(2):
        for j in range(6):
            one = curve_points(kind, width=width[i, 0], rise=rise[j], stations=33)
            np.testing.assert_array_equal(x[i, j], one[0])
            np.testing.assert_array_equal(z[i, j], one[1])


@pytest.mark.parametrize("kind", KINDS)
def test_a_bad_candidate_is_a_nan_row(kind):
    x, z = curve_points(
        kind, width=np.array([6.0, -6.0, np.nan, 6.0]), rise=np.array([1, 1, 1, 0]), stations=5
    )
    assert np.isfinite(x[0]).all()
    assert np.isnan(x[1:]).all()
    assert np.isnan(z[1:]).all()


def test_a_bad_call_names_what_is_wrong():
    with pytest.raises(ValueError, match="must be one of arc"):
        curve_points("spiral", width=1, rise=1, stations=5)
    with pytest.raises(ValueError, match="needs a rise or a half_angle"):
        curve_points("arc", width=1, stations=5)
    with pytest.raises(ValueError, match="stations: got 1"):
        curve_points("arc", width=1, rise=1, stations=1)
    with pytest.raises(ValueError, match="half_angle: an arc without"):
        curve_points("ellipse", width=1, half_angle=1, stations=5)
