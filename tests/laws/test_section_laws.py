"""Laws that every section obeys, over a zoo of all families, branches and cells."""

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from longvault.sections.bending import bending_field
from longvault.sections.curves import curve_points
from longvault.sections.families.base import Setting
from longvault.sections.families.registry import FAMILIES, make_family
from longvault.sections.histogram import height_histogram
from longvault.sections.ideal import fewest_crossings
from longvault.sections.plastic import plastic_modulus
from longvault.sections.properties import Properties, section_properties
from longvault.sections.shear_flow import shear_flow, sideways_field
from longvault.sections.strips import Strips
from longvault.sections.torsion import TorsionProperties, torsion_properties

settings.register_profile(
    "laws", max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow]
)
settings.load_profile("laws")
SETTING = Setting(pitch=7.5, height=2.65, thickness=0.08)
FAMILY = {key: make_family(key, SETTING) for key in FAMILIES}


def box_with_wings(rng):
    """A closed keel box of two cells with a wing on either side, the nodes shaken."""
    nodes = np.array([(-1, 0), (0, 0), (1, 0), (1, 0.6), (0, 0.6), (-1, 0.6), (-3, 2), (3, 2)], dtype=float)
    nodes += rng.uniform(-0.15, 0.15, nodes.shape)
    ends = [(0, 1), (1, 2), (2, 3), (3, 4), (4, 5), (5, 0), (4, 1), (5, 6), (3, 7)]
    return Strips(nodes[:, 0], nodes[:, 1], ends, rng.uniform(0.05, 0.3, 9), ["web"] * 9)


def tree(rng):
    """A branching section grown node by node."""
    ends = [(int(rng.integers(0, k)), k) for k in range(1, 9)]
    x, z = rng.uniform(-3, 3, (2, 9))
    return Strips(x, z, ends, rng.uniform(0.03, 0.4, 8), ["web"] * 8)


@st.composite
def sections(draw):
    kind = draw(st.sampled_from(["cells", "tree", *FAMILY]))
    rng = np.random.default_rng(draw(st.integers(0, 10**6)))
    if kind in ("cells", "tree"):
        return box_with_wings(rng) if kind == "cells" else tree(rng)
    variables = FAMILY[kind].variables
    lower, upper = np.array([v.lower for v in variables]), np.array([v.upper for v in variables])
    return FAMILY[kind].strips(lower + (upper - lower) * rng.uniform(0.02, 0.98, len(variables)))


def rebuilt(strips, x=None, z=None, thickness=None, ends=None, parts=None):
    take = lambda new, old: old if new is None else new  # noqa: E731
    return Strips(
        take(x, strips.x),
        take(z, strips.z),
        take(ends, strips.ends),
        take(thickness, strips.thickness),
        take(parts, strips.parts),
    )


def close(a, b, rel=1e-9, scale=0.0):
    assert a == pytest.approx(b, rel=rel, abs=rel * scale), (a, b)


OWN = (
    "area",
    "ixx",
    "izz",
    "i1",
    "i2",
    "height",
    "width",
    "s_top",
    "s_bottom",
    "s_free_compression",
    "s_free_tension",
)
MORE = ("kern_top", "kern_bottom", "stress_efficiency", "shape_efficiency", "developed_length")


@given(sections(), st.floats(-50, 50), st.floats(-50, 50))
def test_shift_moves_the_centre_and_nothing_else(strips, dx, dz):
    p, q = section_properties(strips), section_properties(strips.shifted(dx, dz))
    for name in OWN + MORE:
        close(getattr(q, name), getattr(p, name))
    close(q.centroid_x, p.centroid_x + dx, scale=50)
    close(q.centroid_z, p.centroid_z + dz, scale=50)
    a, b = torsion_properties(strips), torsion_properties(strips.shifted(dx, dz))
    close(b.torsion_constant, a.torsion_constant)
    close(b.warping_constant, a.warping_constant, rel=1e-7, scale=float(p.area * p.width**4) * 1e-6)
    close(b.shear_centre_x - dx, a.shear_centre_x, rel=1e-8, scale=50)
    close(plastic_modulus(strips.shifted(dx, dz)).modulus, plastic_modulus(strips).modulus)


@given(sections())
def test_far_from_the_origin_nothing_is_lost_but_the_digits_of_the_coordinates(strips):
    p, q = section_properties(strips), section_properties(strips.shifted(4.5e5, -5.2e6))
    for name in OWN:
        close(getattr(q, name), getattr(p, name), rel=2e-6)
    assert torsion_properties(strips.shifted(4.5e5, -5.2e6)).torsion_constant == pytest.approx(
        torsion_properties(strips).torsion_constant, rel=2e-6
    )


