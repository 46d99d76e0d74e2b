"""How the front grew: snapshots kept during the run, hypervolumes computed at its end.

The reference point is the problem's own where it declares one. Otherwise it is taken from the *final* front:
the worst value of each objective, moved out by a tenth of the range. All records of a run are then measured
against that one point, so the curve does not jump when a better design moves the range, and two runs can be
compared by measuring both against one point (`History.hypervolumes`). The records are snapshots of at most
``SNAPSHOT_ROWS`` designs; the curve counts everything that a snapshot up to then holds, so it never falls.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from longvault.optimise.archive import Archive
from longvault.optimise.front import costs, hypervolume, nondominated
from longvault.optimise.problem import Designs, Problem, frozen
from longvault.sections.symbols import Array

SNAPSHOT_ROWS = 1000
MOST_RECORDS = 64
"""Beyond this every second record is dropped and the spacing doubles: memory stays bounded."""
BEYOND_NADIR = 0.1


@dataclass(frozen=True, slots=True, eq=False)
class Record:
    """The state of the front after some evaluations."""

    evaluations: int
    feasible: int
    members: int
    objectives: Array


@dataclass(frozen=True, slots=True, eq=False)
class Recorder:
    """Snapshots at evenly spaced generations, at most ``MOST_RECORDS`` of them; a value like all else."""

    records: tuple[Record, ...] = ()
    spacing: int = 1

    def due(self, generation: int) -> bool:
        """Whether a record is due after this generation (1 is the first)."""
        return generation % self.spacing == 0

    def added(self, record: Record) -> "Recorder":
        """Return the recorder with one more record, thinned out when full."""
        records = (*self.records, record)
        if len(records) < MOST_RECORDS:
            return Recorder(records, self.spacing)
        return Recorder(records[1::2], self.spacing * 2)


@dataclass(frozen=True, slots=True, eq=False)
class History:
    """Growth of the front over the run.

    Parameters
    ----------
    evaluations, members : int array (R,)
        Evaluations made and archive members at each record.
    feasible_share : array (R,)
        Share of all evaluations so far that were feasible.
    hypervolume : array (R,)
        Against ``reference``; never falls.
    reference : array (M,)
        In the objectives' own units and senses; NaN when nothing feasible was found.
    """

    evaluations: Array
    members: Array
    feasible_share: Array
    hypervolume: Array
    reference: Array


def reference_point(problem: Problem, front: Array) -> Array:
    """Return the problem's own reference, else a tenth of the range beyond the worst of a front (N, M)."""
    if problem.reference is not None:
        return problem.reference
    if not len(front):
        return frozen(np.full(len(problem.objectives), np.nan))
    cost = costs(front, problem.maximise)
    span = np.ptp(cost, axis=0)
    worst = cost.max(axis=0) + BEYOND_NADIR * np.where(span > 0, span, 1.0)
    return frozen(costs(worst, problem.maximise))


def snapshot(archive: Archive, *, evaluations: int, feasible: int, maximise: ArrayLike) -> Record:
    """Record an archive, thinned to ``SNAPSHOT_ROWS`` where it is larger."""
    rows = archive.designs
    if len(rows) > SNAPSHOT_ROWS:
        rows = Archive(rows, SNAPSHOT_ROWS).thinned(maximise=maximise).designs
    return Record(evaluations, feasible, len(archive), rows.objectives)


def history_of(
    problem: Problem, recorder: Recorder, final: Designs, *, evaluations: int, feasible: int
) -> History:
    """Measure all records, and the final front, against one reference point."""
    reference = reference_point(problem, final.objectives)
    records = [record for record in recorder.records if record.evaluations < evaluations]
    records.append(Record(evaluations, feasible, len(final), final.objectives))
    counts = np.array([record.evaluations for record in records], dtype=np.float64)
    return History(
        evaluations=frozen(counts),
        members=frozen([record.members for record in records]),
        feasible_share=frozen(np.array([record.feasible for record in records]) / np.maximum(counts, 1.0)),
        hypervolume=frozen(_growing(problem, records, reference)),
        reference=reference,
    )


def _growing(problem: Problem, records: list[Record], reference: Array) -> list[float]:
    held = np.empty((0, len(problem.objectives)))
    values = []
    for record in records:
        union = np.concatenate([held, record.objectives])
        held = union[nondominated(union, maximise=problem.maximise)]
        values.append(hypervolume(held, reference, maximise=problem.maximise) if len(held) else 0.0)
    return values


def gain(problem: Problem, then: Record, now: Record) -> float:
    """Relative growth of hypervolume between two records, both against the later one's reference."""
    reference = reference_point(problem, now.objectives)
    volume = hypervolume(now.objectives, reference, maximise=problem.maximise)
    if volume <= 0:
        return np.inf
    return 1.0 - hypervolume(then.objectives, reference, maximise=problem.maximise) / volume


def hypervolume_of(problem: Problem, record: Record) -> float:
    """Hypervolume of one record against the problem's reference, or one taken from the record itself."""
    reference = reference_point(problem, record.objectives)
    return hypervolume(record.objectives, reference, maximise=problem.maximise)
