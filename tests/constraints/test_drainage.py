"""Low places, standing water, falls of gutters: closed forms, and a second implementation on a fine grid."""

import numpy as np
import pytest
from roofs import KEYS, designs_for, family_for

from longvault.constraints.drainage import (
    fall_weight,
    gutter_fall,
    low_places,
    ponds,
    upper_surface,
    water_area,
)
from longvault.sections import Strips

THIN = 1e-6


def wave(depth=0.4):
    return Strips.chain([-3, -1.5, 0, 1.5, 3], [0, 1, 1 - depth, 1, 0], THIN, "crown")


def test_each_trough_of_a_wave_is_listed():
    """Two troughs, 0.5 and 0.3 m deep to the lower side: triangles cut at that level (hand figures)."""
    x, z = [0, 1, 2, 3, 4, 5, 6], [0.0, 1.0, 0.5, 1.2, 0.6, 0.9, 0.0]
    found = ponds(Strips.chain(x, z, THIN, "crown"))
    assert found.count == 2
    assert found.depth == pytest.approx(0.5, abs=1e-5)
    assert found.x == 2.0
    first = 0.5 * 0.5 * (1 + 0.5 / 0.7)
    second = 0.5 * 0.3 * (0.3 / 0.6 + 1)
    assert found.area == pytest.approx(first + second, abs=1e-4)


@pytest.mark.parametrize("part", ["gutter", "keel"])
def test_a_declared_gutter_drains(part):
    x, z = [-3, -1.5, -0.2, 0.2, 1.5, 3], [0, 1, 0.6, 0.6, 1, 0]
    plain = ponds(Strips.chain(x, z, THIN, "crown"))
    drained = ponds(Strips.chain(x, z, THIN, ["crown", "crown", part, "crown", "crown"]))
    assert plain.count == 1
    assert plain.depth == pytest.approx(0.4, abs=1e-5)
    assert drained.count == 0
    assert drained.depth == drained.area == 0.0
    assert np.isnan(drained.x)


def test_an_arch_and_a_valley_to_its_ends_hold_no_water():
    assert ponds(Strips.chain([-2, 0, 2], [0, 1, 0], 0.1, "crown")).count == 0
    assert ponds(Strips.chain([-2, 0, 2], [1, 0.4, 0], 0.1, "crown")).count == 0


@pytest.mark.parametrize("key", KEYS)
def test_random_roofs_against_a_fine_grid(key):
    """Second implementation: the surface sampled 20 000 times, water levels by running maxima in numpy."""
    strips = family_for(key).strips(designs_for(key, 30))
    found = ponds(strips)
    x, z, gutter = upper_surface(strips)
    compared = 0
    for i in range(30):
        if np.any(np.diff(x[i]) <= 0):
            continue  # the grid needs a surface that never turns back
        fine = np.linspace(x[i, 0], x[i, -1], 20001)
        surface = np.interp(fine, x[i], z[i])
        marked = np.flatnonzero(gutter)
        dry = np.zeros(fine.size, dtype=bool)
        dry[[0, -1]] = True
        if marked.size:
            dry |= (fine >= x[i, marked[0]]) & (fine <= x[i, marked[-1]])
        level = np.minimum(_reach(surface, dry), _reach(surface[::-1], dry[::-1])[::-1])
        water = level - surface
        assert found.depth[i] == pytest.approx(water.max(), abs=2e-3)
        assert found.area[i] == pytest.approx(np.trapezoid(water, fine), abs=4e-3)
        compared += 1
    assert compared > 5


def _reach(surface, dry):
    level, barrier = np.empty_like(surface), -np.inf
    for i, height in enumerate(surface):
        barrier = height if dry[i] else max(barrier, height)
        level[i] = barrier
    return level


def test_water_behind_blocked_outlets():
    """A valley of 1 in 2 filled 0.5 m deep: triangle 2 m wide; on an inclined floor the centre moves."""
    pool = water_area(Strips.chain([-2, 0, 2], [1, 0, 1], THIN, "wing"), depth=0.5)
    assert pool.area == pytest.approx(0.5, abs=1e-5)
    assert pool.about == pytest.approx(0.0, abs=1e-9)
    one_sided = water_area(Strips.chain([0, 1, 3], [0, 0, 2], THIN, "wing"), depth=0.5)
    assert one_sided.area == pytest.approx(0.5 + 0.125, abs=1e-5)
    assert one_sided.about == pytest.approx(0.5 * 0.5 + 0.125 * (1 + 0.5 / 3), abs=1e-5)


