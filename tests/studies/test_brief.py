"""Briefs: every fault is named at once with its line, and a good brief becomes the right SI numbers."""

from math import radians

import pytest

from longvault.studies.brief import (
    BriefError,
    basis_of,
    family_of,
    load_brief,
    read_brief,
    setting_of,
    variables_of,
)
from longvault.studies.brief_model import TABLES
from longvault.studies.brief_units import likely_slip
from longvault.studies.brief_write import brief_text
from longvault.studies.briefs import KINDS, starter_text


def with_line(kind, key, line):
    """A starter brief with the line of one key replaced (or taken out)."""
    lines = starter_text(kind).splitlines()
    place = next(i for i, text in enumerate(lines) if text.startswith(f"{key} = "))
    return "\n".join([*lines[:place], *([line] if line is not None else []), *lines[place + 1 :]]), place + 1


def message(text, **kwargs):
    with pytest.raises(BriefError) as caught:
        read_brief(text, **kwargs)
    return str(caught.value)


@pytest.mark.parametrize("kind", KINDS)
def test_each_starter_reads_and_round_trips(kind):
    brief = read_brief(starter_text(kind))
    assert read_brief(brief_text(brief)) == brief
    assert len(variables_of(brief)) == len(family_of(brief).variables)


@pytest.mark.parametrize("kind", KINDS)
def test_each_key_of_a_starter_is_commented(kind):
    text = starter_text(kind)
    body = text[text.index("[roof]") :]
    for line in body.splitlines():
        assert not line or line[0] in "#[" or " # " in line or "_m = [" in line, line


@pytest.mark.parametrize("kind", KINDS)
def test_a_starter_shows_every_key_there_is(kind):
    shown = {line.lstrip("# ").split(" ")[0] for line in starter_text(kind).splitlines()}
    for title, table in TABLES.items():
        pairs = {key for key, field in table.model_fields.items() if "dict" in str(field.annotation)}
        assert {*table.model_fields} - pairs | {f"[{title}.{key}]" for key in pairs} <= shown, title


def test_units_are_converted_once():
    brief = read_brief(starter_text("workshop"))
    basis, setting = basis_of(brief), setting_of(brief)
    assert basis.loads.snow == pytest.approx(640.0)  # 0.8 kN/m2 x 0.8
    assert (basis.loads.drift, basis.loads.ground_snow) == ("valley", 800.0)
    assert basis.loads.finish == 600.0
    assert basis.concrete.fck == 30e6
    assert basis.detailing.mesh_bar == 0.008
    assert basis.requirements.slope_max == radians(55.0)
    assert basis.requirements.steep_share_max == 0.15
    assert (setting.pitch, setting.height, setting.thickness) == (6.0, 3.4, 0.08)
    assert basis_of(read_brief(starter_text("canopy"))).depth_span == 22.0


def test_ranges_and_step_reach_the_variables():
    text, _ = with_line(
        "reading-hall", "keel_width_m", "keel_width_m = [0.9, 1.8]\nthickness_1_mm = [80, 160]"
    )
    variables = {v.name: v for v in variables_of(read_brief(text))}
    assert (variables["keel_width"].lower, variables["keel_width"].upper) == (0.9, 1.8)
    assert (variables["thickness_1"].lower, variables["thickness_1"].upper) == (0.08, 0.16)
    assert variables["thickness_1"].step == 0.005
    assert variables["keel_width"].step == 0.0


