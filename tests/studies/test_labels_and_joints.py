"""Every command judges labels and joints of a section alike, in the same words (`sections.plausible`)."""

import json

import pytest
from click.testing import CliRunner

from longvault.sections import Joint, Section, Strips
from longvault.sections.export.section_json import export_json
from longvault.studies.cli.group import cli

SAID = "1 strip called kerb is no beam or kerb and is looked at as roof surface"
COMMANDS = {
    "measure": (),
    "prove": ("--span-m", "20", "--surface-load-kN-m2", "4", "--modulus-GPa", "34", "--poisson", "0.2"),
    "light": ("--floor-m", "-5"),
}


def run(command, section, folder, *more):
    path = folder / "section.json"
    export_json(section, path)
    return CliRunner().invoke(cli, [command, str(path), *COMMANDS[command], *more])


def roof(parts=("wing", "kerb", "wing"), joints=()):
    return Section("roof", Strips.chain([-2.0, -1.0, 1.0, 2.0], [0.0, 0.5, 0.5, 0.0], 0.1, parts), joints)


@pytest.mark.parametrize("command", COMMANDS)
def test_what_is_no_kerb_is_said(command, tmp_path):
    told = run(command, roof(), tmp_path, "--json")
    assert told.exit_code == 0, told.output
    assert json.loads(told.stdout)["note"] == SAID
    assert f"{SAID}." in run(command, roof(), tmp_path).stdout
    right = run(command, roof(("wing", "crown", "wing")), tmp_path, "--json")
    assert json.loads(right.stdout)["note"] is None


@pytest.mark.parametrize("command", COMMANDS)
def test_a_joint_where_no_neighbour_can_be_is_refused(command, tmp_path):
    inside = roof(("wing", "crown", "wing"), (Joint(1, "slot", "left"), Joint(3, "slot", "right")))
    told = run(command, inside, tmp_path)
    assert told.exit_code == 2
    assert "slot joint 1 on the left lies at x = -1 m; a slot is at the left edge" in told.output


@pytest.mark.parametrize("command", ["measure", "prove"])
def test_a_beam_alone_is_a_section_all_the_same(command, tmp_path):
    beam = Section("beam", Strips.chain([0.0, 0.0], [0.0, 1.0], 0.2, "edge beam"))
    told = run(command, beam, tmp_path, "--json")
    assert told.exit_code == 0, told.output
    assert "a roof has surface" in json.loads(told.stdout)["note"]
