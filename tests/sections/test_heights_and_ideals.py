"""Histogram, plastic modulus, kern and ideals, against polygons, quadrature and 125 000 random sections."""

import numpy as np
import pytest
import shapely

from longvault.sections import ideal
from longvault.sections.curves import curve_points
from longvault.sections.histogram import area_below, height_histogram
from longvault.sections.kern import corner_points, kern_polygon
from longvault.sections.plastic import plastic_modulus
from longvault.sections.properties import section_properties
from longvault.sections.strips import Strips


def random_chains(rng, count, nodes, *, spread=1.0):
    x, z = spread * rng.standard_normal((2, count, nodes))
    return Strips.chain(x, z, rng.uniform(0.01, 0.3, (count, nodes - 1)), "wing")


def rectangles(strips):
    """Shapely polygon of each strip of one section."""
    first_low, first_high, second_low, second_high = np.split(corner_points(strips), 4)
    return [shapely.Polygon(p) for p in np.stack([first_low, first_high, second_high, second_low], axis=1)]


def test_area_below_equals_cut_polygons():
    rng = np.random.default_rng(1)
    for strips in random_chains(rng, 20, 5):
        levels = rng.uniform(-3, 3, 9)
        cut = [
            sum(p.intersection(shapely.box(-99, -99, 99, z)).area for p in rectangles(strips)) for z in levels
        ]
        np.testing.assert_allclose(area_below(strips, levels), cut, rtol=1e-9, atol=1e-12)


def test_histogram_sums_to_the_area_and_its_moments_are_the_properties():
    strips = random_chains(np.random.default_rng(2), 50, 6)
    p, histogram = section_properties(strips), height_histogram(strips, bins=4000)
    middle = 0.5 * (histogram.edges[:, 1:] + histogram.edges[:, :-1])
    np.testing.assert_allclose(histogram.area.sum(axis=-1), p.area, rtol=1e-12)
    np.testing.assert_allclose((histogram.area * middle).sum(axis=-1) / p.area, p.centroid_z, atol=1e-5)
    moment = (histogram.area * (middle - p.centroid_z[:, None]) ** 2).sum(axis=-1)
    np.testing.assert_allclose(moment, p.ixx, rtol=1e-4)


def test_a_vault_cut_at_its_crown_and_rejoined_as_a_gull_wing_keeps_its_histogram():
    # classroom fact: halves of one vault swapped about the crown act as the vault about x
    x, z = curve_points("arc", width=5.0, rise=1.0, stations=101)
    t = np.where(np.abs(0.5 * (x[1:] + x[:-1])) < 0.5, 0.13, 0.09)
    vault = Strips.chain(x, z, t, "wing")
    swapped = [np.concatenate([x[50:] - 2.5, x[1:51] + 2.5]), np.concatenate([z[50:], z[1:51]])]
    gull = Strips.chain(*swapped, np.concatenate([t[50:], t[:50]]), "wing")
    a, b = section_properties(vault), section_properties(gull)
    for name in ("area", "centroid_z", "ixx", "s_top", "s_bottom", "s_free", "height"):
        assert getattr(a, name) == pytest.approx(getattr(b, name), rel=1e-9)
    np.testing.assert_allclose(
        height_histogram(vault, bins=40).area, height_histogram(gull, bins=40).area, rtol=1e-9, atol=1e-12
    )
    assert abs(a.izz / b.izz - 1) > 0.03


def test_plastic_modulus_of_known_shapes():
    rectangle = plastic_modulus(Strips.chain([0.0, 0.0], [0.0, 2.0], 0.3, "web"))
    assert rectangle.modulus == pytest.approx(0.3 * 2**2 / 4, rel=1e-12)
    lying = plastic_modulus(Strips.chain([0.0, 2.0], [0.0, 0.0], 0.3, "slab"))
    assert lying.modulus == pytest.approx(2 * 0.3**2 / 4, rel=1e-12)
    # square on its corner, side a: Z = a^3 sqrt(2) / 6
    diamond = plastic_modulus(Strips.chain([0.0, 1.0], [0.0, 1.0], np.sqrt(2), "web"))
    assert diamond.modulus == pytest.approx(np.sqrt(2) ** 3 * np.sqrt(2) / 6, rel=1e-12)
    # thin ring: Z / S = 4 / pi
    turn = np.linspace(0, 2 * np.pi, 4001)
    ring = Strips.chain(np.cos(turn), np.sin(turn), 1e-9, "wing")
    shape_factor = plastic_modulus(ring).modulus / section_properties(ring).s_top
    assert shape_factor == pytest.approx(4 / np.pi, rel=1e-6)
    tee = Strips(
        [-1.0, 0, 1, 0], [0.0, 0, 0, -2], [[0, 1], [1, 2], [1, 3]], [0.1, 0.1, 0.2], ["slab", "slab", "web"]
    )
    assert plastic_modulus(tee).axis_z == pytest.approx(-0.5, abs=0.05)


