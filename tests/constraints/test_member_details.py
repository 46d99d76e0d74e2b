"""Closer checks of a taper: those of one section at every station, and the station that governs."""

from dataclasses import replace

import numpy as np
import pytest
from test_tapered import basis, canopy

from longvault.constraints.actions import Loads, Wind
from longvault.constraints.basis import Requirements
from longvault.constraints.daylight_factor import Room
from longvault.constraints.daylight_settings import DaylightSettings, daylight_measures
from longvault.constraints.details import evaluate_closely
from longvault.constraints.evaluate_member import evaluate_member
from longvault.constraints.member_details import (
    evaluate_member_closely,
    member_keys,
    member_limits,
    staged_member,
)
from longvault.constraints.plates import Supports
from longvault.constraints.proof_demands import finite_strip_buckling
from longvault.constraints.proving import Proving
from longvault.constraints.slice_checks import slice_measures
from longvault.constraints.stability_checks import QUIET
from longvault.constraints.stability_screen import local_screen
from longvault.sections import Joint, Strips
from longvault.sections.bending import bending_field
from longvault.sections.families import Setting
from longvault.sections.families.freeform import GullWing
from longvault.sections.families.tapered import Tapered
from longvault.sections.member import Member
from longvault.sections.properties import section_properties
from longvault.sections.torsion import torsion_properties

JOINTS = (Joint(0, "slot", "left"), Joint(6, "slot", "right"))


def canopy_basis(kind="cantilever", **more):
    given = basis(kind, crosswise=Proving(), joints=JOINTS, **more)
    return replace(given, requirements=Requirements(height_max=1.6))


def test_without_a_taper_it_is_the_prismatic_module():
    given = canopy_basis()
    one = evaluate_closely(canopy(1.4), given)
    other = evaluate_member_closely(Member.between(canopy(1.4), canopy(1.4)), given)
    assert [limit.key for limit in other.limits] == [limit.key for limit in one.limits]
    # beside them: steel that follows the stations, and forces of all of them taken together
    free = {"steel_weight", "cost", "carbon", "crack_width"}
    near = {"edge_compression", "edge_tension", "principal_tension", "cracked_use", "torsion_shear"}
    for key in set(member_keys(given)) - free:
        value = float(one.measures[key])
        rel = 0.02 if key in near else 1e-6
        assert float(other.measures[key]) == pytest.approx(value, rel=rel, abs=1e-6), key
    assert float(other.measures["edge_compression"]) >= float(one.measures["edge_compression"]) * (1 - 1e-9)
    assert other.note == "beam level, not proved by the folded plate"


def test_slice_and_buckling_are_looked_at_station_by_station():
    """The governing station is the one where the check of that section alone asks for most."""
    given = canopy_basis()
    # the tip is wider than the root here, so that bending across governs there
    root, tip = canopy(1.4), canopy(0.45)
    tip = Strips(tip.x * 1.4, tip.z, tip.ends, tip.thickness, tip.parts)
    member = Member.between(root, tip)
    done = evaluate_member_closely(member, given)
    local = evaluate_member(member, given).measures
    alone = []
    for k in range(member.stations):
        section = member.sections[k]
        own = {"opening": np.zeros(()), "permanent_load": local["permanent_load"]}
        alone.append(float(slice_measures(section, own, replace(given, prismatic=False))["slice_use"]))
    assert int(np.argmax(alone)) == member.stations - 1
    assert float(done.measures["slice_use"]) == pytest.approx(max(alone), rel=0.02)
    assert float(done.cases["slice-moment"].y) == pytest.approx(11.0)
    assert float(done.cases["beam-buckling"].y) == 0.0
    assert done.cases["neutral-axis"].name() in done.cases["neutral-axis"].names


def test_buckling_is_told_below_a_half_too():
    """What the quick look or finite strips of all half-waves ask for, whichever is more, within a tenth.

    The quick look says nothing of how a section moves as a whole: three that it finds quietest are looked at.
    """
    one = GullWing(Setting(pitch=4.8, height=1.6, thickness=0.08))
    low, high = (np.array([getattr(v, end) for v in one.variables]) for end in ("lower", "upper"))
    strips = one.strips(low + (high - low) * np.random.default_rng(7).random((12, len(low))))
    given = replace(canopy_basis(), joints=one.joints, crosswise=Proving(bays=("lone",)))
    done = evaluate_closely(strips, given)
    told, moment, p = (
        done.measures["beam_buckling"],
        done.measures["ultimate_moment"],
        section_properties(strips),
    )
    field = bending_field(strips, x=p.centroid_x, z=p.centroid_z, ixx=p.ixx, izz=p.izz, ixz=p.ixz)
    stress = moment[:, None, None] * np.stack([field.first, field.second], axis=-1)  # hogging presses below
    screen = local_screen(strips, modulus=given.concrete.ecm, poisson=given.crosswise.poisson)
    quick = 1.0 / (given.crosswise.stability.design_share() * screen.factor(stress))
    looked = np.r_[np.argsort(quick)[:3], np.argsort(quick)[-3:]]
    full = [
        float(finite_strip_buckling(strips[i], stress[i], Supports.free(65), given, given.crosswise))
        for i in looked
    ]
    closer = np.maximum(quick[looked], full)
    assert (closer < 0.5).any()
    much = closer > 1.1 * QUIET
    assert told[looked][much] == pytest.approx(closer[much], rel=0.1)
    assert (told[looked][~much] <= 1.2 * QUIET).all()
    assert (told >= quick * (1.0 - 1e-9)).all()


