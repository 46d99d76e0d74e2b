"""The price of a wish on a design of a roof: concrete, steel and slot for 100 mm of height or slot."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from longvault.constraints.measures import MEASURES
from longvault.optimise.price import Market, Price, price_table
from longvault.optimise.section_problem import SectionScores, section_problem
from longvault.sections.families import Family, Variable
from longvault.sections.symbols import Array
from longvault.studies.brief_basis import basis_of, proving_of
from longvault.studies.brief_model import Brief
from longvault.studies.sheet_table import digits, quantity

STEP = 0.025
"""How far a wish is moved each way [m]."""
SHOWN = 0.1
"""Prices are shown for this much of the wish [m]."""
WISHES = ("height", "opening")
PAYERS = ("area", "steel_area", "opening")


@dataclass(frozen=True, slots=True, eq=False)
class RoofValues:
    """Values and margins of designs of one family; limits on the wishes are left out: they are what moves."""

    scores: SectionScores
    names: tuple[str, ...]

    def __call__(self, x: Array) -> tuple[Array, Array]:
        """Values (N, V) and margins (N, K) of designs x (N, d)."""
        done = self.scores.evaluation(x, every=True)
        kept = [i for i, limit in enumerate(done.limits) if limit.demand not in WISHES]
        return np.stack([done.measures[name] for name in self.names], axis=-1), done.margins[:, kept]


def market_of(family: Family, variables: tuple[Variable, ...], x: Array, brief: Brief) -> Market:
    """Gather what may be traded at a design x (d,): objectives, height, steel; proved as in the search."""
    proving = None if brief.search.folded_plate == "front-only" else proving_of(brief)
    problem = section_problem(
        family, variables, basis_of(brief), ("area", "height"), proving=proving, always=True
    )
    scores = problem.evaluate
    if not isinstance(scores, SectionScores):
        raise TypeError("family: must be a family of sections")
    names = tuple(dict.fromkeys(("area", "steel_area", "height", *brief.search.objectives)))
    opening = float(scores.evaluation(np.atleast_2d(x)).measures["opening"][0])
    names = tuple(name for name in (*names, "opening") if name != "opening") + ("opening",) * (opening > 0)
    senses = tuple(MEASURES[name].sense for name in names)
    return Market(RoofValues(scores, names), names, senses, problem.lower, problem.upper)


def prices_of(family: Family, variables: tuple[Variable, ...], x: Array, brief: Brief) -> tuple[Price, ...]:
    """Prices of height and slot in concrete, steel and slot at a design."""
    market = market_of(family, variables, x, brief)
    payers, wishes = ([name for name in wanted if name in market.names] for wanted in (PAYERS, WISHES))
    return price_table(market, x, payers, wishes, step=STEP)


def price_document(prices: Sequence[Price]) -> list[dict[str, Any]]:
    """Return prices as JSON objects: change of what pays for 100 mm more of the wish, in its own unit."""
    rows = []
    for one in prices:
        measure = MEASURES[one.payer]
        change = one.marginal * SHOWN * measure.per_si
        shown = change if np.isfinite(change) else None
        rows.append({"wish": one.wish, "payer": measure.column, "change_for_100_mm_more": shown})
    return rows


def price_lines(prices: Sequence[Price]) -> list[str]:
    """Say what 100 mm more of each wish costs or spares; the other way round for 100 mm less."""
    lines = [
        f"Price of {1e3 * SHOWN:.0f} mm more, all other objectives, height, steel and slot held "
        f"(slope over {2e3 * STEP:.0f} mm, after polishing):"
    ]
    for one in prices:
        measure = MEASURES[one.payer]
        change = one.marginal * SHOWN * measure.per_si
        shown = "no design holds it" if not np.isfinite(change) else (
            f"{'+' if change > 0 else ''}{quantity(change, measure.unit)}"
            f" ({100 * one.marginal * SHOWN / one.value:+.1f} % of {digits(one.value * measure.per_si)})"
        )  # fmt: skip
        lines.append(f"  {MEASURES[one.wish].title.ljust(26)} {measure.title.ljust(44)} {shown}")
    return lines
