"""All limits of a batch against one candidate a call: equal numbers first, then time as a ratio in one run.

Run with ``pytest tests/benchmarks/test_evaluate.py --benchmark-only -s``. The yardstick is plain numpy,
vectorised over the 65 stations of a profile, as a user would write it for one section at a time. Times are
of the processor, not of the clock, so that other work on the machine counts on neither side.
"""

import time
import tracemalloc

import numpy as np
import pytest
from recomputed import module_margins

from longvault.constraints.evaluate import evaluate
from longvault.studies.brief import basis_of, family_of, read_brief, variables_of
from longvault.studies.briefs import starter_text

CANDIDATES, STATIONS = 1000, 65


def batch():
    """A thousand random gull-wings of the reading hall, and its basis of design."""
    brief = read_brief(starter_text("reading-hall"))
    rng = np.random.default_rng(1)
    low, high = np.array([(v.lower, v.upper) for v in variables_of(brief)]).T
    strips = family_of(brief).strips(low + (high - low) * rng.random((CANDIDATES, len(low))))
    return strips, basis_of(brief)


def one_by_one(strips, basis):
    """Margins of each candidate, one call a candidate."""
    rows = zip(strips.x, strips.z, strips.thickness, strict=True)
    return [module_margins(x, z, strips.ends, t, strips.parts, basis) for x, z, t in rows]


def quickest(job, rounds):
    """Return the least processor time of a job [s]: the one the machine's other work disturbed least."""
    times = []
    for _ in range(rounds):
        start = time.process_time()
        job()
        times.append(time.process_time() - start)
    return min(times)


def kilobytes_beyond_output(strips, basis):
    """Peak memory that a call takes beyond its result, per candidate [kB]."""
    evaluate(strips, basis)
    tracemalloc.start()
    result = evaluate(strips, basis)
    kept, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    del result
    return (peak - kept) / 1024 / CANDIDATES


@pytest.mark.benchmark(group="all limits")
def test_all_limits_of_a_thousand_candidates(benchmark):
    strips, basis = batch()
    assert strips.x.shape == (CANDIDATES, STATIONS)
    result = benchmark(evaluate, strips, basis)
    again = one_by_one(strips, basis)
    expected = np.array([[row[limit.key] for limit in result.limits] for row in again])
    np.testing.assert_allclose(result.margins, expected, rtol=1e-9, atol=1e-9)

    singles = [strips[i] for i in range(100)]
    ours = quickest(lambda: evaluate(strips, basis), 25) / CANDIDATES
    one = quickest(lambda: [evaluate(s, basis) for s in singles], 9) / 100
    single = quickest(lambda: one_by_one(strips[:100], basis), 9) / 100
    memory = kilobytes_beyond_output(strips, basis)
    print(f"\nus a candidate: batch {ours * 1e6:.1f}, alone {one * 1e6:.0f}, plain {single * 1e6:.0f}")
    print(f"plain / batch {single / ours:.0f}, plain / alone {single / one:.1f}")
    print(f"memory beyond input and output {memory:.3f} kB a candidate")
    assert single >= 100 * ours
    assert one <= single
    assert memory <= 1.0
