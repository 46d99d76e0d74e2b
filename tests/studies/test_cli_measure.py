"""``longvault measure`` on section files: closed forms and worked examples through the command itself.

Line sections are given a thickness of 1e-6 of their size and divided by it; a polyline of n strips differs
from its curve by about 5 / n^2 of the value.
"""

import json
import math
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner
from scipy.integrate import quad
from scipy.special import ellipe

from longvault.sections import CAUTION, Section, Strips
from longvault.sections.export.section_json import export_json
from longvault.studies.cli.group import cli

N = 1600
T = 1e-6
CURVE = 5.0 / N**2

KEYS = """
area_m2 centroid_x_m centroid_z_m ixx_m4 izz_m4 ixz_m4 principal_angle_deg s_top_m3 s_bottom_m3
s_free_compression_m3 s_free_tension_m3 s_free_m3 kern_top_m kern_bottom_m stress_efficiency_rho
shear_centre_x_m shear_centre_z_m torsion_constant_m4 warping_constant_m6 height_m width_m shape_efficiency
"""


def measured(strips: Strips, folder: Path) -> dict[str, float]:
    path = folder / "section.json"
    export_json(Section("test", strips), path)
    result = CliRunner().invoke(cli, ["measure", str(path), "--json"])
    assert result.exit_code == 0, result.output
    return json.loads(result.stdout)


def line(x, z, t: float = T) -> Strips:
    return Strips.chain(np.asarray(x, float), np.asarray(z, float), t, "wing")


def arc(alpha: float, strips: int = N) -> Strips:
    angle = np.linspace(-alpha, alpha, strips + 1)
    return line(np.sin(angle), np.cos(angle))


def test_keys_and_caution(tmp_path: Path) -> None:
    found = measured(arc(1.0, 8), tmp_path)
    keys = set(KEYS.split())
    assert set(found) == keys | {"name", "caution", "note"}
    assert found["caution"] == CAUTION
    assert all(isinstance(found[key], float) for key in keys)


@pytest.mark.parametrize("degrees", [22.5, 30, 40, 45, 60, 75, 90])
def test_circular_arc(degrees: float, tmp_path: Path) -> None:
    """Closed forms of the thin arc, R = 1 (classical; Roark, Formulas for Stress and Strain, from memory)."""
    a = math.radians(degrees)
    found = measured(arc(a), tmp_path)
    ixx = a + math.sin(a) * math.cos(a) - 2 * math.sin(a) ** 2 / a
    centroid = math.sin(a) / a
    near = {"rel": CURVE}
    assert found["area_m2"] / T == pytest.approx(2 * a, rel=CURVE)
    assert found["centroid_z_m"] == pytest.approx(centroid, rel=CURVE)
    assert found["ixx_m4"] / T == pytest.approx(ixx, **near)
    assert found["izz_m4"] / T == pytest.approx(a - math.sin(a) * math.cos(a), rel=CURVE)
    top, bottom = 1 - centroid + T / 2, centroid - math.cos(a) + T / 2 * math.cos(a)
    assert found["s_top_m3"] / T == pytest.approx(ixx / top, **near)
    assert found["s_bottom_m3"] / T == pytest.approx(ixx / bottom, **near)
    assert found["ixz_m4"] / T == pytest.approx(0.0, abs=1e-12)
    assert found["s_free_m3"] == pytest.approx(min(found["s_top_m3"], found["s_bottom_m3"]), rel=1e-9)


def test_semicircle(tmp_path: Path) -> None:
    """I about the diameter pi r^3 t / 2: Megson, Aircraft Structures, Fig. 15.33; the rest derived."""
    found = measured(arc(math.pi / 2), tmp_path)
    about_diameter = (found["ixx_m4"] + found["area_m2"] * found["centroid_z_m"] ** 2) / T
    assert about_diameter == pytest.approx(math.pi / 2, rel=CURVE)
    assert found["ixx_m4"] / T == pytest.approx(0.2975567821, rel=CURVE)
    assert found["centroid_z_m"] == pytest.approx(2 / math.pi, rel=CURVE)
    assert found["stress_efficiency_rho"] == pytest.approx(0.4094290, rel=CURVE + 2 * T)
    assert found["kern_bottom_m"] == pytest.approx(0.2606506, rel=CURVE + 2 * T)
    assert found["kern_top_m"] == pytest.approx(0.1487784, rel=CURVE + 2 * T)
    # shear centre 4 R / pi from the centre, warping constant (2/3) t R^5 (a^3 - 6 / a): Roark, from memory
    a = math.pi / 2
    assert found["shear_centre_z_m"] == pytest.approx(4 / math.pi, rel=CURVE + 2 * T)
    assert found["warping_constant_m6"] / T == pytest.approx(2 / 3 * (a**3 - 6 / a), rel=CURVE * 10)
    assert found["torsion_constant_m4"] == pytest.approx(math.pi * T**3 / 3, rel=CURVE)


