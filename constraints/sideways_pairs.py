"""Moments about both axes that stand together, where wind pushes a module sideways."""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from longvault.constraints import sideways_kernel
from longvault.constraints.actions import Loads
from longvault.constraints.along import Influence
from longvault.constraints.combinations import Combined, VariableCase
from longvault.constraints.effects import Governing
from longvault.constraints.load_cases import CaseLoads
from longvault.constraints.strength import ROUND_OFF
from longvault.sections.symbols import Array, IntArray


@dataclass(frozen=True, slots=True, eq=False)
class Pairs:
    """Moments about both axes (or shear forces both ways) that stand together, of loads with sideways wind.

    Parameters
    ----------
    names : tuple of str
        Combinations.
    case : int array (J,)
        Which of them each pair belongs to.
    y : array (S,)
        Places along the span [m].
    section : int array (S,)
        Which section stands there.
    upright, level : array (..., S, J)
        Vertical bending, sagging positive, and sideways bending by load to the right, on the same fields
        [N m]; or shear forces [N].
    """

    names: tuple[str, ...]
    case: IntArray
    y: Array
    section: IntArray
    upright: Array
    level: Array

    def governing(self, base: Governing, pair: Array) -> Governing:
        """Let the pair (...) found by a kernel govern, -1 leaving what did."""
        marked = pair >= 0.0
        if not marked.any():
            return base
        index = np.maximum(np.nan_to_num(pair), 0.0).astype(np.intp)
        place, case = self.y[index // self.case.size], self.case[index % self.case.size]
        y = np.where(marked, place, base.y)
        return Governing(base.names + self.names, np.where(marked, case + len(base.names), base.index), y)

    def taken(self, pair: Array) -> tuple[Array, Array]:
        """Both moments of the pair (...) found; 0 and 0 for -1, NaN for a NaN row."""
        none = np.where(np.isnan(pair), np.nan, 0.0)
        if not (pair >= 0.0).any():
            return none, none.copy()
        index = np.maximum(np.nan_to_num(pair), 0.0).astype(np.intp)
        lead = self.upright.shape[:-2]
        both = (
            np.take_along_axis(v.reshape(*lead, -1), index.reshape(*lead, -1), axis=-1).reshape(pair.shape)
            for v in (self.upright, self.level)
        )
        up, side = (np.where(pair >= 0.0, v, none) for v in both)
        return up, side

    def rows(self) -> tuple[Array, Array]:
        """Both as kernels take them (C, S, J)."""
        shape = (-1, *self.upright.shape[-2:])
        up, side = (np.ascontiguousarray(v).reshape(shape) for v in (self.upright, self.level))
        return up, side

    @property
    def most(self) -> Array:
        """Largest sideways moment or shear force (...)."""
        return np.asarray(np.maximum(self.level.max(axis=(-2, -1)), -self.level.min(axis=(-2, -1))))


def pairs_of(
    influence: Influence, rules: Combined, *, loads: Loads, permanent: Array, variable: CaseLoads
) -> Pairs:
    """Pairs that can govern a prismatic module, for the combinations that hold sideways wind.

    Permanent load lies everywhere, variable load on the fields where it adds to a moment: M = G (P + N) +
    Q P and H = W P with the sums P and N of the positive and the negative influences, or the same with N
    last. Any stress is linear in (P + N, P), so only the corners of that set of stations count. The module
    bends sideways on the same supports as it bends down.

    Parameters
    ----------
    influence : Influence
        Of moments or shear forces.
    rules : Combined
        Combinations of one state.
    loads : Loads
        Which winds push sideways.
    permanent : array (...)
        Permanent load [N/m].
    variable : CaseLoads
        Variable cases with their sideways part.

    Examples
    --------
    w = 1.35 x 10 + 1.5 x 2 = 16.5 and 1.5 x 4 = 6 N/m on 8 m: M = 132, H = 48 N m.

    >>> from longvault.constraints.combinations import VariableCase, combined, european
    >>> from longvault.constraints.spans import Spans
    >>> from longvault.constraints.actions import ULTIMATE, Wind
    >>> from longvault.constraints.along import influences
    >>> gust = CaseLoads((VariableCase("gust", "wind"),), np.array([2.0]), None, np.array([4.0]))
    >>> rules = combined(european(), gust.cases, ULTIMATE)
    >>> loads = Loads(wind=(Wind("gust", ((0.0, 0.5, 1.0),)),))
    >>> moment = influences(Spans.simple(8.0)).moment
    >>> found = pairs_of(moment, rules, loads=loads, permanent=np.array(10.0), variable=gust)
    >>> round(float(found.upright.max()), 9), round(float(found.level.max()), 9), found.names[found.case[0]]
    (132.0, 48.0, '1.35 G + 1.5 wind')
    """
    rows, at = pushing_rows(rules, variable.cases, loads), _corners(influence)
    down, right = (
        np.einsum("ck,...k->...c", rules.variable[rows], load)
        for load in (variable.down, np.asarray(variable.right))
    )
    right = without_noise(right, -1)
    dead = rules.permanent[rows] * permanent[..., None]
    ends = np.stack([influence.positive[at], influence.negative[at]], axis=-1)
    ends = without_noise(ends[:, np.any(ends != 0.0, axis=0)], (0, 1))  # on a single field one is nothing
    whole = influence.positive[at] + influence.negative[at]
    upright, level = np.empty((2, *permanent.shape, at.size, rows.size * ends.shape[1]))
    acting = [np.broadcast_to(v, dead.shape).reshape(-1, rows.size) for v in (dead, down, right)]
    shape = (-1, *upright.shape[-2:])
    sideways_kernel.pair_rows(*acting, whole, ends, upright.reshape(shape), level.reshape(shape))
    case, section = np.repeat(rows, ends.shape[1]), np.zeros(at.size, dtype=np.intp)
    return Pairs(rules.names, case, influence.y[at], section, upright, level)


def without_noise(level: Array, axes: int | tuple[int, ...]) -> Array:
    """Sideways loads or moments (...) in any unit, what is left of sums that cancel taken as 0.

    That is what stays below `ROUND_OFF` of the largest along ``axes``.

    Examples
    --------
    >>> without_noise(np.array([4.0, -1e-15, 2.0]), -1).tolist()
    [4.0, 0.0, 2.0]
    """
    size = np.abs(level)
    return np.where(size <= ROUND_OFF * size.max(axis=axes, keepdims=True), 0.0, level)


@lru_cache(maxsize=256)
def pushing_rows(rules: Combined, cases: tuple[VariableCase, ...], loads: Loads) -> IntArray:
    """List the combinations that hold a case of wind that pushes sideways."""
    names = {wind.name for wind in loads.wind if wind.one_sided}
    columns = [k for k, case in enumerate(cases) if case.kind == "wind" and case.name in names]
    return np.flatnonzero((rules.variable[:, columns] != 0.0).any(axis=1))


@lru_cache(maxsize=256)
def _corners(influence: Influence) -> IntArray:
    """Stations on the convex hull of (P + N, P) and (P + N, N): no linear response is largest elsewhere."""
    whole = influence.positive + influence.negative
    points = [
        (float(a), float(b), s)
        for ends in (influence.positive, influence.negative)
        for s, (a, b) in enumerate(zip(whole, ends, strict=True))
        if b != 0.0
    ]
    points.sort()
    found: set[int] = set()
    for run in (points, points[::-1]):
        chain: list[tuple[float, float, int]] = []
        for p in run:
            while len(chain) > 1 and _turn(chain[-2], chain[-1], p) <= 0.0:
                chain.pop()
            chain.append(p)
        found |= {s for _, _, s in chain}
    return np.array(sorted(found), dtype=np.intp)


def _turn(a: tuple[float, float, int], b: tuple[float, float, int], c: tuple[float, float, int]) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])
