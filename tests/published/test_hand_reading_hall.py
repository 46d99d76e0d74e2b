"""An invented reading hall with crown slots against its hand results: across the span, steel, carbon, sound.

Derived, hand estimates: bays of 7.5 m, span 24 m; keel 1.4 x 0.18 m, wings of 100 mm that leave it at 65
degrees and reach the slot 2.1 m up, kerbs 0.20 x 0.50 m. Finish 0.6, snow 0.64, glass 0.5 kN/m2, pipes 0.5
kN/m2 on the keel. Agreement: 15 %. Section, moments, stresses, main steel and deflection stand with the other
roofs along their span; prestress (1.6 MN, 10 to 12 strands) with post-tensioning.
"""

from dataclasses import replace

import numpy as np
import pytest
from drawn_roofs import reading_hall

from longvault.constraints.actions import CHARACTERISTIC, Loads
from longvault.constraints.basis import Basis, Detailing, Requirements
from longvault.constraints.details import evaluate_closely
from longvault.constraints.end_structure import edge_forces
from longvault.constraints.evaluate import evaluate
from longvault.constraints.materials import Concrete
from longvault.constraints.plates_results import displacements, link_pull, smoothed, strip_forces
from longvault.constraints.proof_solved import solve_heaviest
from longvault.constraints.proving import Proving
from longvault.sections import Joint, Section

HAND = 0.15
STIFF = 1e9
"""Struts that hardly give [N/m2]."""

# clear slot [m]: moment across with the slot free and with struts [kNm/m], force in the struts by slice and
# by half-waves [kN/m]
ACROSS = {0.6: (33.0, 2.6, 18.0, 17.0), 1.2: (28.0, 2.6, 15.0, 14.0), 1.8: (23.0, 2.4, 12.0, 11.0)}


def basis(fck=35e6, **detailing):
    return Basis(
        span=24.0, pitch=7.5, requirements=Requirements(height_max=2.65), concrete=Concrete(fck),
        loads=Loads(finish=600.0, snow=640.0, glass=500.0, services=700.0), detailing=Detailing(**detailing),
    )  # fmt: skip


def solved(slot, strut):
    """Slice and folded plate of an interior bay; struts stand at the feet of the kerbs."""
    strips = reading_hall(slot)
    feet = 1, strips.x.size - 2
    joints = tuple(Joint(node, "slot", side) for node, side in zip(feet, ("left", "right"), strict=True))
    measures = {key: float(value) for key, value in evaluate(strips, basis(40e6)).measures.items()}
    section = Section("hall", strips, joints)
    one = solve_heaviest(section, measures, basis(40e6), Proving(strut=strut), "interior", CHARACTERISTIC)
    wings = strips.of_part("wing")
    plate = smoothed(strips, strip_forces(one.plate)).m_s
    bent = [float(np.abs(values[..., wings, :]).max()) / 1e3 for values in (one.slice.m_s, plate)]
    pull = link_pull(one.plate)[0]
    force = -edge_forces(one)[2] / 1e3, -float(pull[0, 0]) / 1e3 if pull.size else 0.0
    return bent, *force, displacements(one.plate)[0, 1] * 1e3


@pytest.mark.parametrize("slot", ACROSS)
def test_bending_across_with_and_without_struts(slot):
    free, tied, by_slice, by_waves = ACROSS[slot]
    loose, *_ = solved(slot, 0.0)
    held, push, wave, _ = solved(slot, STIFF)
    assert loose == pytest.approx([free, free], rel=HAND)
    assert held == pytest.approx([tied, tied], rel=HAND)
    # By moments about the springing: what the struts take off the wings, 2.1 m below them.
    assert push == pytest.approx((free - tied) / 2.1, rel=0.10)
    # The forces noted by hand are those of the first half-wave of an even load, 4 / pi of it at mid-span:
    # a fifth more than the moments beside them ask for.
    assert 4 / np.pi * push == pytest.approx(by_slice, rel=0.05)
    assert wave == pytest.approx(by_waves, rel=HAND)


@pytest.mark.parametrize(("slot", "down", "out"), [(1.8, 24.0, 14.0), (0.6, 42.0, 20.0)])
def test_free_wings_droop_and_spread(slot, down, out):
    """24 to 42 mm down and 14 to 20 mm out by hand, of unknown modulus: 30 GPa, not 35.2, is taken."""
    moved = solved(slot, 0.0)[-1] * Concrete(40e6).ecm / 30e9
    assert -moved[2] == pytest.approx(down, rel=HAND)
    assert -moved[0] == pytest.approx(out, rel=HAND)  # the left edge, outward


