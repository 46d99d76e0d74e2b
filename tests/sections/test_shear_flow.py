"""Shear flow with branches and cells: equilibrium, no twist, shear centre from the flows themselves."""

import numpy as np
import pytest

from longvault.sections.bending import bending_field
from longvault.sections.properties import section_properties
from longvault.sections.shear_flow import shear_flow, sideways_field
from longvault.sections.strips import Strips
from longvault.sections.topology import section_walk
from longvault.sections.torsion import torsion_properties

THIN = 1e-6


def strips_of(nodes, ends, thickness=THIN):
    x, z = np.transpose(nodes)
    thickness = np.broadcast_to(np.asarray(thickness, dtype=float), len(ends))
    return Strips(x, z, ends, thickness, ["web"] * len(ends))


SECTIONS = {
    "chain": strips_of([(0, 0), (1, 2), (3, 2.5), (4, 1)], [(0, 1), (1, 2), (3, 2)]),
    "branches": strips_of(
        [(0, 0), (1, 2), (3, 2.5), (4, 1), (0, 3), (3, 4)], [(0, 1), (2, 1), (2, 3), (4, 1), (5, 2)]
    ),
    "box": strips_of(
        [(0, 0), (4, 0.3), (4, 2), (0, 2.4)], [(0, 1), (2, 1), (2, 3), (3, 0)], [1e-6, 2e-6, 1e-6, 3e-6]
    ),
    "two cells": strips_of(
        [(0, 0), (4, 0), (4, 2), (0, 2), (1.5, 0), (1.5, 2), (-1, 0)],
        [(0, 4), (4, 1), (1, 2), (2, 5), (5, 3), (3, 0), (4, 5), (6, 0)],
        [1e-6, 2e-6, 1e-6, 3e-6, 1e-6, 1e-6, 2e-6, 1e-6],
    ),
    "cell on a stem": strips_of([(0, 0), (0, 2), (1, 3), (-1, 3)], [(0, 1), (1, 2), (2, 3), (3, 1)]),
}


def both_flows(strips):
    p = section_properties(strips)
    inertia = {"x": p.centroid_x, "z": p.centroid_z, "ixx": p.ixx, "izz": p.izz, "ixz": p.ixz}
    fields = bending_field(strips, **inertia), sideways_field(strips, **inertia)
    return p, fields, [shear_flow(strips, field) for field in fields]


def mean_flow(strips, field, flow):
    """Mean over each strip of the parabola (exact)."""
    area = strips.length * strips.thickness
    return flow.first + area * (field.first / 3 + field.second / 6)


@pytest.mark.parametrize("name", SECTIONS)
def test_resultants_are_the_unit_force_alone(name):
    strips = SECTIONS[name]
    _, fields, flows = both_flows(strips)
    dx, dz = strips.span_vectors()
    # q = V x integral of f t ds grows where f > 0, so the resultant points down for V = 1: -1 and 0
    for k, (field, flow) in enumerate(zip(fields, flows, strict=True)):
        q = mean_flow(strips, field, flow)
        force = np.array([(q * dz).sum(), (q * dx).sum()])
        np.testing.assert_allclose(force, [-1.0, 0.0] if k == 0 else [0.0, -1.0], atol=1e-9)


@pytest.mark.parametrize("name", SECTIONS)
def test_flow_is_conserved_at_every_node_and_starts_at_zero(name):
    strips = SECTIONS[name]
    for flow in both_flows(strips)[2]:
        inflow = np.zeros(strips.x.shape)
        np.add.at(inflow, strips.ends[:, 0], -flow.first)
        np.add.at(inflow, strips.ends[:, 1], flow.second)
        np.testing.assert_allclose(inflow, 0, atol=1e-12)


@pytest.mark.parametrize("name", SECTIONS)
def test_shear_centre_is_where_the_flows_turn_about(name):
    strips = SECTIONS[name]
    p, fields, flows = both_flows(strips)
    torsion = torsion_properties(strips)
    x, z = strips.x - p.centroid_x, strips.z - p.centroid_z
    dx, dz = strips.span_vectors()
    arm = (
        strips.at_first(x) * dz - strips.at_first(z) * dx
    )  # lever arm of each strip about the centroid, times length
    moments = [(mean_flow(strips, *pair) * arm).sum() for pair in zip(fields, flows, strict=True)]
    # the vertical flow sums to -1 at x_s: moment x_s F_z - z_s F_x
    np.testing.assert_allclose(torsion.shear_centre_x - p.centroid_x, -moments[0], atol=1e-8)
    np.testing.assert_allclose(torsion.shear_centre_z - p.centroid_z, moments[1], atol=1e-8)


