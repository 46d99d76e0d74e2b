"""Form areas, forms and their uses, quantities, cost and carbon by hand."""

import dataclasses

import numpy as np
import pytest
from briefed_sections import market_hall, reading_hall
from roofs import KEYS, designs_for, family_for

from longvault.constraints.basis import Detailing
from longvault.constraints.design_strengths import eurocode_strengths
from longvault.constraints.forms import CLASS_WORDS, form_areas, form_sets, slope_classes
from longvault.constraints.making import making
from longvault.constraints.materials import Concrete, Steel
from longvault.constraints.quantities import Factors, quantities
from longvault.constraints.steel_layout import steel_layout
from longvault.sections import Strips
from longvault.sections.properties import section_properties


def test_slope_classes_count_length():
    """3-4-5 and 1-1 triangles: 53 deg, 45 deg (still open forms), 26.6 deg, flat."""
    roof = Strips.chain([0.0, 3.0, 4.0, 6.0, 8.0], [0.0, 4.0, 5.0, 6.0, 6.0], 0.1, "wing")
    f = form_areas(roof)
    assert (float(f.flat), float(f.inclined), float(f.steep)) == pytest.approx((2.0 + 5**0.5, 2**0.5, 5.0))
    assert slope_classes(roof).tolist() == [2, 1, 0, 0]
    assert float(f.total) == pytest.approx(2.0 + 5**0.5 + 2**0.5 + 10.0)
    assert len(CLASS_WORDS) == 3


@pytest.mark.parametrize("key", KEYS)
def test_classes_sum_to_the_surface(key):
    strips = family_for(key).strips(designs_for(key, 20))
    f, m = form_areas(strips), making(strips, bend_radius=0.5, steep_slope=np.pi / 4)
    assert f.flat + f.inclined + f.steep == pytest.approx(m.surface, rel=1e-12)
    assert f.steep == pytest.approx(m.steep_share * m.surface, rel=1e-9, abs=1e-12)
    lengths = [(strips.length * (slope_classes(strips) == k)).sum(-1) for k in range(3)]
    assert np.stack(lengths) == pytest.approx(np.stack([f.flat, f.inclined, f.steep]), rel=1e-9, abs=1e-12)


def test_the_steep_springing_of_the_reading_hall_is_listed():
    """65 deg at the keel: some length over 45 deg on both sides."""
    assert 1.0 < float(form_areas(reading_hall()).steep) < 4.0
    assert float(form_areas(market_hall()).steep) == 0.0


def test_shared_beams_have_one_form():
    """0.25 x 0.75 m under the valley: two sides and the soffit per bay, from its two halves."""
    assert float(form_areas(market_hall()).beams) == pytest.approx(2 * 0.75 + 0.25)


def row(*bays):
    return Strips(
        [b.x for b in bays], [b.z for b in bays], bays[0].ends, [b.thickness for b in bays], bays[0].parts
    )


def test_one_form_for_all_bays_and_what_others_cost():
    one = Strips.chain([-2.0, 0.0, 2.0], [0.0, 1.2, 0.3], 0.1, "wing")
    back = Strips.chain([-2.0, 0.0, 2.0], [0.3, 1.2, 0.0], 0.1, "wing")
    other = Strips.chain([-2.0, 0.0, 2.0], [0.0, 1.3, 0.3], 0.1, "wing")
    assert form_sets(row(*[one] * 6)).uses == 6.0
    assert form_sets(row(one, back, one)).different == 1
    two = form_sets(row(one, one, other, other), pours=3)
    assert (two.different, two.uses) == (2, 6.0)
    with pytest.raises(ValueError, match="as a batch"):
        form_sets(one)
    with pytest.raises(ValueError, match="pours: got 0"):
        form_sets(row(one), pours=0)
    costs = [brief_four(uses=u).cost_form for u in (6.0, 3.0)]
    f = form_areas(market_hall())
    made = float(90.0 * f.flat + 120.0 * f.inclined + 2 * 160.0 * f.steep + 70.0 * f.beams) / 9.0
    assert float(costs[1] - costs[0]) == pytest.approx(made / 6)  # each form made once more


