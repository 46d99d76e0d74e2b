"""Recipe of ``search_evidence.txt``: ``python tests/benchmarks/search_evidence_recipe.py [BRIEF ...]``.

How much of the trade-off a search finds, as shares of the hypervolume of the reference fronts (see
``reference_fronts_recipe.py``), the folded plate left to the front. Times are processor time of one process.
A table is printed for each brief; the file holds those of all. About eight minutes a brief, most of them for
ten times the budget.
"""

import sys
from dataclasses import replace

import numpy as np
from search_cases import BRIEFS, Kept, kept, reference, section_ideals, starter, timed, warm

from longvault.optimise import SearchSettings, search
from longvault.optimise.adapter import plain_nsga2

BUDGET, BLOCK = SearchSettings().evaluations, 5000
SEEDS, FEW = (1, 2, 3, 4, 5), (1, 2)


def ours(problem, seed, factor=1):
    """Front of the search as it comes."""
    return search(problem, SearchSettings(factor * BUDGET, seed)).front


def nsga2(problem, seed):
    """Return the final designs of pymoo's NSGA-II as it comes, and all non-dominated ones it met."""
    keeper = Kept(problem)
    final = plain_nsga2(replace(problem, evaluate=keeper), evaluations=BUDGET, seed=seed)
    return final, keeper.flush()


def blind(draw):
    """Return a search that tries so many designs without looking at what it found."""

    def run(problem, seed):
        rng = np.random.default_rng(seed)
        x = problem.lower + draw(rng, len(problem.lower)) * (problem.upper - problem.lower)

        def score(watched):
            for i in range(0, BUDGET, BLOCK):
                watched.evaluate(problem.snap(x[i : i + BLOCK]))

        return kept(problem, score)

    return run


def at_random(rng, size):
    """Points of the unit cube, uniform."""
    return rng.random((BUDGET, size))


def on_a_grid(rng, size):
    """Two levels, 1/4 and 3/4, of as many variables as the budget allows, drawn; the others at the middle."""
    free = rng.permutation(size)[: int(np.log2(BUDGET))]
    x = np.full((BUDGET, size), 0.5)
    x[:, free] = 0.25 + 0.5 * (np.arange(BUDGET)[:, None] >> np.arange(len(free)) & 1)
    return x


def rows(names, problem, against, method, seeds):
    """Print shares of the reference that a method reaches; return first front, shares and median time."""
    done = [timed(lambda seed=seed: method(problem, seed)) for seed in seeds]
    found = [result if len(names) > 1 else (result,) for result, _ in done]
    seconds = float(np.median([time for _, time in done]))
    shares = np.array([[against.share(problem, designs) for designs in sets] for sets in found])
    for name, column in zip(names, np.sort(shares, axis=0).T, strict=True):
        print(f"  {name:26s} {seconds:6.1f} s   " + " ".join(f"{share:.4f}" for share in column), flush=True)
    return found[0][0], float(np.median(shares[:, 0])), seconds


def bound(problem, designs):
    """How often each limit binds (margin above -1 %) over a front, most often first."""
    counts = (designs.margins > -0.01).mean(axis=0)
    order = np.argsort(-counts, kind="stable")
    return ", ".join(f"{problem.margin_names[i]} {counts[i]:.0%}" for i in order[:5] if counts[i] > 0)


def ideal_lines(problem, designs):
    """Print S / ideal over a front: least, median and best, and the limits that bind at each."""
    ratio = section_ideals(problem, designs)
    ratio = np.where(np.isfinite(ratio), ratio, -1.0)
    if (ratio < 0).all():
        print("  S / ideal: varies along the span, no ideal of one section")
    else:
        order = np.flatnonzero(ratio >= 0)[np.argsort(ratio[ratio >= 0], kind="stable")]
        three = order[[0, len(order) // 2, -1]]
        print("  S / ideal: " + ", ".join(f"{ratio[i]:.3f}" for i in three) + " (least, median, best)")
        for place, i in zip(("least", "median", "best"), three, strict=True):
            near = np.argsort(-designs.margins[i], kind="stable")[:4]
            said = ", ".join(f"{problem.margin_names[k]} {designs.margins[i, k]:+.3f}" for k in near)
            print(f"    {place}: nearest limits {said}")
    print(f"  limits that bind over the front: {bound(problem, designs)}")


def evidence(name):
    """Print the table of a brief."""
    problem, against = starter(name), reference(name)
    changed = against.differs(problem)
    print(f"{name}{f' (reference stale: {changed})' if changed else ''}: shares of the reference, sorted")
    warm(problem)
    front, share, seconds = rows(["this search"], problem, against, ours, SEEDS)
    rival = rows(["NSGA-II, final population", "NSGA-II, all it met"], problem, against, nsga2, FEW)[2]
    rows(["at random"], problem, against, blind(at_random), FEW)
    rows(["grid"], problem, against, blind(on_a_grid), FEW)
    print(f"  goal 0.95 in the time of NSGA-II: {share:.3f} in {seconds / rival:.2f} of it")
    _, share, seconds = rows(["this search, 10 x"], problem, against, lambda p, s: ours(p, s, 10), SEEDS)
    print(f"  goal 0.97 in ten times that: {share:.3f} in {seconds / rival:.1f} times")
    ideal_lines(problem, front)
    print(flush=True)


if __name__ == "__main__":
    for brief in sys.argv[1:] or BRIEFS:
        evidence(brief)
