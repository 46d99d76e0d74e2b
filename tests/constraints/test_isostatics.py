"""Principal-stress lines: their angles, their integration, the flip of the cantilever."""

import numpy as np
import pytest
from briefed_sections import market_hall, reading_hall
from scipy.integrate import solve_ivp

from longvault.constraints.developed import COMPRESSION, TENSION, develop, longest_path
from longvault.constraints.isostatics import CLOSEST, follow, isostatics
from longvault.constraints.stress import mohr
from longvault.sections import Strips

SECTIONS = [market_hall, reading_hall, lambda: Strips.chain([0.0, 0.0], [0.0, 2.0], [0.1], "web")]


def degrees(surface, s, y, kind):
    """Angle from the span to the line, 0 to 90."""
    across, along = surface.direction(np.asarray(s), np.asarray(y), kind)
    return np.degrees(np.arctan2(np.abs(across), np.abs(along)))


@pytest.mark.parametrize("section", SECTIONS)
@pytest.mark.parametrize("kind", [COMPRESSION, TENSION])
def test_45_degrees_at_the_support_on_the_neutral_axis(section, kind):
    surface = develop(section(), span=24.0)
    level = surface.neutral
    assert len(level) in (1, 2)
    for y in (1e-6, 0.2, 24.0 - 1e-6):
        assert degrees(surface, level, np.full_like(level, y), kind) == pytest.approx(45.0, abs=1.0)


@pytest.mark.parametrize("section", SECTIONS)
def test_along_and_across_at_mid_span_and_at_free_edges(section):
    surface = develop(section(), span=24.0)
    s = np.linspace(0.0, surface.s[-1], 41)
    f = np.interp(s, surface.s, np.append(surface.fibre[:, 0], surface.fibre[-1, 1]))
    middle = degrees(surface, s, np.full_like(s, 12.0), COMPRESSION)
    clear = np.abs(f) > 1e-3 * np.abs(f).max()
    assert middle[clear] == pytest.approx(np.where(f > 0, 0.0, 90.0)[clear], abs=1.0)
    y = np.linspace(0.5, 23.5, 24)
    for edge in (0.0, float(surface.s[-1])):
        angle = degrees(surface, np.full_like(y, edge), y, TENSION)
        assert np.minimum(angle, 90.0 - angle) == pytest.approx(0.0, abs=1.0)


@pytest.mark.parametrize("section", SECTIONS)
def test_a_cantilever_flips_the_families(section):
    """At the root of a cantilever the top is pulled along the span; at mid-span of a beam it is pressed."""
    beam, arm = develop(section(), span=24.0), develop(section(), span=12.0, support="cantilever")
    top = np.array([beam.s[np.argmax(beam.z)]]) * (1 - 1e-9)
    assert degrees(beam, top, np.array([12.0]), COMPRESSION)[0] == pytest.approx(0.0, abs=1.0)
    assert degrees(arm, top, np.array([0.0]), TENSION)[0] == pytest.approx(0.0, abs=8.0)
    sigma = [d.stresses(top, np.array([y]))[0][0] for d, y in ((beam, 12.0), (arm, 0.0))]
    assert sigma[0] < 0 < sigma[1]


def test_fixed_ends_hog_and_sag():
    surface = develop(market_hall(), span=24.0, support="fixed")
    crown = np.full(2, surface.s[-1] / 2)
    near, middle = surface.stresses(crown, np.array([0.0, 12.0]))[0]
    assert near == pytest.approx(-2.0 * middle)  # w L^2 / 12 against w L^2 / 24


def test_stresses_are_in_balance():
    """d(sigma t)/dy + dq/ds = 0 by central differences, on a section with a jump of thickness."""
    surface = develop(reading_hall(), span=20.0)
    s, y, h = np.array([0.3, 1.7, 3.9, 4.5, 6.2]), np.full(5, 4.0), 1e-4
    strip = np.searchsorted(surface.s, s, side="right") - 1
    t = surface.thickness[strip]
    along = (surface.stresses(s, y + h)[0] - surface.stresses(s, y - h)[0]) / (2 * h)
    across = (surface.stresses(s + h, y)[1] - surface.stresses(s - h, y)[1]) / (2 * h)
    assert (along + across) * t == pytest.approx(np.zeros(5), abs=1e-6 * np.abs(along * t).max())


