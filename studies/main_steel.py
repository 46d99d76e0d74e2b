"""Main steel to provide: the largest of all that ask for it, and who that is."""

from collections.abc import Mapping

from numpy import isfinite

DEMANDS = {
    "steel_area": "elastic lever arms",
    "cracked_steel": "cracked section",
    "crack_steel": "width of cracks",
    "least_steel": "least steel",
    "plate_steel_area": "folded plate",
}
"""Measure of main steel -> what asks for it."""


def main_steel(measures: Mapping[str, float]) -> tuple[float, str]:
    """Return the area to provide [m2] and what asks for it, in words; NaN where nothing does.

    Examples
    --------
    >>> main_steel({"steel_area": 16e-4, "cracked_steel": 25e-4})
    (0.0025, 'cracked section')
    """
    known = [
        (measures[key], words) for key, words in DEMANDS.items() if isfinite(measures.get(key, float("nan")))
    ]
    return max(known, default=(float("nan"), "nothing"), key=lambda one: one[0])
