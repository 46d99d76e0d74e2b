"""Beams on supports against beam tables (Roark, Formulas for Stress and Strain; AISC table 3-23).

From memory of the tables; the deflections also by beam elements.
"""

import numpy as np
import pytest
from scipy.linalg import solve

from longvault.constraints.span_grid import grid
from longvault.constraints.spans import Spans, respond, unit_response

# least and largest moment, reactions, largest deflection and its place, for w = L = EI = 1
TABLE = {
    "simple": (Spans.simple(1.0), 0.0, 1 / 8, (0.5, 0.5), 5 / 384, 0.5),
    "cantilever": (Spans.cantilever(1.0), -0.5, 0.0, (1.0,), 1 / 8, 1.0),
    "propped": (Spans.propped(1.0), -1 / 8, 9 / 128, (0.625, 0.375), 0.005416, 0.5785),
    "fixed": (Spans.fixed(1.0), -1 / 12, 1 / 24, (0.5, 0.5), 1 / 384, 0.5),
    "two": (Spans.continuous(1.0, 1.0), -0.125, 0.0703125, (0.375, 1.25, 0.375), 0.005416, 0.4215),
    "three": (Spans.continuous(1.0, 1.0, 1.0), -0.1, 0.08, (0.4, 1.1, 1.1, 0.4), 0.006884, 0.446),
    "four": (
        Spans.continuous(1.0, 1.0, 1.0, 1.0), -0.107143, 0.077168,
        (0.392857, 1.142857, 0.928571, 1.142857, 0.392857), 0.006460, 0.440,
    ),
}  # fmt: skip


@pytest.mark.parametrize("key", TABLE)
def test_uniform_load_on_all_spans(key):
    spans, least, largest, reactions, sag, place = TABLE[key]
    r = unit_response(spans)
    moment, deflection = r.moment.sum(axis=0), r.deflection.sum(axis=0)
    assert moment.min() == pytest.approx(least, abs=1e-6)
    assert moment.max() == pytest.approx(largest, abs=1e-6)
    assert r.reaction.sum(axis=0) == pytest.approx(reactions, abs=1e-6)
    assert deflection.max() == pytest.approx(sag, abs=1e-6)
    top = r.y[deflection.argmax()]
    assert min(abs(top - place), abs(spans.length - top - place)) < 1e-3


def test_places_and_inner_moments_of_continuous_beams():
    three = unit_response(TABLE["three"][0])
    moment = three.moment.sum(axis=0)
    assert moment[np.isclose(three.y, 1.5)] == pytest.approx(0.025, abs=1e-9)
    assert min(three.y[moment.argmax()], 3 - three.y[moment.argmax()]) == pytest.approx(0.4, abs=1e-9)
    four = unit_response(TABLE["four"][0])
    assert four.moment.sum(axis=0)[np.isclose(four.y, 2.0)] == pytest.approx(-0.071429, abs=1e-6)
    propped = unit_response(TABLE["propped"][0])
    assert propped.y[propped.moment[0].argmax()] == pytest.approx(0.625, abs=1e-9)


def test_patterns_of_load_on_two_spans():
    """One span of two loaded: 49/512 under it, -1/16 at the middle support (any beam table; from memory)."""
    r = unit_response(Spans.continuous(1.0, 1.0))
    assert r.moment[0].min() == pytest.approx(-1 / 16, abs=1e-9)
    assert np.maximum(r.moment, 0.0).sum(axis=0).max() == pytest.approx(49 / 512, rel=1e-4)
    assert r.reaction[0] == pytest.approx([7 / 16, 5 / 8, -1 / 16])


def test_back_span_of_a_canopy():
    """Arm a = 11, back span b = 4, w = 1: moment -a^2/2 over the support, tie-down (a^2 - b^2) / 2b.

    The tip goes down by w a^3 (4b + 3a) / 24, less w b^3 a / 24 where the back span is loaded too (any beam
    table; from memory).
    """
    r = unit_response(Spans.canopy(back=4.0, arm=11.0))
    both = r.reaction.sum(axis=0)
    assert r.moment.sum(axis=0).min() == pytest.approx(-60.5)
    assert both[0] == pytest.approx(-(121 - 16) / 8)
    assert both.sum() == pytest.approx(15.0)
    assert r.deflection[1, -1] == pytest.approx(11**3 * (4 * 4 + 3 * 11) / 24)
    assert r.deflection[0, -1] == pytest.approx(-(4**3) * 11 / 24)


