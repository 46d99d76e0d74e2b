"""Shear centre, warping and torsion constants against closed forms and published values."""

import numpy as np
import pytest

from longvault.sections.curves import curve_points
from longvault.sections.strips import Strips
from longvault.sections.torsion import torsion_properties

THIN = 1e-9

# half-angle: shear centre above the circle's centre / R = 2 (sin a - a cos a) / (a - sin a cos a);
# warping constant / (R^5 t) = (2/3) (a^3 - 6 (sin a - a cos a)^2 / (a - sin a cos a)); Timoshenko and Roark,
# from memory; slit tube 2 r: Megson, Aircraft Structures, ch. 17; checked by sectorial quadrature
ARCS = {
    30: (1.02775531, 1.4039e-5),
    40: (1.04981132, 1.07196e-4),
    45: (1.06340147, 2.47328e-4),
    60: (1.11506049, 1.934274e-3),
    90: (1.27323954, 3.7377301e-2),
    180: (2.0, 8.10448),
}


def arc(degrees, stations, radius=1.0, thickness=THIN):
    turn = np.linspace(-np.radians(degrees), np.radians(degrees), stations)
    return Strips.chain(radius * np.sin(turn), radius * np.cos(turn), thickness, "wing")


@pytest.mark.parametrize("degrees", ARCS)
def test_thin_arc(degrees):
    centre, warping = ARCS[degrees]
    coarse, fine = (torsion_properties(arc(degrees, n)) for n in (2001, 4001))
    limit = fine.shear_centre_z + (fine.shear_centre_z - coarse.shear_centre_z) / 3
    assert limit == pytest.approx(centre, rel=1e-8)
    limit = fine.warping_constant + (fine.warping_constant - coarse.warping_constant) / 3
    assert limit / THIN == pytest.approx(warping, rel=5e-5 if degrees == 30 else 5e-6)  # digits printed


def test_published_thick_arc():
    # Pilkey, Analysis and Design of Elastic Beams, 2002, B.7 p. 451: R 16, t 0.5, 120 degrees
    found = torsion_properties(arc(60, 2001, 16.0, 0.5))
    assert found.shear_centre_z == pytest.approx(17.83662, rel=3e-4)
    assert found.torsion_constant == pytest.approx(1.38355, rel=0.01)
    assert found.warping_constant == pytest.approx(1046.49, rel=5e-4)


def channel(t):
    return Strips.chain([8, 0, 0, 8], [9, 9, -9, -9], t, ["flange", "web", "flange"])


def test_thin_channel():
    # e = 3 b^2 / (h + 6 b), warping t b^3 h^2 (3 b + 2 h) / (12 (6 b + h)); Pilkey, B.2 p. 437
    found = torsion_properties(channel(THIN))
    assert -found.shear_centre_x == pytest.approx(3 * 8**2 / (18 + 6 * 8), rel=1e-12)
    assert found.warping_constant / THIN == pytest.approx(
        8**3 * 18**2 * (24 + 36) / (12 * (48 + 18)), rel=1e-12
    )
    thick = torsion_properties(channel(1.0))
    assert thick.torsion_constant == pytest.approx(34 / 3, rel=1e-12)
    assert thick.torsion_constant == pytest.approx(11.28862, rel=0.004)
    assert -thick.shear_centre_x == pytest.approx(2.86769, rel=0.015)
    assert thick.warping_constant == pytest.approx(12763.15, rel=0.016)


def closed(x, z, t):
    count = len(x)
    ends = [(i, (i + 1) % count) for i in range(count)]
    return Strips(x, z, ends, [t] * count, ["web"] * count)


def test_bredt_cells():
    # J = 4 A^2 / sum(ds / t): Bredt
    box = torsion_properties(closed([0, 4, 4, 0], [0, 0, 2, 2], 0.1))
    assert box.torsion_constant == pytest.approx(2.133333333, rel=1e-9)
    slit = torsion_properties(Strips.chain([0, 4, 4, 0, 0], [0, 0, 2, 2, 0], 0.1, "web"))
    assert slit.torsion_constant == pytest.approx(0.004, rel=1e-9)
    assert box.torsion_constant / slit.torsion_constant == pytest.approx(533.33, rel=1e-5)
    triangle = torsion_properties(closed([0, 3, 0], [0, 0, 4], 0.2))
    assert triangle.torsion_constant == pytest.approx(2.4, rel=1e-9)


def test_bredt_half_disc():
    values = []
    for n in (2001, 4001):
        x, z = curve_points("arc", width=2.0, rise=1.0, stations=n)
        values.append(float(torsion_properties(closed(x, z, 0.05)).torsion_constant))
    assert values[1] + (values[1] - values[0]) / 3 == pytest.approx(0.09597809, rel=1e-7)


def test_two_equal_cells_carry_nothing_in_their_common_wall():
    # symmetry: the wall between two equal cells has no Bredt flow, so the pair acts as one box
    x, z = [0, 2, 4, 4, 2, 0], [0, 0, 0, 2, 2, 2]
    ends = [(0, 1), (1, 2), (2, 3), (3, 4), (4, 5), (5, 0), (1, 4)]
    pair = torsion_properties(Strips(x, z, ends, [0.1] * 7, ["web"] * 7))
    assert pair.torsion_constant == pytest.approx(2.133333333, rel=1e-9)
