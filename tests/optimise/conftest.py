"""Small problems with known answers that most tests of the search run over."""

import numpy as np
import pytest

from longvault.optimise import Objective, Problem, Scores


def two_parabolas(x):
    """f1 = x2, f2 = (x - 2)2: Schaffer 1985; the front is x in 0..2."""
    return Scores(np.concatenate([x**2, (x - 2) ** 2], axis=1), np.empty((len(x), 0)))


def disc(x):
    """Make x and y large inside the unit circle: the front is a quarter circle."""
    return Scores(x.copy(), ((x**2).sum(axis=1) - 1.0)[:, None])


def never(x):
    """The same, but the limit asks for a radius below 0: the nearest design is the origin, margin 1."""
    return Scores(x.copy(), ((x**2).sum(axis=1) + 1.0)[:, None])


def with_holes(x):
    """The disc, with NaN for a third of the designs and an infinity here and there."""
    scores = disc(x)
    bad = np.floor(x[:, 0] * 1000) % 3 == 0
    scores.objectives[bad, 0] = np.nan
    scores.margins[np.floor(x[:, 1] * 1000) % 7 == 0] = np.nan
    scores.objectives[np.floor(x[:, 1] * 1000) % 11 == 0, 1] = np.inf
    return scores


def flat(x):
    """All designs are equally good."""
    return Scores(np.ones((len(x), 3)), np.full((len(x), 1), -1.0))


BOTH_MAX = (Objective("x", "max"), Objective("y", "max"))


@pytest.fixture
def parabolas():
    return Problem(
        [-3.0], [3.0], (Objective("near 0"), Objective("near 2")), two_parabolas, reference=[4.0, 4.0]
    )


@pytest.fixture
def quarter_circle():
    return Problem([-1.0, -1.0], [2.0, 2.0], BOTH_MAX, disc, ("radius",), reference=[0.0, 0.0])


@pytest.fixture
def impossible():
    return Problem([-1.0, -1.0], [2.0, 2.0], BOTH_MAX, never, ("radius",))
