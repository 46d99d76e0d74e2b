"""The figure of light: nothing overlaps, units and caution are there, all three kinds of section draw."""

import numpy as np
import pytest

from longvault.sections import CAUTION, Section, Strips
from longvault.studies.light_document import LightQuestion
from longvault.studies.light_figures import light_figure

DEG = np.pi / 180.0


def deck(kerb=0.5):
    x = [-2.3, -2.3, 2.3, 2.3]
    strips = Strips.chain(x, [kerb, 0, 0, kerb], [0.2, 0.1, 0.2], ["kerb", "wing", "kerb"])
    return Section("Deck with kerbs", strips)


def shallow_vault():
    x = np.linspace(-2.4, 2.4, 21)
    return Section("Shallow vault", Strips.chain(x, 1.0 - x**2 / 6.0, 0.1, "wing"))


def bare_slot():
    strips = Strips([-6, -0.5, 0.5, 6], [4] * 4, [[0, 1], [2, 3]], [0.1] * 2, ["ceiling"] * 2)
    return Section("Bare slot", strips)


FULL = LightQuestion(
    floor=-4.0, pitch=6.0, glass=0.68, dirt=0.7, frame=0.8, span=24.0, bays=6, reflectances=(0.3, 0.5, 0.5),
    latitude=52 * DEG, speaker=1.0,
)  # fmt: skip
CASES = [
    (deck(), FULL),
    (shallow_vault(), FULL),
    (deck(), LightQuestion(floor=-4.0, pitch=6.0, latitude=-34 * DEG, x_azimuth=np.pi / 2)),
    (bare_slot(), LightQuestion(floor=0.0)),
]


@pytest.mark.parametrize(("section", "question"), CASES)
def test_nothing_overlaps_or_leaves_the_page(section, question):
    figure = light_figure(section, question)
    renderer = figure.canvas.get_renderer()
    page = figure.bbox
    boxes = [axes.get_tightbbox(renderer) for axes in figure.axes]
    for i, box in enumerate(boxes):
        assert box.x0 >= page.x0 and box.x1 <= page.x1 + 1.0  # noqa: PT018
        assert box.y0 >= page.y0 and box.y1 <= page.y1  # noqa: PT018
        for other in boxes[:i]:
            overlap = (
                min(box.x1, other.x1) - max(box.x0, other.x0),
                min(box.y1, other.y1) - max(box.y0, other.y0),
            )
            assert min(overlap) <= 0.5
    [caution] = [text for text in figure.texts if text.get_text().replace("\n", " ") == CAUTION]
    lowest = min(box.y0 for box in boxes)
    assert caution.get_window_extent(renderer).y1 < lowest


@pytest.mark.parametrize(("section", "question"), CASES)
def test_axes_have_units_and_the_section_is_to_scale(section, question):
    figure = light_figure(section, question)
    upper, lower = figure.axes[:2]
    assert "[m]" in upper.get_ylabel()
    assert "[m]" in lower.get_xlabel()
    assert "%" in lower.get_ylabel()
    box = upper.get_window_extent()
    across, up = np.diff(upper.get_xlim())[0], np.diff(upper.get_ylim())[0]
    assert box.width / across == pytest.approx(box.height / up, rel=1e-6)
    assert upper.get_xlim() == lower.get_xlim()
    assert len(figure.axes) == (4 if question.latitude is not None else 2)