def test_cycloid(tmp_path: Path) -> None:
    """Rolling circle r = 1: length 8, centroid 4/3, Ixx 128/45, Izz 8 pi^2 - 2048/45 (derived, symbolic)."""
    p = np.linspace(0, 2 * np.pi, N + 1)
    found = measured(line(p - np.sin(p), 1 - np.cos(p)), tmp_path)
    assert found["area_m2"] / T == pytest.approx(8, rel=CURVE)
    assert found["centroid_z_m"] == pytest.approx(4 / 3, rel=CURVE)
    assert found["ixx_m4"] / T == pytest.approx(128 / 45, rel=CURVE)
    assert found["izz_m4"] / T == pytest.approx(8 * math.pi**2 - 2048 / 45, rel=CURVE)
    assert found["stress_efficiency_rho"] == pytest.approx(0.4, rel=CURVE + 2 * T)  # T / 2 at both fibres
    assert found["width_m"] == pytest.approx(2 * math.pi, rel=CURVE)
    assert found["height_m"] == pytest.approx(2, rel=CURVE)


def test_parabola(tmp_path: Path) -> None:
    """z = f (1 - x^2 / l^2): length l (sqrt(1 + k^2) + asinh(k) / k), k = 2 f / l; the rest by quadrature."""
    half, rise = 6.0, 4.0
    k = 2 * rise / half
    length = half * (math.sqrt(1 + k * k) + math.asinh(k) / k)

    def along(value) -> float:
        return quad(lambda x: value(x) * math.hypot(1, 2 * rise * x / half**2), -half, half, epsabs=1e-12)[0]

    z = lambda x: rise * (1 - (x / half) ** 2)  # noqa: E731
    centroid = along(z) / length
    x = np.linspace(-half, half, N + 1)
    found = measured(line(x, z(x), T), tmp_path)
    assert found["area_m2"] / T == pytest.approx(length, rel=CURVE)
    assert found["centroid_z_m"] == pytest.approx(centroid, rel=CURVE)
    assert found["ixx_m4"] / T == pytest.approx(along(lambda x: (z(x) - centroid) ** 2), rel=CURVE)
    assert found["izz_m4"] / T == pytest.approx(along(lambda x: x * x), rel=CURVE)


@pytest.mark.parametrize(("a", "b"), [(5.0, 3.0), (6.0, 4.0)])
def test_half_ellipse(a: float, b: float, tmp_path: Path) -> None:
    """Length 2 a E(1 - b^2 / a^2), complete elliptic integral (scipy); the rest by quadrature."""
    length = 2 * a * ellipe(1 - (b / a) ** 2)

    def along(value) -> float:
        return quad(lambda p: value(p) * math.hypot(a * math.sin(p), b * math.cos(p)), 0, math.pi)[0]

    p = np.linspace(math.pi, 0, N + 1)
    found = measured(line(a * np.cos(p), b * np.sin(p)), tmp_path)
    centroid = along(lambda p: b * math.sin(p)) / length
    assert found["area_m2"] / T == pytest.approx(length, rel=CURVE)
    assert found["centroid_z_m"] == pytest.approx(centroid, rel=CURVE)
    assert found["ixx_m4"] / T == pytest.approx(along(lambda p: (b * math.sin(p) - centroid) ** 2), rel=CURVE)
    assert found["izz_m4"] / T == pytest.approx(along(lambda p: (a * math.cos(p)) ** 2), rel=CURVE)


def test_thin_z_section(tmp_path: Path) -> None:
    """Ixx = h^3 t / 3, Izz = h^3 t / 12, Ixz = h^3 t / 8: Megson, Aircraft Structures, Example 15.14."""
    found = measured(line([-0.5, 0, 0, 0.5], [0.5, 0.5, -0.5, -0.5]), tmp_path)
    assert found["ixx_m4"] / T == pytest.approx(1 / 3, rel=1e-6)
    assert found["izz_m4"] / T == pytest.approx(1 / 12, rel=1e-6)
    assert found["ixz_m4"] / T == pytest.approx(-1 / 8, rel=1e-6)  # flanges here up-left and down-right
    # stress of the same example: (M / h^3 t)(6.857 z - 10.286 x), largest 3.4286 at the web's corners
    assert found["s_free_m3"] / T == pytest.approx(1 / (0.5 * 48 / 7), rel=1e-5)


