"""Several families in one search: one table, each design with its family; files, resume, starts, figures."""

import json

import numpy as np
import pytest
from click.testing import CliRunner

from longvault.sections import read_section
from longvault.sections.export import read_table
from longvault.sections.families.registry import make_family
from longvault.studies.brief import BriefError, basis_of, load_brief, setting_of
from longvault.studies.brief_basis import proving_of, variable_key
from longvault.studies.checked import check_section
from longvault.studies.cli.group import cli
from longvault.studies.record import fresh_folder, open_run
from longvault.studies.run import make_job, run_job

from .sections_at_hand import small_brief

pytestmark = pytest.mark.usefixtures("no_figures")

FAMILIES = '["vault", "parabola-vault", "fold-v"]'


def brief_path(folder, **changes):
    path = small_brief("market-hall", folder, **{"families": FAMILIES, "deliver": 30, "seed": 5, **changes})
    path.write_text(path.read_text().replace('family = "vault"', 'family = ""'))
    return path


@pytest.fixture(scope="module")
def done(tmp_path_factory):
    folder = tmp_path_factory.mktemp("families")
    path = brief_path(folder, evaluations=3000)
    job = make_job(load_brief(path))
    outcome, delivered = run_job(job, fresh_folder(folder / "run"))
    return folder, job, outcome, delivered


def test_one_table_with_a_family_for_each_design(done):
    folder, _, _, delivered = done
    front = read_table(folder / "run" / "front.csv")
    assert set(front["family"]) > {"vault"}
    assert list(front["family"]) == list(delivered.families)
    assert (np.diff(front["area_m2"]) >= 0).all()
    columns = {key for key in front if key.startswith("var_")}
    for place, design in enumerate(delivered.designs):
        own = {f"var_{variable_key(v)[0]}" for v in design.scores.family.variables}
        assert own < columns
        assert {key for key in columns if np.isfinite(front[key][place])} == own


def test_every_design_file_rebuilds_from_its_family_and_its_variables_and_checks(done):
    folder, _, _, delivered = done
    brief = load_brief(folder / "run" / "brief.toml")
    assert brief.section.families == ("vault", "parabola-vault", "fold-v")
    for place, name in enumerate(delivered.names[::6]):
        path = folder / "run" / "designs" / f"{name}.json"
        data = json.loads(path.read_text(encoding="utf-8"))
        family = make_family(data["family"], setting_of(brief))
        strips = family.strips(np.array(list(data["variables"].values())))
        section = read_section(path)
        np.testing.assert_allclose(section.strips.x, strips.x, atol=1e-12)
        checked = check_section(section, basis_of(brief), proving_of(brief))
        assert checked.feasible
        assert checked.shown("area") == pytest.approx(data["measures"]["area_m2"])
        assert checked.governing.limit.key == data["governing"], place


def test_the_archive_names_families_and_their_variables(done):
    folder, job, outcome, _ = done
    with np.load(folder / "run" / "archive.npz", allow_pickle=False) as archive:
        keys, names, x = archive["families"].tolist(), archive["variables"], archive["x"]
        for i in range(0, len(x), 9):
            scores = job.problem.kinds.problems[archive["family"][i]].evaluate
            assert scores.family.key == keys[archive["family"][i]]
            count = len(scores.family.variables)
            assert [v.name for v in scores.family.variables] == names[archive["family"][i]][:count].tolist()
            assert np.isnan(x[i, count:]).all()
            again = scores(x[i : i + 1, :count])
            assert again.objectives.tobytes() == outcome.front.objectives[i : i + 1].tobytes()


def test_a_finished_run_is_extended(done, tmp_path):
    folder, *_ = done

    def search(*more):
        place = ["--out", str(tmp_path / "run"), "--quiet"]
        found = CliRunner().invoke(cli, ["search", str(folder / "market-hall.toml"), *place, *more])
        assert found.exit_code == 0, found.output
        return open_run(tmp_path / "run").manifest

    assert search("--evaluations", "900")["settings"]["evaluations"] == 900
    longer = search("--extend", "400")
    assert longer["settings"]["evaluations"] == 1300
    assert longer["evaluations"] > 900


def test_a_search_starts_from_a_design_of_any_of_its_families(done, tmp_path):
    folder, _, _, delivered = done
    place = delivered.families.index("parabola-vault")
    (tmp_path / "mine.json").write_bytes((folder / f"run/designs/{delivered.names[place]}.json").read_bytes())
    job = make_job(load_brief(brief_path(tmp_path, start_sections='["mine.json"]')), folder=tmp_path)
    ((number, _, own),) = job.problem.kinds.split(job.problem.snap(np.asarray(job.problem.seeds))[:1])
    assert job.problem.kinds.problems[number].evaluate.family.key == delivered.families[place]
    np.testing.assert_allclose(own[0], delivered.designs[place].x, rtol=1e-12)


def test_show_names_the_family(done):
    folder, *_ = done
    result = CliRunner().invoke(cli, ["show", str(folder / "run")])
    assert result.exit_code == 0, result.output
    assert "family" in result.stdout
    assert "vault" in result.stdout


@pytest.mark.parametrize(
    ("families", "said"),
    [
        ('["vault", "vautl"]', 'section.families[1]: there is no family "vautl"; did you mean "vault"?'),
        ('["vault", "vault"]', "one of them stands there twice"),
        ('["vault", "tapered-gull-wing"]', "tapered families and others are not judged alike"),
    ],
)
def test_families_that_cannot_be_searched_together_are_named(tmp_path, families, said):
    with pytest.raises(BriefError) as caught:
        load_brief(brief_path(tmp_path, families=families))
    assert said in str(caught.value)
