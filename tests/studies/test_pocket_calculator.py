"""A checker with a pocket calculator: A, centroid, I, S, M and A_s from the printed sheet alone, to 2 %."""

import re

import numpy as np
import pytest

from longvault.studies.briefs import KINDS
from longvault.studies.sheet import make_sheet
from longvault.studies.sheet_text import sheet_text

from .sections_at_hand import checked_start

NUMBER = r"-?\d+(?:\.\d+)?(?:e-?\d+)?"
BRIEFS = pytest.mark.parametrize("kind", KINDS)


class Printed:
    """The sheet as text, and nothing else."""

    def __init__(self, text):
        self.text = text
        self.blocks = {}
        lines = text.splitlines()
        marks = [i for i in range(1, len(lines)) if lines[i] and set(lines[i]) == {"-"}]
        for first, last in zip(marks, [*marks[1:], len(lines) + 1], strict=True):
            self.blocks[lines[first - 1]] = lines[first + 1 : last - 1]

    def row(self, title, name):
        return next(line[2:] for line in self.blocks[title] if line[2:].startswith(name))

    def numbers(self, title, name):
        """Numbers of a row behind its name."""
        return [float(v) for v in re.findall(NUMBER, self.row(title, name)[len(name) :])]

    def value(self, title, name):
        """Number in the last column."""
        cell = re.split(r"\s{2,}", self.row(title, name).strip())[-1]
        return float(re.match(NUMBER, cell)[0])

    def subtitle(self, pattern):
        return float(re.search(pattern, self.text.replace("\n", " "))[1])

    def pieces(self):
        """End points (n, 2, 2), length [m], thickness [m] and own second moment of every piece."""
        rows = []
        for line in self.blocks["Geometry"]:
            if re.match(r"  \d+ ", line):
                cells = re.split(r"\s{2,}", line.strip())
                ends = [[float(v) for v in re.findall(NUMBER, cell)] for cell in cells[1:3]]
                rows.append((ends, float(cells[3]), float(cells[4]) / 1e3, float(cells[-1])))
        ends, length, thickness, own = zip(*rows, strict=True)
        return np.array(ends), np.array(length), np.array(thickness), np.array(own), self.centroids()

    def centroids(self):
        lines = [line for line in self.blocks["Geometry"] if re.match(r"  \d+ ", line)]
        return np.array([float(re.split(r"\s{2,}", line.strip())[6]) for line in lines])


@pytest.fixture(scope="module")
def sheets():
    return {kind: Printed(sheet_text(make_sheet(checked_start(kind)))) for kind in KINDS}


@BRIEFS
def test_area_centroid_second_moment_and_section_moduli(kind, sheets):
    sheet = sheets[kind]
    ends, length, thickness, own, z = sheet.pieces()
    area = length * thickness
    centre = (area * z).sum() / area.sum()
    inertia = (area * (z - centre) ** 2 + own).sum()
    title = "Section properties"
    top, bottom = sheet.numbers(title, "overall height h")[:2]
    assert area.sum() == pytest.approx(sheet.value(title, "area A"), rel=0.02)
    assert centre - bottom == pytest.approx(sheet.value(title, "centroid above"), rel=0.02)
    assert inertia == pytest.approx(sheet.value(title, "second moment I_xx"), rel=0.02)
    s_top, s_bottom = inertia / (top - centre), inertia / (centre - bottom)
    assert s_top == pytest.approx(sheet.value(title, "S top, held straight"), rel=0.02)
    assert s_bottom == pytest.approx(sheet.value(title, "S bottom, held straight"), rel=0.02)
    designed = sheet.value(title, "section modulus S to design with")
    if kind == "workshop":  # unsymmetrical: corners of the pieces, with I_zz and I_xz
        squeezed, stretched = free_moduli(ends, thickness, sheet)
        assert squeezed == pytest.approx(sheet.value(title, "S compression, free"), rel=0.02)
        assert stretched == pytest.approx(sheet.value(title, "S tension, free"), rel=0.02)
        assert min(squeezed, stretched) == pytest.approx(designed, rel=0.02)
    elif kind != "canopy":  # of the taper the least station counts
        assert min(s_top, s_bottom) == pytest.approx(designed, rel=0.02)


def free_moduli(ends, thickness, sheet):
    """Section moduli of bending free to move sideways, compressed and stretched side."""
    note = " ".join(sheet.blocks["Geometry, sideways"])
    x_c, izz, ixz = (
        float(re.search(rf"{name} = [^;]*?({NUMBER}) m", note)[1]) for name in ("x_c", "I_zz", "I_xz")
    )
    ixx = sheet.value("Section properties", "second moment I_xx")
    z_c = float(re.search(rf"= ({NUMBER}) m;", " ".join(sheet.blocks["Geometry"]))[1])
    run = ends[:, 1] - ends[:, 0]
    normal = np.stack([-run[:, 1], run[:, 0]], axis=-1) / np.hypot(*run.T)[:, None]
    corners = np.concatenate(
        [ends[:, k] + side * 0.5 * thickness[:, None] * normal for k in (0, 1) for side in (-1, 1)]
    )
    x, z = corners[:, 0] - x_c, corners[:, 1] - z_c
    fibre = (z * izz - x * ixz) / (ixx * izz - ixz**2)
    return 1 / fibre.max(), -1 / fibre.min()


