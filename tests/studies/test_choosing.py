"""Which design to take: best under caps, by weights, representatives of groups in measures and in shape."""

import json

import numpy as np
import pytest

from longvault.optimise import medoids
from longvault.sections import Strips
from longvault.studies.choosing import groups_of, shape_signature
from longvault.studies.record import open_run

from .sections_at_hand import run, small_brief


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    """A run of 40 designs without figures."""
    place = tmp_path_factory.mktemp("choosing")
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("longvault.studies.run_figures.draw_figures", lambda *args: None)
        done = run("search", small_brief("market-hall", place, deliver=40), "--out", place / "run", "--quiet")
    assert done.exit_code == 0, done.output
    return place / "run"


def picked(folder, *options):
    result = run("show", folder, *options, "--json")
    assert result.exit_code == 0, result.output
    return json.loads(result.stdout)


def test_best_under_a_cap_is_the_best_row_of_those_that_keep_it(folder):
    front = open_run(folder).front
    cap = float(np.median(front["area_m2"]))
    found = picked(folder, "--at-most", f"area={cap}", "--best", "section_modulus")
    inside = front["area_m2"] <= cap
    assert found["measures"]["section_modulus_m3"] == front["section_modulus_m3"][inside].max()
    assert found["measures"]["area_m2"] <= cap


def test_weights_move_the_pick_from_one_end_to_the_other(folder):
    front = open_run(folder).front
    light = picked(folder, "--weights", "area=1,section_modulus=0")
    strong = picked(folder, "--weights", "area=0,section_modulus=3")
    between = picked(folder, "--weights", "area=1,section_modulus=1")
    assert light["measures"]["area_m2"] == front["area_m2"].min()
    assert strong["measures"]["section_modulus_m3"] == front["section_modulus_m3"].max()
    assert light["measures"]["area_m2"] <= between["measures"]["area_m2"] <= strong["measures"]["area_m2"]


@pytest.mark.parametrize("by", ["measures", "shape"])
def test_groups_have_one_representative_each(folder, by):
    result = run("show", folder, "--groups", 4, "--by", by, "--json")
    assert result.exit_code == 0, result.output
    assert len(json.loads(result.stdout)["designs"]) == 4
    assert f"Groups alike in {by}: " in result.stderr
    rows, sizes = groups_of(open_run(folder), range(40), 4, by=by)
    assert sizes.sum() == 40
    assert sizes.min() >= 1
    assert len(set(rows.tolist())) == 4


def test_medoids_are_the_best_of_all_choices():
    """Against all 220 triples of 12 points."""
    from itertools import combinations

    points = np.random.default_rng(4).random((12, 2))
    apart = np.sqrt(((points[:, None] - points) ** 2).sum(-1))
    sums = {rows: apart[:, rows].min(axis=1).sum() for rows in combinations(range(12), 3)}
    rows, group = medoids(points, 3)
    assert sums[tuple(rows.tolist())] <= 1.02 * min(sums.values())
    assert (group[rows] == np.arange(3)).all()
    with pytest.raises(ValueError, match="count: got 13; must be 1 to the 12 points"):
        medoids(points, 13)


def test_likeness_of_shape_does_not_depend_on_the_strips_a_section_is_cut_into():
    x = np.linspace(-3.0, 3.0, 9)
    coarse = Strips.chain(x, 0.1 * x**2, 0.1, "wing")
    nodes = np.interp(np.linspace(0, 8, 33), np.arange(9), x)
    fine = Strips.chain(nodes, np.interp(nodes, x, 0.1 * x**2), 0.1, "wing")
    fold = Strips.chain(x, np.abs(x), 0.1, "wing")
    near, far = (np.abs(shape_signature(coarse) - shape_signature(one)).sum() for one in (fine, fold))
    assert near < 0.1 * far


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (("--best", "beauty"), "--best: there is no measure 'beauty'"),
        (("--weights", "area=much"), "--weights: got 'area=much'"),
        (("--weights", "area=-1"), "must be finite, 0 or more"),
        (("--weights", "area=1,area=2"), "area_m2 has more than one weight"),
        (("--weights", "area=1,area_m2=2"), "area_m2 has more than one weight"),
        (("--at-most", "height_m=nan"), "--at-most: got 'height_m=nan'"),
        (("--at-least", "height_m=inf"), "with a finite value"),
        (("--at-most", "height_m"), "must be MEASURE=VALUE"),
        (("--weights", "width=1"), "has no better and worse by itself"),
        (("--price",), "--price: say of which design"),
        (("--pick", "knee", "--best", "area"), "give one of them"),
    ],
)
def test_bad_choices_are_one_message(folder, options, said):
    result = run("show", folder, *options)
    assert result.exit_code == 2, result.output
    assert said in result.stderr
    assert "Traceback" not in result.output


@pytest.mark.parametrize(
    "more", [(), ("--best", "area"), ("--weights", "area=1"), ("--groups", "2"), ("--json",)]
)
def test_bounds_that_leave_nothing_are_one_message_whatever_is_asked(folder, more):
    result = run("show", folder, "--at-most", "area=0.001", *more)
    least = min(open_run(folder).front["area_m2"])
    said = (
        f"Error: --at-most area=0.001: no design is left; the least of those before this bound is {least:.6g}"
    )
    assert (result.exit_code, result.stderr.strip(), result.stdout) == (1, said, "")


def test_the_bound_that_takes_the_last_design_is_named(folder):
    high = max(open_run(folder).front["height_m"])
    result = run("show", folder, "--at-least", "area=0", "--at-least", "height=99")
    assert result.exit_code == 1
    assert (
        f"--at-least height=99: no design is left; the greatest of those before this bound is {high:.6g}"
        in (result.stderr)
    )