@given(sections())
def test_mirror_turns_the_product_of_area_and_the_shear_centre_over(strips):
    p, q = section_properties(strips), section_properties(strips.mirrored())
    for name in OWN + MORE:
        close(getattr(q, name), getattr(p, name))
    close(q.ixz, -p.ixz, scale=float(p.ixx + p.izz))
    a, b = torsion_properties(strips), torsion_properties(strips.mirrored())
    close(b.shear_centre_x, -a.shear_centre_x, rel=1e-8, scale=float(p.width))
    close(b.torsion_constant, a.torsion_constant)
    np.testing.assert_allclose(b.omega, -a.omega, atol=1e-8 * float(p.width) ** 2)


@given(sections(), st.floats(-np.pi, np.pi))
def test_rotation_keeps_principal_values_torsion_and_warping(strips, angle):
    c, s = np.cos(angle), np.sin(angle)
    turned = rebuilt(strips, c * strips.x - s * strips.z, s * strips.x + c * strips.z)
    p, q = section_properties(strips), section_properties(turned)
    total = float(p.ixx + p.izz)
    for name in ("area", "i1", "i2"):
        close(getattr(q, name), getattr(p, name), scale=total)
    close(q.ixx + q.izz, total)
    a, b = torsion_properties(strips), torsion_properties(turned)
    close(b.torsion_constant, a.torsion_constant)
    size = float(np.hypot(p.width, p.height))
    close(b.shear_centre_x, c * a.shear_centre_x - s * a.shear_centre_z, rel=1e-7, scale=size)
    close(b.warping_constant, a.warping_constant, rel=1e-7, scale=float(p.area) * size**4 * 1e-3)


@given(sections(), st.floats(0.01, 100))
def test_scale_goes_with_the_powers_of_length(strips, k):
    big = rebuilt(strips, k * strips.x, k * strips.z, k * strips.thickness)
    p, q = section_properties(strips), section_properties(big)
    powers = {
        "area": 2,
        "ixx": 4,
        "izz": 4,
        "s_top": 3,
        "s_free": 3,
        "height": 1,
        "kern_top": 1,
        "stress_efficiency": 0,
    }
    for name, power in powers.items():
        close(getattr(q, name), getattr(p, name) * k**power)
    a, b = torsion_properties(strips), torsion_properties(big)
    close(b.torsion_constant, a.torsion_constant * k**4)
    close(b.warping_constant, a.warping_constant * k**6, rel=1e-8)
    close(plastic_modulus(big).modulus, plastic_modulus(strips).modulus * k**3)


def split(strips, strip, share):
    i, j = strips.ends[strip]
    x = np.append(strips.x, strips.x[i] + share * (strips.x[j] - strips.x[i]))
    z = np.append(strips.z, strips.z[i] + share * (strips.z[j] - strips.z[i]))
    ends = np.vstack([strips.ends, [len(x) - 1, j]])
    ends[strip, 1] = len(x) - 1
    return Strips(
        x, z, ends, np.append(strips.thickness, strips.thickness[strip]), (*strips.parts, strips.parts[strip])
    )


def flows(strips):
    p = section_properties(strips)
    inertia = {"x": p.centroid_x, "z": p.centroid_z, "ixx": p.ixx, "izz": p.izz, "ixz": p.ixz}
    return [shear_flow(strips, make(strips, **inertia)) for make in (bending_field, sideways_field)]


@given(sections(), st.integers(0, 10**6), st.floats(0.05, 0.95))
def test_splitting_a_strip_changes_nothing(strips, which, share):
    strip = which % len(strips.parts)
    cut = split(strips, strip, share)
    p, q = section_properties(strips), section_properties(cut)
    for name in OWN + MORE:
        close(getattr(q, name), getattr(p, name), rel=1e-8)
    a, b = torsion_properties(strips), torsion_properties(cut)
    close(b.torsion_constant, a.torsion_constant)
    close(b.warping_constant, a.warping_constant, rel=1e-7)
    close(plastic_modulus(cut).modulus, plastic_modulus(strips).modulus)
    for whole, parts in zip(flows(strips), flows(cut), strict=True):
        close(parts.peak.max(), whole.peak.max(), rel=1e-7)
    area_a, area_b = height_histogram(strips).area, height_histogram(cut).area
    np.testing.assert_allclose(area_b, area_a, rtol=1e-7, atol=1e-9 * float(p.area))


@given(sections(), st.integers(0, 10**6))
def test_order_and_direction_of_strips_do_not_matter(strips, seed):
    rng = np.random.default_rng(seed)
    order = rng.permutation(len(strips.parts))
    ends = np.where(rng.random((len(order), 1)) < 0.5, strips.ends[order], strips.ends[order][:, ::-1])
    shuffled = Strips(strips.x, strips.z, ends, strips.thickness[order], [strips.parts[k] for k in order])
    p, q = section_properties(strips), section_properties(shuffled)
    for name in OWN:
        close(getattr(q, name), getattr(p, name))
    a, b = torsion_properties(strips), torsion_properties(shuffled)
    close(b.torsion_constant, a.torsion_constant)
    close(b.warping_constant, a.warping_constant, rel=1e-7)
    for one, other in zip(flows(strips), flows(shuffled), strict=True):
        np.testing.assert_allclose(other.peak, one.peak[order], rtol=1e-6, atol=1e-9 * float(one.peak.max()))


