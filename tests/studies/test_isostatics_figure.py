"""The figure of the isostatics carries both families, a legend and the caution, and works in grey."""

import numpy as np
import pytest

from longvault.sections import CAUTION, Strips
from longvault.studies.isostatics_figure import LINES, isostatics_figure
from longvault.studies.plots import save


def roof():
    a = np.linspace(-0.64, 0.64, 33)
    return Strips.chain(7.5 * np.sin(a), 7.5 * np.cos(a), 0.08, "crown")


@pytest.mark.parametrize("support", ["simple", "cantilever"])
def test_what_the_figure_says(support, tmp_path):
    figure = isostatics_figure(roof(), span=24.0, support=support, title="Vault")
    words = " ".join(text.get_text().replace("\n", " ") for text in figure.texts)
    assert CAUTION in words
    assert "span 24 m" in words
    assert [t.get_text() for t in figure.legends[0].get_texts()] == ["compression", "tension", "neutral axis"]
    developed = figure.axes[1]
    drawn = [len(c.get_paths()) for c in developed.collections]
    assert len(drawn) == 2
    assert min(drawn) > 3
    save(figure, tmp_path / "isostatics.png")
    assert (tmp_path / "isostatics.png").stat().st_size > 20_000


def test_the_families_differ_without_colour():
    """Weight and dash part them where the hues are lost."""
    push, pull = LINES.values()
    assert push["linewidth"] > 1.4 * pull["linewidth"]
    assert push["linestyle"] == "-"
    assert push["linestyle"] != pull["linestyle"]


def test_same_roof_same_bytes(tmp_path):
    for name in ("a.svg", "b.svg"):
        save(isostatics_figure(roof(), span=24.0), tmp_path / name)
    assert (tmp_path / "a.svg").read_bytes() == (tmp_path / "b.svg").read_bytes()
