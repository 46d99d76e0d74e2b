"""Ultimate bending of cracked sections: closed forms, and cut polygons with a general root finder."""

import numpy as np
import pytest
from roofs import KEYS, designs_for, family_for
from scipy.optimize import brentq
from shapely import Polygon, box
from shapely.affinity import rotate

from longvault.constraints.bars import Bars, gathered_bars
from longvault.constraints.basis import Detailing
from longvault.constraints.cracked import bending_resistance, steel_for_moment
from longvault.constraints.design_strengths import american_block, eurocode_block
from longvault.constraints.materials import Concrete
from longvault.sections import Strips
from longvault.sections.properties import section_properties

C30 = eurocode_block(Concrete(30e6))
FYD = 500e6 / 1.15


def bars(x, z, area):
    return Bars(*(np.atleast_1d(np.asarray(v, dtype=float)) for v in (x, z, area)))


def wall(width=0.3, height=0.6):
    return Strips.chain([0.0, 0.0], [0.0, height], [width], "edge beam")


def test_rectangle():
    """x = A_s f_yd / (0.8 b f_cd), M = A_s f_yd (d - 0.4 x) (any text on EN 1992-1-1)."""
    for area in (3e-4, 12e-4, 25e-4):
        r = bending_resistance(wall(), bars(0.0, 0.05, area), block=C30, steel=FYD)
        depth = area * FYD / (0.8 * 0.3 * 20e6)
        assert float(r.depth) == pytest.approx(depth, rel=1e-9)
        assert float(r.moment) == pytest.approx(area * FYD * (0.55 - 0.4 * depth), rel=1e-9)
        assert float(r.force) == pytest.approx(area * FYD, rel=1e-9)
        assert float(r.limit_depth) == pytest.approx(0.55 * 3.5 / (3.5 + 1e3 * FYD / 200e9), rel=1e-9)


def test_over_reinforced_rectangle_keeps_its_strains_plane():
    """eps_s = 0.0035 (d - x) / x below yield: 0.8 x b f_cd = A_s E_s eps_s is a quadratic in x."""
    area = 90e-4
    r = bending_resistance(wall(), bars(0.0, 0.05, area), block=C30, steel=FYD)
    a, b = 0.8 * 0.3 * 20e6, area * 200e9 * 0.0035
    depth = (-b + np.sqrt(b * b + 4 * a * b * 0.55)) / (2 * a)
    assert depth > float(r.limit_depth)
    assert float(r.depth) == pytest.approx(depth, rel=1e-9)
    assert float(r.moment) == pytest.approx(a * depth * (0.55 - 0.4 * depth), rel=1e-9)


def test_compression_steel_by_hand():
    """Two layers: the upper bars yield in compression, x from the difference of the areas."""
    r = bending_resistance(wall(), bars([0, 0], [0.05, 0.57], [40e-4, 10e-4]), block=C30, steel=FYD)
    depth = 30e-4 * FYD / (0.8 * 0.3 * 20e6)
    assert 0.0035 * (depth - 0.03) / depth > FYD / 200e9
    moment = 30e-4 * FYD * (0.55 - 0.4 * depth) + 10e-4 * FYD * 0.52
    assert float(r.moment) == pytest.approx(moment, rel=1e-9)


def test_american_rectangle():
    """ACI 318: a = A_s f_y / (0.85 f'c b), M = 0.9 A_s f_y (d - a / 2), from memory."""
    block = american_block(Concrete(28e6))
    r = bending_resistance(wall(), bars(0.0, 0.06, 15e-4), block=block, steel=0.9 * 420e6)
    a = 15e-4 * 420e6 / (0.85 * 28e6 * 0.3)
    assert float(r.moment) == pytest.approx(0.9 * 15e-4 * 420e6 * (0.54 - a / 2), rel=1e-9)


def tee():
    ends, parts = [[0, 1], [1, 2], [3, 1]], ["wing", "wing", "edge beam"]
    return Strips([-0.6, 0.0, 0.6, 0.0], [0.75, 0.75, 0.75, 0.0], ends, [0.1, 0.1, 0.2], parts)


