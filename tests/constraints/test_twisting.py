"""Torque of loads beside the shear centre: hand sums, which loads count, stresses on several spans."""

from dataclasses import replace
from itertools import pairwise, product

import numpy as np
import pytest
from briefed_sections import market_hall
from roofs import basis_for, designs_for, family_for
from test_hand_results_along_span import basis, north_light

from longvault.constraints.actions import Loads, Wind
from longvault.constraints.beam import support_of
from longvault.constraints.details import evaluate_closely
from longvault.constraints.evaluate import evaluate, module_loads
from longvault.constraints.load_cases import case_loads
from longvault.constraints.making import making
from longvault.constraints.proving import Proving
from longvault.constraints.span_forces import patterned_twist, span_forces, stations_of
from longvault.constraints.spans import Spans
from longvault.constraints.twisting import Turning, largest_torque, twisting_cases
from longvault.sections import Joint, Strips
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
    given = basis(24.0, 9.0, Loads(finish=600.0, maintenance=400.0))
    done = evaluate_closely(market_hall(0.75), given)
    assert float(done.measures["side_torque"]) == pytest.approx(1.5 * 400.0 * 4.5 * 2.25 * 12.0, rel=1e-6)
    assert abs(float(done.measures["end_torque"])) < 1.0
    found = twisting_cases(given.loads, market_hall(0.75), pitch=9.0)
    assert found.down[-2:] == pytest.approx([1800.0, 1800.0])
    assert found.about[-2:] == pytest.approx([-4050.0, 4050.0])


def test_snow_on_one_bay_and_none_on_the_next_by_hand():
    """The vault over a slot lies half on either module: 0.64 kN/m2 on half of 9 m, 1.6 times the people.

    Bending is no more than under snow everywhere; what it adds is torque, more than drift of the same snow
    (0.8 s against 1.0 and 0.5 s in the mean of each half at most: by hand 0.8 b^2 / 8 to 0.5 b^2 / 8).
    """
    given = basis(24.0, 9.0, Loads(finish=600.0, snow=640.0, maintenance=400.0))
    done = evaluate_closely(market_hall(0.75), given)
    assert float(done.measures["side_torque"]) == pytest.approx(1.5 * 640.0 * 4.5 * 2.25 * 12.0, rel=1e-6)
    assert "snow" in done.cases["torsion-shear"].name()
    found = twisting_cases(given.loads, market_hall(0.75), pitch=9.0)
    named = {case.name: k for k, case in enumerate(found.cases)}
    halves = [named[f"snow on the {side} half"] for side in ("left", "right")]
    assert found.down[halves].sum() == pytest.approx(found.down[named["uniform"]])
    steep = replace(given.loads, drift="cylindrical", ground_snow=800.0)
    gathered = twisting_cases(steep, market_hall(0.75), pitch=9.0)
    at = [case.name for case in gathered.cases].index("drift to the right")
    assert abs(gathered.about[at]) < 0.9 * abs(found.about[halves[0]])


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
    assert [b.alone for b in (lone, between, end, apart)] == [True, False, True, True]
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
    given = basis(24.0, 9.0, Loads(finish=600.0, wind=wind))
    done = evaluate_closely(market_hall(0.75), given)
    assert "lee" in done.cases["torsion-shear"].name()
    strips = market_hall(0.75)
    on = np.array([part == "crown" for part in strips.parts])
    x1, z1, x2, z2 = (v[strips.ends[on, side]] for side in (0, 1) for v in (strips.x, strips.z))
    right, height = -5000.0 * (z2 - z1), 0.5 * (z1 + z2)
    lever = float(torsion_properties(strips).shear_centre_z) - height
    sideways = (right * lever)[x1 + x2 > 0].sum()
    assert sideways > 9e3  # as much again as a fifth of the upward part
    torque = 5000.0 * 4.5 * 2.25 + sideways
    assert float(done.measures["side_torque"]) == pytest.approx(1.5 * torque * 12.0, rel=2e-3)


