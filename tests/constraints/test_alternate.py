"""Snow on every other bay: by symmetry against a long row of modules, and what it adds to even snow."""

from dataclasses import replace

import numpy as np
import pytest
from roofs import basis_for

from longvault.constraints.actions import ULTIMATE, Loads
from longvault.constraints.alternate import alternate_bays, alternate_rows
from longvault.constraints.evaluate import evaluate
from longvault.constraints.plates import PlateLoads, folded_plates
from longvault.constraints.plates_midspan import mid_span
from longvault.constraints.plates_records import Links
from longvault.constraints.plates_row import bay_supports, neighbour_struts, row
from longvault.constraints.proof import proof_measures
from longvault.constraints.proving import Proving
from longvault.sections import Joint, Section, Strips

PITCH, COUNT = 6.0, 13
PROVING = Proving(harmonics=(1, 3, 5))


def fold():
    x = np.linspace(-3.0, 3.0, 13)
    strips = Strips.chain(x, 1.5 * (1.0 - np.abs(x) / 3.0), 0.09, "wing")
    return Section("fold", strips, (Joint(0, "valley", "left"), Joint(12, "valley", "right")))


def wings():
    """Gull-wings with struts across the slot, their edges a little apart."""
    x = np.linspace(-2.9, 2.9, 13)
    strips = Strips.chain(x, 1.2 * np.abs(x) / 2.9, 0.09, "wing")
    return Section("wings", strips, (Joint(0, "strut", "left", 4e7), Joint(12, "strut", "right", 4e7)))


def solved(strips, load, basis, **how):
    (found,) = mid_span(
        folded_plates(
            strips, (load,), span=basis.span, modulus=basis.concrete.ecm, poisson=PROVING.poisson,
            harmonics=PROVING.harmonics, **how,
        )
    )  # fmt: skip
    return found


@pytest.mark.parametrize("make", [fold, wings])
@pytest.mark.parametrize("span", [10.0, 24.0])
def test_a_long_row_loaded_in_turn(make, span):
    """Second implementation: thirteen modules as one chain, all strips; its middle bays, loaded and empty."""
    section, basis = make(), replace(basis_for("vault"), span=span, pitch=PITCH)
    snow = PlateLoads(plan=1000.0)
    supports = bay_supports(section, "interior")
    links = neighbour_struts(section.strips, section.joints, "interior", PITCH)
    even = solved(section.strips, snow, basis, supports=supports, links=links)
    pair = alternate_bays(section.strips, snow, even, supports, links, basis, PROVING)
    whole, joined = row(section, COUNT, PITCH)
    count, middle = len(section.strips.ends), COUNT // 2
    for one, first in zip(pair, (middle % 2, 1 - middle % 2), strict=True):
        on = np.repeat(np.arange(COUNT) % 2 == first, count)
        long = solved(whole, PlateLoads(plan=1000.0 * on), basis, links=joined)
        own = slice(middle * count, (middle + 1) * count)
        for name in ("m_s", "n_y", "n_s", "n_ys"):
            ours, theirs = (v.reshape(-1)[1:-1] for v in (getattr(one, name), getattr(long, name)[own]))
            # at the shared valley the long row tells the mean of both bays
            assert ours == pytest.approx(theirs, abs=0.03 * max(np.abs(getattr(p, name)).max() for p in pair))


def test_nothing_is_shared_across_an_open_slot():
    section = wings()
    apart = replace(section, joints=tuple(replace(j, kind="slot") for j in section.joints))
    basis, supports = basis_for("gull-wing"), bay_supports(apart, "interior")
    even = solved(section.strips, PlateLoads(plan=1000.0), basis, supports=supports, links=Links.none())
    assert not alternate_bays(
        section.strips, PlateLoads(plan=1000.0), even, supports, Links.none(), basis, PROVING
    )


def test_across_it_governs_over_even_snow_and_along_the_span_never():
    """A parabola between fixed valleys is pressed, hardly bent, by even snow; beside empty bays it bends."""
    x = np.linspace(-3.0, 3.0, 25)
    strips = Strips.chain(x, 1.0 * (1.0 - (x / 3.0) ** 2), 0.09, "crown")
    joints = (Joint(0, "valley", "left"), Joint(24, "valley", "right"))
    basis = replace(basis_for("vault"), span=30.0, pitch=6.0, loads=Loads(snow=4000.0))
    both = proof_measures(strips, joints, evaluate(strips, basis).measures, basis, PROVING)
    lone = replace(basis, loads=Loads(maintenance=4000.0))  # the same load, on all bays alone
    even = proof_measures(strips, joints, evaluate(strips, lone).measures, lone, PROVING)
    assert float(both["transverse_moment"]) > 1.5 * float(even["transverse_moment"])
    for key in ("plate_steel_area", "plate_compression"):
        assert float(both[key]) == pytest.approx(float(even[key]), rel=0.01)
    assert alternate_rows(basis, ULTIMATE, 1)[0] == (1.35, 0.0, 6000.0, 0.0)