def test_flange_in_compression():
    """T-beam, block of 40 mm inside the flange: C = 0.04 x 1.2 x f_cd, arm d - 20 mm."""
    area = 0.04 * 1.2 * 20e6 / FYD
    r = bending_resistance(tee(), bars(0.0, 0.05, area), block=C30, steel=FYD)
    assert float(r.depth) == pytest.approx(0.05, rel=1e-9)
    assert float(r.moment) == pytest.approx(area * FYD * (0.75 - 0.02), rel=1e-9)


def test_hogging_is_the_section_upside_down():
    upside = Strips(tee().x, -tee().z, tee().ends, tee().thickness, tee().parts)
    up = bending_resistance(tee(), bars(0.0, 0.05, 9e-4), block=C30, steel=FYD)
    down = bending_resistance(upside, bars(0.0, -0.05, 9e-4), block=C30, steel=FYD, sagging=False)
    for name in ("moment", "depth", "arm", "force"):
        assert float(getattr(up, name)) == pytest.approx(float(getattr(down, name)), rel=1e-12)


def polygons(strips):
    for (i, j), t in zip(strips.ends, strips.thickness, strict=True):
        x1, z1, x2, z2 = strips.x[i], strips.z[i], strips.x[j], strips.z[j]
        length = np.hypot(x2 - x1, z2 - z1)
        flat = box(0.0, -t / 2, length, t / 2)
        angle = np.arctan2(z2 - z1, x2 - x1)
        turned = rotate(flat, angle, origin=(0, 0), use_radians=True)
        yield Polygon([(x + x1, z + z1) for x, z in turned.exterior.coords])


def cut_and_solved(strips, steel, block):
    """Depth and inclination by scipy on shapely polygons; the moments left over are zero."""
    shapes = list(polygons(strips))

    def resultants(depth, angle):
        n = np.array([np.sin(angle), np.cos(angle)])
        edge = max((np.array(s.exterior.coords) @ n).max() for s in shapes)
        level = edge - block.depth_ratio * depth
        side = np.array([n[1], -n[0]])
        far = [
            level * n + 50 * side,
            level * n - 50 * side,
            (level + 50) * n - 50 * side,
            (level + 50) * n + 50 * side,
        ]
        parts = [s.intersection(Polygon(far)) for s in shapes]
        area = sum(p.area for p in parts)
        at = sum((np.array(p.centroid.coords[0]) * p.area for p in parts if p.area > 0), np.zeros(2)) / area
        down = edge - np.stack([steel.x, steel.z], -1) @ n
        force = steel.area * np.clip(200e9 * block.strain * (down - depth) / depth, -FYD, FYD)
        push = block.stress * area
        moment_x = push * at[0] - (force * steel.x).sum()
        return push - force.sum(), moment_x, push * at[1] - (force * steel.z).sum()

    def depth_at(angle):
        return brentq(lambda depth: resultants(depth, angle)[0], 1e-3, 20.0, xtol=1e-13)

    def aside(angle):
        return resultants(depth_at(angle), angle)[1]

    tilts = np.linspace(-1.4, 1.4, 29)
    left = np.array([aside(tilt) for tilt in tilts])
    changes = np.flatnonzero(np.sign(left[1:]) != np.sign(left[:-1]))
    first = changes[np.argmin(np.abs(tilts[changes]))]
    angle = brentq(aside, tilts[first], tilts[first + 1], xtol=1e-13)
    return (depth_at(angle), angle), resultants(depth_at(angle), angle)[2]


def gutter_and_wing():
    return Strips(
        [-0.55, -0.55, 0.0, 1.2, 2.6, 4.0, 0.0], [0.4, 0.0, 0.0, 1.3, 2.1, 2.5, -0.55],
        [[0, 1], [1, 2], [2, 3], [3, 4], [4, 5], [2, 6]], [0.12, 0.15, 0.1, 0.1, 0.1, 0.2],
        ["kerb", "gutter", "wing", "wing", "wing", "edge beam"],
    )  # fmt: skip


@pytest.mark.parametrize("area", [6e-4, 15e-4])
def test_free_bending_turns_the_neutral_axis(area):
    """Unsymmetrical section: same depth, inclination and moment as with cut polygons and scipy's root."""
    steel = bars([0.0, -0.3, 3.9], [-0.5, 0.0, 2.4], [area, area / 2, area / 8])
    (depth, angle), moment = cut_and_solved(gutter_and_wing(), steel, C30)
    r = bending_resistance(gutter_and_wing(), steel, block=C30, steel=FYD)
    assert abs(angle) > 0.05
    assert float(r.angle) == pytest.approx(angle, rel=1e-6)
    assert float(r.depth) == pytest.approx(depth, rel=1e-6)
    assert float(r.moment) == pytest.approx(moment, rel=1e-6)
    held = bending_resistance(gutter_and_wing(), steel, block=C30, steel=FYD, held=True)
    assert float(held.angle) == 0.0
    assert float(held.moment) > 1.05 * float(r.moment)


