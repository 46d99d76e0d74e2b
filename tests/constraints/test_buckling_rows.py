"""Rows of modules that share valleys: they buckle alike or in turn, and the lower of the two counts.

Plate factors: Timoshenko & Gere, Theory of Elastic Stability, long plates in compression: both edges hinged
4.00, one hinged and one clamped 5.42, both clamped 6.97 (from memory).
"""

import numpy as np
import pytest
from roofs import basis_for

from longvault.constraints.plates_records import Supports
from longvault.constraints.plates_row import bay_supports, row, valleys_in_turn
from longvault.constraints.proof_demands import finite_strip_buckling
from longvault.constraints.proving import Proving
from longvault.constraints.stability import lowest_factor, plate_stress
from longvault.sections import Joint, Section, Strips

THICK, PIECES = 0.01, 16
WAVES = np.linspace(0.6, 1.1, 51)


def zigzag(plates):
    """Plates of unit width that rise and fall at 45 degrees, a valley joint at either end."""
    along = np.linspace(0.0, plates, plates * PIECES + 1)
    height = 1.0 - np.abs(along % 2.0 - 1.0)
    strips = Strips.chain(np.sqrt(0.5) * along, np.sqrt(0.5) * height, THICK, "wing")
    ends = Joint(0, "valley", "left"), Joint(plates * PIECES, "valley", "right")
    return Section("zigzag", strips, ends)


def pressed(section):
    return np.full((len(section.strips.parts), 2), -1.0)


def factor(section, supports, waves=WAVES):
    """k of plates of unit width under equal compression."""
    found, _ = lowest_factor(
        section.strips, pressed(section), half_waves=waves, modulus=1.0, poisson=0.3, supports=supports,
        guess=1e-4, accuracy=1e-6,
    )  # fmt: skip
    return float(found / plate_stress(1.0, thickness=THICK, width=1.0, modulus=1.0, poisson=0.3))


@pytest.mark.parametrize(("plates", "mirrored"), [(1, 6.97), (2, 5.42)])
def test_folds_are_hinges_in_turn_and_clamps_where_mirrored(plates, mirrored):
    section = zigzag(plates)
    alike = bay_supports(section, "interior")
    assert factor(section, alike) == pytest.approx(mirrored, rel=3e-3)
    assert factor(section, valleys_in_turn(alike)) == pytest.approx(4.00, rel=1e-3)


def test_a_whole_row_buckles_as_the_lower_of_both():
    """Six modules solved as one, their outer sides as both kinds of neighbour hold them."""
    one, pitch = zigzag(2), np.sqrt(2.0)
    strips, _ = row(one, 6, pitch)
    ends = Joint(0, "valley", "left"), Joint(strips.x.size - 1, "valley", "right")
    chain = Section("row", strips, ends)
    lower = factor(one, valleys_in_turn(bay_supports(one, "interior")))
    assert lower < factor(one, bay_supports(one, "interior"))
    alike = bay_supports(chain, "interior")
    assert factor(chain, valleys_in_turn(alike)) == pytest.approx(lower, rel=1e-4)
    assert lower * 0.9999 < factor(chain, alike) < 1.05 * lower  # outer sides clamped


def test_an_end_bay_has_its_hinge_on_one_side():
    section = zigzag(2)
    held = valleys_in_turn(bay_supports(section, "end")).spring
    assert held[-1].tolist() == [0.0, np.inf, np.inf, 0.0]
    assert not held[:-1].any()
    assert valleys_in_turn(bay_supports(section, "lone")) is None


def test_what_is_asked_of_a_row_is_the_larger_of_both():
    section, basis, proving = zigzag(2), basis_for("vault"), Proving()
    alike = bay_supports(section, "interior")
    asked = finite_strip_buckling(section.strips, pressed(section), alike, basis, proving, waves=WAVES)
    unit = plate_stress(1.0, thickness=THICK, width=1.0, modulus=basis.concrete.ecm, poisson=proving.poisson)
    by_hand = 1.0 / (proving.stability.design_share() * 4.00 * float(unit))
    assert float(asked) == pytest.approx(by_hand, rel=1e-3)


def test_without_a_shared_valley_nothing_is_looked_at_twice():
    assert valleys_in_turn(Supports.free(9)) is None
    leaning = np.zeros((9, 4))
    leaning[0, 0] = np.inf  # held across alone: no valley
    assert valleys_in_turn(Supports(leaning)) is None
