"""The price of a wish: closed forms, and thin walls against solving anew."""

import numpy as np
import pytest

from longvault.optimise import SearchSettings, knee, search
from longvault.optimise.local import _programme
from longvault.optimise.price import TOLERANCE, Market, Price, price_table

from .thin_wall import BAY, DEPTH, T9, Z10, gull_wing


def rectangle(x):
    """Area, modulus and height of rectangles b x h, no limit but a least width."""
    b, h = x[:, 0], x[:, 1]
    return np.stack([b * h, b * h**2 / 6, h], axis=1), (0.05 - b)[:, None]


BEAM = Market(
    rectangle,
    ("area", "modulus", "height"),
    ("min", "max", "min"),
    np.array([0.01, 0.1]),
    np.array([2.0, 3.0]),
)


def steps(value, at, step):
    """Changes of a closed form a step down and up."""
    return value(at - step) - value(at), value(at + step) - value(at)


def test_height_of_a_rectangle_has_its_closed_price_on_each_side():
    """Derived: A = 6 S / h, so dA/dh = -6 S / h2 and dA/dS = 6 / h at the least area."""
    x, modulus, height = np.array([0.4, 1.2]), 0.4 * 1.2**2 / 6, 1.2
    one = BEAM.price(x, "area", "height", step=0.01)
    assert one.value == pytest.approx(6 * modulus / height, rel=1e-5)
    assert (one.less, one.more) == pytest.approx(steps(lambda h: 6 * modulus / h, height, 0.01), rel=2e-3)
    assert one.more / one.step == pytest.approx(-6 * modulus / height**2, rel=0.01 / height + 2e-3)
    assert one.smooth
    two = BEAM.price(x, "area", "modulus", step=0.002)
    assert (two.less, two.more) == pytest.approx((-6 / height * 0.002, 6 / height * 0.002), rel=2e-3)


def test_a_polished_design_pays_the_same_price_as_the_one_it_came_from():
    """The price at 1.0 m: a measure does not pay for itself, so one row is left."""
    (found,) = price_table(BEAM, np.array([0.6, 1.0]), ["area"], ["area", "height"], step=0.01)
    assert (found.payer, found.wish) == ("area", "height")
    assert (found.less, found.more) == pytest.approx(steps(lambda h: 0.6 / h, 1.0, 0.01), rel=2e-3)


def test_where_another_limit_rules_nothing_is_gained_and_less_keeps_its_price():
    """The width is at its least, 0.05 m: A = b h is no smaller for more height, and 6 S / h for less."""
    height, modulus = 1.2, 0.05 * 1.2**2 / 6
    one = BEAM.price(np.array([0.05, height]), "area", "height", step=0.02)
    assert one.less == pytest.approx(6 * modulus * (1 / 1.18 - 1 / height), rel=2e-3)
    assert one.none(one.more)
    assert not one.none(one.less)
    assert not one.smooth


def test_each_side_of_a_kink_has_its_own_slope():
    """The area falls by 2 per unit of height up to 1.0, by 1 beyond."""

    def bent(x):
        return np.stack([np.maximum(3 - 2 * x[:, 0], 2 - x[:, 0]), x[:, 0]], axis=1), x - 2.0

    market = Market(bent, ("area", "height"), ("min", "min"), np.array([0.1]), np.array([1.9]))
    one = market.price(np.array([1.0]), "area", "height", step=0.02)
    assert (one.value, one.less, one.more) == pytest.approx((1.0, 0.04, -0.02), rel=1e-3)
    assert not one.smooth


@pytest.mark.parametrize(
    ("less", "more", "smooth"),
    [(1.0, -1.0, True), (1.0, -0.96, True), (1.0, -0.94, False), (1.0, 1.0, False), (np.nan, -1.0, False)],
)
def test_sides_within_5_per_cent_are_one_price(less, more, smooth):
    assert Price("area", "height", 0.025, 9.0, less, more).smooth is smooth


def test_a_wish_at_the_bound_of_the_variables_gains_nothing():
    x = np.array([0.4, 3.0])
    one = BEAM.price(x, "area", "height", step=0.05)
    assert np.isfinite(one.less)
    assert one.more == pytest.approx(0.0, abs=1e-6), "higher than 3.0 m is out of bounds: nothing gained"


