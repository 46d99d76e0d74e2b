"""Long-term deflection by two states of the section: closed forms, and the factor of practice beside it."""

from dataclasses import replace

import numpy as np
import pytest
from briefed_sections import market_hall
from roofs import KEYS, basis_for, designs_for, family_for

from longvault.constraints.basis import Requirements
from longvault.constraints.evaluate import evaluate
from longvault.constraints.service import cracked_inertia
from longvault.sections import Strips
from longvault.sections.properties import section_properties


def upright(width=0.3, depth=0.6):
    return Strips.chain([0.0, 0.0], [0.0, depth], [width], "edge beam")


def inertia(strips, steel, bars_z, ratio=15.0, sagging=True):
    p = section_properties(strips)
    return float(
        cracked_inertia(
            strips, p, steel=np.array(steel), bars_z=np.array(bars_z), ratio=ratio, sagging=sagging
        )
    )


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
    """A factor of 3 to 4 on the elastic deflection is the screen of practice (from memory)."""
    basis = replace(
        basis_for("vault", held=True), requirements=Requirements(height_max=2.5, long_term="cracked")
    )
    done = evaluate(market_hall(0.75), basis).measures
    plain = evaluate(market_hall(0.75), replace(basis, requirements=Requirements(height_max=2.5))).measures
    elastic = float(plain["deflection"]) / 4.0
    assert 2.5 < float(done["deflection"]) / elastic < 6.0
    relieved = replace(basis, requirements=replace(basis.requirements, camber=0.02, creep=0.0))
    assert (
        float(evaluate(market_hall(0.75), relieved).measures["deflection"]) < float(done["deflection"]) - 0.02
    )


def test_below_cracking_it_is_creep_alone():
    basis = replace(
        basis_for("vault", held=True),
        span=3.0,
        requirements=Requirements(height_max=2.5, long_term="cracked"),
    )
    done = evaluate(market_hall(0.75), basis).measures
    plain = evaluate(market_hall(0.75), replace(basis, requirements=Requirements(height_max=2.5))).measures
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