def brief_four(uses=6.0, factors=None, area=52e-4):
    strips = market_hall()
    p = section_properties(strips)
    concrete, steel = Concrete(30e6), Steel()
    laid = steel_layout(
        strips,
        p,
        area=area,
        shear=4 * 3605e3 / 24,
        length=24.0,
        detailing=Detailing(mesh_layers=2),
        concrete=concrete,
        steel=steel,
        strengths=eurocode_strengths(concrete, steel),
    )
    return quantities(
        area=p.area, steel_volume=laid.volume, forms=form_areas(strips), pitch=9.0, uses=uses, factors=factors
    )


def test_market_hall_in_figures():
    """Own hand figures for an invented hall: 107 mm, 20 to 26 kg/m2 (+- 15 %), 45 to 65 kgCO2e/m2."""
    q = brief_four()
    assert 1e3 * float(q.concrete) == pytest.approx(107.0, abs=0.5)
    assert 0.85 * 20 < float(q.steel) < 1.15 * 26
    assert 45 < float(q.carbon) < 65
    assert float(q.form) == pytest.approx((2 * 7.5 * np.arcsin(0.6) + 1.75) / 9, rel=1e-3)


def test_sums_and_factors():
    q = brief_four(uses=2.0, factors=Factors(steel_carbon=2.0, concrete_price=100.0))
    assert float(q.carbon_steel) == pytest.approx(2.0 * float(q.steel))
    assert float(q.cost_concrete) == pytest.approx(100.0 * float(q.concrete))
    assert float(q.carbon) == pytest.approx(float(q.carbon_concrete + q.carbon_steel + q.carbon_form))
    assert float(q.cost) == pytest.approx(float(q.cost_concrete + q.cost_steel + q.cost_form))
    assert float(q.form_made) == pytest.approx(float(q.form) / 2)
    more = brief_four(area=80e-4)
    # bars of 25 mm: two laps of 1.34 m on 24 m, 0.893 m of anchorage at both ends
    share = 0.8 * (1.0 + 2 * 1.340 / 24) + 2 * 0.8935 / 24
    assert float(more.steel - brief_four().steel) == pytest.approx(1.05 * share * 28e-4 * 7850 / 9, rel=1e-4)
    nothing = Factors(**{f.name: 0.0 for f in dataclasses.fields(Factors)})
    assert float(brief_four(factors=nothing).cost) == 0.0
    assert float(brief_four(factors=nothing).carbon) == 0.0


def test_strand_is_counted_apart():
    strips = market_hall()
    q = quantities(
        area=0.96,
        steel_volume=np.array(0.02),
        forms=form_areas(strips),
        pitch=9.0,
        strand_area=np.array(15e-4),
    )
    assert float(q.strand) == pytest.approx(7850 * 15e-4 / 9)
    assert float(q.cost_steel) == pytest.approx(2.2 * float(q.steel) + 6.0 * float(q.strand))


def test_bad_calls_name_what_is_wrong():
    forms = form_areas(market_hall())
    with pytest.raises(ValueError, match="uses: got 0"):
        quantities(area=1.0, steel_volume=0.0, forms=forms, pitch=9.0, uses=0.0)
    with pytest.raises(ValueError, match="pitch: got 0"):
        quantities(area=1.0, steel_volume=0.0, forms=forms, pitch=0.0)
    with pytest.raises(ValueError, match="steel_price: got -1"):
        Factors(steel_price=-1.0)
    with pytest.raises(ValueError, match="slopes"):
        form_areas(market_hall(), slopes=(0.9, 0.2))


@pytest.mark.parametrize("key", KEYS)
def test_batch_law_and_bad_rows(key):
    x = designs_for(key, 6)
    x[2, 0] = np.nan
    strips = family_for(key).strips(x)
    whole = form_areas(strips)
    for i in (0, 1, 5):
        assert whole.inclined[i].tobytes() == form_areas(strips[i]).inclined.tobytes()
    assert np.isnan(whole.total[2])
