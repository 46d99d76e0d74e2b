"""Wind from the side: bending both ways against closed forms, fibres, brute force and finite strips."""

from dataclasses import replace
from itertools import product

import numpy as np
import pytest
from rigid_section import rigid_section_stress
from roofs import basis_for, designs_for, family_for

from longvault.constraints.actions import CHARACTERISTIC, ULTIMATE, Wind
from longvault.constraints.bars import Bars
from longvault.constraints.beam import support_of
from longvault.constraints.combinations import all_combined
from longvault.constraints.cracked import steel_for_moment
from longvault.constraints.design_strengths import eurocode_block
from longvault.constraints.details import evaluate_closely
from longvault.constraints.evaluate import evaluate, module_loads
from longvault.constraints.load_cases import case_loads
from longvault.constraints.making import making
from longvault.constraints.materials import Concrete
from longvault.constraints.proof_loads import unit_loads
from longvault.constraints.reinforcement import beam_section
from longvault.constraints.span_forces import span_forces
from longvault.constraints.spans import Spans, unit_response
from longvault.constraints.stress import stress_field
from longvault.constraints.torsion import load_torque
from longvault.sections import Strips
from longvault.sections.opening import KERB
from longvault.sections.parts import roof_surface
from longvault.sections.properties import section_properties
from longvault.sections.torsion import torsion_properties
from longvault.studies.sheet_sideways import corner_fields

WEST = Wind("west", ((0.0, 0.5, 1500.0), (0.5, 1.0, -900.0)))
EAST = Wind("east", ((0.0, 0.4, -1200.0),))
KEYS = ("gull-wing", "one-sided", "vault")


def windy(basis, *winds):
    return replace(basis, loads=replace(basis.loads, wind=winds or (WEST, EAST)))


def fibres(strips, count=60, through=8):
    """Cut every strip into small pieces: x, z and area of each (any text on mechanics)."""
    rows = []
    for (i, j), t in zip(strips.ends, strips.thickness, strict=True):
        dx, dz = strips.x[j] - strips.x[i], strips.z[j] - strips.z[i]
        length = np.hypot(dx, dz)
        u = (np.arange(count) + 0.5) / count
        v = ((np.arange(through) + 0.5) / through - 0.5) * t / length
        x = strips.x[i] + u[:, None] * dx - v * dz
        z = strips.z[i] + u[:, None] * dz + v * dx
        rows.append(np.stack([x.ravel(), z.ravel(), np.full(x.size, length * t / x.size)]))
    return np.concatenate(rows, axis=1)


def plane(strips, moment, side):
    """Plane of stress a + b x + c z with no force and both moments, from the fibres alone."""
    x, z, area = fibres(strips)
    terms = np.stack([np.ones_like(x), x, z])
    return np.linalg.solve((terms * area) @ terms.T, [0.0, side, -moment])


def corner_stress(strips, moment, side):
    a, b, c = plane(strips, moment, side)
    found = []
    for (i, j), t in zip(strips.ends, strips.thickness, strict=True):
        dx, dz = strips.x[j] - strips.x[i], strips.z[j] - strips.z[i]
        nx, nz = -dz / np.hypot(dx, dz) * t / 2, dx / np.hypot(dx, dz) * t / 2
        found += [
            a + b * (strips.x[n] + s * nx) + c * (strips.z[n] + s * nz) for n in (i, j) for s in (1, -1)
        ]
    return np.array(found)


def loads_of(strips, basis):
    p, need = section_properties(strips), basis.requirements
    made = making(strips, bend_radius=need.bend_radius_min, steep_slope=need.steep_slope)
    opening = evaluate(strips, basis).measures["opening"]
    return module_loads(p, made, opening, basis, strips), case_loads(basis.loads, strips, pitch=basis.pitch)


