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


SNOW_PSI = (0.5, 0.2, 0.0)
"""psi_0, psi_1, psi_2 of snow on sites up to 1000 m (EN 1990, table A1.1, from memory)."""
WIND_PSI = (0.6, 0.2, 0.0)
"""The same of wind."""


@lru_cache(maxsize=64)
def european(snow_psi: tuple[float, float, float] = SNOW_PSI) -> tuple[Combination, ...]:
    """List those of EN 1990:2002: (6.10), (6.14b), (6.15b), (6.16b), and table A1.2(A) for equilibrium.

    Maintenance (category H) has psi 0, and neither snow nor wind goes with it (EN 1991-1-1, 3.3.2); water
    behind blocked outlets is a variable action by itself (common practice). From memory.

    Parameters
    ----------
    snow_psi : tuple of float
        psi_0, psi_1, psi_2 of snow.

    Examples
    --------
    >>> [c.name for c in european((0.7, 0.5, 0.2)) if c.state == SUSTAINED]
    ['G + 0.2 snow (quasi-permanent)']
    """
    psi0, psi1, psi2 = snow_psi
    wind0, wind1, _ = WIND_PSI
    with_snow, with_wind = round(1.5 * psi0, 9), round(1.5 * wind0, 9)
    last = f" + {psi2:g} snow" if psi2 else ""
    strong = [
        *_alone("1.35 G", ULTIMATE, 1.35, 1.5),
        Combination(f"1.35 G + 1.5 snow + {with_wind:g} wind", ULTIMATE, 1.35, 1.5, 0, with_wind),
        Combination(f"1.35 G + 1.5 wind + {with_snow:g} snow", ULTIMATE, 1.35, with_snow, 0, 1.5),
        *_alone("G", ULTIMATE, 1.0, 1.5)[1:],
        Combination(f"G + 1.5 snow + {with_wind:g} wind", ULTIMATE, 1.0, 1.5, 0, with_wind),
        Combination(f"G + 1.5 wind + {with_snow:g} snow", ULTIMATE, 1.0, with_snow, 0, 1.5),
    ]
    service = [
        *_alone("G", CHARACTERISTIC, 1.0, 1.0),
        Combination(f"G + snow + {wind0:g} wind", CHARACTERISTIC, 1, 1, 0, wind0),
        Combination(f"G + wind + {psi0:g} snow", CHARACTERISTIC, 1, psi0, 0, 1),
        Combination("G (frequent)", FREQUENT, 1, 0, 0),
        Combination(f"G + {psi1:g} snow (frequent)", FREQUENT, 1, psi1, 0),
        Combination(f"G + {wind1:g} wind{last} (frequent)", FREQUENT, 1, psi2, 0, wind1),
        Combination(f"G{last} (quasi-permanent)", SUSTAINED, 1, psi2, 0),
    ]
    tilt = "1.1 G / 0.9 G"
    standing = [
        *_alone(tilt, EQUILIBRIUM, 1.1, 1.5, 0.9),
        Combination(f"{tilt} + 1.5 snow + {with_wind:g} wind", EQUILIBRIUM, 1.1, 1.5, 0, with_wind, 0, 0.9),
        Combination(f"{tilt} + 1.5 wind + {with_snow:g} snow", EQUILIBRIUM, 1.1, with_snow, 0, 1.5, 0, 0.9),
    ]
    return (*strong, *service, *standing)


def _alone(
    dead: str, state: str, permanent: float, factor: float, relieving: float | None = None
) -> list[Combination]:
    """Permanent load by itself, and with each kind of variable load by itself."""
    times = "" if factor == 1.0 else f"{factor:g} "
    rows = [Combination(dead, state, permanent, 0, 0, relieving=relieving)]
    for own in KINDS:
        snow, people, wind, water = (factor if kind == own else 0.0 for kind in KINDS)
        name = f"{dead} + {times}{own}"
        rows.append(Combination(name, state, permanent, snow, people, wind, water, relieving))
    return rows


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
    Combination("1.2 D + 1.6 R + 0.5 W", ULTIMATE, 1.2, 0, 0, 0.5, 1.6),
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
    Combination("D + 0.45 W + 0.75 R", CHARACTERISTIC, 1, 0, 0, 0.45, 0.75),
    Combination("0.6 D + 0.6 W", CHARACTERISTIC, 0.6, 0, 0, 0.6),
    Combination("D (frequent)", FREQUENT, 1, 0, 0),
    Combination("D + 0.5 S (frequent)", FREQUENT, 1, 0.5, 0),
    Combination("D (sustained)", SUSTAINED, 1, 0, 0),
    Combination("1.2 D / 0.9 D", EQUILIBRIUM, 1.2, 0, 0, relieving=0.9),
    Combination("1.2 D / 0.9 D + 1.6 S", EQUILIBRIUM, 1.2, 1.6, 0, relieving=0.9),
    Combination("1.2 D / 0.9 D + 1.6 Lr", EQUILIBRIUM, 1.2, 0, 1.6, relieving=0.9),
    Combination("1.2 D / 0.9 D + 1.6 R", EQUILIBRIUM, 1.2, 0, 0, 0, 1.6, relieving=0.9),
    Combination("1.2 D / 0.9 D + 1.6 S + 0.5 W", EQUILIBRIUM, 1.2, 1.6, 0, 0.5, relieving=0.9),
    Combination("1.2 D / 0.9 D + 1.6 Lr + 0.5 W", EQUILIBRIUM, 1.2, 0, 1.6, 0.5, relieving=0.9),
    Combination("1.2 D / 0.9 D + 1.6 R + 0.5 W", EQUILIBRIUM, 1.2, 0, 0, 0.5, 1.6, relieving=0.9),
    Combination("1.2 D / 0.9 D + 1.0 W", EQUILIBRIUM, 1.2, 0, 0, 1.0, relieving=0.9),
    Combination("1.2 D / 0.9 D + 1.0 W + 0.5 S", EQUILIBRIUM, 1.2, 0.5, 0, 1.0, relieving=0.9),
    Combination("1.2 D / 0.9 D + 1.0 W + 0.5 Lr", EQUILIBRIUM, 1.2, 0, 0.5, 1.0, relieving=0.9),
    Combination("1.2 D / 0.9 D + 1.0 W + 0.5 R", EQUILIBRIUM, 1.2, 0, 0, 1.0, 0.5, relieving=0.9),
)


@dataclass(frozen=True, slots=True)
class VariableCase:
    """One arrangement of a variable action: drifted snow, wind from one side ..."""

    name: str
    kind: str

    @property
    def half(self) -> bool:
        """Whether it lies on one half of the bay: what else would be less than the whole, but for torque."""
        return self.name.endswith(" half")


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
    >>> combined(european(), cases, ULTIMATE).names[:3]
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
    """Name the cases where there is a choice; those on one half of the bay are always named."""
    whole = [case.kind for case in cases if not case.half]
    several = [k for k in picked if cases[k].half or whole.count(cases[k].kind) > 1]
    return combination.name + (f" ({', '.join(cases[k].name for k in several)})" if several else "")
