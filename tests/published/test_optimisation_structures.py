"""Structural design problems with published or derived fronts, through the search a roof goes through.

Wherever a search is compared, hypervolume within 1 % and extremes within 0.5 % is asked, and no design may
beat the exact front.
"""

from functools import cache

import numpy as np
import pytest

from longvault.optimise import Objective, Problem, Scores, SearchSettings, best_under, hypervolume, search


@cache
def front_of(problem_of, budget=40_000):
    problem = problem_of()
    return problem, search(problem, SearchSettings(evaluations=budget, seed=1)).front


def least(problem, front, column):
    """Best value of one objective on the front."""
    values = front.objectives[:, column]
    return values.max() if problem.maximise[column] else values.min()


# Four-bar truss: Cheng & Li 1999; RE21 in Tanabe & Ishibuchi, Appl. Soft Comput. 89 (2020) 106078
FORCE, MODULUS, LENGTH = 10.0, 2e5, 200.0
ROOT2 = np.sqrt(2.0)


def four_bar_scores(x):
    x1, x2, x3, x4 = x.T
    volume = LENGTH * (2 * x1 + ROOT2 * x2 + np.sqrt(x3) + x4)
    drop = FORCE * LENGTH / MODULUS * (2 / x1 + 2 * ROOT2 / x2 - 2 * ROOT2 / x3 + 2 / x4)
    return Scores(np.stack([volume, drop], axis=1), np.empty((len(x), 0)))


def four_bar_truss():
    names = (Objective("volume_cm3"), Objective("displacement_cm"))
    return Problem([1, ROOT2, ROOT2, 1], [3] * 4, names, four_bar_scores, reference=[3400, 0.05])


def four_bar_exact(count=200_001):
    """Exact front (derived): the multiplier m runs through the clipped stationary points."""
    m = np.linspace(0.3, 3.0, count)
    x = np.stack(
        [np.clip(m, 1, 3), np.clip(ROOT2 * m, ROOT2, 3), np.full(count, ROOT2), np.clip(ROOT2 * m, 1, 3)],
        axis=1,
    )
    return four_bar_scores(x).objectives


def test_four_bar_truss_exact_front():
    exact = four_bar_exact()
    np.testing.assert_allclose(exact.min(axis=0), [1237.8414230, 0.0027614237], rtol=1e-6)  # ideal, published
    np.testing.assert_allclose(exact.max(axis=0), [2886.36956, 0.04], rtol=1e-6)  # nadir, derived
    assert hypervolume(exact, [3400, 0.05]) == pytest.approx(82.44061, rel=1e-5)  # derived


def test_four_bar_truss_search():
    problem, front = front_of(four_bar_truss)
    value = hypervolume(front.objectives, problem.reference)
    print(f"exact 82.44061, found {value:.5f}")
    assert 0.99 * 82.44061 <= value <= 82.44061 * (1 + 1e-5)
    np.testing.assert_allclose(front.objectives.min(axis=0), [1237.8414230, 0.0027614237], rtol=5e-3)


# I-beam: Osyczka; Coello & Christiansen; Huang, Gu & Du, Eng. Appl. Artif. Intell. 19 (2006) 451-460.
# Published extremes about 127.4 cm2 and 0.0059 cm: from memory. Front: derived by many-start SLSQP,
# confirmed by differential evolution.
I_BEAM_FRONT = [
    (0.0595, 127.438),
    (0.05, 128.399),
    (0.04, 131.387),
    (0.03, 153.998),
    (0.02, 208.971),
    (0.015, 265.731),
    (0.012, 324.272),
    (0.010, 384.739),
    (0.008, 479.423),
    (0.007, 550.307),
    (0.0065, 659.341),
    (0.006, 816.327),
    (0.00595, 833.476),
]


