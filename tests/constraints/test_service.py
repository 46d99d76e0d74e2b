"""Long-term deflection by two states of the section: closed forms, and the factor of practice beside it."""

from dataclasses import replace

import numpy as np
import pytest
from briefed_sections import market_hall
from roofs import KEYS, basis_for, designs_for, family_for

from longvault.constraints.actions import STANDARDS, Wind
from longvault.constraints.basis import Requirements
from longvault.constraints.beam import support_of
from longvault.constraints.concrete_settings import ConcreteSettings
from longvault.constraints.evaluate import evaluate
from longvault.constraints.prestress import Tensioning
from longvault.constraints.reinforcement import beam_section
from longvault.constraints.service import cracked_inertia, states_of
from longvault.constraints.spans import Spans
from longvault.sections import Strips
from longvault.sections.properties import section_properties


def upright(width=0.3, depth=0.6):
    return Strips.chain([0.0, 0.0], [0.0, depth], [width], "edge beam")


def inertia(strips, steel, bars_z, ratio=15.0, sagging=True):
    return float(cracked_inertia(strips, steel=steel, bars_z=bars_z, ratio=ratio, sagging=sagging))


@pytest.mark.parametrize("steel", [5e-4, 20e-4, 60e-4])
def test_rectangle(steel):
    """b x^2 / 2 = n A_s (d - x); I = b x^3 / 3 + n A_s (d - x)^2 (any text on reinforced concrete)."""
    b, d, heavy = 0.3, 0.55, 15.0 * steel
    x = (-heavy + np.sqrt(heavy**2 + 2 * b * heavy * d)) / b
    expected = b * x**3 / 3 + heavy * (d - x) ** 2
    assert inertia(upright(), steel, 0.05) == pytest.approx(expected, rel=1e-9)
    assert inertia(upright(), steel, 0.55, sagging=False) == pytest.approx(expected, rel=1e-9)


def test_a_flange_that_holds_the_axis():
    """Tee of level flange 1.0 x 0.1 over a web 0.2 x 0.5; axis where the first moments balance."""
    tee = Strips(
        [-0.5, 0.0, 0.5, 0.0],
        [0.55, 0.55, 0.55, 0.0],
        [[0, 1], [1, 2], [3, 1]],
        [0.1, 0.1, 0.2],
        ["wing"] * 3,
    )
    heavy, bars = 15.0 * 40e-4, 0.05
    axis = np.linspace(0.3, 0.6, 300001)
    flange = 1.0 * (0.6 - np.maximum(axis, 0.5)) * (0.5 * (0.6 + np.maximum(axis, 0.5)) - axis)
    web = 0.2 * np.maximum(0.55 - axis, 0.0) ** 2 / 2
    at = axis[np.abs(flange + web - heavy * (axis - bars)).argmin()]
    low = max(at, 0.5)
    second = 1.0 * ((0.6 - at) ** 3 - (low - at) ** 3) / 3 + 0.2 * max(0.55 - at, 0.0) ** 3 / 3
    assert inertia(tee, 40e-4, bars) == pytest.approx(second + heavy * (at - bars) ** 2, rel=1e-4)


def test_market_hall_long_term_is_three_to_four_times_short():
    """A factor of 3 to 4 on the elastic deflection is the screen of practice (from memory).

    Shrinkage comes on top of what loads do; of cracked members it makes a fifth to a third (common practice).
    """
    need = Requirements(height_max=2.5, long_term="cracked")
    shrunk = replace(basis_for("vault", held=True), requirements=need)
    basis = replace(shrunk, requirements=replace(need, shrinkage=0.0))
    done = evaluate(market_hall(0.75), basis).measures
    factor = Requirements(height_max=2.5, long_term="factor")
    plain = evaluate(market_hall(0.75), replace(basis, requirements=factor)).measures
    elastic = float(plain["deflection"]) / 4.0
    assert 2.5 < float(done["deflection"]) / elastic < 6.0
    assert (
        0.12
        < 1.0 - float(done["deflection"] / evaluate(market_hall(0.75), shrunk).measures["deflection"])
        < 0.33
    )
    relieved = replace(basis, requirements=replace(basis.requirements, camber=0.02, creep=0.0))
    assert (
        float(evaluate(market_hall(0.75), relieved).measures["deflection"]) < float(done["deflection"]) - 0.02
    )


def test_below_cracking_it_is_creep_alone():
    basis = replace(
        basis_for("vault", held=True),
        span=3.0,
        requirements=Requirements(height_max=2.5, long_term="cracked", shrinkage=0.0),
    )
    done = evaluate(market_hall(0.75), basis).measures
    factor = Requirements(height_max=2.5, long_term="factor")
    plain = evaluate(market_hall(0.75), replace(basis, requirements=factor)).measures
    assert float(done["deflection"]) == pytest.approx(3.5 / 4.0 * float(plain["deflection"]))


