"""Long-term deflection of a cracked beam by EN 1992-1-1 and by ACI 318-19, each redone by hand, side by side.

EN 1992-1-1, 7.4.3 (7.18)-(7.21); ACI 318-19, 24.2.3.5 and 24.2.4.1 (from memory; (7.21) and the table of I_e
compared with the text as published on the web). Beam of 0.3 x 0.6 m, C30, E_s = 200 GPa, bars at 0.05 m, none
in compression, rho' = 0, so lambda_Delta = 2.0 / (1 + 0) = 2.0.
"""

from dataclasses import replace

import numpy as np
import pytest

from longvault.constraints.actions import STANDARDS
from longvault.constraints.basis import Basis, Requirements
from longvault.constraints.reinforcement import beam_section
from longvault.constraints.service import states_of
from longvault.sections import Strips
from longvault.sections.properties import section_properties

WIDTH, DEPTH, EFFECTIVE = 0.3, 0.6, 0.55
EUROPE = Basis(8.0, 6.0, Requirements(1.0), held=True)
AMERICA = replace(EUROPE, standard=STANDARDS["ASCE 7-16"])
GROSS = WIDTH * DEPTH**3 / 12


def late(basis, steel, moment, lasting):
    beam = Strips.chain([0.0, 0.0], [0.0, DEPTH], [WIDTH], "edge beam")
    p = section_properties(beam)
    section = beam_section(beam, p, detailing=basis.detailing, held=True)
    section = replace(section, bars_z=np.array(DEPTH - EFFECTIVE))
    found = states_of(
        beam, p, section, moment=np.array(moment), lasting=np.array(lasting), steel=np.array(steel),
        basis=basis, sagging=True,
    )  # fmt: skip
    return float(found.late)


def cracked(heavy):
    """b x^2 / 2 = n A_s (d - x); I = b x^3 / 3 + n A_s (d - x)^2."""
    x = (-heavy + np.sqrt(heavy**2 + 2 * WIDTH * heavy * EFFECTIVE)) / WIDTH
    return x, WIDTH * x**3 / 3 + heavy * (EFFECTIVE - x) ** 2


def test_american_by_hand():
    """20 cm2, M_a = 150, sustained 100 kNm: n = 7.769, x = 0.1924 m, I_cr = 2.699e-3, I_e = 2.803e-3 m4."""
    n = 200e3 / (4700 * 30**0.5)
    x, inertia = cracked(n * 20e-4)
    assert (n, x, inertia) == pytest.approx((7.769, 0.1924, 2.699e-3), rel=1e-3)
    rupture = 0.62e6 * 30**0.5 * GROSS / 0.3
    assert rupture == pytest.approx(61.1e3, rel=1e-3)  # 3.396 MPa x 0.018 m3
    effective = inertia / (1 - (2 / 3 * rupture / 150e3) ** 2 * (1 - inertia / GROSS))
    assert effective == pytest.approx(2.803e-3, rel=1e-3)
    assert late(AMERICA, 20e-4, 150e3, 100e3) == pytest.approx(3.0 * GROSS / effective, rel=1e-6)


def test_european_by_hand():
    """The same beam: alpha_e = 21.32, x = 0.2780 m, I_cr = 5.303e-3 m4, M_cr = 52.1 kNm, zeta = 0.940."""
    e = 22e9 * 3.8**0.3
    heavy = 3.5 * 200e9 / e * 20e-4
    x, inertia = cracked(heavy)
    zeta = 1 - 0.5 * (0.3e6 * 30 ** (2 / 3) * GROSS / 0.3 / 150e3) ** 2
    assert (heavy / 20e-4, x, inertia, zeta) == pytest.approx((21.32, 0.2780, 5.303e-3, 0.9396), rel=1e-3)
    by_load = 3.5 * (zeta * GROSS / inertia + 1 - zeta)
    area = WIDTH * DEPTH + heavy
    centre = (WIDTH * DEPTH * 0.3 + heavy * 0.05) / area
    whole = GROSS + WIDTH * DEPTH * (0.3 - centre) ** 2 + heavy * (centre - 0.05) ** 2
    shrunk = 4e-4 * heavy * (zeta * (EFFECTIVE - x) / inertia + (1 - zeta) * (centre - 0.05) / whole)
    elastic = 100e3 / (e * GROSS)
    assert late(EUROPE, 20e-4, 150e3, 100e3) == pytest.approx(by_load + shrunk / elastic, rel=1e-6)


@pytest.mark.parametrize("steel", [4e-4, 20e-4])
def test_shrinkage_curvature_is_that_of_a_section_whose_bars_hold_it_back(steel):
    """Uncracked: concrete that would shorten and bars that would not, N = 0 and M = 0 over the section."""
    e, strain = EUROPE.concrete.ecm / 3.5, 4e-4
    area, lever = WIDTH * DEPTH, 0.25
    # unknown: mean strain and curvature; concrete e (eps + strain), bars E_s (eps + k lever) below the middle
    system = np.array([
        [e * area + 200e9 * steel, 200e9 * steel * lever],
        [200e9 * steel * lever, e * GROSS + 200e9 * steel * lever**2],
    ])  # fmt: skip
    _, bent = np.linalg.solve(system, [-e * area * strain, 0.0])
    lasting = 10e3
    with_it, without = (
        late(replace(EUROPE, requirements=Requirements(1.0, shrinkage=s)), steel, 20e3, lasting)
        for s in (strain, 0.0)
    )
    assert (with_it - without) * lasting / (EUROPE.concrete.ecm * GROSS) == pytest.approx(bent, rel=1e-6)


def sag(basis, steel, moment):
    """Long-term curvature, of which two thirds of the moment last."""
    return late(basis, steel, moment, moment / 1.5) / basis.concrete.ecm


def test_why_american_sag_is_more_where_steel_is_little():
    """Both as written, over the same load: a third apart with much steel, three quarters with little.

    ACI multiplies the cracked elastic deflection by 3 whatever the steel; by EN creep softens the concrete
    alone, so a section that its bars govern hardly creeps: I_cr (3.5 n) / I_cr (n) -> 3.5 with little steel.
    The moduli, 25.7 and 32.8 GPa, and 2/3 M_cr against M_cr do the rest.
    """
    ratios = [sag(AMERICA, s, m) / sag(EUROPE, s, m) for s, m in ((30e-4, 300e3), (4e-4, 70e3))]
    assert ratios[0] < 1.4
    assert ratios[1] > 1.7
    for steel, least in ((30e-4, 1.0), (4e-4, 2.5)):
        soft, stiff = (cracked(n * 200e9 / EUROPE.concrete.ecm * steel)[1] for n in (3.5, 1.0))
        assert soft / stiff > least