BAD_LINES = [
    ("span_m", "span_m = 24000", "roof.span_m: 24000 m is outside 3 to 100 m; did you mean 24 m?"),
    ("span_m", "span_m = 2400", "did you mean 24 m?"),
    ("span_m", "span_m = -24", "roof.span_m: -24 m is outside 3 to 100 m"),
    ("span_m", 'span_m = "2,4"', 'roof.span_m: got "2,4" in quotes (text); write 2.4'),
    ("span_m", 'span_m = "wide"', 'roof.span_m: got "wide" (text); must be a number in metres, 3 to 100'),
    ("span_m", "span_m = true", "roof.span_m: got true; must be a number"),
    ("span_m", "span_m = nan", "roof.span_m: got nan; must be a number"),
    ("span_m", "span_m = inf", "roof.span_m: got inf; must be a number"),
    ("span_m", "span_m = [24]", "roof.span_m: got [24]; must be a number"),
    ("span_m", "span_m = 1979-05-27", "roof.span_m: got 1979-05-27; must be a number"),
    ("span_m", None, "roof.span_m: missing; must be a number in metres, 3 to 100"),
    ("bays", "byas = 24", 'roof.byas: unknown key; did you mean "bays"?'),
    ("bays", "Bay_M = 24", 'roof.Bay_M: unknown key; did you mean "bay_m"?'),
    ("bays", "bays = 2.5", "roof.bays: got 2.5; must be a whole number, 1 to 200"),
    ("bays", "height_max_m = 3.0", "roof.height_max_m: unknown key here; it belongs in [limits]"),
    ("support", 'support = "hung"', 'got "hung" (text); must be "simple" or "fixed" or "propped"'),
    ("held_sideways", "held_sideways = 1", "got 1; must be true or false"),
    ("standard", 'standard = "EN 1990"', 'must be "EN 1990:2002" or "ASCE 7-16"'),
    ("snow_ground_kN_m2", "snow_ground_kN_m2 = 800", "800 kN/m² is outside 0 to 20 kN/m²; did you mean 0.8"),
    ("fck_MPa", "fck_MPa = 30e6", "30000000 MPa is outside 12 to 90 MPa; did you mean 30 MPa?"),
    ("cover_top_mm", "cover_top_mm = 0.025", "0.025 mm is outside 5 to 100 mm; did you mean 25 mm?"),
    ("cover_top_mm", "cover_top_mm = -25", "-25 mm is outside 5 to 100 mm"),
    ("slope_max_deg", "slope_max_deg = 0.785", "0.785° is outside 10 to 90°; did you mean 45°?"),
    ("opening_min_m", "opening_min_m = 12", "12 m leaves nothing of the bay of 7.5 m"),
    ("height_max_m", "height_max_m = 1.0", "a span of 24 m needs a height of at least 1.33 m"),
    ("span_to_depth_max", "span_to_depth_max = 12\nspan_to_depth_min = 15", "15 is above span_to_"),
    ("family", 'family = "gullwing"', 'there is no family "gullwing"; did you mean "gull-wing"?'),
    ("family", 'family = "dome"', "use one of gull-wing, vault, one-sided"),
    ("keel_width_m", "keel_width_m = [2.0, 0.8]", "is the wrong way round"),
    ("keel_width_m", "keel_width_m = [800, 2000]", "did you mean 0.8 m?"),
    ("keel_width_m", "keel_width_m = [0.8]", "must be a pair [least, greatest]"),
    ("keel_width_m", "keel_width_m = 0.8", "must be a pair [least, greatest]"),
    ("keel_width_m", 'keel_width_m = [0.8, "2"]', "must be a pair [least, greatest]"),
    ("keel_width_m", "keel_width = [0.8, 2.0]", 'unknown variable; did you mean "keel_width_m"?'),
    ("keel_width_m", "thickness_1_mm = [-80, 90]", "section.ranges.thickness_1_mm: -80 mm is outside"),
    ("keel_width_m", "thickness_1_mm = [81, 84]", "no multiple of thickness_step_mm = 5"),
    ("objectives", 'objectives = ["area"]', "got 1; a trade-off needs two or more"),
    ("objectives", 'objectives = ["area", "are"]', 'search.objectives[1]: there is no measure "are"'),
    ("objectives", 'objectives = ["area", "area"]', '"area" stands there twice'),
    ("objectives", 'objectives = ["area", "width"]', '"width" has no better and worse by itself'),
    ("objectives", 'objectives = "area"', 'got "area" (text); must be a list of texts'),
    ("evaluations", "evaluations = 1e5", "got 100000.0; must be a whole number"),
    ("start_sections", 'start_sections = ["gone.json"]', '"gone.json": there is no such file'),
]  # fmt: skip


