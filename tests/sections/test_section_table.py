"""The lesson figure of all families: same concrete, its numbers recomputed by polygons, both file kinds."""

import numpy as np
import pytest

from longvault.sections.families.registry import NAMED
from longvault.sections.outline import judge_outline
from longvault.sections.polygon import outline_properties
from longvault.sections.symbols import CAUTION
from longvault.studies.lessons.sections import AREA, HEIGHT, draw, sections


@pytest.fixture(scope="module")
def drawn(tmp_path_factory):
    folder = tmp_path_factory.mktemp("lesson")
    return folder, draw(folder / "sections.svg")


def test_every_family_is_there_with_the_same_concrete(drawn):
    table = drawn[1]["table"]
    assert len(table["section"]) == len(NAMED) == len(set(table["section"]))
    np.testing.assert_allclose(table["A m²"], AREA, rtol=1e-9)
    free_height = [h for h in table["h m"] if abs(h - HEIGHT) < 1e-3]
    assert len(free_height) == len(NAMED) - 3  # not the semicircle, the shallow vault, the cycloid


def test_numbers_agree_with_the_polygons_drawn(drawn):
    table = drawn[1]["table"]
    for place, (_, strips) in enumerate(sections().values()):
        verdict = judge_outline(strips)
        assert verdict.valid, verdict.reasons
        exact = outline_properties(verdict.shape)
        assert table["A m²"][place] == pytest.approx(exact.area, rel=0.03)
        assert table["I m⁴"][place] == pytest.approx(exact.ixx, rel=0.06)
        assert table["k = S / (A h)"][place] == pytest.approx(
            table["S free m³"][place] / (table["A m²"][place] * table["h m"][place]), rel=1e-9
        )


def test_file_carries_the_caution_and_every_title(drawn):
    folder, result = drawn
    text = (folder / "sections.svg").read_text(encoding="utf-8")
    assert CAUTION[:40] in text
    for title in result["table"]["section"]:
        assert title in text
    draw(folder / "sections.png")
    assert (folder / "sections.png").read_bytes().startswith(b"\x89PNG")