def test_force_in_each_strut():
    """33 to 54 kN by hand with struts at 3 m, first half-wave; 27 to 43 kN under the even load itself."""
    forces = [3.0 * solved(slot, STIFF)[1] for slot in (1.8, 0.6)]
    assert np.array(forces) * 4 / np.pi == pytest.approx([33.0, 54.0], rel=HAND)
    assert forces == pytest.approx([27.4, 43.2], rel=0.02)


def test_the_springing_cannot_be_cast_in_open_forms():
    """65 degrees against 45: raised as a limit that is not kept."""
    done = evaluate(reading_hall(), basis())
    row = next(i for i, limit in enumerate(done.limits) if limit.key == "slope")
    assert np.degrees(float(done.measures["slope"])) == pytest.approx(65.0, abs=1.0)
    assert float(done.margins[row]) > 0.4


def test_radius_of_the_wings_for_sound():
    """3.9 m against a crown 6.0 m above the floor (3.9 m below the valley)."""
    strips = reading_hall(1.2)
    wing = strips.ends[strips.of_part("wing")].ravel()
    right = wing[strips.x[wing] > 0]
    x, z = strips.x[right], strips.z[right]
    low, high = x.argmin(), x.argmax()
    chord, lean = np.hypot(x[high] - x[low], z[high] - z[low]), np.arctan2(2.1, x[high] - x[low])
    assert chord / (2 * np.sin(np.radians(65.0) - lean)) == pytest.approx(3.9, rel=0.03)
    assert 3.9 + z[high] - z[low] == pytest.approx(6.0)


def test_all_steel_and_carbon():
    """24 to 30 kg/m2 and 55 to 80 kgCO2e/m2 by hand; summed again here, in kg/m2 of plan.

    Two meshes of 8 mm at 150 go into 100 mm (92 are needed). C35: bars of 25 mm anchored over 0.806 m, lapped
    over 1.209 m, twice in 24 m; mesh 0.258 and 0.387 m, sheets 2.4 m wide, 6 m across. The sum is 20.4, 0.85
    of the least the hand expects, which names no parts. Nothing found asks for more: with the struts bending
    across uses half of the mesh, and shear at the supports half of it too.
    """
    given = basis(mesh_layers=2)
    done = evaluate_closely(reading_hall(1.2), given).measures
    kg = 7850.0 / 7.5
    bars = float(done["main_steel"]) * (0.8 * (1 + 2 * 1.209 / 24) + 2 * 0.806 / 24)
    wing = 2 * 3.906 * np.arcsin(np.hypot(2.35, 2.1) / (2 * 3.906))  # arc from its chord
    surface, mesh = 1.4 + 2 * wing, 2 * 3.351e-4
    laps = (1 + 11 * 0.387 / 24) * (1 + (surface - 6.0) / (6.0 - 0.387) * 0.387 / surface)
    net = 2 * surface * mesh * laps + surface * mesh * 2 * 0.258 / 24 + 2 * mesh * 0.258
    links = 2 * (2 * (0.50 + 0.20 - 0.05) + 0.16) * 0.503e-4 / 0.2
    by_hand = 1.05 * kg * (bars + net + links + 2 * 3.142e-4)
    assert float(done["main_steel"]) * 1e4 == pytest.approx(42.0, rel=0.05)
    assert float(done["steel_weight"]) == pytest.approx(by_hand, rel=0.01)
    assert float(done["steel_weight"]) == pytest.approx(20.4, abs=0.1)
    assert float(done["steel_weight"]) / 24.0 == pytest.approx(1.0 - HAND, abs=0.003)
    assert float(done["web_steel"]) < 0.55 * given.detailing.mesh_area
    assert 55 < float(done["carbon"]) < 80
    single = evaluate_closely(reading_hall(1.2), replace(given, detailing=Detailing())).measures
    assert float(single["steel_weight"]) == pytest.approx(13.3, abs=0.1)
    struts = replace(
        given, crosswise=Proving(strut=STIFF), joints=(Joint(1, "slot", "left"), Joint(130, "slot", "right"))
    )
    assert float(evaluate_closely(reading_hall(1.2), struts).measures["slice_use"]) < 0.55
