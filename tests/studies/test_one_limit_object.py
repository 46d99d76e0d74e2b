"""Search, sheet and JSON speak of the same limits with the same numbers; every combination stands in JSON."""

import json
from dataclasses import replace

import numpy as np
import pytest
from click.testing import CliRunner

from longvault.constraints.details import evaluate_closely
from longvault.constraints.evaluate_member import evaluate_member
from longvault.constraints.limit import AMPLE_ROOM, CAP, FLOOR
from longvault.constraints.measures import MEASURES
from longvault.optimise.section_problem import section_problem
from longvault.sections.export.section_json import export_json
from longvault.studies.brief import basis_of, family_of
from longvault.studies.brief_basis import proving_of, variables_of
from longvault.studies.briefs import KINDS, starter_text
from longvault.studies.checked import check_section
from longvault.studies.cli.group import cli
from longvault.studies.sheet import make_sheet
from longvault.studies.sheet_limits import percent
from longvault.studies.sheet_table import quantity
from longvault.studies.stations import stations_document

from .sections_at_hand import start_member, start_section, starter

BRIEFS = pytest.mark.parametrize("kind", KINDS)


@pytest.fixture(scope="module")
def found(tmp_path_factory):
    """Each starter brief with one of its starts, checked, and its JSON document as the command prints it."""
    folder, kept = tmp_path_factory.mktemp("one"), {}
    for kind in KINDS:
        brief, section, member = starter(kind), start_section(kind), start_member(kind)
        (folder / f"{kind}.toml").write_text(starter_text(kind), encoding="utf-8")
        extra = {} if member is None else {"stations": stations_document(member, basis_of(brief))}
        export_json(section, folder / f"{kind}.json", extra)
        words = ["check", folder / f"{kind}.toml", "--section", folder / f"{kind}.json", "--json"]
        result = CliRunner().invoke(cli, [str(word) for word in words])
        assert result.exit_code == 0, result.output
        checked = check_section(section, basis_of(brief), proving_of(brief), member=member)
        kept[kind] = checked, json.loads(result.stdout)
    return kept


def searched(kind):
    """Limits and margins that the search of a brief has for the same design."""
    brief = starter(kind)
    proving = proving_of(brief)
    family, objectives = family_of(brief), brief.search.objectives
    scores = section_problem(
        family, variables_of(brief), basis_of(brief), objectives, proving=proving
    ).evaluate
    x = family.starts()[3:4]
    return scores.evaluation(x, every=True) if proving is None else scores.proved(x, proving)


@BRIEFS
def test_the_limits_of_search_sheet_and_json_are_the_same_with_the_same_numbers(kind, found):
    checked, document = found[kind]
    search = searched(kind)
    assert [limit.key for limit in search.limits] == [row.limit.key for row in checked.rows]
    for k, (limit, row, printed, item) in enumerate(
        zip(search.limits, checked.rows, limits_of_sheet(checked), document["limits"], strict=True)
    ):
        assert limit == row.limit, "one object, equal in every field"
        assert row.margin == pytest.approx(float(search.margins[0, k]), rel=1e-6, abs=1e-9)
        for key in ("key", "title", "formula", "source", "sense"):
            assert item[key] == getattr(limit, key)
        assert (item["demand"], item["capacity"], item["margin"]) == (row.demand, row.capacity, row.margin)
        assert (item["case"] or "") == row.case
        assert printed[0].removesuffix(" (governs)") == limit.title
        assert limit.formula in printed[1]
        assert printed[2] == quantity(row.demand, row.unit)
        assert printed[3] == f"{'<=' if limit.sense == CAP else '>='} {quantity(row.capacity, row.unit)}"
        assert printed[4] == percent(row.margin)
        assert printed[6] == limit.source


def limits_of_sheet(checked):
    return next(table for table in make_sheet(checked).tables if table.title == "Limits").rows


