"""Thin line sections against closed forms and published examples, through the strips of the package.

The lines are measured with a thickness of 1e-9 of their size and divided by it, so nothing is switched
off in the product; polylines of n and 2 n strips are extrapolated (their error falls as 1/n^2).
"""

import numpy as np
import pytest

from longvault.sections.bending import bending_field
from longvault.sections.curves import curve_points
from longvault.sections.properties import section_properties
from longvault.sections.shear_flow import shear_flow
from longvault.sections.strips import Strips

THIN = 1e-9
MEASURES = [
    *("area", "centroid_z", "ixx", "izz", "i1", "i2", "s_top", "s_bottom", "kern_top", "kern_bottom"),
    *("stress_efficiency", "developed_length"),
]


def line(kind, stations=2001, **shape):
    x, z = curve_points(kind, stations=stations, **shape)
    return Strips.chain(x, z, THIN, "wing")


def measured(kind, *, raised=0.0, strips=2000, **shape):
    """Extrapolated line properties per unit thickness."""
    lines = (line(kind, n + 1, **shape).shifted(dz=raised) for n in (strips, 2 * strips))
    coarse, fine = map(section_properties, lines)
    plain = ("centroid_z", "kern_top", "kern_bottom", "stress_efficiency", "developed_length")
    found = {}
    for name in MEASURES:
        a, b = getattr(coarse, name), getattr(fine, name)
        found[name] = float(b + (b - a) / 3) / (1.0 if name in plain else THIN)
    return found


# A/(R t), centroid above the centre/R, rise/R, Ix/(R^3 t), Iy/(R^3 t), rho, W_top/(R^2 t), W_bottom/(R^2 t).
# Closed forms: A = 2 a R t, zc = R sin a / a, Ix = R^3 t (a + sin a cos a - 2 sin^2 a / a),
# Iy = R^3 t (a - sin a cos a); Roark, Formulas for Stress and Strain, table of sections (from memory).
ARCS = {
    22.5: (0.7853982, 0.9744954, 0.0761205, 0.00040602, 0.0391457, 0.400449, 0.0159193, 0.0080215),
    30.0: (1.0471976, 0.9549297, 0.1339746, 0.00168182, 0.0905861, 0.400809, 0.0373154, 0.0189172),
    40.0: (1.3962634, 0.9207254, 0.2339556, 0.00687378, 0.2057278, 0.401474, 0.0867085, 0.0444384),
    45.0: (1.5707963, 0.9003163, 0.2928932, 0.01215862, 0.2853982, 0.401894, 0.1219720, 0.0629297),
    60.0: (2.0943951, 0.8269933, 0.5, 0.04781577, 0.6141848, 0.403562, 0.2763811, 0.1462286),
    75.0: (2.6179939, 0.7379130, 0.7411810, 0.13345854, 1.0589969, 0.405986, 0.5092146, 0.2785645),
    90.0: (3.1415927, 0.6366198, 1.0, 0.29755678, 1.5707963, 0.409429, 0.8188579, 0.4674011),
}


@pytest.mark.parametrize("degrees", ARCS)
def test_thin_circular_arc(degrees):
    a = np.radians(degrees)
    area, zc, rise, ix, iy, rho, top, bottom = ARCS[degrees]
    found = measured("arc", width=2 * np.sin(a), half_angle=a, raised=np.cos(a))
    assert found["area"] == pytest.approx(area, rel=1e-6)
    assert found["centroid_z"] == pytest.approx(zc, rel=1e-6)
    assert found["ixx"] == pytest.approx(ix, rel=2e-5 if ix < 1e-3 else 4e-6)  # as many digits as printed
    assert found["ixx"] == pytest.approx(a + np.sin(a) * np.cos(a) - 2 * np.sin(a) ** 2 / a, rel=1e-8)
    assert found["izz"] == pytest.approx(iy, rel=2e-6)
    assert found["stress_efficiency"] == pytest.approx(rho, rel=2e-6)
    assert found["s_top"] == pytest.approx(top, rel=5e-6)
    assert found["s_bottom"] == pytest.approx(bottom, rel=1e-5)
    assert 1 - np.cos(a) == pytest.approx(rise, rel=1e-6)


def test_a_hundred_strips_give_the_arc_to_a_thousandth():
    found = section_properties(line("arc", 101, width=2.0, rise=1.0))
    assert found.ixx / THIN == pytest.approx(np.pi / 2 - 4 / np.pi, rel=1e-3)


