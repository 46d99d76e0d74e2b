"""``longvault new``: a starter brief on disk, never over a file that is there."""

import pytest
from click.testing import CliRunner

from longvault.studies.brief import load_brief
from longvault.studies.briefs import KINDS
from longvault.studies.cli.group import cli


def run(*args):
    return CliRunner().invoke(cli, ["new", *map(str, args)])


@pytest.mark.parametrize("kind", KINDS)
def test_each_kind_is_written_and_reads_back(kind, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    result = run(kind)
    assert result.exit_code == 0, result.output
    assert f"longvault search {kind}.toml" in result.output
    assert load_brief(tmp_path / f"{kind}.toml").name


def test_a_file_that_is_there_stays(tmp_path):
    path = tmp_path / "mine.toml"
    path.write_text("precious")
    result = run("canopy", path)
    assert result.exit_code == 2
    assert "is there already" in result.output
    assert path.read_text() == "precious"
    assert run("canopy", path, "--overwrite").exit_code == 0
    assert "Bus-station" in path.read_text()


def test_bad_kind_and_bad_place_say_what_is_allowed(tmp_path):
    result = run("dome")
    assert result.exit_code == 2
    assert all(kind in result.output for kind in KINDS)
    result = run("canopy", tmp_path / "missing" / "a.toml")
    assert result.exit_code == 2
    assert "cannot be written" in result.output


def test_a_folder_takes_the_brief_under_its_own_name(tmp_path):
    assert run("canopy", tmp_path).exit_code == 0
    assert (tmp_path / "canopy.toml").is_file()
