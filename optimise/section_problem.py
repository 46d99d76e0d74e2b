"""The search problem of a roof: a family of sections under a basis of design."""

from collections.abc import Callable
from dataclasses import dataclass, field, replace

import numpy as np

from longvault.constraints.basis import Basis
from longvault.constraints.daylight_settings import DAYLIGHT_MEASURES
from longvault.constraints.details import detail_keys, detail_limits, staged, unread
from longvault.constraints.evaluate import BLOCK, Evaluation, evaluate
from longvault.constraints.evaluate_member import evaluate_design
from longvault.constraints.limits import Limit, limits_of
from longvault.constraints.measures import CONCRETE_MEASURES, MEASURES, SLICE_MEASURES
from longvault.constraints.member_details import member_keys, member_limits, staged_member
from longvault.constraints.proof import (
    PROOF_MEASURES,
    Proving,
    covered,
    fine_proof,
    proof_limits,
    proof_measures,
)
from longvault.constraints.threads import cores, in_threads
from longvault.optimise.problem import DELIVERED_MARGIN, Objective, Problem, Scores
from longvault.optimise.section_pieces import heights, limit_pieces, slopes
from longvault.sections.families.base import Family, Variable
from longvault.sections.families.tapered import Tapered
from longvault.sections.member import NOT_PROVED
from longvault.sections.symbols import Array

DETAIL_MEASURES = {one.key for one in CONCRETE_MEASURES} | {*DAYLIGHT_MEASURES, *SLICE_MEASURES}
LEAST_BLOCK, PROOF_BLOCK = 16, 128
"""Folded plates solved at a time: less than the first is not worth a thread of its own."""


