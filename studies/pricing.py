"""The price of a wish on a design of a roof: concrete, steel, slot for 100 mm more or less height or slot."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from longvault.constraints.measures import MEASURES
from longvault.optimise.price import Market, Price, price_table
from longvault.optimise.section_pieces import heights, limit_pieces, moduli, slopes
from longvault.optimise.section_problem import SectionScores, section_problem
from longvault.sections.families import Family, Variable
from longvault.sections.families.tapered import Tapered
from longvault.sections.strips import Strips
from longvault.sections.symbols import Array, BoolArray
from longvault.studies.brief_basis import basis_of, proving_of
from longvault.studies.brief_model import Brief
from longvault.studies.sheet_table import quantity

STEP = 0.025
"""How far a wish is moved each way [m]."""
SHOWN = 0.1
"""Prices are shown for this much of the wish [m]."""
SOLVED = 5e-4
"""Share of what pays to which a side is solved: solving anew from other designs differs by less."""
STARTS = 6
"""Designs that the family begins with that polishing begins from too."""
LENGTH = f"{1e3 * SHOWN:.0f} mm"
WISHES = ("height", "opening")
PAYERS = ("area", "steel_area", "opening")


@dataclass(frozen=True, slots=True, eq=False)
class RoofValues:
    """Values and margins of designs of one family; limits on the wishes are left out: they are what moves.

    Measures that are the worst of many strips are followed by their pieces
    (`longvault.optimise.section_pieces`), but those of a taper, which are the worst of its stations.

    Parameters
    ----------
    scores : SectionScores
    measures : tuple of str
        Keys of the measures that are traded.
    gentle : bool array (r,)
        Strips of roof surface that are to stay as gentle as open forms allow.
    """

    scores: SectionScores
    measures: tuple[str, ...]
    gentle: BoolArray

    def __call__(self, x: Array) -> tuple[Array, Array]:
        """Values (N, V) and margins (N, K) of designs x (N, d)."""
        done = self.scores.evaluation(x, every=True)
        whole = np.stack([done.measures[name] for name in self.measures], axis=-1)
        family, basis = self.scores.family, self.scores.basis
        tapered = isinstance(family, Tapered)
        left_out = WISHES if tapered else (*WISHES, "steep_share")
        kept = [i for i, limit in enumerate(done.limits) if limit.demand not in left_out]
        if tapered:
            return whole, done.margins[:, kept]
        strips = family.strips(x)
        margins = [done.margins[:, kept], limit_pieces(strips, basis, self.gentle)]
        pieces = [found for name in self.measures for found in self._pieces(name, strips)]
        return np.concatenate([whole, *pieces], axis=1), np.concatenate(margins, axis=1)

    @property
    def names(self) -> tuple[str, ...]:
        """Name of each value."""
        family = self.scores.family
        if isinstance(family, Tapered):
            return self.measures
        strips = family.strips(family.starts()[:1])
        counts = [(name, found.shape[1]) for name in self.measures for found in self._pieces(name, strips)]
        return self.measures + tuple(name for name, count in counts for _ in range(count))

    def _pieces(self, name: str, strips: Strips) -> list[Array]:
        if name == "height":
            return [heights(strips)]
        return [moduli(strips, held=self.scores.basis.held)] if name == "section_modulus" else []


def market_of(family: Family, variables: tuple[Variable, ...], x: Array, brief: Brief) -> Market:
    """Gather what may be traded at a design x (d,): objectives, height, steel; proved as in the search.

    Where the surface that needs a top form is limited, no strip that is cast in open forms becomes steeper.
    """
    proving = None if brief.search.folded_plate == "front-only" else proving_of(brief)
    basis, x = basis_of(brief), np.atleast_2d(x)
    problem = section_problem(family, variables, basis, ("area", "height"), proving=proving, always=True)
    scores = problem.evaluate
    if not isinstance(scores, SectionScores):
        raise TypeError("family: must be a family of sections")
    names = tuple(dict.fromkeys(("area", "steel_area", "height", *brief.search.objectives)))
    opening = float(scores.evaluation(x).measures["opening"][0])
    names = tuple(name for name in (*names, "opening") if name != "opening") + ("opening",) * (opening > 0)
    slope, need = slopes(family.strips(x))[0], basis.requirements
    values = RoofValues(scores, names, slope <= need.steep_slope)
    senses = tuple(MEASURES[name].sense for name in values.names)
    starts = problem.score(replace(problem, step=None).snap(family.starts()))
    nearest = starts.take(np.argsort(starts.violation, kind="stable")[:STARTS])
    return Market(values, values.names, senses, problem.lower, problem.upper, tuple(nearest.x))


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
    known = 100 * SOLVED * SHOWN / STEP
    lines = [
        f"Price of {LENGTH} more or less, all other objectives, height, steel and slot held (at the rate of "
        f"the first {1e3 * STEP:.0f} mm each way, after polishing,",
        f"no size rounded to its step; changes under {known:.1f} % are within the accuracy of the search):",
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
