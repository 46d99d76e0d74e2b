"""Beam with a section that varies along the span: stations, effects of all combinations at each of them."""

from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise

import numpy as np

from longvault.constraints.combinations import Combined
from longvault.constraints.span_grid import Grid, grid
from longvault.constraints.spans import Response, Spans, respond
from longvault.constraints.taper_kernel import extreme_rows
from longvault.sections.symbols import Array, IntArray


@dataclass(frozen=True, slots=True, eq=False)
class Places:
    """Stations of a tapered beam.

    Parameters
    ----------
    mesh : Grid
        Stations (S,) along the span.
    section : int array (S,)
        Which of the K sections stands there.
    scale : array (S,)
        Longest field over the own one, for deflection limits.
    order, start : int array (S,), (K,)
        Stations by their section, and where those of each begin.
    """

    mesh: Grid
    section: IntArray
    scale: Array
    order: IntArray
    start: IntArray


@lru_cache(maxsize=64)
def places(spans: Spans, stations: int) -> Places:
    """Where the sections of a taper stand.

    An overhang or a cantilever shrinks from its support to its tip, and the spans behind it keep the root;
    a single span on two supports is deepest in the middle.

    Raises
    ------
    ValueError
        If the beam has several spans and no overhang: nothing says where it is deep.

    Examples
    --------
    >>> found = places(Spans.cantilever(8.0), 5)
    >>> found.mesh.y.tolist(), found.section.tolist()
    ([0.0, 2.0, 4.0, 6.0, 8.0], [0, 1, 2, 3, 4])
    """
    overhangs, fields = spans.overhangs, spans.fields
    clamped = spans.fixed_start or spans.fixed_end
    if not any(overhangs) and (len(fields) > 1 or clamped):
        raise ValueError("a taper needs an overhang, a cantilever or one span that rests on two supports")
    last = stations - 1
    mesh = grid(fields, tuple(last // 2 if overhang else last for overhang in overhangs))
    share = np.zeros(mesh.y.size)
    for i, ((a, b), overhang) in enumerate(zip(fields, overhangs, strict=True)):
        own = (mesh.y[mesh.field == i] - a) / (b - a)
        if overhang:
            share[mesh.field == i] = own if a in spans.supports else 1.0 - own
        elif not any(overhangs):
            share[mesh.field == i] = np.abs(2.0 * own - 1.0)
    scale = spans.depth_span / np.array(spans.field_spans)[mesh.field]
    section = np.rint(share * last).astype(np.intp)
    order = np.argsort(section, kind="stable")
    return Places(mesh, section, scale, order, np.searchsorted(section[order], np.arange(stations)))


@dataclass(frozen=True, slots=True, eq=False)
class Envelope:
    """Largest and smallest response at each station, with the combination it comes from; each (..., S)."""

    most: Array
    least: Array
    most_case: IntArray
    least_case: IntArray

    def largest(self) -> tuple[Array, IntArray]:
        """Size of the larger of both, and its combination."""
        up = -self.least > self.most
        return np.where(up, -self.least, self.most), np.where(up, self.least_case, self.most_case)


@dataclass(frozen=True, slots=True, eq=False)
class TaperedBeam:
    """Responses of a tapered module to its permanent and its variable loads.

    Parameters
    ----------
    permanent : Response
        To the permanent load on each field (R = F).
    variable : Response
        To each variable case on each field (R = K_v F), or to 1 N/m on each field where the cases are
        uniform along the span.
    cases : array (K_v,) or None
        Those uniform loads.
    """

    permanent: Response
    variable: Response
    cases: Array | None

    @classmethod
    def solve(
        cls, spans: Spans, where: Places, *, permanent: Array, variable: Array, flexibility: Array
    ) -> "TaperedBeam":
        """Solve for loads at the sections: permanent (..., K), variable (K_v,) or (..., K, K_v) [N/m].

        ``flexibility`` is 1 / EI at the sections (..., K).
        """
        at, mesh = where.section, where.mesh
        on = (mesh.field[None, :] == np.arange(len(spans.fields))[:, None]).astype(np.float64)
        soft = np.take(flexibility, at, axis=-1)
        dead = np.take(permanent, at, axis=-1)[..., None, :] * on
        uniform = variable.ndim == 1
        if uniform:
            live = np.broadcast_to(on, (*soft.shape[:-1], *on.shape))
        else:
            by_case = np.take(np.ascontiguousarray(np.swapaxes(variable, -1, -2)), at, axis=-1)
            live = (by_case[..., :, None, :] * on).reshape(*soft.shape[:-1], -1, mesh.y.size)
        both = respond(spans, mesh=mesh, load=np.concatenate([dead, live], axis=-2), flexibility=soft)
        count = len(on)
        return cls(
            _part(both, slice(0, count)), _part(both, slice(count, None)), variable if uniform else None
        )

    def envelope(self, kind: str, rules: Combined) -> Envelope:
        """Largest and smallest ``moment``, ``shear``, ``deflection`` or ``reaction`` of all combinations."""
        dead, live = getattr(self.permanent, kind), getattr(self.variable, kind)
        fields = dead.shape[-2]
        if self.cases is not None:
            factored = rules.variable @ self.cases
            picked = np.array(_ends(factored, rules), dtype=np.intp)
            factors = factored[picked].reshape(-1, *(1,) * live.ndim)
            return _extremes(dead, _adding(factors * live), picked, rules)
        by_case = live.reshape(*live.shape[:-2], -1, fields, live.shape[-1])
        # combinations that differ in permanent load alone share their variable response
        unlike, which = np.unique(rules.variable, axis=0, return_inverse=True)
        adding = np.empty((2, len(unlike), *live.shape[:-2], live.shape[-1]))
        for k, factors in enumerate(unlike):
            adding[:, k] = _adding(np.einsum("k,...kfs->...fs", factors, by_case))
        adding = adding[:, which.reshape(-1)]
        return _extremes(dead, (adding[0], adding[1]), np.arange(len(rules.names)), rules)


def _ends(factored: Array, rules: Combined) -> list[int]:
    """Pick the largest and the smallest variable load of each group: no other can govern."""
    start = rules.groups[0]
    found: set[int] = set()
    for a, b in pairwise(start.tolist()):
        found |= {a + int(factored[a:b].argmax()), a + int(factored[a:b].argmin())}
    return sorted(found)


def _part(r: Response, rows: slice) -> Response:
    return Response(r.y, *(v[..., rows, :] for v in (r.moment, r.shear, r.deflection, r.reaction)))


def _adding(live: Array) -> tuple[Array, Array]:
    """Sum of the fields (..., F, S) where a variable load adds, and where it takes away (..., S)."""
    return np.maximum(live, 0.0).sum(axis=-2), np.minimum(live, 0.0).sum(axis=-2)


def _extremes(dead: Array, adding: tuple[Array, Array], picked: IntArray, rules: Combined) -> Envelope:
    """Permanent load everywhere, variable load of the combinations ``picked`` (C, ..., S) where it adds."""
    shape = (*dead.shape[:-2], dead.shape[-1])
    extreme, case = np.empty((2, *shape)), np.empty((2, *shape), dtype=np.intp)
    plus, minus = (np.ascontiguousarray(one).reshape(-1) for one in _adding(dead))
    variable = (np.ascontiguousarray(one).reshape(picked.size, plus.size) for one in adding)
    extreme_rows(
        plus, minus, *variable, picked, rules.permanent[picked], rules.relieving[picked],
        extreme.reshape(2, -1), case.reshape(2, -1),
    )  # fmt: skip
    return Envelope(*extreme, *case)
