"""The price of a wish: closed forms, and thin walls against solving anew."""

import numpy as np
import pytest

from longvault.optimise import SearchSettings, knee, search
from longvault.optimise.price import Market, price_table

from .thin_wall import DEPTH, gull_wing


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


def test_height_of_a_rectangle_has_its_closed_price():
    """Derived: A = 6 S / h, so dA/dh = -6 S / h2 and dA/dS = 6 / h at the least area."""
    x, modulus, height = np.array([0.4, 1.2]), 0.4 * 1.2**2 / 6, 1.2
    one = BEAM.price(x, "area", "height", step=0.01)
    assert one.value == pytest.approx(6 * modulus / height, rel=1e-5)
    assert one.marginal == pytest.approx(-6 * modulus / height**2, rel=2e-3)
    two = BEAM.price(x, "area", "modulus", step=0.002)
    assert two.marginal == pytest.approx(6 / height, rel=2e-3)


def test_a_polished_design_pays_the_same_price_as_the_one_it_came_from():
    """A beam 1.0 m high is raised to the 1.2 m it may have before anything is priced."""
    wide = np.array([0.6, 1.0])
    held = Market(rectangle, BEAM.names, BEAM.better, BEAM.lower, BEAM.upper)
    (found,) = price_table(held, wide, ["area"], ["area", "height"], step=0.01)
    assert (found.payer, found.wish) == ("area", "height")
    assert found.marginal == pytest.approx(-6 * (0.6 / 6) / 1.0**2, rel=2e-3)


def test_a_wish_that_nothing_holds_has_no_price_on_that_side():
    x = np.array([0.4, 3.0])
    one = BEAM.price(x, "area", "height", step=0.05)
    assert np.isfinite(one.less)
    assert one.more == pytest.approx(0.0, abs=1e-6), "higher than 3.0 m is out of bounds: nothing gained"


def thin_walls(x):
    """Area, modulus, depth and opening of a thin-walled gull-wing; its depth limit becomes a wish."""
    scores = PROBLEM.evaluate(x)
    margins = scores.margins
    depth = (margins[:, 2] + 1.0) * DEPTH
    return np.concatenate([scores.objectives, depth[:, None]], axis=1), np.delete(margins, 2, axis=1)


PROBLEM = gull_wing()
WALLS = Market(
    thin_walls,
    ("area", "modulus", "opening", "depth"),
    ("min", "max", "max", "min"),
    PROBLEM.lower,
    PROBLEM.upper,
)


def test_the_price_on_thin_walls_agrees_with_solving_anew_to_5_per_cent():
    """20 variables, kinks: anew from eight designs shaken by 3 % of the ranges, the better at each end."""
    front = search(PROBLEM, SearchSettings(evaluations=20_000, seed=3)).front
    x, step = front.x[knee(front.objectives, maximise=PROBLEM.maximise)], 0.02
    base = WALLS.polished(x, "area")
    one = WALLS.price(x, "area", "depth", step=step, first=base)
    own, rng = WALLS.evaluate(x[None])[0][0], np.random.default_rng(1)
    ends = []
    for change in (-step, step):
        shaken = base.x + 0.03 * (PROBLEM.upper - PROBLEM.lower) * rng.standard_normal((8, len(x)))
        tries = [WALLS._least(begin, own, "area", {"depth": change}, 2) for begin in shaken]
        ends.append(min(t.objectives[0, 0] for t in tries if t.margins.max() <= 1e-5))
    assert one.marginal == pytest.approx((ends[1] - ends[0]) / (2 * step), rel=0.05)
