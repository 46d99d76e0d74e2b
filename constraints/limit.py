"""One limit: what is demanded, what is allowed, by what formula and source; and its margin."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from longvault.sections.symbols import Array, IntArray

CAP, FLOOR = "cap", "floor"
AMPLE_ROOM = 100.0
"""A floor that a measure sets is graded up to this many times it, so that nothing asked has a margin too."""
COMMON_PRACTICE = "common practice"
GEOMETRY = "geometry"


@dataclass(frozen=True, slots=True)
class Limit:
    """One check. Search, calculation sheet and page read the same objects.

    Parameters
    ----------
    key, title : str
        Identifier and words.
    demand : str
        Measure that is limited.
    capacity : float or str
        What is allowed: an SI value, or the measure that holds it.
    sense : str
        ``cap`` (demand <= capacity) or ``floor`` (demand >= capacity).
    formula, source : str
        How it is reckoned and where that comes from.
    contact : bool
        Whether being at the limit is the rule (a vault fills its bay): it governs only when it is broken.
    """

    key: str
    title: str
    demand: str
    capacity: float | str
    sense: str
    formula: str
    source: str
    contact: bool = False

    def allowed(self, measures: Mapping[str, Array]) -> Array:
        """Capacity for each candidate, SI (...)."""
        if isinstance(self.capacity, str):
            return measures[self.capacity]
        return np.full_like(measures[self.demand], self.capacity)

    def margin(self, measures: Mapping[str, Array]) -> Array:
        """Graded margin (...): <= 0 holds.

        A cap gives demand / capacity - 1, a floor 1 - demand / capacity, both of order one; where a floor is
        a measure that asks for next to nothing, `AMPLE_ROOM` bounds the ratio. A cap of nothing at all is
        graded by the demand itself, SI.

        Examples
        --------
        >>> import numpy as np
        >>> cap = Limit("h", "height", "height", 3.0, CAP, "h <= h_max", "brief")
        >>> float(cap.margin({"height": np.array(3.3)}).round(6))
        0.1
        """
        if self.sense == CAP and self.capacity == 0.0:
            return measures[self.demand]
        if self.sense == CAP:
            return measures[self.demand] / self._capacity(measures) - 1.0
        demand, allowed = measures[self.demand], self._capacity(measures)
        if isinstance(self.capacity, str):
            least = np.maximum(allowed, demand / AMPLE_ROOM)
            none = least == 0.0  # nothing asked, nothing there
            return np.where(none, 1.0 - AMPLE_ROOM, 1.0 - demand / np.where(none, 1.0, least))
        return 1.0 - demand / allowed

    def _capacity(self, measures: Mapping[str, Array]) -> Array | float:
        return measures[self.capacity] if isinstance(self.capacity, str) else self.capacity


def governing_limit(limits: Sequence[Limit], margins: Array) -> IntArray:
    """Return the place of the limit that governs (...): the largest margin, NaN left out.

    Examples
    --------
    >>> import numpy as np
    >>> touch = Limit("n", "neighbour", "width", 6.0, CAP, "width <= bay", GEOMETRY, contact=True)
    >>> cap = Limit("h", "height", "height", 3.0, CAP, "h <= h_max", "brief")
    >>> governing_limit((touch, cap), np.array([[-1e-4, -0.2], [0.1, -0.2]])).tolist()
    [1, 0]
    """
    contact = np.array([limit.contact for limit in limits], dtype=np.bool_)
    aside = np.isnan(margins) | (contact & (margins <= 0.0))
    place: IntArray = np.argmax(np.where(aside, -np.inf, margins), axis=-1)
    return place
