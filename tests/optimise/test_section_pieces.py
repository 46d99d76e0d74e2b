"""Pieces of what a price holds: the worst of them is the measure itself, for every family."""

from dataclasses import replace

import numpy as np
import pytest

from longvault.constraints.basis import Basis, Requirements
from longvault.constraints.evaluate import evaluate
from longvault.constraints.limits import limits_of
from longvault.constraints.making import bends
from longvault.optimise.section_pieces import heights, limit_pieces, moduli, open_forms, slopes
from longvault.sections.families import Setting
from longvault.sections.families.registry import FAMILIES, make_family

SETTING = Setting(pitch=7.5, height=2.6, thickness=0.08)
BASIS = Basis(span=20.0, pitch=7.5, requirements=Requirements(height_max=2.6, steep_slope=0.5))


@pytest.mark.parametrize("key", [key for key in FAMILIES if not key.startswith("tapered")])
def test_the_worst_piece_is_the_measure(key):
    family = make_family(key, SETTING)
    strips = family.strips(np.asarray(family.starts()))
    measures = evaluate(strips, BASIS).measures
    known = np.isfinite(measures["area"])
    assert known.any()
    for name, worst in (
        ("height", heights(strips).max(axis=1)),
        ("slope", slopes(strips).max(axis=1)),
        ("bend", bends(strips, bend_radius=0.5).max(axis=1)),
        ("section_modulus", moduli(strips, held=False).min(axis=1)),
    ):
        assert worst[known] == pytest.approx(measures[name][known], rel=1e-6), name
    held = np.minimum(measures["s_top"], measures["s_bottom"])
    assert moduli(strips, held=True).min(axis=1)[known] == pytest.approx(held[known], rel=1e-6)


def test_the_worst_piece_of_a_limit_is_its_margin_and_gentle_strips_have_one_of_their_own():
    family = make_family("gull-wing", SETTING)
    strips = family.strips(np.asarray(family.starts()))
    result = evaluate(strips, BASIS)
    keys = [limit.key for limit in limits_of(BASIS)]
    slope, count = slopes(strips), len(strips.parts)
    pieces = limit_pieces(strips, BASIS, np.ones(slope.shape[1], dtype=bool))
    cuts = np.cumsum([count, slope.shape[1]])
    for key, found in zip(("thickness", "slope", "bend"), np.split(pieces, cuts, axis=1), strict=True):
        assert found.max(axis=1) == pytest.approx(result.margins[:, keys.index(key)], abs=1e-9), key


def test_open_forms_have_the_share_of_a_design_and_keep_its_gentle_strips_gentle():
    """At each design itself the share is that of the limit; nothing is asked where it is not limited."""
    family = make_family("gull-wing", SETTING)
    strips = family.strips(np.asarray(family.starts()))
    need = replace(BASIS.requirements, steep_share_max=0.2)
    basis = replace(BASIS, requirements=need)
    share = evaluate(strips, basis).measures["steep_share"]
    for row, slope in enumerate(slopes(strips)):
        gentle = slope <= need.steep_slope
        stays, counted = open_forms(strips[row : row + 1], basis, gentle)
        assert stays.shape == (1, gentle.sum())
        assert (stays <= 0.0).all()
        assert counted[0, 0] == pytest.approx(share[row] / 0.2 - 1.0, abs=1e-9)
    assert open_forms(strips, BASIS, gentle) == []