def test_the_upper_face_lies_half_a_thickness_above():
    x, z, _ = upper_surface(Strips.chain([0, 3, 6], [0, 4, 4], 0.2, "wing"))
    assert z == pytest.approx([0.1 * 5 / 3, 4 + 0.1 * 5 / 3, 4.1])
    assert x.tolist() == [0.0, 3.0, 6.0]


def test_falls():
    """24 m, two outlets, 1 in 100: 120 mm of headroom; three outlets halve it, one doubles it."""
    assert gutter_fall(24.0, fall=0.01, outlets=2) == pytest.approx(0.12)
    assert gutter_fall(24.0, fall=0.01, outlets=3) == pytest.approx(0.06)
    assert gutter_fall(24.0, fall=0.01, outlets=1) == pytest.approx(0.24)
    assert float(fall_weight(np.array(1.4), headroom=0.12)) == pytest.approx(0.06 * 1.4 * 22e3)
    with pytest.raises(ValueError, match="1 or more"):
        gutter_fall(24.0, fall=0.01, outlets=0)


def test_bad_rows_and_branches():
    batch = wave()
    z = np.tile(batch.z, (3, 1))
    z[1, 2] = np.nan
    found = ponds(
        Strips(np.tile(batch.x, (3, 1)), z, batch.ends, np.tile(batch.thickness, (3, 1)), batch.parts)
    )
    assert np.isnan(found.depth).tolist() == [False, True, False]
    assert found.depth[0] == ponds(wave()).depth
    fork = Strips([0, 1, 2, 1], [0, 1, 0, 2], [[0, 1], [1, 2], [1, 3]], [0.1] * 3, ["crown"] * 3)
    with pytest.raises(ValueError, match="without branches"):
        ponds(fork)


def test_the_fall_weighs_and_takes_headroom():
    """24 m, two outlets, 1 in 100: 120 mm, and 22 kN/m3 x 60 mm x the width of the keel in the dead load."""
    from dataclasses import replace

    from roofs import basis_for

    from longvault.constraints.evaluate import evaluate

    basis = basis_for("gull-wing")
    sloped = replace(basis, loads=replace(basis.loads, gutter_fall=0.01, outlets=2))
    x = designs_for("gull-wing", 5)
    strips = family_for("gull-wing").strips(x)
    flat, falling = evaluate(strips, basis), evaluate(strips, sloped)
    assert falling.measures["fall_headroom"] == pytest.approx(0.12)
    more = falling.measures["permanent_load"] - flat.measures["permanent_load"]
    keel = [v.name for v in family_for("gull-wing").variables].index("keel_width")
    assert more == pytest.approx(22e3 * 0.06 * x[:, keel])
    assert falling.margins[3].tobytes() == evaluate(strips[3], sloped).margins.tobytes()


def test_every_low_place_is_listed_by_hand():
    """Two troughs of a wave by hand: triangles 2 m wide, 1 m and 0.5 m deep below their lower rim."""
    x, z = [0.0, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0], [0.0, 2.0, 1.0, 2.0, 1.5, 2.0, 0.0]
    parts = ["wing", "wing", "wing", "gutter", "gutter", "wing"]
    found = low_places(Strips.chain(x, z, 1e-9, parts))
    assert [(one.x, one.gutter) for one in found] == [(2.0, False), (4.0, True)]
    np.testing.assert_allclose([one.depth for one in found], [1.0, 0.5], atol=1e-8)
    np.testing.assert_allclose([one.area for one in found], [1.0, 0.5], atol=1e-8)


def test_low_places_agree_with_the_ponds_of_the_search():
    rng = np.random.default_rng(8)
    z = np.concatenate([np.zeros((40, 1)), rng.uniform(0.0, 1.5, (40, 9)), np.zeros((40, 1))], axis=1)
    for row in z:
        strips = Strips.chain(np.arange(11.0), row, 1e-9, "wing")
        found, known = low_places(strips), ponds(strips)
        assert sum(one.area for one in found) == pytest.approx(float(known.area), rel=1e-3, abs=1e-3)
        assert max((one.depth for one in found), default=0.0) == pytest.approx(float(known.depth), abs=1e-3)
