"""Thick outlines: exact polygons, agreement with a polygon library, reasons, rows of modules."""

import numpy as np
import pytest
import shapely

from longvault.sections.curves import curve_points
from longvault.sections.families.base import Setting
from longvault.sections.families.registry import FAMILIES, NAMED, make_family
from longvault.sections.outline import (
    compare_outline,
    judge_outline,
    outline,
    strip_polygons,
)
from longvault.sections.polygon import outline_properties
from longvault.sections.strips import Strips

SETTING = Setting(pitch=7.5, height=2.65, thickness=0.08)


def upright_ends(family, strips):
    """Springings on the bay line that are free ends: cut upright, as the neighbour's."""
    degree = np.bincount(strips.ends.ravel())
    return [j.node for j in family.joints if j.kind == "valley" and degree[j.node] == 1]


def by_triangles(shape):
    """Area, centroid and second moments from the triangles of the library (three-point rule, exact)."""
    triangles = shapely.get_coordinates(shapely.get_parts(shapely.constrained_delaunay_triangles(shape)))
    corners = triangles.reshape(-1, 4, 2)[:, :3]
    middles = 0.5 * (corners + np.roll(corners, 1, axis=1))
    edge_1, edge_2 = corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]
    area = 0.5 * np.abs(edge_1[:, 0] * edge_2[:, 1] - edge_1[:, 1] * edge_2[:, 0])
    total = area.sum()
    centroid = (area[:, None] * middles.mean(axis=1)).sum(axis=0) / total
    x, z = np.moveaxis(middles - centroid, -1, 0)
    return total, centroid, [(area * (f).mean(axis=1)).sum() for f in (z * z, x * x, x * z)]


@pytest.mark.parametrize("key", NAMED)
def test_area_and_inertia_of_the_outline_agree_with_a_polygon_library(key):
    family = make_family(key, SETTING)
    strips = family.strips(family.starts()[0])
    shape = outline(strips, upright=upright_ends(family, strips))
    found = outline_properties(shape)
    area, centroid, (ixx, izz, ixz) = by_triangles(shape)
    assert found.area == pytest.approx(shape.area, rel=1e-9)
    assert found.area == pytest.approx(area, rel=1e-9)
    np.testing.assert_allclose([found.centroid_x, found.centroid_z], centroid, atol=1e-9)
    assert found.ixx == pytest.approx(ixx, rel=1e-9)
    assert found.izz == pytest.approx(izz, rel=1e-9)
    assert found.ixz == pytest.approx(ixz, rel=1e-9, abs=1e-9 * ixx)


@pytest.mark.parametrize("key", FAMILIES)
def test_starting_designs_are_valid_single_polygons_that_tile(key):
    family = make_family(key, SETTING)
    for row in family.starts()[:3]:
        strips = family.strips(row)
        verdict = judge_outline(strips, pitch=SETTING.pitch, upright=upright_ends(family, strips))
        assert verdict.valid, verdict.reasons
        assert verdict.shape.geom_type == "Polygon"
        assert verdict.shape.is_valid
        assert not verdict.shape.interiors


def test_outline_beside_strips_the_difference_is_small_and_reported():
    """Corners: exact where curves run on, up to some percent where thick members overlap at a node."""
    worst = {}
    for key in NAMED:
        family = make_family(key, SETTING)
        strips = family.strips(family.starts()[0])
        worst[key] = compare_outline(strips, upright=upright_ends(family, strips))
        assert abs(worst[key].area_difference) < 0.02, key
        assert abs(worst[key].ixx_difference) < 0.03, key
    for key, c in worst.items():
        print(f"{key:32} A {c.area_difference:+.2%} I {c.ixx_difference:+.2%} S {c.s_bottom_difference:+.2%}")


