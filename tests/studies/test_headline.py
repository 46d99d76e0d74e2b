"""What stands beside the verdict: short vaults, sections that are no beam, roofs no folded plate proved."""

from dataclasses import replace

import numpy as np
import pytest

from longvault.constraints.arch import BeamArch
from longvault.constraints.basis import Basis, Detailing, Requirements
from longvault.constraints.beam import spans_of, support_of
from longvault.constraints.proving import Proving
from longvault.sections import Joint, Section, Strips
from longvault.studies.checked import check_section
from longvault.studies.cli.check import document
from longvault.studies.headline import kind_settings
from longvault.studies.not_covered import short_vault
from longvault.studies.sheet import make_sheet
from longvault.studies.sheet_text import sheet_text

LEVEL = "not proved by the folded plate"
NEED = Requirements(height_max=4.0)


def vault(part="crown", radius=7.5, opening=0.6):
    """Circular vault between valleys that meet its neighbours."""
    a = np.linspace(-opening, opening, 25)
    strips = Strips.chain(radius * np.sin(a), radius * (np.cos(a) - np.cos(opening)), 0.1, part)
    return Section("vault", strips, (Joint(0, "valley", "left"), Joint(24, "valley", "right")))


def basis(span, **more):
    bay = 2 * 7.5 * float(np.sin(0.6))
    return Basis(span=span, pitch=bay, requirements=NEED, crosswise=Proving(), **more)


def along(kind):
    """Where a roof of 24 m rests that no simple span is."""
    spans = spans_of(kind, 24.0)
    return {"support": support_of(kind, spans, 24.0), "spans": spans}


def said(checked):
    """Verdict, head and note of the JSON document of one section."""
    sheet = make_sheet(checked)
    return sheet.verdict, sheet.subtitle, document(checked, "roof")["note"] or ""


def test_a_short_vault_says_so_in_headline_and_note():
    given = basis(6.0)
    verdict, _, note = said(check_section(vault(), given, given.crosswise))
    for text in (verdict, note):
        assert "This is a short vault (L/R 0.8)" in text
        assert "In the interior bay the section does not act as a beam: beam theory low by x" in text


def test_a_long_vault_has_no_note():
    given = basis(40.0)
    verdict, subtitle, note = said(check_section(vault(), given, given.crosswise))
    assert note == ""
    assert "short" not in verdict
    assert LEVEL not in verdict + subtitle


@pytest.mark.parametrize(
    "more",
    [
        along("propped"),
        along("fixed"),
        along("cantilever"),
        {"arch": BeamArch(rise=0.5, tie_area=0.002)},
    ],
)
def test_roofs_without_a_folded_plate_say_so_everywhere(more):
    checked = check_section(vault(), basis(24.0, **more))
    assert all(LEVEL in text for text in said(checked))
    assert LEVEL in sheet_text(make_sheet(checked)).split("Geometry")[0]


def test_wrong_labels_are_said_in_the_note():
    given = basis(24.0)
    checked = check_section(vault("kerb"), given, given.crosswise)
    assert set(checked.section.strips.parts) == {"wing"}
    assert all("24 strips called kerb are no beams or kerbs" in text for text in said(checked))
    plain = check_section(vault("wing"), given, given.crosswise)
    assert checked.measures == plain.measures


def test_plates_that_are_almost_flat_are_no_short_vault():
    """A wing that turns by 8 degrees has a radius of 20 m and is no vault of that radius."""
    a = np.linspace(-0.07, 0.07, 13)
    wing = Strips.chain(20.0 * np.sin(a), 20.0 * np.cos(a), 0.08, "wing")
    assert short_vault(wing, 11.0) is None
    assert short_vault(vault().strips, 6.0) is not None


def test_low_places_stand_on_the_sheet():
    """Two troughs 1 m deep below their rims: 10 kN/m3 x 1 m x 2 m / 2 = 10 kN/m each."""
    wave = Strips.chain([-3.0, -2.0, -1.0, 0.0, 1.0, 2.0, 3.0], [0, 1, 0, 1, 0, 1, 0], 1e-3, "wing")
    given = replace(basis(24.0), pitch=6.5, crosswise=None)
    tables = {table.title: table for table in make_sheet(check_section(Section("wave", wave), given)).tables}
    rows = tables["Low places of the roof"].rows
    assert [row[0] for row in rows] == ["-1.00", "1.00"]
    assert all(row[1] == "no gutter" and row[2] == "1000 mm" and row[4].endswith("= 10.00") for row in rows)