def test_stress_efficiency_of_every_arc_stays_in_its_narrow_band():
    angles = np.radians(np.linspace(2, 90, 177))
    rho = section_properties(line("arc", 2001, width=2 * np.sin(angles), half_angle=angles)).stress_efficiency
    assert ((rho > 0.4 - 1e-6) & (rho < 0.4095)).all()
    assert rho[0] == pytest.approx(0.4, abs=1e-5)  # the shallow limit is the parabola's 2/5


def test_semicircle_line():
    # I about the diameter is pi r^3 t / 2: Megson, Aircraft Structures, fig. 15.33
    found = measured("arc", width=2.0, rise=1.0)
    assert found["area"] == pytest.approx(np.pi, rel=1e-9)
    assert found["centroid_z"] == pytest.approx(2 / np.pi, rel=1e-9)
    assert found["ixx"] == pytest.approx(0.2975567821, rel=1e-9)
    assert found["ixx"] + found["area"] * found["centroid_z"] ** 2 == pytest.approx(np.pi / 2, rel=1e-9)
    # kern distances, derived: W_bottom / A, W_top / A, and their sum over the height is rho
    assert found["kern_bottom"] == pytest.approx(0.2606506, abs=1e-7)
    assert found["kern_top"] == pytest.approx(0.1487784, abs=1e-7)
    assert found["kern_top"] + found["kern_bottom"] == pytest.approx(0.4094290, abs=1e-7)


def test_cycloid_line():
    # derived (symbolic integration): length 8 r, centroid 4/3, Ix 128/45, Iy 8 pi^2 - 2048/45, rho 2/5
    # the cusp at the springing costs half an order of the extrapolation: finer lines than elsewhere
    found = measured("cycloid", width=2 * np.pi, strips=4000)
    assert found["developed_length"] == pytest.approx(8, rel=1e-8)
    assert found["centroid_z"] == pytest.approx(4 / 3, rel=1e-8)
    assert found["ixx"] == pytest.approx(128 / 45, rel=1e-8)
    assert found["ixx"] + found["area"] * found["centroid_z"] ** 2 == pytest.approx(256 / 15, rel=1e-8)
    assert found["izz"] == pytest.approx(8 * np.pi**2 - 2048 / 45, rel=1e-8)
    assert found["stress_efficiency"] == pytest.approx(0.4, rel=1e-8)


# length, centroid, Ix, Iy; derived by quadrature, length of the ellipse 2 a E(e) (scipy.special.ellipe),
# of the parabola l (sqrt(1 + k^2) + asinh(k) / k), k = 2 f / l
CURVES = [
    ("parabola", 12.0, 4.0, 14.9437553, 2.4713255, 22.7124278, 205.5972388),
    ("ellipse", 10.0, 3.0, 12.7634994, 2.0673629, 9.8976062, 140.0634094),
    ("ellipse", 12.0, 4.0, 15.8654396, 2.7154551, 22.4398029, 257.4456662),
]


@pytest.mark.parametrize(("kind", "width", "rise", "length", "zc", "ix", "iy"), CURVES)
def test_parabola_and_half_ellipse_lines(kind, width, rise, length, zc, ix, iy):
    found = measured(kind, width=width, rise=rise)
    assert found["area"] == pytest.approx(length, rel=1e-7)
    assert found["centroid_z"] == pytest.approx(zc, rel=1e-7)
    assert found["ixx"] == pytest.approx(ix, rel=1e-7)
    assert found["izz"] == pytest.approx(iy, rel=1e-7)


def z_section(h=1.0):
    """Flanges h/2, web h: left flange at the bottom runs left, top flange runs right (I_xz > 0)."""
    return Strips.chain(
        [-h / 2, 0, 0, h / 2], [-h / 2, -h / 2, h / 2, h / 2], THIN, ["flange", "web", "flange"]
    )


def fields(strips, held=False):
    p = section_properties(strips)
    inertia = {"x": p.centroid_x, "z": p.centroid_z, "ixx": p.ixx, "izz": p.izz, "ixz": p.ixz}
    return p, bending_field(strips, **inertia, held=held)