def test_no_area_is_counted_twice_at_corners_and_branches():
    cross = Strips(
        [0, 2, 1, 1, 1], [0, 0, -1, 0, 1], [[0, 3], [3, 1], [2, 3], [3, 4]], [0.2] * 4, ["web"] * 4
    )
    assert outline(cross).area == pytest.approx(2 * 0.2 + 2 * 0.2 - 0.2 * 0.2, rel=1e-9)
    tee = Strips([0, 2, 1, 1], [0, 0, 0, -1], [[0, 2], [2, 1], [2, 3]], [0.2, 0.2, 0.3], ["web"] * 3)
    assert outline(tee).area == pytest.approx(2 * 0.2 + 0.9 * 0.3, rel=1e-9)
    box = Strips([0, 2, 2, 0], [0, 0, 1, 1], [[0, 1], [1, 2], [2, 3], [3, 0]], [0.1] * 4, ["web"] * 4)
    shape = outline(box)
    assert shape.area == pytest.approx(2.1 * 1.1 - 1.9 * 0.9, rel=1e-9)
    assert len(shape.interiors) == 1


def test_thickness_step_on_a_curve_is_a_step():
    step = Strips.chain([0.0, 1.0, 2.0], [0.0, 0.0, 0.0], [0.1, 0.3], "slab")
    assert outline(step).area == pytest.approx(0.4, rel=1e-9)
    assert outline(step).bounds == pytest.approx((0, -0.15, 2, 0.15))


def sharp_corners(shape):
    """Count the corners that turn by more than 45 degrees."""
    edges = np.diff(shapely.get_coordinates(shape.exterior), axis=0)
    after = np.roll(edges, -1, axis=0)
    turn = np.arctan2(
        edges[:, 0] * after[:, 1] - edges[:, 1] * after[:, 0], np.einsum("ki,ki->k", edges, after)
    )
    return int((np.abs(turn) > np.radians(45)).sum())


def test_taper_stands_for_a_small_step_on_a_curve_and_keeps_area_and_inertia():
    for t, tapers in ((0.12, True), (0.3, False)):
        step = Strips.chain([0.0, 1.0, 2.0], [0.0, 0.0, 0.0], [0.1, t], "slab")
        drawn, exact = outline(step, tapered=True), outline(step)
        assert drawn.area == pytest.approx(exact.area, rel=1e-9)
        assert drawn.bounds == pytest.approx(exact.bounds)
        assert outline_properties(drawn).izz == pytest.approx(outline_properties(exact).izz, rel=1e-3)
        assert ((1.0, 0.25 * (0.1 + t)) in {tuple(np.round(p, 9)) for p in drawn.exterior.coords}) == tapers
    swell = Strips.chain(
        np.linspace(0, 6, 61), 0.1 * np.linspace(-3, 3, 61) ** 2, np.linspace(0.08, 0.2, 60), "w"
    )
    smooth, stepped = outline(swell, tapered=True), outline(swell)
    assert sharp_corners(smooth) == 4
    assert sharp_corners(stepped) > 4 * 59  # two at either face of every joint
    assert smooth.area == pytest.approx(stepped.area, rel=1e-4)


def test_a_taper_that_would_turn_a_short_strip_over_is_drawn_in_steps():
    """Short strips that thicken towards a thick level keel, as a search found them (metres)."""
    half = [
        (0.22410856, 0.05759286),
        (0.19305604, 0.03914778),
        (0.16517113, 0.02334519),
        (0.14072815, 0.01026823),
    ]
    right = [(0.12000137, 0.0), *half[::-1], (0.25805442, 0.07859733)]
    nodes = np.array([*[(-x, z) for x, z in right[::-1]], *right])
    wing = [0.09610400, 0.09824500, 0.10070600, 0.10348800]
    thickness = [wing[0], *wing, 0.145, *wing[::-1], wing[0]]
    parts = ["wing"] * 5 + ["keel"] + ["wing"] * 5
    strips = Strips.chain(nodes[:, 0], nodes[:, 1], thickness, parts)
    drawn, exact = outline(strips, tapered=True), outline(strips)
    assert drawn.is_valid
    assert drawn.area == pytest.approx(exact.area, rel=1e-9)


@pytest.mark.parametrize("tapered", [False, True])
def test_outline_far_from_the_origin_is_the_same(tapered):
    family = make_family("gull-wing-flange", SETTING)
    strips = family.strips(family.starts()[0])
    far = Strips(strips.x + 3e5, strips.z - 8e4, strips.ends, strips.thickness, strips.parts)
    near, there = outline(strips, tapered=tapered), outline(far, tapered=tapered)
    assert there.is_valid
    assert len(shapely.get_parts(there)) == 1
    assert there.area == pytest.approx(near.area, rel=1e-8)


