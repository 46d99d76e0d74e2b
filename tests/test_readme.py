"""The README's commands are the ones that are run, and its facts are the project's."""

import re
from pathlib import Path

ROOT = Path(__file__).parents[1]


def shell_lines(text):
    return [line for block in re.findall(r"```sh\n(.*?)```", text, re.S) for line in block.splitlines()]


def test_ci_runs_exactly_the_test_command_of_the_readme():
    commands = shell_lines((ROOT / "README.md").read_text(encoding="utf-8"))
    tests = [line for line in commands if line.endswith("pytest")]
    assert len(tests) == 1
    assert tests[0] in (ROOT / ".ci" / "run").read_text(encoding="utf-8").splitlines()


def test_readme_shows_pictures_that_are_there():
    pictures = re.findall(r"!\[[^\]]*\]\(([^)]+)\)", (ROOT / "README.md").read_text(encoding="utf-8"))
    assert pictures
    for picture in pictures:
        assert (ROOT / picture).is_file(), picture


def test_top_level_holds_what_the_layout_names():
    named = {"README.md", "DEVELOPERS.md", "pyproject.toml", "LICENSE"}
    named |= {"sections", "constraints", "optimise", "studies", "tests"}
    made_by_tools = {"build", "dist", "longvault-demo"}  # the last by README's first command
    found = {
        p.name for p in ROOT.iterdir() if not p.name.startswith(".") and not p.name.endswith(".egg-info")
    }
    assert found - made_by_tools == named
