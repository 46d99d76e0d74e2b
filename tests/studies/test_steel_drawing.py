"""Drawings of steel and taper: bars in the concrete with their cover, bands as long as shear asks."""

from dataclasses import replace
from itertools import combinations

import numpy as np
import pytest
import shapely
import shapely.affinity

from longvault.constraints.concrete_settings import ConcreteSettings
from longvault.constraints.developed import develop
from longvault.constraints.plates_results import strip_forces
from longvault.constraints.prestress import Tensioning
from longvault.sections import CAUTION
from longvault.sections.export.scene import Area, Text
from longvault.sections.outline import outline
from longvault.sections.parts import roof_surface
from longvault.studies.brief import basis_of
from longvault.studies.brief_basis import proving_of
from longvault.studies.briefs import KINDS
from longvault.studies.checked import check_section
from longvault.studies.run_figures import first_figures
from longvault.studies.sheet_plates import slices_of
from longvault.studies.steel_developed import added_steel
from longvault.studies.steel_drawing import draw_steel
from longvault.studies.steel_places import main_bars, placed_steel, whole_bars
from longvault.studies.taper_drawing import draw_taper, governing_station

from .sections_at_hand import checked_start, start_section, starter


def concrete(checked):
    """The module with its neighbours, which hold the other half of a shared member."""
    shape = outline(checked.section.strips)
    sides = (-checked.basis.pitch, 0.0, checked.basis.pitch)
    return shapely.union_all([shapely.affinity.translate(shape, x) for x in sides]).buffer(1e-6)


def proved(kind, **changes):
    basis = replace(basis_of(starter(kind)), **changes)
    return check_section(start_section(kind), basis, proving_of(starter(kind)))


def texts(scene):
    return [item for item in scene.items if isinstance(item, Text)]


@pytest.mark.parametrize("kind", KINDS)
def test_main_bars_lie_in_the_concrete_with_their_cover_and_apart(kind):
    checked = checked_start(kind)
    steel, d = placed_steel(checked), checked.basis.detailing
    inside = min(d.cover_top, d.cover_bottom) + d.mesh_bar + 0.5 * d.main_bar
    bars = np.concatenate([steel.bars, steel.reverse])
    assert steel.placed >= steel.needed or checked.measures["bar_room"] < steel.area * d.lap_factor
    assert steel.needed * np.pi / 4 * d.main_bar**2 >= checked.measures["steel_area"] * (1 - 1e-9)
    edge = concrete(checked).boundary
    assert shapely.distance(edge, shapely.points(bars)).min() > inside - 2e-3
    assert shapely.contains_xy(concrete(checked), bars[:, 0], bars[:, 1]).all()
    gaps = [np.hypot(*(a - b)) for a, b in combinations(bars, 2)]
    clear = max(d.main_bar, d.aggregate + 0.005, 0.020)  # EN 1992-1-1, 8.2(2)
    assert min(gaps) >= d.main_bar + clear - 1e-6


@pytest.mark.parametrize("bar", [0.016, 0.020, 0.025, 0.032])
def test_a_whole_valley_holds_the_bars_a_bay_needs_those_on_the_joint_counted_once(bar):
    start = checked_start("market-hall")
    d, pitch = replace(start.basis.detailing, main_bar=bar), start.basis.pitch
    checked = replace(start, basis=replace(start.basis, detailing=d))
    room = whole_bars(checked, main_bars(checked, 1.0, sagging=True))
    for wanted in range(1, int(room) + 1):
        bars = main_bars(checked, wanted * d.bar_area, sagging=True)
        row = np.concatenate([bars + np.array([shift * pitch, 0.0]) for shift in (-1, 0, 1)])
        valley = row[np.abs(row[:, 0] - 0.5 * pitch) < 0.2]  # halves of two neighbours
        once = np.unique(valley.round(4), axis=0)
        assert len(once) >= wanted
        assert len(once) == whole_bars(checked, bars), "what the drawing says in words"
        gaps = [np.hypot(*(one - other)) for one, other in combinations(once, 2)]
        assert min(gaps, default=1.0) >= bar + max(bar, d.aggregate + 0.005, 0.020) - 2e-4


