"""Preferences: where a search looks harder. They steer it and hide nothing: the archive keeps all.

Wishes are values of objectives to reach, weights say how much each objective matters. The designs that reach
every wish - with weights, the better part of them - get most places of the population once the starts are
over, and most draws of designs to polish; the rest of the front keeps a fixed share. Wishes as a
reference point: A. P. Wierzbicki, The use of reference objectives in multiobjective optimization, LNEMS 177
(Springer 1980) 468-486.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from longvault.optimise.front import costs
from longvault.optimise.problem import frozen
from longvault.sections.symbols import Array, BoolArray

WISHED_SHARE = 0.8
"""Share of the places and of the draws that goes to the wished region."""
BETTER_PART = 0.25
"""With weights: the part of the designs that reach the wishes which is looked at harder."""
NEAREST_PART = 0.1
"""While nothing reaches the wishes: the part nearest to them that is looked at harder."""


@dataclass(frozen=True, slots=True, eq=False)
class Preference:
    """Wishes and weights of the objectives.

    Parameters
    ----------
    wishes : array (M,)
        Value of each objective to reach, in its own unit and sense; NaN where there is no wish.
    weights : array (M,)
        How much each objective matters, 0 or more; only ratios count. All 0: no weights.

    Raises
    ------
    ValueError
        If shapes differ, a weight is below 0, or there is neither a wish nor a weight.

    Examples
    --------
    >>> cheap = Preference([0.5, np.nan], [0.0, 0.0])
    >>> cheap.wished(np.array([[0.4, 1.0], [0.6, 0.2]]), maximise=False).tolist()
    [True, False]
    """

    wishes: Array
    weights: Array

    def __post_init__(self) -> None:
        object.__setattr__(self, "wishes", frozen(self.wishes))
        object.__setattr__(self, "weights", frozen(self.weights))
        if self.wishes.ndim != 1 or self.weights.shape != self.wishes.shape:
            raise ValueError(
                "wishes and weights: must have one value an objective; "
                f"got shapes {self.wishes.shape} and {self.weights.shape}"
            )
        if not (np.isfinite(self.weights) & (self.weights >= 0)).all():
            raise ValueError(f"weights: got {self.weights.tolist()}; must be finite and 0 or more")
        if np.isnan(self.wishes).all() and not self.weights.any():
            raise ValueError("wishes, weights: give at least one wish or one weight above 0")

    @property
    def document(self) -> list[list[float | None]]:
        """Wishes and weights as a JSON value: what a saved run is compared by."""
        return [
            [v if np.isfinite(v) else None for v in part.tolist()] for part in (self.wishes, self.weights)
        ]

    def wished(self, objectives: Array, *, maximise: ArrayLike) -> BoolArray:
        """Tell which designs (N,) lie in the wished region; some always do where there are any."""
        cost, wish = costs(objectives, maximise), costs(self.wishes, maximise)
        span = np.ptp(cost, axis=0) if len(cost) else np.ones(cost.shape[1])
        unit = (cost - cost.min(axis=0, initial=np.inf)) / np.where(span > 0, span, 1.0)
        short = np.nan_to_num(cost - wish, nan=0.0) / np.where(span > 0, span, 1.0)
        shortfall = np.clip(short, 0.0, None).max(axis=1)
        inside = shortfall <= 0.0
        if not inside.any():
            return _best_part(shortfall, inside | True, NEAREST_PART)
        weighted = (unit * self.weights).sum(axis=1)
        return _best_part(weighted, inside, BETTER_PART) if self.weights.any() else inside

    def chances(self, even: Array, objectives: Array, *, maximise: ArrayLike) -> Array:
        """Chances (N,) of a draw: ``even`` in the wished region and outside, the region with its share."""
        wished = self.wished(objectives, maximise=maximise)
        if wished.all() or not wished.any():
            return even
        inside, outside = even[wished].sum(), even[~wished].sum()
        scale = np.where(wished, WISHED_SHARE / inside, (1.0 - WISHED_SHARE) / outside)
        raised: Array = even * scale
        total: Array = raised / raised.sum()
        return total


def _best_part(score: Array, among: BoolArray, part: float) -> BoolArray:
    """Rows of ``among`` whose score is within its lowest part, at least one of them."""
    worst = np.sort(score[among])[: max(1, int(np.ceil(part * among.sum())))][-1]
    return np.asarray(among & (score <= worst), dtype=bool)
