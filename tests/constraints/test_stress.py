"""Stresses over the section: resultants close, shear flows balance, quick extremes equal the field's."""

import numpy as np
import pytest
from roofs import KEYS, designs_for, family_for

from longvault.constraints.stress import SectionForces, mohr, stress_extremes, stress_field, stress_shapes
from longvault.sections import Strips
from longvault.sections.bending import bending_field
from longvault.sections.properties import section_properties
from longvault.sections.shear_flow import shear_flow
from longvault.sections.torsion import torsion_properties

SIMPSON = np.array([1.0, 4.0, 1.0]) / 6.0


def measured(strips):
    return section_properties(strips), torsion_properties(strips)


def batch_of(key, count=12):
    return family_for(key).strips(designs_for(key, count))


def some_forces(stations=3):
    rng = np.random.default_rng(5)
    return SectionForces(*(rng.normal(size=stations) * 1e6 for _ in range(6)))


def places(strips):
    def three(values):
        one, two = strips.at_first(values), strips.at_second(values)
        return np.stack([one, 0.5 * (one + two), two], -1)

    return three(strips.x), three(strips.z)


@pytest.mark.parametrize("key", KEYS)
@pytest.mark.parametrize("held", [False, True])
def test_resultants_close(key, held):
    """Integrals of sigma, sigma z and sigma x over the thick strips give N, -M and 0, to 1e-6."""
    strips = batch_of(key)
    p, t = measured(strips)
    forces = some_forces()
    field = stress_field(strips, p, t, forces, held=held)
    area = (strips.length * strips.thickness)[..., None, :, None] * SIMPSON
    x, z = (
        v[..., None, :, :] - c[..., None, None, None]
        for v, c in zip(places(strips), (p.centroid_x, p.centroid_z), strict=True)
    )
    dx, dz = strips.span_vectors()
    # the left normal (-dz, dx) / L; stress varies linearly through t: the moment of sigma is t / 6 of it
    skin = field.normal_across * (strips.thickness / 6.0)[..., None, :, None]
    off_x, off_z = (v[..., None, :, None] / strips.length[..., None, :, None] for v in (-dz, dx))
    total = (field.normal * area).sum((-1, -2))
    about_x = ((field.normal * z + skin * off_z) * area).sum((-1, -2))
    about_z = ((field.normal * x + skin * off_x) * area).sum((-1, -2))
    largest = np.abs(field.normal).max((-1, -2))
    depth = p.height[:, None]
    assert np.abs(total - forces.axial).max() < 1e-6 * (largest * p.area[:, None]).max()
    assert about_x == pytest.approx(
        np.broadcast_to(-forces.moment, about_x.shape), abs=1e-6 * (largest * p.area[:, None] * depth).max()
    )
    if not held:
        assert np.abs(about_z / (largest * p.area[:, None] * p.width[:, None])).max() < 1e-6


@pytest.mark.parametrize("key", KEYS)
def test_bimoment_and_torque_close(key):
    """Integral of sigma omega = B; the moment of the shear flow about the shear centre = T_w."""
    strips = batch_of(key)
    p, t = measured(strips)
    forces = some_forces()
    s = stress_shapes(strips, p, t)
    field = stress_field(
        strips,
        p,
        t,
        SectionForces(0 * forces.moment, 0 * forces.shear, forces.bimoment, forces.warping_torque),
    )
    area = (strips.length * strips.thickness)[..., None, :, None] * SIMPSON
    skin = field.normal_across * (strips.thickness / 6.0)[..., None, :, None]
    bimoment = ((field.normal * s.omega[:, None] + skin * s.omega_across[:, None]) * area).sum((-1, -2))
    assert bimoment == pytest.approx(np.broadcast_to(forces.bimoment, bimoment.shape), rel=1e-6)
    flow = (field.shear * strips.thickness[..., None, :, None] * SIMPSON).sum(-1)
    torque = (flow * (s.omega[..., 2] - s.omega[..., 0])[:, None]).sum(-1)
    # the plates' own bending carries the share that the thickness of the strips has in Gamma
    share = (s.omega**2 * area[:, 0]).sum((-1, -2)) / t.warping_constant
    assert torque == pytest.approx(share[:, None] * forces.warping_torque, rel=1e-9)
    assert (share > 0.9).all()
    assert (share < 1.0).all()