@BRIEFS
def test_moment_from_the_printed_loads(kind, sheets):
    sheet = sheets[kind]
    loads = {line[2:24].strip(): line for line in sheet.blocks["Loads of one module"]}
    parts = ("self-weight", "finish", "glass", "services")
    permanent = sum(sheet.value("Loads of one module", name) for name in parts)
    assert permanent == pytest.approx(sheet.value("Loads of one module", "permanent G"), rel=0.02)
    snow = max(sheet.value("Loads of one module", name) for name in loads if name.startswith("snow"))
    if kind == "canopy":
        stations = [line for line in sheet.blocks["Stations along the span"] if re.match(r"[ >] \d", line)]
        rows = np.array([[float(v) for v in re.split(r"\s{2,}", line[2:].strip())[1:]] for line in stations])
        arm = sheet.subtitle(r"canopy 4 \+ (\d+\.?\d*) m")
        y = np.linspace(0.0, arm, len(rows))
        wind = sheet.value("Loads of one module", "wind, pressure")
        load = 1.35 * rows[:, 3] + 1.5 * snow + 0.9 * wind  # G of each station
        assert np.trapezoid(load * y, y) == pytest.approx(rows[0, 5], rel=0.02)
        return
    span = sheet.subtitle(r"simple span (\d+\.?\d*) m")
    moment = (1.35 * permanent + 1.5 * snow) * span**2 / 8
    maintained = sheet.value("Loads of one module", "maintenance")
    moment = max(moment, (1.35 * permanent + 1.5 * maintained) * span**2 / 8)
    used = float(re.search(rf"M_d / S_c = ({NUMBER}) kNm", sheet.text)[1])
    assert moment == pytest.approx(used, rel=0.02)


@BRIEFS
def test_main_steel_from_the_printed_moment_and_lever_arms(kind, sheets):
    sheet = sheets[kind]
    fyd = sheet.subtitle(r"fyk (\d+) MPa") / 1.15
    if kind == "canopy":  # by the cracked section of the root
        moment, arm = sheet.numbers("Cracked bending", "A_s, cracked section")[:2]
        needed = moment / (arm * fyd) * 10
        assert needed == pytest.approx(sheet.value("Cracked bending", "A_s, cracked section"), rel=0.02)
        return
    areas = []
    for name in ("A_s, elastic tension block", "A_s, bars gathered at the edge"):
        moment, arm = sheet.numbers("Steel", name)[:2]
        areas.append(moment / (arm * fyd) * 10)  # kNm / (m MPa) in cm2
        assert areas[-1] == pytest.approx(sheet.value("Steel", name), rel=0.02)
    areas += [sheet.value("Cracked bending", name) for name in ("A_s, cracked section", "least main steel")]
    provided = sheet.value("Steel", "A_s to provide")
    assert provided >= 0.995 * max(areas)
    if "width of cracks" in sheet.row("Steel", "A_s to provide"):
        width = sheet.value("Width of cracks", "width of cracks, bottom, w_k")
        assert width == pytest.approx(0.4, rel=0.01)  # as much as holds it, no more
    elif "folded plate" not in sheet.row("Steel", "A_s to provide"):
        assert max(areas) == pytest.approx(provided, rel=0.02)


@BRIEFS
def test_width_of_cracks_from_the_printed_steps(kind, sheets):
    """EN 1992-1-1, 7.3.4: stress, ratio, spacing and strain redone from what the sheet prints."""
    sheet, name = sheets[kind], "Width of cracks"
    if kind == "canopy":  # station by station: the limit alone is told
        return
    steel, area = sheet.numbers(name, "ratio of steel there, rho")[-3:-1]
    ratio = steel / area
    assert ratio == pytest.approx(sheet.value(name, "ratio of steel there, rho"), rel=2e-3)
    cover, even, bar = (sheet.numbers(name, "spacing of cracks, s_r,max")[i] for i in (1, 4, 5))
    spacing = 3.4 * cover + 0.425 * 0.8 * even * bar / ratio
    assert spacing == pytest.approx(sheet.value(name, "spacing of cracks, s_r,max"), rel=2e-3)
    stress = sheet.value(name, "stress in the bars, bottom")
    fck = sheet.subtitle(r"fck (\d+) MPa")
    tension, stiff = 0.3 * fck ** (2 / 3), 200e3 / (22e3 * ((fck + 8) / 10) ** 0.3)
    strain = max(stress - 0.4 * tension / ratio * (1 + stiff * ratio), 0.6 * stress) / 200e3
    assert strain * 1e3 == pytest.approx(sheet.value(name, "strain of steel less that of concrete"), rel=5e-3)
    assert spacing * strain == pytest.approx(sheet.value(name, "width of cracks, bottom, w_k"), rel=5e-3)


@pytest.mark.parametrize("kind", ["reading-hall", "market-hall", "classroom"])
def test_the_lever_arm_of_the_tension_block_follows_from_the_pieces(kind, sheets):
    # resultant of the stress (z_c - z) M / I below the neutral axis: z = M / T = I / sum A (z_c - z)
    _, length, thickness, own, z = sheets[kind].pieces()
    area = length * thickness
    centre = (area * z).sum() / area.sum()
    inertia = (area * (z - centre) ** 2 + own).sum()
    pull = (area * np.maximum(centre - z, 0.0)).sum()
    arm = sheets[kind].numbers("Steel", "A_s, elastic tension block")[1]
    assert inertia / pull == pytest.approx(arm, rel=0.02)