@pytest.mark.parametrize("kind", ["reading-hall", "market-hall"])
def test_a_symmetrical_section_keeps_its_bars_symmetrical(kind):
    steel = placed_steel(checked_start(kind))
    x = np.sort(steel.bars[:, 0])
    assert x + x[::-1] == pytest.approx(0.0, abs=0.025), "but for what a row leaves at its end"


def test_two_layers_of_mesh_keep_their_covers_and_one_lies_in_the_middle():
    checked = checked_start("market-hall")
    d = checked.basis.detailing
    strips = checked.section.strips
    curve = np.stack([strips.x, strips.z], axis=-1)[1:-1]  # without the valley beams
    one = shapely.get_coordinates(placed_steel(checked).mesh)
    assert np.abs(one - curve).max() < 1e-9
    two = replace(checked, basis=replace(checked.basis, detailing=replace(d, mesh_layers=2)))
    lines = shapely.get_coordinates(placed_steel(two).mesh)
    rim = shapely.distance(concrete(checked).boundary, shapely.points(lines))
    assert rim.min() > 0.8 * d.cover_bottom  # mitres at the knees of a spline take a little


@pytest.mark.parametrize("kind", ["reading-hall", "market-hall"])
def test_the_tendon_lies_in_concrete_under_its_cover(kind):
    use = Tensioning()
    checked = proved(kind, concrete_settings=ConcreteSettings(tensioning=use))
    tendon = placed_steel(checked).tendon
    assert len(tendon.x) == (2 if kind == "market-hall" else 1)
    assert np.mean(tendon.x) == pytest.approx(0.0, abs=1e-3)
    spots = shapely.points([(x, tendon.z) for x in tendon.x])
    away = shapely.distance(concrete(checked).boundary, spots)
    seat = checked.measures["seat_thickness"]
    assert (away >= min(use.cover + 0.5 * use.duct, 0.5 * seat) - 2e-3).all()
    shown = " ".join(item.text for item in texts(draw_steel(checked)))
    assert "Tendon: P =" in shown
    assert "to tendon" in shown