def test_efficiency_of_v_and_two_flanges(tmp_path: Path) -> None:
    """rho = I / (A z_top z_bottom): 1/3 for a V of two plates, 1 for two flanges (Guyon, from memory)."""
    v = measured(line([-1, 0, 1], [2, 0, 2]), tmp_path)
    assert v["stress_efficiency_rho"] == pytest.approx(1 / 3, rel=1e-5)
    joined = Strips(  # by a web a millionth as thick
        [0, 0.5, 1, 0, 0.5, 1], [0, 0, 0, 2, 2, 2], [[0, 1], [1, 2], [3, 4], [4, 5], [1, 4]],
        [T] * 4 + [1e-6 * T], ("flange",) * 4 + ("web",),
    )  # fmt: skip
    found = measured(joined, tmp_path)
    assert found["stress_efficiency_rho"] == pytest.approx(1.0, rel=1e-5)
    assert found["shape_efficiency"] == pytest.approx(0.5, rel=1e-5)


def test_separate_pieces_are_refused_with_the_reason(tmp_path: Path) -> None:
    flanges = Strips([0, 1, 0, 1], [0, 0, 2, 2], [[0, 1], [2, 3]], [T, T], ("flange", "flange"))
    export_json(Section("flanges", flanges), tmp_path / "s.json")
    result = CliRunner().invoke(cli, ["measure", str(tmp_path / "s.json"), "--json"])
    assert (result.exit_code, result.stdout) == (2, "")
    assert result.stderr.startswith(f"Error: {tmp_path / 's.json'}: the strips are separate pieces")
    assert result.stderr.count("\n") == 1


@pytest.mark.parametrize("apart", [False, True], ids=["four nodes", "eight nodes"])
@pytest.mark.parametrize("turn", [1, -1], ids=["counter-clockwise", "clockwise"])
@pytest.mark.parametrize("shift", [(0.0, 0.0), (3e5, -8e4)], ids=["near", "far"])
def test_closed_box_whichever_way_it_was_drawn(apart: bool, turn: int, shift, tmp_path: Path) -> None:
    """J = 4 a^2 t / length round the cell, plus sum b t^3 / 3 of the walls (Bredt; Saint-Venant)."""
    corners = (np.array([(0, 0), (4, 0), (4, 2), (0, 2)], float) + shift)[::turn]
    ends = [(i, (i + 1) % 4) for i in range(4)]
    if apart:  # each wall with its own two nodes
        corners, ends = corners[np.ravel(ends)], [(2 * i, 2 * i + 1) for i in range(4)]
    found = measured(Strips(*corners.T, ends, [0.1] * 4, ["web"] * 4), tmp_path)
    near = {"rel": 1e-9}
    closed, walls = 4 * 8.0**2 * 0.1 / 12.0, 12.0 * 0.1**3 / 3
    assert closed * (1 - 1e-9) <= found["torsion_constant_m4"] <= (closed + walls) * (1 + 1e-9)
    assert found["torsion_constant_m4"] == pytest.approx(closed, **near)
    assert found["area_m2"] == pytest.approx(1.2, **near)
    assert found["ixx_m4"] == pytest.approx(2 * 4 * 0.1 * 1**2 + 2 * 0.1 * 2**3 / 12, rel=0.01)
    assert found["shear_centre_x_m"] - shift[0] == pytest.approx(2.0, abs=1e-7)
    assert found["shear_centre_z_m"] - shift[1] == pytest.approx(1.0, abs=1e-7)


