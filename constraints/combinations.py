"""Combinations of actions: EN 1990 and ASCE 7-16, and how they spread over the cases a roof has."""

from dataclasses import dataclass, field
from functools import lru_cache
from itertools import product

import numpy as np

from longvault.sections.symbols import Array, IntArray

ULTIMATE, CHARACTERISTIC, SUSTAINED = "ultimate", "characteristic", "sustained"
FREQUENT, EQUILIBRIUM = "frequent", "equilibrium"
STATES = (ULTIMATE, CHARACTERISTIC, FREQUENT, SUSTAINED, EQUILIBRIUM)

KINDS = ("snow", "maintenance", "wind", "water")
"""Kinds of variable action; a combination has a factor on each."""


@dataclass(frozen=True, slots=True)
class Combination:
    """Factors on permanent load and on each kind of variable load; ``state`` says what it is for.

    ``relieving`` is the factor on permanent load where that helps (equilibrium: each field of the span by
    itself); None where all permanent load has one factor.
    """

    name: str
    state: str
    permanent: float
    snow: float
    maintenance: float
    wind: float = 0.0
    water: float = 0.0
    relieving: float | None = None

    def factor(self, kind: str) -> float:
        """Factor on a kind of variable action."""
        value: float = getattr(self, kind)
        return value


# EN 1990:2002, 6.4.3.2 (6.10) and 6.5.3 (6.14b, 6.15b, 6.16b), table A1.2(A) for equilibrium; psi_0, psi_1,
# psi_2 of table A1.1: snow below 1000 m 0.5, 0.2, 0; wind 0.6, 0.2, 0; maintenance (category H) 0, 0, 0, and
# neither snow nor wind goes with it (EN 1991-1-1, 3.3.2). Standing water as a variable action. From memory.
EUROPEAN = (
    Combination("1.35 G", ULTIMATE, 1.35, 0, 0),
    Combination("1.35 G + 1.5 snow", ULTIMATE, 1.35, 1.5, 0),
    Combination("1.35 G + 1.5 maintenance", ULTIMATE, 1.35, 0, 1.5),
    Combination("1.35 G + 1.5 water", ULTIMATE, 1.35, 0, 0, 0, 1.5),
    Combination("1.35 G + 1.5 wind", ULTIMATE, 1.35, 0, 0, 1.5),
    Combination("1.35 G + 1.5 snow + 0.9 wind", ULTIMATE, 1.35, 1.5, 0, 0.9),
    Combination("1.35 G + 1.5 wind + 0.75 snow", ULTIMATE, 1.35, 0.75, 0, 1.5),
    Combination("G + 1.5 snow", ULTIMATE, 1.0, 1.5, 0),
    Combination("G + 1.5 maintenance", ULTIMATE, 1.0, 0, 1.5),
    Combination("G + 1.5 wind", ULTIMATE, 1.0, 0, 0, 1.5),
    Combination("G", CHARACTERISTIC, 1, 0, 0),
    Combination("G + snow", CHARACTERISTIC, 1, 1, 0),
    Combination("G + maintenance", CHARACTERISTIC, 1, 0, 1),
    Combination("G + water", CHARACTERISTIC, 1, 0, 0, 0, 1),
    Combination("G + wind", CHARACTERISTIC, 1, 0, 0, 1),
    Combination("G + snow + 0.6 wind", CHARACTERISTIC, 1, 1, 0, 0.6),
    Combination("G + wind + 0.5 snow", CHARACTERISTIC, 1, 0.5, 0, 1),
    Combination("G (frequent)", FREQUENT, 1, 0, 0),
    Combination("G + 0.2 snow (frequent)", FREQUENT, 1, 0.2, 0),
    Combination("G + 0.2 wind (frequent)", FREQUENT, 1, 0, 0, 0.2),
    Combination("G (quasi-permanent)", SUSTAINED, 1, 0, 0),
    Combination("1.1 G / 0.9 G", EQUILIBRIUM, 1.1, 0, 0, relieving=0.9),
    Combination("1.1 G / 0.9 G + 1.5 snow", EQUILIBRIUM, 1.1, 1.5, 0, relieving=0.9),
    Combination("1.1 G / 0.9 G + 1.5 maintenance", EQUILIBRIUM, 1.1, 0, 1.5, relieving=0.9),
    Combination("1.1 G / 0.9 G + 1.5 wind", EQUILIBRIUM, 1.1, 0, 0, 1.5, relieving=0.9),
    Combination("1.1 G / 0.9 G + 1.5 snow + 0.9 wind", EQUILIBRIUM, 1.1, 1.5, 0, 0.9, relieving=0.9),
    Combination("1.1 G / 0.9 G + 1.5 wind + 0.75 snow", EQUILIBRIUM, 1.1, 0.75, 0, 1.5, relieving=0.9),
)

