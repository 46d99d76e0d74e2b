"""Tables of a brief on steel, prices, prestress and daylight: settings, measures, search."""

import json

import pytest
from click.testing import CliRunner

from longvault.constraints.concrete_settings import ConcreteSettings
from longvault.constraints.details import detail_keys
from longvault.constraints.prestress import Tensioning
from longvault.studies.brief import BriefError, basis_of, read_brief
from longvault.studies.briefs import KINDS, starter_text
from longvault.studies.cli.group import cli
from longvault.studies.record import open_run


def changed(kind, **lines):
    """A starter with the lines of some keys replaced."""
    rows = starter_text(kind).splitlines()
    for key, value in lines.items():
        places = [i for i, row in enumerate(rows) if row.lstrip("# ").startswith(f"{key} =")]
        assert len(places) == 1, key
        rows[places[0]] = f"{key} = {value}"
    return "\n".join(rows) + "\n"


@pytest.mark.parametrize("kind", KINDS)
def test_a_brief_that_says_nothing_has_the_defaults(kind):
    brief = read_brief(starter_text(kind))
    bare = brief.model_copy(
        update={name: type(getattr(brief, name))() for name in ("steel", "costs", "prestress", "daylight")}
    )
    basis = basis_of(bare)
    assert basis.concrete_settings == ConcreteSettings(uses=float(brief.roof.bays))
    assert basis.daylight is None
    assert "carbon" in detail_keys(basis)


def test_every_key_reaches_its_setting():
    keys = {
        "curtailed": 0.7, "stock_m": 14.0, "sheet_length_m": 5.0, "sheet_width_m": 2.0, "corner_bar_mm": 12.0,
        "allowance": 0.1, "stirrup_bar_mm": 10.0, "stirrup_spacing_mm": 150.0,
        "skin_ratio": 0.002, "shell_ratio": 0.002, "spacing_thicknesses": 4.0, "spacing_max_mm": 300.0,
        "concrete_price": 1.0, "steel_price": 2.0, "strand_price": 3.0, "open_form": 4.0,
        "inclined_form": 5.0, "steep_form": 6.0, "beam_form": 7.0, "form_use": 8.0, "form_uses": 9.0,
        "concrete_carbon": 10.0, "steel_carbon": 11.0, "strand_carbon": 12.0, "form_carbon": 13.0,
        "enabled": "true", "strand_cm2": 1.4, "strand_strength_MPa": 1770.0, "strand_proof_MPa": 1520.0,
        "duct_mm": 70.0, "cover_mm": 50.0, "immediate_loss_pct": 10.0, "later_loss_pct": 20.0,
        "tension_service_MPa": 1.5, "tension_transfer_MPa": 1.0, "anchor_mm": 200.0,
        "level_m": -4.5, "daylight_min_pct": 2.5, "transmittance": 0.6, "dirt": 0.75, "frame": 0.9,
        "floor_reflectance": 0.2, "wall_reflectance": 0.4, "ceiling_reflectance": 0.6,
        "latitude_deg": -35.0, "x_azimuth_deg": 180.0, "speaker_m": 1.0,
    }  # fmt: skip
    basis = basis_of(read_brief(changed("market-hall", **keys)))
    settings, light = basis.concrete_settings, basis.daylight
    s, f, t = settings.practice, settings.factors, settings.tensioning
    assert (s.curtailed, s.allowance, s.stirrup_bar, s.stirrup_spacing) == (0.7, 0.1, 0.01, 0.15)
    assert (s.skin_ratio, s.shell_ratio, s.spacing_thicknesses, s.spacing) == (0.002, 0.002, 4.0, 0.3)
    assert (s.stock, s.sheet_length, s.sheet_width, s.corner_bar) == (14.0, 5.0, 2.0, 0.012)
    prices = [getattr(f, name) for name in type(f).__dataclass_fields__]
    assert prices == [1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 10.0, 11.0, 12.0, 13.0]
    assert settings.uses == 9.0
    assert (t.strand.area, t.strand.fpk, t.strand.fp01k) == pytest.approx((1.4e-4, 1770e6, 1520e6))
    assert (t.duct, t.cover, t.anchor) == (0.07, 0.05, 0.2)
    assert (t.immediate_loss, t.later_loss) == (0.1, 0.2)
    assert (t.tension_service, t.tension_transfer) == (1.5e6, 1e6)
    assert (light.level, light.mean_least) == (-4.5, 0.025)
    assert (light.glazing.transmittance, light.glazing.dirt, light.glazing.frame) == (0.6, 0.75, 0.9)
    room = light.room
    assert (room.floor, room.walls, room.ceiling, room.wall_height) == (0.2, 0.4, 0.6, 4.5)
    assert (room.bays, room.length) == (basis_bays("market-hall"), 24.0)
    assert light.latitude == pytest.approx(-0.6108652)
    assert light.x_azimuth == pytest.approx(3.1415927)
    assert light.speaker == 1.0


