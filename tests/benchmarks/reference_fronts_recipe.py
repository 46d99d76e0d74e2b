"""Recipe of the reference fronts: ``python tests/benchmarks/reference_fronts_recipe.py RUNS [BRIEF ...]``.

For each starter brief, the folded plate left to the front: the union of every non-dominated feasible design
that three methods met, three seeds each, 500 000 evaluations a run: NSGA-II and GDE3 of pymoo as they come,
and the search of this project. Then descents, which know nothing of populations: from designs spread over
that union, and their neighbours, concrete is made least while every other objective and the height are held
(`longvault.optimise.local.least`). About fifteen minutes of one core a brief. A front is kept in at most
``KEPT`` designs; the hypervolume stored is that of the whole union.

The designs that each run met are kept in the folder RUNS. A run found there is not made again: its designs
are scored anew, so that a front can be stated again when a limit has moved a little. Files
``BRIEF-earlier-*.npz`` there, of an earlier state of the search or of a longer run that beat a front, join
the union. The recipe stored with a front says on which days its runs were made.
"""

import json
import platform
import sys
from dataclasses import replace
from datetime import UTC, datetime
from importlib.metadata import version
from pathlib import Path

import numpy as np
from search_cases import BRIEFS, SAMPLES, brief_job, digest, front_of, kept, paths, thinned, timed, warm

from longvault.constraints.measures import MEASURES
from longvault.optimise import SearchSettings, hypervolume, search
from longvault.optimise.adapter import plain_gde3, plain_nsga2
from longvault.optimise.history import reference_point
from longvault.studies.brief import family_of, variables_of
from longvault.studies.pricing import market_of

EVALUATIONS, SEEDS, KEPT = 500_000, (1, 2, 3), 6000
FOLLOWED, NEAR, FAMILY = 48, 6, 2
"""Designs descents set out from, each with how many nearest designs of the front and starts of the family."""
METHODS = {
    "NSGA-II of pymoo, population 100": lambda p, n, s: plain_nsga2(p, evaluations=n, seed=s),
    "GDE3 of pymoo, population 100": lambda p, n, s: plain_gde3(p, evaluations=n, seed=s),
    "search of longvault": lambda p, n, s: search(p, SearchSettings(n, s)),
}


def met(problem, method, seed, evaluations, path):
    """Return the non-dominated feasible designs that a run met; from its file where it was made before."""
    if not path.exists():
        designs, seconds = timed(
            lambda: kept(problem, lambda keeping: METHODS[method](keeping, evaluations, seed))
        )
        np.savez(path, x=designs.x, made=datetime.now(UTC).date().isoformat())
        print(f"  {method}, seed {seed}: {len(designs)} designs, {seconds:.0f} s", flush=True)
    return read(problem, path)


def read(problem, path):
    """Designs of a kept run that are feasible today, the day it was made, and what share still is."""
    with np.load(path) as data:
        designs = problem.score(problem.snap(data["x"]))
        return designs.take(designs.feasible), str(data["made"]), float(designs.feasible.mean())


def descended(job, front):
    """Ends x (N, d) of the descents from a front, sizes not yet rounded to their steps."""
    family = family_of(job.brief)
    variables, ends = variables_of(job.brief, family), []
    span = np.ptp(front.objectives, axis=0)
    for one in thinned(job.problem, front, FOLLOWED).x:
        market = market_of(family, variables, one, job.brief)
        traded = tuple(name for name in market.evaluate.measures if name != "steel_area")
        values = replace(market.evaluate, measures=traded)
        better = tuple(MEASURES[name].sense for name in values.names)
        market = replace(market, evaluate=values, names=values.names, better=better)
        own = job.problem.score(one[None]).objectives
        far = (((front.objectives - own) / span) ** 2).sum(axis=1)
        near = front.x[np.argsort(far, kind="stable")[:NEAR]]
        starts = np.concatenate([near, np.stack(market.starts[:FAMILY])])
        ends.append(market._least(starts, market.evaluate(one[None])[0][0], "area", {}).x)
    return np.concatenate(ends)


