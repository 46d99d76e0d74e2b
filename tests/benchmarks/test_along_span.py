"""Cost of loads, supports and tapers inside the search, as ratios to the plain evaluation in one run.

Run with ``pytest tests/benchmarks/test_along_span.py --benchmark-only -s``; the table of a run is kept in
``along_span_speed.txt``. The plain case is a prismatic section, one span, uniform snow and maintenance.
"""

import time
from dataclasses import replace

import numpy as np
import pytest

from longvault.constraints.actions import Loads, Wind
from longvault.constraints.basis import Basis, Requirements
from longvault.constraints.beam import SUPPORTS, support_of
from longvault.constraints.evaluate import BLOCK, evaluate
from longvault.constraints.evaluate_member import evaluate_member
from longvault.constraints.load_cases import variable_cases
from longvault.constraints.member_details import evaluate_member_closely
from longvault.constraints.proving import Proving
from longvault.constraints.spans import Spans
from longvault.optimise.memory import keep_memory
from longvault.sections.families import Setting
from longvault.sections.families.freeform import GullWing
from longvault.sections.families.tapered import Tapered
from longvault.sections.member import Member

FAMILY = Tapered(GullWing(Setting(pitch=4.8, height=1.6, thickness=0.08)))
WIND = (
    Wind("pressure", ((0.0, 1.0, 500.0),)),
    Wind("suction", ((0.0, 1.0, -1300.0),)),
    Wind("one side", ((0.0, 0.5, -1300.0), (0.5, 1.0, 500.0))),
)
PLAIN = Basis(
    span=11.0, pitch=4.8, requirements=Requirements(height_max=1.6), support=SUPPORTS["cantilever"],
    loads=Loads(finish=300.0, snow=600.0, maintenance=400.0),
)  # fmt: skip
CANOPY = Spans.canopy(back=4.0, arm=11.0)
ROW = Spans.continuous(11.0, 11.0, 11.0, 11.0)


def with_loads(basis, **loads):
    return replace(basis, loads=replace(basis.loads, **loads))


def on(basis, spans):
    return replace(basis, spans=spans, support=support_of("row", spans, 11.0))


def designs():
    low, high = (np.array([getattr(v, side) for v in FAMILY.variables]) for side in ("lower", "upper"))
    return low + (high - low) * np.random.default_rng(0).random((BLOCK, len(low)))


def cases():
    """Yield name, call, stations; each works on one block of designs, new ones: strips keep what is found."""
    x = designs()
    drawn, sections = FAMILY.strips(x), FAMILY.member(x).sections
    windy = with_loads(PLAIN, wind=WIND)
    drifted = with_loads(PLAIN, drift="valley", ground_snow=750.0)
    every = with_loads(windy, drift="cylindrical", ground_snow=750.0, water=0.1)
    yield "plain", lambda: evaluate(drawn[:], PLAIN), 1, PLAIN
    yield "wind, three cases", lambda: evaluate(drawn[:], windy), 1, windy
    yield "valley drift", lambda: evaluate(drawn[:], drifted), 1, drifted
    yield "drift, wind and water", lambda: evaluate(drawn[:], every), 1, every
    yield "back span, drift, wind, water", lambda: evaluate(drawn[:], on(every, CANOPY)), 1, every
    yield "four spans, drift, wind, water", lambda: evaluate(drawn[:], on(every, ROW)), 1, every
    yield "taper", lambda: evaluate_member(Member(sections[:]), PLAIN), FAMILY.stations, PLAIN
    yield (
        "taper, back span, wind",
        lambda: evaluate_member(Member(sections[:]), on(windy, CANOPY)),
        FAMILY.stations,
        windy,
    )
    yield (
        "taper, back span, drift, wind, water",
        lambda: evaluate_member(Member(sections[:]), on(every, CANOPY)),
        FAMILY.stations,
        every,
    )
    across = replace(on(windy, CANOPY), crosswise=Proving(), joints=FAMILY.joints)
    yield (
        "taper, back span, wind, closer checks",
        lambda: evaluate_member_closely(Member(sections[:]), across),
        FAMILY.stations,
        windy,
    )


def seconds(calls, rounds=9):
    """Least processor time of each call, taken in turns so that all meet the same machine."""
    for call in calls:
        call()
    best = [np.inf] * len(calls)
    for _ in range(rounds):
        for i, call in enumerate(calls):
            start = time.process_time()
            call()
            best[i] = min(best[i], time.process_time() - start)
    return best


def test_without_taper_both_roads_give_the_same_numbers():
    """Equal results first: a taper that leaves the whole section at its tip is the prismatic module.

    Deflection by the factor: by cracked states a taper looks at each station with its own bars and moment, a
    module at its critical section (EN 1992-1-1, 7.4.3).
    """
    x = designs()[:32]
    x[:, -3:] = 1.0
    for spans in (Spans.cantilever(11.0), CANOPY):
        basis = on(with_loads(PLAIN, wind=WIND), spans)
        basis = replace(basis, requirements=replace(basis.requirements, long_term="factor"))
        one, other = evaluate(FAMILY.strips(x), basis), evaluate_member(FAMILY.member(x), basis)
        keys = [limit.key for limit in one.limits if "reverse" not in limit.key]
        columns = [i for i, limit in enumerate(one.limits) if limit.key in keys]
        np.testing.assert_allclose(other.margins[:, columns], one.margins[:, columns], rtol=2e-3, atol=2e-3)


@pytest.mark.benchmark(group="along the span")
def test_ratios_to_the_plain_evaluation(benchmark):
    keep_memory()  # as a search does
    named = list(cases())
    times = seconds([call for _, call, _, _ in named])
    plain = times[0]
    lines = ["case | us a design | ratio | stations x variable cases | ratio each"]
    for (name, _, stations, basis), took in zip(named, times, strict=True):
        sets = stations * len(variable_cases(basis.loads))
        ratio = took / plain
        lines.append(f"{name} | {took / BLOCK * 1e6:.1f} | {ratio:.2f} | {sets} | {ratio / sets:.2f}")
        assert ratio <= 8.0 * stations or "closer checks" in name
        assert ratio / sets <= 8.0
    print("\n".join(lines))
    benchmark.pedantic(named[0][1], rounds=3)
