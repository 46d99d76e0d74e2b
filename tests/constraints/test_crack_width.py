"""Cracked elastic sections, the steel that holds the width of cracks, and what the limit says of it."""

from dataclasses import replace

import numpy as np
import pytest
from roofs import KEYS, basis_for, designs_for, family_for
from scipy.optimize import fsolve

from longvault.constraints.actions import STANDARDS, Loads, Wind
from longvault.constraints.bars import Bars
from longvault.constraints.basis import Basis, Requirements
from longvault.constraints.beam import support_of
from longvault.constraints.concrete_settings import ConcreteSettings
from longvault.constraints.crack_checks import cracked_side
from longvault.constraints.crack_width import Bonded, crack_width, steel_for_width, tension_zone
from longvault.constraints.details import evaluate_closely
from longvault.constraints.materials import Concrete
from longvault.constraints.prestress import Tensioning
from longvault.constraints.service import cracked_inertia
from longvault.constraints.spans import Spans
from longvault.sections.families.base import Setting
from longvault.sections.families.registry import make_family
from longvault.sections.properties import section_properties
from longvault.sections.strips import Strips


def bars_at(x, z, area):
    return Bars(*(np.atleast_1d(np.asarray(v, dtype=float)) for v in (x, z, area)))


def strict(basis, width):
    return replace(basis, requirements=replace(basis.requirements, crack_width_max=width))


@pytest.mark.parametrize("held", [False, True])
@pytest.mark.parametrize("ratio", [6.0, 15.0, 30.0])
def test_rectangle(held, ratio):
    """x from b x^2 / 2 = n A_s (d - x), stress M / (A_s (d - x / 3)); k_2 of bending is 0.5."""
    b, h, d, steel = 0.3, 0.8, 0.72, 18e-4
    x = (np.sqrt((ratio * steel) ** 2 + 2 * b * ratio * steel * d) - ratio * steel) / b
    beam = Strips.chain([0, 0], [0, h], b, "edge beam")
    zone = tension_zone(beam, bars_at(0.0, h - d, steel), moment=150e3, ratio=ratio, held=held)
    assert float(zone.stress) == pytest.approx(150e3 / (steel * (d - x / 3)), rel=1e-9)
    assert float(zone.below) == pytest.approx(h - x, rel=1e-9)
    depth = min(2.5 * (h - d), (h - x) / 3, h / 2)
    assert float(zone.depth) == pytest.approx(depth, rel=1e-9)
    assert float(zone.area) == pytest.approx(b * depth, rel=1e-9)
    assert float(zone.evenness) == pytest.approx(0.5, abs=1e-6)
    turned = tension_zone(beam, bars_at(0.0, d, steel), moment=150e3, ratio=ratio, held=held, sagging=False)
    for name in zone.__slots__:
        assert float(getattr(turned, name)) == pytest.approx(float(getattr(zone, name)), rel=1e-9)


def test_level_axis_is_that_of_the_long_term_deflection():
    """Stress n M (d - x) / I_cr with the second moment that the deflection takes (upright strips: exact)."""
    wall = Strips.chain([0, 0, 0], [0, 0.5, 2.5], [0.4, 0.12], "web")
    steel, n = 30e-4, 18.0
    zone = tension_zone(wall, bars_at(0.0, 0.1, steel), moment=1e6, ratio=n, held=True)
    inertia = float(cracked_inertia(wall, steel=steel, bars_z=0.1, ratio=n, sagging=True))
    assert float(zone.stress) == pytest.approx(n * 1e6 * (float(zone.below) - 0.1) / inertia, rel=1e-6)


def test_free_bending_of_a_section_without_symmetry():
    """Second implementation: fibres, three equations of balance solved by a general routine."""
    shed = Strips.chain([0.0, 0.0, 1.5, 3.0], [0.0, 0.5, 1.4, 1.8], [0.3, 0.12, 0.12], "wing")
    bars, n, moment = bars_at([0.0, 0.05], [0.06, 0.12], [12e-4, 6e-4]), 15.0, 3e5
    u = (np.arange(400) + 0.5) / 400
    v = (np.arange(24) + 0.5) / 24 - 0.5
    x, z, area = [], [], []
    for (i, j), t, length in zip(shed.ends, shed.thickness, shed.length, strict=True):
        tx, tz = (shed.x[j] - shed.x[i]) / length, (shed.z[j] - shed.z[i]) / length
        along, across = (a.ravel() for a in np.meshgrid(u * length, v * t))
        x.append(shed.x[i] + along * tx - across * tz)
        z.append(shed.z[i] + along * tz + across * tx)
        area.append(np.full(along.size, length * t / along.size))
    x, z, area = map(np.concatenate, (x, z, area))

    def balance(plane):
        stress = np.minimum(plane[0] + plane[1] * x + plane[2] * z, 0.0) * area
        force = n * (plane[0] + plane[1] * bars.x + plane[2] * bars.z) * bars.area
        return [
            (stress.sum() + force.sum()) / 1e5,
            ((stress * x).sum() + (force * bars.x).sum()) / 1e5,
            ((stress * z).sum() + (force * bars.z).sum() + moment) / 1e5,
        ]

    plane = fsolve(balance, [5e6, 0.0, -8e6], xtol=1e-12)
    assert np.abs(balance(plane)).max() < 1e-4
    found = tension_zone(shed, bars, moment=moment, ratio=n)
    stress = n * (plane[0] + plane[1] * bars.x + plane[2] * bars.z)
    assert float(found.stress) == pytest.approx(stress.max(), rel=2e-3)


