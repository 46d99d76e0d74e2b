"""Delivered designs as files and as a table: measures, margins, variables, in trade units."""

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from longvault.constraints.evaluate import Evaluation
from longvault.constraints.measures import MEASURES
from longvault.constraints.proof import Proving
from longvault.optimise import knee, spread
from longvault.optimise.picks import normalised
from longvault.optimise.problem import DELIVERED_MARGIN, Designs, Problem
from longvault.optimise.section_designs import Design, designs_of, judged, merged
from longvault.sections.member import Member
from longvault.sections.section_file import Section
from longvault.sections.symbols import Array, IntArray
from longvault.studies.brief_basis import variable_key
from longvault.studies.checked import limit_document, limit_rows, measure_document
from longvault.studies.ideal_share import COLUMN, ideal_ratios
from longvault.studies.record import NEAREST
from longvault.studies.stations import stations_document

REPLACED = 3
"""How often designs that the folded plate refuses are replaced by neighbours on the front."""


@dataclass(frozen=True, slots=True)
class ProofNote:
    """What the folded plate said of the designs chosen for delivery.

    Parameters
    ----------
    covered : bool
        Whether the folded plate covers the roof; if not, the designs are proved at beam level only.
    tried, refused : int
        Designs proved at fine resolution, and those of them that failed and were left out.
    beam_alone : (int, int), optional
        Of a front searched by beam theory alone: how many the folded plate refuses, of how many.
    beam_left_out : bool
        Whether that was left out because the user stopped the search.
    bays : tuple of str
        Bays that the designs are proved in.
    row : bool
        Whether neighbours hold a module, so that an end bay stands otherwise than the bays between.
    """

    covered: bool = False
    tried: int = 0
    refused: int = 0
    beam_alone: tuple[int, int] | None = None
    beam_left_out: bool = False
    bays: tuple[str, ...] = ()
    row: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Delivered:
    """Designs chosen for delivery, in order of concrete area.

    Parameters
    ----------
    project : str
        Name of the brief, part of each section's name.
    designs : tuple of Design, length n
        Each with its family and its variables.
    names : tuple of str
        ``d001`` ... by growing concrete area.
    evaluation : Evaluation
        All measures and margins of them.
    picks : mapping of str to str
        ``knee`` and the best of each objective -> name; empty for the nearest design of a run without any.
    proof : ProofNote
        What the folded plate said of them.
    """

    project: str
    designs: tuple[Design, ...]
    names: tuple[str, ...]
    evaluation: Evaluation
    picks: dict[str, str]
    proof: ProofNote = field(default_factory=ProofNote)

    @property
    def feasible(self) -> bool:
        """Whether these designs hold every limit; else it is the nearest one alone."""
        return bool((self.evaluation.margins <= DELIVERED_MARGIN).all())

    @property
    def families(self) -> tuple[str, ...]:
        """Family of each design."""
        return tuple(design.scores.family.key for design in self.designs)

    @property
    def objectives(self) -> tuple[str, ...]:
        """Measures that were traded off."""
        return self.designs[0].scores.objectives

    @property
    def ideal_ratios(self) -> Array:
        """Section modulus of each design over the ideal that no section beats."""
        measures = self.evaluation.measures
        return ideal_ratios(self.designs, *(measures[key] for key in ("section_modulus", "area", "height")))

    def section(self, place: int) -> Section:
        """One design as a section."""
        return self.designs[place].section(f"{self.project}, {self.names[place]}")

    def measures(self, place: int) -> dict[str, float]:
        """Measures of one design, SI."""
        return {key: float(values[place]) for key, values in self.evaluation.measures.items()}

    def document(self, place: int) -> dict[str, Any]:
        """Return what a design file holds beside the section."""
        measures, margins = self.measures(place), self.evaluation.margins[place].tolist()
        governing = int(self.evaluation.governing[place])
        cases = self.evaluation.cases
        rows = limit_rows(self.evaluation.limits, measures, margins, governing, cases, place)
        return {
            "id": self.names[place],
            "family": self.families[place],
            "variables": self.designs[place].variables,
            "measures": measure_document(measures),
            "governing": rows[governing].limit.key,
            "margins": {row.limit.key: row.margin for row in rows},
            "limits": [limit_document(row) for row in rows],
            **({"note": self.evaluation.note} if self.evaluation.note else {}),
            **self._taper(place),
        }

    def member(self, place: int) -> Member | None:
        """All sections of one design that varies along the span."""
        return self.designs[place].member

    def _taper(self, place: int) -> dict[str, Any]:
        member = self.member(place)
        if member is None:
            return {}
        return {"stations": stations_document(member, self.designs[place].scores.basis)}

    def columns(self) -> dict[str, list[Any]]:
        """Columns of the table: name, picks, measures, governing limit, variables."""
        limits, margins = self.evaluation.limits, self.evaluation.margins
        names: dict[str, list[str]] = {name: [] for name in self.names}
        for pick, name in self.picks.items():
            names[name].append(pick)
        columns: dict[str, list[Any]] = {"id": list(self.names)}
        columns["pick"] = [" + ".join(names[name]) for name in self.names]
        columns["family"] = list(self.families)
        for key, values in self.evaluation.measures.items():
            if key in MEASURES:
                columns[MEASURES[key].column] = (values * MEASURES[key].per_si).tolist()
        columns[COLUMN] = self.ideal_ratios.tolist()
        columns["governing"] = [limits[int(i)].key for i in self.evaluation.governing]
        columns["margin"] = margins.max(axis=1).tolist() if len(margins) else []
        return columns | self._variable_columns()

    def _variable_columns(self) -> dict[str, list[float]]:
        """Variables of every family, NaN for a design of another family."""
        columns: dict[str, list[float]] = {}
        for place, design in enumerate(self.designs):
            for variable, value in zip(design.scores.family.variables, design.x.tolist(), strict=True):
                key, per_si = variable_key(variable)
                column = columns.setdefault(f"var_{key}", [float("nan")] * len(self.designs))
                column[place] = value * per_si
        return columns


