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


def looked_at(strips, basis):
    done = evaluate_closely(strips, basis)
    limit = next((one for one in done.limits if one.key == "mesh-fits"), None)
    margin = None if limit is None else float(done.margins[done.limits.index(limit)])
    return done.measures, margin, limit


def thick(shell):
    hall = market_hall(1.0)
    t = np.where(np.array(hall.parts) == "crown", shell, hall.thickness)
    return Strips(hall.x, hall.z, hall.ends, t, hall.parts)


@pytest.mark.parametrize(
    ("bar", "spacing", "shell", "needed"),
    [
        (0.010, 0.400, 0.120, 216e-6),  # 0.0018 x 0.120 m, the mesh has 196 mm2/m
        (0.008, 0.150, 0.080, 335.1e-6),  # the mesh itself
        (0.008, 0.150, 0.250, 450e-6),
    ],
)
def test_mesh_needed_by_hand_and_room_for_it(bar, spacing, shell, needed):
    """Room: bars of 8 mm at 8 + 21 mm (aggregate 16 + 5), 1733 mm2/m; of 10 mm at 31 mm, 2534 mm2/m."""
    basis = replace(HALL, detailing=Detailing(mesh_bar=bar, mesh_spacing=spacing))
    measures, margin, _ = looked_at(thick(shell), basis)
    assert float(measures["mesh_needed"]) == pytest.approx(needed, rel=1e-3)
    room = {0.008: 1733e-6, 0.010: 2534e-6}[bar]
    assert margin == pytest.approx(needed / room - 1.0, rel=1e-3)


def test_thick_parts_weigh_what_they_need():
    """Shells of 0.20 and 0.25 m differ by their mesh: 0.0018 x 0.05 m, both ways, and its laps."""
    (one, _, _), (two, _, _) = (looked_at(thick(shell), HALL) for shell in (0.20, 0.25))
    width = float(one["surface"])
    mesh = 7850.0 * 2 * 0.0018 * 0.05 * width / 9.0
    plain = replace(HALL, concrete_settings=ConcreteSettings(practice=SteelPractice(shell_ratio=0.0)))
    (low, _, _), (high, _, _) = (looked_at(thick(shell), plain) for shell in (0.20, 0.25))
    more = float(two["steel_weight"] - one["steel_weight"]) - float(
        high["steel_weight"] - low["steel_weight"]
    )
    assert mesh < more < 1.6 * mesh


def test_beams_and_kerbs_do_not_count():
    """Their stirrups are looked at by themselves: a valley beam of 0.25 m asks for no mesh."""
    measures, margin, _ = looked_at(market_hall(1.0), HALL)
    assert float(measures["mesh_needed"]) == pytest.approx(335.1e-6, rel=1e-3)
    assert margin < 0.0


def test_more_than_fits_is_refused():
    dense = replace(HALL, detailing=Detailing(mesh_bar=0.006, mesh_spacing=0.150))
    asked = ConcreteSettings(practice=SteelPractice(shell_ratio=0.006))
    assert looked_at(thick(0.25), replace(dense, concrete_settings=asked))[1] > 0.0


def test_the_ratio_is_a_setting_and_the_source_that_of_the_standard():
    other = ConcreteSettings(practice=SteelPractice(shell_ratio=0.003))
    measures, _, _ = looked_at(thick(0.12), replace(HALL, concrete_settings=other))
    assert float(measures["mesh_needed"]) == pytest.approx(360e-6)
    none = ConcreteSettings(practice=SteelPractice(shell_ratio=0.0))
    assert looked_at(thick(0.12), replace(HALL, concrete_settings=none))[1] is None
    for basis, named in ((HALL, True), (replace(HALL, standard=STANDARDS["ASCE 7-16"]), False)):
        _, _, limit = looked_at(thick(0.12), basis)
        assert "ACI 318.2" in limit.source
        assert ("EN 1992-1-1, 9.3.1.1" in limit.source) is named
