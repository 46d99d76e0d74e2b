"""Tension beside the valley of a barrel = shear per length at the support x L / 4 under a uniform load.

Ketchum, design notes "Barrel shells" (rule); R = 5 m, 60 degrees, t = 0.10 m, L = 30 m, 25 kN/m3, 0.75 kN/m2:
1052.43486 kN both ways for the thin line (derived).
"""

import numpy as np
import pytest

from longvault.constraints.basis import Detailing
from longvault.constraints.reinforcement import beam_section
from longvault.sections import Strips
from longvault.sections.properties import section_properties

THIN = 1e-4


def test_both_ways():
    angle = np.linspace(np.radians(150.0), np.radians(30.0), 4001)
    # a thinner line gives the same stress resultants: load and stiffness of the real one are put in by hand
    arc = Strips.chain(5.0 * np.cos(angle), 5.0 * np.sin(angle), THIN, "crown")
    w = 25e3 * 0.10 * 5.0 * np.radians(120.0) + 750.0 * 10.0 * np.sin(np.radians(60.0))
    beam = beam_section(arc, section_properties(arc), detailing=Detailing(), held=True)
    by_stress = 0.5 * (w * 30.0**2 / 8) / float(beam.arm_block)
    by_shear = (w * 30.0 / 2) * float(beam.flow) * 30.0 / 4
    assert by_stress == pytest.approx(1052.43486e3, rel=1e-5)
    assert by_shear == pytest.approx(1052.43486e3, rel=1e-5)
    assert by_shear == pytest.approx(by_stress, rel=1e-6)
