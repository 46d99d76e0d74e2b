"""``longvault demo``: the main job in one go."""

from click.testing import CliRunner

from longvault.sections.export import EXPORTERS
from longvault.studies.briefs import starter_text
from longvault.studies.cli import demo
from longvault.studies.cli.group import cli
from longvault.studies.record import open_run


def test_the_demo_searches_draws_and_exports_and_may_be_run_again(tmp_path, monkeypatch):
    small = starter_text(demo.KIND).replace("evaluations = 100000", "evaluations = 3000")
    small = small.replace("deliver = 100", "deliver = 8")
    monkeypatch.setattr("longvault.studies.briefs.starter_text", lambda kind: small)
    monkeypatch.chdir(tmp_path)
    for _ in range(2):
        result = CliRunner().invoke(cli, ["demo", "--quiet"])
        assert result.exit_code == 0, result.output
    folder = tmp_path / demo.FOLDER
    picks = open_run(folder).manifest["picks"]
    found = {path.name for path in (folder / demo.EXPORTS).iterdir()}
    assert open_run(folder).manifest["settings"]["evaluations"] == 3000, "no more than the brief asks for"
    assert found == {f"{name}.{kind}" for name in picks.values() for kind in EXPORTERS}
    for line in result.stdout.splitlines():
        place = line.split()[0] if line.startswith("  longvault-demo/") else None
        assert place is None or (tmp_path / place).exists(), line


def test_the_demo_leaves_other_folders_alone(tmp_path):
    (tmp_path / "mine").mkdir()
    (tmp_path / "mine" / "manifest.json").write_text("{}")
    result = CliRunner().invoke(cli, ["demo", "--out", str(tmp_path / "mine")])
    assert result.exit_code == 2
    assert "is not empty and holds no earlier demo; give another folder with --out" in result.stderr