@pytest.mark.parametrize(("key", "line", "said"), BAD_LINES)
def test_a_bad_line_is_named_with_its_line_number(key, line, said):
    text, number = with_line("reading-hall", key, line)
    got = message(text, name="hall.toml")
    assert said in got
    if line is not None and "\n" not in line:
        assert got.startswith(f"hall.toml:{number}: ")
    assert "\n" not in got, "one fault, one line"


def test_all_faults_come_at_once_in_the_order_of_the_file():
    text, first = with_line("market-hall", "span_m", "span_m = -24")
    text = text.replace("fck_MPa = 30.0", "fck_MPa = 300.0").replace("[search]", "[search]\nspeed = 3")
    lines = message(text).splitlines()
    assert [line.split(": ")[1] for line in lines] == ["roof.span_m", "materials.fck_MPa", "search.speed"]
    assert lines[0].startswith(f"brief.toml:{first}: ")


def test_missing_tables_and_misplaced_keys_are_named():
    got = message('name = "x"\nspan_m = 3\nroof = 4')
    assert "brief.toml:2: span_m: unknown key here; it belongs in [roof]" in got
    assert "brief.toml:3: roof: got 4; must be a table: a line [roof], then span_m, bay_m" in got
    assert "brief.toml: section: missing; must be a table: a line [section], then family" in got
    assert "brief.toml: limits: missing" in got


def test_a_key_in_an_inline_table_keeps_its_line():
    assert "brief.toml:2: roof.span_m: -3 m is outside" in message(
        'name = "a"\nroof = { bay_m = 7.5, span_m = -3 }'
    )
    assert "brief.toml:2: roof.span_m: -3 m is outside" in message("# first\nroof.span_m = -3")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("name = \n", "brief.toml:1: is not TOML: Invalid value, column 8"),
        ("[roof\nspan_m = 3", "brief.toml:1: is not TOML"),
        ('name = "a"\nname = "b"', "brief.toml:2: is not TOML: Cannot overwrite a value"),
        ('name = "a', "brief.toml:1: is not TOML: Unterminated string"),
        ("a = " + "[" * 5000, "is not TOML"),
        ("span_m = 2,4", "brief.toml:1: is not TOML: Expected newline or end of document"),
    ],
)
def test_broken_toml_names_the_line(text, said):
    assert said in message(text)


def test_files_that_are_no_briefs(tmp_path):
    cases = {
        "empty.toml": (b"  \n", "is empty"),
        "latin.toml": ("name = 'x'\nscenario = 'hören'".encode("latin-1"), ":2: is not UTF-8 text"),
        "noise.toml": (bytes(range(256)), "is not UTF-8"),
        "long.toml": (b"#" * 1_000_001, "is longer than 1000 kB"),
        "nul.toml": (b"a = 1\0", "is not TOML"),
    }
    for name, (raw, said) in cases.items():
        (tmp_path / name).write_bytes(raw)
        with pytest.raises(BriefError, match=said):
            load_brief(tmp_path / name)
    with pytest.raises(BriefError, match="there is no such file"):
        load_brief(tmp_path / "gone.toml")
    with pytest.raises(BriefError, match="is a folder"):
        load_brief(tmp_path)
    with pytest.raises(BriefError, match="cannot be read"):
        load_brief(tmp_path / "empty.toml" / "inside.toml")
    with pytest.raises(BriefError, match="cannot be read"):
        load_brief("a\0b")


def test_a_file_saved_by_a_windows_editor_reads(tmp_path):
    raw = b"\xef\xbb\xbf" + starter_text("canopy").replace("\n", "\r\n").encode()
    (tmp_path / "canopy.toml").write_bytes(raw)
    assert load_brief(tmp_path / "canopy.toml") == read_brief(starter_text("canopy"))


def test_awkward_text_round_trips():
    text, _ = with_line("classroom", "name", r'name = "a \"b\" \\ \u0007 # é \u007f \U0001F3DB"')
    brief = read_brief(text).model_copy(update={"scenario": 'x """ \\ \n\t"y"\n\n'})
    assert read_brief(brief_text(brief)) == brief


def test_no_hint_where_no_slip_is_likely():
    assert likely_slip(500.0, "m", 3, 4) == ""
    assert likely_slip(0.0, "m", 3, 4) == ""