def basis_bays(kind):
    return read_brief(starter_text(kind)).roof.bays


def test_defaults_of_the_tables_are_those_of_the_checks():
    basis = basis_of(read_brief(changed("market-hall", enabled="true")))
    assert basis.concrete_settings.tensioning == Tensioning()


def test_an_open_roof_has_no_walls():
    light = basis_of(read_brief(changed("workshop", walls="false"))).daylight
    assert light.room.bays is None


@pytest.mark.parametrize(
    ("lines", "words"),
    [
        ({"objectives": '["area", "daylight_mean"]'}, '"daylight_mean" needs the working plane'),
        ({"objectives": '["area", "strands"]'}, '"strands" needs prestress.enabled = true'),
        ({"daylight_min_pct": "2.0"}, "2 % needs the working plane, daylight.level_m"),
        ({"level_m": "4.0"}, "outside"),
        ({"concrete_carbon": "-1.0"}, "outside"),
        ({"shell_ratio": "0"}, "0 is outside 0.001 to 0.02"),
    ],
)
def test_faults_are_named(lines, words):
    with pytest.raises(BriefError, match=words):
        read_brief(changed("market-hall", **lines))


@pytest.mark.parametrize(
    ("kind", "wish", "sense"),
    [("market-hall", "carbon", "least"), ("reading-hall", "daylight_mean", "most")],
)
def test_a_search_for_carbon_or_daylight(kind, wish, sense, tmp_path):
    brief, out = tmp_path / "brief.toml", tmp_path / "run"
    text = changed(kind, objectives=f'["area", "section_modulus", "{wish}"]', deliver=5)
    brief.write_text(text, encoding="utf-8")
    done = CliRunner().invoke(cli, ["search", str(brief), "--evaluations", "2500", "--out", str(out)])
    assert done.exit_code == 0, done.output
    designs = [json.loads(path.read_text(encoding="utf-8")) for path in sorted((out / "designs").glob("*"))]
    column = {"carbon": "carbon_kgCO2e_m2", "daylight_mean": "daylight_mean_pct"}[wish]
    values = [design["measures"][column] for design in designs]
    assert all(value is not None for value in values)
    front = open_run(out).front
    assert {column, "cost_per_m2", "steel_weight_kg_m2"} <= set(front)
    best = min(values) if sense == "least" else max(values)
    manifest = json.loads((out / "manifest.json").read_text(encoding="utf-8"))
    name = manifest["picks"][f"{sense} {wish}"]
    assert next(d["measures"][column] for d in designs if d["id"] == name) == best
    figures = {path.name.partition("-")[0] for path in (out / "figures").glob("*.svg")}
    assert "isostatics" in figures
    assert ("light" in figures) is (wish == "daylight_mean")
    keys = {limit["key"] for limit in designs[0]["limits"]}
    assert {"neutral-axis", "torsion-compression"} <= keys
    assert ("daylight" in keys) is (wish == "daylight_mean")