# ASCE 7-16, 2.3.1 (1 to 5; L of the room below does not load the roof, Lr, S and R exclude each other); wind
# at strength level. Service by 2.4.1 (allowable stress), where wind counts 0.6. Equilibrium: dead load 0.9
# where it helps and 1.2 where it does not. From memory.
AMERICAN = (
    Combination("1.4 D", ULTIMATE, 1.4, 0, 0),
    Combination("1.2 D + 0.5 S", ULTIMATE, 1.2, 0.5, 0),
    Combination("1.2 D + 0.5 Lr", ULTIMATE, 1.2, 0, 0.5),
    Combination("1.2 D + 0.5 R", ULTIMATE, 1.2, 0, 0, 0, 0.5),
    Combination("1.2 D + 1.6 S", ULTIMATE, 1.2, 1.6, 0),
    Combination("1.2 D + 1.6 Lr", ULTIMATE, 1.2, 0, 1.6),
    Combination("1.2 D + 1.6 R", ULTIMATE, 1.2, 0, 0, 0, 1.6),
    Combination("1.2 D + 1.6 S + 0.5 W", ULTIMATE, 1.2, 1.6, 0, 0.5),
    Combination("1.2 D + 1.6 Lr + 0.5 W", ULTIMATE, 1.2, 0, 1.6, 0.5),
    Combination("1.2 D + 1.0 W", ULTIMATE, 1.2, 0, 0, 1.0),
    Combination("1.2 D + 1.0 W + 0.5 S", ULTIMATE, 1.2, 0.5, 0, 1.0),
    Combination("1.2 D + 1.0 W + 0.5 Lr", ULTIMATE, 1.2, 0, 0.5, 1.0),
    Combination("1.2 D + 1.0 W + 0.5 R", ULTIMATE, 1.2, 0, 0, 1.0, 0.5),
    Combination("0.9 D + 1.0 W", ULTIMATE, 0.9, 0, 0, 1.0),
    Combination("D", CHARACTERISTIC, 1, 0, 0),
    Combination("D + S", CHARACTERISTIC, 1, 1, 0),
    Combination("D + Lr", CHARACTERISTIC, 1, 0, 1),
    Combination("D + R", CHARACTERISTIC, 1, 0, 0, 0, 1),
    Combination("D + 0.6 W", CHARACTERISTIC, 1, 0, 0, 0.6),
    Combination("D + 0.45 W + 0.75 S", CHARACTERISTIC, 1, 0.75, 0, 0.45),
    Combination("D + 0.45 W + 0.75 Lr", CHARACTERISTIC, 1, 0, 0.75, 0.45),
    Combination("0.6 D + 0.6 W", CHARACTERISTIC, 0.6, 0, 0, 0.6),
    Combination("D (frequent)", FREQUENT, 1, 0, 0),
    Combination("D + 0.5 S (frequent)", FREQUENT, 1, 0.5, 0),
    Combination("D (sustained)", SUSTAINED, 1, 0, 0),
    Combination("1.2 D / 0.9 D", EQUILIBRIUM, 1.2, 0, 0, relieving=0.9),
    Combination("1.2 D / 0.9 D + 1.6 S", EQUILIBRIUM, 1.2, 1.6, 0, relieving=0.9),
    Combination("1.2 D / 0.9 D + 1.6 Lr", EQUILIBRIUM, 1.2, 0, 1.6, relieving=0.9),
    Combination("1.2 D / 0.9 D + 1.0 W", EQUILIBRIUM, 1.2, 0, 0, 1.0, relieving=0.9),
    Combination("1.2 D / 0.9 D + 1.0 W + 0.5 S", EQUILIBRIUM, 1.2, 0.5, 0, 1.0, relieving=0.9),
)