def test_two_overhangs():
    r = unit_response(Spans.overhanging(10.0, left=2.0, right=3.0))
    moment = r.moment.sum(axis=0)
    assert moment[np.isclose(r.y, 2.0)] == pytest.approx(-2.0)
    assert moment[np.isclose(r.y, 12.0)] == pytest.approx(-4.5)
    assert moment[np.isclose(r.y, 7.0)] == pytest.approx(100 / 8 - 3.25)


def elements(spans, stiffness, load, cut=400):
    """Second implementation: two-node beam elements (Przemieniecki, Matrix Structural Analysis, 1968)."""
    y = np.unique(np.concatenate([np.linspace(a, b, cut + 1) for a, b in spans.fields]))
    k, f = np.zeros((2 * y.size, 2 * y.size)), np.zeros(2 * y.size)
    for i, h in enumerate(np.diff(y)):
        middle = 0.5 * (y[i] + y[i + 1])
        block = np.array([[12, 6 * h, -12, 6 * h], [6 * h, 4 * h * h, -6 * h, 2 * h * h],
                          [-12, -6 * h, 12, -6 * h], [6 * h, 2 * h * h, -6 * h, 4 * h * h]])  # fmt: skip
        own = slice(2 * i, 2 * i + 4)
        k[own, own] += stiffness(middle) * block / h**3
        f[own] += load(middle) * np.array([h / 2, h * h / 12, h / 2, -h * h / 12])
    held = [2 * int(np.argmin(np.abs(y - s))) for s in spans.supports]
    held += [1] * spans.fixed_start + [2 * y.size - 1] * spans.fixed_end
    free = np.setdiff1d(np.arange(2 * y.size), held)
    u = np.zeros(2 * y.size)
    u[free] = solve(k[np.ix_(free, free)], f[free])
    return y, u[::2], (k @ u - f)[[h for h in held if h % 2 == 0]]


@pytest.mark.parametrize(
    "spans",
    [Spans.cantilever(11.0), Spans.canopy(back=4.0, arm=11.0), Spans.propped(9.0), Spans.fixed(9.0),
     Spans.continuous(8.0, 10.0, 7.0)],
)  # fmt: skip
def test_a_beam_that_varies_along_the_span(spans):
    """Stiffness and load vary smoothly; beam elements give the same reactions and deflections."""

    def stiffness(y):
        return (1.6 - y / spans.length) ** 3

    def load(y):
        return 2.0 - y / spans.length

    y, sag, reaction = elements(spans, stiffness, load)
    errors = []
    for intervals in (8, 16):
        mesh = grid(spans.fields, intervals)
        r = respond(spans, mesh=mesh, load=load(mesh.y)[None], flexibility=1 / stiffness(mesh.y))
        assert r.reaction[0] == pytest.approx(-reaction, rel=5e-3, abs=5e-3 * np.abs(reaction).max())
        errors.append(np.abs(r.deflection[0] - np.interp(mesh.y, y, sag)).max() / np.abs(sag).max())
    assert errors[0] < 5e-3
    assert errors[1] < max(0.15 * errors[0], 2e-5)  # third order or better, down to that of the elements


def test_batch_law_and_bad_rows():
    spans = Spans.continuous(8.0, 10.0)
    mesh = grid(spans.fields, 3)
    rng = np.random.default_rng(0)
    load, flexibility = rng.random((6, 2, mesh.y.size)), 0.5 + rng.random((6, mesh.y.size))
    flexibility[3, 2] = np.nan
    whole = respond(spans, mesh=mesh, load=load, flexibility=flexibility)
    for i in (0, 2, 4, 5):
        one = respond(spans, mesh=mesh, load=load[i], flexibility=flexibility[i])
        for name in ("moment", "shear", "deflection", "reaction"):
            assert getattr(whole, name)[i].tobytes() == getattr(one, name).tobytes()
    assert np.isnan(whole.moment[3]).all()
    assert np.isfinite(whole.moment[[0, 1, 2, 4, 5]]).all()


@pytest.mark.parametrize(
    ("arguments", "words"),
    [((5.0, ()), "places from 0"), ((5.0, (3.0, 1.0)), "increasing"), ((5.0, (0.0,)), "must be clamped"),
     ((5.0, (1.0, 4.0), True), "needs a support at 0 m"),
     ((5.0, (0.0, 4.0), False, True), "needs a support at 5 m")],
)  # fmt: skip
def test_beams_that_cannot_stand_are_refused(arguments, words):
    with pytest.raises(ValueError, match=words):
        Spans(*arguments)