def every_pair(strips, basis, state, kind="moment"):
    """Both moments (or shear forces) of every combination, at every station, for every pattern of load."""
    lines, variable = loads_of(strips, basis)
    rules, unit = all_combined(basis.combinations, variable.cases)[state], unit_response(basis.line)
    response = getattr(unit, kind)
    fields = len(basis.line.fields)
    found = []
    for c in range(len(rules.names)):
        down = float(rules.variable[c] @ variable.down)
        right = float(rules.variable[c] @ variable.right)
        for pattern in product((0.0, 1.0), repeat=fields):
            on = np.array(pattern) @ response
            dead = rules.permanent[c] * float(lines.permanent) * response.sum(axis=0)
            found.append(np.stack([dead + down * on, right * on], axis=-1))
    return np.concatenate(found)


@pytest.mark.parametrize("key", KEYS)
@pytest.mark.parametrize("spans", [None, Spans.canopy(back=5.0, arm=9.0), Spans.continuous(9.0, 12.0)])
def test_stress_is_that_of_a_plane_through_all_fibres_for_every_combination_and_pattern(key, spans):
    basis = windy(basis_for(key))
    if spans is not None:
        basis = replace(basis, spans=spans, support=support_of("row", spans, spans.depth_span))
    for strips in family_for(key).strips(designs_for(key, 3)):
        done = evaluate(strips, basis).measures
        unit = np.stack([corner_stress(strips, 1.0, 0.0), corner_stress(strips, 0.0, 1.0)])
        for state, compression in ((ULTIMATE, "compression"), (CHARACTERISTIC, "compression_service")):
            stress = every_pair(strips, basis, state) @ unit
            assert float(done[compression]) == pytest.approx(-stress.min(), rel=2e-4)
        assert float(done["tension_service"]) == pytest.approx(stress.max(), rel=2e-4)


@pytest.mark.parametrize("key", KEYS)
def test_main_steel_holds_the_pull_of_both_moments(key):
    basis = windy(basis_for(key))
    for strips in family_for(key).strips(designs_for(key, 3)):
        done = evaluate(strips, basis).measures
        x, z, area = fibres(strips)
        section = beam_section(strips, section_properties(strips), detailing=basis.detailing)
        arm = float(min(section.arm_block, section.arm_bars))
        most = 0.0
        for moment, side in np.unique(every_pair(strips, basis, ULTIMATE), axis=0):
            if moment < 0.0:
                continue
            pulls = []
            for both in ((moment, side), (moment, 0.0)):
                a, b, c = plane(strips, *both)
                pulls.append((np.maximum(a + b * x + c * z, 0.0) * area).sum())
            most = max(most, moment / arm + max(pulls[0] - pulls[1], 0.0))
        assert float(done["steel_area"]) * basis.strengths.steel == pytest.approx(most, rel=2e-3)


def test_a_rectangle_by_hand():
    """0.3 x 1.2 m: 72 and 18 kNm make M / (b h^2 / 6) + H / (h b^2 / 6) at a corner, also by fibres."""
    beam = Strips.chain([0.0, 0.0], [0.0, 1.2], 0.3, "web")
    by_hand = 72.0 / (0.3 * 1.2**2 / 6) + 18.0 / (1.2 * 0.3**2 / 6)
    f, g = corner_fields(beam)
    assert (72.0 * f - 18.0 * g).max() == pytest.approx(by_hand, rel=1e-12)
    assert corner_stress(beam, 72.0, 18.0).max() == pytest.approx(by_hand, rel=0.02)  # eight fibres through


@pytest.mark.parametrize("key", KEYS)
def test_the_push_is_pressure_times_projected_height_to_a_thousandth(key):
    """Beam and folded plate carry the same: the sum over all pieces of p dz, glass and kerbs with them."""
    basis = windy(basis_for(key))
    strips, joints = family_for(key).strips(designs_for(key, 5)), family_for(key).joints
    found = case_loads(basis.loads, strips, pitch=basis.pitch)
    plate = unit_loads(strips, joints, np.zeros(strips.batch), basis)
    for k, wind in enumerate(basis.loads.wind, len(found.cases) - 2):
        on_plate = plate[1 + k].nodal(strips)
        np.testing.assert_allclose(on_plate[..., 0].sum(axis=-1), found.right[..., k], rtol=1e-9, atol=1e-6)
        np.testing.assert_allclose(
            -on_plate[..., 2].sum(axis=-1), np.broadcast_to(found.down, found.right.shape)[..., k], rtol=1e-3
        )
        for i, one in enumerate(strips):
            by_hand = pushed_by_pieces(one, wind, basis.pitch)
            scale = 1e-3 * max(abs(by_hand), 100.0)
            assert float(found.right[i, k]) == pytest.approx(by_hand, abs=scale)