def shed():
    """North light of straight pieces: kerb, gutter, a wing at 41 degrees; its glass stands at 61 degrees."""
    return Strips.chain(
        [-0.5, -0.5, 0.0, 3.5], [0.3, 0.0, 0.0, 3.0], [0.15, 0.15, 0.08], ["kerb", "gutter", "wing"]
    )


def torque_by_integration(corners, pressures, x, z, pieces=4000):
    """Force down, to the right, and torque about (x, z) of pressures square to straight pieces, by sums."""
    total = np.zeros(3)
    for (a, b), p in zip(pairwise(corners), pressures, strict=True):
        at = np.linspace(a, b, pieces + 1)
        dx, dz = np.diff(at, axis=0).T
        mx, mz = (0.5 * (at[1:] + at[:-1])).T
        total += [p * dx.sum(), p * dz.sum(), (-p * dx * (mx - x) - p * dz * (mz - z)).sum()]
    return total


def test_wind_square_to_steep_glass_and_kerb_by_integration():
    """Glass hangs half here, half on the neighbour; the sideways part is more than half of the torque."""
    strips, left, right = shed(), 0.75 / 5.5, 4.75 / 5.5
    wind = (Wind("north", ((0.0, left, 700.0), (left, right, -300.0), (right, 1.0, 700.0))),)
    given = basis(12.0, 5.5, Loads(snow=640.0, wind=wind))
    p, torsion = section_properties(strips), torsion_properties(strips)
    lines = module_loads(p, making(strips, bend_radius=0.5, steep_slope=0.8), np.zeros(()), given)
    turning = Turning.of(strips, p, torsion, given, lines)
    corners = np.array(
        [[-1.25, 1.65], [-0.5, 0.3], [-0.5, 0.0], [0.0, 0.0], [3.5, 3.0], [4.25, 1.65]], dtype=float
    )
    pressures = [700.0, -300.0, -300.0, -300.0, 700.0]
    x, z = float(torsion.shear_centre_x), float(torsion.shear_centre_z)
    down, sideways, torque = torque_by_integration(corners, pressures, x, z)
    found = case_loads(given.loads, strips, pitch=5.5, place=True)
    k = [case.name for case in found.cases].index("north")
    assert float(found.down[k]) == pytest.approx(down, rel=1e-9)
    assert float(found.right[k]) == pytest.approx(sideways, rel=1e-3)
    c = next(i for i, name in enumerate(turning.rules.names) if name.startswith("G + 1.5 wind"))
    assert float(turning.swing[c]) == pytest.approx(1.5 * torque, rel=5e-3)
    level = corners * [1.0, 0.0] + [0.0, z]
    assert abs(torque_by_integration(level, pressures, x, z)[2]) < 0.5 * abs(torque)


def test_an_even_pressure_over_the_bay_has_no_sideways_part():
    wind = (Wind("all over", ((0.0, 1.0, -900.0),)),)
    for strips, pitch in ((shed(), 5.5), (north_light(45.5), 6.0), (market_hall(0.75), 9.5)):
        found = case_loads(Loads(wind=wind), strips, pitch=pitch, place=True)
        assert float(found.right[-1]) == pytest.approx(0.0, abs=1e-6)
        middle = 0.5 * float(strips.x.min() + strips.x.max())
        if strips.parts[0] != "kerb":
            assert float(found.about[-1]) == pytest.approx(-900.0 * pitch * middle, abs=1e-3)


