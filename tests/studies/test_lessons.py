"""Lessons: the numbers a student redoes by hand are right, and every lesson draws."""

from pkgutil import iter_modules

import numpy as np
import pytest
from click.testing import CliRunner

from longvault.sections import CAUTION
from longvault.sections.properties import section_properties
from longvault.studies import lessons
from longvault.studies.cli.group import cli
from longvault.studies.lessons import deeper

NAMES = [info.name.replace("_", "-") for info in iter_modules(lessons.__path__)]


@pytest.fixture(scope="module")
def table(tmp_path_factory):
    result = deeper.draw(tmp_path_factory.mktemp("lesson") / "deeper.svg")
    return {name: np.array(column) for name, column in result["table"].items()}


def test_twice_the_height_twice_the_bound_and_four_times_the_second_moment():
    # a fact of the trade, derived: two flanges of A / 2 at distance h have I = A h^2 / 4, S = A h / 2
    for area, height in ((0.9, 2.0), (0.5, 1.08)):
        bound = deeper.two_flange_bound(area, np.array([height, 2 * height]))
        assert bound[1] == 2 * bound[0] == area * height
        inertia = bound * np.array([height, 2 * height]) / 2
        assert inertia[1] == pytest.approx(4 * inertia[0], rel=1e-15)
        deflection = deeper.mid_span_deflection(inertia)
        assert deflection[1] == pytest.approx(deflection[0] / 4, rel=1e-15)


def test_arcs_agree_with_the_closed_form_of_the_thin_arc(table):
    # Roark, Formulas for Stress and Strain, table of sections (from memory), derived again:
    # I = R^3 t (a + sin a cos a - 2 sin^2 a / a) about the centroid, own thickness left out
    rise, t, width = table["rise m"], table["t mm"] / 1e3, deeper.WIDTH
    radius = (width**2 / 4 + rise**2) / (2 * rise)
    a = np.arccos(1 - rise / radius)
    inertia = radius**3 * t * (a + np.sin(a) * np.cos(a) - 2 * np.sin(a) ** 2 / a)
    own = t**3 * radius * (a + np.sin(a) * np.cos(a)) / 12  # strips turned by their slope: l t^3 cos^2 / 12
    assert table["I m⁴"] == pytest.approx(inertia + own, rel=2e-4)
    assert 2 * a * radius * t == pytest.approx(table["A m²"], rel=1e-4)


def test_moduli_and_deflections_redo_by_hand(table):
    h, below, inertia = table["h m"], table["z_c above bottom m"], table["I m⁴"]
    assert table["S bottom m³"] == pytest.approx(inertia / below)
    assert table["S top m³"] == pytest.approx(inertia / (h - below))
    ecm = 22e9 * 3.8**0.3  # EN 1992-1-1, table 3.1, fck 30
    assert table["deflection mm"] == pytest.approx(5e3 * 20e3 * 20.0**4 / (384 * ecm * inertia))


def test_the_same_concrete_gains_with_height_and_never_beats_the_bound(table):
    assert table["A m²"] == pytest.approx(deeper.AREA, rel=1e-12)
    assert (np.diff(table["S bottom m³"]) > 0).all()
    assert (np.diff(table["deflection mm"]) < 0).all()
    assert (np.diff(table["k = S / (A h)"]) > 0).all()
    assert (table["S bottom m³"] < table["S top m³"]).all(), "the bottom fibre of a bare arc governs"
    assert (table["S top m³"] < table["bound A h / 2 m³"]).all()
    # the question of the notes: from rise 1 to rise 2, more than twice
    assert table["S bottom m³"][3] > 2 * table["S bottom m³"][1]


def test_a_finer_line_changes_nothing_to_see(monkeypatch):
    coarse = section_properties(deeper.arcs()).s_free
    monkeypatch.setattr(deeper, "STATIONS", 4 * (deeper.STATIONS - 1) + 1)
    assert section_properties(deeper.arcs()).s_free == pytest.approx(coarse, rel=1e-3)


@pytest.mark.parametrize("name", NAMES)
def test_each_lesson_draws_and_prints(name, tmp_path):
    path = tmp_path / "figure.svg"
    result = CliRunner().invoke(cli, ["lesson", name, "--out", str(path)])
    assert result.exit_code == 0, result.output
    assert "licensed engineer" in path.read_text(encoding="utf-8")
    assert CAUTION in result.stdout


def test_lessons_are_listed_and_bad_names_refused(tmp_path):
    result = CliRunner().invoke(cli, ["lesson"])
    assert result.exit_code == 0
    assert deeper.TITLE in result.stdout
    for args, said in (
        (["deep"], "must be one of deeper"),
        (["deeper", "--out", "a.pdf"], "must end in .png or .svg"),
        (["deeper", "--out", str(tmp_path / "no" / "a.png")], "cannot be written"),
    ):
        result = CliRunner().invoke(cli, ["lesson", *args])
        assert result.exit_code == 2
        assert said in result.stderr


def test_the_best_section_of_the_lesson_is_named_in_words(tmp_path):
    result = CliRunner().invoke(cli, ["lesson", "sections", "--out", str(tmp_path / "a.svg")])
    best = next(line for line in result.stdout.splitlines() if line.startswith("Largest k here"))
    assert best.removeprefix("Largest k here: ").rstrip(".") in result.stdout.split("Every module")[0]
