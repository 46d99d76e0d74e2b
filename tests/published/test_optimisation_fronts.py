"""Test problems of multi-objective optimisation with known fronts, through the search a roof goes through.

The hypervolumes are derived: integrals of the published front formulas, checked here by quadrature or by a
dense sample of the front. Where a run is compared with the exact value, the tolerance says what a search of
that budget reached; it never exceeds the exact value.
"""

import numpy as np
import pytest
from scipy.integrate import quad

from longvault.optimise import Objective, Problem, Scores, SearchSettings, hypervolume, search

MIN2 = (Objective("f1"), Objective("f2"))
MIN3 = (*MIN2, Objective("f3"))
NONE = ()

# Zitzler, Deb & Thiele, Comparison of multiobjective evolutionary algorithms, Evol. Comput. 8 (2000) 173-195


def zdt1(x):
    g = 1 + 9 * x[:, 1:].mean(axis=1)
    return two(x[:, 0], g * (1 - np.sqrt(x[:, 0] / g)))


def zdt2(x):
    g = 1 + 9 * x[:, 1:].mean(axis=1)
    return two(x[:, 0], g * (1 - (x[:, 0] / g) ** 2))


def zdt3(x):
    g = 1 + 9 * x[:, 1:].mean(axis=1)
    u = x[:, 0] / g
    return two(x[:, 0], g * (1 - np.sqrt(u) - u * np.sin(10 * np.pi * x[:, 0])))


def zdt4(x):
    y = x[:, 1:]
    g = 1 + 10 * y.shape[1] + (y**2 - 10 * np.cos(4 * np.pi * y)).sum(axis=1)
    return two(x[:, 0], g * (1 - np.sqrt(x[:, 0] / g)))


def zdt6(x):
    f1 = 1 - np.exp(-4 * x[:, 0]) * np.sin(6 * np.pi * x[:, 0]) ** 6
    g = 1 + 9 * x[:, 1:].mean(axis=1) ** 0.25
    return two(f1, g * (1 - (f1 / g) ** 2))


# Deb, Thiele, Laumanns & Zitzler, Scalable test problems, in Evolutionary Multiobjective Optimization, 2005


def dtlz2(x, count=3):
    g = ((x[:, count - 1 :] - 0.5) ** 2).sum(axis=1)
    angle = x[:, : count - 1] * np.pi / 2
    f = np.repeat(1 + g[:, None], count, axis=1)
    for m in range(count):
        f[:, m] *= np.cos(angle[:, : count - 1 - m]).prod(axis=1)
        if m:
            f[:, m] *= np.sin(angle[:, count - 1 - m])
    return Scores(f, np.empty((len(x), 0)))


def dtlz1(x):
    y = x[:, 2:] - 0.5
    g = 100 * (y.shape[1] + (y**2 - np.cos(20 * np.pi * y)).sum(axis=1))
    half = 0.5 * (1 + g)
    f = np.stack([half * x[:, 0] * x[:, 1], half * x[:, 0] * (1 - x[:, 1]), half * (1 - x[:, 0])], axis=1)
    return Scores(f, np.empty((len(x), 0)))


def two(f1, f2):
    return Scores(np.stack([f1, f2], axis=1), np.empty((len(f1), 0)))


U = np.linspace(0.0, 1.0, 200_001)
ZDT6_START = 0.2807753191


def zdt3_front():
    f2 = 1 - np.sqrt(U) - U * np.sin(10 * np.pi * U)
    return np.stack([U, f2], axis=1)


EXACT = {
    # name: (front, reference, hypervolume, relative tolerance of a front sampled 200 001 times)
    "zdt1 at 1": (np.stack([U, 1 - np.sqrt(U)], 1), [1, 1], 2 / 3, 1e-5),
    "zdt1 at 1.1": (np.stack([U, 1 - np.sqrt(U)], 1), [1.1, 1.1], 0.8766667, 1e-5),
    "zdt1 at 11": (np.stack([U, 1 - np.sqrt(U)], 1), [11, 11], 120.6666667, 1e-6),
    "zdt2 at 1": (np.stack([U, 1 - U**2], 1), [1, 1], 1 / 3, 1e-4),
    "zdt2 at 1.1": (np.stack([U, 1 - U**2], 1), [1.1, 1.1], 0.5433333, 1e-4),
    "zdt2 at 11": (np.stack([U, 1 - U**2], 1), [11, 11], 120.3333333, 1e-6),
    "zdt3 at 1.1": (zdt3_front(), [1.1, 1.1], 1.3317629, 1e-4),
    "zdt3 at 11": (zdt3_front(), [11, 11], 128.7781161, 1e-6),
    "zdt6 at 1.1": (
        np.stack([ZDT6_START + (1 - ZDT6_START) * U, 1 - (ZDT6_START + (1 - ZDT6_START) * U) ** 2], 1),
        [1.1, 1.1],
        0.5078775,
        1e-4,
    ),
}


@pytest.mark.parametrize("name", EXACT)
def test_hypervolume_of_the_exact_front(name):
    front, reference, expected, tolerance = EXACT[name]
    assert hypervolume(front, reference) == pytest.approx(expected, rel=tolerance)