def test_a_pulled_flange_is_even_and_a_web_is_not():
    """k_2 of an inverted T, mean over largest strain: flange and web, the strain at their middle (derived).

    Flange 2 x 0.1 m about z = 0, web 0.1 m up to 2 m; strain in proportion to the height under the axis.
    """
    ends = np.array([[0, 1], [1, 2], [1, 3]])
    x, z = np.array([-1.0, 0.0, 1.0, 0.0]), np.array([0.0, 0.0, 0.0, 2.0])
    tee = Strips(x, z, ends, np.full(3, 0.1), ("wing", "wing", "web"))
    zone = tension_zone(tee, bars_at(0.0, 0.0, 30e-4), moment=1e6, ratio=15.0)
    above = float(zone.below) - 0.05  # the lower face lies 0.05 m under the middle of the flange
    flange, web = 0.2, 0.1 * above
    mean = (flange * above + web * 0.5 * above) / (flange + web) / float(zone.below)
    assert float(zone.evenness) == pytest.approx(mean, rel=1e-6)
    assert 0.6 < mean < 0.9


def test_more_steel_narrows_the_crack_and_the_solved_area_gives_the_width():
    beam, bonded = Strips.chain([0, 0], [0, 0.8], 0.3, "web"), Bonded(0.02, 0.033, Concrete(35e6))
    widths = []
    for steel in (10e-4, 14e-4, 20e-4, 30e-4):
        zone = tension_zone(beam, bars_at(0.0, 0.06, steel), moment=180e3, ratio=15.0)
        widths.append(float(crack_width(zone, bonded, steel=steel).width))
        for width in (0.05e-3, 0.15e-3, 0.4e-3):
            area = float(steel_for_width(zone, bonded, steel=steel, width=width))
            frozen = replace(zone, stress=zone.stress * steel / area)
            assert float(crack_width(frozen, bonded, steel=area).width) == pytest.approx(width, rel=1e-9)
    assert (np.diff(widths) < 0).all()


@pytest.mark.parametrize("key", KEYS)
@pytest.mark.parametrize("held", [False, True])
def test_batch_law_and_bad_rows(key, held):
    basis = basis_for(key, held=held)
    strips = family_for(key).strips(designs_for(key, 9))
    p = section_properties(strips)
    moment, steel = np.linspace(2e5, 2e6, 9), np.linspace(8e-4, 60e-4, 9)
    whole = cracked_side(strips, p, basis, moment=moment, steel=steel, sagging=True)
    for i in range(9):
        one = cracked_side(
            strips[i], section_properties(strips[i]), basis, moment=moment[i], steel=steel[i], sagging=True
        )
        assert float(one.found.width) == whole.found.width[i]
        assert float(one.needed) == whole.needed[i]
        assert float(one.zone.evenness) == whole.zone.evenness[i]
    bad = np.where(np.arange(9) == 4, np.nan, moment)
    again = cracked_side(strips, p, basis, moment=bad, steel=steel, sagging=True).found.width
    assert np.isnan(again[4])
    np.testing.assert_array_equal(np.delete(again, 4), np.delete(whole.found.width, 4))


@pytest.mark.parametrize("key", KEYS)
def test_steel_is_provided_until_the_width_holds(key):
    """A narrower crack asks for more main steel; bars, weight and the limit that it fits follow."""
    lax, tight = strict(basis_for(key), 1e-3), strict(basis_for(key), 0.15e-3)
    strips = family_for(key).strips(designs_for(key, 24))
    before, after = (evaluate_closely(strips, one) for one in (lax, tight))
    more = after.measures["main_steel"] > before.measures["main_steel"] * (1 + 1e-9)
    assert more.any()
    np.testing.assert_array_equal(after.measures["main_steel"][more], after.measures["crack_steel"][more])
    for name in ("main_steel", "steel_weight", "cost", "carbon", "crack_width"):
        np.testing.assert_array_equal(after.measures[name][~more], before.measures[name][~more])
    assert (after.measures["steel_weight"][more] > before.measures["steel_weight"][more]).all()
    row = next(i for i, limit in enumerate(after.limits) if limit.key == "crack-width")
    fits = after.measures["main_steel"] <= after.measures["bar_room"]
    assert (fits & more).any()
    assert (after.margins[fits, row] <= -1e-9).all()
    side = cracked_side(
        strips, section_properties(strips), tight, moment=after.measures["sustained_moment"],
        steel=after.measures["main_steel"], sagging=tight.sagging,
    )  # fmt: skip
    np.testing.assert_allclose(side.found.width, after.measures["crack_width"], rtol=1e-9)


