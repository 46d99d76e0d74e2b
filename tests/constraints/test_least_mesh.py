"""Least mesh of the shell: 0.0018 of its section each way (ACI 318.2, from memory)."""

from dataclasses import replace

import numpy as np
import pytest
from briefed_sections import market_hall

from longvault.constraints.actions import STANDARDS, Loads
from longvault.constraints.basis import Basis, Detailing, Requirements
from longvault.constraints.concrete_settings import ConcreteSettings, SteelPractice
from longvault.constraints.details import evaluate_closely
from longvault.sections import Strips

HALL = Basis(span=20.0, pitch=9.0, requirements=Requirements(height_max=3.2), loads=Loads(snow=100.0))


def margin(strips, basis):
    done = evaluate_closely(strips, basis)
    keys = [limit.key for limit in done.limits]
    return float(done.margins[keys.index("mesh-ratio")]) if "mesh-ratio" in keys else None


def thick(shell):
    hall = market_hall(1.0)
    t = np.where(np.array(hall.parts) == "crown", shell, hall.thickness)
    return Strips(hall.x, hall.z, hall.ends, t, hall.parts)


@pytest.mark.parametrize(
    ("bar", "spacing", "shell", "ratio"),
    [
        (0.010, 0.400, 0.120, 0.001636246),  # 0.785 cm2 / 40 cm / 12 cm
        (0.008, 0.150, 0.080, 0.004188790),
        (0.008, 0.150, 0.250, 0.001340413),
    ],
)
def test_ratio_by_hand_and_graded(bar, spacing, shell, ratio):
    basis = replace(HALL, detailing=Detailing(mesh_bar=bar, mesh_spacing=spacing))
    assert margin(thick(shell), basis) == pytest.approx(1 - ratio / 0.0018, rel=1e-4)


def test_beams_and_kerbs_do_not_count():
    """Their stirrups are looked at by themselves: a valley beam of 0.25 m asks for no mesh."""
    assert margin(market_hall(1.0), HALL) < 0.0


def test_the_ratio_is_a_setting_and_the_source_that_of_the_standard():
    other = ConcreteSettings(practice=SteelPractice(shell_ratio=0.003))
    assert margin(thick(0.12), replace(HALL, concrete_settings=other)) == pytest.approx(
        1 - 0.0027925 / 0.003, rel=1e-3
    )
    none = ConcreteSettings(practice=SteelPractice(shell_ratio=0.0))
    assert margin(thick(0.12), replace(HALL, concrete_settings=none)) is None
    for basis, named in ((HALL, True), (replace(HALL, standard=STANDARDS["ASCE 7-16"]), False)):
        limit = next(one for one in evaluate_closely(thick(0.12), basis).limits if one.key == "mesh-ratio")
        assert "ACI 318.2" in limit.source
        assert ("EN 1992-1-1" in limit.source) is named