def test_laws_of_shift_scale_mirror_and_split(tmp_path: Path) -> None:
    """Steiner, Mohr: a shift or split changes nothing, a mirror flips Ixz, a turn keeps invariants, k^4."""
    x, z, t = np.array([0.0, 1.0, 2.5, 3.0]), np.array([0.0, 1.5, 1.0, 2.0]), np.array([0.1, 0.2, 0.15])
    base = measured(line(x, z, t), tmp_path)
    near = {"rel": 1e-10, "abs": 1e-12}
    inertias = ("ixx_m4", "izz_m4", "ixz_m4")
    moved = measured(line(x + 7, z - 3, t), tmp_path)
    split = measured(line([0, 0.5, 1, 2.5, 3], [0, 0.75, 1.5, 1, 2], t[[0, 0, 1, 2]]), tmp_path)
    bigger = measured(line(3 * x, 3 * z, 3 * t), tmp_path)
    mirrored = measured(line(-x, z, t), tmp_path)
    c, s = math.cos(0.7), math.sin(0.7)
    turned = measured(line(c * x - s * z, s * x + c * z, t), tmp_path)
    for key in inertias:
        assert moved[key] == pytest.approx(base[key], **near)
        assert split[key] == pytest.approx(base[key], **near)
        assert bigger[key] == pytest.approx(81 * base[key], **near)
    assert bigger["area_m2"] == pytest.approx(9 * base["area_m2"], **near)
    assert mirrored["ixz_m4"] == pytest.approx(-base["ixz_m4"], **near)
    assert turned["ixx_m4"] + turned["izz_m4"] == pytest.approx(base["ixx_m4"] + base["izz_m4"], **near)
    invariant = base["ixx_m4"] * base["izz_m4"] - base["ixz_m4"] ** 2
    assert turned["ixx_m4"] * turned["izz_m4"] - turned["ixz_m4"] ** 2 == pytest.approx(invariant, **near)


def test_table_shows_every_measure_with_its_unit_and_the_caution(tmp_path: Path) -> None:
    export_json(Section("two\x1b[31m wings", arc(1.0, 9)), tmp_path / "s.json")
    result = CliRunner().invoke(cli, ["measure", str(tmp_path / "s.json")])
    assert result.exit_code == 0
    assert CAUTION in result.stdout
    assert "\x1b" not in result.stdout
    for wanted in ("S top, held straight", "S compression, free sideways", "m²", "m⁶", "°"):
        assert wanted in result.stdout


GOOD = '{"format": "longvault-section", "version": 1, "nodes_m": [[0, 0], [1, 0]], "strips": %s}'
BAD = {
    "not json": ("{", "is not JSON"),
    "empty": ("", "is not JSON"),
    "list": ("[]", "a section file is one JSON object; got list"),
    "negative": (
        GOOD % '[{"nodes": [0, 1], "thickness_m": -0.1}]',
        "strips[0].thickness_m: got -0.1 m; must be above 0",
    ),
    "node": (
        GOOD % '[{"nodes": [0, 2], "thickness_m": 0.1}]',
        "strips[0].nodes: got 2; must be a node number 0 to 1",
    ),
    "text": (
        GOOD % '[{"nodes": [0, 1], "thickness_m": "100"}]',
        "strips[0].thickness_m: got '100'; must be a finite",
    ),
    "huge": (
        GOOD.replace("[1, 0]", "[1e200, 0]") % '[{"nodes": [0, 1], "thickness_m": 1}]',
        "node 1 is at (1e+200, 0); must be metres within 1e+09",
    ),
    "thick": (
        GOOD % '[{"nodes": [0, 1], "thickness_m": 1e200}]',
        "strip 0 has thickness 1e+200 m",
    ),
}


@pytest.mark.parametrize("name", BAD)
def test_bad_file_gives_one_message_and_exit_2(name: str, tmp_path: Path) -> None:
    text, wanted = BAD[name]
    path = tmp_path / "bad.json"
    path.write_text(text)
    result = CliRunner().invoke(cli, ["measure", str(path), "--json"])
    assert result.exit_code == 2
    assert result.stdout == ""
    assert f"Error: {path}: " in result.stderr
    assert wanted in result.stderr
    assert result.stderr.count("\n") == 1


def run(*arguments: str, folder: Path) -> subprocess.CompletedProcess[str]:
    code = "from longvault.studies.cli import main; main()"
    return subprocess.run(
        [sys.executable, "-c", code, *arguments], cwd=folder, capture_output=True, text=True
    )


def test_command_runs_from_another_folder(tmp_path: Path) -> None:
    export_json(Section("arc", arc(1.0, 100)), tmp_path / "arc.json")
    done = run("measure", "arc.json", "--json", folder=tmp_path)
    assert (done.returncode, done.stderr) == (0, "")
    assert json.loads(done.stdout)["area_m2"] / T == pytest.approx(2.0, rel=5e-4)
    missing = run("measure", "lost.json", folder=tmp_path)
    assert (missing.returncode, missing.stdout) == (2, "")
    assert missing.stderr == (
        "Error: lost.json: there is no such file; give a section file, or a design of a run as DIR:ID\n"
    )