def thin_walls(v):
    """Area, modulus, opening and depth of a thin-walled gull-wing; its depth limit becomes a wish.

    What is the worst of many stations, modulus, depth, bend, jump of thickness, is given by each of them too.
    """
    scores = PROBLEM.evaluate(v)
    margins, (area, modulus, opening) = scores.margins, scores.objectives.T
    depth = (margins[:, 2] + 1.0) * DEPTH
    z, t = np.einsum("nk,sk->ns", v[:, :10], Z10), np.einsum("nk,sk->ns", v[:, 10:19], T9)
    dx, dz = ((BAY - opening) / 2 / (z.shape[1] - 1))[:, None], np.diff(z)
    weight = 0.5 * (t[:, 1:] + t[:, :-1]) * np.hypot(dx, dz)
    centre = (weight * 0.5 * (z[:, 1:] + z[:, :-1])).sum(axis=1) / weight.sum(axis=1)
    up = np.ones_like(z)
    up[:, 1:-1] = 2 * dx / np.hypot(2 * dx, z[:, 2:] - z[:, :-2])
    top, bottom = z + 0.5 * t * up, z - 0.5 * t * up
    arm = np.maximum((top - centre[:, None]).max(axis=1), (centre[:, None] - bottom).max(axis=1))
    inertia, arms = (modulus * arm)[:, None], np.concatenate([top, -bottom], axis=1)
    arms += np.repeat([-1.0, 1.0], z.shape[1]) * centre[:, None]
    moduli = inertia / np.maximum(arms, 0.3 * arm[:, None])
    depths = [top - bottom.min(axis=1)[:, None], top.max(axis=1)[:, None] - bottom]
    whole = np.stack([area, modulus, opening, depth], axis=1)
    bends, jumps = np.abs(np.diff(z, n=2, axis=1)) / 0.02 - 1, np.abs(np.diff(t, axis=1)) / 0.02 - 1
    slopes = np.abs(dz) / dx / np.tan(np.radians(60)) - 1
    pieces = [np.delete(margins, 2, axis=1), bends, jumps, slopes]
    return np.concatenate([whole, moduli, *depths], axis=1), np.concatenate(pieces, axis=1)


PROBLEM = gull_wing()
WALLS = Market(
    thin_walls,
    ("area", "modulus", "opening", "depth", *["modulus"] * 130, *["depth"] * 130),
    ("min", "max", "max", "min", *["max"] * 130, *["min"] * 130),
    PROBLEM.lower,
    PROBLEM.upper,
)


def test_the_worst_of_the_pieces_of_thin_walls_is_the_measure_itself():
    x = np.random.default_rng(0).uniform(PROBLEM.lower, PROBLEM.upper, (20, 20))
    values = thin_walls(x)[0]
    assert values[:, 4:134].min(axis=1) == pytest.approx(values[:, 1], rel=1e-9)
    assert values[:, 134:].max(axis=1) == pytest.approx(values[:, 3], rel=1e-9)


def test_each_side_of_the_price_on_thin_walls_agrees_with_solving_anew_to_5_per_cent(monkeypatch):
    """20 variables, kinks: anew from three designs shaken by 3 % of the ranges, the best of each height."""
    monkeypatch.setattr("longvault.optimise.price.FIRST", 3)  # quicker than on roofs
    monkeypatch.setattr("longvault.optimise.price.AGAIN", 2)
    front = search(PROBLEM, SearchSettings(evaluations=20_000, seed=3)).front
    x, step = front.x[knee(front.objectives, maximise=PROBLEM.maximise)], 0.02
    base = WALLS.polished(x, "area")
    one = WALLS.price(x, "area", "depth", step=step, first=base)
    own, rng = WALLS.evaluate(x[None])[0][0], np.random.default_rng(1)
    anew = []
    for change in (-step, 0.0, step):
        shaken = base.x[0] + 0.03 * (PROBLEM.upper - PROBLEM.lower) * rng.standard_normal((3, len(x)))
        ends = WALLS._least(shaken, own, "area", {"depth": change})
        anew.append(ends.objectives[ends.margins.max(axis=1) <= TOLERANCE, 0].min())
    assert (one.less, one.more) == pytest.approx((anew[0] - anew[1], anew[2] - anew[1]), rel=0.05)


def test_a_broken_limit_that_no_step_moves_does_not_stop_the_others():
    with np.errstate(all="raise"):
        step, force = _programme(
            -np.ones(2),
            np.eye(2),
            np.array([[0.0, 0.0], [1.0, 1.0]]),
            np.array([-1.0, 1.0]),
            -np.ones(2),
            np.ones(2),
        )
    assert step == pytest.approx([0.5, 0.5])
    assert force == pytest.approx([0.0, 0.5])
