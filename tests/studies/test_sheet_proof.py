"""Slice, ends of the roof, remedies and what is not covered: on the sheet and in the document of a check."""

import json
from dataclasses import replace

import pytest

from longvault.constraints.measures import MEASURES
from longvault.studies.brief import basis_of
from longvault.studies.brief_basis import proving_of
from longvault.studies.checked import check_section
from longvault.studies.cli.check import document
from longvault.studies.not_covered import NOT_COVERED, not_covered
from longvault.studies.other_bays import broken_elsewhere
from longvault.studies.sheet import make_sheet
from longvault.studies.sheet_html import drawings_of, sheet_html
from longvault.studies.sheet_text import sheet_text

from .sections_at_hand import start_section, starter


@pytest.fixture(scope="module")
def hall():
    brief = starter("market-hall")
    return check_section(start_section("market-hall"), basis_of(brief), proving_of(brief))


def rows_of(sheet, title):
    (table,) = [one for one in sheet.tables if one.title == title]
    return {row[0]: row[1:] for row in table.rows}


def test_the_slice_stands_beside_the_folded_plate(hall):
    rows, found = rows_of(make_sheet(hall), "Proof as a folded plate"), document(hall, "hall")
    assert len(rows["the same, transverse slice"]) == 1 + len(hall.plates)
    bays = found["transverse_slice"]
    assert set(bays) == set(hall.plates)
    assert f"{bays['interior']['transverse_moment_kNm_m']:.3f} kNm/m" in rows["the same, transverse slice"]
    assert bays["lone"]["outward_force_kN_m"] is None
    assert bays["end"]["outward_force_kN_m"] == 0.0
    ratio = bays["interior"]["transverse_moment_kNm_m"] * 1e3 / hall.plates["interior"]["transverse_moment"]
    assert 0.5 < ratio < 2.0


def test_a_bay_that_no_limit_looks_at_is_not_passed_over():
    """The end bay has no neighbour on one side and sags more: allow what lies between the two."""
    brief = starter("market-hall")
    basis, proving = basis_of(brief), proving_of(brief)
    start = start_section("market-hall", 0)
    sags = [
        check_section(start, basis, proving).plates[bay]["plate_deflection"] for bay in ("interior", "end")
    ]
    assert sags[1] > 1.2 * sags[0]
    allowed = (sags[0] * sags[1]) ** 0.5
    need = replace(basis.requirements, deflection_ratio=basis.depth_span / allowed)
    hall = check_section(start, replace(basis, requirements=need), proving)
    (row,) = broken_elsewhere(hall)["end"]
    assert hall.feasible
    assert row.limit.key == "plate-deflection"
    assert row.margin == pytest.approx(sags[1] / allowed - 1.0)
    assert "The end bay of the same row would not hold: long-term deflection x" in make_sheet(hall).verdict
    shown = document(hall, "hall")["broken_in_other_bays"]["end"]
    assert [one["key"] for one in shown] == ["plate-deflection"]
    assert any(line.startswith("end bay: it breaks limits") for line in not_covered(hall))
    both = check_section(start, hall.basis, replace(proving, bays=("interior", "end")))
    assert broken_elsewhere(both) == {}
    assert [row.limit.key for row in both.rows if not row.holds] == ["plate-deflection"]
    assert "would not hold" not in make_sheet(both).verdict


def test_ends_on_sheet_and_in_the_document_are_the_same(hall):
    rows, ends = rows_of(make_sheet(hall), "Ends of the roof"), document(hall, "hall")["end_structure"]
    assert ends["end_shear_down_kN"] == pytest.approx(ends["half_load_kN"], rel=5e-3)
    assert rows["end shear of the shell, down"][-1] == f"{ends['end_shear_down_kN']:.1f} kN"
    assert len(ends["columns"]) == 2
    assert ends["tie_estimate_kN"] > 0
    assert ends["last_bay"]["joint"] == "valley"
    assert ends["last_bay"]["depth_m"] == pytest.approx(24.0 / 20)


def test_a_failing_folded_plate_limit_gets_its_remedies_priced(hall):
    failing = [row.limit.key for row in hall.rows if not row.holds]
    assert "buckling" in failing
    found = document(hall, "hall")["remedies"]
    assert {one["remedy"] for one in found} == {
        "upright edge beam",
        "flat edge beam",
        "collars over the middle",
        "thicker shell",
    }
    assert any(one["mends"] for one in found)
    for one in found:
        assert one["mends"] == ("buckling" not in one["still_failing"])
        assert (one["concrete_mm"] > 0) != one["remedy"].startswith("collars")
    sheet = make_sheet(hall)
    assert len(rows_of(sheet, "What would mend it")) == len(found)
    for text in (sheet_text(sheet), sheet_html(sheet, drawings_of(hall))):
        assert "What would mend it" in text
        assert "Ends of the roof" in text


def test_a_kept_section_needs_none():
    brief = starter("classroom")
    kept = check_section(start_section("classroom"), basis_of(brief), proving_of(brief))
    plates = {limit for limit in MEASURES if limit.startswith("plate")}
    assert plates
    assert all(
        row.holds for row in kept.rows if row.limit.key.startswith(("plate-", "transverse", "buckling"))
    )
    assert document(kept, "classroom")["remedies"] == []


def test_a_short_vault_is_told_so_first(hall):
    short = check_section(hall.section, replace(hall.basis, span=2.5), hall.proving)
    first = not_covered(short)[0]
    assert first.startswith("This is a short vault (L/R 0.")
    assert "another method" in first
    assert document(short, "hall")["not_covered"][0] == first
    assert first in " ".join(sheet_text(make_sheet(short)).split())
    assert not not_covered(hall)[0].startswith("This is a short")


def test_what_is_not_covered_is_named(hall):
    named = " ".join(NOT_COVERED)
    for word in ("short vaults", "double curvature", "earthquake", "fatigue", "fire beyond"):
        assert word in named
    listed = document(hall, "hall")["not_covered"]
    assert set(NOT_COVERED) <= set(listed)
    json.dumps(document(hall, "hall"), allow_nan=False)


def test_a_cantilever_has_no_ends_by_the_folded_plate():
    brief = starter("canopy")
    checked = check_section(start_section("canopy"), basis_of(brief), proving_of(brief))
    assert document(checked, "canopy")["end_structure"] is None
    assert any("loss of shape" in line for line in not_covered(checked))


def test_struts_and_collars_tell_the_force_in_each():
    brief = starter("reading-hall")
    proving = replace(proving_of(brief), strut=3e7, collar=1e7, collar_at=0.0, spacing=2.5)
    wings = check_section(start_section("reading-hall", 3), basis_of(brief), proving)
    rows = rows_of(make_sheet(wings), "Proof as a folded plate")
    pushes = document(wings, "wings")["transverse_slice"]["interior"]["member_push_kN_m"]
    for name in ("struts", "collars"):
        cell = rows[f"{name} at 2.5 m, pushed +, ultimate"][1]
        assert cell.startswith(f"{pushes[name]:.4g} kN/m, {2.5 * pushes[name]:.4g} kN each")
    assert pushes["struts"] > 0
