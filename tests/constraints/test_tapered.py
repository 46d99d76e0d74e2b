"""A module that varies along the span: equal to the prismatic one where it does not, else by hand."""

from dataclasses import replace

import numpy as np
import pytest
from roofs import basis_for

from longvault.constraints.actions import Loads, Wind
from longvault.constraints.arch import BeamArch
from longvault.constraints.basis import Basis, Requirements
from longvault.constraints.beam import SUPPORTS, support_of
from longvault.constraints.evaluate import evaluate
from longvault.constraints.evaluate_member import evaluate_design, evaluate_member
from longvault.constraints.reinforcement import beam_section
from longvault.constraints.service import states_of
from longvault.constraints.spans import Spans
from longvault.constraints.taper import places
from longvault.sections import Strips
from longvault.sections.families import Setting
from longvault.sections.families.freeform import GullWing
from longvault.sections.families.tapered import Tapered
from longvault.sections.member import Member
from longvault.sections.properties import section_properties

SPANS = {
    "simple": Spans.simple(11.0),
    "cantilever": Spans.cantilever(11.0),
    "canopy": Spans.canopy(back=4.0, arm=11.0),
    "overhangs": Spans.overhanging(8.0, left=3.0, right=4.0),
}


def canopy(depth):
    x, z = [0.0, 0.3, 1.7, 2.3], np.array([0.0, 0.0, depth - 0.2, depth - 0.2])
    x, z = np.r_[-np.array(x[:0:-1]), x], np.r_[z[:0:-1], z]
    parts = ["crown", "wing", "keel", "keel", "wing", "crown"]
    return Strips.chain(x, z, [0.15, 0.09, 0.25, 0.25, 0.09, 0.15], parts)


def basis(kind, **more):
    spans = SPANS[kind]
    need = Requirements(height_max=1.6, glass_difference_max=0.01, sideways_ratio=500.0, pond_depth_max=0.01)
    wind = (Wind("pressure", ((0.0, 1.0, 500.0),)), Wind("suction", ((0.0, 1.0, -1300.0),)))
    loads = Loads(finish=300.0, snow=600.0, maintenance=400.0, wind=wind, erection=500.0)
    given = {"span": 11.0, "pitch": 4.8, "requirements": need, "loads": loads, "spans": spans}
    support = SUPPORTS[kind] if kind in SUPPORTS else support_of(kind, spans, 11.0)
    return Basis(support=support, **(given | more))


@pytest.mark.parametrize("kind", SPANS)
@pytest.mark.parametrize("uniform", [True, False])
def test_without_a_taper_it_is_the_prismatic_module(kind, uniform):
    """Two roads to the same numbers: exact influences, and the beam solved with its own stiffness."""
    given = basis(kind)
    given = replace(given, requirements=replace(given.requirements, long_term="factor"))
    if uniform:
        given = replace(given, loads=replace(given.loads, wind=()))
    one = evaluate(canopy(1.4), given)
    other = evaluate_member(Member.between(canopy(1.4), canopy(1.4)), given)
    assert other.limits == one.limits
    for key, value in one.measures.items():
        # stations of the coarser grid may miss the place of the largest moment or deflection by a little
        scale = (2e-2 if "reverse" in key else 1e-3) if kind in ("overhangs", "canopy") else 1e-9
        assert float(other.measures[key]) == pytest.approx(float(value), rel=scale, abs=1e-9), key
    assert other.note == "beam level, not proved by the folded plate"
    for key in ("compression", "steel-fits", "shear"):
        assert other.cases[key].name() == one.cases[key].name()


def test_curvature_of_cracked_sections_integrated_along_the_arm():
    """w(tip) = integral of late(y) M(y) / (E I) (L - y) dy; late by each section itself."""
    given = basis("cantilever", loads=Loads(snow=600.0, finish=300.0))
    done = evaluate_member(Member.between(canopy(1.4), canopy(1.4), stations=129), given)
    assert float(done.measures["deflection"]) < float(evaluate(canopy(1.4), given).measures["deflection"])
    p, strips = section_properties(canopy(1.4)), canopy(1.4)
    section = beam_section(strips, p, detailing=given.detailing, sagging=False)
    y = np.linspace(0.0, 11.0, 129)
    g = float(done.measures["permanent_load"])
    unit = 0.5 * (11.0 - y) ** 2
    ultimate, service = (float(done.measures[f"{key}_load"]) for key in ("ultimate", "characteristic"))
    arm = min(float(section.arm_block), float(section.arm_bars))
    late = [
        states_of(
            strips, p, section, moment=np.array(service * m), lasting=np.array(g * m), basis=given,
            sagging=False, steel=np.array(ultimate * moved / (arm * 500e6 / 1.15)),
        ).late
        for m, moved in zip(unit, 0.5 * (11.0 - np.maximum(y - 0.5 * arm, 0.0)) ** 2, strict=True)
    ]  # fmt: skip
    assert max(late) > 2.0 * min(late) == pytest.approx(7.0)
    bent = np.array(late) * g * unit / (given.concrete.ecm * float(section.inertia)) * (11.0 - y)
    assert float(done.measures["deflection"]) == pytest.approx(np.trapezoid(bent, y), rel=5e-3)


