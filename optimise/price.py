"""The price of a wish: what a little more of one measure costs in another, all else held, at a design.

The design is first polished: the least of what pays, with every limit and the design's own value of all
other measures held. The least has many hollows: descents set out all over the ranges, and the best of them go
on to the end. Then the wish is moved down and up by a step and the least is sought again: each side has
its own price. Where the two agree they are the multiplier of the wish (envelope theorem); at a kink, where
another limit takes over, more of the wish spares less than as much less of it costs.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.stats import qmc

from longvault.optimise.local import ITERATIONS, PENALTY, Held, least
from longvault.optimise.problem import UNKNOWN, Designs, Objective, Problem, frozen
from longvault.sections.symbols import Array, BoolArray

SPREAD, BRIEFLY, ONWARD = 64, 12, 10
"""Designs all over the ranges that are polished, for how many steps, and how many of them go on."""
FIRST, AGAIN = 12, 6
"""How often a design is shaken: in the first polish, and after the wish has moved."""
SHAKEN = np.array([0.03, 0.1, 0.3])
"""How far, in turn, as a share of the ranges: hollows lie near and far."""
HOLLOWS = 4
"""Polished designs that are followed when the wish moves: the best of one may not be that of another."""
ROUNDS = 2
"""How often each of the three designs is sought from the other two."""
TOLERANCE = 1e-7
"""Margin up to which a solution counts as holding its limits: far below a difference that is priced."""
ALIKE = 0.05
"""Two sides this close, as a share of the larger, are one price."""
NOTHING = 3e-5
"""A change below this share of the value is none: solving anew differs by more."""


@dataclass(frozen=True, slots=True)
class Price:
    """What a wish costs.

    Parameters
    ----------
    payer, wish : str
        Measure that pays, measure that is wished larger.
    step : float
        How far the wish was moved each way, SI.
    value : float
        Of the payer at the polished design, SI.
    less, more : float
        Change of the payer when the wish is smaller, larger by the step; NaN where no design holds it.
    """

    payer: str
    wish: str
    step: float
    value: float
    less: float
    more: float

    @property
    def smooth(self) -> bool:
        """Whether less costs what more spares, to 5 %; never where one side has no design.

        Examples
        --------
        >>> price = Price("area", "height", 0.025, 0.6, 0.0084, -0.0062)
        >>> price.smooth, Price("area", "height", 0.025, 0.6, 0.0084, -0.0082).smooth
        (False, True)
        """
        return abs(self.less + self.more) <= ALIKE * max(abs(self.less), abs(self.more))

    def none(self, change: float) -> bool:
        """Whether a change of the payer is too small to be one."""
        return abs(change) < NOTHING * abs(self.value)


@dataclass(frozen=True, slots=True, eq=False)
class Market:
    """What may be traded at a design.

    Parameters
    ----------
    evaluate : callable
        x (N, d) -> values (N, V), SI, and margins (N, K) of all limits but those on the wishes.
    names, better : tuple of str
        Of the V values; ``min`` or ``max``: the way each is held (not above, not below). What is the worst of
        several may be followed by its pieces, under the same name: each is smooth where the worst has a kink.
    lower, upper : array (d,)
        Bounds of the variables.
    starts : tuple of array (d,)
        Designs that polishing begins from besides the one that is priced.
    """

    evaluate: Callable[[Array], tuple[Array, Array]]
    names: tuple[str, ...]
    better: tuple[str, ...]
    lower: Array
    upper: Array
    starts: tuple[Array, ...] = ()

    def price(self, x: Array, payer: str, wish: str, *, step: float, first: Designs | None = None) -> Price:
        """Price of a wish in a payer at the design x (d,); ``first`` is what `polished` gives, if known."""
        own = self.evaluate(frozen(x[None]))[0][0]
        base = self.polished(x, payer) if first is None else first
        found = {0.0: base.take([0])}
        for move in (-step, step):
            found[move] = _best(self._least(self._around(base.x, AGAIN), own, payer, {wish: move}))
        for _ in range(ROUNDS):  # what one design finds, the others may not miss
            for move in found:
                others = np.concatenate([one.x for other, one in found.items() if other != move])
                found[move] = _best(found[move], self._least(others, own, payer, {wish: move}))
        harder = -step if self._sign(wish) > 0 else step
        found[0.0] = _best(found[0.0], found[harder])  # what holds more, holds less
        found[-harder] = _best(found[-harder], found[0.0])
        sign = 1.0 if self._sign(payer) > 0 else -1.0
        value = float(found[0.0].objectives[0, 0])
        less, more = (
            sign * (float(one.objectives[0, 0]) - value) if _holds(one)[0] else float("nan")
            for one in (found[-step], found[step])
        )
        return Price(payer, wish, step, sign * value, less, more)

    def polished(self, x: Array, payer: str) -> Designs:
        """Designs with the least of the payer, every other measure as good as that of x (d,), the best first.

        Those after it are the best of other hollows.
        """
        own = self.evaluate(frozen(x[None]))[0][0]
        found = self._sought(np.stack([x, *self.starts]), own, payer, {})
        held = found.take(np.flatnonzero(_holds(found)))
        held = held.take(np.argsort(held.objectives[:, 0], kind="stable"))
        value = held.objectives[:, 0]
        apart = np.diff(value, prepend=-np.inf) > NOTHING * np.abs(value)
        return held.take(np.flatnonzero(apart)[:HOLLOWS]) if len(held) else _best(found)

    def _sought(
        self, starts: Array, own: Array, payer: str, moves: dict[str, float], *, seed: int = 0
    ) -> Designs:
        """Follow descents from starts (k, d) and from all over the ranges, then from the best end shaken.

        All but the first start are followed a few steps, and the most hopeful to their end.
        """
        begun = np.concatenate([starts, self._everywhere(seed)])
        looked = self._least(begun, own, payer, moves, iterations=BRIEFLY)
        found = self._least(np.concatenate([starts[:1], _hopeful(looked)]), own, payer, moves)
        return found.joined(self._least(self._around(_best(found).x, FIRST, seed), own, payer, moves))

    def _everywhere(self, seed: int) -> Array:
        """Latin hypercube over the ranges (``SPREAD``, d)."""
        unit = qmc.LatinHypercube(len(self.lower), seed=np.random.default_rng(seed)).random(SPREAD)
        spread: Array = self.lower + unit * (self.upper - self.lower)
        return spread

    def _around(self, x: Array, count: int, seed: int = 0) -> Array:
        """Designs x (k, d) and the first of them shaken."""
        wide = SHAKEN[np.arange(count) % len(SHAKEN), None] * (self.upper - self.lower)
        away = wide * np.random.default_rng(seed).standard_normal((count, x.shape[1]))
        return np.concatenate([x, x[0] + away])

    def _sign(self, name: str) -> float:
        return 1.0 if self.better[self.names.index(name)] == "min" else -1.0

    def _least(
        self, starts: Array, own: Array, payer: str, moves: dict[str, float], *, iterations: int = ITERATIONS
    ) -> Designs:
        signs = np.array([self._sign(name) for name in self.names])
        whole = np.array([self.names.index(name) for name in self.names])
        paying = np.array([name == payer for name in self.names])
        moved = own[whole] + np.array([moves.get(name, 0.0) for name in self.names])
        caps = np.where(paying, np.inf, signs * moved)
        cost = (np.arange(len(whole)) == self.names.index(payer)).astype(np.float64)

        def signed(one: Array) -> tuple[Array, Array]:
            values, margins = self.evaluate(one)
            return values * signs, margins

        scale = np.maximum(np.abs(own[whole]), 1e-12)
        count = self.evaluate(frozen(starts[:1]))[1].shape[1] + int((~paying).sum())
        problem = Problem(
            self.lower,
            self.upper,
            (Objective(payer), Objective("again")),
            Held(signed, cost, caps, scale),
            tuple(str(i) for i in range(count)),
        )
        return least(problem, starts, iterations=iterations)


def _holds(found: Designs) -> BoolArray:
    held: BoolArray = found.margins.max(axis=1) <= TOLERANCE
    return held


def _hopeful(found: Designs) -> Array:
    """Those of the least objective, broken limits added, that are worth following (n, d)."""
    value = found.objectives[:, 0]
    broken = np.clip(found.margins, 0.0, UNKNOWN).sum(axis=1)
    merit = value / np.maximum(np.nanmin(np.abs(value)), 1e-12) + PENALTY * broken
    return found.x[np.argsort(merit, kind="stable")[:ONWARD]]


def _best(*found: Designs) -> Designs:
    """Return the one of least objective among those that hold their limits; the first where none does."""
    every = found[0].joined(*found[1:])
    value = np.where(_holds(every), every.objectives[:, 0], np.inf)
    return every.take([int(np.argmin(value))])


def price_table(
    market: Market, x: Array, payers: Sequence[str], wishes: Sequence[str], *, step: float
) -> tuple[Price, ...]:
    """Prices of every wish in every payer; a measure does not pay for itself."""
    found = []
    for payer in payers:
        base = market.polished(x, payer)
        others = (wish for wish in wishes if wish != payer)
        found += [market.price(x, payer, wish, step=step, first=base) for wish in others]
    return tuple(found)
