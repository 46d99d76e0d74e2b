"""Prices of a wish on starter briefs against solving anew: run by hand, writes pricing.txt beside it.

    OMP_NUM_THREADS=1 python tests/benchmarks/pricing_recipe.py

Anew: from three designs shaken by 3 % of the ranges, the best of them, at the design and a step each way.
"""

import time
import warnings
from pathlib import Path

import numpy as np

from longvault.optimise import SearchSettings, knee, search
from longvault.studies.brief import family_of, read_brief, variables_of
from longvault.studies.briefs import starter_text
from longvault.studies.pricing import STEP, market_of
from longvault.studies.run import roof_problem

CASES = (
    ("market-hall", "height"),
    ("classroom", "height"),
    ("reading-hall", "height"),
    ("reading-hall", "opening"),
)


def line(kind, wish):
    """Price and price anew of one brief, at the knee of the lower 70 % of its third objective."""
    brief = read_brief(starter_text(kind))
    changed = brief.search.model_copy(update={"folded_plate": "front-only"})
    brief = brief.model_copy(update={"search": changed})
    problem = roof_problem(brief)
    front = search(problem, SearchSettings(evaluations=6000, seed=3)).front
    rows = np.flatnonzero(front.objectives[:, -1] <= np.quantile(front.objectives[:, -1], 0.7))
    x = front.x[rows[knee(front.objectives[rows], maximise=problem.maximise)]]
    market = market_of(family_of(brief), variables_of(brief), x, brief)
    began = time.monotonic()
    base = market.polished(x, "area")
    one = market.price(x, "area", wish, step=STEP, first=base)
    seconds = time.monotonic() - began
    own, rng, ends = market.evaluate(x[None])[0][0], np.random.default_rng(1), []
    for change in (-STEP, 0.0, STEP):
        tries = [
            market._least(
                base.x[0] + 0.03 * (market.upper - market.lower) * rng.standard_normal(len(x)),
                own,
                "area",
                {wish: change},
                2,
            )
            for _ in range(3)
        ]
        ends.append(min([t.objectives[0, 0] for t in tries if t.margins.max() <= 1e-5], default=np.nan))
    sides = ((one.more, ends[2] - ends[1]), (one.less, ends[0] - ends[1]))
    numbers = " ".join(f"{price:10.6f} {anew:10.6f} {price / anew:7.3f}" for price, anew in sides)
    return f"{kind:14s} {wish:8s} {one.value:8.5f} {numbers} {seconds:8.1f}"


def main():
    """Write the table."""
    warnings.simplefilter("ignore")
    lines = [
        f"Change of the concrete area for {1e3 * STEP:.0f} mm more and less of a wish [m2], and solved anew.",
        "The two differ by up to 0.1 % of the area: smaller changes are known no better.",
        "",
    ]
    sides = "".join(f" {side:>10s} {'anew':>10s} {'ratio':>7s}" for side in ("more", "less"))
    lines.append(f"{'brief':14s} {'wish':8s} {'area':>8s}{sides} {'seconds':>8s}")
    for kind, wish in CASES:
        lines.append(line(kind, wish))
        print(lines[-1], flush=True)
    (Path(__file__).parent / "pricing.txt").write_text("\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