def test_the_derived_hypervolumes_by_quadrature():
    assert 0.1 * 1.1 + quad(lambda u: 1.1 - (1 - np.sqrt(u)), 0, 1)[0] == pytest.approx(0.8766667, abs=1e-6)
    assert 0.1 * 1.1 + quad(lambda u: 1.1 - (1 - u * u), 0, 1)[0] == pytest.approx(0.5433333, abs=1e-6)
    start = quad(lambda u: 1.1 - (1 - u * u), ZDT6_START, 1)[0]
    assert 0.1 * 1.1 + start == pytest.approx(0.5078775, abs=1e-6)


def test_the_parts_of_the_zdt3_front():
    # derived: ends of the five parts of the front
    ends = [0, 0.0830015349, 0.1822287280, 0.2577623634, 0.4093136748, 0.4538821041]
    ends += [0.6183967944, 0.6525117038, 0.8233317983, 0.8518328654]
    front = zdt3_front()
    best = np.minimum.accumulate(np.r_[np.inf, front[:-1, 1]])
    on = front[:, 1] < best
    edges = np.flatnonzero(np.diff(on.astype(int)))
    np.testing.assert_allclose(U[np.r_[0, edges + 1]][: len(ends)], ends, atol=2e-5)


def test_hypervolume_of_the_dtlz_fronts():
    # derived: 1.1^3 - pi/6 for an eighth of a sphere; 1/8 - 1/48 for the plane; a lattice falls short
    n = 400
    i, j = np.meshgrid(np.arange(n + 1), np.arange(n + 1), indexing="ij")
    plane = np.stack([i, j, n - i - j], axis=-1)[i + j <= n] / n
    sphere = plane / np.linalg.norm(plane, axis=1, keepdims=True)
    assert hypervolume(sphere, [1.1] * 3) == pytest.approx(0.8074012, rel=5e-3)
    assert hypervolume(sphere, [1.1] * 3) < 1.1**3 - np.pi / 6
    assert hypervolume(sphere, [1.0] * 3) == pytest.approx(0.4764012, rel=1e-2)
    assert hypervolume(plane * 0.5, [0.5] * 3) == pytest.approx(1 / 8 - 1 / 48, rel=1e-2)
    angle = U * np.pi / 2
    circle = np.stack([np.cos(angle), np.sin(angle)], axis=1)
    assert hypervolume(circle, [1.1] * 2) == pytest.approx(0.4246018, rel=1e-4)


def box(function, lower, upper, objectives, reference):
    return Problem(lower, upper, objectives, function, NONE, reference=reference)


SEARCHES = {
    # name: (problem, budget, exact hypervolume, share of it a search must reach)
    "zdt1": (box(zdt1, np.zeros(30), np.ones(30), MIN2, [1.1, 1.1]), 30_000, 0.8766667, 0.998),
    "zdt2": (box(zdt2, np.zeros(30), np.ones(30), MIN2, [1.1, 1.1]), 30_000, 0.5433333, 0.998),
    "zdt3": (box(zdt3, np.zeros(30), np.ones(30), MIN2, [1.1, 1.1]), 30_000, 1.3317629, 0.998),
    "zdt4": (
        box(zdt4, np.r_[0, np.full(9, -5.0)], np.r_[1, np.full(9, 5.0)], MIN2, [1.1, 1.1]),
        60_000,
        0.8766667,
        0.99,
    ),
    "zdt6": (box(zdt6, np.zeros(10), np.ones(10), MIN2, [1.1, 1.1]), 30_000, 0.5078775, 0.998),
    "dtlz1": (box(dtlz1, np.zeros(7), np.ones(7), MIN3, [0.5] * 3), 60_000, 1 / 8 - 1 / 48, 0.97),
    "dtlz2": (box(dtlz2, np.zeros(12), np.ones(12), MIN3, [1.1] * 3), 60_000, 1.1**3 - np.pi / 6, 0.97),
}


@pytest.mark.parametrize("name", SEARCHES)
def test_the_search_reaches_the_exact_front(name):
    problem, budget, exact, share = SEARCHES[name]
    outcome = search(problem, SearchSettings(evaluations=budget, seed=1))
    value = hypervolume(outcome.front.objectives, problem.reference)
    print(f"{name}: exact {exact:.7f}, found {value:.7f}, {value / exact:.4%}, {len(outcome.front)} designs")
    assert share * exact <= value <= exact * (1 + 1e-6)


def test_schaffer_by_hand():
    # Schaffer, 1st Int. Conf. Genetic Algorithms 1985: f1 = x2, f2 = (x - 2)2; derived: 40/3 up to (4, 4)
    x = np.linspace(0, 2, 200_001)
    assert hypervolume(np.stack([x**2, (x - 2) ** 2], 1), [4, 4]) == pytest.approx(40 / 3, rel=1e-5)


def test_three_points_by_hand():
    # derived: union of three rectangles
    assert hypervolume([[1, 3], [2, 2], [3, 1]], [4, 4]) == 6.0