@pytest.mark.parametrize("kind", [COMPRESSION, TENSION])
def test_the_families_cross_at_right_angles_and_follow_mohr(kind):
    surface = develop(market_hall(), span=24.0)
    rng = np.random.default_rng(2)
    s, y = rng.uniform(0, surface.s[-1], 60), rng.uniform(0, 24, 60)
    one, two = (np.stack(surface.direction(s, y, k)) for k in (COMPRESSION, TENSION))
    assert (one * two).sum(0) == pytest.approx(np.zeros(60), abs=1e-12)
    sigma, tau = surface.stresses(s, y)
    found = mohr(0.0, sigma, tau)
    a, b = surface.direction(s, y, kind)
    along_line = sigma * b * b + 2 * tau * a * b
    assert along_line == pytest.approx(
        found.minor if kind == COMPRESSION else found.major, rel=1e-9, abs=1e-9
    )


def test_fourth_order_against_a_general_integrator():
    """A smooth field (one wall): the error falls with the fourth power of the step (scipy's DOP853)."""
    surface = develop(Strips.chain([0.0, 0.0], [0.0, 2.0], [0.1], "web"), span=10.0)

    def slope(y, s):  # ds / dy of the tension line towards the near support
        a, b = surface.direction(s, np.array([y]), TENSION)
        return a / b

    exact = solve_ivp(slope, (4.0, 1.0), [0.3], method="DOP853", rtol=1e-12, atol=1e-13).y[0, -1]
    errors = []
    for step in (0.2, 0.1, 0.05):
        (line,) = follow(surface, TENSION, np.array([[0.3, 4.0]]), step)
        s, y = line.T
        near = np.argsort(np.abs(y - 1.0))[:6]
        order = near[np.argsort(y[near])]
        errors.append(abs(np.polynomial.Polynomial.fit(y[order], s[order], 5)(1.0) - exact))
    assert errors[-1] < 1e-6
    assert np.log2(errors[0] / errors[1]) > 3.0


@pytest.mark.parametrize(
    ("section", "support"), [(market_hall, "simple"), (reading_hall, "cantilever"), (reading_hall, "propped")]
)
def test_lines_lie_on_the_surface_and_are_smooth(section, support):
    surface = develop(section(), span=18.0, support=support)
    lines = isostatics(surface)
    assert {line.kind for line in lines} == {COMPRESSION, TENSION}
    for line in lines:
        assert 0 <= line.s.min() <= line.s.max() <= surface.s[-1] + 1e-9
        assert -1e-9 <= line.y.min() <= line.y.max() <= 18.0 + 1e-9
        x, z = surface.place(line.s)
        assert np.array_equal(x, line.x)
        assert np.array_equal(z, line.z)
        move = np.stack([np.diff(line.s), np.diff(line.y)])
        length = np.hypot(*move)
        turn = (move[:, 1:] * move[:, :-1]).sum(0) / (length[1:] * length[:-1])
        assert turn[:-1].min() > 0.2  # never turns back on itself


def test_a_symmetrical_roof_has_symmetrical_lines():
    surface = develop(market_hall(), span=24.0)
    for kind in (COMPRESSION, TENSION):
        lines = [line for line in isostatics(surface) if line.kind == kind]
        points = np.concatenate([np.stack([line.s, line.y], -1) for line in lines])
        mirrored = np.array([surface.s[-1], 24.0]) - points
        nearest = np.array([np.hypot(*(points - p).T).min() for p in mirrored[::15]])
        # a line may end up to the closest distance of two lines short of its mirror
        assert nearest.max() < CLOSEST * surface.s[-1] / 10
        assert np.median(nearest) < 0.05


def test_the_path_runs_from_tip_to_tip_and_leaves_the_branch():
    tee = Strips([0.0, 1.0, 3.0, 1.0], [1.0, 1.0, 1.0, 0.5], [[0, 1], [2, 1], [1, 3]], [0.1] * 3, "abc")
    path, forward = longest_path(tee)
    assert path.tolist() == [0, 1]
    assert forward.tolist() == [True, False]
    surface = develop(tee, span=8.0)
    assert surface.s.tolist() == [0.0, 1.0, 3.0]
    s = np.array([0.0, 3.0])
    assert surface.stresses(s, np.full(2, 1.0))[1] == pytest.approx([0.0, 0.0], abs=1e-9)


def test_bad_calls_name_what_is_wrong():
    with pytest.raises(ValueError, match="one section at a time"):
        develop(Strips([[0.0, 1.0]] * 2, [[0.0, 1.0]] * 2, [[0, 1]], [[0.1]] * 2, ["wing"]), span=1.0)
    with pytest.raises(ValueError, match="support: got 'glued'"):
        develop(market_hall(), span=1.0, support="glued")
    with pytest.raises(ValueError, match="span: got 0"):
        develop(market_hall(), span=0.0)
    with pytest.raises(ValueError, match="spacing: got -1"):
        isostatics(develop(market_hall(), span=9.0), spacing=-1.0)
