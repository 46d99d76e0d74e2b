"""The price of a wish on a design of a roof: concrete, steel, slot for 100 mm more or less height or slot."""

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
from longvault.studies.sheet_table import quantity

STEP = 0.025
"""How far a wish is moved each way [m]."""
SHOWN = 0.1
"""Prices are shown for this much of the wish [m]."""
SOLVED = 2e-3
"""Share of what pays to which a side is solved: solving anew differs by up to 0.2 % on roofs."""
LENGTH = f"{1e3 * SHOWN:.0f} mm"
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
    """Return prices as JSON objects: change of what pays for 100 mm more and less, in its own unit."""
    rows = []
    for one in prices:
        measure = MEASURES[one.payer]
        shown = {
            f"change_for_100_mm_{way}": _scaled(one, change) if np.isfinite(change) else None
            for way, change in (("more", one.more), ("less", one.less))
        }
        polished = one.value * measure.per_si
        rows.append(
            {
                "wish": one.wish,
                "payer": measure.column,
                "polished": polished,
                **shown,
                "words": price_words(one),
            }
        )
    return rows


def price_lines(prices: Sequence[Price]) -> list[str]:
    """Say what 100 mm more and 100 mm less of each wish cost or save."""
    lines = [
        f"Price of {LENGTH} more or less, all other objectives, height, steel and slot held "
        f"(at the rate of the first {1e3 * STEP:.0f} mm each way, after polishing;",
        f"changes under about {100 * SOLVED * SHOWN / STEP:.1f} % are within the accuracy of the search):",
    ]
    for one in prices:
        measure = MEASURES[one.payer]
        polished = quantity(one.value * measure.per_si, measure.unit)
        lines.append(f"  {MEASURES[one.wish].title}, paid in {measure.title} (polished to {polished}):")
        lines.append(f"    {price_words(one)}")
    return lines


def price_words(one: Price) -> str:
    """Say a price in words; one number where both sides agree.

    Examples
    --------
    >>> price_words(Price("area", "height", 0.025, 0.6, 0.0084, -0.0062))
    '100 mm more saves 0.025 m² (-4.1 %); 100 mm less costs 0.034 m² (+5.6 %)'
    >>> price_words(Price("area", "height", 0.025, 0.6, 0.0063, -0.0062))
    '100 mm more saves 0.025 m² (-4.1 %); 100 mm less costs as much'
    >>> price_words(Price("area", "height", 0.025, 0.6, 0.00112, -0.000003))
    '100 mm more: nothing gained, another limit rules; 100 mm less costs 0.0045 m² (+0.7 %)'
    """
    if one.none(one.more) and one.none(one.less):
        return "nothing gained: another limit rules"
    less = f"{LENGTH} less {_verb(one, one.less)} as much" if one.smooth else _side(one, "less")
    return f"{_side(one, 'more')}; {less}"


def _side(one: Price, way: str) -> str:
    """Say what ``more`` or ``less`` of a wish does; it is eased by more where little of it is better."""
    change = one.more if way == "more" else one.less
    if not np.isfinite(change):
        return f"{LENGTH} {way}: no design found that holds it"
    if one.none(change):
        eased = (way == "more") == (MEASURES[one.wish].sense == "min")
        return f"{LENGTH} {way}: nothing {'gained' if eased else 'lost'}, another limit rules"
    shown = quantity(abs(_scaled(one, change)), MEASURES[one.payer].unit, 2)
    share = 100 * SHOWN / one.step * change / one.value
    return f"{LENGTH} {way} {_verb(one, change)} {shown} ({share:+.1f} %)"


def _verb(one: Price, change: float) -> str:
    down, up = ("saves", "costs") if MEASURES[one.payer].sense == "min" else ("loses", "gains")
    return up if change > 0 else down


def _scaled(one: Price, change: float) -> float:
    """Change of the payer for 100 mm at the rate of a side, in the unit shown."""
    return change * SHOWN / one.step * MEASURES[one.payer].per_si
