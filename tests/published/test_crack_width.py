"""Width of cracks and distance of bars against the standards and a worked example, printed digits."""

import numpy as np
import pytest

from longvault.constraints.bars import Bars
from longvault.constraints.basis import Basis, Requirements
from longvault.constraints.crack_width import (
    Bonded,
    TensionZone,
    american_bar_spacing,
    crack_width,
    tension_zone,
)
from longvault.constraints.limits import limits_of
from longvault.constraints.materials import Concrete
from longvault.sections.strips import Strips

INCH, KSI = 0.0254, 6.894757293168361e6


@pytest.mark.parametrize(
    ("classes", "width"),
    [("X0 XC1", 0.4e-3), ("XC2 XC3 XC4 XD1 XD2 XD3 XS1 XS2 XS3", 0.3e-3)],
)
def test_width_by_exposure_class(classes, width):
    """EN 1992-1-1:2004, table 7.1N, reinforced, quasi-permanent: 0.4 mm X0 and XC1, 0.3 mm XC2 to XS3."""
    for one in classes.split():
        assert Requirements(2.5, exposure=one).width_allowed == width
    assert Requirements(2.5, crack_width_max=0.2e-3).width_allowed == 0.2e-3
    with pytest.raises(ValueError, match="exposure: got 'XC5'; must be one of X0, XC1"):
        Requirements(2.5, exposure="XC5")


def test_deflection_is_span_over_250_under_the_quasi_permanent_combination():
    """EN 1992-1-1:2004, 7.4.1(4): L / 250; a brief may ask for the L / 500 of 7.4.1(5)."""
    for ratio, allowed in ((None, 24.0 / 250), (500.0, 24.0 / 500)):
        need = Requirements(2.5) if ratio is None else Requirements(2.5, deflection_ratio=ratio)
        limit = next(one for one in limits_of(Basis(24.0, 9.0, need)) if one.key == "deflection")
        assert limit.capacity == pytest.approx(allowed)
        assert "quasi-permanent" in limit.formula
        assert "7.4.1(4)" in limit.source


def test_worked_example():
    """Beam 0.4 x 0.3 m, 3 bars of 16 mm, cover 35, C25, 175.74 MPa, A_c,eff = 2 (h - d) b, load that lasts.

    Verification test crack_control_01 of the open finite-element library xcfem/xc, after a worked example on
    the web: s_r,max 274.1230 mm, mean strains 0.55354 mm/m apart, w_k 0.151738 mm.
    """
    steel = 3 * np.pi / 4 * 0.016**2
    zone = TensionZone(*(np.array(v) for v in (175.74e6, 0.2401, 0.043, 0.086, 0.4 * 0.086, 0.5)))
    found = crack_width(zone, Bonded(0.016, 0.035, Concrete(25e6)), steel=steel, apart=0.17)
    assert steel == pytest.approx(603.18579e-6, rel=1e-7)
    assert float(found.spacing) == pytest.approx(274.1230e-3, rel=1e-6)
    assert float(found.strain) == pytest.approx(0.55354e-3, rel=2e-4)  # E_cm there 31.0, here 31.5 GPa
    assert float(found.width) == pytest.approx(0.151738e-3, rel=2e-4)


def test_wide_bars():
    """EN 1992-1-1, (7.14): over 5 (c + phi / 2) = 215 mm cracks stand 1.3 (h - x) apart if that is more."""
    held = Bonded(0.016, 0.035, Concrete(25e6))
    assert held.close == pytest.approx(0.215)
    for below, spacing in ((0.24, 1.3 * 0.24), (0.10, 274.1230e-3)):
        zone = TensionZone(*(np.array(v) for v in (175.74e6, below, 0.043, 0.086, 0.4 * 0.086, 0.5)))
        found = crack_width(zone, held, steel=3 * np.pi / 4 * 0.016**2, apart=0.216)
        assert float(found.spacing) == pytest.approx(spacing, rel=1e-6)


def test_beam_by_hand():
    """Derived: b 0.3, h 0.6, d 0.55, A_s 20 cm2 of 25 mm, C30, n = 15, M = 200 kNm.

    x = 246.4 mm from b x^2 / 2 = n A_s (d - x); z = d - x / 3 = 467.9 mm, sigma_s = 213.7 MPa; h_c,ef =
    min(125, 117.9, 300), rho = 2000 / (300 x 117.9) = 0.05656; s = 3.4 x 37.5 + 0.17 x 25 / rho = 202.6 mm;
    strain (213.7 - 0.4 x 2.896 / 0.05656 x (1 + 6.091 x 0.05656)) / 200 000 = 0.931e-3.
    """
    beam = Strips.chain([0, 0], [0, 0.6], 0.3, "edge beam")
    bars = Bars(np.array([0.0]), np.array([0.05]), np.array([20e-4]))
    zone = tension_zone(beam, bars, moment=200e3, ratio=15.0)
    found = crack_width(zone, Bonded(0.025, 0.0375, Concrete(30e6)), steel=20e-4)
    assert float(zone.stress) / 1e6 == pytest.approx(213.7, abs=0.1)
    assert float(found.ratio) == pytest.approx(0.05656, rel=1e-3)
    assert float(found.spacing) * 1e3 == pytest.approx(202.6, abs=0.1)
    assert float(found.strain) * 1e3 == pytest.approx(0.931, abs=0.001)
    assert float(found.width) * 1e3 == pytest.approx(0.1887, abs=0.0005)


def test_distance_of_bars_by_aci():
    """ACI 318, commentary to 24.3.2: f_y 60 ksi, 2 in of clear cover, f_s 40 ksi: 10 in (from memory).

    Less cover: 12 (40 / f_s) = 12 in; the SI form has 280 MPa for 40 ksi and 380 and 300 mm for 15 and 12 in.
    """
    assert american_bar_spacing(60 * KSI, 2.0 * INCH) / INCH == pytest.approx(10.0, rel=0.02)
    assert american_bar_spacing(60 * KSI, 1.0 * INCH) / INCH == pytest.approx(12.0, rel=0.03)
    assert american_bar_spacing(420e6, 0.030) == pytest.approx(0.300)
