"""``longvault prove``: JSON keys, table, signs, and one message for bad input."""

import json
import math

import pytest
from click.testing import CliRunner

from longvault.sections import CAUTION
from longvault.studies.cli.group import cli

KEYS = [
    "x_m",
    "z_m",
    "part",
    "ux_m",
    "uz_m",
    "rotation_rad",
    "n_y_kN_m",
    "n_s_kN_m",
    "m_s_kNm_m",
    "n_ys_0p1L_kN_m",
]
ROOF = ["--span-m", "15.24", "--surface-load-kN-m2", "4.309", "--modulus-GPa", "20.684", "--poisson", "0"]


@pytest.fixture
def roof(tmp_path):
    """The published cylindrical roof in metres and kN: 10 facets of 8 degrees, R 7.62 m, t 76.2 mm."""

    def write(joints=(), pieces=10, **changes):
        angle = [math.radians(-40 + 80 * i / pieces) for i in range(pieces + 1)]
        data = {
            "format": "longvault-section", "version": 1, "name": "roof",
            "nodes_m": [[7.62 * math.sin(a), 7.62 * math.cos(a)] for a in angle],
            "strips": [{"nodes": [i, i + 1], "thickness_m": 0.0762, "part": "wing"} for i in range(pieces)],
            "joints": list(joints),
        } | changes  # fmt: skip
        path = tmp_path / "roof.json"
        path.write_text(json.dumps(data))
        return str(path)

    return write


def run(*arguments):
    return CliRunner().invoke(cli, ["prove", *arguments])


def test_json_document(roof):
    result = run(roof(pieces=40), *ROOF, "--json")
    assert result.exit_code == 0, result.output
    data = json.loads(result.stdout)
    assert data["caution"] == CAUTION
    assert [list(row) for row in data["nodes"]] == [KEYS] * 41
    # Scordelis & Lo, 1964: 0.3006 ft for thin shells; here facets of 2 degrees, fine strips inside
    assert data["nodes"][0]["uz_m"] == pytest.approx(-0.3006 * 0.3048, rel=2e-3)
    assert data["nodes"][0]["ux_m"] > 0, "the free edges move inward"
    assert data["nodes"][20]["uz_m"] > 0, "the crown rises"
    assert data["nodes"][20]["m_s_kNm_m"] > 0, "tension on top at the crown"
    assert data["nodes"][10]["n_ys_0p1L_kN_m"] < 0 < data["nodes"][30]["n_ys_0p1L_kN_m"]
    chord = 2 * 7.62 * math.sin(math.radians(1))
    assert data["reaction_total_kN"] == pytest.approx(4.309 * 40 * chord * 15.24, rel=1e-8)
    assert data["equilibrium_residual"] < 1e-6
    assert data["beam"]["share_stress"] == pytest.approx(2.14, rel=0.01)
    assert data["beam"]["share_deflection"] == pytest.approx(13.7, rel=0.01)
    assert data["beam"]["label"] == "intermediate, L/R 2.0"
    assert len(data["beam"]["n_y_kN_m"]) == 41


def test_table_states_signs_fineness_and_caution(roof):
    result = run(roof(), *ROOF)
    assert result.exit_code == 0, result.output
    for words in (
        "n_y kN/m",
        "tension +",
        "odd harmonics",
        "Total reaction",
        "does not act as a beam",
        CAUTION,
    ):
        assert words in result.stdout
    assert "…" not in result.stdout


def test_bays_come_from_the_joints_of_the_file(roof):
    joints = [{"node": 0, "kind": "valley", "side": "left"}, {"node": 10, "kind": "valley", "side": "right"}]
    lone, interior, end = (
        json.loads(run(roof(joints), *ROOF, "--bay", bay, "--json").stdout)
        for bay in ("lone", "interior", "end")
    )
    assert interior["nodes"][0]["ux_m"] == interior["nodes"][10]["rotation_rad"] == 0
    assert lone["beam"]["sideways"] == "free"
    assert interior["beam"]["sideways"] == "held"
    assert end["nodes"][0]["ux_m"] != 0
    assert end["nodes"][10]["ux_m"] == 0
    struts = [
        {"node": n, "kind": "strut", "side": s, "spring_kN_m2": 1e7} for n, s in ((0, "left"), (10, "right"))
    ]
    strutted = json.loads(run(roof(struts), *ROOF, "--bay", "interior", "--json").stdout)
    assert abs(strutted["nodes"][0]["ux_m"]) < 1e-5  # a push of some 30 kN/m on 1e7 kN/m2
    last = json.loads(run(roof(struts), *ROOF, "--bay", "end", "--json").stdout)
    assert abs(last["nodes"][10]["ux_m"]) < 1e-5 < abs(last["nodes"][0]["ux_m"])
    in_row = json.loads(run(roof(struts), *ROOF, "--bay", "interior", "--pitch-m", "10", "--json").stdout)
    for one, two in zip(strutted["nodes"], in_row["nodes"], strict=True):
        assert one["uz_m"] == pytest.approx(two["uz_m"], rel=1e-3, abs=1e-6), "alike on both sides: the same"
    assert strutted["nodes"][0]["rotation_rad"] != 0