@pytest.mark.parametrize("key", KEYS)
def test_batch_law(key):
    basis = basis_for(key)
    basis = replace(basis, requirements=replace(basis.requirements, long_term="cracked"))
    x = designs_for(key, 12)
    x[4, 1] = np.nan
    strips = family_for(key).strips(x)
    whole = evaluate(strips, basis)
    assert np.isnan(whole.measures["deflection"]).tolist() == [i == 4 for i in range(12)]
    for i in (0, 5, 11):
        one = evaluate(strips[i], basis)
        assert whole.margins[i].tobytes() == one.margins.tobytes()
    assert "zeta" in next(limit.formula for limit in whole.limits if limit.key == "deflection")


def test_refused():
    with pytest.raises(ValueError, match="factor, cracked"):
        Requirements(height_max=2.0, long_term="guess")


def test_american_effective_inertia():
    """ACI 318-19, 24.2.3.5 and 24.2.4.1 (from memory): elastic x I_g / I_e x 3, f_r = 0.62 sqrt(f'c)."""
    basis = replace(basis_for("vault", held=True), requirements=Requirements(height_max=2.5))
    basis = replace(basis, standard=STANDARDS["ASCE 7-16"])
    strips = market_hall(0.75)
    m, p = evaluate(strips, basis).measures, section_properties(strips)
    section = beam_section(strips, p, detailing=basis.detailing, held=True)
    e = 4700e6 * (basis.concrete.fck / 1e6) ** 0.5
    cracked = float(
        cracked_inertia(strips, steel=m["steel_area"], bars_z=section.bars_z, ratio=200e9 / e, sagging=True)
    )
    gross = float(p.ixx)
    cracking = 0.62e6 * (basis.concrete.fck / 1e6) ** 0.5 * float(p.s_bottom)
    share = (2 / 3 * cracking / float(m["characteristic_moment"])) ** 2
    assert share < 1.0
    effective = cracked / (1 - share * (1 - cracked / gross))
    expected = float(m["deflection_sustained"]) * gross / effective * 3.0
    assert float(m["deflection"]) == pytest.approx(expected, rel=1e-9)


def test_prestress_that_leaves_no_tension_leaves_creep_alone():
    basis = replace(basis_for("vault", held=True), requirements=Requirements(height_max=2.5))
    bare, whole, loose = (
        evaluate(market_hall(0.75), replace(basis, concrete_settings=ConcreteSettings(tensioning=use)))
        for use in (None, Tensioning(), Tensioning(tension_service=5e6))
    )
    assert float(whole.measures["deflection"] / whole.measures["deflection_sustained"]) == pytest.approx(3.5)
    assert float(bare.measures["deflection"]) > 1.2 * float(whole.measures["deflection"])
    assert float(loose.measures["deflection"]) == float(bare.measures["deflection"])


def test_both_signs_that_last_are_looked_at():
    """Two equal spans: the support hogs, the spans sag; the larger ratio of the two counts."""
    given = replace(basis_for("vault"), requirements=Requirements(height_max=2.5))
    spans = Spans.continuous(24.0, 24.0)
    given = replace(given, spans=spans, support=support_of("continuous", spans, 24.0))
    strips = market_hall(0.75)
    m, p = evaluate(strips, given).measures, section_properties(strips)
    ratios = []
    for sagging, steel in ((False, "steel_area"), (True, "steel_area_reverse")):
        section = beam_section(strips, p, detailing=given.detailing, sagging=sagging)
        moment = m["characteristic_moment"] * (1.0 if not sagging else 0.6)
        lasting = m["sustained_moment_reverse" if sagging else "sustained_moment"]
        late = states_of(
            strips, p, section, moment=moment, lasting=lasting, steel=m[steel], basis=given, sagging=sagging
        )
        ratios.append(float(late.late))
    found = float(m["deflection"] / m["deflection_sustained"])
    assert found >= ratios[0] * (1 - 1e-9)
    assert found == pytest.approx(max(ratios), rel=0.05)


@pytest.mark.parametrize("overhang", [0.1, 0.5, 2.0])
def test_steel_of_uplift_does_not_shrink_where_a_short_overhang_hogs(overhang):
    """Uplift asks for bars at the top of the span; what hogs for good over the support is next to nothing.

    Over that moment alone the shrinkage of those bars would be a thousand times its elastic curvature.
    """
    given = replace(basis_for("vault"), requirements=Requirements(height_max=2.5))
    spans = Spans.overhanging(24.0, right=overhang)
    calm = replace(given, spans=spans, support=support_of("overhanging", spans, 24.0))
    storm = replace(calm, loads=replace(calm.loads, wind=(Wind("up", ((0.0, 1.0, -5e3),)),)))
    one, two = (evaluate(market_hall(0.75), basis).measures for basis in (calm, storm))
    assert float(two["steel_area_reverse"]) > 10 * float(one["steel_area_reverse"])
    late = [float(m["deflection"] / m["deflection_sustained"]) for m in (one, two)]
    assert late[1] == pytest.approx(late[0], rel=0.25)