def test_thin_strips_carry_the_whole_torque_and_shear():
    strips = Strips.chain([1.0, 0.0, 0.2, 1.5], [2.0, 2.0, 0.0, 0.3], 1e-5, "wall")
    p, t = measured(strips)
    field = stress_field(strips, p, t, SectionForces(np.array([0.0]), np.array([7.0]), 0.0, 3.0))
    flow = (field.shear[0] * strips.thickness[:, None] * SIMPSON).sum(-1)
    s = stress_shapes(strips, p, t)
    dx, dz = strips.span_vectors()
    assert float((flow * dz).sum()) == pytest.approx(-7.0, rel=1e-6)  # on the face towards the far end
    assert float((flow * dx).sum()) == pytest.approx(0.0, abs=1e-6)
    assert float((flow * (s.omega[:, 2] - s.omega[:, 0])).sum()) == pytest.approx(3.0, rel=1e-6)


@pytest.mark.parametrize("key", KEYS)
def test_flow_is_the_shear_flow_of_the_section(key):
    strips = batch_of(key, 6)
    p, t = measured(strips)
    s = stress_shapes(strips, p, t)
    flow = shear_flow(
        strips, bending_field(strips, x=p.centroid_x, z=p.centroid_z, ixx=p.ixx, izz=p.izz, ixz=p.ixz)
    )
    assert s.flow[..., 0] == pytest.approx(flow.first, rel=1e-9, abs=1e-12)
    assert s.flow[..., 2] == pytest.approx(flow.second, rel=1e-9, abs=1e-12)


def test_shear_stress_of_a_thick_wall():
    """Parabola 1.5 V / A; warping of its shear strain z - (5/3) z^3 / c^2 over 4 A / V, zero resultant."""
    z = np.linspace(-1.0, 1.0, 201)
    wall = Strips.chain(0 * z, z, 1e-4, "web")
    p, t = measured(wall)
    s = stress_shapes(wall, p, t)
    middle = 0.5 * (z[1:] + z[:-1])
    assert s.flow[:, 1] == pytest.approx(-0.75 * (1 - middle**2), rel=1e-3, abs=1e-4)
    exact = -0.75 * (middle - middle**3 / 3 - 0.8 * middle) / 1e-4  # 0.8 z is the part that is a rotation
    assert s.lag[:, 1] == pytest.approx(exact, abs=1e-3 * np.abs(exact).max())


@pytest.mark.parametrize("key", KEYS)
def test_quick_extremes_are_those_of_the_field(key):
    strips = batch_of(key, 8)
    p, t = measured(strips)
    forces = SectionForces(*(np.random.default_rng(1).normal(size=4) * 1e5 for _ in range(8)))
    quick, field = stress_extremes(strips, p, t, forces), stress_field(strips, p, t, forces)
    high, low = field.normal + np.abs(field.normal_across), field.normal - np.abs(field.normal_across)
    tau = np.abs(field.shear) + np.abs(field.shear_across)[..., None]
    assert quick.tension == pytest.approx(high.max((-1, -2)), rel=1e-12)
    assert quick.compression == pytest.approx(-low.min((-1, -2)), rel=1e-12)
    assert quick.shear == pytest.approx(tau.max((-1, -2)), rel=1e-12)
    tension = mohr(high, 0.0, tau).major
    assert quick.principal_tension == pytest.approx(tension.max((-1, -2)), rel=1e-12)
    assert quick.principal_compression == pytest.approx(-mohr(low, 0.0, tau).minor.min((-1, -2)), rel=1e-12)
    assert np.array_equal(quick.strip, tension.max(-1).argmax(-1))


@pytest.mark.parametrize("key", KEYS)
def test_batch_law_and_bad_rows(key):
    x = designs_for(key, 8)
    x[3, 1] = np.nan
    strips = family_for(key).strips(x)
    forces = some_forces()
    whole, field = (
        stress_extremes(strips, *measured(strips), forces),
        stress_field(strips, *measured(strips), forces),
    )
    for i in (0, 2, 7):
        one = stress_extremes(strips[i], *measured(strips[i]), forces)
        assert whole.principal_tension[i].tobytes() == one.principal_tension.tobytes()
        assert whole.shear[i].tobytes() == one.shear.tobytes()
        assert (
            field.normal[i].tobytes()
            == stress_field(strips[i], *measured(strips[i]), forces).normal.tobytes()
        )
    assert np.isnan(whole.principal_tension[3]).all()
    assert (whole.strip[3] == -1).all()