def test_volume_and_modulus_by_hand():
    """Mean area by quadrature; modulus = least of S(y) |M_ref| / |M(y)| over stations with 5 % of M_ref."""
    given = basis("cantilever", loads=Loads(snow=600.0))
    member = Member.between(canopy(1.4), canopy(0.45))
    done = evaluate_member(member, given)
    p = section_properties(member.sections)
    y = np.linspace(0.0, 11.0, 9)
    area = np.array(p.area)
    simpson = np.array([1, 4, 2, 4, 2, 4, 2, 4, 1]) / 24.0
    assert float(done.measures["area"]) == pytest.approx(simpson @ area, rel=1e-9)
    assert float(done.measures["equivalent_thickness"]) == pytest.approx(simpson @ area / 4.8, rel=1e-9)
    load = 1.35 * area * 25e3 + 1.5 * 600.0 * 4.8
    fine = np.linspace(0.0, 11.0, 4401)
    w = np.interp(fine, y, load)
    moment = np.array([np.trapezoid(w[fine >= v] * (fine[fine >= v] - v), fine[fine >= v]) for v in y])
    assert float(done.measures["ultimate_moment"]) == pytest.approx(moment[0], rel=5e-4)
    counted = moment >= 0.05 * moment[0]
    modulus = (np.array(p.s_free) * moment[0] / np.where(counted, moment, np.inf)).astype(float)
    modulus[~counted] = np.inf
    assert float(done.measures["section_modulus"]) == pytest.approx(modulus.min(), rel=5e-4)
    stress = moment / np.array(p.s_free_tension)
    assert float(done.measures["compression"]) == pytest.approx(stress.max(), rel=5e-4)
    assert float(done.cases["compression"].y) == pytest.approx(y[stress.argmax()])


def test_deflection_of_a_tapered_arm():
    """Tip of a cantilever: double integral of M / EI by fine quadrature."""
    given = basis("cantilever", loads=Loads(snow=600.0))
    root, tip = canopy(1.4), canopy(0.45)
    done = evaluate_member(Member.between(root, tip), given)
    fine = np.linspace(0.0, 1.0, 1001)
    share = fine[:, None]
    z = root.z * (1 - share) + tip.z * share
    shape = (1001, root.x.size)
    sections = Strips(
        np.broadcast_to(root.x, shape), z, root.ends, np.broadcast_to(root.thickness, (1001, 6)), root.parts
    )
    p, y = section_properties(sections), 11.0 * fine
    w = p.area * 25e3 + 600.0 * 4.8
    below = np.concatenate([[0.0], np.cumsum(0.5 * (w[1:] + w[:-1]) * np.diff(y))])
    shear = below[-1] - below
    moment = np.concatenate([np.cumsum((0.5 * (shear[1:] + shear[:-1]) * np.diff(y))[::-1])[::-1], [0.0]])
    tip_sag = np.trapezoid(moment / (given.concrete.ecm * p.ixx) * (11.0 - y), y)
    assert float(done.measures["deflection_short"]) == pytest.approx(tip_sag, rel=3e-3)