@pytest.mark.parametrize("name", ["box", "two cells", "cell on a stem"])
def test_cells_do_not_twist_under_shear_through_the_shear_centre(name):
    strips = SECTIONS[name]
    walk = section_walk(strips)
    ratio = strips.length / strips.thickness
    _, fields, flows = both_flows(strips)
    for field, flow in zip(fields, flows, strict=True):
        slip = ratio * mean_flow(strips, field, flow)
        for start, stop in zip(walk.cell_start[:-1], walk.cell_start[1:], strict=True):
            around = walk.cell_sign[start:stop] * slip[walk.cell_strip[start:stop]]
            assert abs(around.sum()) < 1e-9 * np.abs(slip).max()


@pytest.mark.parametrize("name", SECTIONS)
def test_peak_is_the_largest_value_on_the_parabola(name):
    strips = SECTIONS[name]
    u = np.linspace(0, 1, 20001)[:, None]
    area = strips.length * strips.thickness
    _, fields, flows = both_flows(strips)
    for f, q in zip(fields, flows, strict=True):
        along = q.first + area * (f.first * u + 0.5 * (f.second - f.first) * u * u)
        np.testing.assert_allclose(along[-1], q.second, atol=1e-12)
        np.testing.assert_allclose(np.abs(along).max(axis=0), q.peak, rtol=1e-6, atol=1e-12)


def test_sectorial_coordinate_is_orthogonal_to_plane_sections():
    for strips in SECTIONS.values():
        p, t = section_properties(strips), torsion_properties(strips)
        area = strips.length * strips.thickness
        w1, w2 = strips.at_first(t.omega), strips.at_second(t.omega)
        scale = p.width**2 * p.area
        assert abs((area * (w1 + w2)).sum()) < 1e-9 * scale
        for c in (strips.x - p.centroid_x, strips.z - p.centroid_z):
            c1, c2 = strips.at_first(c), strips.at_second(c)
            assert (
                abs((area * (2 * w1 * c1 + 2 * w2 * c2 + w1 * c2 + w2 * c1)).sum()) < 1e-9 * scale * p.width
            )


def test_separate_pieces_are_refused_with_the_strip_that_hangs_loose():
    apart = strips_of([(0, 0), (1, 0), (2, 0), (3, 0)], [(0, 1), (2, 3)])
    with pytest.raises(ValueError, match=r"separate pieces.*strip 0"):
        torsion_properties(apart)


def test_a_batch_of_cells_equals_its_rows_bitwise():
    one = SECTIONS["two cells"]
    rng = np.random.default_rng(5)
    x = one.x + 0.1 * rng.standard_normal((7, 7))
    many = Strips(
        x, one.z + 0 * x, one.ends, np.abs(one.thickness * (1 + 0.2 * rng.random((7, 8)))), one.parts
    )
    torsion = torsion_properties(many)
    flows = both_flows(many)[2]
    for i in range(7):
        single = torsion_properties(many[i])
        for name in ("shear_centre_x", "torsion_constant", "warping_constant", "omega"):
            np.testing.assert_array_equal(getattr(torsion, name)[i], getattr(single, name))
        for a, b in zip(flows, both_flows(many[i])[2], strict=True):
            np.testing.assert_array_equal(a.first[i], b.first)
            np.testing.assert_array_equal(a.peak[i], b.peak)


def test_a_bad_candidate_is_a_nan_row():
    one = SECTIONS["two cells"]
    x = np.stack([one.x, one.x])
    x[1, 2] = np.nan
    t = torsion_properties(
        Strips(x, np.stack([one.z] * 2), one.ends, np.stack([one.thickness] * 2), one.parts)
    )
    assert np.isfinite(t.torsion_constant[0])
    assert np.isnan([t.torsion_constant[1], t.shear_centre_x[1], t.warping_constant[1], t.omega[1, 0]]).all()
