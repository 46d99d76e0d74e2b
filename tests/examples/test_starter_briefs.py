"""Starter briefs against hand results: the sections of each brief worked out apart from this code.

The hand results (own, derived; exact for the drawn parts, loads lumped) stand for a section drawn on paper:
areas and section moduli agree to a few per cent, loads and moments to 5 %, unsymmetrical bending to 15 %.
"""

import json

import numpy as np
import pytest
from click.testing import CliRunner
from drawn_roofs import arc, north_light, reading_hall

from longvault.sections import Section, Strips
from longvault.sections.export import EXPORTERS
from longvault.studies.briefs import starter_text
from longvault.studies.cli.group import cli


def checked(kind, strips, folder):
    """Check a section against a starter brief from the command line, as a user would."""
    brief, path = folder / "brief.toml", folder / "own.json"
    brief.write_text(starter_text(kind), encoding="utf-8")
    EXPORTERS["json"](Section("drawn by hand", strips), path)
    result = CliRunner().invoke(cli, ["check", str(brief), "--section", str(path), "--json"])
    assert result.exit_code == 0, result.output
    return json.loads(result.stdout)


MARKET_HALL = [
    # beam depth m, h m, A m2, S top, S bottom m3, M characteristic, M ultimate kNm, deflection mm
    (0.0, 1.57, 0.77, 0.286, 0.153, 2222, 3061, 26),
    (0.45, 1.99, 0.88, 0.433, 0.236, 2463, 3387, 15),
    (0.75, 2.29, 0.96, 0.549, 0.303, 2624, 3605, 11),
    (1.0, 2.54, 1.02, 0.656, 0.367, 2758, 3786, 8),
]


@pytest.mark.parametrize(("depth", "h", "area", "top", "bottom", "service", "ultimate", "sag"), MARKET_HALL)
def test_market_hall_deeper_valley_beams(depth, h, area, top, bottom, service, ultimate, sag, tmp_path):
    # radius 7.5 m, rise 1.5 m, 80 mm, bay 9 m; half of the shared beam of 0.25 m at either edge
    x, z = arc(2 * np.arctan(1.5 / 4.5), 9.0, 0.0, 129)
    thickness, parts = [0.08] * 128, ["crown"] * 128
    if depth:
        x, z = np.r_[0.0, x, 9.0], np.r_[-depth, z, -depth]
        thickness, parts = [0.125, *thickness, 0.125], ["valley beam", *parts, "valley beam"]
    data = checked("market-hall", Strips.chain(x - 4.5, z, thickness, parts), tmp_path)
    assert data["height_m"] == pytest.approx(h, abs=0.01)
    assert data["area_m2"] == pytest.approx(area, rel=0.01)
    assert data["s_top_m3"] == pytest.approx(top, rel=0.01)
    assert data["s_bottom_m3"] == pytest.approx(bottom, rel=0.01)
    assert data["characteristic_moment_kNm"] == pytest.approx(service, rel=0.05)
    assert data["ultimate_moment_kNm"] == pytest.approx(ultimate, rel=0.05)
    assert data["tension_service_MPa"] == pytest.approx(service / bottom / 1e3, rel=0.05)
    assert data["deflection_short_mm"] == pytest.approx(sag, abs=0.9)
    height = next(limit for limit in data["limits"] if limit["key"] == "height")
    assert (height["margin"] > 0) is (h > 2.5), "the deepest beams leave the envelope"


def test_market_hall_steel_by_both_lever_arms(tmp_path):
    # beam 0.75 m: z = 1.58 m by the elastic tension block, 52 cm2; bars gathered low, z about 1.85 m, 45 cm2
    x, z = arc(2 * np.arctan(1.5 / 4.5), 9.0, 0.0, 129)
    x, z = np.r_[0.0, x, 9.0] - 4.5, np.r_[-0.75, z, -0.75]
    parts = ["valley beam", *["crown"] * 128, "valley beam"]
    data = checked("market-hall", Strips.chain(x, z, [0.125, *[0.08] * 128, 0.125], parts), tmp_path)
    assert data["arm_block_m"] == pytest.approx(1.58, abs=0.01)
    assert data["steel_area_cm2"] == pytest.approx(52, rel=0.05)
    assert data["arm_bars_m"] > 1.85, "bars sit lower in a beam of full depth than in the hand sketch"


