"""Effects of all combinations on a prismatic module: moments of both signs, shear, deflections, reactions."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from longvault.constraints.actions import CHARACTERISTIC, EQUILIBRIUM, SUSTAINED, ULTIMATE
from longvault.constraints.along import (
    Extreme,
    Influence,
    envelope,
    from_load,
    influences,
    larger,
    load_extremes,
)
from longvault.constraints.basis import Basis
from longvault.constraints.combinations import ALONE, all_combined
from longvault.constraints.load_cases import CaseLoads
from longvault.constraints.spans import Spans
from longvault.sections.symbols import Array, BoolArray, IntArray


@dataclass(frozen=True, slots=True, eq=False)
class Governing:
    """Which combination governs a limit, and where along the span.

    Parameters
    ----------
    names : tuple of str
        Combinations with their cases.
    index : int array (...)
        Which of them.
    y : array (...), or one number where it is the same for all
        Place from the start of the module [m].
    """

    names: tuple[str, ...]
    index: IntArray
    y: Array | float

    def name(self, where: tuple[int, ...] | int = ()) -> str:
        """Name of the governing combination of one candidate."""
        return self.names[int(self.index[where])]

    def place(self, where: tuple[int, ...] | int = ()) -> float:
        """Place along the span of one candidate [m]."""
        return float(np.broadcast_to(self.y, self.index.shape)[where])

    def taken(self, rows: IntArray) -> "Governing":
        """Return what governs of some rows of a batch."""
        y = self.y if np.ndim(self.y) == 0 else np.asarray(self.y)[rows]
        return Governing(self.names, self.index[rows], y)

    def spread(self, rows: IntArray, count: int) -> "Governing":
        """Return the same for a batch (count,) whose other designs were not looked at: no name, no place."""
        index, y = np.zeros(count, dtype=np.intp), np.zeros(count)
        index[rows], y[rows] = self.index + 1, self.y
        return Governing(("", *self.names), index, y)

    def where(self, other: BoolArray, names: tuple[str, ...], index: IntArray) -> "Governing":
        """Return the same but for the marked designs, which other combinations govern."""
        return Governing(self.names + names, np.where(other, index + len(self.names), self.index), self.y)


@dataclass(frozen=True, slots=True)
class Signs:
    """Which signs of moment occur: sagging, hogging; a sign that cannot occur is not looked at."""

    sagging: bool
    hogging: bool

    @property
    def both(self) -> bool:
        """Whether tension may arise on either side."""
        return self.sagging and self.hogging


@lru_cache(maxsize=256)
def signs(spans: Spans, uplift: bool) -> Signs:
    """Signs of moment on these supports; uplift turns each into the other.

    Examples
    --------
    >>> signs(Spans.simple(10.0), uplift=False), signs(Spans.propped(10.0), uplift=False).both
    (Signs(sagging=True, hogging=False), True)
    """
    moment = influences(spans).moment
    most, least = float(moment.positive.max()), float(-moment.negative.min())
    tiny = 1e-9 * max(most, least)
    return Signs(most > tiny or (uplift and least > tiny), least > tiny or (uplift and most > tiny))


def signs_of(basis: Basis) -> Signs:
    """Signs of moment that can occur under the loads of a basis of design."""
    return signs(basis.line, lifting(basis))


def lifting(basis: Basis) -> bool:
    """Whether any wind pulls at the roof."""
    return any(pressure < 0 for wind in basis.loads.wind for _, _, pressure in wind.zones)


@dataclass(frozen=True, slots=True, eq=False)
class Effects:
    """Extreme effects along the span.

    Parameters
    ----------
    sagging, hogging : mapping of state to array (...)
        Largest moment of each sign, both >= 0 [N m].
    shear : array (...)
        Largest, ultimate [N].
    sag : mapping of state (and `ALONE`) to array (...)
        Largest deflection times EI, down or up, on the field where it is largest for that field [N m3].
    sag_scale : mapping of state to array (...)
        Longest field over that one: what the allowed deflection is divided by.
    tip : array (...) or None
        Largest deflection times EI of the tip of an overhang, quasi-permanent, down or up [N m3].
    load : mapping of state to array (...)
        Heaviest load [N/m].
    pull : array (...)
        Largest pull on a support, of equilibrium and ultimate combinations, >= 0 [N].
    push : array (...)
        Largest push on a support, ultimate [N].
    governing : mapping of str to Governing
        For ``sagging`` and ``hogging``, the same with ``_service`` and ``_sustained``, ``shear``, ``sag``,
        ``sag_sustained``, ``sag_alone``, ``load_service``, ``pull``, ``push``.
    """

    sagging: Mapping[str, Array]
    hogging: Mapping[str, Array]
    shear: Array
    sag: Mapping[str, Array]
    sag_scale: Mapping[str, Array]
    tip: Array | None
    load: Mapping[str, Array]
    pull: Array
    push: Array
    governing: Mapping[str, Governing]


def effects(basis: Basis, *, permanent: Array, variable: CaseLoads) -> Effects:
    """Extreme effects of every combination and load pattern on a prismatic module.

    Parameters
    ----------
    basis : Basis
        Spans, loads, standard.
    permanent : array (...)
        Permanent load [N/m].
    variable : CaseLoads
        Variable cases.
    """
    lines, found = influences(basis.line), _Found(basis, permanent, variable)
    sagging, hogging, occurs = {}, {}, signs_of(basis)
    states = ((ULTIMATE, ""), (CHARACTERISTIC, "_service"), (SUSTAINED, "_sustained"))
    for state, suffix in states:
        most, least = found.both(lines.moment, state)
        sagging[state] = np.maximum(most.value, 0.0) if occurs.sagging else np.zeros_like(most.value)
        hogging[state] = np.maximum(-least.value, 0.0) if occurs.hogging else np.zeros_like(most.value)
        found.keep(f"sagging{suffix}", most, state, lines.moment)
        found.keep(f"hogging{suffix}", least, state, lines.moment)
    shear = found.largest("shear", lines.shear, ULTIMATE)
    sag, scale = {}, {}
    for state, key in ((CHARACTERISTIC, "sag"), (SUSTAINED, "sag_sustained"), (ALONE, "sag_alone")):
        one = found.largest(key, lines.sag, state)
        scale[state] = lines.scale[one.station]
        sag[state] = one.value / scale[state]
    tip = None if lines.tip is None else found.size(lines.tip, SUSTAINED).value
    pull, push = found.reactions(lines.reaction)
    load = {state: most.value for state, (most, _) in found.loads.items()}
    return Effects(sagging, hogging, shear.value, sag, scale, tip, load, pull, push, found.governing)


STATES_OF_LOAD = (ULTIMATE, CHARACTERISTIC, SUSTAINED, ALONE)
"""States whose heaviest and lightest load is looked at."""


def sag_extremes(
    basis: Basis, *, permanent: Array, variable: CaseLoads, states: tuple[str, ...]
) -> dict[str, tuple[Array, Governing]]:
    """Largest deflection times EI, with its sign, under loads of any direction (...) [N m3], and its case.

    Examples
    --------
    >>> from longvault.constraints.basis import Requirements
    >>> from longvault.constraints.combinations import VariableCase
    >>> basis = Basis(span=10.0, pitch=5.0, requirements=Requirements(height_max=2.0))
    >>> one = CaseLoads((VariableCase("uniform", "snow"),), np.array([-2e3]), None)
    >>> found = sag_extremes(basis, permanent=np.array(0.0), variable=one, states=(CHARACTERISTIC,))
    >>> round(float(found[CHARACTERISTIC][0]))  # 5/384 w L^4
    -260417
    """
    lines, found = influences(basis.line), _Found(basis, permanent, variable, states)
    result = {}
    for state in states:
        most, least = found.both(lines.sag, state)
        one = larger(most, Extreme(-least.value, least.case, least.station))
        size = np.where(most.value >= -least.value, one.value, -one.value) / lines.scale[one.station]
        y = lines.sag.y[one.station]
        result[state] = size, Governing(found.rules[state].names, one.case, y)
    return result


class _Found:
    """Envelopes of one basis of design, with what governs each."""

    def __init__(
        self,
        basis: Basis,
        permanent: Array,
        variable: CaseLoads,
        states: tuple[str, ...] = STATES_OF_LOAD,
    ) -> None:
        self.basis, self.permanent, self.variable = basis, permanent, variable
        self.governing: dict[str, Governing] = {}
        self.rules = all_combined(basis.combinations, variable.cases)
        groups = tuple(self.rules[state] for state in states)
        loads = load_extremes(groups, permanent=permanent, variable=variable.down)
        self.loads = dict(zip(states, loads, strict=True))
        self.single = len(basis.line.fields) == 1
        self.downward = self.single and not lifting(basis)
        heaviest, whole = self.loads[CHARACTERISTIC][0], basis.line.length
        self.governing["load_service"] = Governing(
            self.rules[CHARACTERISTIC].names, heaviest.case, 0.5 * whole
        )

    def both(self, influence: Influence, state: str) -> tuple[Extreme, Extreme]:
        """Largest and smallest response."""
        if self.single and state != EQUILIBRIUM:
            return from_load(influence, *self.loads[state])
        return envelope(influence, self.rules[state], permanent=self.permanent, variable=self.variable.down)

    def keep(self, key: str, extreme: Extreme, state: str, influence: Influence) -> None:
        """Remember what governs."""
        self.governing[key] = Governing(self.rules[state].names, extreme.case, influence.y[extreme.station])

    def largest(self, key: str, influence: Influence, state: str) -> Extreme:
        """Response of the largest size, whatever its sign, as a size; and remember what governs."""
        one = self.size(influence, state)
        self.keep(key, one, state, influence)
        return one

    def size(self, influence: Influence, state: str) -> Extreme:
        """Response of the largest size, whatever its sign, as a size."""
        if self.downward:  # no load pulls, so the heaviest one governs at the largest influence
            heaviest = self.loads[state][0]
            up = influence.up >= -influence.down
            size, at = (influence.up, influence.at_up) if up else (-influence.down, influence.at_down)
            return Extreme(size * heaviest.value, heaviest.case, at)
        most, least = self.both(influence, state)
        return larger(most, Extreme(-least.value, least.case, least.station))

    def reactions(self, influence: Influence) -> tuple[Array, Array]:
        """Largest pull (equilibrium and ultimate) and push (ultimate) on a support."""
        push, lift = self.both(influence, ULTIMATE)
        self.keep("push", push, ULTIMATE, influence)
        if self.basis.plain:
            return np.zeros_like(push.value), push.value
        tilt = self.both(influence, EQUILIBRIUM)[1]
        strong = self.rules[ULTIMATE].names
        moved = Extreme(tilt.value, tilt.case + len(strong), tilt.station)
        pull = larger(lift, moved, -1.0)
        names = strong + self.rules[EQUILIBRIUM].names
        self.governing["pull"] = Governing(names, pull.case, influence.y[pull.station])
        return np.maximum(-pull.value, 0.0), push.value
