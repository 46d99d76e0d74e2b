"""What would mend a section: mended designs and foreign sections hold every limit when checked again."""

import json

import numpy as np
import pytest
from click.testing import CliRunner

from longvault.sections import Section, Strips, read_section
from longvault.sections.export.section_json import export_json
from longvault.studies.brief import basis_of, family_of, read_brief, variables_of
from longvault.studies.brief_basis import proving_of
from longvault.studies.briefs import starter_text
from longvault.studies.checked import check_section
from longvault.studies.cli.group import cli
from longvault.studies.mending import mend_lines, mend_section

ARC = np.linspace(-1.0, 1.0, 21)
CLASSROOM = read_brief(starter_text("classroom"))


def thin_arc(brief=CLASSROOM):
    """A flat arc, too thin for its cover, bare of beams."""
    half = 0.5 * brief.roof.bay_m - 0.1
    return Section("thin arc", Strips.chain(half * ARC, 0.7 * (1.0 - ARC**2), 0.06, "wing"))


def random_design(brief, seed):
    variables = variables_of(brief)
    low, high = np.array([(v.lower, v.upper) for v in variables]).T
    x = low + (high - low) * np.random.default_rng(seed).random(len(variables))
    family = family_of(brief)
    data = {
        "family": family.key,
        "variables": dict(zip((v.name for v in variables), x.tolist(), strict=True)),
    }
    return Section("random", family.strips(x), family.joints), data


@pytest.mark.parametrize(("kind", "seed"), [("market-hall", 1), ("classroom", 2), ("workshop", 3)])
def test_a_random_design_is_mended_in_its_own_variables(kind, seed):
    brief = read_brief(starter_text(kind))
    section, data = random_design(brief, seed)
    assert not check_section(section, basis_of(brief), proving_of(brief)).feasible
    found = mend_section(section, data, brief)
    again = check_section(found.design.section("again"), basis_of(brief), proving_of(brief))
    assert again.feasible
    assert max(row.margin for row in again.rows) <= 0.0
    new, old = found.design.variables, data["variables"]
    size = np.sqrt(sum(((new[v.name] - old[v.name]) / (v.upper - v.lower)) ** 2 for v in variables_of(brief)))
    assert found.distance == pytest.approx(size, rel=0.1), "steps of thickness apart"


def test_a_foreign_section_is_made_taller_and_thicker():
    """60 mm of concrete and a flat arc: the mend names thickness and height."""
    found = mend_section(thin_arc(), {}, CLASSROOM)
    assert found.checked.feasible
    assert set(found.changes) == {"height_factor", "wing_added_thickness_mm"}
    thickness = found.changes["wing_added_thickness_mm"][1]
    assert thickness >= 19.9, "60 mm cannot hold the mesh with its covers"
    assert any("wing added thickness: 0 mm -> " in line for line in mend_lines(found))


def test_check_names_the_limits_that_fail_and_writes_the_mended_section(tmp_path):
    brief, section = tmp_path / "brief.toml", tmp_path / "arc.json"
    brief.write_text(starter_text("classroom"), encoding="utf-8")
    export_json(thin_arc(), section)
    asked = [
        "check",
        str(brief),
        "--section",
        str(section),
        "--mend",
        str(tmp_path / "mended.json"),
        "--json",
    ]
    result = CliRunner().invoke(cli, asked)
    assert result.exit_code == 0, result.output
    assert "Limits that fail, the worst first:" in result.stderr
    assert "least thickness" in result.stderr
    data = json.loads(result.stdout)
    assert not data["feasible"]
    assert max(data["mend"]["margins"].values()) <= 0.0
    mended = read_section(tmp_path / "mended.json")
    assert check_section(mended, basis_of(CLASSROOM), proving_of(CLASSROOM)).feasible
    again = CliRunner().invoke(
        cli,
        ["check", str(brief), "--section", str(tmp_path / "mended.json"), "--mend", str(tmp_path / "x.json")],
    )
    assert "nothing to mend" in again.stderr
    assert not (tmp_path / "x.json").exists()


def test_what_cannot_be_mended_is_said():
    text = starter_text("classroom").replace("[limits.at_most]", "[limits.at_most]\narea_m2 = 0.05")
    found = mend_section(thin_arc(), {}, read_brief(text))
    assert found is None
    assert mend_lines(found) == ["No change of its variables was found that holds every limit."]
