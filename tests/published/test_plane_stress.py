"""Principal stresses, tension by the shear flow, concrete by EN 1992 and ACI: figures worked apart."""

import numpy as np
import pytest

from longvault.constraints.design_strengths import american_block, eurocode_block
from longvault.constraints.materials import (
    PSI,
    Concrete,
    Steel,
    american_modulus,
    american_rupture,
    least_stirrups,
    least_tension_steel,
)
from longvault.constraints.stress import mohr
from longvault.sections import Strips
from longvault.sections.bending import bending_field, mean_positive_part
from longvault.sections.properties import section_properties
from longvault.sections.shear_flow import shear_flow


@pytest.mark.parametrize(
    ("stresses", "major", "minor", "shear", "degrees"),
    [
        ((3.0, -1.0, 2.0), 3.8284271247, -1.8284271247, 2.8284271247, 22.5),
        ((0.0, 0.0, 1.5), 1.5, -1.5, 1.5, 45.0),
        ((0.0, 0.0, -1.5), 1.5, -1.5, 1.5, -45.0),
        ((-4.0, 0.0, 1.5), 0.5, -4.5, 2.5, 71.5650511771),
    ],
)
def test_mohr_circle(stresses, major, minor, shear, degrees):
    """Mohr's circle, closed form (derived)."""
    found = mohr(*stresses)
    assert float(found.major) == pytest.approx(major, abs=1e-9)
    assert float(found.minor) == pytest.approx(minor, abs=1e-9)
    assert float(found.shear) == pytest.approx(shear, abs=1e-9)
    assert float(np.degrees(found.angle)) == pytest.approx(degrees, abs=1e-9)


def test_mohr_angle_is_the_direction_of_the_major_stress():
    a, b, tau = np.random.default_rng(3).normal(size=(3, 50))
    found = mohr(a, b, tau)
    c, s = np.cos(found.angle), np.sin(found.angle)
    assert a * c + tau * s == pytest.approx(found.major * c, abs=1e-12)
    assert tau * c + b * s == pytest.approx(found.major * s, abs=1e-12)


def test_tension_is_the_sum_of_the_end_shear():
    """Force each side of the valley = shear flow at the support x L / 4 (Ketchum, Barrel shells, item 4).

    Vault R = 5 m, half-angle 60 deg, t = 0.10 m, L = 30 m, 25 kN/m3 and 0.75 kN/m2 on plan: 1052.43486 kN.
    """
    load = 25e3 * 0.1 * 2 * 5.0 * np.pi / 3 + 750.0 * 2 * 5.0 * np.sin(np.pi / 3)
    forces = []
    for count in (200, 400):
        a = np.linspace(-np.pi / 3, np.pi / 3, count + 1)
        arc = Strips.chain(5.0 * np.sin(a), 5.0 * np.cos(a), 0.1, "crown")
        p = section_properties(arc)
        thin = (
            1.0
            - arc.thickness[0] ** 2
            / 12
            * np.sum(arc.length * 0.1 * np.cos(a[:-1] / 2 + a[1:] / 2) ** 2)
            / p.ixx
        )
        field = bending_field(arc, x=p.centroid_x, z=p.centroid_z, ixx=p.ixx * thin, izz=p.izz, ixz=p.ixz)
        by_shear = load * 15.0 * float(shear_flow(arc, field).peak.max()) * 30.0 / 4
        tension = load * 900.0 / 8 * mean_positive_part(-field.first, -field.second) * arc.length * 0.1
        assert by_shear == pytest.approx(0.5 * float(tension.sum()), rel=1e-12)
        forces.append(by_shear)
    # the polygon converges with 1 / n^2 (Richardson)
    assert forces[1] + (forces[1] - forces[0]) / 3 == pytest.approx(1052.43486e3, rel=1e-6)


def test_characteristic_tension_and_least_steel_of_en_1992():
    """EN 1992-1-1 table 3.1 and 9.2.1.1: C30 with 500 MPa steel, 2.028 MPa and 0.1506 %."""
    assert Concrete(30e6).fctk / 1e6 == pytest.approx(2.028, rel=1e-3)
    assert 100 * least_tension_steel(Concrete(30e6), Steel()) == pytest.approx(0.1506, rel=1e-3)
    assert least_tension_steel(Concrete(12e6), Steel(600e6)) == 0.0013
    assert least_stirrups(Concrete(30e6), Steel()) == pytest.approx(0.08 * 30**0.5 / 500)


# ACI 318 19.2.2.1, 19.2.3.1 (from memory): f'c, Ec, fr
AMERICAN = [(3000, 3.12202e6, 410.79), (4000, 3.60500e6, 474.34), (5000, 4.03051e6, 530.33)]
AMERICAN_SI = [(20, 21019, 2.773), (25, 23500, 3.100), (30, 25743, 3.396), (35, 27806, 3.668)]


@pytest.mark.parametrize(("strength", "modulus", "rupture"), AMERICAN)
def test_american_concrete_in_pounds(strength, modulus, rupture):
    assert american_modulus(strength * PSI, form="US") / PSI == pytest.approx(modulus, rel=1e-4)
    assert american_rupture(strength * PSI, form="US") / PSI == pytest.approx(rupture, rel=1e-4)


@pytest.mark.parametrize(("strength", "modulus", "rupture"), AMERICAN_SI)
def test_american_concrete_in_megapascals(strength, modulus, rupture):
    assert american_modulus(strength * 1e6) / 1e6 == pytest.approx(modulus, rel=1e-4)
    assert american_rupture(strength * 1e6) / 1e6 == pytest.approx(rupture, rel=1e-3)


def test_an_unknown_form_is_refused():
    with pytest.raises(ValueError, match="SI or US"):
        american_modulus(25e6, form="metric")


def test_stress_blocks():
    """EN 1992-1-1 3.1.7 and table 3.1 (eps_cu3 of C90 2.6 per mille); ACI 318 22.2.2.4.3 (from memory)."""
    high = eurocode_block(Concrete(90e6))
    assert (high.depth_ratio, high.stress / 1e6, high.strain) == pytest.approx((0.7, 0.8 * 60, 2.6e-3))
    ratios = [american_block(Concrete(f * 1e6)).depth_ratio for f in (21, 28, 35, 56, 70)]
    assert ratios == pytest.approx([0.85, 0.85, 0.80, 0.65, 0.65])
