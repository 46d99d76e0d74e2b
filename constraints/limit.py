"""One limit: what is demanded, what is allowed, by what formula and source; and its margin."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from longvault.sections.symbols import Array

CAP, FLOOR = "cap", "floor"
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
    """

    key: str
    title: str
    demand: str
    capacity: float | str
    sense: str
    formula: str
    source: str

    def allowed(self, measures: Mapping[str, Array]) -> Array:
        """Capacity for each candidate, SI (...)."""
        if isinstance(self.capacity, str):
            return measures[self.capacity]
        return np.full_like(measures[self.demand], self.capacity)

    def margin(self, measures: Mapping[str, Array]) -> Array:
        """Graded margin (...): <= 0 holds.

        A cap gives demand / capacity - 1, a floor 1 - demand / capacity, both of order one.

        Examples
        --------
        >>> import numpy as np
        >>> cap = Limit("h", "height", "height", 3.0, CAP, "h <= h_max", "brief")
        >>> float(cap.margin({"height": np.array(3.3)}).round(6))
        0.1
        """
        allowed = measures[self.capacity] if isinstance(self.capacity, str) else self.capacity
        ratio = measures[self.demand] / allowed
        return ratio - 1.0 if self.sense == CAP else 1.0 - ratio