def i_beam_scores(x):
    height, width, web, flange = x.T
    clear = height - 2 * flange
    area = 2 * width * flange + web * clear
    inertia = web * clear**3 + 2 * width * flange * (4 * flange**2 + 3 * height * clear)
    sag = 600 * 200**3 / (4 * 2e4) / inertia
    stress = 180_000 * height / inertia + 15_000 * width / (clear * web**3 + 2 * flange * width**3)
    return Scores(np.stack([area, sag], axis=1), (stress / 16 - 1)[:, None])


def i_beam():
    names = (Objective("area_cm2"), Objective("deflection_cm"))
    return Problem(
        [10, 10, 0.9, 0.9], [80, 50, 5, 5], names, i_beam_scores, ("stress",), reference=[900, 0.065]
    )


def test_i_beam_extremes_by_hand():
    lightest = i_beam_scores(np.array([[60.4764, 41.4465, 0.9, 0.9]]))
    np.testing.assert_allclose(lightest.objectives, [[127.41236, 0.0614591]], rtol=1e-4)
    np.testing.assert_allclose(lightest.margins, 0.0, atol=1e-4)
    np.testing.assert_allclose(
        i_beam_scores(np.array([[80.0, 50, 5, 5]])).objectives, [[850.0, 0.0059026]], rtol=1e-4
    )


def test_i_beam_search():
    problem, front = front_of(i_beam)
    value = hypervolume(front.objectives, problem.reference)
    print(f"derived 41.929, found {value:.4f}; extremes {front.objectives.min(axis=0)}")
    assert value == pytest.approx(41.929, rel=0.01)
    np.testing.assert_allclose(front.objectives.min(axis=0), [127.41236, 0.0059026], rtol=5e-3)


@pytest.mark.parametrize(("cap", "area"), I_BEAM_FRONT)
def test_i_beam_least_area_for_a_deflection(cap, area):
    _, front = front_of(i_beam)
    row = best_under(front.objectives, [np.nan, cap * (1 + 1e-3)], best=0)
    assert front.objectives[row, 0] >= area * (
        1 - 4e-3
    )  # the cap is 0.1 % wider, the area printed to six digits
    assert front.objectives[row, 0] <= area * 1.02


# Welded beam, cost against deflection: Deb, Multi-Objective Optimization using Evolutionary Algorithms, 2001.
# Published NSGA-II extremes 2.381 / 0.0157 and 36.4403 / 4.3904e-4: from memory; exact ones derived.


def welded_scores(x):
    h, length, t, b = x.T
    cost = 1.10471 * h**2 * length + 0.04811 * t * b * (14 + length)
    sag = 2.1952 / (t**3 * b)
    direct = 6000 / (ROOT2 * h * length)
    half = 0.25 * (length**2 + (h + t) ** 2)
    polar = 2 * 0.707 * h * length * (length**2 / 12 + 0.25 * (h + t) ** 2)
    turn = 6000 * (14 + 0.5 * length) * np.sqrt(half) / polar
    shear = np.sqrt(direct**2 + turn**2 + length * direct * turn / np.sqrt(half))
    bending = 504_000 / (t**2 * b)
    buckling = 64_746.022 * (1 - 0.0282346 * t) * t * b**3
    margins = np.stack([shear / 13_600 - 1, bending / 30_000 - 1, 1 - buckling / 6000, h / b - 1], axis=1)
    return Scores(np.stack([cost, sag], axis=1), margins)


def welded_beam():
    names = (Objective("cost"), Objective("deflection_in"))
    limits = ("shear", "bending", "buckling", "weld within bar")
    return Problem(
        [0.125, 0.1, 0.1, 0.125], [5, 10, 10, 5], names, welded_scores, limits, reference=[40, 0.015]
    )