def test_no_load_is_a_result_and_valid_json(roof):
    result = run(roof(), *ROOF[:2], "--surface-load-kN-m2", "0", *ROOF[4:], "--json")
    data = json.loads(result.stdout)
    assert result.exit_code == 0
    assert data["reaction_total_kN"] == 0
    assert data["beam"]["share_stress"] is None


@pytest.mark.parametrize(
    ("replace", "words"),
    [
        ({"--span-m": "-3"}, "--span-m"),
        ({"--span-m": "nan"}, "--span-m"),
        ({"--span-m": "24000"}, "did you mean 24 m?"),
        ({"--span-m": "0.01"}, "must be 0.5 to 500 m; is it in metres?"),
        ({"--modulus-GPa": "0"}, "--modulus-GPa"),
        ({"--modulus-GPa": "30e9"}, "is it in GPa?"),
        ({"--surface-load-kN-m2": "1e300"}, "is it in kN per square metre?"),
        ({"--poisson": "0.5"}, "poisson"),
        ({"--poisson": "nan"}, "poisson"),
        ({"--surface-load-kN-m2": "inf"}, "--surface-load-kN-m2"),
        ({"--bay": "interior"}, "joints"),
        ({"--bay": "middle"}, "lone"),
        ({"--harmonics": "0"}, "--harmonics"),
    ],
)
def test_bad_input_is_one_message_and_status_2(roof, replace, words):
    options = dict(zip(ROOF[::2], ROOF[1::2], strict=True)) | replace
    result = run(roof(), *(word for pair in options.items() for word in pair))
    assert result.exit_code == 2
    assert result.stdout == ""
    assert words in result.stderr
    assert "Traceback" not in result.stderr


def test_bad_files_are_named(roof, tmp_path):
    missing = run(str(tmp_path / "none.json"), *ROOF)
    assert missing.exit_code == 2
    assert "none.json" in missing.stderr
    one = {"nodes_m": [[0, 0], [1, 0], [2, 0]], "strips": [{"nodes": [0, 1], "thickness_m": 0.1}]}
    assert run(roof(**one, joints=[]), *ROOF).exit_code == 0  # a node without a strip does no harm
    held = run(roof(**one, joints=[{"node": 2, "kind": "slot", "side": "right"}]), *ROOF)
    assert held.exit_code == 2
    assert "joints: node 2 belongs to no strip" in held.stderr
    pieces = [{"nodes": [0, 1], "thickness_m": 0.1}, {"nodes": [2, 3], "thickness_m": 0.1}]
    apart = run(roof(nodes_m=[[0, 0], [1, 0], [2, 0], [3, 0]], strips=pieces), *ROOF)
    assert apart.exit_code == 2
    assert "separate pieces" in apart.stderr


def test_a_solution_that_is_none_is_refused(roof):
    nodes = [[0, 0], [2, 1], [2.00001, 1], [4, 0]]
    strips = [{"nodes": [i, i + 1], "thickness_m": 0.3} for i in range(3)]
    result = run(roof(nodes_m=nodes, strips=strips, joints=[]), *ROOF)
    assert result.exit_code == 2
    assert "equilibrium does not close" in result.stderr
    assert not result.stdout


def test_help_names_every_option():
    result = run("--help")
    for option in (
        "--span-m",
        "--surface-load-kN-m2",
        "--modulus-GPa",
        "--poisson",
        "--bay",
        "--harmonics",
        "--json",
    ):
        assert option in result.output


def test_an_upright_section_is_drawn_too(roof, tmp_path):
    nodes, strips = [[0, 0], [0, 3]], [{"nodes": [0, 1], "thickness_m": 0.2}]
    wall = roof(nodes_m=nodes, strips=strips, joints=[])
    result = run(wall, *ROOF, "--draw", str(tmp_path / "wall.png"))
    assert result.exit_code == 0, result.output
    assert (tmp_path / "wall.png").stat().st_size > 5000
