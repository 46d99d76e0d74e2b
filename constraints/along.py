"""Largest effects along the span over all combinations and load patterns, for a prismatic module."""

from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np

from longvault.constraints.along_kernel import envelope_rows, load_rows
from longvault.constraints.combinations import Combined
from longvault.constraints.spans import Spans, unit_response
from longvault.sections.symbols import Array, IntArray


@dataclass(frozen=True, slots=True, eq=False)
class Influence:
    """One kind of response at S stations to unit load on the fields where it is positive, and negative.

    Permanent load is everywhere, variable load on any fields: every extreme follows from these two.

    Parameters
    ----------
    y : array (S,)
        Stations [m].
    positive, negative : array (S,)
        Sum of the positive and of the negative responses to unit load on one field.
    up, down : float
        Largest of ``positive``, least of ``negative``.
    at_up, at_down : int
        Their stations.
    """

    y: Array
    positive: Array
    negative: Array
    up: float = field(init=False)
    down: float = field(init=False)
    at_up: int = field(init=False)
    at_down: int = field(init=False)

    def __post_init__(self) -> None:
        object.__setattr__(self, "up", float(self.positive.max()))
        object.__setattr__(self, "down", float(self.negative.min()))
        object.__setattr__(self, "at_up", int(self.positive.argmax()))
        object.__setattr__(self, "at_down", int(self.negative.argmin()))

    @classmethod
    def of(cls, y: Array, response: Array) -> "Influence":
        """Sum a response (F, S) over the fields by sign."""
        return cls(y, np.maximum(response, 0.0).sum(axis=0), np.minimum(response, 0.0).sum(axis=0))

    def extremes_only(self) -> "Influence":
        """Keep the stations of a single field that can govern: all responses there are in proportion."""
        total = self.positive + self.negative
        keep = sorted({int(total.argmax()), int(total.argmin())})
        return Influence(self.y[keep], self.positive[keep], self.negative[keep])

    def __neg__(self) -> "Influence":
        return Influence(self.y, -self.negative, -self.positive)


@dataclass(frozen=True, slots=True, eq=False)
class Influences:
    """What load on a prismatic module does along its span.

    Parameters
    ----------
    moment : Influence
        Sagging positive [m2].
    shear : Influence
        [m].
    sag : Influence
        Deflection down times EI, scaled by the longest field over the own one (as the limits scale) [m4].
    reaction : Influence
        Push of each support, up positive [m].
    scale : array (S,)
        That scale at the stations of ``sag``.
    tip : Influence or None
        Deflection down times EI of the tips of overhangs, where there are supports beside them [m4].
    """

    moment: Influence
    shear: Influence
    sag: Influence
    reaction: Influence
    scale: Array
    tip: Influence | None


@lru_cache(maxsize=256)
def influences(spans: Spans) -> Influences:
    """Influences of a prismatic module on its supports.

    Examples
    --------
    >>> i = influences(Spans.simple(24.0))
    >>> i.moment.y.tolist(), i.moment.positive.round(6).tolist()
    ([0.0, 12.0], [0.0, 72.0])
    """
    unit = unit_response(spans)
    field = np.searchsorted([b for _, b in spans.fields], unit.y, side="left")
    field = np.minimum(field, len(spans.fields) - 1)
    own = np.array(spans.field_spans)[field]
    scale = spans.depth_span / own
    moment, shear = Influence.of(unit.y, unit.moment), Influence.of(unit.y, unit.shear)
    sag = Influence.of(unit.y, unit.deflection * scale)
    if len(spans.fields) == 1:
        moment, shear, sag = moment.extremes_only(), shear.extremes_only(), sag.extremes_only()
    scale = scale[np.searchsorted(unit.y, sag.y)]
    reaction = Influence.of(np.array(spans.supports), unit.reaction)
    free = tips(spans, unit.y)
    tip = Influence.of(unit.y[free], unit.deflection[:, free]) if free.size else None
    return Influences(moment, shear, sag, reaction, scale, tip)


def tips(spans: Spans, y: Array) -> IntArray:
    """Stations at the tips of overhangs beside other fields; none for one field, whose tip is all there is.

    Examples
    --------
    >>> tips(Spans.canopy(back=2.0, arm=6.0), np.array([0.0, 2.0, 2.0, 5.0, 8.0])).tolist()
    [4]
    """
    if len(spans.fields) == 1:
        return np.empty(0, dtype=np.intp)
    ends = {0.0, spans.length} - set(spans.supports)
    return np.flatnonzero(np.isin(y, sorted(ends)))