def pushed_by_pieces(strips, wind, pitch, count=200_001):
    """Follow the surface over the bay in small steps: sum of pressure times rise."""
    surface = strips.ends[roof_surface(strips)]
    x = strips.x[surface]
    left, right = x.min(), x.max()
    middle = 0.5 * (left + right)
    at = np.linspace(left, right, count)
    top = np.full(count, -np.inf)
    for i, j in surface:
        i, j = (i, j) if strips.x[i] <= strips.x[j] else (j, i)
        if strips.x[j] > strips.x[i]:
            on = (at >= strips.x[i] - 1e-12) & (at <= strips.x[j] + 1e-12)
            top[on] = np.maximum(top[on], np.interp(at[on], strips.x[[i, j]], strips.z[[i, j]]))
    known = top > -np.inf
    top = np.interp(at, at[known], top[known])
    kerbs = np.unique(strips.ends[strips.of_part(KERB)])
    edges = []
    for end, side in ((top[0], -1.0), (top[-1], 1.0)):
        own = [strips.z[n] for n in kerbs if side * (strips.x[n] - middle) > 0.0]
        edges.append(max([end, *own]))
    mean = 0.5 * sum(edges)
    places = np.concatenate([[middle - pitch / 2, left], at, [right, middle + pitch / 2]])
    heights = np.concatenate([[mean, edges[0]], top, [edges[1], mean]])
    share = (0.5 * (places[1:] + places[:-1]) - middle) / pitch + 0.5
    pressure = sum(p * ((share >= a) & (share < b)) for a, b, p in wind.zones)
    return float((pressure * np.diff(heights)).sum())


def test_with_finite_strips_that_keep_their_shape():
    """A shed pushed down and to the right beside its shear centre: every node within 3 % of the largest."""
    strips = Strips.chain(
        [0.0, 1.0, 3.0, 4.5, 4.4], [0.0, 0.2, 1.2, 2.0, 2.4], [0.2, 0.15, 0.12, 0.2], "wing"
    )
    p, t = section_properties(strips), torsion_properties(strips)
    span, down, right, x, z, modulus = 16.0, 30e3, 12e3, 2.0, 1.5, 30e9
    forces = span_forces(
        t, spans=Spans.simple(span), load=0.0, variable=down, right=right, modulus=modulus,
        torque=load_torque(t, down=down, x=x, right=right, z=z), shear_modulus=modulus / 2, intervals=4,
    )  # fmt: skip
    values = stress_field(strips, p, t, forces, ratio=2.0).normal[4]
    ours = np.empty(strips.x.size)
    ours[strips.ends[:, 0]], ours[strips.ends[:, 1]] = values[:, 0], values[:, 2]
    oracle, _ = rigid_section_stress(
        strips, span=span, load=down, x=x, right=right, z=z, modulus=modulus, harmonics=39
    )
    assert ours == pytest.approx(oracle, abs=0.03 * np.abs(oracle).max())
    without, _ = rigid_section_stress(strips, span=span, load=down, x=x, modulus=modulus, harmonics=39)
    assert np.abs(without - oracle).max() > 0.1 * np.abs(oracle).max()  # the push is no small thing


def test_cracked_steel_turns_with_the_load():
    """A square turned under an upright load is the upright one under a load turned the other way."""
    block, turn = eurocode_block(Concrete(30e6)), np.radians(20.0)
    at, bars, area = (
        np.array([[0.0, 0.0], [0.0, 0.6]]),
        np.array([[-0.1, 0.05], [0.1, 0.05], [0.1, 0.1]]),
        [1, 1, 0.5],
    )

    def steel(angle, moment, slant=0.0):
        matrix = np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])
        nodes, places = at @ matrix.T, bars @ matrix.T
        return float(
            steel_for_moment(
                Strips.chain(nodes[:, 0], nodes[:, 1], [0.3], "web"),
                Bars(places[:, 0], places[:, 1], np.array(area)),
                moment=moment, block=block, steel=435e6, slant=slant,
            ).steel_area
        )  # fmt: skip

    upright = steel(0.0, 300e3 * np.cos(turn), -np.tan(turn))
    assert upright == pytest.approx(steel(turn, 300e3), rel=1e-6)
    assert upright > 1.1 * steel(0.0, 300e3 * np.cos(turn))


