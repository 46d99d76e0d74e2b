"""Torque of loads beside the shear centre: hand sums, which loads count, stresses on several spans."""

from dataclasses import replace

import numpy as np
import pytest
from briefed_sections import market_hall
from roofs import basis_for, designs_for, family_for
from test_hand_results_along_span import basis, north_light

from longvault.constraints.actions import Loads, Wind
from longvault.constraints.beam import support_of
from longvault.constraints.details import evaluate_closely
from longvault.constraints.evaluate import evaluate, module_loads
from longvault.constraints.making import making
from longvault.constraints.proving import Proving
from longvault.constraints.span_forces import span_forces, stations_of
from longvault.constraints.spans import Spans
from longvault.constraints.twisting import Turning, counts_one_side, largest_torque, twisting_cases
from longvault.sections import Joint
from longvault.sections.properties import section_properties
from longvault.sections.torsion import torsion_properties

WORKSHOP = Loads(finish=600.0, snow=960.0, maintenance=600.0, glass=500.0)


def shear_centre_by_hand(strips, kerb, top, branch):
    """Moment of the shear flow of a vertical and of a sideways force, unsymmetrical bending (Megson, ch. 17).

    Flow is summed strip by strip from the free ends: kerb and gutter, then the downstand, then the arc.
    """
    i, j = strips.ends.T
    x1, z1, x2, z2 = strips.x[i], strips.z[i], strips.x[j], strips.z[j]
    t, length = strips.thickness, np.hypot(x2 - x1, z2 - z1)
    area = t * length
    x0, z0 = ((area * (a + b) / 2).sum() / area.sum() for a, b in ((x1, x2), (z1, z2)))
    ax, bx, az, bz = x1 - x0, x2 - x0, z1 - z0, z2 - z0
    ixx = (area * (az * az + az * bz + bz * bz) / 3).sum()
    izz = (area * (ax * ax + ax * bx + bx * bx) / 3).sum()
    ixz = (area * (2 * ax * az + 2 * bx * bz + ax * bz + bx * az) / 6).sum()
    det = ixx * izz - ixz**2
    arm = ax * (z2 - z1) - az * (x2 - x1)  # r ds about the centroid

    def turn(fx, fz):
        """Moment about the centroid of the flow that balances the fibre field f = fz z + fx x."""
        f1, f2 = fz * az + fx * ax, fz * bz + fx * bx
        whole = area * (f1 + f2) / 2
        before = np.zeros(len(t))
        running = 0.0
        for e in [*kerb, *top]:
            if e == top[0]:
                running += whole[branch]
            before[e] = running
            running += whole[e]
        # the branch starts at the node: what has gathered at its free end is zero
        before[branch] = -whole[branch]
        mean = before + area * (2 * f1 + f2) / 6
        assert (mean * (x2 - x1)).sum() == pytest.approx(0.0, abs=1e-9)  # no sideways force
        return (mean * arm).sum() / (mean * (z2 - z1)).sum()

    return x0 + turn(-ixz / det, izz / det)


def test_torque_of_the_workshop_by_hand():
    """Arc of 45.5 degrees: 17.1 x 0.39 + 3.4 x 0.75 + 6.8 x 0.83 = 14.8 kNm per metre of span.

    Own weight alone gives 6.6: the rest is finish on the surface, snow and glass in the middle of the bay.
    """
    strips = north_light(45.5)
    p, torsion = section_properties(strips), torsion_properties(strips)
    centre = float(torsion.shear_centre_x)
    done = evaluate_closely(strips, basis(12.0, 6.0, WORKSHOP)).measures
    own = 25.0 * float(p.area)
    finish = 0.6 * float(done["surface"])
    rest = 0.96 * 6.0 + 0.5 * float(done["opening"])
    x = 0.5 * (strips.x[strips.ends[:, 0]] + strips.x[strips.ends[:, 1]])
    roof = np.array([part in ("gutter", "wing") for part in strips.parts])
    surface = (strips.length * x)[roof].sum() / strips.length[roof].sum()
    middle = 0.5 * float(p.left + p.right)
    parts = own * (float(p.centroid_x) - centre), finish * (surface - centre), rest * (middle - centre)
    assert parts == pytest.approx((6.6, 2.5, 5.6), rel=0.05)
    more = float(done["ultimate_load"] / done["characteristic_load"])
    assert float(done["end_torque"]) / 1e3 == pytest.approx(sum(parts) * more * 6.0, rel=1e-3)


def test_shear_centre_of_the_workshop_by_summing_the_flow():
    strips = north_light(45.5)
    count = len(strips.thickness)
    found = shear_centre_by_hand(strips, [0, 1], list(range(2, count - 1)), count - 1)
    assert found == pytest.approx(float(torsion_properties(strips).shear_centre_x), abs=0.02)


def test_people_on_one_half_by_hand():
    """0.4 kN/m2 on half of 9 m, 2.25 m beside the middle, over half of 24 m and times 1.5: 72.9 kNm."""
    given = basis(24.0, 9.0, Loads(finish=600.0, snow=640.0, maintenance=400.0))
    done = evaluate_closely(market_hall(0.75), given)
    assert float(done.measures["side_torque"]) == pytest.approx(1.5 * 400.0 * 4.5 * 2.25 * 12.0, rel=1e-6)
    assert abs(float(done.measures["end_torque"])) < 1.0
    found = twisting_cases(given.loads, market_hall(0.75), pitch=9.0)
    assert found.down[-2:] == pytest.approx([1800.0, 1800.0])
    assert found.about[-2:] == pytest.approx([-4050.0, 4050.0])


