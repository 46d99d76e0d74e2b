"""Line of tension of a taper: moved by half the lever arm (EN 1992-1-1, 9.2.1.3); chords with the shear."""

import numpy as np
import pytest
from test_tapered import canopy

from longvault.constraints.actions import Loads
from longvault.constraints.basis import Basis, Requirements
from longvault.constraints.beam import SUPPORTS
from longvault.constraints.evaluate_member import evaluate_member, station_measures
from longvault.constraints.reinforcement import beam_section
from longvault.constraints.shift_rule import shift_of, shifted
from longvault.sections.member import Member
from longvault.sections.properties import section_properties

ARM = Basis(
    span=11.0, pitch=4.8, requirements=Requirements(height_max=1.6), support=SUPPORTS["cantilever"],
    loads=Loads(finish=300.0, snow=600.0),
)  # fmt: skip


def test_line_of_a_uniform_load_moved_by_its_closed_form():
    """M = w (L - y)^2 / 2: moved outwards by a it is w (L - y + a)^2 / 2, and full within a of the root."""
    y = np.linspace(0.0, 10.0, 401)
    moved = shifted(0.5 * (10.0 - y) ** 2, y, np.full(401, 0.7))
    assert moved == pytest.approx(0.5 * np.minimum(10.0 - y + 0.7, 10.0) ** 2, abs=2e-4)


def test_plateau_over_a_support_and_steps_between_doubled_places():
    y = np.array([0.0, 4.0, 8.0, 8.0, 9.0, 12.0])
    line = np.array([0.0, 2.0, 8.0, 8.0, 5.0, 0.0])
    moved = shifted(line, y, np.full(6, 1.0))
    assert moved.tolist() == pytest.approx([0.5, 3.5, 8.0, 8.0, 8.0, 5.0 / 3.0])


def test_batch_law_and_bad_rows():
    y, rng = np.linspace(0.0, 5.0, 9), np.random.default_rng(1)
    lines, shifts = rng.random((6, 9)), rng.uniform(0.1, 1.4, (6, 9))
    lines[2, 3] = np.nan
    with np.errstate(all="ignore"):
        whole = shifted(lines, y, shifts)
    assert np.isnan(whole[2]).all()
    for i in (0, 1, 5):
        assert shifted(lines[i], y, shifts[i]).tobytes() == whole[i].tobytes()


def test_steel_at_each_station_of_a_canopy():
    """By hand: the largest of M / (z f_yd) within half of the own lever arm, root unchanged."""
    member = Member.between(canopy(1.4), canopy(0.5))
    found = station_measures(member, ARM)
    arm = np.minimum(found["arm_block"], found["arm_bars"])
    plain = found["hogging"] / (arm * ARM.strengths.steel)
    y = np.linspace(0.0, 11.0, member.stations)
    fine = np.linspace(0.0, 11.0, 100001)
    line = np.interp(fine, y, plain)
    for k in range(member.stations):
        near = np.abs(fine - y[k]) <= float(shift_of(arm[k]))
        assert found["steel_area"][k] == pytest.approx(line[near].max(), rel=1e-3, abs=1e-12)
    assert found["steel_area"][0] == plain[0]
    assert (found["steel_area"][1:] > 1.03 * plain[1:]).all()


def test_chords_that_lean_towards_the_tip_carry_part_of_the_shear():
    """EN 1992-1-1, 6.2.1: V_ccd + V_td = |M| / z dz/dy, from the web where depth falls with |M|: left out.

    Families shrink towards the tip, never the other way, so what is left out is on the safe side.
    """
    member = Member.between(canopy(1.4), canopy(0.5))
    found = station_measures(member, ARM)
    z = np.minimum(found["arm_block"], found["arm_bars"])
    y = np.linspace(0.0, 11.0, member.stations)
    relief = found["hogging"] / z * -np.gradient(z, y)
    assert (relief >= 0.0).all()
    assert relief[0] > 0.15 * found["shear"][0]
    root = member.root
    beam = beam_section(root, section_properties(root), detailing=ARM.detailing, sagging=False)
    whole = float(found["shear"][0] * beam.shear_stress)
    assert float(evaluate_member(member, ARM).measures["shear_stress"]) == pytest.approx(whole)
