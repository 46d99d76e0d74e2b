"""Figures: they carry the caution and units, mark what they say, keep the scale, save to the same bytes."""

from pathlib import Path

import numpy as np
import pytest

from longvault.optimise.history import History
from longvault.sections import CAUTION, Section, Strips
from longvault.sections.export.scene import Text
from longvault.sections.export.section_drawing import draw_section
from longvault.studies.front_figure import Measure, front_figure
from longvault.studies.plots import convergence_figure, save, section_figure


def section() -> Section:
    x = [-3.0, -3.0, -2.0, -0.7, 0.7, 2.0, 3.0, 3.0]
    z = [2.6, 2.1, 1.8, 0.0, 0.0, 1.8, 2.1, 2.6]
    parts = ["kerb", "wing", "wing", "keel", "wing", "wing", "kerb"]
    return Section("gull-wing", Strips.chain(x, z, [0.2, 0.1, 0.1, 0.18, 0.1, 0.1, 0.2], parts))


def front(**options):
    area = np.linspace(0.8, 1.2, 9)
    across, up = Measure("concrete area A", area, "m²"), Measure("section modulus S", 0.4 * area, "m³")
    third = Measure("clear opening", np.linspace(1.8, 0.6, 9), "m")
    return front_figure(across, up, third, **options)


def growth():
    steps = np.arange(1.0, 6.0)
    return convergence_figure(History(1e3 * steps, steps, 0.1 * steps, np.sqrt(steps), np.zeros(3)))


FIGURES = {
    "front": lambda: front(knee=4, height=2.65),
    "growth": growth,
    "section": lambda: section_figure(section(), bay=7.5, moment=2.9e6),
}


@pytest.mark.parametrize("name", FIGURES)
def test_figure_carries_the_caution_and_saves_to_the_same_bytes(name: str, tmp_path: Path) -> None:
    for ending in ("svg", "png"):
        for run in ("a", "b"):
            save(FIGURES[name](), tmp_path / f"{run}.{ending}")
        assert (tmp_path / f"a.{ending}").read_bytes() == (tmp_path / f"b.{ending}").read_bytes()
    drawn = "".join((tmp_path / "a.svg").read_text(encoding="utf-8").split("<g id=")[1:])
    assert CAUTION in drawn


def test_front_shows_units_knee_and_the_two_flange_bound() -> None:
    figure = front(knee=4, height=2.65)
    axes = figure.axes[0]
    assert (axes.get_xlabel(), axes.get_ylabel()) == ("concrete area A [m²]", "section modulus S [m³]")
    (bound,) = axes.lines
    np.testing.assert_allclose(bound.get_ydata(), np.asarray(bound.get_xdata()) * 2.65 / 2)  # S = A h / 2
    knee = axes.collections[-1].get_offsets()
    np.testing.assert_allclose(knee, [[1.0, 0.4]])
    assert {text.get_text() for text in axes.texts} == {"knee"}
    titles = [legend.get_title().get_text() for legend in figure.legends]
    assert "clear opening [m]" in titles


@pytest.mark.parametrize("bend", [0.3, 1.0, 3.0])
@pytest.mark.parametrize("knee", [0, 20, 40])
def test_the_name_of_the_knee_hides_no_design(knee: int, bend: float) -> None:
    area = np.linspace(0.8, 1.2, 41)
    up = Measure("S", ((area - 0.8) / 0.4) ** bend, "m³")
    figure = front_figure(Measure("A", area, "m²"), up, Measure("opening", area, "m"), knee=knee, height=2.65)
    figure.canvas.draw()
    (axes,) = figure.axes
    (name,) = axes.texts
    box = type(name).get_window_extent(name)
    assert axes.bbox.contains(box.x0, box.y0)
    assert axes.bbox.contains(box.x1, box.y1)
    for x, y in axes.transData.transform(np.column_stack((area, up.array))):
        assert not box.contains(x, y)


def test_a_long_title_stays_beside_the_legend() -> None:
    figure = front(title="A name of a project longer than the axes are wide: 100 designs $of the front")
    figure.canvas.draw()
    title = figure.axes[0].title.get_window_extent()
    assert title.x1 < figure.legends[0].get_window_extent().x0
    assert figure.axes[0].get_title(loc="left").splitlines()[-1] == "100 designs $of the front"


def test_front_of_one_design_or_without_opening_is_drawn(tmp_path: Path) -> None:
    one = Measure("A", [0.8], "m²"), Measure("S", [0.3], "m³")
    for third in (None, Measure("clear opening", [np.nan], "m"), Measure("clear opening", [1.2], "m")):
        save(front_figure(*one, third, knee=0, height=2.0), tmp_path / "one.png")
    assert (tmp_path / "one.png").stat().st_size > 5000


def test_section_figure_keeps_the_millimetres_of_the_drawing() -> None:
    scene = draw_section(section(), bay=7.5, moment=2.9e6)
    figure = section_figure(section(), bay=7.5, moment=2.9e6)
    assert tuple(figure.get_size_inches() * 25.4) == pytest.approx((scene.width, scene.height))
    (axes,) = figure.axes
    assert axes.get_xlim() == (0.0, scene.width)
    assert axes.get_position().bounds == pytest.approx((0.0, 0.0, 1.0, 1.0), abs=1e-12)
    figure.set_dpi(400)
    figure.canvas.draw()
    renderer = figure.canvas.get_renderer()
    per_mm = figure.dpi / 25.4
    wanted = [item for item in scene.items if isinstance(item, Text)]
    for item, text in zip(wanted, axes.texts, strict=True):
        box = text.get_window_extent(renderer)
        assert item.box[2] - item.box[0] >= box.width / per_mm - 0.2, text.get_text()


def test_save_refuses_other_endings(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match=r"got 'front.jpg'; must end in \.png or \.svg"):
        save(front(), tmp_path / "front.jpg")
