"""An invented market hall against its hand results: beams of every depth, slice, end bay, valley, steel.

Derived, hand estimates: bays of 9.0 m, span 24 m; vault R 7.5, rise 1.5, 80 mm, shared valley beams 0.25 m
wide. Finish 0.6, snow 0.64 kN/m2. Agreement: 15 %, section properties 2 %.
"""

from dataclasses import replace

import numpy as np
import pytest
from drawn_roofs import market_hall

from longvault.constraints.actions import CHARACTERISTIC, Loads
from longvault.constraints.basis import Basis, Detailing, Requirements
from longvault.constraints.details import evaluate_closely
from longvault.constraints.end_structure import end_structure
from longvault.constraints.evaluate import evaluate
from longvault.constraints.plates import PlateLoads
from longvault.constraints.plates_beam import beam_share, beam_theory
from longvault.constraints.plates_results import displacements, strip_forces
from longvault.constraints.plates_row import bay_supports
from longvault.constraints.proof_demands import mesh_moment
from longvault.constraints.proof_solved import solve_heaviest
from longvault.constraints.proving import Proving
from longvault.constraints.slice import transverse_slice
from longvault.sections import Joint, Section
from longvault.sections.properties import section_properties

HAND = 0.15

# depth of the beams: h, A, S top and bottom, M_k, M_d [kNm], stress top and bottom [MPa], deflection [mm]
ROWS = {
    0.0: (1.57, 0.77, 0.286, 0.153, 2222, 3061, 7.8, 14.6, 26),
    0.45: (1.99, 0.88, 0.433, 0.236, 2463, 3387, 5.7, 10.4, 15),
    0.75: (2.29, 0.96, 0.549, 0.303, 2624, 3605, 4.8, 8.7, 11),
    1.0: (2.54, 1.02, 0.656, 0.367, 2758, 3786, 4.2, 7.5, 8),
}


def basis(**more):
    given = {"requirements": Requirements(height_max=2.5), "loads": Loads(finish=600.0, snow=640.0)}
    return Basis(span=24.0, pitch=9.0, held=True, **given | more)


def section(depth=0.75):
    strips = market_hall(depth)
    last = strips.x.size - 1
    left, right = (1, last - 1) if depth else (0, last)
    return Section("hall", strips, (Joint(left, "valley", "left"), Joint(right, "valley", "right")))


@pytest.mark.parametrize("depth", ROWS)
def test_every_depth_of_the_beams(depth):
    height, area, top, bottom, service, ultimate, push, pull, sag = ROWS[depth]
    strips = market_hall(depth)
    p = section_properties(strips)
    for value, hand in ((p.height, height), (p.area, area), (p.s_top, top), (p.s_bottom, bottom)):
        assert float(value) == pytest.approx(hand, rel=0.02)
    done = evaluate(strips, basis())
    m = {key: float(value) for key, value in done.measures.items()}
    assert m["characteristic_moment"] / 1e3 == pytest.approx(service, rel=0.04)
    assert m["ultimate_moment"] / 1e3 == pytest.approx(ultimate, rel=0.04)
    assert m["characteristic_moment"] / float(p.s_top) / 1e6 == pytest.approx(push, rel=0.05)
    assert m["tension_service"] / 1e6 == pytest.approx(pull, rel=0.05)
    assert m["deflection_short"] * 1e3 == pytest.approx(sag, rel=HAND)
    broken = {limit.key for limit, margin in zip(done.limits, done.margins, strict=True) if margin > 0}
    assert ("height" in broken) == (depth == 1.0)


def bent(loads, depth=0.75):
    """Largest moment across the vault [kNm/m] and what the valley pulls [kN/m]: slice of an interior bay."""
    one = section(depth)
    found = transverse_slice(
        one.strips, loads, modulus=33e9, poisson=0.2, supports=bay_supports(one, "interior")
    )
    roof = one.strips.of_part("crown")
    return float(np.abs(found.m_s[roof]).max()) / 1e3, -float(found.support[one.joints[0].node, 0]) / 1e3


def surface(depth):
    strips = market_hall(depth)
    finish = np.where(np.array(strips.parts) == "crown", 600.0, 0.0)
    middle = strips.x[strips.ends].mean(axis=-1)
    return 25e3 * strips.thickness + finish, middle


