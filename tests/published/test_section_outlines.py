"""Published and exact thick sections through the outline polygon, thin strips beside them."""

import numpy as np
import pytest
from shapely import Point, box

from longvault.sections.outline import compare_outline, outline
from longvault.sections.polygon import outline_properties
from longvault.sections.properties import section_properties
from longvault.sections.strips import Strips


def principal(p):
    mean, half = 0.5 * (p.ixx + p.izz), 0.5 * (p.ixx - p.izz)
    radius = np.hypot(half, p.ixz)
    return mean + radius, mean - radius, 0.5 * np.degrees(np.arctan2(-p.ixz, half))


def test_thick_z_section_in_unsymmetrical_bending():
    # Peery, Aircraft Structures, 1950, sec. 7.2: vertices (-5,4)(-1,4)(-1,-6)(5,-6)(5,-4)(1,-4)(1,6)(-5,6) in
    strips = Strips.chain([-5, 0, 0, 5], [5, 5, -5, -5], 2.0, ["flange", "web", "flange"])
    shape = outline(strips)
    corners = {tuple(c) for c in np.round(shape.exterior.coords[:-1], 6)}
    assert {(-5, 4), (-1, 4), (-1, -6), (5, -6), (5, -4), (1, -4), (1, 6), (-5, 6)} <= corners
    p = outline_properties(shape)
    assert p.ixx == pytest.approx(693.33, abs=5e-3)
    assert p.izz == pytest.approx(173.33, abs=5e-3)
    assert p.ixz == pytest.approx(-240, rel=1e-9)
    i1, i2, _ = principal(p)
    assert i1 == pytest.approx(787.17, abs=5e-3)
    assert i2 == pytest.approx(79.50, abs=5e-3)
    mx, my, d = -1e5, 1e4, p.ixx * p.izz - p.ixz**2
    points = {(-5, 4): (1210.2, 1210), (-5, 6): (579.5, 580), (1, 6): (-2386.4, -2384)}
    for (x, z), (exact, book) in points.items():
        stress = (mx * (p.izz * z - p.ixz * x) - my * (p.ixx * x - p.ixz * z)) / d
        assert stress == pytest.approx(exact, abs=0.05)
        assert stress == pytest.approx(book, rel=1.5e-3)


def test_unequal_angle():
    # L 120 x 150 x 10 mm, legs from the corner; polygon formulas (derived)
    strips = Strips.chain([120, 5, 5], [5, 5, 150], 10.0, ["leg", "leg"])
    p = outline_properties(outline(strips))
    assert p.area == pytest.approx(2600, rel=1e-9)
    assert p.centroid_x == pytest.approx(30.3846, abs=5e-5)
    assert p.centroid_z == pytest.approx(45.3846, abs=5e-5)
    assert p.ixx == pytest.approx(5.931282e6, rel=1e-6)
    assert p.izz == pytest.approx(3.406282e6, rel=1e-6)
    assert p.ixz == pytest.approx(-2.665385e6, rel=1e-6)
    i1, i2, angle = principal(p)
    assert i1 == pytest.approx(7.618050e6, rel=1e-6)
    assert i2 == pytest.approx(1.719514e6, rel=1e-6)
    assert angle == pytest.approx(32.327, abs=1e-3)
    thin = section_properties(strips)
    print("angle: outline over strips, I", compare_outline(strips).ixx_difference)
    assert np.degrees(thin.principal_angle) == pytest.approx(32.327, rel=0.01)


def annular(stations):
    turn = np.linspace(-np.pi / 3, np.pi / 3, stations)
    return Strips.chain(16 * np.sin(turn), 16 * np.cos(turn), 0.5, "wing")


def test_thick_circular_arc():
    # Pilkey, Analysis and Design of Elastic Beams, 2002, B.7 p. 451; exact values of the annular sector
    values = []
    for n in (801, 1601):
        p = outline_properties(outline(annular(n)))
        values.append([p.area, p.centroid_z, p.ixx, p.izz, min(p.s_top, p.s_bottom)])
    coarse, fine = np.array(values)
    limit = fine + (fine - coarse) / 3  # chords fall short by O(1/n^2)
    limit[4] = 2 * fine[4] - coarse[4]  # the end face stands square to the last chord: O(1/n)
    exact = [16.75516, 13.23297, 98.18931, 1258.15764, 18.32584]
    np.testing.assert_allclose(limit, exact, rtol=1e-6)
    thin = section_properties(annular(1601))
    np.testing.assert_allclose([thin.area, thin.ixx, thin.izz], [exact[0], exact[2], exact[3]], rtol=0.003)
    print("arc: outline over strips, I", compare_outline(annular(801)).ixx_difference)


def test_thick_channel():
    # Pilkey, B.2 p. 437: area 34, centroid 1.875, Ix 1787.8333 (the text misprints 1781), Iy 223.30208
    strips = Strips.chain([8, 0, 0, 8], [9, 9, -9, -9], 1.0, ["flange", "web", "flange"])
    p = outline_properties(outline(strips))
    assert p.area == pytest.approx(34, rel=1e-9)
    assert p.centroid_x == pytest.approx(1.875, abs=0.0075)  # of the polygon, x from the web line
    assert p.ixx == pytest.approx(1787.8333, rel=1e-6)
    assert p.izz == pytest.approx(223.30208, rel=1e-6)
    thin = section_properties(strips)
    print("channel: outline over strips, I", compare_outline(strips).ixx_difference)
    assert thin.ixx == pytest.approx(p.ixx, rel=0.02)


def test_stress_efficiency_of_solid_shapes():
    # rho = I / (A y_top y_bottom): rectangle 1/3, disc 1/4 (Guyon and Leonhardt, from memory)
    for shape, rho, close in (
        (box(0, 0, 0.3, 2), 1 / 3, 1e-9),
        (Point(0, 0).buffer(1.0, quad_segs=4096), 1 / 4, 1e-6),
    ):
        p = outline_properties(shape)
        found = p.ixx / (p.area * (p.top - p.centroid_z) * (p.centroid_z - p.bottom))
        assert found == pytest.approx(rho, rel=close)
    slab = outline_properties(outline(Strips.chain([0.0, 0.0], [0.0, 2.0], 0.3, "web")))
    assert slab.ixx == pytest.approx(0.3 * 8 / 12, rel=1e-9)