def test_added_steel_reaches_as_far_as_the_shear_flow_exceeds_the_mesh():
    checked = proved("reading-hall")
    basis, d = checked.basis, checked.basis.detailing
    surface = develop(checked.section.strips, span=basis.span)
    s = np.linspace(0.0, surface.s[-1], 2001)
    y = np.linspace(0.0, basis.span, 2401)
    asked = added_steel(checked, surface, y, s)
    # V falls in a straight line: length of the band = L / 2 (1 - mesh / needed), needed at the support
    mesh = np.pi / 4 * d.mesh_bar**2 / d.mesh_spacing
    needed = checked.measures["web_steel"]
    assert needed > mesh, "this start asks for more near its supports"
    reach = y[: len(y) // 2][asked[: len(y) // 2].any(axis=1)].max()
    thin = max(mesh, 0.0018 * surface.thickness.min())
    assert reach == pytest.approx(basis.span / 2 * (1 - thin / needed), abs=0.15)
    assert (asked == asked[::-1]).all(), "both ends of a simple span alike"


@pytest.mark.parametrize("kind", ["reading-hall", "market-hall"])
def test_top_bars_lie_where_the_folded_plate_stretches_the_upper_face(kind):
    checked = proved(kind)
    steel = placed_steel(checked)
    strips, surface = checked.section.strips, roof_surface(checked.section.strips)
    (bay,) = checked.proved_bays
    m_s = strip_forces(slices_of(checked)[bay].plate, np.linspace(0.0, 1.0, 41)).m_s[:, surface]
    up = m_s.max(axis=(0, 2))
    assert steel.peak == pytest.approx(up.max(), rel=0.01)
    # the sheet's bending across counts both faces, in strips half as wide
    assert 0 < steel.peak < 1.05 * checked.measures["transverse_moment"]
    middles = 0.5 * (strips.x[strips.ends[:, 0]] + strips.x[strips.ends[:, 1]])[surface]
    drawn = [line.bounds[::2] for line in shapely.get_parts(steel.top)]
    for x, moment in zip(middles, up, strict=True):
        inside = any(low <= x <= high for low, high in drawn)
        assert inside == (moment > 0.25 * steel.peak)
    said = " ".join(item.text for item in texts(draw_steel(checked)))
    assert f"m_s = {steel.peak / 1e3:.2f} kNm/m" in said


def test_a_roof_that_is_not_proved_says_so_in_the_place_of_top_bars():
    checked = checked_start("canopy")
    said = " ".join(item.text for item in texts(draw_steel(checked)))
    assert placed_steel(checked).top.is_empty
    assert "Top bars across are drawn for roofs proved by the folded plate; this one is not." in said
    assert f"The slice, a limit, has {checked.measures['slice_moment'] / 1e3:.3g}" in said
    assert "no slice was solved" not in said


@pytest.mark.parametrize("kind", KINDS)
def test_the_drawing_is_whole_its_labels_clear_of_each_other(kind):
    scene = draw_steel(checked_start(kind))
    check_labels(scene)
    said = " ".join(item.text for item in texts(scene))
    assert CAUTION in said.replace("  ", " ")
    assert "Main bars:" in said
    assert "cm²" in said
    assert "along the span" in said
    assert any(isinstance(item, Area) and item.layer == "bar" for item in scene.items)


def check_labels(scene):
    boxes = [shapely.box(*item.box) for item in texts(scene)]
    sheet = shapely.box(0, 0, scene.width, scene.height)
    assert all(sheet.contains(box) for box in boxes)
    words = texts(scene)
    over = [
        (words[i].text, words[j].text)
        for i, j in combinations(range(len(boxes)), 2)
        if boxes[i].intersection(boxes[j]).area > 0.2
    ]
    assert not over


def test_a_taper_shows_root_governing_station_and_tip():
    checked = checked_start("canopy", 1)
    governs, scene = governing_station(checked), draw_taper(checked)
    placed = [row for row in checked.rows if row.place is not None]
    assert governs.row.margin == max(row.margin for row in placed)
    assert governs.index == 0
    assert governs.place == pytest.approx(4.0), "the root of the arm, 4 m from the tie-down"
    check_labels(scene)
    said = [item.text for item in texts(scene)]
    assert any(text.startswith("root, governs") for text in said)
    assert any(text.startswith("tip, y = 15.00") for text in said)
    assert f"governs at {governs.words}" in said
    volume = checked.measures["equivalent_thickness"]
    assert any(f"{volume:.4f} m³ per m² of plan" in text for text in said)
    with pytest.raises(ValueError, match="one section from end to end"):
        draw_taper(checked_start("classroom"))


def test_a_station_between_root_and_tip_is_drawn_when_it_governs():
    checked = checked_start("canopy", 1)
    worst = max((row for row in checked.rows if row.place is not None), key=lambda row: row.margin)
    rows = tuple(replace(row, place=9.5) if row is worst else row for row in checked.rows)
    moved = replace(checked, rows=rows)
    assert governing_station(moved).index == 3  # stations stand 11/6 m apart from y = 4 m
    said = [item.text for item in texts(draw_taper(moved))]
    assert any(text.startswith("governing station, y = 9.50") for text in said)
    check_labels(draw_taper(moved))


@pytest.mark.parametrize("kind", ["canopy", "market-hall"])
def test_the_figures_of_a_run_hold_its_steel_and_its_taper(kind):
    member = kind == "canopy"
    names = {name.partition("-")[0] for name in first_figures(checked_start(kind, 1))}
    assert "steel" in names
    assert ("taper" in names) is member
