"""Limits on prestress by hand: ends, frequent combination, resistance with tendons, bursting."""

from dataclasses import replace

import numpy as np
import pytest
from briefed_sections import market_hall, reading_hall
from test_hand_results_along_span import basis

from longvault.constraints.actions import Loads
from longvault.constraints.bars import gathered_bars
from longvault.constraints.concrete_settings import ConcreteSettings
from longvault.constraints.details import demand_of, detail_limits, evaluate_closely
from longvault.constraints.prestress import Tensioning, prestress
from longvault.constraints.prestress_checks import frequent_load
from longvault.sections import Strips
from longvault.sections.properties import section_properties

STRESSED = ConcreteSettings(tensioning=Tensioning())
HALL = Loads(finish=600.0, snow=640.0, maintenance=400.0, glass=500.0, services=700.0)


def hall(loads=HALL, settings=STRESSED):
    return replace(basis(24.0, 7.5, loads, fck=40e6), concrete_settings=settings)


def test_the_hall_by_hand():
    """P and the strands from the moments; the rest from P with a pocket calculator."""
    strips, given = reading_hall(), hall()
    m = evaluate_closely(strips, given).measures
    p, use = section_properties(strips), Tensioning()
    area = float(m["strands"]) * 150e-6
    # 0.25 x 1.2 x A_p x 1476 MPa / 300 MPa
    assert float(m["bursting_steel"]) == pytest.approx(0.25 * 1.2 * area * 1476 / 300, rel=1e-9)
    # two legs of 8 mm, 8 + 25 mm apart (bars of 25 mm set the distance), over 2.69 m
    assert float(m["bursting_room"]) == pytest.approx(2 * 50.265e-6 * float(p.height) / 0.033, rel=1e-4)
    # the tendon stays in the keel: e at the ends as in the middle, P before later losses
    seat = prestress(strips, p, service=m["characteristic_moment"], transfer=1.0, tensioning=use)
    e = float(p.centroid_z - seat.z - seat.rise)
    start = float(m["prestress_force"]) / 0.85
    assert float(m["end_tension"]) == pytest.approx(start * float(e / p.s_top - 1 / p.area), rel=1e-6)


def test_decompression_under_the_frequent_combination():
    """G + 0.2 snow against G + snow: the share of the loads where no tension is allowed."""
    strips, given = reading_hall(), hall()
    found = evaluate_closely(strips, given).measures
    g = float(found["permanent_load"])
    share = (g + 0.2 * 640.0 * 7.5) / (g + 640.0 * 7.5)
    least = prestress(
        strips, section_properties(strips), service=found["characteristic_moment"], transfer=1.0,
        tensioning=Tensioning(),
    ).least  # fmt: skip
    laid = float(found["prestress_force"])
    assert float(found["decompression"]) == pytest.approx(share * float(least) / laid, rel=1e-9)
    demand = demand_of(strips, section_properties(strips), found, given)
    assert float(frequent_load(given, demand)) == pytest.approx(g + 0.2 * 640.0 * 7.5, rel=1e-9)
    lax = hall(settings=ConcreteSettings(tensioning=Tensioning(tension_service=3e6)))
    assert float(evaluate_closely(strips, lax).measures["decompression"]) > 1.0


def test_resistance_with_tendons_by_hand():
    """A wall 0.6 x 2.0 m: x = (A_s f_yd + A_p f_pd) / (0.8 b f_cd), M_R = sum of forces x (d - 0.4 x)."""
    wall = Strips.chain([0.0, 0.0], [0.0, 2.0], [0.6], "web")
    given = replace(hall(Loads(snow=640.0)), span=14.0)
    m = evaluate_closely(wall, given).measures
    p = section_properties(wall)
    demand = demand_of(wall, p, m, given)
    laid = gathered_bars(wall, p, area=demand.steel, detailing=given.detailing)
    steel = float(demand.steel) * 500e6 / 1.15
    tendon = float(m["strands"]) * 150e-6 * 1640e6 / 1.15
    x = (steel + tendon) / (0.8 * 0.6 * 40e6 / 1.5)
    arm = steel * (2.0 - float(laid.bars.height) - 0.4 * x) + tendon * (2.0 - 0.09 - 0.4 * x)
    assert float(m["tendon_bending"]) == pytest.approx(float(m["ultimate_moment"]) / arm, rel=1e-6)


