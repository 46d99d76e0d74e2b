"""Every delivered design, reckoned again by an independent routine: no limit is above zero, not by a hair."""

from dataclasses import replace

import numpy as np
import pytest
from recomputed import canopy_margins, module_margins

from longvault.constraints.evaluate import evaluate
from longvault.constraints.evaluate_member import evaluate_design
from longvault.constraints.limits import limits_of
from longvault.optimise import SearchSettings, search
from longvault.optimise.problem import DELIVERED_MARGIN
from longvault.optimise.section_designs import judged
from longvault.sections import Strips, read_section
from longvault.sections.families.tapered import Tapered
from longvault.studies.brief import basis_of, family_of, load_brief, read_brief, variables_of
from longvault.studies.brief_basis import proving_of
from longvault.studies.briefs import KINDS, starter_text
from longvault.studies.record import fresh_folder
from longvault.studies.record_designs import deliver
from longvault.studies.run import make_job, run_job
from longvault.studies.stations import read_member

from .sections_at_hand import small_brief, starter

pytestmark = pytest.mark.usefixtures("no_figures")


def recomputed_member(member, basis):
    """The same of a taper on a back span and an arm, station by station."""
    s = member.sections
    rows = [(s.x[k], s.z[k], s.ends, s.thickness[k], s.parts) for k in range(member.stations)]
    return canopy_margins(rows, basis, basis.line.supports[1])


def recomputed(strips, basis):
    return module_margins(strips.x, strips.z, strips.ends, strips.thickness, strips.parts, basis)


@pytest.mark.parametrize("kind", KINDS)
def test_no_delivered_design_fails_a_limit_when_reckoned_again(kind, tmp_path):
    brief = load_brief(small_brief(kind, tmp_path, evaluations=3000, deliver=60))
    _, delivered = run_job(make_job(brief), fresh_folder(tmp_path / "run"))
    basis = basis_of(brief)
    keys = {limit.key for limit in limits_of(basis)}
    assert len(delivered.names) >= 20
    assert (delivered.evaluation.margins <= DELIVERED_MARGIN).all()
    for name in delivered.names:
        path = tmp_path / "run" / "designs" / f"{name}.json"
        member = read_member(path)
        assert (member is None) is (kind != "canopy"), "a taper keeps all its stations"
        if member is None:
            margins = recomputed(read_section(path).strips, basis)
        else:
            margins = recomputed_member(member, basis)
        assert set(margins) == keys, "every limit is reckoned again"
        assert max(margins.values()) <= 0.0, name


VARIED = [(kind, {}) for kind in KINDS] + [
    ("workshop", {"held_sideways = false": "held_sideways = true"}),
    (
        "reading-hall",
        {'standard = "EN 1990:2002"': 'standard = "ASCE 7-16"', "mesh_layers = 1": "mesh_layers = 2"},
    ),
    (
        "canopy",
        {
            "glazing_frame_mm = 0.0": "glazing_frame_mm = 80.0",
            "# span_to_depth_min =": "span_to_depth_min = 12",
        },
    ),
]


@pytest.mark.parametrize(("kind", "changes"), VARIED)
def test_margins_agree_on_any_design_feasible_or_not(kind, changes):
    text = starter_text(kind)
    for old, new in changes.items():
        assert old in text
        text = text.replace(old, new)
    brief = read_brief(text)
    family, basis, variables = family_of(brief), basis_of(brief), variables_of(brief)
    rng = np.random.default_rng(5)
    low, high = np.array([(v.lower, v.upper) for v in variables]).T
    x = low + (high - low) * rng.random((60, len(low)))
    strips, result = family.strips(x), evaluate_design(family, x, basis)
    assert (result.margins > 0).any()
    assert (result.margins < 0).any()
    for i in range(60):
        if isinstance(family, Tapered):
            margins = recomputed_member(family.member(x[i]), basis)
        else:
            margins = recomputed(strips[i], basis)
        assert set(margins) == {limit.key for limit in result.limits}
        for k, limit in enumerate(result.limits):
            assert margins[limit.key] == pytest.approx(float(result.margins[i, k]), rel=1e-9, abs=1e-9), (
                limit.key
            )


def test_overlaps_of_neighbours_and_sections_that_turn_back_are_reckoned_alike():
    brief = starter("reading-hall")
    basis = basis_of(brief)
    wave = np.linspace(0, 1, 41)
    rng = np.random.default_rng(8)
    for _ in range(40):
        bend, width = 2 * np.pi * rng.random() * 1.4, 6 + 3 * rng.random()
        x = width * (wave - 0.5) + 1.2 * np.sin(bend * wave * 2)
        z = 2.0 * np.cos(bend * (wave - 0.5)) + rng.random()
        strips = Strips.chain(x, z, 0.08 + 0.1 * rng.random(40), "wing")
        result = evaluate(strips, basis)
        margins = recomputed(strips, basis)
        for k, limit in enumerate(result.limits):
            assert margins[limit.key] == pytest.approx(float(result.margins[k]), rel=1e-9, abs=1e-9), (
                limit.key
            )


def test_designs_that_the_proof_refuses_are_replaced_by_their_neighbours_on_the_front(tmp_path, monkeypatch):
    """Every second design of the front is refused: as many are delivered as were asked for, all proved."""
    brief = load_brief(small_brief("market-hall", tmp_path, evaluations=1500, deliver=8))
    problem = make_job(brief).problem
    front = search(problem, SearchSettings(evaluations=1500, seed=3)).front
    refused = {row.tobytes() for row in front.x[::2]}

    def judging(problem, x, proving=None):
        found = judged(problem, x)
        fails = np.array([row.tobytes() in refused for row in x])
        return replace(found, margins=np.where(fails[:, None], 0.5, found.margins))

    monkeypatch.setattr("longvault.studies.record_designs.judged", judging)
    assert len(front) > 30
    delivered = deliver("hall", problem, front, 8, proving_of(brief))
    assert len(delivered.names) == 8
    assert not refused & {design.x.tobytes() for design in delivered.designs}
    assert delivered.proof.tried == 8 + delivered.proof.refused
    assert len(deliver("hall", problem, front, 8).names) < 8, "without a proof nothing is tried again"
