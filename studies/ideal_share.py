"""How near the designs of a front come to the ideal that no section beats, and which limits bind them."""

from collections.abc import Iterable, Sequence

import numpy as np
from numpy.typing import ArrayLike

from longvault.optimise.section_designs import Design
from longvault.sections.ideal import fewest_crossings, ideal_modulus, plan_cover, section_ideal
from longvault.sections.symbols import Array

COLUMN = "modulus_over_ideal"
"""Column of ``front.csv``: section modulus over the ideal of the same area, height, webs, plan cover."""


def ideal_ratios(designs: Iterable[Design], modulus: Array, area: Array, height: Array) -> Array:
    """Section modulus over `section_ideal` for each design; NaN for one that varies along the span."""
    ratios = []
    for i, design in enumerate(designs):
        strips = design.scores.family.strips(design.x)
        ideal = section_ideal(strips, area=area[i], height=height[i]) if design.member is None else np.nan
        ratios.append(float(modulus[i] / ideal))
    return np.array(ratios)


def ideal_line(designs: Sequence[Design], areas: ArrayLike, height: float) -> Array:
    """Largest modulus that any section like these could have for each area, up to a height.

    Like these: no fewer webs, no thinner, no more plan cover than the whole set.
    """
    strips = [design.scores.family.strips(design.x) for design in designs]
    heights = np.linspace(0.2, 1.0, 33)[:, None] * height
    ideals = ideal_modulus(
        area=np.asarray(areas, dtype=np.float64),
        height=heights,
        webs=min(int(fewest_crossings(one)) for one in strips),
        least_thickness=min(float(one.thickness.min()) for one in strips),
        cover=max(float(plan_cover(one)) for one in strips),
    )
    best: Array = np.fmax.reduce(ideals, axis=0)
    return best


def ideal_lines(ratios: ArrayLike, governing: Sequence[str]) -> list[str]:
    """Say how near a front comes to its ideal, and the share of its designs that each limit governs.

    Examples
    --------
    >>> ideal_lines([0.5, 0.6, 0.7], ["deflection", "deflection", "slope"])[0]
    'Section modulus over its ideal: least 0.50, median 0.60, best 0.70.'
    """
    values = np.asarray(ratios, dtype=np.float64)
    values = values[np.isfinite(values)]
    lines = []
    if len(values):
        least, middle, best = values.min(), np.median(values), values.max()
        lines.append(
            f"Section modulus over its ideal: least {least:.2f}, median {middle:.2f}, best {best:.2f}."
        )
    names, counts = np.unique(np.asarray(governing, dtype=np.str_), return_counts=True)
    order = np.lexsort((names, -counts))[:4]
    shares = [f"{names[i]} {100 * counts[i] / counts.sum():.0f} %" for i in order]
    return [*lines, f"What binds: {', '.join(shares)} of the designs."] if shares else lines
