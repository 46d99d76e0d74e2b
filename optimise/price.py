"""The price of a wish: what a little more of one measure costs in another, all else held, at a design.

The design is first polished: the least of what pays, with every limit and the design's own value of all
other measures held. Then the wish is moved down and up by a step and the least is sought again: each side has
its own price. Where the two agree they are the multiplier of the wish (envelope theorem); at a kink, where
another limit takes over, more of the wish spares less than as much less of it costs.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from longvault.optimise.local import Held, least
from longvault.optimise.problem import Designs, Objective, Problem, frozen
from longvault.sections.symbols import Array

ITERATIONS = 60
"""Linearisations of a descent."""
FIRST, AGAIN = 4, 2
"""How often a design is shaken: in the first polish, and after the wish has moved."""
ROUNDS = 2
"""How often the ends are sought from the design, and the design anew from the middle of the ends."""
TOLERANCE = 1e-5
"""Margin up to which a solution counts as holding its limits: far below a difference that is priced."""
ALIKE = 0.05
"""Two sides this close, as a share of the larger, are one price."""
NOTHING = 1e-4
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
        Of the V values; ``min`` or ``max``: the way each is held (not above, not below).
    lower, upper : array (d,)
        Bounds of the variables.
    """

    evaluate: Callable[[Array], tuple[Array, Array]]
    names: tuple[str, ...]
    better: tuple[str, ...]
    lower: Array
    upper: Array

    def price(self, x: Array, payer: str, wish: str, *, step: float, first: Designs | None = None) -> Price:
        """Price of a wish in a payer at the design x (d,); ``first`` is the polished design, if known."""
        own = self.evaluate(frozen(x[None]))[0][0]
        base = self.polished(x, payer) if first is None else first
        harder = -step if self._sign(wish) > 0 else step
        tries: list[Designs] = []
        easy = base
        for _ in range(ROUNDS):  # each side is a small difference: the middle is sought as hard as the ends
            tries.append(self._least(base.x[0], own, payer, {wish: harder}, AGAIN))
            hard = _best(*tries)
            easy = _best(easy, self._least(base.x[0], own, payer, {wish: -harder}, AGAIN))
            middle = self._least((hard.x[0] + easy.x[0]) / 2, own, payer, {}, AGAIN)
            base = _best(base, middle, hard)  # what holds more, holds less
        sides = (hard, _best(easy, base))
        sign = 1.0 if self._sign(payer) > 0 else -1.0
        value = float(base.objectives[0, 0])
        changes = [
            sign * (float(one.objectives[0, 0]) - value) if _holds(one) else float("nan")
            for one in sides[:: 1 if harder < 0 else -1]
        ]
        return Price(payer, wish, step, sign * value, *changes)

    def polished(self, x: Array, payer: str) -> Designs:
        """Design near x (d,) with the least of the payer, every other measure as good as that of x."""
        return self._least(x, self.evaluate(frozen(x[None]))[0][0], payer, {}, FIRST)

    def _sign(self, name: str) -> float:
        return 1.0 if self.better[self.names.index(name)] == "min" else -1.0

    def _least(self, x: Array, own: Array, payer: str, moves: dict[str, float], shakes: int) -> Designs:
        signs = np.array([self._sign(name) for name in self.names])
        pays = np.array([name == payer for name in self.names])
        moved = own + np.array([moves.get(name, 0.0) for name in self.names])
        caps = np.where(pays, np.inf, signs * moved)

        def signed(one: Array) -> tuple[Array, Array]:
            values, margins = self.evaluate(one)
            return values * signs, margins

        scale = np.maximum(np.abs(own), 1e-12)
        count = self.evaluate(frozen(x[None]))[1].shape[1] + int((~pays).sum())
        problem = Problem(
            self.lower,
            self.upper,
            (Objective(payer), Objective("again")),
            Held(signed, pays.astype(np.float64), caps, scale),
            tuple(str(i) for i in range(count)),
        )
        return least(problem, x, iterations=ITERATIONS, shakes=shakes)


def _holds(one: Designs) -> bool:
    return bool(one.margins.max() <= TOLERANCE)


def _best(*found: Designs) -> Designs:
    """Return the one of least objective among those that hold their limits; the first where none does."""
    return min(found, key=lambda one: float(one.objectives[0, 0]) if _holds(one) else np.inf)


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
