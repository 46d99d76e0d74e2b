"""Cost of the concrete checks beside the evaluation they join: equal numbers first, then a ratio in one run.

Run with ``pytest tests/benchmarks/test_stress.py --benchmark-only -s``.
"""

import sys
import time
from pathlib import Path

import numpy as np
import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "constraints"))

from concrete_demands import demand_of
from roofs import KEYS, basis_for, designs_for, family_for

from longvault.constraints.bars import gathered_bars
from longvault.constraints.concrete_checks import concrete_measures, load_centre, stress_block
from longvault.constraints.concrete_settings import ConcreteSettings
from longvault.constraints.cracked import steel_for_moment
from longvault.constraints.evaluate import evaluate
from longvault.constraints.forms import form_areas
from longvault.constraints.prestress import Tensioning, prestress
from longvault.constraints.steel_layout import steel_layout
from longvault.constraints.stress import stress_extremes
from longvault.constraints.twisting import acting_along
from longvault.sections.torsion import torsion_properties

CANDIDATES = 512


def quickest(job, rounds=7):
    times = []
    for _ in range(rounds):
        start = time.perf_counter()
        job()
        times.append(time.perf_counter() - start)
    return min(times) / CANDIDATES * 1e6


def parts_of(strips, p, basis, demand):
    """Each check by itself, as the bundle calls it."""
    torsion = torsion_properties(strips)
    centre = load_centre(strips, p, demand.loads)

    def acting():
        return acting_along(
            strips, p, torsion, basis, lines=demand.loads, heaviest=demand.ultimate, centre=centre
        )

    forces = acting().forces
    laid = gathered_bars(strips, p, area=demand.steel, detailing=basis.detailing)
    return {
        "torsion properties": lambda: torsion_properties(strips),
        "forces, full load and one side": acting,
        "stress, 5 stations of each": lambda: stress_extremes(strips, p, torsion, forces),
        "bars laid": lambda: gathered_bars(strips, p, area=demand.steel, detailing=basis.detailing),
        "cracked bending": lambda: steel_for_moment(
            strips, laid.bars, moment=demand.moment, block=stress_block(basis), steel=basis.strengths.steel
        ),
        "steel layout": lambda: steel_layout(
            strips, p, area=demand.steel, shear=demand.shear, detailing=basis.detailing,
            concrete=basis.concrete, steel=basis.steel, strengths=basis.strengths,
        ),
        "prestress": lambda: prestress(
            strips, p, service=demand.service, transfer=0.5 * demand.service, tensioning=Tensioning()
        ),
        "forms": lambda: form_areas(strips),
    }  # fmt: skip


def demand_sets(strips, p, basis, demand):
    """Stations times load cases at which stresses are looked at."""
    torsion = torsion_properties(strips)
    centre = load_centre(strips, p, demand.loads)
    found = acting_along(
        strips, p, torsion, basis, lines=demand.loads, heaviest=demand.ultimate, centre=centre
    )
    return found.forces.moment.shape[-1]


@pytest.mark.benchmark(group="concrete checks")
@pytest.mark.parametrize("key", KEYS)
def test_concrete_checks_beside_the_evaluation(benchmark, key):
    basis, settings = basis_for(key), ConcreteSettings(tensioning=Tensioning())
    strips = family_for(key).strips(designs_for(key, CANDIDATES))
    p, demand = demand_of(strips, basis)
    whole, _ = benchmark(concrete_measures, strips, p, basis, demand, settings)
    for i in (0, 17, CANDIDATES - 1):
        one_p, one = demand_of(strips[i], basis)
        for name, value in concrete_measures(strips[i], one_p, basis, one, settings)[0].items():
            np.testing.assert_array_equal(whole[name][i], value)
    base = quickest(lambda: evaluate(strips, basis))
    ours = quickest(lambda: concrete_measures(strips, p, basis, demand, settings))
    print(f"\n{key}: evaluate {base:.1f} us, concrete checks {ours:.1f} us a candidate: x{ours / base:.2f}")
    for name, job in parts_of(strips, p, basis, demand).items():
        print(f"    {name:32s}{quickest(job):8.2f} us")
    sets = demand_sets(strips, p, basis, demand)
    print(f"    {sets} stations and load cases: x{ours / base / sets:.2f} each")
    assert ours / base / sets < 8.0
