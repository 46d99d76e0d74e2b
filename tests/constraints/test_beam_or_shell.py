"""Beam theory and folded plate meet at long spans and part at short ones, in every family of sections."""

import importlib.util
import json
from pathlib import Path

import numpy as np
import pytest

from longvault.sections.families.registry import FAMILIES

FOLDER = Path(__file__).parents[1] / "benchmarks"
SPEC = importlib.util.spec_from_file_location("beam_or_shell_recipe", FOLDER / "beam_or_shell_recipe.py")
recipe = importlib.util.module_from_spec(SPEC)
SPEC.loader.exec_module(recipe)
DATA = json.loads((FOLDER / "beam_or_shell.json").read_text(encoding="utf-8"))
SPANS = np.array(DATA["spans_over_bay"])
MEETS = 0.005


def test_every_family_is_in_the_data_or_has_a_reason():
    assert set(DATA["families"]) | set(DATA["left_out"]) == set(FAMILIES)
    assert all(DATA["left_out"].values())


@pytest.mark.parametrize("key", recipe.PRISMATIC)
def test_kept_data_meet_at_long_spans_and_part_at_short_ones(key):
    for kind in ("stress", "deflection"):
        off = np.abs(np.array(DATA["families"][key][kind]) - 1.0)
        assert off[SPANS >= 48.0].max() < MEETS, kind
        assert off[-1] < off[-2] < off[-3], kind
    # deflection parts from the beam in every family; in stress a fold may stay near it
    assert DATA["families"][key]["deflection"][0] > 1.25


@pytest.mark.parametrize("key", ["vault", "gull-wing", "one-sided", "fold-z", "segment-vault-vertical-beam"])
def test_two_spans_recomputed(key):
    stress, deflection = recipe.shares(key, (3.0, 48.0))
    place = [list(SPANS).index(span) for span in (3.0, 48.0)]
    for found, kind in ((stress, "stress"), (deflection, "deflection")):
        kept = np.array(DATA["families"][key][kind])[place]
        np.testing.assert_allclose(found, kept, rtol=0, atol=2e-5)
        assert abs(found[1] - 1.0) < MEETS
    assert abs(deflection[0] - 1.0) > abs(deflection[1] - 1.0)


def test_the_picture_is_drawn_from_the_data():
    panels = recipe.figure_of(DATA).axes
    assert len(panels) == 2
    for axes in panels:
        assert len(axes.lines) == len(DATA["families"]) + len(recipe.SHOWN) + 1
