"""Margins of a single limit where the division by the capacity would fail."""

import numpy as np

from longvault.constraints.basis import Basis, Requirements
from longvault.constraints.evaluate import evaluate
from longvault.constraints.limit import CAP, Limit
from longvault.sections.strips import Strips


def test_a_cap_of_nothing_holds_where_there_is_nothing_and_is_broken_by_what_there_is():
    nothing = Limit("steep-share", "surface that needs a top form", "steep_share", 0.0, CAP, "share", "brief")
    assert nothing.margin({"steep_share": np.array([0.0, 0.25, np.nan])})[:2].tolist() == [0.0, 0.25]


def test_no_top_form_at_all_may_be_asked():
    """Slopes 0.2 and 1.0: all of the first roof is cast in open forms, all of the second needs a top form."""
    roofs = Strips.chain(
        [[-3.0, 0.0, 3.0]] * 2, [[0.0, 0.6, 0.0], [0.0, 3.0, 0.0]], np.full((2, 2), 0.1), ["wing"] * 2
    )
    need = Requirements(height_max=4.0, steep_share_max=0.0, steep_slope=0.5)
    result = evaluate(roofs, Basis(span=12.0, pitch=7.5, requirements=need))
    place = [limit.key for limit in result.limits].index("steep-share")
    assert result.margins[:, place].tolist() == [0.0, 1.0]