def followed(name, job, front, folder):
    """Return the feasible designs that descents from a front end in; from their file where it is there."""
    path = folder / f"{name}-descents.npz"
    if not path.exists():
        x, seconds = timed(lambda: descended(job, front))
        np.savez(path, x=x, made=datetime.now(UTC).date().isoformat())
        print(f"  descents: {len(x)} designs, {seconds:.0f} s", flush=True)
    return read(job.problem, path)


def samples_of(problem, front):
    """Designs with scores by which a changed problem is noticed: at random, and of the front."""
    rng = np.random.default_rng(20)
    x = rng.uniform(problem.lower, problem.upper, (SAMPLES, len(problem.lower)))
    rows = np.linspace(0, len(front) - 1, SAMPLES).astype(int)
    order = np.argsort(front.objectives[:, 0], kind="stable")
    return problem.score(np.concatenate([problem.snap(x), front.x[order[rows]]]))


def build(name, folder, evaluations=EVALUATIONS):
    """Make and write the reference front of a starter brief."""
    job = brief_job(name, "front-only")
    problem = job.problem
    warm(problem)
    found, days, held = {}, set(), []
    for number, method in enumerate(METHODS):
        for seed in SEEDS:
            path = folder / f"{name}-{number}-{seed}.npz"
            found[method, seed], day, share = met(problem, method, seed, evaluations, path)
            days.add(day)
            held.append(share)
    earlier = sorted(folder.glob(f"{name}-earlier-*.npz"))
    for number, path in enumerate(earlier):
        found["earlier search of longvault", number], day, share = read(problem, path)
        days.add(day)
        held.append(share)
    evolved = front_of(problem, *found.values())
    found["descents", 0], day, _ = followed(name, job, evolved, folder)
    union = front_of(problem, evolved, found["descents", 0])
    days.add(day)
    point = reference_point(problem, union.objectives)

    def volume(designs):
        return hypervolume(designs.objectives, point, maximise=problem.maximise)

    whole, front = volume(union), thinned(problem, union, KEPT)
    samples = samples_of(problem, front)
    arrays = (front.objectives, point, samples.x, samples.objectives, samples.margins)
    shares = {method: [round(volume(found[method, s]) / whole, 4) for s in SEEDS] for method in METHODS}
    recipe = {
        "brief": name,
        "objectives": [[objective.name, objective.sense] for objective in problem.objectives],
        "limits": list(problem.margin_names),
        "evaluations_a_run": evaluations,
        "earlier_runs": len(earlier),
        "seeds": list(SEEDS),
        "share_of_each_run": shares,
        "share_without_descents": round(volume(evolved) / whole, 5),
        "hypervolume": whole,
        "designs_met": len(union),
        "designs_kept": len(front),
        "share_kept": round(volume(front) / whole, 5),
        "sha256": digest(*arrays),
        "runs_made": sorted(days),
        "least_share_still_feasible_when_stated": round(min(held), 4),
        "stated": datetime.now(UTC).date().isoformat(),
        "versions": {p: version(p) for p in ("longvault", "pymoo", "moocore", "numpy", "scipy", "numba")},
        "python": platform.python_version(),
    }
    numbers, text = paths(name)
    keys = ("front", "point", "x", "objectives", "margins")
    np.savez_compressed(numbers, **dict(zip(keys, arrays, strict=True)))
    text.write_text(json.dumps(recipe, indent=1) + "\n", encoding="utf-8")
    print(f"{name}: {shares}, kept {recipe['share_kept']} in {len(front)}", flush=True)


if __name__ == "__main__":
    runs = Path(sys.argv[1])
    runs.mkdir(exist_ok=True)
    for brief in sys.argv[2:] or BRIEFS:
        build(brief, runs)
