"""The search problem of a roof: a family of sections under a basis of design."""

from dataclasses import dataclass

import numpy as np

from longvault.constraints.basis import Basis
from longvault.constraints.evaluate import BLOCK, Evaluation, evaluate
from longvault.constraints.limits import limits_of
from longvault.constraints.measures import MEASURES
from longvault.optimise.problem import Objective, Problem, Scores
from longvault.sections.families.base import Family, Variable
from longvault.sections.symbols import Array


@dataclass(frozen=True, slots=True)
class SectionScores:
    """The batched function of a roof: variables (N, d) -> objectives and margins, block by block.

    An object rather than a closure, so that it can be sent to worker processes.
    """

    family: Family
    basis: Basis
    objectives: tuple[str, ...]

    def __call__(self, x: Array) -> Scores:
        """Score designs x (N, d)."""
        blocks = [self.evaluation(x[i : i + BLOCK]) for i in range(0, len(x), BLOCK)]
        return Scores(
            np.concatenate([np.stack([b.measures[key] for key in self.objectives], axis=-1) for b in blocks]),
            np.concatenate([b.margins for b in blocks]),
        )

    def evaluation(self, x: Array) -> Evaluation:
        """All measures and margins of designs x (..., d)."""
        return evaluate(self.family.strips(x), self.basis)


def section_problem(
    family: Family,
    variables: tuple[Variable, ...],
    basis: Basis,
    objectives: tuple[str, ...],
    *,
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
    key : str
        Identifies the brief, so that a saved run is not resumed under another.

    Raises
    ------
    ValueError
        If an objective is unknown or has no sense, or the variables are not the family's.

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
    for name in objectives:
        if name not in MEASURES or not MEASURES[name].sense:
            known = ", ".join(m.key for m in MEASURES.values() if m.sense)
            raise ValueError(f"objectives: got {name!r}; must be among {known}")
    return Problem(
        lower=np.array([v.lower for v in variables]),
        upper=np.array([v.upper for v in variables]),
        objectives=tuple(Objective(name, MEASURES[name].sense) for name in objectives),
        evaluate=SectionScores(family, basis, objectives),
        margin_names=tuple(limit.key for limit in limits_of(basis)),
        step=np.array([v.step for v in variables]),
        seeds=family.starts(),
        key=key,
    )