def test_plastic_modulus_is_never_below_the_elastic_one():
    strips = random_chains(np.random.default_rng(3), 2000, 6)
    p = section_properties(strips)
    assert (plastic_modulus(strips).modulus >= np.minimum(p.s_top, p.s_bottom) * (1 - 1e-12)).all()


def test_a_force_on_the_kern_leaves_one_side_just_free_of_stress():
    rng = np.random.default_rng(4)
    for strips in random_chains(rng, 30, 5):
        p, kern = section_properties(strips), kern_polygon(strips)
        corners = corner_points(strips) - [p.centroid_x, p.centroid_z]
        d = p.ixx * p.izz - p.ixz**2
        for ex, ez in kern - [p.centroid_x, p.centroid_z]:
            stress = 1 / p.area + corners @ [(ex * p.ixx - ez * p.ixz) / d, (ez * p.izz - ex * p.ixz) / d]
            assert stress.min() == pytest.approx(0, abs=1e-7 / p.area)


def test_kern_of_a_symmetrical_vault_reaches_the_kern_heights():
    x, z = curve_points("arc", width=5.0, rise=1.0, stations=41)
    vault = Strips.chain(x, z, 0.09, "wing")
    p, kern = section_properties(vault), kern_polygon(vault)
    assert kern[:, 1].max() - p.centroid_z == pytest.approx(p.kern_top, rel=1e-6)
    assert p.centroid_z - kern[:, 1].min() == pytest.approx(p.kern_bottom, rel=1e-6)


def test_bounds_of_the_two_flange_ideal():
    # derived: A = 0.9, h = 2 give I 0.9 and S 0.9; webs of 30 % of the area leave 0.72
    assert ideal.two_flange_inertia(area=0.9, height=2.0) == pytest.approx(0.9, rel=1e-12)
    assert ideal.two_flange_modulus(area=0.9, height=2.0) == pytest.approx(0.9, rel=1e-12)
    assert ideal.web_modulus(area=0.9, height=2.0, webs=1, least_thickness=0.27 / 2) == pytest.approx(
        0.72, rel=1e-12
    )


@pytest.mark.common_practice
def test_doubling_the_height_at_one_area_doubles_the_ideal_modulus_and_quadruples_inertia():
    assert ideal.two_flange_modulus(area=0.9, height=4.0) == 2 * ideal.two_flange_modulus(
        area=0.9, height=2.0
    )
    assert ideal.two_flange_inertia(area=0.9, height=4.0) == 4 * ideal.two_flange_inertia(
        area=0.9, height=2.0
    )


def test_an_i_section_of_strips_meets_its_ideal():
    b, h, web, e = 3.0, 2.0, 0.1, 1e-4
    z = [e / 2, e / 2, e / 2, h - e / 2, h - e / 2, h - e / 2]
    ends = [[0, 1], [1, 2], [3, 4], [4, 5], [1, 4]]
    section = Strips([-b / 2, 0, b / 2] * 2, z, ends, [e] * 4 + [web], ["flange"] * 4 + ["web"])
    p = section_properties(section)
    bound = ideal.web_modulus(area=p.area, height=p.height, webs=1, least_thickness=web)
    assert p.s_top == pytest.approx(bound, rel=2e-4)
    assert p.s_top <= bound


def test_single_layer_bound_is_the_best_over_all_overlaps():
    rng = np.random.default_rng(6)
    for _ in range(200):
        height, width, web = rng.uniform(0.3, 3), rng.uniform(2, 9), rng.uniform(0.02, 0.3)
        area = rng.uniform(web * height * 1.05, width * height * 0.95)
        o = np.linspace(web, min(width, area / height) * (1 - 1e-9), 20001)
        flange = 0.5 * (width + o)
        depth = (area - o * height) / (2 * (flange - o))
        depth = np.where((depth >= 0) & (depth <= height / 2), depth, np.nan)
        best = (flange * height**3 - (flange - o) * (height - 2 * depth) ** 3) / (6 * height)
        if np.isnan(best).all():
            continue
        found = ideal.single_layer_modulus(area=area, height=height, webs=1, least_thickness=web, width=width)
        assert found == pytest.approx(np.nanmax(best), rel=1e-6)


