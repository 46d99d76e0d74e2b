"""Briefs along the span: supports, loads and limits reach the basis of design; contradictions are named."""

import pytest

from longvault.constraints.actions import Wind
from longvault.constraints.spans import Spans
from longvault.studies.brief import BriefError, basis_of, read_brief
from longvault.studies.brief_basis import proving_of
from longvault.studies.brief_write import brief_text
from longvault.studies.briefs import starter_text


def changed(kind, **lines):
    """Text of a starter with keys given anew, each as its whole value in TOML."""
    rows = starter_text(kind).splitlines()
    for key, value in lines.items():
        place = next(i for i, row in enumerate(rows) if row.lstrip("# ").startswith(f"{key} ="))
        rows[place] = value if key == "wind" else f"{key} = {value}"
    return "\n".join(rows)


SUPPORTS = [
    ({"support": '"fixed"'}, Spans.fixed(24.0), 24.0),
    ({"support": '"propped"'}, Spans.propped(24.0), 24.0),
    ({"support": '"canopy"', "span_m": "10", "back_span_m": "6"}, Spans.canopy(back=6.0, arm=10.0), 20.0),
    (
        {"support": '"overhanging"', "overhang_right_m": "5"},
        Spans.overhanging(24.0, right=5.0),
        24.0,
    ),
    ({"support": '"continuous"', "spans_m": "[20, 24]"}, Spans.continuous(20.0, 24.0), 24.0),
]


@pytest.mark.parametrize(("keys", "spans", "depth"), SUPPORTS)
def test_supports_reach_the_basis(keys, spans, depth):
    brief = read_brief(changed("reading-hall", **keys))
    basis = basis_of(brief)
    assert basis.line == spans
    assert basis.depth_span == pytest.approx(depth)
    assert proving_of(brief) is None, "the folded plate covers simple spans alone"
    assert read_brief(brief_text(brief)) == brief


def test_a_uniform_load_gives_the_moments_of_the_tables():
    # any beam table: propped -1/8, fixed -1/12, two equal spans -1/8 (of the span)
    for keys, moment in (
        ({"support": '"propped"'}, -1 / 8),
        ({"support": '"fixed"'}, -1 / 12),
        ({"support": '"continuous"', "spans_m": "[24, 24]"}, -1 / 8),
    ):
        support = basis_of(read_brief(changed("reading-hall", **keys))).support
        assert support.moment == pytest.approx(moment)


WIND = '[[loads.wind]]\nname = "one side"\nzones = [[0, 0.5, -1.3], [0.5, 1.0, 0.5]]'


def test_loads_and_limits_reach_the_basis_in_si():
    text = changed(
        "market-hall", drift='"cylindrical"', water_depth_mm="150", gutter_fall_pct="1", outlets="3",
        erection_kN_m2="0.75", services_x_m="-0.5", wind=WIND, camber_mm="20", long_term='"cracked"',
        creep="2", glass_difference_max_mm="10", sideways_ratio="400", pond_depth_max_mm="5",
        tie_down_max_kN="300", arch_rise_m="0.5", tie_area_cm2="20",
    )  # fmt: skip
    brief = read_brief(text)
    basis = basis_of(brief)
    loads, need = basis.loads, basis.requirements
    assert (loads.drift, loads.ground_snow, loads.water) == ("cylindrical", 800.0, 0.15)
    assert (loads.gutter_fall, loads.outlets, loads.erection) == (0.01, 3, 750.0)
    assert loads.services_x == -0.5
    assert loads.wind == (Wind("one side", ((0.0, 0.5, -1300.0), (0.5, 1.0, 500.0))),)
    assert (need.camber, need.long_term, need.creep) == (0.02, "cracked", 2.0)
    assert (need.glass_difference_max, need.sideways_ratio) == (0.01, 400.0)
    assert (need.pond_depth_max, need.tie_down_max) == (0.005, 300e3)
    assert (basis.arch.rise, basis.arch.tie_area) == (0.5, 20e-4)
    assert read_brief(brief_text(brief)) == brief


def test_factors_of_a_national_annex_reach_the_basis():
    """0.85 x 30 / 1.4 = 18.2 MPa; snow above 1000 m lasts, psi_2 = 0.2."""
    text = changed("market-hall", snow_psi="[0.7, 0.5, 0.2]", alpha_cc="0.85", gamma_c="1.4")
    basis = basis_of(read_brief(text))
    assert basis.strengths.compression == pytest.approx(0.85 * 30e6 / 1.4)
    assert [c.snow for c in basis.combinations if c.state == "sustained"] == [0.2]
    assert "snow 0.7, 0.5, 0.2" in basis.standard.note
    with pytest.raises(ValueError, match="snow_psi"):
        read_brief(changed("market-hall", snow_psi="[0.7, 0.5]"))