def test_every_limit_names_its_source():
    keys = {limit.key: limit for limit in detail_limits(hall())}
    for key in ("end-tension", "decompression", "tendon-bending", "bursting"):
        assert "EN 1992-1-1" in keys[key].source
    bare = {limit.key for limit in detail_limits(hall(settings=ConcreteSettings()))}
    assert "bursting" not in bare
    done = evaluate_closely(reading_hall(), hall())
    assert np.isfinite(done.margins).all()
    assert done.cases["tendon-bending"].name() == done.cases["compression"].name()


def test_whole_strands_are_laid_and_looked_at():
    """No fewer than the least force asks for; the window, transfer and ends are those of what is laid."""
    strips, p = reading_hall(), section_properties(reading_hall())
    use = Tensioning(later_loss=0.34)
    given = hall(settings=ConcreteSettings(tensioning=use))
    m = evaluate_closely(strips, given).measures
    per_load = m["characteristic_moment"] / m["characteristic_load"]
    own = 25e3 * float(p.area) * per_load
    exact = prestress(strips, p, service=m["characteristic_moment"], transfer=own, tensioning=use)
    strands = np.ceil(float(exact.least) / use.strand_force)
    laid = strands * use.strand_force
    assert float(m["strands"]) == strands
    assert float(m["prestress_force"]) == pytest.approx(laid)
    assert laid > float(exact.least)
    assert float(m["prestress_window"]) == pytest.approx(laid / float(exact.most), rel=1e-9)
    e = float(p.centroid_z - exact.z - exact.rise)
    assert float(m["end_tension"]) == pytest.approx(laid / 0.66 * float(e / p.s_top - 1 / p.area), rel=1e-6)


@pytest.mark.parametrize(("width", "room"), [(0.17, 1), (0.299, 1), (0.301, 2), (0.421, 3)])
def test_ducts_beside_each_other(width, room):
    """Covers and ducts of 60 mm, 60 mm between: 180 mm for one, 120 mm more for each further one."""
    wall = Strips.chain([0.0, 0.0], [0.0, 2.0], [width], "web")
    m = evaluate_closely(wall, replace(hall(Loads(snow=640.0)), span=14.0)).measures
    assert float(m["duct_room"]) == room
    assert float(m["ducts"]) == np.ceil(float(m["strands"]) / 6)  # 0.4 x pi / 4 x 55^2 / 150 = 6.3


def test_shared_beams_and_keels_hold_ducts_of_their_own():
    """Two valley beams of 0.25 m, half of each: one duct; a keel of 1.4 m: 1 + (1.4 - 0.18) / 0.12 = 11."""
    use = Tensioning()
    for strips, room in ((market_hall(), 1), (reading_hall(), 11)):
        found = prestress(strips, section_properties(strips), service=1e6, transfer=5e5, tensioning=use)
        assert float(found.duct_room) == room


def test_a_duct_that_does_not_fit_is_graded():
    keys = [limit.key for limit in detail_limits(hall())]
    assert "ducts-fit" in keys
    wall = Strips.chain([0.0, 0.0], [0.0, 2.0], [0.2], "web")
    thin = ConcreteSettings(tensioning=Tensioning(duct=0.035))  # 0.4 x pi / 4 x 30^2 / 150 = 1.9: one each
    done = evaluate_closely(wall, replace(hall(settings=thin), span=22.0))
    margin = done.margins[[limit.key for limit in done.limits].index("ducts-fit")]
    assert float(margin) == pytest.approx(1 - float(done.measures["duct_room"] / done.measures["ducts"]))
    assert float(margin) > 0.0