def stiffness_solution(lengths, torques, warping, uniform, pieces=60):
    """Twist of spans in a row by cubic finite elements of Vlasov's equation; every support holds the twist.

    Returns bimoment and whole torque at the nodes of every span, each by itself: torque from equilibrium.
    """
    steps = np.concatenate([np.full(pieces, length / pieces) for length in lengths])
    load = np.concatenate([np.full(pieces, m) for m in torques])
    size = 2 * (len(steps) + 1)
    matrix, right = np.zeros((size, size)), np.zeros(size)
    for e, (h, m) in enumerate(zip(steps, load, strict=True)):
        bend = np.array([
            [12, 6 * h, -12, 6 * h], [6 * h, 4 * h * h, -6 * h, 2 * h * h],
            [-12, -6 * h, 12, -6 * h], [6 * h, 2 * h * h, -6 * h, 4 * h * h],
        ]) * warping / h**3  # fmt: skip
        pull = np.array([
            [36, 3 * h, -36, 3 * h], [3 * h, 4 * h * h, -3 * h, -h * h],
            [-36, -3 * h, 36, -3 * h], [3 * h, -h * h, -3 * h, 4 * h * h],
        ]) * uniform / (30 * h)  # fmt: skip
        own = slice(2 * e, 2 * e + 4)
        matrix[own, own] += bend + pull
        right[own] += m * np.array([h / 2, h * h / 12, h / 2, -h * h / 12])
    held = 2 * pieces * np.arange(len(lengths) + 1)
    free = np.setdiff1d(np.arange(size), held)
    phi = np.zeros(size)
    phi[free] = np.linalg.solve(matrix[np.ix_(free, free)], right[free])
    ends = matrix @ phi - right  # torque that each support gives
    moments, ends_of = [], []
    before = 0.0
    for k, (length, m) in enumerate(zip(lengths, torques, strict=True)):
        h, first = length / pieces, 2 * pieces * k
        q = phi[first : first + 2 * pieces + 2].reshape(-1, 2)
        a, b = q[:-1], q[1:]
        near = (-6 * a[:, 0] + 6 * b[:, 0]) / h**2 - (4 * a[:, 1] + 2 * b[:, 1]) / h
        moments.append(-warping * np.append(near, (6 * a[-1, 0] - 6 * b[-1, 0]) / h**2
                                            + (2 * a[-1, 1] + 4 * b[-1, 1]) / h))  # fmt: skip
        start = before - ends[held[k]]
        ends_of.append((start, start - m * length))
        before = start - m * length
    return np.array(moments), np.array(ends_of)


@pytest.mark.parametrize("ratio", [1e-6, 0.5, 3.0])
def test_loads_on_either_side_of_each_span_against_every_pattern(ratio):
    """Three spans, on each the torque one way, the other way or none: the worst of all 27 by elements.

    ``ratio`` is GJ L^2 / E Gamma. Everywhere the same way is not the worst: at an inner support by some per
    cent, in the spans by up to three quarters; with St Venant torsion alone it would be.
    """
    lengths, modulus, shear = (10.0, 12.0, 10.0), 30e9, 12.5e9
    torsion = torsion_properties(shed())
    warping = modulus * float(torsion.warping_constant)
    torsion = replace(torsion, torsion_constant=np.asarray(ratio * warping / 100.0 / shear))
    most, least = patterned_twist(
        torsion, spans=Spans.continuous(*lengths), fixed=np.array([2e3, 2e3]), most=np.array(3e3),
        least=np.array(-1e3), modulus=modulus, shear_modulus=shear,
    )  # fmt: skip
    found = [
        stiffness_solution(lengths, 2e3 + np.array(pattern), warping, ratio * warping / 100.0)
        for pattern in product((3e3, -1e3, 0.0), repeat=3)
    ]
    bimoment, ends = (np.stack(one) for one in zip(*found, strict=True))
    at, starts = stations_of(Spans.continuous(*lengths)).y, np.cumsum([0.0, *lengths[:-1]])
    top = np.abs(bimoment).max()
    for k, (start, length) in enumerate(zip(starts, lengths, strict=True)):
        for s in np.flatnonzero((at > start) & (at < start + length)):
            here = [np.interp(at[s] - start, np.linspace(0.0, length, 61), one[k]) for one in bimoment]
            assert most.bimoment[s] == pytest.approx(max(here), abs=2e-3 * top)
            assert least.bimoment[s] == pytest.approx(min(here), abs=2e-3 * top)
    found_torque = max(float(np.abs(one.torque).max()) for one in (most, least))
    assert found_torque == pytest.approx(np.abs(ends).max(), rel=1e-3)
    everywhere_b, everywhere_t = stiffness_solution(
        lengths, np.full(3, 5e3), warping, ratio * warping / 100.0
    )
    assert np.abs(bimoment).max() > 1.02 * np.abs(everywhere_b).max()
    assert np.abs(ends).max() > (1.002 if ratio > 1 else 1.01) * np.abs(everywhere_t).max()
