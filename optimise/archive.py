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
GRIDS = 100
"""Number of ever coarser grids tried."""
EVEN_BOXES = 16
"""Boxes along each objective of the grid for even draws."""
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
        finer, coarser = -1, GRIDS  # bisection: a grid too fine, and one coarse enough
        while coarser - finer > 1:
            middle = (finer + coarser) // 2
            enough = len(_one_a_box(unit, self._grid(middle), extremes)) <= target
            finer, coarser = (finer, middle) if enough else (middle, coarser)
        resolution = self._grid(coarser)
        rows = _one_a_box(unit, resolution, extremes)
        return replace(self, designs=self.designs.take(rows), resolution=resolution)

    def _grid(self, number: int) -> float:
        """Side of a box of the grids tried, from the finest allowed to half the range."""
        finest = max(self.resolution, FINEST)
        return float(finest * (0.5 / finest) ** (number / GRIDS)) if finest < 0.5 else finest

    @property
    def sorted_designs(self) -> Designs:
        """Members in order of the objectives, first column first: the order of a delivered front."""
        return self.designs.take(np.lexsort(self.designs.objectives.T[::-1]))


def _one_a_box(unit: Array, resolution: float, extremes: IntArray) -> IntArray:
    """Rows to keep: in each box the one nearest its best corner (the first on a tie), and the extremes."""
    box = np.floor(unit / resolution)
    inside = ((unit / resolution - box) ** 2).sum(axis=1)
    places = int(1.0 / resolution) + 2  # an objective; four on the finest grid make 1e16 boxes
    number = np.ravel_multi_index(tuple(box.T.astype(np.int64)), (places,) * box.shape[1])
    order = np.lexsort((inside, number))
    first = np.diff(number[order], prepend=-1) > 0
    kept: BoolArray = np.zeros(len(unit), dtype=bool)
    kept[order[first]] = True
    kept[extremes] = True
    return np.flatnonzero(kept)


def even_weights(objectives: Array) -> Array:
    """Chances (N,) that draw evenly over the range of the objectives (N, M), however crowded parts of it are.

    Every occupied box of a coarse grid gets the same chance, shared among those in it.

    Examples
    --------
    >>> even_weights(np.array([[0.0, 1.0], [0.01, 0.99], [1.0, 0.0]])).tolist()
    [0.25, 0.25, 0.5]
    """
    span = np.ptp(objectives, axis=0)
    unit = (objectives - objectives.min(axis=0)) / np.where(span > 0, span, 1.0)
    box = np.minimum(np.floor(unit * EVEN_BOXES), EVEN_BOXES - 1)
    key = (box * float(EVEN_BOXES) ** np.arange(box.shape[1])).sum(axis=1)
    _, number, members = np.unique(key, return_inverse=True, return_counts=True)
    weight = 1.0 / members[number]
    shares: Array = weight / weight.sum()
    return shares


def empty_archive(like: Designs, limit: int = 20_000) -> Archive:
    """Return an archive with no member and the widths of ``like``."""
    return Archive(like.take(slice(0, 0)), limit)
