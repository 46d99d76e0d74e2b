"""Daylight of a batch at 50 points, in microseconds a candidate and as a ratio to its evaluation.

Run with ``pytest tests/benchmarks/test_daylight_speed.py --benchmark-only -s``.
Aim: at most 8 times the evaluation of the same batch. A measured run is kept in ``daylight_speed.txt``.
"""

import time

import numpy as np
import pytest
from numpy.testing import assert_allclose

from longvault.constraints.basis import Basis, Requirements
from longvault.constraints.daylight import bay_points, sky_component
from longvault.constraints.daylight_factor import daylight
from longvault.constraints.evaluate import evaluate
from longvault.constraints.sky import wedge_light
from longvault.constraints.visibility import visible_wedges
from longvault.sections.families import Setting
from longvault.sections.families.registry import make_family

COUNT, POINTS, PITCH, LEVEL = 512, 50, 7.5, -3.0


def batch():
    family = make_family("gull-wing", Setting(pitch=PITCH, height=2.65, thickness=0.08))
    low, high = (np.array([getattr(v, side) for v in family.variables]) for side in ("lower", "upper"))
    x = low + (high - low) * np.random.default_rng(0).random((COUNT, len(low)))
    return family.strips(x)


def best_of(job, rounds=7):
    """Shortest of several runs [us a candidate]."""
    job()
    times = []
    for _ in range(rounds):
        start = time.perf_counter()
        job()
        times.append(time.perf_counter() - start)
    return 1e6 * min(times) / COUNT


@pytest.mark.benchmark(group="daylight")
def test_daylight_of_a_batch(benchmark):
    strips = batch()
    x = bay_points(np.full(COUNT, -0.5 * PITCH), np.full(COUNT, PITCH), POINTS)
    found = sky_component(strips, x, LEVEL, pitch=PITCH)
    for i in (0, 100, 511):  # equal results first, then time
        wedges = visible_wedges(strips[i], x[i], LEVEL, pitch=PITCH)
        expected = np.nansum(wedge_light(wedges.start, wedges.stop, sky="overcast"), axis=1)
        assert_allclose(found.overcast[i], expected, rtol=1e-12, atol=1e-14)
    basis = Basis(span=24.0, pitch=PITCH, requirements=Requirements(height_max=2.65))
    kernel = best_of(lambda: evaluate(strips, basis))
    sky = best_of(lambda: sky_component(strips, x, LEVEL, pitch=PITCH))
    whole = best_of(lambda: daylight(strips, pitch=PITCH, level=LEVEL, points=POINTS))
    print(f"\n{COUNT} gull-wings of {strips.thickness.shape[-1]} strips, {POINTS} points, us a candidate:")
    print(f"evaluation {kernel:.2f}; sky component {sky:.2f} ({sky / kernel:.1f} x); ", end="")
    print(f"all of daylight {whole:.2f} ({whole / kernel:.1f} x)")
    benchmark(lambda: sky_component(strips, x, LEVEL, pitch=PITCH))
    assert sky < 8.0 * kernel