def test_welded_beam_extremes_by_hand():
    cheapest = welded_scores(np.array([[0.244369, 6.217520, 8.291472, 0.244369]]))
    np.testing.assert_allclose(cheapest.objectives, [[2.380956, 0.01575916]], rtol=1e-4)
    assert (cheapest.margins < 2e-4).all()  # 0.707 for the root of one half is worth 1.5e-4
    stiffest = welded_scores(np.array([[0.5, 5.0, 10.0, 5.0]]))
    assert stiffest.objectives[0, 1] == pytest.approx(4.3904e-4, rel=1e-9)


def test_welded_beam_search():
    _, front = front_of(welded_beam, 60_000)
    print(f"extremes found {front.objectives.min(axis=0)}, dearest {front.objectives[:, 0].max()}")
    np.testing.assert_allclose(front.objectives.min(axis=0), [2.380956, 4.3904e-4], rtol=5e-3)
    assert front.objectives[:, 0].min() >= 2.380956 * (1 - 1e-5)
    # many deflect alike to the last bits, at any weld: the cheapest of them counts; of eight seeds six come
    # within 0.1 %, two to 1.4 and 2.3 %
    cost, sag = front.objectives.T
    stiffest = cost[sag <= sag.min() * (1 + 1e-9)].min()
    assert stiffest == pytest.approx(36.42088, rel=0.02)


# Two flanges without a web (derived): W = A h / 2


def flanges_scores(x):
    area, height = x.T
    return Scores(np.stack([area, area * height / 2], axis=1), (height / 1.5 - 1)[:, None])


def two_flanges():
    names = (Objective("area_m2"), Objective("modulus_m3", "max"))
    return Problem([0.2, 0.8], [1.0, 2.0], names, flanges_scores, ("height",))


def test_two_flanges_take_all_the_height_there_is():
    _, front = front_of(two_flanges, 20_000)
    area, modulus = front.objectives.T
    np.testing.assert_allclose(modulus, area * 1.5 / 2, rtol=1e-2)
    assert (modulus <= area * 1.5 / 2).all()
    np.testing.assert_allclose([area.min(), area.max()], [0.2, 1.0], rtol=5e-3)
    np.testing.assert_allclose(front.x[:, 1], 1.5, rtol=1e-2)


# Bare barrel of rise f (derived, closed form of a thin circular line): area 2 a R t, lower section modulus


def arc(half_angle, rise, thickness=0.08):
    radius = rise / (1 - np.cos(half_angle))
    centre = np.sin(half_angle) / half_angle
    inertia = half_angle + np.sin(half_angle) * np.cos(half_angle) - 2 * np.sin(half_angle) ** 2 / half_angle
    return 2 * half_angle * radius * thickness, radius**2 * thickness * inertia / (
        centre - np.cos(half_angle)
    )


def barrel_scores(x):
    area, modulus = arc(x[:, 0], x[:, 1])
    return Scores(
        np.stack([area, modulus], axis=1), np.stack([24.0 / x[:, 1] / 18 - 1, x[:, 1] / 2 - 1], axis=1)
    )


def bare_barrel():
    names = (Objective("area_m2"), Objective("lower_modulus_m3", "max"))
    lower, upper = [np.radians(20), 1.0], [np.radians(90), 3.0]
    return Problem(lower, upper, names, barrel_scores, ("span to depth", "height"), reference=[0.8, 0.0])


def test_barrel_front_is_that_of_a_fine_grid():
    problem, front = front_of(bare_barrel, 20_000)
    angle, rise = np.meshgrid(np.radians(np.linspace(20, 90, 1401)), np.linspace(24 / 18, 2.0, 401))
    grid = np.stack(arc(angle.ravel(), rise.ravel()), axis=1)
    exact = hypervolume(grid, problem.reference, maximise=problem.maximise)
    value = hypervolume(front.objectives, problem.reference, maximise=problem.maximise)
    print(f"grid of 561 801 sections {exact:.6f}, search {value:.6f}")
    assert value == pytest.approx(exact, rel=5e-3)
    np.testing.assert_allclose(front.objectives, np.stack(arc(*front.x.T), axis=1), rtol=1e-12)