def test_one_sided_suction_twists_the_root_by_hand():
    """1.3 kN/m2 on half of 4.8 m, 1.2 m beside the middle: 3.74 kNm/m, over 11 m and times 1.5: 61.8 kNm.

    Beside it the sideways part on the sloping half, depth less 0.2 m high, about each shear centre.
    """
    wind = (Wind("suction on one side", ((0.0, 0.5, -1300.0),)),)
    given = canopy_basis(loads=Loads(finish=300.0, wind=wind))
    done = evaluate_member_closely(Member.between(canopy(1.4), canopy(0.45)), given)
    member = Member.between(canopy(1.4), canopy(0.45))
    rise = np.linspace(1.4, 0.45, member.stations) - 0.2
    lever = 0.5 * rise - torsion_properties(member.sections).shear_centre_z
    torque = 1300.0 * 2.4 * 1.2 + 1300.0 * rise * lever
    whole = 1.5 * np.trapezoid(torque, np.linspace(0.0, 11.0, member.stations))
    assert whole > 1.05 * 1.5 * 1300.0 * 2.4 * 1.2 * 11.0
    assert float(done.measures["side_torque"]) == pytest.approx(whole, rel=3e-3)
    assert float(done.measures["end_torque"]) == pytest.approx(0.0, abs=1.0)
    assert "1.5 wind" in done.cases["torsion-shear"].name()


def test_a_deep_middle_is_a_taper_too():
    """On two supports the folded plate would cover one section; a taper has slice and buckling instead."""
    given = canopy_basis("simple")
    keys = [limit.key for limit in member_limits(given)]
    assert "slice-moment" in keys
    assert "beam-buckling" in keys
    done = evaluate_member_closely(Member.between(canopy(1.4), canopy(0.9)), given)
    assert np.isfinite(done.margins).all()
    # a quarter down the taper the section is shallower for nearly the same moment: told in full, it shows
    assert float(done.cases["beam-buckling"].y) == pytest.approx(4.125)


def family():
    return Tapered(GullWing(Setting(pitch=4.8, height=1.5, thickness=0.08)))


def designs(count):
    variables = family().variables
    low, high = (np.array([getattr(v, side) for v in variables]) for side in ("lower", "upper"))
    return low + (high - low) * np.random.default_rng(3).random((count, len(variables)))


@pytest.mark.parametrize("kind", ["cantilever", "canopy"])
def test_batch_law_and_bad_rows(kind):
    given = replace(canopy_basis(kind), joints=family().joints)
    x = designs(5)
    x[2, 0] = np.nan
    whole = evaluate_member_closely(family().member(x), given)
    assert np.isnan(whole.margins[2]).any()
    for i in (0, 1, 4):
        one = evaluate_member_closely(family().member(x[i]), given)
        assert one.margins.tobytes() == whole.margins[i].tobytes()
        for key, values in whole.measures.items():
            assert np.asarray(one.measures[key]).tobytes() == np.asarray(values[i]).tobytes(), key
        for key, case in whole.cases.items():
            assert (one.cases[key].name(), one.cases[key].place()) == (case.name(i), case.place(i)), key


def test_staging_only_leaves_out():
    given = replace(canopy_basis("canopy"), joints=family().joints)
    member = family().member(designs(30))
    beam, whole = evaluate_member(member, given), evaluate_member_closely(member, given)
    most = float(np.median(beam.margins.max(axis=-1)))
    part = staged_member(member, given, most=most)
    reached = (beam.margins <= most).all(axis=-1)
    assert 5 < reached.sum() < 25
    assert part.margins[reached].tobytes() == whole.margins[reached].tobytes()
    assert np.isposinf(part.margins[~reached][:, len(beam.limits) :]).all()
    row = int(np.flatnonzero(reached)[0])
    assert part.cases["slice-moment"].place(row) == whole.cases["slice-moment"].place(row)
    unnamed = staged_member(member, given, most=most, named=False)
    assert unnamed.margins.tobytes() == part.margins.tobytes()
    assert not unnamed.cases


def test_daylight_of_a_taper_is_that_of_its_darkest_station():
    """Room and glass at every station; the least mean counts, and the place is told."""
    light = DaylightSettings(level=-3.0, room=Room(bays=6, length=11.0, wall_height=3.0), mean_least=0.03)
    given = replace(canopy_basis("canopy"), joints=family().joints, daylight=light)
    member = family().member(family().starts()[-1])
    done = evaluate_member_closely(member, given)
    alone = [
        float(daylight_measures(one, section_properties(one), given.pitch, light)["daylight_mean"])
        for one in (member.sections[k] for k in range(member.stations))
    ]
    assert float(done.measures["daylight_mean"]) == pytest.approx(min(alone), rel=1e-9)
    assert done.cases["daylight"].place() == pytest.approx(4.0 + 11.0 * np.argmin(alone) / 6)
    bare = replace(given, daylight=None, concrete_settings=None, crosswise=None)
    assert member_limits(bare) == ()
    assert np.isfinite(evaluate_member_closely(member, bare).margins).all()
