"""Which design of a run to take: by weights, the best under caps, representatives of groups."""

from collections.abc import Sequence

import numpy as np

from longvault.constraints.measures import MEASURES, Measure
from longvault.optimise import best_under, by_weights, medoids
from longvault.optimise.picks import normalised
from longvault.sections.strips import Strips
from longvault.sections.symbols import Array, IntArray
from longvault.studies.record import Run

SLICES = 24
"""Parts of the width in which the shapes of two sections are compared."""
PIECES = 8
"""Points that stand for a strip there."""


def measure_of(column: str) -> Measure:
    """Return the measure of a column; one with a better and a worse, or a `ValueError`."""
    measure = next((one for one in MEASURES.values() if one.column == column), None)
    if measure is None or not measure.sense:
        raise ValueError(f"{column}: has no better and worse by itself")
    return measure


def pick_by_weights(run: Run, weights: dict[str, float], rows: Sequence[int]) -> str:
    """Name the one of some rows with the least weighted sum of normalised measures; weights by column."""
    if not rows:
        raise ValueError("no design is left")
    values, maximise = _values(run, list(weights))
    return run.ids[rows[by_weights(values[list(rows)], list(weights.values()), maximise=maximise)]]


def pick_best(run: Run, best: str, rows: Sequence[int]) -> str:
    """Name the best of some rows in one measure, a column."""
    values, maximise = _values(run, [best])
    place = best_under(values[list(rows)], [np.nan], best=0, maximise=maximise)
    if place is None:
        raise ValueError("no design is left")
    return run.ids[rows[place]]


def groups_of(run: Run, rows: Sequence[int], count: int, *, by: str) -> tuple[IntArray, IntArray]:
    """Choose representatives among some rows, alike in ``measures`` (the objectives) or in ``shape``.

    Returns the rows of the table, and how many designs each stands for.
    """
    if by == "shape":
        points = np.array([shape_signature(run.section(run.ids[row]).strips) for row in rows])
    else:
        columns = [objective["column"] for objective in run.manifest["objectives"]]
        values, maximise = _values(run, columns)
        points = normalised(values[list(rows)], maximise=maximise)
    places, group = medoids(points, min(count, len(rows)))
    return np.asarray(rows, dtype=np.intp)[places], np.bincount(group, minlength=len(places))


def shape_signature(strips: Strips) -> Array:
    """Describe a section so that likeness of shape is distance: how much concrete, how high, slice by slice.

    For each of `SLICES` parts of the width: the share of the area in it, and the mean level of that area over
    the width; any connectivity.
    """
    first, second = strips.ends.T
    share = (np.arange(PIECES) + 0.5) / PIECES
    x = strips.x[first][:, None] + share * (strips.x[second] - strips.x[first])[:, None]
    z = strips.z[first][:, None] + share * (strips.z[second] - strips.z[first])[:, None]
    length = np.hypot(strips.x[second] - strips.x[first], strips.z[second] - strips.z[first])
    area = np.repeat((strips.thickness * length / PIECES)[:, None], PIECES, axis=1)
    low, width = float(x.min()), float(np.ptp(x)) or 1.0
    part = np.minimum((SLICES * (x - low) / width).astype(int), SLICES - 1).ravel()
    amount = np.bincount(part, area.ravel(), minlength=SLICES)
    level = np.bincount(part, (area * (z - z.min())).ravel(), minlength=SLICES)
    mean = level / np.where(amount > 0, amount, 1.0) / width
    signature: Array = np.concatenate([amount / amount.sum(), mean])
    return signature


def _values(run: Run, columns: Sequence[str]) -> tuple[Array, list[bool]]:
    measures = [measure_of(column) for column in columns]
    values = np.stack([np.asarray(run.front[column], dtype=np.float64) for column in columns], axis=1)
    return values, [measure.sense == "max" for measure in measures]
