"""Prices of wishes on starter briefs against solving anew: run by hand, writes pricing.txt beside it.

    OMP_NUM_THREADS=1 python tests/benchmarks/pricing_recipe.py [BRIEF ...]

Anew: each of the three designs by itself, from the designs of the front nearest to the one that is priced and
from draws of another seed, never from what the price found or where it began; then, as a designer would, each
again from the best of its neighbours.
"""

import sys
import time
import warnings
from pathlib import Path

import numpy as np

from longvault.optimise import SearchSettings, knee, search
from longvault.optimise.price import TOLERANCE
from longvault.studies.brief import family_of, read_brief, variables_of
from longvault.studies.briefs import starter_text
from longvault.studies.pricing import PAYERS, STEP, WISHES, market_of
from longvault.studies.run import roof_problem

BRIEFS = ("market-hall", "classroom", "reading-hall", "workshop", "canopy")
NEAR, SEED = 10, 1
"""Designs of the front that solving anew begins from, and the seed of its draws."""
OUT = Path(__file__).parent / "pricing.txt"
HEAD = f"""Change of what pays for {1e3 * STEP:.0f} mm more and less of a wish, and solved anew (SI).
Design: knee of the lower 70 % of the third objective of a short search. Steps of variables are ignored on
both sides. Off: polished value anew over that of the price, less 1. nothing: both below 1e-5 of
the polished value.
"""


def chosen(brief):
    """Design to price, and the designs of the front that solving anew begins from."""
    problem = roof_problem(brief)
    front = search(problem, SearchSettings(evaluations=6000, seed=3)).front
    rows = np.flatnonzero(front.objectives[:, -1] <= np.quantile(front.objectives[:, -1], 0.7))
    own = rows[knee(front.objectives[rows], maximise=problem.maximise)]
    far = (((front.x - front.x[own]) / np.ptp(front.x, axis=0).clip(1e-9)) ** 2).sum(axis=1)
    return front.x[own], front.x[np.argsort(far, kind="stable")[1 : NEAR + 1]]


def anew(market, x, starts, payer, wish):
    """Least of what pays at a step less, at the design and at a step more of a wish; NaN where none holds."""
    own, changes = market.evaluate(x[None])[0][0], (-STEP, 0.0, STEP)

    def held(found):
        return [one.take(np.flatnonzero(one.margins.max(axis=1) <= TOLERANCE)) for one in found]

    first = held(market._sought(starts, own, payer, {wish: change}, seed=SEED) for change in changes)
    best = np.concatenate([one.x[[one.objectives[:, 0].argmin()]] for one in first if len(one)])
    again = held(market._least(best, own, payer, {wish: change}) for change in changes)
    both = (np.r_[a.objectives[:, 0], b.objectives[:, 0]] for a, b in zip(first, again, strict=True))
    return [values.min() if len(values) else np.nan for values in both]


def side(price, again, value):
    """Columns of one side."""
    if abs(price) < 1e-5 * abs(value) and abs(again) < 1e-5 * abs(value):
        return f" {price:11.3e} {again:11.3e} {'nothing':>8s}"
    if not (np.isfinite(price) or np.isfinite(again)):
        return f" {'none':>11s} {'none':>11s} {'agree':>8s}"
    return f" {price:11.3e} {again:11.3e} {price / again:8.3f}"


def lines(kind):
    """One line a payer and wish of one brief."""
    brief = read_brief(starter_text(kind))
    changed = brief.search.model_copy(update={"folded_plate": "front-only"})
    brief = brief.model_copy(update={"search": changed})
    x, starts = chosen(brief)
    market = market_of(family_of(brief), variables_of(brief), x, brief)
    for payer in (name for name in PAYERS if name in market.names):
        sign = 1.0 if market._sign(payer) > 0 else -1.0
        for wish in (name for name in WISHES if name in market.names and name != payer):
            began = time.monotonic()
            one = market.price(x, payer, wish, step=STEP)
            seconds = time.monotonic() - began
            less, middle, more = (sign * value for value in anew(market, x, starts, payer, wish))
            sides = side(one.more, more - middle, one.value) + side(one.less, less - middle, one.value)
            solved = middle / one.value - 1.0
            yield f"{kind:13s} {payer:11s} {wish:8s} {one.value:9.6f} {solved:9.1e}{sides} {seconds:8.1f}"


def main(kinds):
    """Write the table; lines of briefs not asked for stay."""
    warnings.simplefilter("ignore")
    sides = "".join(f" {way:>11s} {'anew':>11s} {'ratio':>8s}" for way in ("more", "less"))
    head = f"{'brief':13s} {'payer':11s} {'wish':8s} {'polished':>9s} {'off':>9s}{sides} {'seconds':>8s}"
    old = OUT.read_text(encoding="utf-8").splitlines() if OUT.exists() else []
    kept = {kind: [line for line in old if line.startswith(kind)] for kind in BRIEFS}
    for kind in kinds:
        kept[kind] = []
        for line in lines(kind):
            kept[kind].append(line)
            print(line, flush=True)
        table = [line for kind in BRIEFS for line in kept[kind]]
        OUT.write_text("\n".join([HEAD, head, *table]) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main(sys.argv[1:] or BRIEFS)