def drifted(**more):
    loads = Loads(finish=600.0, snow=640.0, maintenance=400.0, drift="cylindrical", ground_snow=4000.0)
    return basis(24.0, 9.0, loads, **more)


VALLEYS = Joint(0, "valley", "left"), Joint(66, "valley", "right")


def test_neighbours_along_valleys_take_the_torque_of_one_side():
    """Drift on one half twists a lone vault; between shared valleys it goes into them, and is told."""
    strips = market_hall(0.75)
    lone, between = drifted(), drifted(crosswise=Proving(bays=("interior",)), joints=VALLEYS)
    end = drifted(crosswise=Proving(bays=("interior", "end")), joints=VALLEYS)
    slots = tuple(Joint(j.node, "slot", j.side) for j in VALLEYS)
    apart = drifted(crosswise=Proving(), joints=slots)
    assert [counts_one_side(b) for b in (lone, between, end, apart)] == [True, False, True, True]
    free, held = (evaluate_closely(strips, b) for b in (lone, between))
    assert float(free.measures["side_torque"]) == float(held.measures["side_torque"])
    for key in ("edge_compression", "torsion_shear", "principal_tension"):
        assert float(free.measures[key]) >= float(held.measures[key]), key
    assert float(free.measures["torsion_shear"]) > 1.05 * float(held.measures["torsion_shear"])
    assert "drift to the" in free.cases["torsion-shear"].name()
    assert held.cases["torsion-shear"].name() == held.cases["shear"].name()


def test_the_torque_of_every_combination():
    """Load times distance to the shear centre, case by case, against the combinations by hand."""
    strips, given = market_hall(0.75), drifted()
    p, torsion = section_properties(strips), torsion_properties(strips)
    lines = module_loads(p, making(strips, bend_radius=0.5, steep_slope=0.8), np.zeros(()), given)
    turning = Turning.of(strips, p, torsion, given, lines)
    cases = twisting_cases(given.loads, strips, pitch=9.0)
    k = [case.name for case in cases.cases].index("drift to the right")
    c = turning.rules.names.index("1.35 G + 1.5 snow (drift to the right)")
    assert float(turning.torque[c]) == pytest.approx(-1.5 * float(cases.about[k]), rel=1e-9)
    index = turning.picked()
    assert float(turning.torque[index[1]]) == float(turning.torque.max())
    assert float(turning.torque[index[2]]) == float(turning.torque.min())


SUPPORTED = {
    "continuous": Spans.continuous(12.0, 12.0),
    "overhanging": Spans.overhanging(14.0, left=4.0, right=4.0),
    "three": Spans.continuous(10.0, 12.0, 10.0),
}


@pytest.mark.parametrize("kind", SUPPORTED)
def test_several_spans_have_the_closer_checks_for_both_signs(kind):
    """Held straight, bending alone counts: stress over stations and patterns is that of the beam checks."""
    spans = SUPPORTED[kind]
    given = replace(
        basis_for("gull-wing"), spans=spans, span=12.0, support=support_of(kind, spans, 12.0), held=True
    )
    strips = family_for("gull-wing").strips(designs_for("gull-wing", 8))
    plain, done = evaluate(strips, given), evaluate_closely(strips, given)
    assert np.isfinite(done.margins).all()
    assert done.measures["edge_compression"] == pytest.approx(plain.measures["compression"], rel=0.01)
    assert (done.measures["cracked_steel_reverse"] > 0).all()
    turned = replace(given, held=False)
    free = evaluate_closely(strips, turned).measures
    assert (free["side_torque"] > 1e3).all()


def test_torsion_over_inner_supports():
    """Two equal spans, each support holds the twist: 5/8 m L beside the middle without St Venant."""
    strips = market_hall(0.75)
    torsion = torsion_properties(strips)
    torsion = replace(torsion, torsion_constant=torsion.torsion_constant * 1e-9)
    spans = SUPPORTED["continuous"]
    forces = span_forces(torsion, spans=spans, load=1.0, torque=1.0, modulus=30e9, shear_modulus=12.5e9)
    assert float(largest_torque(forces)) == pytest.approx(0.625 * 12.0, rel=1e-6)
    at = stations_of(spans)
    middle = np.flatnonzero(at.y == 12.0)
    assert forces.bimoment[middle] == pytest.approx([-18.0, -18.0], rel=1e-6)  # -m L^2 / 8
    assert forces.moment[middle] == pytest.approx([-18.0, -18.0], rel=1e-9)
    assert forces.shear[middle] == pytest.approx([-7.5, 7.5], rel=1e-9)


def test_suction_on_one_side_is_named():
    wind = (Wind("lee", ((0.5, 1.0, -5000.0),)), Wind("all over", ((0.0, 1.0, -300.0),)))
    given = basis(24.0, 9.0, Loads(finish=600.0, snow=640.0, wind=wind))
    done = evaluate_closely(market_hall(0.75), given)
    assert "lee" in done.cases["torsion-shear"].name()
    assert float(done.measures["side_torque"]) == pytest.approx(1.5 * 5000.0 * 4.5 * 2.25 * 12.0, rel=1e-6)
