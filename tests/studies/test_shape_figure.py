"""Shape loss drawn and in words: the published and derived signs, one scale, grey-safe lines, the caution."""

import json
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner
from matplotlib.collections import LineCollection

from longvault.constraints.plates_proof import prove
from longvault.sections import CAUTION, Joint, Section, Strips
from longvault.sections.section_file import section_to_dict
from longvault.studies.brief import basis_of
from longvault.studies.brief_basis import proving_of
from longvault.studies.checked import check_section
from longvault.studies.cli.group import cli
from longvault.studies.plots import save
from longvault.studies.shape_figure import (
    MOVED,
    ORDER,
    REST,
    Shape,
    exaggeration,
    proof_shape,
    shape_figure,
    shape_words,
    shapes_of,
)

from .sections_at_hand import start_section, starter

ARGUMENTS = {"span": 24.0, "surface_load": 3e3, "modulus": 30e9, "poisson": 0.2}


def barrel(half=40.0, radius=7.62, joints=()):
    angle = np.radians(np.linspace(-half, half, 33))
    strips = Strips.chain(radius * np.sin(angle), radius * np.cos(angle), 0.0762, "wing")
    return Section("barrel", strips, joints)


def gull_wing():
    angle = np.radians(np.linspace(0.0, 55.0, 17))
    x, z = 3.2 * np.sin(angle) / np.sin(angle[-1]), 2.0 * (1 - np.cos(angle)) / (1 - np.cos(angle[-1]))
    x, z = np.r_[-x[:0:-1], x], np.r_[z[:0:-1], z]
    return Section("wings", Strips.chain(x, z, 0.10, "wing"))


def test_free_edges_of_a_lone_barrel_go_in_and_down_and_its_crown_up():
    """Scordelis & Lo, 1964: edges down 0.3006 ft and inward 0.158 ft, crown up."""
    section = barrel()
    proof = prove(section, span=15.24, surface_load=4309.0, modulus=20.684e9, poisson=0.0)
    left, middle, right = shape_words(section, proof_shape(section, proof, "lone"))
    assert left == "left edge: 48.2 mm in, 91.6 mm down"  # 48.28 and 91.62 with finer facets
    assert right == left.replace("left", "right")
    assert middle.startswith("middle: 13.")
    assert middle.endswith(" mm up")


def test_wings_spread_outward_into_the_slot():
    section = gull_wing()
    words = shape_words(section, proof_shape(section, prove(section, **ARGUMENTS), "lone"))
    for word in (words[0], words[2]):
        assert " mm out, " in word
        assert word.endswith("down")


def test_a_held_edge_does_not_go_sideways_and_an_end_bay_leans():
    joints = (Joint(0, "valley", "left"), Joint(32, "valley", "right"))
    section = barrel(joints=joints)
    shapes = [proof_shape(section, prove(section, **ARGUMENTS, bay=bay), bay) for bay in ORDER]
    interior, end, lone = (shape_words(section, shape) for shape in shapes)
    assert " in" not in interior[0] + interior[2]
    assert " out" not in interior[0] + interior[2]
    assert " mm in, " in end[0]
    assert " in" not in end[2]
    assert lone[0].split(": ")[1] == lone[2].split(": ")[1]
    assert [shape.held for shape in shapes] == [(0, 32), (32,), ()]


def test_one_scale_and_two_line_styles():
    brief = starter("market-hall")
    checked = check_section(start_section("market-hall"), basis_of(brief), proving_of(brief))
    shapes = shapes_of(checked)
    assert [shape.bay for shape in shapes] == list(ORDER)
    figure = shape_figure(checked.section, shapes, title="hall", load="its own")
    panels = figure.axes
    assert len(panels) == 3
    assert len({(axes.get_xlim(), axes.get_ylim()) for axes in panels}) == 1
    figure.canvas.draw()
    assert len({tuple(np.round(axes.get_window_extent().size, 6)) for axes in panels}) == 1
    assert REST["linestyle"] != MOVED["linestyle"]
    assert MOVED["linewidth"] >= 2 * REST["linewidth"]
    times = exaggeration(checked.section, shapes)
    for axes, shape in zip(panels, shapes, strict=True):
        rest, moved = (c.get_segments() for c in axes.collections if isinstance(c, LineCollection))
        first = checked.section.strips.ends[0, 0]
        gone = moved[0][0] - rest[0][0]
        np.testing.assert_allclose(gone, times * np.array([shape.right[first], shape.up[first]]), atol=1e-12)
    assert any(CAUTION[:40] in text.get_text() for text in figure.texts)


def test_movement_of_nothing_is_drawn_as_it_is():
    section = barrel()
    still = Shape("lone", np.zeros(33), np.zeros(33))
    assert exaggeration(section, [still]) == 1.0
    assert shape_words(section, still) == ("left edge: stays", "middle: stays", "right edge: stays")
    assert len(shape_figure(section, [still], title="t", load="none").axes) == 1


def test_same_bytes_for_the_same_figure(tmp_path):
    section = barrel()
    shape = proof_shape(section, prove(section, **ARGUMENTS), "lone")
    for kind in ("png", "svg"):
        paths = [tmp_path / f"{i}.{kind}" for i in (1, 2)]
        for path in paths:
            save(shape_figure(section, [shape], title="t", load="l"), path)
        assert paths[0].read_bytes() == paths[1].read_bytes()


@pytest.fixture
def roof(tmp_path):
    joints = (Joint(0, "valley", "left"), Joint(32, "valley", "right"))
    path = tmp_path / "roof.json"
    path.write_text(json.dumps(section_to_dict(barrel(joints=joints))))
    return str(path)


def run(*arguments):
    options = ["--span-m", "24", "--surface-load-kN-m2", "3", "--modulus-GPa", "30", "--poisson", "0.2"]
    return CliRunner().invoke(cli, ["prove", *arguments, *options])


def test_prove_draws_every_bay_and_keeps_stdout_clean(roof, tmp_path):
    path = tmp_path / "shape.svg"
    result = run(roof, "--draw", str(path), "--json")
    assert result.exit_code == 0, result.output
    data = json.loads(result.stdout)
    assert "how the section loses its shape" in result.stderr
    text = path.read_text(encoding="utf-8")
    for bay in ORDER:
        assert f"{bay} bay" in text
    assert CAUTION[:40] in text
    assert any(line.startswith("short vaults") for line in data["not_covered"])


def test_prove_refuses_other_endings(roof, tmp_path):
    result = run(roof, "--draw", str(tmp_path / "shape.pdf"))
    assert result.exit_code == 2
    assert "must end in .png or .svg" in result.stderr
    assert not list(Path(tmp_path).glob("shape*"))