def test_interior_bay_across():
    """Half-waves by hand: 2.1 kNm/m and a pull of 5.1 kN/m. The hand's slice: 2.9 and 12, drift 7.8 kNm/m.

    Ours is the half-waves' answer. The hand's slice is on the heavy side, as its note says: of a vault whose
    beams take no part in the shear flow the slice gives 3.1 and 9.3. Drift is 2 : 1/2 times 0.64 kN/m2.
    """
    own, middle = surface(0.75)
    moment, pull = bent(PlateLoads(surface=own, plan=640.0))
    assert moment == pytest.approx(2.1, rel=0.05)
    assert pull == pytest.approx(5.1, rel=0.05)
    drift = 640.0 * np.where(middle < 0, 2.0, 0.5)
    assert bent(PlateLoads(surface=own, plan=drift))[0] == pytest.approx(7.8, rel=HAND)
    bare, middle = surface(0.0)
    moment, pull = bent(PlateLoads(surface=bare, plan=640.0), depth=0.0)
    assert moment == pytest.approx(2.9, rel=HAND)
    assert pull == pytest.approx(9.3, rel=0.01)
    drift = 640.0 * np.where(middle < 0, 2.0, 0.5)
    assert bent(PlateLoads(surface=bare, plan=drift), depth=0.0)[0] == pytest.approx(7.8, rel=HAND)
    # 8 mm at 150 in 80 mm: 6.1 kNm/m by hand, its bars 46 mm deep; ours lie at mid-depth
    assert float(mesh_moment(np.array(0.08), basis())) / 1e3 == pytest.approx(6.1, rel=HAND)


def test_interior_and_end_bay_are_two_structures():
    """By hand the edge of the end bay has 1.3 times the beam's stress and 1.9 times its deflection."""
    one = section()
    measures = {key: float(value) for key, value in evaluate(one.strips, basis()).measures.items()}
    found = {}
    for bay in ("interior", "end"):
        plate = solve_heaviest(one, measures, basis(), Proving(), bay, CHARACTERISTIC).plate
        beam = beam_theory(plate, held=True)
        share = beam_share(plate, beam)
        edge = -float(displacements(plate)[0, 0, 2]) / measures["deflection_short"]
        low = float(strip_forces(plate).n_y[0, 0, 0]) / 0.125 / measures["tension_service"]
        found[bay] = float(share.stress), float(share.deflection), low, edge
    assert found["end"][2] == pytest.approx(1.3, rel=HAND)
    assert found["end"][3] == pytest.approx(1.9, rel=HAND)
    assert found["interior"][2] == pytest.approx(1.07, rel=0.1)
    assert found["interior"][3] == pytest.approx(1.1, rel=HAND)


def test_what_holds_the_last_valley():
    """5 to 12 kN/m over 24 m: 370 to 870 kNm; a member 1.2 m deep sideways with 28 cm2 for the larger one."""
    one = section()
    measures = {key: float(value) for key, value in evaluate(one.strips, basis()).measures.items()}
    last = end_structure(one, measures, basis(), Proving()).last
    factor = measures["ultimate_load"] / measures["characteristic_load"]
    assert last.moment_cut / factor / 1e3 == pytest.approx(370.0, rel=0.05)
    assert 370.0 * 0.85 < abs(last.moment_plate) / factor / 1e3 < 870.0
    assert last.depth == pytest.approx(1.2)
    worst = max(abs(last.moment_plate), abs(last.moment_cut))
    assert last.steel / worst * 870e3 * factor * 1e4 == pytest.approx(28.0, rel=0.05)


def test_all_steel_and_carbon():
    """20 to 26 kg/m2 and 45 to 65 kgCO2e/m2 by hand; summed again here, in kg/m2 of plan.

    One mesh of 8 mm at 150 is all that 80 mm hold (76; two need 92): 13.1 kg/m2. With the two that the hand's
    figure asks for 20.6. Bars of 25 mm: anchored 0.8935 m, lapped 1.340 m, twice in 24 m.
    """
    weights = []
    for layers in (1, 2):
        given = basis(detailing=Detailing(mesh_layers=layers))
        done = evaluate_closely(market_hall(), given).measures
        weights.append(float(done["steel_weight"]))
        kg, run, mesh = 7850.0 / 9.0, 15.0 * np.arcsin(0.6), layers * 3.351e-4
        bars = float(done["main_steel"]) * (0.8 * (1 + 2 * 1.340 / 24) + 2 * 0.8935 / 24)
        laps = (1 + 11 * 0.4289 / 24) * (1 + (run - 6.0) / (6.0 - 0.4289) * 0.4289 / run)
        net = 2 * run * mesh * laps + run * mesh * 2 * 0.2859 / 24 + 2 * mesh * 0.2859
        links = (2 * (0.75 + 0.25 - 0.05) + 0.16) * 0.503e-4 / 0.2
        by_hand = 1.05 * kg * (bars + net + links + 0.003 * 0.25 * 0.75)
        assert weights[-1] == pytest.approx(by_hand, rel=0.01)
        assert 45 < float(done["carbon"]) < 65
    assert weights[0] == pytest.approx(13.1, abs=0.1)
    assert 0.85 * 20 < weights[1] < 1.15 * 26
    assert float(done["main_steel"]) * 1e4 == pytest.approx(52.0, rel=0.05)
    assert 9 <= float(done["bars"]) <= 11
    assert given.span / 7.5 == pytest.approx(3.2)
    assert replace(given.detailing, mesh_layers=1).thickness_floor <= 0.08 < given.detailing.thickness_floor
