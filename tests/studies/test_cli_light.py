"""``longvault light``: numbers, keys, bad input."""

import json

import pytest
from click.testing import CliRunner

from longvault.sections import CAUTION
from longvault.studies.cli.light import command


@pytest.fixture
def slot_file(tmp_path):
    """A ceiling 4 m above the floor with a gap 1 m wide: two pieces."""
    path = tmp_path / "slot.json"
    nodes = [[-400, 4], [-0.5, 4], [0.5, 4], [400, 4]]
    strips = [{"nodes": [i, i + 1], "thickness_m": 1e-6, "part": "ceiling"} for i in (0, 2)]
    write(path, "bare slot", nodes, strips)
    return path


@pytest.fixture
def deck_file(tmp_path):
    """A deck with kerbs whose faces leave 1.2 m at a pitch of 6 m."""
    path = tmp_path / "deck.json"
    nodes = [[-2.3, 0.5], [-2.3, 0], [2.3, 0], [2.3, 0.5]]
    parts = (("kerb", 0.2), ("wing", 0.1), ("kerb", 0.2))
    strips = [{"nodes": [i, i + 1], "thickness_m": t, "part": part} for i, (part, t) in enumerate(parts)]
    write(path, "kerbed deck", nodes, strips)
    return path


def write(path, name, nodes, strips):
    document = {"format": "longvault-section", "version": 1, "name": name, "nodes_m": nodes, "strips": strips}
    path.write_text(json.dumps(document), encoding="utf-8")


def run(*words):
    return CliRunner().invoke(command, [str(word) for word in words])


def test_bare_slot_in_a_ceiling(slot_file):
    # Derived: strip of sky in closed form, (sin t2 - sin t1)/2 under a uniform sky.
    result = run(slot_file, "--floor-m", 0, "--x-m", "0,-1.5", "--json")
    assert result.exit_code == 0, result.output
    document = json.loads(result.output)
    assert document["caution"] == CAUTION
    below, aside = document["points"]
    assert below["x_m"] == 0.0
    assert below["sky_component_uniform_pct"] == pytest.approx(12.40347, abs=1e-4)
    assert below["sky_component_overcast_pct"] == pytest.approx(14.31692, abs=1e-4)
    assert aside["sky_component_overcast_pct"] < below["sky_component_overcast_pct"]
    assert document["slot"] is None
    assert document["bay"] is None


def test_row_with_glass_span_and_room(deck_file):
    words = [
        "--floor-m",
        -4,
        "--pitch-m",
        6,
        "--x-m",
        "-1,0,1,3",
        "--glass",
        0.68,
        "--dirt",
        0.7,
        "--span-m",
        24,
    ]
    document = json.loads(run(deck_file, *words, "--reflectances", "0.3,0.5,0.5", "--json").output)
    assert document["slot"]["clear_opening_m"] == pytest.approx(1.2, rel=1e-9)
    assert document["slot"]["glass_per_floor"] == pytest.approx(0.2, rel=1e-9)
    assert document["slot"]["glass_slope_deg"] == pytest.approx(0.0, abs=1e-9)
    first, _, third, at_slot = document["points"]
    assert first["sky_component_overcast_pct"] == pytest.approx(
        third["sky_component_overcast_pct"], rel=1e-12
    )
    for point in document["points"]:
        bare = point["sky_component_overcast_pct"]
        assert point["through_glass_overcast_pct"] == pytest.approx(0.68 * 0.7 * bare, rel=1e-12)
        assert 0.8 * bare < point["finite_overcast_pct"] < bare
    bay = document["bay"]
    assert bay["daylight_factor_least_pct"] <= bay["daylight_factor_mean_pct"]
    assert bay["uniformity"] == pytest.approx(
        bay["daylight_factor_least_pct"] / bay["daylight_factor_mean_pct"], rel=1e-12
    )
    assert at_slot["sky_component_overcast_pct"] > first["sky_component_overcast_pct"]