def test_what_neighbours_hold_does_not_bend_and_the_force_is_told():
    family, plain = family_for("one-sided"), basis_for("one-sided")
    strips = family.strips(designs_for("one-sided", 6))
    free, held = evaluate(strips, windy(plain)), evaluate(strips, windy(replace(plain, held=True)))
    same = evaluate(strips, replace(windy(plain, Wind("even", ((0.0, 1.0, -900.0),))), held=True))
    assert "side_moment" not in held.measures
    assert (free.measures["side_moment"] > 0.0).all()
    p, right = section_properties(strips), case_loads(windy(plain).loads, strips, pitch=plain.pitch).right
    np.testing.assert_allclose(held.measures["wind_push"], np.abs(right).max(axis=-1))
    force = np.abs(held.measures["holding_force"])
    assert (force >= np.abs(same.measures["characteristic_load"] * p.ixz / p.ixx) * 0.5).all()
    np.testing.assert_allclose(
        free.measures["wind_reaction"], 1.5 * np.abs(right).max(axis=-1) * plain.span / 2, rtol=1e-12
    )


@pytest.mark.parametrize("key", KEYS)
def test_mirrored_section_and_wind_ask_for_the_same(key):
    basis = basis_for(key)
    strips = family_for(key).strips(designs_for(key, 4))
    mirrored = Strips(-strips.x, strips.z, strips.ends, strips.thickness, strips.parts)
    back = Wind("west", tuple((1.0 - b, 1.0 - a, q) for a, b, q in WEST.zones))
    one, other = evaluate(strips, windy(basis, WEST)), evaluate(mirrored, windy(basis, back))
    for name in (
        "compression",
        "tension_service",
        "steel_area",
        "shear_stress",
        "side_moment",
        "sideways_size",
    ):
        np.testing.assert_allclose(one.measures.get(name, 0.0), other.measures.get(name, 0.0), rtol=1e-7)


def test_batch_law_and_bad_rows():
    basis = replace(windy(basis_for("gull-wing")), crosswise=None)
    strips = family_for("gull-wing").strips(designs_for("gull-wing", 12))
    x = strips.x.copy()
    x[5] = np.nan
    strips = Strips(x, strips.z, strips.ends, strips.thickness, strips.parts)
    whole = evaluate_closely(strips, basis)
    for name in ("compression", "steel_area", "side_moment", "oblique_moment", "oblique_side"):
        assert np.isnan(whole.measures[name][5]), name
    for i in (0, 4, 5, 11):
        one = evaluate_closely(strips[i], basis)
        for name, values in whole.measures.items():
            assert np.array_equal(values[i], one.measures[name], equal_nan=True), name


def test_an_even_wind_costs_nothing_and_changes_nothing():
    """Its sideways part is nothing: measures are those of the vertical part alone, bit for bit."""
    basis = windy(basis_for("gull-wing"), Wind("even", ((0.0, 0.3, 500.0), (0.3, 1.0, 500.0))))
    assert not basis.loads.pushes
    found = evaluate(family_for("gull-wing").strips(designs_for("gull-wing", 3)), basis)
    assert not {"side_moment", "wind_push", "main_moment"} & set(found.measures)


def test_closer_checks_hold_stress_of_both_ways():
    """Compression with torsion is no less than that of bending both ways alone, nor is the cracked steel."""
    basis = windy(basis_for("gull-wing"))
    strips = family_for("gull-wing").strips(designs_for("gull-wing", 6))
    done = evaluate_closely(strips, basis).measures
    assert (done["edge_compression"] >= (1.0 - 1e-9) * done["compression"]).all()
    assert np.isfinite(done["cracked_steel"]).all()
