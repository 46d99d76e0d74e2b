"""Beam coefficients against any beam table (e.g. Roark, Formulas for Stress and Strain; from memory)."""

import numpy as np
import pytest

from longvault.constraints.beam import SUPPORTS, deflection, moment, shear

ONE = np.array(1.0)


@pytest.mark.parametrize(
    ("key", "m", "v", "d"), [("simple", 1 / 8, 0.5, 0.0130208), ("cantilever", -0.5, 1.0, 0.125)]
)
def test_uniform_load(key, m, v, d):
    support = SUPPORTS[key]
    assert moment(support, load=ONE, span=1.0) == pytest.approx(m, abs=1e-6)
    assert shear(support, load=ONE, span=1.0) == pytest.approx(v, abs=1e-6)
    assert deflection(support, load=ONE, span=1.0, modulus=1.0, inertia=ONE) == pytest.approx(d, abs=1e-6)


@pytest.mark.parametrize("key", ["simple", "cantilever"])
def test_coefficients_follow_from_each_other(key):
    """Second implementation: integrate w'''' = q / EI numerically with the end conditions of the support."""
    y = np.linspace(0.0, 1.0, 20001)
    bending = 0.5 * y * (1 - y) if key == "simple" else -0.5 * (1 - y) ** 2
    step = y[1] - y[0]
    slope = np.concatenate([[0.0], np.cumsum(0.5 * (bending[1:] + bending[:-1]) * step)])
    drop = np.concatenate([[0.0], np.cumsum(0.5 * (slope[1:] + slope[:-1]) * step)])
    if key == "simple":
        drop = drop - y * drop[-1]
    support = SUPPORTS[key]
    assert np.abs(bending).max() == pytest.approx(abs(support.moment), rel=1e-7)
    assert np.abs(drop).max() == pytest.approx(support.deflection, rel=1e-6)


def test_scaling_of_a_cantilever():
    """Doubling the curve at fixed thickness: I x8, W x4, A x2: own-weight stress halves (derived)."""
    from longvault.sections import Strips
    from longvault.sections.properties import section_properties

    angle = np.linspace(np.pi, 0.0, 401)

    def arc(radius):
        return section_properties(Strips.chain(radius * np.cos(angle), radius * np.sin(angle), 1e-6, "wing"))

    small, large = arc(1.0), arc(2.0)
    assert large.ixx / small.ixx == pytest.approx(8.0, rel=1e-5)
    assert large.s_bottom / small.s_bottom == pytest.approx(4.0, rel=1e-5)
    assert (large.area / large.s_bottom) / (small.area / small.s_bottom) == pytest.approx(0.5, rel=1e-5)