@given(sections())
def test_ordering_of_measures(strips):
    p, plastic = section_properties(strips), plastic_modulus(strips)
    assert p.i1 >= max(p.ixx, p.izz) * (1 - 1e-12)
    assert p.i2 <= min(p.ixx, p.izz) * (1 + 1e-12)
    assert p.ixx <= p.area * p.height**2 / 4 * (1 + 1e-12)
    assert min(p.s_top, p.s_bottom) <= p.area * p.height / 2 * (1 + 1e-12)
    assert p.s_free <= p.area * p.height / 2 * (1 + 1e-12)
    assert plastic.modulus <= p.area * p.height / 2 * (1 + 1e-12)
    assert plastic.modulus >= min(p.s_top, p.s_bottom) * (1 - 1e-12)
    assert torsion_properties(strips).torsion_constant >= 0


@pytest.mark.parametrize("kind", ["arc", "ellipse", "parabola", "catenary"])
def test_refinement_converges_with_the_square_of_the_number_of_strips(kind):
    def measure(n):
        x, z = curve_points(kind, width=6.0, rise=2.0, stations=n + 1)
        strips = Strips.chain(x, z, 1e-6, "wing")
        p, t = section_properties(strips), torsion_properties(strips)
        return np.array([p.area, p.ixx, p.izz, p.s_free, t.shear_centre_z, t.warping_constant])

    coarse, middle, fine = measure(40), measure(80), measure(160)
    ratio = (coarse - middle) / (middle - fine)
    print(kind, "exact order 4 =", ratio)
    np.testing.assert_allclose(ratio, 4.0, rtol=0.03)


BATCHED = {
    "section_properties": section_properties,
    "torsion_properties": torsion_properties,
    "plastic_modulus": plastic_modulus,
    "height_histogram": height_histogram,
    "shear_flow": lambda strips: flows(strips)[0],
    "sideways shear_flow": lambda strips: flows(strips)[1],
}


@pytest.mark.parametrize("name", BATCHED)
@pytest.mark.parametrize(
    "key", ["gull-wing-keel", "north-light", "segment-vault-gutter-box", "free-wave", "cells"]
)
def test_a_row_never_depends_on_its_batch(name, key):
    rng = np.random.default_rng(0)
    if key == "cells":
        several = [box_with_wings(rng) for _ in range(6)]
        stacked = [np.stack([getattr(s, n) for s in several]) for n in ("x", "z", "thickness")]
        many = Strips(stacked[0], stacked[1], several[0].ends, stacked[2], several[0].parts)
    else:
        variables = FAMILY[key].variables
        lower, upper = np.array([v.lower for v in variables]), np.array([v.upper for v in variables])
        many = FAMILY[key].strips(lower + (upper - lower) * rng.random((6, len(variables))))
    grid = Strips(
        *(v.reshape(2, 3, -1) for v in (many.x, many.z)),
        many.ends,
        many.thickness.reshape(2, 3, -1),
        many.parts,
    )
    whole, shaped = BATCHED[name](many), BATCHED[name](grid)
    for i in range(6):
        one = BATCHED[name](many[i])
        for field in type(one).__dataclass_fields__:
            row = getattr(whole, field)[i]
            np.testing.assert_array_equal(row, getattr(one, field), err_msg=field)
            np.testing.assert_array_equal(row, getattr(shaped, field)[divmod(i, 3)], err_msg=field)


def test_no_call_changes_its_arguments():
    strips = FAMILY["gull-wing-keel"].strips(FAMILY["gull-wing-keel"].starts())
    before = [v.copy() for v in (strips.x, strips.z, strips.thickness, strips.ends)]
    for measure in (*BATCHED.values(), fewest_crossings):
        measure(strips)
    for a, b in zip(before, (strips.x, strips.z, strips.thickness, strips.ends), strict=True):
        np.testing.assert_array_equal(a, b)
        assert not b.flags.writeable
    x = FAMILY["wave"].starts()
    kept = x.copy()
    FAMILY["wave"].strips(x)
    np.testing.assert_array_equal(x, kept)


def test_results_are_read_only_and_complete():
    strips = FAMILY["gull-wing-keel"].strips(FAMILY["gull-wing-keel"].starts())
    for result, kind in (
        (section_properties(strips), Properties),
        (torsion_properties(strips), TorsionProperties),
    ):
        for name in kind.__dataclass_fields__:
            assert np.isfinite(getattr(result, name)).all(), name
            assert not getattr(result, name).flags.writeable, name