def test_thin_z_section_bending_and_shear_flow():
    # Megson, Aircraft Structures, examples 15.14 and 16.1; x turned round, sagging here is compression on top
    strips = z_section()
    p, field = fields(strips)
    assert p.ixx / THIN == pytest.approx(1 / 3, rel=1e-6)
    assert p.izz / THIN == pytest.approx(1 / 12, rel=1e-6)
    assert p.ixz / THIN == pytest.approx(1 / 8, rel=1e-6)
    # sigma = M / (h^3 t) (6.857 y - 10.286 x)
    assert field.first[2] * THIN == pytest.approx(6.857142857 * 0.5, rel=1e-6)
    assert field.second[2] * THIN == pytest.approx(6.857142857 * 0.5 - 10.285714286 * 0.5, rel=1e-6)
    flow = shear_flow(strips, field)
    assert abs(flow.first[1]) == pytest.approx(3 / 7, rel=1e-6)  # q at the web corner, 0.42857 S_y / h
    # q_12 = (S_y / h^3)(5.143 s^2 - 1.714 h s): zero at h/3 from the tip, at most (1.714 h)^2 / (4 x 5.143)
    assert flow.peak[0] == pytest.approx(3 / 7, rel=1e-6)
    split = Strips.chain([-0.5, -0.5 + 1 / 3, 0, 0, 0.5], [-0.5, -0.5, -0.5, 0.5, 0.5], THIN, "flange")
    part = shear_flow(split, fields(split)[1])
    assert part.second[0] == pytest.approx(0, abs=1e-6)
    assert part.peak[0] == pytest.approx(1.7142857**2 / (4 * 5.1428571), rel=1e-6)


def test_stress_efficiency_of_plain_shapes():
    # rho = I / (A y_top y_bottom), the section efficiency of Guyon and Leonhardt (from memory)
    ring_angle = np.linspace(0, 2 * np.pi, 4001)
    ring = Strips.chain(np.cos(ring_angle), np.sin(ring_angle), THIN, "wing")
    fold = Strips.chain([-1.0, 0.0, 1.0], [0.0, 1.0, 0.0], THIN, "plate")
    flanges = Strips(
        [-1.0, 0, 1, -1, 0, 1],
        [0.0, 0, 0, 1, 1, 1],
        [[0, 1], [1, 2], [3, 4], [4, 5], [1, 4]],
        [THIN] * 4 + [THIN * 1e-9],
        ["flange"] * 4 + ["web"],
    )
    assert section_properties(ring).stress_efficiency == pytest.approx(0.5, rel=2e-6)
    assert section_properties(fold).stress_efficiency == pytest.approx(1 / 3, rel=1e-8)
    assert section_properties(flanges).stress_efficiency == pytest.approx(1.0, rel=1e-8)
    assert measured("arc", width=2.0, rise=1.0)["stress_efficiency"] == pytest.approx(0.4094290, rel=1e-7)
    web = section_properties(Strips.chain([0.0, 0.0], [0.0, 2.0], 0.3, "web"))
    assert web.stress_efficiency == pytest.approx(1 / 3, rel=1e-12)


# half-angle: angle of the largest flow, its value q R / V; derived, q = V (sin p - (sin a / a) p) / (R I')
FLOWS = {
    30: (17.26744, 5.3760774),
    40: (22.96763, 3.0737540),
    60: (34.20889, 1.4315133),
    90: (50.45978, 0.7074739),
}


@pytest.mark.parametrize("degrees", FLOWS)
def test_shear_flow_of_arcs(degrees):
    a = np.radians(degrees)
    angle, largest = FLOWS[degrees]

    def solve(n):
        strips = line("arc", n, width=2 * np.sin(a), half_angle=a)
        flow = shear_flow(strips, fields(strips)[1])
        dz = np.diff(strips.z)
        mean = flow.first + (flow.second - flow.first) / 2  # resultant by Simpson needs the middle too
        return strips, flow, float((mean * dz).sum())

    (_, coarse, _), (strips, fine, force) = solve(2001), solve(4001)
    at_peak = int(np.argmax(fine.peak))
    assert fine.peak.max() + (fine.peak.max() - coarse.peak.max()) / 3 == pytest.approx(largest, abs=5e-8)
    place = np.degrees(np.arctan2(strips.x[at_peak], strips.z[at_peak] + np.cos(a)))
    assert abs(place) == pytest.approx(angle, abs=2 * degrees / 4000)
    middle = len(strips.x) // 2
    assert abs(fine.first[middle]) < 1e-9 * largest  # zero at the crown
    assert abs(fine.first[0]) < 1e-9 * largest  # zero at the free edges
    assert abs(fine.second[-1]) < 1e-9 * largest
    assert abs(force) == pytest.approx(1.0, rel=1e-6)  # the vertical resultant is V


def test_shear_flow_of_slit_tube():
    # Megson, Aircraft Structures, example 16.2: slit on the horizontal diameter, q = V (cos th - 1) / (pi R)
    angle = np.linspace(0, 2 * np.pi, 4001)
    strips = Strips.chain(np.cos(angle), np.sin(angle), THIN, "wing")
    flow = shear_flow(strips, fields(strips)[1])
    np.testing.assert_allclose(np.abs(flow.first), (1 - np.cos(angle[:-1])) / np.pi, atol=1e-6)
    assert flow.peak.max() == pytest.approx(2 / np.pi, rel=1e-6)
