"""No delivered design is one that the folded plate rejects; a search by beam theory alone delivers such."""

import numpy as np
import pytest

from longvault.constraints.proof import fine_proof, proof_limits
from longvault.optimise import search
from longvault.studies.brief import basis_of, load_brief
from longvault.studies.brief_basis import proving_of
from longvault.studies.checked import check_section
from longvault.studies.run import delivery, make_job, settings_of

from .sections_at_hand import small_brief

LEAST = {"reading-hall": 0.9, "market-hall": 0.1, "workshop": 0.0, "classroom": 0.0}
"""Every starter of one section from end to end, and the share of the beam level's front that the folded plate
refuses, at least, in these small searches."""


@pytest.mark.parametrize("kind", LEAST)
def test_delivered_front_is_proved_and_told_what_the_beam_level_would_have_let_through(kind, tmp_path):
    brief = load_brief(small_brief(kind, tmp_path, evaluations=4000, deliver=12))
    job = make_job(brief)
    delivered = delivery(job, search(job.problem, settings_of(brief)))
    assert delivered.feasible
    assert delivered.proof.tried >= len(delivered.names) >= 5
    refused, of = delivered.proof.beam_alone
    assert of >= 20
    assert refused / of >= LEAST[kind]
    basis, proving = basis_of(brief), proving_of(brief)
    keys = {limit.key for limit in proof_limits(basis, proving)}
    for place in range(0, len(delivered.names), 3):
        checked = check_section(delivered.section(place), basis, proving)
        assert keys <= {row.limit.key for row in checked.rows}
        assert checked.feasible, checked.governing.limit.key
        measures = {key: np.asarray(value) for key, value in checked.measures.items()}
        one = fine_proof(checked.section.strips, checked.section.joints, measures, basis, proving)
        for limit in proof_limits(basis, proving):
            assert float(limit.margin(measures | one)) <= 0.0, limit.key