@pytest.mark.parametrize("key", KEYS)
def test_steel_for_a_moment_gives_that_moment_back(key):
    strips = family_for(key).strips(designs_for(key, 12))
    p = section_properties(strips)
    laid = gathered_bars(strips, p, area=20e-4, detailing=Detailing(main_bar=0.016)).bars
    need = steel_for_moment(strips, laid, moment=700e3, block=C30, steel=FYD)
    good = np.isfinite(need.steel_area) & (need.moment > 700e3 * (1 - 1e-9))
    assert good.sum() > 8
    scaled = Bars(laid.x, laid.z, laid.area * (need.steel_area / laid.total)[:, None])
    back = bending_resistance(strips, scaled, block=C30, steel=FYD)
    assert back.moment[good] == pytest.approx(700e3, rel=1e-6)


def test_beyond_what_the_concrete_carries_the_figure_grows_on():
    areas = []
    for moment in (0.9e6, 1.2e6, 1.5e6):
        r = steel_for_moment(wall(), bars(0.0, 0.05, 1.0), moment=moment, block=C30, steel=FYD)
        areas.append(float(r.steel_area))
        assert float(r.moment) < moment
    assert areas[1] / areas[0] == pytest.approx(1.2 / 0.9, rel=1e-6)
    assert areas[2] > areas[1]


def test_bars_fill_from_the_tension_edge():
    """0.25 m shared valley beam, its half 0.125: 4.18 -> 4 bars across the whole, 2 of them here."""
    half = Strips.chain([0.0, 0.0], [0.0, 1.0], [0.125], "valley beam")
    p = section_properties(half)
    one = 0.25 * np.pi * 0.025**2
    laid = gathered_bars(half, p, area=4 * one, detailing=Detailing())
    assert float(laid.depth) == pytest.approx(0.0205 + 2 * 0.05, abs=2e-6)
    assert float(laid.bars.height) == pytest.approx(0.0455 + 0.025, abs=2e-6)
    up = gathered_bars(half, p, area=4 * one, detailing=Detailing(), sagging=False)
    assert float(up.bars.height) == pytest.approx(1.0 - 0.0455 - 0.025, abs=2e-6)


def test_without_room_the_bars_stand_at_the_edge_and_say_so():
    sheet = Strips.chain([0.0, 2.0, 4.0], [0.0, 0.5, 1.0], 0.05, "wing")
    laid = gathered_bars(sheet, section_properties(sheet), area=5e-4, detailing=Detailing())
    assert float(laid.depth) == np.inf
    assert float(laid.bars.total) == pytest.approx(5e-4)


@pytest.mark.parametrize("key", KEYS)
def test_batch_law_and_bad_rows(key):
    x = designs_for(key, 6)
    x[2, 0] = np.nan
    strips = family_for(key).strips(x)

    def found(strips):
        laid = gathered_bars(strips, section_properties(strips), area=20e-4, detailing=Detailing())
        return laid, bending_resistance(strips, laid.bars, block=C30, steel=FYD)

    laid, whole = found(strips)
    for i in (0, 1, 4):
        one_laid, one = found(strips[i])
        assert laid.bars.z[i].tobytes() == one_laid.bars.z.tobytes()
        assert whole.moment[i].tobytes() == one.moment.tobytes()
        assert whole.angle[i].tobytes() == one.angle.tobytes()
    assert np.isnan(whole.moment[2])
    assert np.isnan(laid.depth[2])


def test_no_moment_asks_for_no_steel_and_one_below_nothing_is_refused():
    found = steel_for_moment(wall(), bars(0.0, 0.05, 0.0), moment=0.0, block=C30, steel=FYD)
    assert float(found.steel_area) == float(found.depth) == 0.0
    with pytest.raises(ValueError, match="moment: got -1"):
        steel_for_moment(wall(), bars(0.0, 0.05, 1.0), moment=-1.0, block=C30, steel=FYD)
