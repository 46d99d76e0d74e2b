"""Pieces of what a price holds: the worst of them is the measure itself, for every family."""

import numpy as np
import pytest

from longvault.constraints.basis import Basis, Requirements
from longvault.constraints.evaluate import evaluate
from longvault.constraints.limits import limits_of
from longvault.sections.families import Setting
from longvault.sections.families.registry import FAMILIES, make_family
from longvault.studies.price_pieces import heights, limit_pieces, moduli, slopes

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
    margins = {key: result.margins[:, keys.index(key)] for key in ("thickness", "slope")}
    slope = slopes(strips)
    none = np.zeros(slope.shape[1], dtype=bool)
    pieces = limit_pieces(strips, BASIS, none)
    count = len(strips.parts)
    assert pieces[:, :count].max(axis=1) == pytest.approx(margins["thickness"], abs=1e-9)
    assert pieces[:, count:].max(axis=1) == pytest.approx(margins["slope"], abs=1e-9)
    gentle = slope[0] <= 0.5
    more = limit_pieces(strips, BASIS, gentle)[:, pieces.shape[1] :]
    assert more.shape[1] == gentle.sum() > 0
    assert (more[0] <= 0.0).all()
