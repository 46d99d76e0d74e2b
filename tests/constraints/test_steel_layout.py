"""The steel of a module against sums by hand."""

import numpy as np
import pytest
from briefed_sections import market_hall, reading_hall
from recomputed.line import Line
from recomputed.line import properties as plain_properties
from recomputed.steel import least_steel, steel_volume
from roofs import KEYS, basis_for, designs_for, family_for

from longvault.constraints.bars import bar_places, gathered_bars
from longvault.constraints.basis import Detailing
from longvault.constraints.concrete_settings import SteelPractice
from longvault.constraints.cracked import bending_resistance, steel_for_moment
from longvault.constraints.design_strengths import eurocode_block, eurocode_strengths
from longvault.constraints.materials import Concrete, Steel
from longvault.constraints.reinforcement import beam_section
from longvault.constraints.steel_layout import steel_layout
from longvault.sections import Strips
from longvault.sections.bending import bending_field
from longvault.sections.properties import section_properties
from longvault.sections.shear_flow import shear_flow

C30, B500 = Concrete(30e6), Steel()
FYD = B500.fyk / 1.15
BAR = 0.25 * np.pi * 0.025**2


def laid(strips, area=45e-4, shear=0.0, detailing=None, **more):
    return steel_layout(
        strips,
        section_properties(strips),
        area=area,
        shear=shear,
        length=24.0,
        detailing=detailing or Detailing(),
        concrete=C30,
        steel=B500,
        strengths=eurocode_strengths(C30, B500),
        **more,
    )


def test_mesh_and_main_bars_by_hand():
    fold = Strips.chain([-3.0, 0.0, 3.0], [0.0, 2.0, 0.0], 0.1, "wing")
    found = laid(fold, area=20e-4, detailing=Detailing(mesh_layers=2))
    mesh = 2 * 2 * 2 * np.hypot(3, 2) * 0.25 * np.pi * 0.008**2 / 0.15
    assert float(found.mesh) == pytest.approx(mesh)
    assert float(found.main) == pytest.approx(0.8 * 20e-4)
    assert float(found.stirrups) == float(found.skin) == 0.0
    laps = float(found.bar_laps + found.mesh_laps)
    assert float(found.volume) == pytest.approx(1.05 * (mesh + 16e-4 + laps))
    assert float(found.per_plan(6.0)) == pytest.approx(7850 * 1.05 * (mesh + 16e-4 + laps) / 6)
    assert float(found.mesh_needed) == pytest.approx(2 * 0.25 * np.pi * 0.008**2 / 0.15)
    assert float(found.spacing_ratio) == pytest.approx(0.15 / 0.457)
    assert float(found.bars) == np.ceil(20e-4 / BAR)


def test_least_main_steel_of_a_wall():
    """b_t = 0.3 m, tension depth h / 2, 0.26 f_ctm / f_yk b_t d (EN 1992-1-1, 9.2.1.1)."""
    wall = Strips.chain([0.0, 0.0], [0.0, 2.0], [0.3], "edge beam")
    found = laid(wall, area=1e-6)
    assert float(found.tension_width) == pytest.approx(0.3)
    assert float(found.tension_depth) == pytest.approx(1.0)
    assert float(found.least_main) == pytest.approx(0.26 * 2.8965 / 500 * 0.3 * (2.0 - 0.0455), rel=1e-3)
    assert float(found.main) == pytest.approx(0.8 * float(found.least_main))


def test_shear_steel_is_the_integral_of_what_exceeds_the_mesh():
    """Second implementation: shear flow times a falling shear force, summed over span and surface."""
    strips, shear = market_hall(), 900e3
    p = section_properties(strips)
    flow = shear_flow(
        strips, bending_field(strips, x=p.centroid_x, z=p.centroid_z, ixx=p.ixx, izz=p.izz, ixz=p.ixz)
    )
    fall = np.linspace(1.0, 0.0, 4001)[:, None]
    mean = 0.5 * (np.abs(flow.first) + np.abs(flow.second))
    mesh = 0.25 * np.pi * 0.008**2 / 0.15
    beyond = np.maximum(mean * shear * fall / FYD - mesh, 0.0)
    expected = 2 * (np.trapezoid(beyond, dx=1 / 4000, axis=0) * strips.length)[1:-1].sum()
    assert float(laid(strips, shear=shear).shear) == pytest.approx(expected, rel=0.02)
    assert float(laid(strips, shear=10e3).shear) == 0.0


def test_stirrups_by_hand():
    """Least ones: 2 legs of 8 mm every 200 mm round 0.25 x 0.75 m, 50 mm of cover off; two hooks of 80 mm."""
    found = laid(market_hall())
    legs = 2 * 0.25 * np.pi * 0.008**2 / 0.2
    assert float(found.stirrups) == pytest.approx(legs * (0.75 + 0.20) + 0.5 * legs * 0.16)
    assert float(found.skin) == pytest.approx(0.003 * 0.25 * 0.75)


