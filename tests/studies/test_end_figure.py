"""The end of the roof drawn: arrows add up to the end shear, every number is there, and the caution."""

from dataclasses import replace

import numpy as np
import pytest

from longvault.constraints.quantities import apart
from longvault.sections.export.scene import Area, Lines, Text
from longvault.sections.export.svg import svg_text
from longvault.sections.symbols import CAUTION
from longvault.studies.brief_basis import basis_of, proving_of
from longvault.studies.checked import check_section
from longvault.studies.end_figure import LONGEST, draw_end_structure
from longvault.studies.run_figures import first_figures
from longvault.studies.sheet import make_sheet
from longvault.studies.sheet_ends import apart_of, ends_document, ends_of
from longvault.studies.sheet_html import drawings_of

from .sections_at_hand import start_section, starter


def checked(kind, number=0, strut=0.0):
    brief = starter(kind)
    return check_section(
        start_section(kind, number), basis_of(brief), replace(proving_of(brief), strut=strut)
    )


@pytest.fixture(scope="module")
def hall():
    return checked("market-hall")


def words(scene):
    return " ".join(item.text for item in scene.items if isinstance(item, Text))


def test_arrows_add_up_to_the_end_shear(hall):
    """Lines of the layer, to the scale that the longest one states; short ones left out: within 2 %."""
    ends = ends_of(hall)
    scene = draw_end_structure(hall, replace(ends, last=None))
    arrows = np.array(
        [
            path
            for item in scene.items
            if isinstance(item, Lines) and item.layer == "flow"
            for path in item.paths
        ]
    )
    forces = arrows[:, 1] - arrows[:, 0]
    longest = float(words(scene).split("longest arrow ")[1].split(" kN")[0])
    assert np.hypot(*forces.T).max() == pytest.approx(LONGEST)
    legend = np.isclose(forces[:, 1], 0.0) & np.isclose(forces[:, 0], 9.0)
    total = forces[~legend].sum(axis=0) / LONGEST * longest * 1e3
    assert total[1] == pytest.approx(-ends.traverse.reaction, rel=0.02)
    assert abs(total[0]) < 1e-2 * ends.traverse.reaction


def test_all_that_was_reckoned_is_written(hall):
    ends, text = ends_of(hall), words(draw_end_structure(hall, ends_of(hall)))
    assert CAUTION[:40] in text
    assert f"tie {ends.traverse.tie * 1e-3:.4g} kN" in text
    for _, push in ends.traverse.columns:
        assert f"{push * 1e-3:.4g} kN" in text
    assert "pulls outward" in text
    assert f"{ends.last.depth:.2f} m" in text


def test_a_single_column_has_its_tie_on_top_and_struts_are_pushed():
    wings = checked("reading-hall", 3, strut=3e7)
    scene = draw_end_structure(wings, ends_of(wings))
    assert "pushes inward" in words(scene)
    lines = [i.paths[0] for i in scene.items if isinstance(i, Lines) and i.layer == "top bars"]
    (tie,) = (path for path in lines if path[1][0] - path[0][0] > 20.0)  # the other is the legend's
    walls = [i for i in scene.items if isinstance(i, Area) and i.layer == "plain"]
    assert tie[0][1] >= max(y for _, y in walls[0].rings[0]) - 1e-6


def test_sheet_and_run_folder_show_it(hall):
    assert any("end of the roof" in svg_text(drawing) for drawing in drawings_of(hall))
    assert any(name.startswith("ends-") for name in first_figures(hall))
    table = next(t for t in make_sheet(hall).tables if t.title == "Ends of the roof")
    assert any("both traverses" in row[0] for row in table.rows)


def test_quantities_by_hand_and_apart_from_the_shell(hall):
    ends, basis = ends_of(hall), hall.basis
    t, factors = ends.traverse, basis.concrete_settings.factors
    wall = 0.20 * t.wall_area
    tie = t.columns[1][0] - t.columns[0][0]
    assert t.tie_length == pytest.approx(tie)
    by_hand = apart(
        concrete=2 * wall,
        steel_volume=2 * (0.003 * wall + t.tie / basis.strengths.steel * tie),
        factors=factors,
    )
    found = apart_of(ends, hall)
    for name in ("concrete", "steel", "cost", "carbon"):
        assert getattr(found["traverses"], name) == pytest.approx(getattr(by_hand, name), rel=1e-9)
    member = found["last_bay_member"]
    assert member.concrete == pytest.approx(1.2 * 0.2 * basis.span)
    assert member.steel == pytest.approx(7850 * 2 * ends.last.steel * basis.span)
    assert member.cost == pytest.approx(
        factors.concrete_price * member.concrete + factors.steel_price * member.steel
    )
    written = ends_document(hall)["quantities_apart"]
    assert written["traverses"]["concrete_m3"] == found["traverses"].concrete
    # the objective stays the area of the section
    assert hall.measures["area"] == pytest.approx(float(hall.properties.area))
