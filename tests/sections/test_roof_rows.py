"""Rows of modules: places, shared members once, either hatching, different modules, clear slots."""

import numpy as np
import pytest

from longvault.sections.families.base import Setting
from longvault.sections.families.registry import make_family
from longvault.sections.histogram import height_histogram
from longvault.sections.opening import clear_opening
from longvault.sections.outline import judge_outline
from longvault.sections.properties import section_properties
from longvault.sections.roof import (
    architectural_bay,
    joints_in_place,
    module_with_whole_members,
    row,
    side_by_side,
)
from longvault.sections.section_file import Section
from longvault.sections.strips import Strips

SETTING = Setting(pitch=7.5, height=2.65, thickness=0.1)


def module(key, **values):
    family = make_family(key, SETTING)
    return Section(key, family.design(**values), family.joints)


def test_places_in_a_row():
    hall = module("segment-vault")
    assert [bay.place for bay in row(hall, pitch=7.5, bays=1).bays] == ["lone"]
    roof = row(hall, pitch=7.5, bays=4)
    assert [bay.place for bay in roof.bays] == ["end", "interior", "interior", "end"]
    np.testing.assert_allclose([bay.shift for bay in roof.bays], [0, 7.5, 15, 22.5])
    assert roof.width == pytest.approx(30)
    np.testing.assert_array_equal(roof.bays[2].strips.x, hall.strips.x + 15.0)


def test_joints_act_by_place_and_nothing_is_held_for_being_outermost():
    vault, gull = module("segment-vault"), module("gull-wing-keel")
    assert joints_in_place(vault, "lone") == ()
    assert {j.side for j in joints_in_place(vault, "interior")} == {"left", "right"}
    assert {j.side for j in joints_in_place(vault, "end")} == {"right"}
    assert {j.side for j in joints_in_place(vault, "end", open_side="right")} == {"left"}
    assert all(j.kind == "slot" for j in joints_in_place(gull, "interior"))
    with pytest.raises(ValueError, match="place: got 'corner'"):
        joints_in_place(vault, "corner")


def test_shared_valley_members_are_counted_once():
    """Concrete of a row by polygons, neighbours' halves drawn as whole beams, equals the roof's own sum."""
    width, depth = 0.4, 0.6
    hall = module("segment-vault", edge_width=width, edge_depth=depth)
    one = float(section_properties(hall.strips).area)
    for bays in (1, 2, 6):
        roof = row(hall, pitch=7.5, bays=bays)
        beams = (bays + 1) * width * depth
        shells = bays * (one - width * depth)
        assert roof.area == pytest.approx(shells + beams, rel=1e-9)
    long = row(hall, pitch=7.5, bays=400)
    assert long.area == pytest.approx(400 * one, rel=1e-3)


def test_lone_module_has_whole_beams():
    width, depth = 0.4, 0.6
    hall = module("segment-vault", edge_width=width, edge_depth=depth)
    lone = module_with_whole_members(hall)
    beams = lone.strips.of_part("valley beam")
    np.testing.assert_allclose(lone.strips.thickness[beams], width)
    np.testing.assert_allclose(np.abs(lone.strips.x[lone.strips.ends[beams, 1]]), 3.75)


@pytest.mark.parametrize(
    "key", ["gull-wing-keel", "gull-wing-gutter", "slotted-vault", "segment-vault", "wave", "fold-v"]
)
def test_either_hatching_measures_the_same(key):
    """The same roof cut half a bay further on: area, moduli and histogram are those of the module."""
    acts = module(key)
    if key == "slotted-vault":
        beam = acts.strips.of_part("edge beam")
        keep = np.setdiff1d(
            np.arange(len(acts.strips.parts)), beam
        )  # a beam on the cut belongs to both halves
        s = acts.strips
        acts = Section(key, Strips(s.x, s.z, s.ends[keep], s.thickness[keep], [s.parts[k] for k in keep]))
    seen = architectural_bay(acts, pitch=7.5)
    p, q = section_properties(acts.strips), section_properties(seen.strips)
    for name in ("area", "centroid_z", "ixx", "s_top", "s_bottom", "height", "kern_top"):
        assert getattr(q, name) == pytest.approx(getattr(p, name), rel=1e-9), name
    a, b = height_histogram(acts.strips).area, height_histogram(seen.strips).area
    np.testing.assert_allclose(a, b, rtol=1e-9, atol=1e-12)
    # and the roof of a hundred of either covers the same plan
    assert np.sort(seen.strips.x)[0] >= -3.75 - 1e-12


def test_different_modules_side_by_side():
    roof = side_by_side(
        [(module("segment-vault"), 7.5), (module("wave"), 7.5), (module("gull-wing-keel"), 6.0)]
    )
    np.testing.assert_allclose([bay.shift for bay in roof.bays], [0, 7.5, 14.25])
    assert roof.width == pytest.approx(21.0)
    assert roof.equivalent_thickness == pytest.approx(roof.area / 21.0)
    with pytest.raises(ValueError, match="pitch of wave: got -1"):
        side_by_side([(module("wave"), -1.0)])


def test_clear_opening_between_kerb_faces_in_the_row():
    hall = module("gull-wing-keel", slot=1.2)
    assert clear_opening(hall.strips, 7.5) == pytest.approx(1.2, rel=1e-9)
    assert judge_outline(hall.strips, pitch=7.5).overlap_area == 0.0
    assert judge_outline(hall.strips, pitch=6.2).overlap_area > 0.0