def test_four_bars_stand_in_the_corners_of_a_small_member_however_it_is_drawn():
    """0.12 x 0.35 m: 0.3 % are 1.3 cm2, four bars of 10 mm 3.1; of a shared beam each bay has half."""
    four = 4 * 0.25 * np.pi * 0.010**2
    whole = Strips.chain([0.0, 0.0, 4.0], [0.35, 0.0, 1.0], [0.12, 0.08], ["kerb", "wing"])
    cut = Strips.chain(
        [0.0, 0.0, 0.0, 4.0], [0.35, 0.1, 0.0, 1.0], [0.12, 0.12, 0.08], ["kerb", "kerb", "wing"]
    )
    valley = Strips.chain([0.0, 0.0, 4.0], [-0.2, 0.0, 1.0], [0.10, 0.08], ["valley beam", "wing"])
    assert float(laid(whole).skin) == pytest.approx(four)
    assert float(laid(cut).skin) == pytest.approx(four)
    assert float(laid(valley).skin) == pytest.approx(0.5 * four)
    legs, hooks = 2 * 0.25 * np.pi * 0.008**2 / 0.2, 0.16
    closed = legs * ((0.35 + 0.07) + 0.5 * hooks)  # one stirrup round the member, however many strips
    assert [float(laid(one).stirrups) for one in (whole, cut)] == pytest.approx([closed, closed])


def test_laps_and_anchorage_by_hand():
    """C30, 500 MPa: l_b 893 mm and l_0 1340 mm of 25 mm bars, 286 and 429 mm of 8 mm (EN 1992-1-1, 8.4, 8.7).

    24 m: two laps of bars of 12 m, 11 laps of sheets 2.4 m wide; the arc of 9.66 m takes sheets of 6 m with
    0.66 laps in the mean; the mesh goes into both valley beams and both ends.
    """
    found = laid(market_hall(), area=52e-4)
    bond = 2.25 * 0.7 * 0.3 * 30 ** (2 / 3) / 1.5
    thick, thin = (bar / 4 * 500 / 1.15 / bond for bar in (0.025, 0.008))
    assert (thick, thin) == pytest.approx((0.8935, 0.2859), abs=1e-4)
    assert float(found.bar_laps) == pytest.approx(52e-4 * (0.8 * 2 * 1.5 * thick + 2 * thick) / 24.0)
    run, mesh = float(market_hall().length[1:-1].sum()), 0.25 * np.pi * 0.008**2 / 0.15
    across = (run - 6.0) / (6.0 - 1.5 * thin) * 1.5 * thin / run
    along = 11 * 1.5 * thin / 24.0
    sheets = 2 * run * mesh * ((1 + along) * (1 + across) - 1)
    into = 2 * mesh * thin + run * mesh * 2 * thin / 24.0
    assert float(found.mesh_laps) == pytest.approx(sheets + into)
    loose = laid(market_hall(), area=52e-4, practice=SteelPractice(sheet_length=0.0))
    along, into_stock = 2 * 1.5 * thin / 24.0, 0.0  # 24 m of 12 m bars: two laps; 9.66 m: none
    assert float(loose.mesh_laps) == pytest.approx(run * mesh * (along + into_stock) + into)


def test_least_steel_of_both_sides_where_both_signs_occur():
    """A wall is stretched over half its height either way; d to one layer of bars."""
    wall = Strips.chain([0.0, 0.0], [0.0, 2.0], [0.3], "edge beam")
    one, both = laid(wall, area=1e-6), laid(wall, area=1e-6, reverse=1e-6)
    assert float(one.least_reverse) == 0.0
    assert float(both.reverse_width) == pytest.approx(0.3)
    assert float(both.reverse_depth) == pytest.approx(1.0)
    assert float(both.least_reverse) == pytest.approx(0.26 * 2.8965 / 500 * 0.3 * (2.0 - 0.0455), rel=1e-3)
    assert float(both.main) == pytest.approx(0.8 * float(both.least_main + both.least_reverse))
    assert float(both.bars) == 2 * np.ceil(float(both.least_main) / BAR)
    # a shallow vault: the stretched flange of hogging is the wide crown, of sagging the two beams
    vault = laid(market_hall(), area=45e-4, reverse=1e-6)
    assert float(vault.reverse_width) > 2 * float(vault.tension_width)
    wings = laid(reading_hall(), area=45e-4, reverse=1e-6)
    flipped = laid(reading_hall(), area=1e-6, sagging=False)
    assert float(wings.least_reverse) == pytest.approx(float(flipped.least_main), rel=0.05)
    assert float(flipped.reverse_width) == pytest.approx(float(wings.tension_width), rel=1e-12)
    assert float(laid(market_hall(), area=1e-6, reverse=30e-4).main) > float(vault.least_reverse)