def test_table_carries_units_and_caution(deck_file):
    result = run(deck_file, "--floor-m", -4, "--pitch-m", 6)
    assert result.exit_code == 0
    assert CAUTION in result.output
    for words in ("x m", "overcast %", "uniform %", "clear opening [m]", "1.200"):
        assert words in result.output


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["--floor-m", "0", "--pitch-m", "-6"], "--pitch-m: got -6; must be a finite number above 0"),
        (["--floor-m", "nan"], "--floor-m: got nan; must be a finite number"),
        (["--floor-m", "0", "--x-m", "0,a"], "must be numbers parted by commas"),
        (["--floor-m", "0", "--glass", "1.4"], "--glass"),
        (["--floor-m", "0", "--modules", "2"], "--modules: needs --pitch-m"),
        (["--floor-m", "0", "--reflectances", "0.3,0.5,0.5"], "--reflectances: needs --pitch-m"),
        (["--floor-m", "0", "--pitch-m", "6", "--reflectances", "0.3,1.5,0.5"], "from 0 to below 1"),
        (["--floor-m", "0", "--x-m", "2"], "lies inside the concrete"),
        (["--floor-m", "0.5"], "must lie below the roof's top"),
        (["--floor-m", "-4", "--pitch-m", "6", "--open-sides"], "--open-sides: needs --modules"),
        ([], "--floor-m"),
    ],
)
def test_bad_input_is_one_message(deck_file, words, message):
    result = run(deck_file, *words)
    assert result.exit_code == 2
    assert message in result.output
    assert "Traceback" not in result.output


def test_missing_file_is_named(tmp_path):
    result = run(tmp_path / "none.json", "--floor-m", 0)
    assert result.exit_code == 2
    assert "none.json" in result.output


def test_sun_and_sound(tmp_path):
    path = tmp_path / "north.json"
    nodes = [[-0.5, 0.3], [-0.5, 0], [1.0, 1.3], [2.6, 2.1], [4.3, 2.4]]
    strips = [
        {"nodes": [i, i + 1], "thickness_m": 0.1, "part": "kerb" if i == 0 else "wing"} for i in range(4)
    ]
    write(path, "north light", nodes, strips)
    words = ["--floor-m", -5, "--pitch-m", 6, "--latitude-deg", 52, "--speaker-m", 1, "--json"]
    document = json.loads(run(path, *words).output)
    sun = document["sun"]
    assert sun["glass_faces_deg"] == pytest.approx(0.0, abs=1e-9)
    assert sun["noon_cut_off_slope_deg"] == pytest.approx(61.45, abs=0.01)
    months = {month["month"]: month for month in sun["months"]}
    assert months["Jun"]["glass_h"] > months["Dec"]["glass_h"] == 0.0
    assert all(m["floor_mean_h"] <= m["glass_h"] <= m["sun_up_h"] for m in months.values())
    assert document["sound"]["height_m"] == pytest.approx(7.1)
    turned = json.loads(run(path, *words[:-1], "--x-azimuth-deg", 180, "--json").output)["sun"]
    assert turned["glass_faces_deg"] == pytest.approx(180.0)
    assert sum(m["glass_h"] for m in turned["months"]) > sum(m["glass_h"] for m in sun["months"])
    text = run(path, *words[:-1]).output
    assert "Turn the glass north" in text
    assert CAUTION in text


def test_drawing_is_written(deck_file, tmp_path):
    words = ["--floor-m", -4, "--pitch-m", 6, "--latitude-deg", -34, "--speaker-m", 0, "--draw"]
    for name in ("light.png", "light.svg"):
        result = run(deck_file, *words, tmp_path / name)
        assert result.exit_code == 0, result.output
    svg = (tmp_path / "light.svg").read_text(encoding="utf-8")
    for words_drawn in ("kerbed deck", "x [m]", "light [% of outside]", "Hours of direct sun", CAUTION[:30]):
        assert words_drawn in svg
    bad = run(deck_file, *words, tmp_path / "light.bmp")
    assert bad.exit_code == 2
    assert "--draw: path: got 'light.bmp'" in bad.output


def test_help_documents_the_keys():
    text = run("--help").output
    for key in (
        "sky_component_overcast_pct",
        "clear_opening_m",
        "uniformity",
        "noon_cut_off_slope_deg",
        "foci",
    ):
        assert key in text


def test_modules_that_would_overlap_are_refused(deck_file):
    result = run(deck_file, "--floor-m", -4, "--pitch-m", 2)
    assert result.exit_code == 2
    assert "--pitch-m: got 2 m, but the section is 4.800 m wide" in result.output
    assert run(deck_file, "--floor-m", -4, "--pitch-m", 4.8).exit_code == 0, "modules may touch"


def test_absurd_sizes_are_refused_and_an_upright_section_is_drawn(deck_file, tmp_path):
    far = run(deck_file, "--floor-m", -1e12)
    assert far.exit_code == 2
    assert "is it in metres?" in far.output
    wall = tmp_path / "wall.json"
    write(wall, "wall", [[0, 0], [0, 3]], [{"nodes": [0, 1], "thickness_m": 0.2, "part": "web"}])
    result = run(wall, "--floor-m", -3, "--draw", tmp_path / "wall.png")
    assert result.exit_code == 0, result.output