def test_the_governing_station_is_where_the_stress_is_largest():
    """Deep in the middle, shallow at the ends: the worst place lies between (brute force)."""
    given = basis("simple", loads=Loads(snow=600.0))
    member = Member.between(canopy(1.4), canopy(0.5))
    done = evaluate_member(member, given)
    p = section_properties(member.sections)
    y = np.linspace(0.0, 11.0, 17)
    at = np.abs(np.arange(17) - 8)
    load = (1.35 * np.array(p.area) * 25e3 + 1.5 * 600.0 * 4.8)[at]
    fine = np.linspace(0.0, 11.0, 8801)
    w = np.interp(fine, y, load)
    below = np.concatenate([[0.0], np.cumsum(0.5 * (w[1:] + w[:-1]) * np.diff(fine))])
    shear = 0.5 * below[-1] - below
    moment = np.concatenate([[0.0], np.cumsum(0.5 * (shear[1:] + shear[:-1]) * np.diff(fine))])
    stress = np.interp(y, fine, moment) / np.array(p.s_free_compression)[at]
    worst = y[stress.argmax()]
    assert 0.0 < abs(worst - 5.5) < 5.5
    found = done.cases["compression"]
    assert abs(float(found.y) - 5.5) == pytest.approx(abs(worst - 5.5))
    assert float(done.measures["compression"]) == pytest.approx(stress.max(), rel=1e-3)
    root = canopy(1.4)
    assert float(done.measures["section_modulus"]) < float(section_properties(root).s_free)


def test_stations_of_the_supports():
    found = places(SPANS["canopy"], 9)
    back = found.mesh.y < 4.0
    assert np.all(found.section[back] == 0)
    assert found.section[-1] == 8
    middle = places(SPANS["simple"], 9)
    assert middle.section[np.isclose(middle.mesh.y, 5.5)] == 0
    assert middle.section[0] == middle.section[-1] == 8
    both = places(SPANS["overhangs"], 5)
    assert both.section[0] == both.section[-1] == 4
    for spans in (Spans.continuous(5.0, 5.0), Spans.fixed(5.0), Spans.propped(5.0)):
        with pytest.raises(ValueError, match="a taper needs"):
            places(spans, 9)


def family():
    return Tapered(GullWing(Setting(pitch=4.8, height=1.6, thickness=0.08)))


def designs(count, seed=3):
    low, high = (np.array([getattr(v, side) for v in family().variables]) for side in ("lower", "upper"))
    return low + (high - low) * np.random.default_rng(seed).random((count, len(low)))


@pytest.mark.parametrize("kind", ["canopy", "simple"])
def test_batch_law(kind):
    x, given = designs(12), basis(kind)
    x[5, 2] = np.nan
    whole = evaluate_design(family(), x, given)
    assert np.isnan(whole.margins).any(axis=1).tolist() == [i == 5 for i in range(12)]
    for i in (0, 4, 11):
        one = evaluate_design(family(), x[i], given)
        assert whole.margins[i].tobytes() == one.margins.tobytes()
        for name, values in whole.measures.items():
            assert values[i].tobytes() == np.asarray(one.measures[name]).tobytes(), name
        assert float(whole.cases["compression"].y[i]) == float(one.cases["compression"].y)


def test_family():
    x = designs(4)
    member, root = family().member(x), family().strips(x)
    np.testing.assert_allclose(member.root.z, root.z, rtol=1e-12)
    wing = np.flatnonzero([part == "wing" for part in root.parts])
    thickness = member.sections.thickness[..., wing]
    np.testing.assert_array_equal(thickness[:, 0], thickness[:, -1])
    heights = np.asarray(section_properties(member.sections).height)
    assert np.all(np.diff(heights, axis=-1) < 0)
    assert np.all(family().starts() >= [v.lower for v in family().variables])


def test_refusals():
    given = basis("simple", arch=BeamArch(rise=1.0, tie_area=0.002))
    with pytest.raises(ValueError, match="one section from end to end"):
        evaluate_member(Member.between(canopy(1.4), canopy(1.0)), given)
    with pytest.raises(ValueError, match="odd number"):
        Member.between(canopy(1.4), canopy(1.0), stations=4)
    with pytest.raises(ValueError, match="same strips"):
        Member.between(canopy(1.4), Strips.chain([0, 1], [0, 1], 0.1, "wing"))
    assert evaluate_design(GullWing(Setting(7.5, 2.65, 0.08)), np.zeros((1, 19)), basis_for("gull-wing"))


@pytest.mark.parametrize("kind", SPANS)
def test_movements_holding_and_erection_name_their_case(kind):
    """Difference at the glass, sideways, holding, erection: as for one section, found from the stations."""
    given = basis(kind, held=True)
    one, other = (
        evaluate(canopy(1.4), given),
        evaluate_member(Member.between(canopy(1.4), canopy(1.4)), given),
    )
    for key in ("glass-difference", "sideways", "holding-force", "erection-compression"):
        assert other.cases[key].name() == one.cases[key].name(), key
    assert one.cases["holding-force"].name() == "G + snow + 0.6 wind (pressure)"
    assert one.cases["erection-compression"].name() == "1.35 own weight + 1.5 erection"
    assert "wind" in one.cases["glass-difference"].name()