@BRIEFS
def test_every_limit_has_a_source_and_is_graded(kind, found):
    checked, _ = found[kind]
    for row in checked.rows:
        limit = row.limit
        assert limit.source.strip(), limit.key
        assert limit.formula.strip(), limit.key
        assert limit.sense in (CAP, FLOOR)
        assert limit.demand in MEASURES
        assert np.isfinite(row.margin), limit.key
        # graded: a tenth more demand moves the margin by a tenth of demand over capacity, never a step
        value, bound = row.demand, row.capacity
        measures = {limit.demand: np.array([value, 1.1 * value])}
        if isinstance(limit.capacity, str):
            measures[limit.capacity] = np.array([bound, bound])
        else:
            measures = {key: v / MEASURES[limit.demand].per_si for key, v in measures.items()}
        first, second = limit.margin(measures)
        sign = 1.0 if limit.sense == CAP else -1.0
        assert first == pytest.approx(row.margin, rel=1e-9, abs=1e-12)
        if isinstance(limit.capacity, str) and value > 0.9 * AMPLE_ROOM * bound:  # hardly anything is asked
            assert first == second == 1.0 - AMPLE_ROOM
            continue
        assert second - first == pytest.approx(sign * 0.1 * value / bound, rel=1e-6, abs=1e-12)


@BRIEFS
def test_margins_move_with_the_shape_little_by_little(kind):
    # a design a thousandth of its range away has finite margins close by: no limit is a yes or no
    brief = starter(kind)
    family = family_of(brief)
    basis = replace(basis_of(brief), joints=family.joints)
    variables = family.variables
    x = np.array(family.starts()[3])
    low, high = (np.array([getattr(v, end) for v in variables]) for end in ("lower", "upper"))
    near = np.clip(x + 1e-6 * (high - low), low, high)
    rows = [evaluate_member(family.member(v), basis) if kind == "canopy" else
            evaluate_closely(family.strips(v), basis) for v in (x, near)]  # fmt: skip
    one, two = (np.asarray(row.margins) for row in rows)
    assert np.isfinite(one).all()
    assert np.abs(two - one).max() < 2e-3


@BRIEFS
def test_every_combination_stands_in_json_with_factors_load_moment_and_shear(kind, found):
    checked, document = found[kind]
    table, loads = document["combinations"], document["load_cases"]
    basis, m = checked.basis, checked.measures
    names = {row["name"] for row in table["rows"]}
    for limit in document["limits"]:
        assert limit["case"] in {None, "largest of all combinations"} | names
    assert {row["state"] for row in table["rows"]} >= {"ultimate", "characteristic", "sustained"}
    down = {f"{one['kind']}: {one['name']}": one["load_kN_m"] for one in loads[1:]}
    for row in table["rows"]:
        total = row["factor_permanent"] * loads[0]["load_kN_m"]
        total += sum(factor * down[key] for key, factor in row["factors"].items())
        assert row["load_kN_m"] == pytest.approx(total, rel=1e-9)
        assert len(row["moment_most_kNm"]) == len(row["shear_least_kN"]) == len(table["y_m"])
    ultimate = [row for row in table["rows"] if row["state"] == "ultimate"]
    most = max(max(map(abs, row["moment_most_kNm"] + row["moment_least_kNm"])) for row in ultimate)
    shear = max(max(map(abs, row["shear_most_kN"] + row["shear_least_kN"])) for row in ultimate)
    assert most == pytest.approx(m["ultimate_moment"] / 1e3, rel=1e-5)
    assert shear == pytest.approx(m["ultimate_shear"] / 1e3, rel=1e-5)
    if basis.support.key == "simple":
        y = np.array(table["y_m"])
        for row in table["rows"]:  # w y (L - y) / 2
            expected = row["load_kN_m"] * y * (basis.span - y) / 2
            assert row["moment_most_kNm"] == pytest.approx(expected, rel=1e-5, abs=1e-6)
