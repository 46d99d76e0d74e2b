"""Slope of the glass as a limit: hand geometry, no slot, a batch, a taper, and the noon sun it keeps off."""

from dataclasses import replace

import numpy as np
import pytest

from longvault.constraints.basis import Basis, Requirements
from longvault.constraints.evaluate import evaluate, glass_slope
from longvault.constraints.evaluate_member import evaluate_member
from longvault.constraints.sun import declination
from longvault.sections import Strips
from longvault.sections.member import Member
from longvault.studies.brief import basis_of, read_brief
from longvault.studies.briefs import starter_text

NEED = Requirements(height_max=4.0, glass_slope_min=np.radians(61.5))
BASIS = Basis(span=12.0, pitch=6.0, requirements=NEED)


def rising(height, width=4.9):
    """A thin shell that rises to the right: glass from its upper edge down to the next gutter."""
    return Strips.chain([0.0, width], [0.0, height], 1e-6, "wing")


def test_the_angle_is_that_of_the_line_between_the_edges():
    # from the upper edge the shortest line meets the next shell at its foot or square to it
    for width, height in ((4.9, 2.0), (5.6, 1.0), (3.0, 0.5)):
        run, rise = 6.0 - width, height
        along = np.array([width, height]) / np.hypot(width, height)
        to_foot = np.array([-run, rise])  # from the next foot to this edge
        if to_foot @ along > 0:
            to_foot = to_foot - (to_foot @ along) * along
        expected = np.arctan2(abs(to_foot[1]), abs(to_foot[0]))
        assert float(glass_slope(rising(height, width), BASIS)) == pytest.approx(expected, abs=1e-5)


def test_a_limit_with_its_margin_only_where_the_brief_asks():
    result = evaluate(rising(2.0), BASIS)
    place = [limit.key for limit in result.limits].index("glass-slope")
    slope = float(result.measures["glass_slope"])
    assert float(result.margins[place]) == pytest.approx(1 - slope / np.radians(61.5))
    plain = evaluate(rising(2.0), replace(BASIS, requirements=replace(NEED, glass_slope_min=None)))
    assert "glass_slope" not in plain.measures
    assert "glass-slope" not in [limit.key for limit in plain.limits]


def test_flat_glass_breaks_it_and_no_glass_does_not():
    flat = Strips.chain([0.0, 4.0], [0.0, 0.0], 0.1, "wing")
    assert float(glass_slope(flat, BASIS)) == pytest.approx(0.0, abs=1e-9)
    shut = Strips.chain([0.0, 6.0], [0.0, 0.0], 0.1, "wing")
    assert float(glass_slope(shut, BASIS)) == pytest.approx(np.pi / 2)


def test_a_batch_is_its_members_and_a_bad_one_is_nan():
    heights = np.array([0.5, 1.0, 2.0, np.nan])
    x = np.tile([0.0, 4.9], (4, 1))
    batch = Strips.chain(x, np.stack([0.0 * heights, heights], axis=-1), 0.1, "wing")
    slopes = glass_slope(batch, BASIS)
    assert [float(glass_slope(batch[i], BASIS)) for i in range(3)] == slopes[:3].tolist()
    assert np.isnan(slopes[3])


def test_of_a_taper_the_flattest_station_counts():
    root, tip = (Strips.chain([0, 4.9, 4.9], [0, h, h + 0.3], 0.1, ["wing", "kerb"]) for h in (2.0, 0.5))
    member = Member.between(root, tip, stations=5)
    basis = Basis(span=12.0, pitch=6.0, requirements=NEED)
    result = evaluate_member(member, basis)
    slopes = glass_slope(member.sections, basis)
    assert float(result.measures["glass_slope"]) == slopes.min()
    assert slopes.min() < slopes.max()


def test_the_workshop_asks_for_glass_that_the_noon_sun_of_midsummer_does_not_reach():
    brief = read_brief(starter_text("workshop"))
    slope = basis_of(brief).requirements.glass_slope_min
    latitude = np.radians(brief.daylight.latitude_deg)
    # derived: north glass of slope s turns its back on a noon sun of altitude below s
    assert slope >= np.radians(113.4) - latitude
    noon = max(float(declination(day)) for day in np.arange(160.0, 185.0)) + np.pi / 2 - latitude
    normal = np.array([np.sin(slope), np.cos(slope)])  # to the north and up
    assert normal @ np.array([-np.cos(noon), np.sin(noon)]) <= 1e-3