@dataclass(frozen=True, slots=True, eq=False)
class Extreme:
    """An extreme effect, the combination it comes from and its station; each (...).

    Parameters
    ----------
    value : array
        The effect, SI.
    case : int array
        Index into the names of the combinations.
    station : int array, or one int where it is the same for all
        Index into the stations of the influence.
    """

    value: Array
    case: IntArray
    station: IntArray | int


def envelope(
    influence: Influence, combined: Combined, *, permanent: Array, variable: Array
) -> tuple[Extreme, Extreme]:
    """Largest and smallest value of a response over combinations, stations and load patterns.

    Parameters
    ----------
    influence : Influence
        The response.
    combined : Combined
        Combinations of one state.
    permanent : array (...)
        Permanent load [N/m].
    variable : array (..., K) or (K,)
        Variable cases [N/m].

    Returns
    -------
    largest, smallest : Extreme

    Examples
    --------
    >>> from longvault.constraints.combinations import ULTIMATE, VariableCase, combined, european
    >>> two = influences(Spans.continuous(10.0, 10.0)).moment
    >>> rules = combined(european(), (VariableCase("uniform", "snow"),), ULTIMATE)
    >>> span, support = envelope(two, rules, permanent=np.array(10.0), variable=np.array([8.0]))
    >>> round(float(support.value), 3), rules.names[int(support.case)]
    (-318.75, '1.35 G + 1.5 snow')
    """
    batch = permanent.shape
    count = int(np.prod(batch))
    value, case = np.empty((2, count)), np.zeros((2, count), dtype=np.intp)
    station = np.zeros((2, count), dtype=np.intp)
    envelope_rows(
        np.ascontiguousarray(permanent).reshape(-1),
        np.ascontiguousarray(variable).reshape(-1, variable.shape[-1]),
        combined.variable,
        *combined.groups,
        influence.positive,
        influence.negative,
        value,
        case,
        station,
    )
    most, least = (Extreme(*(v[k].reshape(batch) for v in (value, case, station))) for k in (0, 1))
    return most, least


def load_extremes(
    groups: tuple[Combined, ...], *, permanent: Array, variable: Array
) -> tuple[tuple[Extreme, Extreme], ...]:
    """Largest and smallest load of each group of combinations.

    Examples
    --------
    >>> from longvault.constraints.combinations import ULTIMATE, VariableCase, combined, european
    >>> rules = combined(european(), (VariableCase("uniform", "snow"),), ULTIMATE)
    >>> ((most, _),) = load_extremes((rules,), permanent=np.array(2.5), variable=np.array([1.2]))
    >>> round(float(most.value), 9)
    5.175
    """
    batch, size = permanent.shape, len(groups)
    start = np.cumsum([0, *(len(group.names) for group in groups)])
    count = int(np.prod(batch))
    value, case = np.empty((size, 2, count)), np.zeros((size, 2, count), dtype=np.intp)
    load_rows(
        np.ascontiguousarray(permanent).reshape(-1),
        np.ascontiguousarray(variable).reshape(-1, variable.shape[-1]),
        *_stacked(groups),
        start,
        value,
        case,
    )
    ends = [
        [Extreme(value[t, k].reshape(batch), case[t, k].reshape(batch), 0) for k in (0, 1)]
        for t in range(size)
    ]
    return tuple((most, least) for most, least in ends)


@lru_cache(maxsize=256)
def _stacked(groups: tuple[Combined, ...]) -> tuple[Array, Array]:
    return np.concatenate([g.permanent for g in groups]), np.concatenate([g.variable for g in groups])


def from_load(influence: Influence, most: Extreme, least: Extreme) -> tuple[Extreme, Extreme]:
    """Largest and smallest response on a single field, where all follow the largest and smallest load."""
    up, down = influence.up, influence.down
    at_up, at_down = influence.at_up, influence.at_down
    if down == 0.0:
        return Extreme(up * most.value, most.case, at_up), Extreme(up * least.value, least.case, at_up)
    if up == 0.0:
        return Extreme(down * least.value, least.case, at_down), Extreme(
            down * most.value, most.case, at_down
        )
    return (
        larger(Extreme(up * most.value, most.case, at_up), Extreme(down * least.value, least.case, at_down)),
        larger(
            Extreme(down * most.value, most.case, at_down), Extreme(up * least.value, least.case, at_up), -1.0
        ),
    )


def larger(a: Extreme, b: Extreme, sign: float = 1.0) -> Extreme:
    """Take the larger of two effects in each place (the smaller with ``sign`` -1)."""
    first = sign * a.value >= sign * b.value
    return Extreme(
        np.where(first, a.value, b.value),
        np.where(first, a.case, b.case),
        np.where(first, a.station, b.station),
    )