@dataclass(frozen=True, slots=True)
class SectionScores:
    """The batched function of a roof: variables (N, d) -> objectives and margins, block by block.

    Costly checks are staged. The closer checks of concrete and daylight, `longvault.constraints.details`,
    take five to eight times as long as those of the beam: they are left to designs that hold every beam-level
    limit, unless an objective asks for them; those of a taper, `longvault.constraints.member_details`, are
    the same at every station. With ``proving``, designs that hold those too are solved as folded plates. What
    is not reached keeps NaN measures and margins of inf: not worked out (see
    `longvault.optimise.problem.Scores`). ``always`` takes every design that has finite margins through all of
    it. Row i depends on x[i] alone.

    An object rather than a closure, so that it can be sent to worker processes.
    """

    family: Family
    basis: Basis
    objectives: tuple[str, ...]
    proving: Proving | None = None
    always: bool = False
    _unread: frozenset[str] = field(init=False, repr=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "_unread", unread(self.basis, self.objectives))

    @property
    def limits(self) -> tuple[Limit, ...]:
        """All limits, in the order of the margins."""
        tapered = isinstance(self.family, Tapered)
        closer = member_limits(self.basis) if tapered else detail_limits(self.basis)
        plates = proof_limits(self.basis, self.proving) if self.proving else ()
        return limits_of(self.basis) + closer + plates

    def __call__(self, x: Array) -> Scores:
        """Score designs x (N, d)."""
        return self._blocks(self._as_scores, x)

    def screen(self, x: Array) -> Scores:
        """Score designs x (N, d) by what is quick: margins of all that is costly are inf, not worked out."""
        found = replace(self, proving=None)(x) if self._closer_asked else self._blocks(self._as_beams, x)
        left_out = np.full((len(x), len(self.limits) - found.margins.shape[-1]), np.inf)
        return Scores(found.objectives, np.concatenate([found.margins, left_out], axis=-1))

    def pieces(self, x: Array) -> Array:
        """Height, thickness, slope and bend of designs x (N, d) place by place (N, P), graded as margins.

        Strips that open forms can cast stay so. A taper has none: its limits are the worst of its stations.
        """
        need = self.basis.requirements
        if isinstance(self.family, Tapered):
            return np.empty((len(x), 0))
        strips = self.family.strips(x)
        gentle = np.full(slopes(strips).shape[1], need.steep_share_max < 1.0)
        tall = heights(strips) / need.height_max - 1.0
        return np.concatenate([limit_pieces(strips, self.basis, gentle), tall], axis=1)

    @property
    def _closer_asked(self) -> bool:
        """Whether every design is looked at closely, because the scores need it."""
        return self.always or not set(self.objectives).isdisjoint(closer_keys(self.family, self.basis))

    def _as_beams(self, x: Array) -> Evaluation:
        return evaluate_design(self.family, x, self.basis, named=False)

    def _as_scores(self, x: Array) -> Evaluation:
        return self.evaluation(x, scores=True)

    def _blocks(self, look: Callable[[Array], Evaluation], x: Array) -> Scores:
        """Objectives and margins of designs x (N, d), a block at a time."""
        blocks = [look(x[i : i + BLOCK]) for i in range(0, len(x), BLOCK)]
        return Scores(
            np.concatenate([np.stack([b.measures[key] for key in self.objectives], axis=-1) for b in blocks]),
            np.concatenate([b.margins for b in blocks]),
        )

    def evaluation(self, x: Array, *, every: bool = False, scores: bool = False) -> Evaluation:
        """All measures and margins of designs x (N, d).

        ``every`` leaves no closer check out; ``scores`` leaves measures out that no score reads.
        """
        proving = self.proving
        beam = self._closely(x, every=every, scores=scores)
        if proving is None:
            return beam
        limits = proof_limits(self.basis, proving)
        measures = dict(beam.measures) | {key: np.full(len(x), np.nan) for key in PROOF_MEASURES}
        margins = np.full((len(x), len(limits)), np.inf)
        most = np.inf if self.always else DELIVERED_MARGIN
        passed = np.flatnonzero((np.isfinite(beam.margins) & (beam.margins <= most)).all(axis=-1))
        size = min(PROOF_BLOCK, max(LEAST_BLOCK, -(-len(passed) // cores())))
        blocks = [passed[i : i + size] for i in range(0, len(passed), size)]
        held = [{key: values[rows] for key, values in beam.measures.items()} for rows in blocks]

        def prove(i: int) -> dict[str, Array]:
            strips = self.family.strips(x[blocks[i]])
            return proof_measures(strips, self.family.joints, held[i], self.basis, proving)

        for rows, known, found in zip(blocks, held, in_threads(prove, range(len(blocks))), strict=True):
            for key, values in found.items():
                measures[key][rows] = values
            margins[rows] = np.stack([limit.margin(known | found) for limit in limits], axis=-1)
        return _joined(beam, measures, margins, limits)

    def _closely(self, x: Array, *, every: bool, scores: bool = False) -> Evaluation:
        """Beam checks of all designs, closer checks of those that hold them, of all where wanted."""
        most = np.inf if every or self._closer_asked else DELIVERED_MARGIN
        if isinstance(self.family, Tapered):
            return staged_member(self.family.member(x), self.basis, most=most, named=not scores)
        strips, without = self.family.strips(x), self._unread if scores else ()
        return staged(evaluate(strips, self.basis), strips, self.basis, most=most, without=without)

    def proved(self, x: Array, proving: Proving) -> Evaluation:
        """All measures and margins of designs x (N, d), each proved at fine resolution.

        Every strip is halved and ``FINE_HARMONICS`` are used; demands are not raised.
        """
        strips = self.family.strips(x)
        beam = self._closely(x, every=True)

        def prove(i: int) -> dict[str, Array]:
            known = {key: values[i] for key, values in beam.measures.items()}
            return fine_proof(strips[i], self.family.joints, known, self.basis, proving)

        rows = in_threads(prove, range(len(x)))
        found = {key: np.array([row[key] for row in rows]) for key in PROOF_MEASURES}
        measures = dict(beam.measures) | found
        limits = proof_limits(self.basis, proving)
        margins = np.stack([limit.margin(measures) for limit in limits], axis=-1)
        return _joined(beam, measures, margins, limits)


def closer_keys(family: Family, basis: Basis) -> tuple[str, ...]:
    """Measures that the closer checks of a family give, prismatic or tapered."""
    return member_keys(basis) if isinstance(family, Tapered) else detail_keys(basis)


def _joined(
    beam: Evaluation, measures: dict[str, Array], margins: Array, limits: tuple[Limit, ...]
) -> Evaluation:
    """Put the limits of the folded plate beside those of the beam, whose cases stay."""
    both = np.concatenate([beam.margins, margins], axis=-1)
    return replace(beam, measures=measures, margins=both, limits=beam.limits + limits)


def section_problem(
    family: Family,
    variables: tuple[Variable, ...],
    basis: Basis,
    objectives: tuple[str, ...],
    *,
    proving: Proving | None = None,
    always: bool = False,
    key: str = "",
) -> Problem:
    """Make the search problem of a roof.

    Parameters
    ----------
    family : Family
        Makes the strips.
    variables : tuple of Variable
        The family's variables in its own order, with the ranges and steps of the brief.
    basis : Basis
        Loads, materials, limits.
    objectives : tuple of str
        Keys of measures that have a sense (see `longvault.constraints.measures.MEASURES`); two or more.
    proving : Proving, optional
        Puts the folded plate in the loop; refused where it does not cover the roof.
    always : bool
        Solves every design as a folded plate, not just those that pass as beams.
    key : str
        Identifies the brief, so that a saved run is not resumed under another.

    Raises
    ------
    ValueError
        If an objective is unknown, has no sense or would be known for proved designs only, the variables
        are not the family's, or the folded plate does not cover the roof.

    Examples
    --------
    >>> from longvault.constraints.basis import Requirements
    >>> from longvault.sections.families import Setting
    >>> from longvault.sections.families.registry import make_family
    >>> hall = make_family("vault", Setting(pitch=9.0, height=2.5, thickness=0.08))
    >>> basis = Basis(span=24.0, pitch=9.0, requirements=Requirements(height_max=2.5))
    >>> problem = section_problem(hall, hall.variables, basis, ("area", "section_modulus"))
    >>> problem.lower.shape, [o.sense for o in problem.objectives]
    ((15,), ['min', 'max'])
    """
    names, own = [v.name for v in variables], [v.name for v in family.variables]
    if names != own:
        raise ValueError(f"variables: got {names}; the family {family.key} has {own}")
    if proving is not None and isinstance(family, Tapered):
        raise ValueError(f"proving: {family.key} is {NOT_PROVED}; leave proving out")
    if proving is not None and not covered(basis):
        raise ValueError(f"proving: a {basis.support.key} is not covered; the folded plate spans simply")
    for name in objectives:
        if name in DETAIL_MEASURES and name not in closer_keys(family, basis):
            raise ValueError(f"objectives: {name!r} is not worked out for this roof")
        if name not in MEASURES or not MEASURES[name].sense or name in PROOF_MEASURES:
            known = ", ".join(m.key for m in MEASURES.values() if m.sense and m.key not in PROOF_MEASURES)
            raise ValueError(f"objectives: got {name!r}; must be among {known}")
    scores = SectionScores(family, replace(basis, joints=family.joints), objectives, proving, always)
    return Problem(
        lower=np.array([v.lower for v in variables]),
        upper=np.array([v.upper for v in variables]),
        objectives=tuple(Objective(name, MEASURES[name].sense) for name in objectives),
        evaluate=scores,
        margin_names=tuple(limit.key for limit in scores.limits),
        step=np.array([v.step for v in variables]),
        seeds=family.starts(),
        key=key,
    )
