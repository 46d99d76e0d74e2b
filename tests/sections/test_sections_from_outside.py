"""Sections and mid-lines from outside: measured, or refused with one clear message."""

import json

import ezdxf
import numpy as np
import pytest

from longvault.sections.curves import curve_points
from longvault.sections.digitised import fit_midline, read_midline
from longvault.sections.properties import section_properties
from longvault.sections.section_file import Joint, Section, SectionFileError, read_section
from longvault.sections.strips import Strips
from longvault.sections.tidy import tidy_section
from longvault.sections.torsion import torsion_properties


def box(reverse=False, shift=(0.0, 0.0), apart=False):
    corners = np.array([(0, 0), (4, 0), (4, 2), (0, 2)], dtype=float) + shift
    if reverse:
        corners = corners[::-1]
    ends = [(i, (i + 1) % 4) for i in range(4)]
    if apart:  # every strip drawn with its own two nodes
        nodes = np.array([corners[k] for pair in ends for k in pair])
        ends = [(2 * i, 2 * i + 1) for i in range(4)]
    else:
        nodes = corners
    return Section(
        "box", Strips(nodes[:, 0], nodes[:, 1], ends, [0.1] * 4, ["web"] * 4), (Joint(1, "slot", "right"),)
    )


def test_duplicate_nodes_direction_and_place_do_not_matter():
    plain = box()
    p, t = section_properties(plain.strips), torsion_properties(plain.strips)
    for section in (box(reverse=True), box(apart=True), box(shift=(3e5, -8e4)), box(True, (1e4, 2e4), True)):
        clean = tidy_section(section).strips
        assert clean.x.size == 4
        q, u = section_properties(clean), torsion_properties(clean)
        for name in ("area", "ixx", "izz", "s_free", "width", "height"):
            assert getattr(q, name) == pytest.approx(getattr(p, name), rel=1e-9)
        assert u.torsion_constant == pytest.approx(t.torsion_constant, rel=1e-9)
        assert u.shear_centre_x - q.centroid_x == pytest.approx(0, abs=1e-8)


def test_nodes_keep_their_order_unused_ones_go_and_joints_follow():
    strips = Strips([9, 0, 5, 1, 1, 2], [9, 0, 5, 0, 0, 1], [[1, 3], [4, 5]], [0.1, 0.1], ["web", "web"])
    clean = tidy_section(Section("line", strips, (Joint(5, "slot", "right"),)))
    assert clean.strips.x.tolist() == [0, 1, 2]
    assert clean.strips.ends.tolist() == [[0, 1], [1, 2]]
    assert [j.node for j in clean.joints] == [2]
    with pytest.raises(ValueError, match="joints: node 0 belongs to no strip"):
        tidy_section(Section("line", strips, (Joint(0, "slot", "left"),)))


BAD = {
    "two pieces": (
        Strips([0, 1, 2, 3], [0, 0, 0, 0], [[0, 1], [2, 3]], [0.1] * 2, ["a"] * 2),
        "separate pieces",
    ),
    "no length": (
        Strips([0, 1, 1], [0, 0, 0], [[0, 1], [1, 2]], [0.1] * 2, ["a"] * 2),
        "strip 1 joins two nodes",
    ),
    "not a number": (
        Strips([0, 1, np.nan], [0, 0, 0], [[0, 1], [1, 2]], [0.1] * 2, ["a"] * 2),
        "node 2 is at",
    ),
    "no thickness": (Strips([0, 1], [0, 0], [[0, 1]], [0.0], ["a"]), "strip 0 has thickness 0 m"),
    "drawn twice": (
        Strips([0, 1, 2], [0, 0, 0], [[0, 1], [1, 2], [2, 1]], [0.1] * 3, ["a"] * 3),
        "strips 1 and 2",
    ),
}


@pytest.mark.parametrize("name", BAD)
def test_bad_sections_get_one_clear_message(name):
    strips, message = BAD[name]
    with pytest.raises(ValueError, match=message) as caught:
        tidy_section(Section("outside", strips))
    assert "\n" not in str(caught.value)


def test_a_million_nodes_are_refused_at_once():
    x = np.linspace(0, 1, 1_000_000)
    with pytest.raises(ValueError, match="has 1000000 nodes; at most 20000 are measured"):
        tidy_section(Section("cloud", Strips.chain(x, 0 * x, 0.1, "wing")))


def test_a_file_with_too_many_nodes_names_the_limit(tmp_path):
    path = tmp_path / "big.json"
    data = {
        "format": "longvault-section",
        "version": 1,
        "name": "big",
        "nodes_m": [[i, 0] for i in range(20_001)],
    }
    path.write_text(json.dumps(data | {"strips": [{"nodes": [0, 1], "thickness_m": 0.1}]}))
    with pytest.raises(SectionFileError, match="at most 20000"):
        read_section(path)


def arch_points(n=60):
    return np.stack(curve_points("arc", width=6.0, rise=1.5, stations=n), axis=1)