def zoo_of_random_sections(rng, count):
    """Wild chains, gull-wings, vaults, north-lights and closed tubes, ``count`` of each."""
    wild = random_chains(rng, count, 8)
    half = np.cumsum(np.abs(rng.standard_normal((2, count, 6))), axis=-1)
    half[1] = np.cumsum(np.abs(rng.standard_normal((count, 6))), axis=-1)
    t = rng.uniform(0.02, 0.4, (count, 5))
    keel = rng.uniform(0.05, 0.6, (count, 1))
    x = np.concatenate([-half[0][:, ::-1], half[0]], axis=-1)
    rise = np.concatenate([half[1][:, ::-1], half[1]], axis=-1)
    thick = np.concatenate([t[:, ::-1], keel, t], axis=-1)
    turn = np.linspace(0, 2 * np.pi, 13)
    tube = rng.uniform(0.3, 1.5, (2, count, 1)) * np.stack([np.cos(turn), np.sin(turn)])[:, None]
    return {
        "wild": wild,
        "gull-wing": Strips.chain(x, rise, thick, "wing"),
        "vault": Strips.chain(x, -rise, thick, "wing"),
        "one-sided": Strips.chain(half[0], half[1], t, "wing"),
        "tube": Strips.chain(*tube, rng.uniform(0.02, 0.4, (count, 12)), "wing"),
    }


def test_no_random_section_beats_the_ideals():
    """25 000 sections of each of five kinds: 125 000 in all."""
    for name, strips in zoo_of_random_sections(np.random.default_rng(7), 25_000).items():
        p = section_properties(strips)
        size = {"area": p.area, "height": p.height}
        smaller = np.minimum(p.s_top, p.s_bottom)
        simple = ideal.two_flange_modulus(**size)
        assert (smaller <= simple).all(), name
        assert (p.s_free <= simple).all(), name
        assert (p.ixx <= ideal.two_flange_inertia(**size)).all(), name
        webs = ideal.fewest_crossings(strips)
        assert (webs >= (1 if name in ("wild", "one-sided") else 2)).all(), name
        tighter = ideal.web_modulus(**size, webs=webs, least_thickness=strips.thickness.min(axis=-1))
        assert not (smaller > tighter).any(), name
        assert np.nanmax(smaller / tighter) > 0.5, name  # a yardstick, not a formality


def test_no_thin_roof_curve_beats_the_ideals_of_its_plan_width():
    """50 000 gull-wings and vaults, thin, single-layered in plan."""
    zoo = zoo_of_random_sections(np.random.default_rng(8), 25_000)
    for strips in (zoo["gull-wing"], zoo["vault"]):
        thin = Strips(strips.x, strips.z, strips.ends, 0.1 * strips.thickness, strips.parts)
        p = section_properties(thin)
        smaller = np.minimum(p.s_top, p.s_bottom)
        given = {
            "area": p.area,
            "height": p.height,
            "webs": 2,
            "least_thickness": thin.thickness.min(axis=-1),
        }
        flanged = ideal.flanged_modulus(**given, width=p.width)
        layered = ideal.single_layer_modulus(**given, width=p.width)
        assert (layered <= flanged * (1 + 1e-12)).all()
        assert not (smaller > flanged).any()
        assert not (smaller > layered).any()


def test_no_section_of_any_kind_or_family_beats_the_section_aware_ideal():
    """125 000 random sections, and 400 random designs of each family there is."""
    from longvault.sections.families import Setting
    from longvault.sections.families.registry import FAMILIES, make_family

    rng = np.random.default_rng(9)
    zoo = zoo_of_random_sections(rng, 25_000)
    for key in FAMILIES:
        family = make_family(key, Setting(pitch=7.5, height=2.65, thickness=0.08))
        low, high = np.array([(v.lower, v.upper) for v in family.variables]).T
        zoo[f"family {key}"] = family.strips(low + (high - low) * rng.random((400, len(low))))
    with np.errstate(all="ignore"):
        for name, strips in zoo.items():
            p = section_properties(strips)
            share = np.minimum(p.s_top, p.s_bottom) / ideal.section_ideal(
                strips, area=p.area, height=p.height
            )
            simple = ideal.two_flange_modulus(area=p.area, height=p.height)
            assert np.nanmax(np.fmax(share, p.s_free / simple)) <= 1.0, name
            assert np.isfinite(share).mean() > 0.99, name
            assert np.nanmax(share) > 0.4, name