def test_market_hall_in_figures():
    """Own hand figures for an invented hall of 24 m, M_d = 3605 kNm, bay 9 m.

    A_s = 52 cm2 by the elastic tension block (z = 1.58 m); 45 cm2 with the bars gathered low (z = 1.85 m),
    which is what d = 0.9 h gives: bars in the lowest fifth of the height, their centroid at 0.1 h; ultimate
    bending of the cracked section needs least. All steel 20 to 26 kg/m2 (a hand estimate, within 15 %).
    """
    strips, moment = market_hall(), 3605e3
    p = section_properties(strips)
    assert float(p.area) == pytest.approx(0.96, rel=0.02)
    assert float(p.s_top) == pytest.approx(0.549, rel=0.02)
    assert float(p.s_bottom) == pytest.approx(0.303, rel=0.02)
    b = beam_section(strips, p, detailing=Detailing(bar_zone=0.20))
    assert moment / (float(b.arm_block) * FYD) == pytest.approx(52e-4, rel=0.05)
    assert moment / (float(b.arm_bars) * FYD) == pytest.approx(45e-4, rel=0.05)
    bars = gathered_bars(strips, p, area=52e-4, detailing=Detailing()).bars
    need = steel_for_moment(strips, bars, moment=moment, block=eurocode_block(C30), steel=FYD)
    assert 36e-4 < float(need.steel_area) < 45e-4
    assert bending_resistance(strips, bars, block=eurocode_block(C30), steel=FYD).moment > moment
    two = laid(strips, area=52e-4, shear=4 * moment / 24, detailing=Detailing(mesh_layers=2))
    assert 0.85 * 20 < float(two.per_plan(9.0)) < 1.15 * 26
    assert float(two.bars) == 11


def test_bars_one_by_one():
    """11 bars of 25 mm in two half beams: 2 rows each, layers every 50 mm from 45.5 mm up."""
    strips = market_hall()
    p = section_properties(strips)
    places = bar_places(strips, p, area=11 * BAR, detailing=Detailing())
    assert len(places) == 11
    assert sorted({round(float(z - p.bottom), 4) for z in places[:, 1]}) == [0.0455, 0.0955, 0.1455]
    assert np.abs(places[:, 0]).min() > 4.5 - 0.0625 + 0.033
    apart = np.hypot(*(places[:, None] - places[None]).T) + np.eye(11)
    assert apart.min() > 0.03
    with pytest.raises(ValueError, match="one section at a time"):
        bar_places(family_for("vault").strips(designs_for("vault", 2)), p, area=1e-3, detailing=Detailing())


def test_practice_settings_are_used():
    less = laid(market_hall(), practice=SteelPractice(curtailed=0.5, allowance=0.0))
    assert float(less.main) == pytest.approx(0.5 * 45e-4)
    assert float(less.extra) == 0.0


@pytest.mark.parametrize("key", KEYS)
def test_batch_law_and_bad_rows(key):
    x = designs_for(key, 6)
    x[2, 0] = np.nan
    strips = family_for(key).strips(x)
    whole = laid(strips, shear=5e5)
    for i in (0, 1, 5):
        one = laid(strips[i], shear=5e5)
        assert whole.volume[i].tobytes() == one.volume.tobytes()
        assert whole.least_main[i].tobytes() == one.least_main.tobytes()
    assert np.isnan(whole.volume[2])


@pytest.mark.parametrize("key", KEYS)
@pytest.mark.parametrize("sagging", [True, False])
def test_steel_summed_again_by_plain_rules(key, sagging):
    """Small shear, so that mesh and least stirrups carry it; least steel of both sides from the formula."""
    strips, basis = family_for(key).strips(designs_for(key, 5)), basis_for(key)
    p = section_properties(strips)
    found = laid(strips, area=30e-4, reverse=5e-4, shear=1e3, sagging=sagging)
    bars = gathered_bars(strips, p, area=np.full(5, 30e-4), detailing=Detailing(), sagging=sagging).bars
    for i in range(5):
        s = Line(strips.x[i], strips.z[i], strips.ends, strips.thickness[i], strips.parts)
        plain = plain_properties(s)
        depth = abs((plain["top"] if sagging else plain["bottom"]) - bars.height[i])
        near = 0.025 + 0.008 + 0.0125
        least = least_steel(s, plain, basis, sagging, depth)
        other = least_steel(s, plain, basis, not sagging, plain["top"] - plain["bottom"] - near)
        assert float(found.least_main[i]) == pytest.approx(least, rel=1e-6)
        assert float(found.least_reverse[i]) == pytest.approx(other, rel=1e-6)
        main = max(least, 30e-4) + max(other, 5e-4)
        assert float(found.volume[i]) == pytest.approx(
            steel_volume(s, basis, SteelPractice(), main, 24.0), rel=1e-6
        )