def test_a_free_section_without_symmetry_tells_what_would_hold_it():
    """Redo by hand: w I_xz / I_xx, the same whether it is held or free; a symmetrical one has no such row."""
    shed = Strips.chain([-3.0, -1.0, 1.0, 3.0], [0.0, 1.2, 1.6, 1.7], 0.1, "wing")
    found = {}
    for held in (False, True):
        given = replace(basis(24.0, held=held), pitch=6.5, crosswise=None)
        checked = check_section(Section("shed", shed), given)
        table = next(one for one in make_sheet(checked).tables if one.title == "Deflection")
        row = next(one for one in table.rows if "hold" in one[0])
        p, m = checked.properties, checked.measures
        by_hand = m["characteristic_load"] * float(p.ixz / p.ixx) / 1e3
        assert float(row[2].split()[0]) == pytest.approx(by_hand, rel=1e-3)
        shown = document(checked, "shed")
        assert shown["holding_force_kN_m"] == pytest.approx(by_hand, rel=1e-9)
        assert shown["held_straight"] is held
        found[held] = row
    assert found[True][0] == "force that holds it straight"
    assert found[False][0] == "force that would hold it straight (it is free)"
    given = basis(24.0)
    table = next(t for t in make_sheet(check_section(vault(), given)).tables if t.title == "Deflection")
    assert not [row for row in table.rows if "hold" in row[0]]


def test_span_over_height_stands_beside_span_over_twice_the_radius_of_gyration():
    """Two flanges of 1 m x 0.1 m, 2 m apart on a thin web: 2 sqrt(I / A) is close to those 2 m."""
    x, z = [-0.5, 0.0, 0.5, -0.5, 0.5], [2.0, 2.0, 2.0, 0.0, 0.0]
    ends = [[0, 1], [1, 2], [1, 5], [3, 5], [5, 4]]
    beam = Strips([*x, 0.0], [*z, 0.0], np.array(ends), [0.1, 0.1, 0.002, 0.1, 0.1], ("wing",) * 5)
    given = replace(basis(24.0, held=True), pitch=3.0, crosswise=None, concrete_settings=None)
    tables = {one.title: one for one in make_sheet(check_section(Section("beam", beam), given)).tables}
    rows = {row[0]: row[2] for row in tables["Section properties"].rows}
    assert float(rows["the same over 2 sqrt(I / A)"]) == pytest.approx(12.0, rel=0.02)
    assert float(rows["span over height L / h"]) == pytest.approx(24.0 / 2.1, rel=1e-3)


def test_struts_of_the_file_and_of_the_brief_are_told_apart():
    gull = Strips.chain([-2.8, -1.0, 0.0, 1.0, 2.8], [1.2, 0.3, 0.0, 0.3, 1.2], 0.12, "wing")
    given = replace(basis(16.0), pitch=6.5)

    def told(kind, spring=0.0, **brief):
        joints = (Joint(0, kind, "left", spring), Joint(4, kind, "right", spring))
        proving = Proving(**brief)
        checked = check_section(Section("gull", gull, joints), replace(given, crosswise=proving), proving)
        return next(t for t in make_sheet(checked).tables if t.title == "Proof as a folded plate").notes

    assert any("bay; slots free." in note for note in told("slot"))
    assert any("1000 MN/m² from edge to mid-slot (by the section file)" in n for n in told("strut", 1e9))
    assert any("80 MN/m² from edge to mid-slot (by the brief)" in n for n in told("slot", strut=80e6))


def test_the_sheet_says_what_a_thrust_does_not_relieve():
    checked = check_section(vault(), basis(24.0, arch=BeamArch(rise=0.5, tie_area=0.002)))
    table = next(one for one in make_sheet(checked).tables if one.title == "Cracked bending")
    assert any("full moment of the straight module" in note for note in table.notes)
    straight = check_section(vault(), basis(24.0))
    found = next(one for one in make_sheet(straight).tables if one.title == "Cracked bending")
    assert found.rows[0] == table.rows[0]


def test_settings_kinder_than_common_practice_are_named():
    given = replace(basis(40.0), requirements=replace(NEED, creep=0.0))
    verdict, _, note = said(check_section(vault(), given, given.crosswise))
    for text in (verdict, note):
        assert "The brief sets lower than is common: creep coefficient 0, at least 1." in text


def test_cover_that_does_not_last_in_its_class_is_named():
    basis = Basis(span=24.0, pitch=8.0, requirements=Requirements(height_max=2.5, exposure="XS3"))
    assert kind_settings(basis) == (
        "The brief sets lower than is common: cover in mm for XS3 25, at least 45.",
    )
    outside = replace(basis, detailing=Detailing(cover_top=0.045, cover_bottom=0.05))
    assert kind_settings(outside) == ()
    assert kind_settings(replace(basis, requirements=Requirements(height_max=2.5))) == ()