READING_HALL = [
    # clear slot m, A m2, S top, S bottom m3, M characteristic, M ultimate kNm
    (0.6, 1.17, 0.650, 0.706, 2991, 4090),
    (1.2, 1.12, 0.612, 0.699, 2870, 3927),
    (1.8, 1.07, 0.580, 0.694, 2756, 3773),
]


@pytest.mark.parametrize(("slot", "area", "top", "bottom", "service", "ultimate"), READING_HALL)
def test_reading_hall_slots(slot, area, top, bottom, service, ultimate, tmp_path):
    data = checked("reading-hall", reading_hall(slot), tmp_path)
    assert data["opening_m"] == pytest.approx(slot, abs=1e-9), "clear between kerb faces"
    assert data["area_m2"] == pytest.approx(area, rel=0.03)
    assert data["s_top_m3"] == pytest.approx(top, rel=0.03)
    assert data["s_bottom_m3"] == pytest.approx(bottom, rel=0.03)
    assert data["characteristic_moment_kNm"] == pytest.approx(service, rel=0.05)
    assert data["ultimate_moment_kNm"] == pytest.approx(ultimate, rel=0.05)
    assert data["slope_deg"] > 60, "65 degrees at the springing: cannot be cast in open forms"
    assert not data["feasible"]


def test_reading_hall_a_wider_slot_takes_area_and_top_modulus(tmp_path):
    narrow, wide = (checked("reading-hall", reading_hall(slot), tmp_path) for slot in (0.6, 1.8))
    assert wide["area_m2"] / narrow["area_m2"] - 1 == pytest.approx(-0.09, abs=0.01)
    assert wide["s_top_m3"] / narrow["s_top_m3"] - 1 == pytest.approx(-0.11, abs=0.015)


WORKSHOP = [
    # slope at the gutter deg, A m2, S free top, S free bottom m3
    (45.5, 0.69, 0.075, 0.060),
    (55.0, 0.70, 0.141, 0.089),
    (65.0, 0.71, 0.211, 0.133),
]


@pytest.mark.parametrize(("slope", "area", "top", "bottom"), WORKSHOP)
def test_workshop_bending_free_sideways(slope, area, top, bottom, tmp_path):
    data = checked("workshop", north_light(slope), tmp_path)
    assert data["area_m2"] == pytest.approx(area, rel=0.01)
    assert data["s_free_compression_m3"] == pytest.approx(top, rel=0.15)
    assert data["s_free_tension_m3"] == pytest.approx(bottom, rel=0.15)
    assert data["section_modulus_m3"] == data["s_free_m3"] == data["s_free_tension_m3"]
    steep = next(limit for limit in data["limits"] if limit["key"] == "slope")
    assert (steep["margin"] > 0.01) is (slope > 60), "the steepest one breaks the slope limit"


def test_workshop_a_steeper_gutter_doubles_the_usable_modulus(tmp_path):
    flat, steep = (checked("workshop", north_light(slope), tmp_path) for slope in (45.5, 65.0))
    assert steep["s_free_tension_m3"] / flat["s_free_tension_m3"] == pytest.approx(2.2, abs=0.1)
    assert steep["area_m2"] / flat["area_m2"] == pytest.approx(1.03, abs=0.01)
    held = steep["ixx_m4"] / flat["ixx_m4"]
    assert held < 1.25, "the modulus about the horizontal axis hardly moves"
    assert flat["principal_angle_deg"] == pytest.approx(30.8, abs=1.0)
