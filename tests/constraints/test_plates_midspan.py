"""What the checks ask of a folded plate: compiled and plain recovery agree, superposition, batch law."""

import numpy as np
import pytest
from plain_plates import mid_span_arrays
from roofs import KEYS, designs_for, family_for

from longvault.constraints.plates import PlateLoads, combined, folded_plates
from longvault.constraints.plates_midspan import MidSpan, mid_span
from longvault.sections import Strips

CASES = (PlateLoads(surface=2500.0), PlateLoads(plan=np.linspace(0.0, 1200.0, 64), line_right=30.0))
NAMES = ("n_y", "m_y", "m_s", "n_ys", "right", "up")


def solved(strips):
    cases = [CASES[0], PlateLoads(plan=800.0)] if len(strips.parts) != 64 else CASES
    return folded_plates(strips, cases, span=24.0, modulus=30e9, poisson=0.2)


def branched():
    x, z = np.array([-3.0, -2.0, 0.0, 2.0, 3.0, -2.0, 2.0]), np.array([0.9, 0.7, 0.0, 0.7, 0.9, 1.4, 1.4])
    ends = np.array([(0, 1), (2, 1), (2, 3), (3, 4), (1, 5), (6, 3)])
    return Strips(x, z, ends, np.array([0.1, 0.1, 0.1, 0.2, 0.1, 0.1]), ("wing",) * 6)


@pytest.mark.parametrize("key", [*KEYS, "branched"])
def test_compiled_and_plain_recovery_agree(key):
    strips = branched() if key == "branched" else family_for(key).strips(designs_for(key, 5))
    for case, found in zip(solved(strips), mid_span(solved(strips)), strict=True):
        plain = mid_span_arrays(case)
        for name in NAMES:
            one, two = getattr(found, name), getattr(plain, name)
            np.testing.assert_allclose(one, two, rtol=0, atol=1e-11 * np.abs(two).max(), err_msg=name)


def test_superposed_results_are_results_of_superposed_loads():
    cases = solved(family_for("vault").strips(designs_for("vault", 4)))
    factors = (1.35, np.array([1.5, 0.0, 0.75, 1.5]))
    added = MidSpan.combined(mid_span(cases), factors)
    whole = mid_span_arrays(combined(cases, factors))
    for name in NAMES:
        two = getattr(whole, name)
        np.testing.assert_allclose(getattr(added, name), two, rtol=0, atol=1e-11 * np.abs(two).max())


def test_batch_law():
    strips = family_for("gull-wing").strips(designs_for("gull-wing", 6))
    whole = mid_span(solved(strips))
    for i in (0, 5):
        for case, one in zip(whole, mid_span(solved(strips[i])), strict=True):
            for name in NAMES:
                assert getattr(case, name)[i].tobytes() == getattr(one, name).tobytes(), name