def test_fit_of_a_clean_arc_keeps_its_properties():
    points = arch_points()
    fit = fit_midline(points, thickness=0.08)
    assert fit.error_max < 2e-3
    assert fit.error_rms <= fit.error_max
    exact = section_properties(Strips.chain(*points.T, 0.08, "wing"))
    found = section_properties(fit.strips)
    assert found.area == pytest.approx(exact.area, rel=1e-3)
    assert found.ixx == pytest.approx(exact.ixx, rel=3e-3)
    np.testing.assert_allclose(fit.strips.nodes[[0, -1]], points[[0, -1]], atol=1e-9)


def test_more_controls_follow_closer_and_noise_is_smoothed_and_shown():
    points = arch_points(200)
    errors = [fit_midline(points, thickness=0.08, controls=k).error_max for k in (5, 8, 14)]
    assert errors[0] > errors[1] > errors[2]
    shaky = points + np.random.default_rng(3).normal(0, 0.01, points.shape)
    fit = fit_midline(shaky, thickness=0.08)
    assert 0.006 < fit.error_rms < 0.012  # normal distance: one of two noisy directions
    exact = section_properties(Strips.chain(*points.T, 0.08, "wing")).ixx
    assert section_properties(fit.strips).ixx == pytest.approx(exact, rel=0.02)


def test_the_worst_point_is_named():
    points = arch_points()
    points[31] += [0.0, 0.25]
    fit = fit_midline(points, thickness=0.08)
    assert fit.worst_point == 31
    assert fit.error_max > 0.1


def write_csv(path, points, header="x_m,z_m", scale=1.0):
    path.write_text("\n".join([header, *(f"{x * scale},{z * scale}" for x, z in points)]))


def test_csv_in_metres_or_millimetres(tmp_path):
    points = arch_points()
    write_csv(tmp_path / "a.csv", points)
    write_csv(tmp_path / "b.csv", points, "point,x_mm,z_mm".replace("point,", ""), 1000)
    np.testing.assert_allclose(read_midline(tmp_path / "a.csv"), points, atol=1e-12)
    np.testing.assert_allclose(read_midline(tmp_path / "b.csv"), points, atol=1e-9)


def test_dxf_polyline_lines_and_arc_joined_whichever_way_drawn(tmp_path):
    drawing = ezdxf.new(units=4)
    space = drawing.modelspace()
    space.add_line((-3000, 0), (-3000, -500))
    space.add_line((3000, 0), (3000, -500))
    space.add_arc((0, 0), 3000, 0, 180)
    drawing.saveas(tmp_path / "vault.dxf")
    points = read_midline(tmp_path / "vault.dxf")
    assert np.hypot(*(points[0] - points[-1])) == pytest.approx(6.0, abs=1e-6)
    assert points[:, 1].max() == pytest.approx(3.0, abs=6e-3)
    assert points[:, 1].min() == pytest.approx(-0.5, abs=1e-9)
    plain = ezdxf.new(units=6)
    plain.modelspace().add_lwpolyline(arch_points().tolist())
    plain.saveas(tmp_path / "line.dxf")
    np.testing.assert_allclose(read_midline(tmp_path / "line.dxf"), arch_points(), atol=1e-9)


def refused(path, message, **options):
    with pytest.raises(SectionFileError, match=message) as caught:
        read_midline(path, **options)
    assert str(path) in str(caught.value)
    assert "\n" not in str(caught.value)


def test_unreadable_midlines_are_refused_with_a_reason(tmp_path):
    refused(tmp_path / "none.csv", "cannot be read")
    refused(tmp_path / "line.txt", "read from .csv or .dxf")
    (tmp_path / "empty.csv").write_text("")
    refused(tmp_path / "empty.csv", "is empty")
    (tmp_path / "header.csv").write_text("a,b\n1,2")
    refused(tmp_path / "header.csv", "needs the columns x_m and z_m")
    (tmp_path / "comma.csv").write_text("x_m,z_m\n0,0\n1,abc\n")
    refused(tmp_path / "comma.csv", "row 3: got 'abc'; must be a number")
    (tmp_path / "nan.csv").write_text("x_m,z_m\n0,0\n1,nan\n2,0\n3,0\n4,0")
    refused(tmp_path / "nan.csv", "row 3: got nan; must be a finite number")
    write_csv(tmp_path / "few.csv", arch_points()[:3])
    refused(tmp_path / "few.csv", "holds 3 different points")
    write_csv(tmp_path / "many.csv", np.random.default_rng(0).random((20_001, 2)))
    refused(tmp_path / "many.csv", "at most 20000")
    (tmp_path / "junk.dxf").write_text("this is no drawing")
    refused(tmp_path / "junk.dxf", "is not a readable DXF drawing")
    apart = ezdxf.new(units=6)
    apart.modelspace().add_line((0, 0), (1, 0))
    apart.modelspace().add_line((5, 5), (6, 6))
    apart.saveas(tmp_path / "apart.dxf")
    refused(tmp_path / "apart.dxf", "do not join into one line")
    unitless = ezdxf.new(units=0)
    unitless.modelspace().add_lwpolyline(arch_points().tolist())
    unitless.saveas(tmp_path / "unitless.dxf")
    refused(tmp_path / "unitless.dxf", "does not say its unit")
    np.testing.assert_allclose(read_midline(tmp_path / "unitless.dxf", unit="m"), arch_points(), atol=1e-9)
    with pytest.raises(ValueError, match="controls: got 3"):
        fit_midline(arch_points(), thickness=0.1, controls=3)