def deliver(
    project: str,
    problem: Problem,
    front: Designs,
    most: int,
    proving: Proving | None = None,
) -> Delivered:
    """Choose at most ``most`` designs, spread over the front, knee and extremes among them.

    With ``proving`` each is solved as a folded plate at fine resolution; those that fail are left out, and
    their nearest neighbours on the front tried in their place, ``REPLACED`` times. If none is left, the one
    that fails least is kept alone.
    """
    rows, evaluation = _tried(problem, front, most, proving)
    holds = (evaluation.margins <= DELIVERED_MARGIN).all(axis=1)
    bays = () if proving is None else proving.bays
    proof = ProofNote(proving is not None, len(rows), int((~holds).sum()), bays=bays)
    if not holds.any():
        failed = np.nan_to_num(np.maximum(evaluation.margins, 0.0).sum(axis=1), nan=np.inf)
        least = np.array([np.argmin(failed)])
        kept = designs_of(problem, front.x[rows[least]])
        return Delivered(project, kept, (NEAREST,), _taken(evaluation, least), {}, proof)
    rows = rows[holds]
    evaluation = _taken(evaluation, np.flatnonzero(holds))
    ties = (np.arange(len(rows)), *front.objectives[rows].T[::-1])
    order = np.lexsort((*ties, evaluation.measures["area"]))
    evaluation = _taken(evaluation, order)
    width = max(3, len(str(len(rows))))
    names = tuple(f"d{number:0{width}d}" for number in range(1, len(rows) + 1))
    picks = pick_names(front.objectives[rows][order], problem, names)
    designs = designs_of(problem, front.x[rows][order])
    held = any(joint.kind == "valley" for one in designs for joint in one.scores.family.joints)
    row = held or (proving is not None and proving.strut > 0.0)
    return Delivered(project, designs, names, evaluation, picks, replace(proof, row=row))


def _tried(
    problem: Problem, front: Designs, most: int, proving: Proving | None
) -> tuple[IntArray, Evaluation]:
    """Rows of the front that were judged, and how: those chosen, then neighbours of those that fail."""
    rows = _chosen(front.objectives, problem, most)
    found = judged(problem, front.x[rows], proving)
    for _ in range(REPLACED if proving is not None else 0):
        holds = (found.margins <= DELIVERED_MARGIN).all(axis=1)
        others = np.setdiff1d(np.arange(len(front)), rows)
        again = _neighbours(front.objectives, problem, rows[~holds], others, most - int(holds.sum()))
        if not len(again):
            break
        parts = [(np.arange(len(rows)), found)]
        parts.append((len(rows) + np.arange(len(again)), judged(problem, front.x[again], proving)))
        rows = np.concatenate([rows, again])
        found = merged(len(rows), parts)
    return rows, found


def _neighbours(
    objectives: Array, problem: Problem, failed: IntArray, others: IntArray, count: int
) -> IntArray:
    """Rows among ``others`` nearest to some of those that failed, at most ``count``."""
    if not (len(failed) and len(others)):
        return others[:0]
    place = normalised(objectives, maximise=problem.maximise)
    far = np.array([((place[failed] - place[row]) ** 2).sum(axis=1).min() for row in others])
    return np.sort(others[np.argsort(far, kind="stable")[:count]])


def _taken(evaluation: Evaluation, rows: IntArray) -> Evaluation:
    measures = {key: values[rows] for key, values in evaluation.measures.items()}
    cases = {key: case.taken(rows) for key, case in evaluation.cases.items()}
    return replace(evaluation, measures=measures, margins=evaluation.margins[rows], cases=cases)


def _chosen(objectives: Array, problem: Problem, most: int) -> IntArray:
    if len(objectives) <= most:
        return np.arange(len(objectives))
    middle = knee(objectives, maximise=problem.maximise)
    return np.sort(spread(objectives, most, maximise=problem.maximise, first=middle))


def pick_names(objectives: Array, problem: Problem, names: Sequence[str]) -> dict[str, str]:
    """Name the knee and the best of each objective: ``knee``, ``least area``, ``most opening``."""
    if not len(objectives):
        return {}
    picks = {"knee": names[knee(objectives, maximise=problem.maximise)]}
    for column, objective in zip(objectives.T, problem.objectives, strict=True):
        if np.ptp(column) > 0:
            place = np.argmin(column) if objective.sense == "min" else np.argmax(column)
            picks[f"{'least' if objective.sense == 'min' else 'most'} {objective.name}"] = names[int(place)]
    return picks
