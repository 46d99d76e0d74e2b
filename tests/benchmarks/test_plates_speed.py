"""Folded plate against one-at-a-time solutions: equal results first, then time as a ratio in one run.

Run with ``pytest tests/benchmarks/test_plates_speed.py --benchmark-only -s``. The yardsticks are written as a
user of scipy or numpy would: assemble strip by strip, one banded (or dense) solution a harmonic.
"""

import time

import numpy as np
import pytest
from scipy.linalg import solveh_banded

from longvault.constraints.plates import PlateLoads, folded_plate
from longvault.constraints.plates_kernel import COLUMNS, ROWS, strip_stiffness
from longvault.constraints.plates_results import smoothed, strip_forces
from longvault.constraints.slice import solved_slices
from longvault.sections import Strips

DESIGNS, NODES, HARMONICS = 64, 65, (1, 3, 5, 7, 9)
SPAN, MODULUS, POISSON, LOADS = 24.0, 30e9, 0.2, PlateLoads(surface=3000.0)


def designs(count=DESIGNS):
    """Barrels of different radius and thickness that swells towards the edges."""
    rng = np.random.default_rng(11)
    angle = np.linspace(-0.75, 0.75, NODES)
    radius = 6.0 + 4.0 * rng.random((count, 1))
    thickness = 0.07 + 0.05 * rng.random((count, 1)) * (1.0 + np.linspace(-1, 1, NODES - 1) ** 8)
    return Strips.chain(radius * np.sin(angle), radius * np.cos(angle), thickness, "wing")


def solve(strips, threads=1):
    return folded_plate(strips, LOADS, span=SPAN, modulus=MODULUS, poisson=POISSON, threads=threads)


def one_by_one_banded(strips):
    """Return the amplitudes (H, n, 4) of one design: plain assembly, scipy's banded Cholesky solution."""
    dx, dz = strips.span_vectors()
    load = LOADS.nodal(strips).reshape(-1)
    found = []
    for m in HARMONICS:
        k = m * np.pi / SPAN
        band = np.zeros((8, 4 * NODES))
        for i, t in enumerate(strips.thickness):
            b = np.hypot(dx[i], dz[i])
            values = strip_stiffness(dx[i] / b, dz[i] / b, b, t, k, MODULUS, POISSON)
            band[COLUMNS - ROWS, 4 * i + ROWS] += values
        found.append(solveh_banded(band, load, lower=True) * 4 / (m * np.pi))
    return np.array(found).reshape(len(HARMONICS), NODES, 4)


def dense_systems(strips):
    """Return the full matrices (H, 4 n, 4 n) and loads of one design, ready for a dense solution."""
    dx, dz = strips.span_vectors()
    full = np.zeros((len(HARMONICS), 4 * NODES, 4 * NODES))
    for h, m in enumerate(HARMONICS):
        for i, t in enumerate(strips.thickness):
            b = np.hypot(dx[i], dz[i])
            own = np.zeros((8, 8))
            own[ROWS, COLUMNS] = own[COLUMNS, ROWS] = strip_stiffness(
                dx[i] / b, dz[i] / b, b, t, m * np.pi / SPAN, MODULUS, POISSON
            )
            full[h, 4 * i : 4 * i + 8, 4 * i : 4 * i + 8] += own
    return full, np.tile(LOADS.nodal(strips).reshape(-1, 1), (len(HARMONICS), 1, 1))


def quickest(job, rounds):
    """Return the least time of a job [s]: the one the machine's other work disturbed least."""
    times = []
    for _ in range(rounds):
        start = time.perf_counter()
        job()
        times.append(time.perf_counter() - start)
    return min(times)


@pytest.mark.benchmark(group="folded plate")
def test_forty_times_a_banded_solution_and_a_twenty_fifth_of_a_dense_one(benchmark):
    strips = designs()
    batch = benchmark(solve, strips)
    for i in (0, 17, 63):
        expected = one_by_one_banded(strips[i])
        atol = 1e-9 * np.abs(expected).max()
        np.testing.assert_allclose(batch.displacement[i], expected, rtol=0, atol=atol)
    full, load = dense_systems(strips[0])
    amplitude = (4 / np.pi / np.array(HARMONICS))[:, None, None]
    dense = np.linalg.solve(full, load).reshape(len(HARMONICS), NODES, 4) * amplitude
    np.testing.assert_allclose(batch.displacement[0], dense, rtol=0, atol=1e-9 * np.abs(dense).max())

    ours = quickest(lambda: solve(strips), 30) / DESIGNS
    banded = quickest(lambda: one_by_one_banded(strips[0]), 8)
    full_time = quickest(lambda: np.linalg.solve(full, load), 20)
    print(
        f"\nper design: batch {ours * 1e6:.0f} us, banded one at a time {banded * 1e6:.0f} us "
        f"(x{banded / ours:.0f}), dense solution alone {full_time * 1e6:.0f} us ({ours / full_time:.3f})"
    )
    assert banded / ours >= 40
    assert ours / full_time <= 0.04


@pytest.mark.benchmark(group="folded plate")
def test_one_design_alone_in_five_milliseconds(benchmark):
    strips = designs(1)[0]
    alone = benchmark(solve, strips)
    np.testing.assert_array_equal(alone.displacement, solve(designs(1)).displacement[0])
    seconds = quickest(lambda: solve(strips), 30)
    print(f"\none design alone: {seconds * 1e3:.2f} ms")
    assert seconds < 5e-3


@pytest.mark.benchmark(group="folded plate")
def test_two_threads(benchmark):
    strips = designs(8 * DESIGNS)
    both = benchmark(solve, strips, threads=2)
    np.testing.assert_array_equal(both.displacement, solve(strips).displacement)
    one, two = (quickest(lambda n=n: solve(strips, threads=n), 40) for n in (1, 2))
    print(f"\ntwo threads: x{one / two:.2f} ({one / len(strips.x) * 1e6:.0f} us a design on one)")
    assert one / two >= 1.7


@pytest.mark.benchmark(group="folded plate")
def test_a_slice_under_two_cases_costs_half_a_folded_plate(benchmark):
    """Against the same frame as a folded plate of endless span, whose results it must have."""
    strips, cases = designs(), (PlateLoads(surface=2000.0), PlateLoads(plan=800.0))
    found = benchmark(solved_slices, strips, cases, modulus=MODULUS, poisson=POISSON)
    for i in (0, 63):
        long = folded_plate(
            strips[i],
            cases[0],
            span=240.0,
            modulus=MODULUS,
            poisson=POISSON,
            harmonics=tuple(range(1, 80, 2)),
        )
        across = smoothed(strips[i], strip_forces(long)).m_s[0]
        atol = 0.02 * np.abs(across).max()
        np.testing.assert_allclose(found.m_s[0, i], across, rtol=0, atol=atol)
    own = quickest(lambda: solved_slices(strips, cases, modulus=MODULUS, poisson=POISSON), 40) / DESIGNS
    plate = quickest(lambda: solve(strips), 40) / DESIGNS
    print(
        f"\nslice, two cases: {own * 1e6:.0f} us a design, folded plate {plate * 1e6:.0f} us "
        f"({own / plate:.2f})"
    )
    assert own <= 0.5 * plate