FAULTS = [
    ({"support": '"continuous"'}, 'roof.support: "continuous" needs spans_m'),
    ({"support": '"canopy"'}, 'roof.support: "canopy" needs back_span_m'),
    ({"support": '"overhanging"'}, "needs overhang_left_m or overhang_right_m"),
    ({"spans_m": "[24, 24]"}, 'roof.spans_m: goes with support = "continuous"; the support is "simple"'),
    ({"back_span_m": "4"}, 'roof.back_span_m: goes with support = "canopy"'),
    ({"support": '"continuous"', "spans_m": "[24]"}, "roof.spans_m: got 1 spans; must be 2 to 4"),
    ({"support": '"continuous"', "spans_m": "[12, 18]"}, "roof.span_m: 24 m must be the longest of spans_m"),
    ({"support": '"continuous"', "spans_m": "[24, 1]"}, "roof.spans_m[1]: 1 m is outside 3 to 100 m"),
    ({"support": '"continuous"', "spans_m": '["a"]'}, "must be a list of 2 to 4 numbers in metres"),
    ({"arch_rise_m": "1"}, "roof.arch_rise_m: a rise along the span needs a tie"),
    ({"tie_area_cm2": "20"}, "roof.tie_area_cm2: a tie without a rise is idle"),
    (
        {"support": '"fixed"', "arch_rise_m": "1", "tie_area_cm2": "9"},
        'a rise along the span needs support = "simple"',
    ),
    ({"arch_rise_m": "0.05", "tie_area_cm2": "1"}, "roof.arch_rise_m: 0.05 m is no arch"),
    (
        {"arch_rise_m": "1", "tie_area_cm2": "9", "enabled": "true"},
        "prestress.enabled: tendons are not worked out with the thrust of a beam-arch",
    ),
    ({"drift": '"valley"', "snow_ground_kN_m2": "0"}, 'loads.drift: "valley" needs snow on the ground'),
    ({"wind": WIND + "\n" + WIND}, 'loads.wind[1].name: "one side" stands there twice'),
    ({"wind": WIND.replace("0.5, 1.0", "0.5, 1.5")}, "loads.wind[0].zones: zone from 0.5 to 1.5"),
    ({"wind": WIND.replace("0.5, 1.0", "0.4, 1.0")}, "zones 0 to 0.5 and 0.4 to 1 overlap"),
    ({"wind": WIND.replace("-1.3", "-500")}, "-500 kN/m² is outside -10 to 10 kN/m²"),
    ({"wind": WIND.replace("[0, 0.5, -1.3]", "[0, 0.5]")}, "must be a list of zones [from, to, pressure"),
    ({"wind": WIND.replace('"one side"', "3")}, "loads.wind[0].name: got 3; must be text in quotes"),
    ({"wind": WIND.replace("name", "nam")}, 'loads.wind[0].nam: unknown key; did you mean "name"?'),
    ({"wind": "wind = 3"}, "loads.wind: got 3; must be a table: a line [[loads.wind]]"),
    (
        {"camber_mm": "450"},
        "limits.camber_mm: 450 mm is more than 24 m / 250 = 96 mm (EN 1992-1-1, 7.4.1(4))",
    ),
    ({"family": '"tapered-gull-wing"', "support": '"fixed"'}, "section.family: a taper needs an overhang"),
]


@pytest.mark.parametrize(("keys", "said"), FAULTS)
def test_contradictions_along_the_span_are_named_with_their_line(keys, said):
    with pytest.raises(BriefError) as caught:
        read_brief(changed("market-hall", **keys), name="hall.toml")
    assert said in str(caught.value)
    assert str(caught.value).startswith("hall.toml:")
    assert str(caught.value).split(":")[1].isdigit()


@pytest.mark.parametrize("support", ["continuous", "overhanging", "fixed", "propped"])
def test_prestress_where_both_signs_of_moment_occur_is_refused(support):
    text = starter_text("reading-hall").replace("enabled = false", "enabled = true")
    lines = text.splitlines()
    place = next(i for i, line in enumerate(lines) if line.lstrip("# ").startswith("support ="))
    lines[place] = f'support = "{support}"'
    with pytest.raises(BriefError, match="prestress is worked out for a simple span or a cantilever"):
        read_brief("\n".join(lines))


def test_a_taper_with_prestress_is_refused():
    text = starter_text("canopy").replace("enabled = false ", "enabled = true ")
    with pytest.raises(BriefError, match="one prestressing force does not suit all sections of a taper"):
        read_brief(text)