@dataclass(frozen=True, slots=True)
class VariableCase:
    """One arrangement of a variable action: drifted snow, wind from one side ..."""

    name: str
    kind: str


@dataclass(frozen=True, slots=True, eq=False)
class Combined:
    """Combinations of one state, one for each choice of cases; C of them over K variable cases.

    Parameters
    ----------
    names : tuple of str, length C
        Each with the cases it takes.
    permanent, relieving : array (C,)
        Factor on permanent load where it adds and where it helps.
    variable : array (C, K)
        Factors on the variable cases.
    groups : (int array (T + 1,), array (T,), array (T,))
        Combinations of equal factors on permanent load stand together: where the groups start, their factors.
    """

    names: tuple[str, ...]
    permanent: Array
    relieving: Array
    variable: Array
    groups: tuple[IntArray, Array, Array] = field(init=False)

    def __post_init__(self) -> None:
        new = np.flatnonzero((np.diff(self.permanent) != 0) | (np.diff(self.relieving) != 0)) + 1
        start = np.unique(np.concatenate([[0], new, [len(self.names)]]))
        first = start[:-1]
        object.__setattr__(self, "groups", (start, self.permanent[first], self.relieving[first]))

    def without_permanent(self) -> "Combined":
        """Return the same with variable loads alone."""
        zero = np.zeros_like(self.permanent)
        return Combined(self.names, zero, zero, self.variable)


ALONE = "variable alone"
"""Characteristic combinations without permanent load: what one module moves more than an empty neighbour."""


@lru_cache(maxsize=256)
def all_combined(
    combinations: tuple[Combination, ...], cases: tuple[VariableCase, ...]
) -> dict[str, Combined]:
    """Spread the combinations of every state, and of `ALONE`, over the cases there are."""
    found = {state: combined(combinations, cases, state) for state in STATES}
    return found | {ALONE: found[CHARACTERISTIC].without_permanent()}


@lru_cache(maxsize=512)
def combined(combinations: tuple[Combination, ...], cases: tuple[VariableCase, ...], state: str) -> Combined:
    """Spread the combinations of one state over the cases there are.

    A combination that names a kind of action without a case is left out.

    Examples
    --------
    >>> cases = (VariableCase("uniform", "snow"), VariableCase("drift", "snow"))
    >>> combined(EUROPEAN, cases, ULTIMATE).names[:3]
    ('1.35 G', '1.35 G + 1.5 snow (uniform)', '1.35 G + 1.5 snow (drift)')
    """
    rows = []
    for combination in combinations:
        kinds = [kind for kind in KINDS if combination.factor(kind) != 0.0]
        if combination.state != state:
            continue
        choices = [[k for k, case in enumerate(cases) if case.kind == kind] for kind in kinds]
        for picked in product(*choices):
            factors = np.zeros(len(cases))
            for k, kind in zip(picked, kinds, strict=True):
                factors[k] = combination.factor(kind)
            rows.append((_name(combination, cases, picked), combination, factors))
    rows.sort(key=lambda row: (-row[1].permanent, row[1].relieving or 0.0))
    return Combined(
        tuple(name for name, _, _ in rows),
        np.array([c.permanent for _, c, _ in rows]),
        np.array([c.permanent if c.relieving is None else c.relieving for _, c, _ in rows]),
        np.array([f for _, _, f in rows]).reshape(len(rows), len(cases)),
    )


def _name(combination: Combination, cases: tuple[VariableCase, ...], picked: tuple[int, ...]) -> str:
    """Name the cases where there is a choice."""
    several = [k for k in picked if sum(case.kind == cases[k].kind for case in cases) > 1]
    return combination.name + (f" ({', '.join(cases[k].name for k in several)})" if several else "")