def arc(angle, radius, thickness, stations=61):
    x, z = curve_points("arc", width=2 * radius * np.sin(angle), half_angle=angle, stations=stations)
    return Strips.chain(x, z, thickness, "wing")


def test_curve_tighter_than_half_its_thickness_is_refused():
    assert judge_outline(arc(1.4, 0.12, 0.2)).valid
    verdict = judge_outline(arc(1.4, 0.095, 0.2))
    assert not verdict.valid
    assert "turns tighter than half its thickness" in verdict.reasons[0]


def test_reasons_name_the_fault():
    line = Strips.chain([0.0, 1.0, np.nan], [0.0, 0.0, 0.0], 0.1, "wing")
    assert judge_outline(line).reasons == ("node 2 has a coordinate that is not a finite number",)
    short = Strips.chain([0.0, 1.0, 1.0], [0.0, 0.0, 0.0], 0.1, "wing")
    assert judge_outline(short).reasons[0].startswith("strip 1 has length 0 m")
    apart = Strips([0, 1, 2, 3], [0, 0, 0, 0], [[0, 1], [2, 3]], [0.1, 0.1], ["wing"] * 2)
    assert "separate pieces" in judge_outline(apart).reasons[0]
    wide = judge_outline(arc(1.0, 3.0, 0.1), pitch=4.0)
    assert "overlap" in wide.reasons[0]
    assert wide.overlap_area > 0
    folded_back = Strips.chain([0.0, 2.0, 0.0], [0.0, 0.0, 0.02], 0.1, "wing")
    assert not judge_outline(folded_back).valid or outline(folded_back).area < 0.3


def test_module_wider_than_its_bay_overlaps_by_what_is_too_much():
    wall = Strips.chain([0.0, 3.0], [0.0, 0.0], 0.2, "slab")
    assert judge_outline(wall, pitch=3.0).valid
    assert judge_outline(wall, pitch=2.9).overlap_area == pytest.approx(0.1 * 0.2, rel=1e-9)


def random_splines(count):
    rng = np.random.default_rng(11)
    keys = [k for k in FAMILIES if k.startswith("free-") or k in ("gull-wing", "vault", "one-sided")]
    for k in range(count):
        family = make_family(keys[k % len(keys)], SETTING)
        lower = np.array([v.lower for v in family.variables])
        upper = np.array([v.upper for v in family.variables])
        start = family.starts()[0]
        wild = lower + (upper - lower) * rng.random(len(start))
        strips = family.strips(start + rng.uniform(0.2, 1.0) * (wild - start))
        yield family, strips


def crosses_itself(strips):
    """Second opinion: mid-line pieces more than a few thicknesses apart along the section that touch."""
    polygons = strip_polygons(strips)
    lines = shapely.linestrings(
        np.stack([strips.nodes[strips.ends[:, 0]], strips.nodes[strips.ends[:, 1]]], axis=1)
    )
    near = shapely.STRtree(lines).query(lines, predicate="intersects").T
    mid_lines_cross = any(not set(strips.ends[a]) & set(strips.ends[b]) for a, b in near)
    return mid_lines_cross or not all(p.is_valid for p in polygons)


def test_of_200_random_splines_no_accepted_outline_crosses_itself_or_its_neighbour():
    accepted = 0
    for family, strips in random_splines(200):
        verdict = judge_outline(strips, pitch=SETTING.pitch, upright=upright_ends(family, strips))
        if not verdict.valid:
            continue
        accepted += 1
        shape = verdict.shape
        assert shape.is_valid
        assert shape.exterior.is_simple
        assert not crosses_itself(strips)
        for k in (-2, -1, 1, 2):
            moved = shapely.transform(shape, lambda xz, k=k: xz + np.array([k * SETTING.pitch, 0.0]))
            assert shape.intersection(moved).area < 1e-9 * shape.area
    assert 60 < accepted < 200
