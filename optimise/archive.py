"""A bounded archive of every non-dominated feasible design met, as a value: designs in, a new archive out."""

from dataclasses import dataclass, replace
from typing import Self

import numpy as np
from numpy.typing import ArrayLike

from longvault.optimise.front import costs, nondominated
from longvault.optimise.problem import Designs
from longvault.sections.symbols import Array, BoolArray, IntArray

THIN_TO = 0.8
"""Share of the cap that thinning goes down to, so that a full archive is not thinned at every step."""
COARSER = 1.1
"""Factor from one grid to the next coarser one."""
FINEST = 1e-4
"""Finest grid tried, as a share of the range of each objective."""


@dataclass(frozen=True, slots=True, eq=False)
class Archive:
    """All non-dominated feasible designs met so far, or an even thinning of them.

    Parameters
    ----------
    designs : Designs
        Members, all feasible, none dominated by another, in the order they were met.
    limit : int
        Members kept at most. Beyond it one member is kept in each box of a grid over the objectives
        (Laumanns, Thiele, Deb & Zitzler, Evol. Comput. 10 (2002), the box idea of epsilon-dominance)
        and the best of each objective always stays.
    resolution : float
        Side of a box as a share of the range of each objective, 0 while every member has been kept.
    """

    designs: Designs
    limit: int = 20_000
    resolution: float = 0.0

    def __post_init__(self) -> None:
        least = self.designs.objectives.shape[1] + 1
        if self.limit < least:
            raise ValueError(
                f"archive limit: got {self.limit}; must be at least {least} to hold the extremes"
            )

    def __len__(self) -> int:
        return len(self.designs)

    def added(self, new: Designs, *, maximise: ArrayLike) -> Self:
        """Return the archive with the feasible, non-dominated ones of ``new`` put in, the beaten ones out.

        A newcomer whose objectives equal a member's exactly is left out: the first one met stays.
        """
        new = new.take(new.feasible)
        if not len(new):
            return self
        union = self.designs.joined(new)
        kept = union.take(nondominated(union.objectives, maximise=maximise))
        grown = replace(self, designs=kept)
        return grown if len(kept) <= self.limit else grown.thinned(maximise=maximise)

    def thinned(self, *, maximise: ArrayLike) -> Self:
        """Return the archive thinned on the first grid that leaves at most ``THIN_TO`` of the limit."""
        cost = costs(self.designs.objectives, maximise)
        low, span = cost.min(axis=0), np.ptp(cost, axis=0)
        unit = (cost - low) / np.where(span > 0, span, 1.0)
        extremes = np.unique(np.argmin(cost, axis=0))
        target = max(int(THIN_TO * self.limit), len(extremes))
        resolution = max(self.resolution, FINEST)
        while True:
            rows = _one_a_box(unit, resolution, extremes)
            if len(rows) <= target or resolution >= 1.0:
                break
            resolution *= COARSER
        if len(rows) > self.limit:
            rows = extremes
        return replace(self, designs=self.designs.take(rows), resolution=float(resolution))

    @property
    def sorted_designs(self) -> Designs:
        """Members in order of the objectives, first column first: the order of a delivered front."""
        return self.designs.take(np.lexsort(self.designs.objectives.T[::-1]))


def _one_a_box(unit: Array, resolution: float, extremes: IntArray) -> IntArray:
    """Rows to keep: in each box the one nearest its best corner (the first on a tie), and the extremes."""
    box = np.floor(unit / resolution)
    inside = ((unit / resolution - box) ** 2).sum(axis=1)
    order = np.lexsort((np.arange(len(unit)), inside, *box.T))
    sorted_box = box[order]
    first = np.ones(len(order), dtype=bool)
    first[1:] = (sorted_box[1:] != sorted_box[:-1]).any(axis=1)
    kept: BoolArray = np.zeros(len(unit), dtype=bool)
    kept[order[first]] = True
    kept[extremes] = True
    return np.flatnonzero(kept)


def empty_archive(like: Designs, limit: int = 20_000) -> Archive:
    """Return an archive with no member and the widths of ``like``."""
    return Archive(like.take(slice(0, 0)), limit)