@pytest.mark.parametrize("key", KEYS)
def test_both_signs_of_moment(key):
    spans = Spans.continuous(12.0, 12.0)
    basis = replace(
        basis_for(key, support="cantilever"), spans=spans, span=12.0,
        support=support_of("continuous", spans, 12.0),
    )  # fmt: skip
    strips = family_for(key).strips(designs_for(key, 6))
    done, p = evaluate_closely(strips, basis), section_properties(strips)
    m = done.measures
    widths = [
        cracked_side(strips, p, basis, moment=m[f"sustained_moment{end}"], steel=m[f"main_steel{end}"],
                     sagging=way).found.width
        for end, way in (("", basis.sagging), ("_reverse", not basis.sagging))
    ]  # fmt: skip
    np.testing.assert_allclose(m["crack_width"], np.maximum(*widths), rtol=1e-9)
    assert (m["sustained_moment_reverse"] > 0).all()
    place = done.cases["crack-width"].y  # main sign: over the middle support; the other: in a span
    np.testing.assert_array_equal(np.abs(place - 12.0) > 1.0, widths[1] > widths[0])


def test_quasi_permanent_moment_of_one_span():
    """w L^2 / 8 with the permanent load, and with psi_2 of snow where the site has it."""
    strips, basis = family_for("vault").strips(designs_for("vault", 2)), basis_for("vault")
    m = evaluate_closely(strips, basis).measures
    np.testing.assert_allclose(m["sustained_moment"], m["permanent_load"] * basis.span**2 / 8, rtol=1e-9)


def test_american_and_post_tensioned_roofs_have_their_own_limits():
    strips, basis = family_for("vault").strips(designs_for("vault", 3)), basis_for("vault")
    american = evaluate_closely(strips, replace(basis, standard=STANDARDS["ASCE 7-16"]))
    keys = [limit.key for limit in american.limits]
    assert "bar-spacing" in keys
    assert "crack-width" not in keys
    assert not any("crack width" in limit.formula for limit in american.limits)
    assert (american.measures["bar_spacing"] >= basis.detailing.main_bar * 2 - 1e-12).all()
    assert (american.measures["bar_spacing"] <= basis.detailing.mesh_spacing).all()
    loose = replace(basis.detailing, mesh_spacing=0.4)
    loose = replace(basis, standard=STANDARDS["ASCE 7-16"], detailing=loose)
    wide = evaluate_closely(strips, loose).measures["bar_spacing"]
    assert (wide >= american.measures["bar_spacing"]).all()
    stressed = replace(basis, concrete_settings=ConcreteSettings(tensioning=Tensioning()))
    keys = [limit.key for limit in evaluate_closely(strips, stressed).limits]
    assert "decompression" in keys
    assert not {"crack-width", "bar-spacing"} & set(keys)
    assert "XC4" in next(
        limit.title
        for limit in evaluate_closely(
            strips, replace(basis, requirements=replace(basis.requirements, exposure="XC4"))
        ).limits
        if limit.key == "crack-width"
    )
    assert Requirements(2.0).exposure == "XC1"


def test_a_roof_that_cannot_be_cracked_is_none_whoever_stands_beside_it():
    """A foil beside a roof whose cracks ask for more steel: its amounts are those it has alone."""
    spans, gust = Spans.continuous(16.0, 12.0, 9.0), Wind("gust", ((0.0, 0.5, 2500.0),))
    basis = Basis(
        16.0, 6.0, Requirements(3.0, crack_width_max=0.05e-3), spans=spans,
        support=support_of("continuous", spans, 16.0), loads=Loads(finish=400.0, snow=900.0, wind=(gust,)),
    )  # fmt: skip
    family = make_family("free-fold-z", Setting(6.0, 3.0, 0.08))
    roof = family.strips(np.array([[0.5 * (v.lower + v.upper) for v in family.variables]] * 2))
    thick = np.where(np.arange(2)[:, None] == 1, 1e-9, roof.thickness)
    pair = Strips(roof.x, roof.z, roof.ends, thick, roof.parts)
    both, alone = evaluate_closely(pair, basis).measures, evaluate_closely(pair[1], basis).measures
    assert both["crack_steel"][0] > both["least_steel"][0]
    for name in ("main_steel", "main_steel_reverse", "bars", "steel_weight", "cost"):
        np.testing.assert_array_equal(both[name][1], alone[name])
