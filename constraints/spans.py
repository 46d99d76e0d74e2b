"""The module as a beam along the span: where it rests, and its response to load on each field.

A *field* is a stretch between neighbouring supports, or an overhang. Every response is linear in the load,
so a prismatic module needs one solution a field; one that varies along the span has its own stiffness.
"""

from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from typing import Self

import numpy as np

from longvault.constraints.span_grid import Grid, grid
from longvault.sections.symbols import Array


@dataclass(frozen=True, slots=True)
class Spans:
    """Where a beam rests.

    Parameters
    ----------
    length : float
        From end to end [m].
    supports : tuple of float
        Their places from the start, increasing [m].
    fixed_start, fixed_end : bool
        Whether the beam is clamped at its start or end, where a support must stand.

    Raises
    ------
    ValueError
        If supports stand outside the beam or out of order, or the beam can move or turn freely.

    Examples
    --------
    >>> Spans.canopy(back=4.0, arm=11.0)
    Spans(length=15.0, supports=(0.0, 4.0), fixed_start=False, fixed_end=False)
    """

    length: float
    supports: tuple[float, ...]
    fixed_start: bool = False
    fixed_end: bool = False

    def __post_init__(self) -> None:
        s = self.supports
        if not s or s[0] < 0 or s[-1] > self.length or any(b <= a for a, b in pairwise(s)):
            raise ValueError(
                f"supports: got {s} on a beam of {self.length:g} m; "
                "must be places from 0 to its length, increasing"
            )
        for fixed, place, end in ((self.fixed_start, s[0], 0.0), (self.fixed_end, s[-1], self.length)):
            if fixed and place != end:
                raise ValueError(f"supports: a clamped end needs a support at {end:g} m; got {s}")
        if len(s) + self.fixed_start + self.fixed_end < 2:
            raise ValueError(
                "supports: a single one must be clamped, else the beam turns; add one or clamp it"
            )

    @classmethod
    def simple(cls, span: float) -> Self:
        """Rest at both ends."""
        return cls(span, (0.0, span))

    @classmethod
    def fixed(cls, span: float) -> Self:
        """Clamp both ends."""
        return cls(span, (0.0, span), True, True)

    @classmethod
    def propped(cls, span: float) -> Self:
        """Clamp the start, rest the end."""
        return cls(span, (0.0, span), True)

    @classmethod
    def cantilever(cls, arm: float) -> Self:
        """Clamp the start, leave the end free."""
        return cls(arm, (0.0,), True)

    @classmethod
    def canopy(cls, *, back: float, arm: float) -> Self:
        """Hold an arm by a back span with a tie-down at its start."""
        return cls(back + arm, (0.0, back))

    @classmethod
    def overhanging(cls, span: float, *, left: float = 0.0, right: float = 0.0) -> Self:
        """Rest at two supports, with an overhang at either or both ends."""
        return cls(left + span + right, (left, left + span))

    @classmethod
    def continuous(cls, *spans: float) -> Self:
        """Rest at the ends of two or more spans in a row, and between."""
        places = tuple(float(v) for v in np.concatenate([[0.0], np.cumsum(spans)]))
        return cls(places[-1], places)

    @property
    def fields(self) -> tuple[tuple[float, float], ...]:
        """Start and end of each field [m]."""
        places = sorted({0.0, *self.supports, self.length})
        return tuple(pairwise(places))

    @property
    def overhangs(self) -> tuple[bool, ...]:
        """Whether each field is an overhang."""
        return tuple(a not in self.supports or b not in self.supports for a, b in self.fields)

    @property
    def field_spans(self) -> tuple[float, ...]:
        """Length of each field for span-to-depth and deflection rules: twice that of an overhang [m]."""
        pairs = zip(self.fields, self.overhangs, strict=True)
        return tuple((b - a) * (2.0 if overhang else 1.0) for (a, b), overhang in pairs)

    @property
    def depth_span(self) -> float:
        """The largest of these [m]."""
        return max(self.field_spans)


@dataclass(frozen=True, slots=True, eq=False)
class Response:
    """What loads do to a beam; R is the number of load patterns (one a field as a rule), S of stations.

    Parameters
    ----------
    y : array (S,)
        Stations; a support has one on either side [m].
    moment, shear : array (..., R, S)
        Sagging positive; shear positive where the part to the left pushes up.
    deflection : array (..., R, S)
        Down positive [m]; for unit load and stiffness [m4].
    reaction : array (..., R, n)
        Push of each support, up positive.
    """

    y: Array
    moment: Array
    shear: Array
    deflection: Array
    reaction: Array


def respond(spans: Spans, *, mesh: Grid, load: Array, flexibility: Array) -> Response:
    """Solve a beam with loads and flexibility given at the stations of a grid.

    Clebsch's method: M = M_start + sum of R_i <y - y_i> - double integral of the load, the deflection a
    double integral of -M / EI; reactions, clamping moments and the two constants follow from equilibrium
    and from the supports. The integrals run through three points an interval (exact for a uniform load and a
    prismatic beam; Macaulay 1919; any text on beams).

    Parameters
    ----------
    spans : Spans
        Where the beam rests.
    mesh : Grid
        Stations, from `longvault.constraints.span_grid.grid`.
    load : array (..., R, S)
        Down, per metre [N/m].
    flexibility : array (..., S)
        1 / EI [1/(N m2)].

    Examples
    --------
    >>> spans = Spans.propped(1.0)
    >>> mesh = grid(spans.fields, 4)
    >>> one = np.ones(mesh.y.size)
    >>> r = respond(spans, mesh=mesh, load=one[None], flexibility=one)
    >>> r.reaction.round(6).tolist(), float(r.moment[0, 0].round(6))
    ([[0.625, 0.375]], -0.125)
    """
    shapes, steps = _shapes(spans, mesh)
    curved = -np.einsum("ps,...js->...jp", mesh.twice, shapes * flexibility[..., None, :])
    free_moment = -np.einsum("ps,...rs->...rp", mesh.twice, load)
    free_shear = -np.einsum("ps,...rs->...rp", mesh.once, load)
    sag = -np.einsum("ps,...rs->...rp", mesh.twice, free_moment * flexibility[..., None, :])
    lines = np.stack([np.ones_like(mesh.y), mesh.y])
    basis = np.concatenate([curved, np.broadcast_to(lines, (*curved.shape[:-2], *lines.shape))], axis=-2)
    slopes = np.einsum("s,...rs->...r", mesh.once[-1], free_moment * flexibility[..., None, :])
    turns = np.einsum("s,...js->...j", mesh.once[-1], shapes * flexibility[..., None, :])
    matrix, right = _conditions(spans, mesh, basis, sag, (free_shear, free_moment), (turns, slopes))
    found = _solved(matrix, right)
    forces = found[..., :-2]
    return Response(
        mesh.y,
        free_moment + np.einsum("...rj,js->...rs", forces, shapes),
        free_shear + np.einsum("...rj,js->...rs", forces, steps),
        sag + np.einsum("...rj,...js->...rs", found, basis),
        forces[..., : len(spans.supports)],
    )


@lru_cache(maxsize=64)
def _shapes(spans: Spans, mesh: Grid) -> tuple[Array, Array]:
    """Moment and shear (J, S) of one unit of each reaction, then of the moment at a clamped start."""
    y = mesh.y[None, :]
    places = np.array(spans.supports)[:, None]
    after = (mesh.middle[None, :] > places).astype(np.float64)
    moment, shear = after * (y - places), after
    if spans.fixed_start:
        moment = np.concatenate([moment, np.ones_like(y)])
        shear = np.concatenate([shear, np.zeros_like(y)])
    return moment, shear


def _conditions(
    spans: Spans,
    mesh: Grid,
    basis: Array,
    sag: Array,
    free: tuple[Array, Array],
    turn: tuple[Array, Array],
) -> tuple[Array, Array]:
    """Rows: supports stay, clamps do not turn, no shear and (unless clamped) no moment at the end."""
    shapes = _shapes(spans, mesh)[0][:, -1]
    pushes = np.arange(shapes.size) < len(spans.supports)
    at = [int(np.argmin(np.abs(mesh.y - place))) for place in spans.supports]
    lead, patterns, unknowns = basis.shape[:-2], sag.shape[-2], basis.shape[-2]
    rows, right = [basis[..., k] for k in at], [-sag[..., k] for k in at]
    constant = np.zeros((*lead, unknowns))
    if spans.fixed_start:
        row = constant.copy()
        row[..., -1] = 1.0
        rows.append(row)
        right.append(np.zeros((*lead, patterns)))
    for known, unknown in ((free[0], pushes), (free[1], shapes)):
        row = constant.copy()
        row[..., :-2] = unknown
        rows.append(row)
        right.append(-known[..., -1])
    if spans.fixed_end:
        row = constant.copy()
        row[..., :-2], row[..., -1] = -turn[0], 1.0
        rows[-1], right[-1] = row, turn[1]
    shape = (*lead, patterns)
    return np.stack(rows, axis=-2), np.stack([np.broadcast_to(r, shape) for r in right], axis=-1)


def _solved(matrix: Array, right: Array) -> Array:
    """Solve for each pattern (..., R, J); a row that holds NaN gives NaN."""
    bad = np.isnan(matrix.sum(axis=(-2, -1)) + right.sum(axis=(-2, -1)))[..., np.newaxis, np.newaxis]
    safe = np.where(bad, np.eye(matrix.shape[-1]), matrix)
    scale = np.abs(safe).max(axis=-2, keepdims=True)
    found = np.linalg.solve(safe / scale, np.swapaxes(right, -1, -2)) / np.swapaxes(scale, -1, -2)
    return np.where(bad, np.nan, np.swapaxes(found, -1, -2))


INTERVALS = 10
"""Intervals a field in the solution of a prismatic beam; stations at the peaks are added to them."""


@lru_cache(maxsize=256)
def unit_response(spans: Spans) -> Response:
    """Response of a prismatic beam of EI = 1 to a uniform load of 1 on each field in turn (R = fields).

    Exact at its stations, which hold the places of zero shear, and near enough those of zero slope, under
    load on all fields, on the odd and on the even ones.

    Examples
    --------
    >>> r = unit_response(Spans.continuous(1.0, 1.0))
    >>> float(r.moment.sum(axis=0).min().round(6)), float(r.moment.sum(axis=0).max().round(6))
    (-0.125, 0.070313)
    """
    coarse = _uniform(spans, grid(spans.fields, INTERVALS))
    return _uniform(spans, grid(spans.fields, INTERVALS, _peaks(spans, coarse)))


def _uniform(spans: Spans, mesh: Grid) -> Response:
    fields = np.arange(len(spans.fields))[:, None]
    load = (mesh.field[None, :] == fields).astype(np.float64)
    return respond(spans, mesh=mesh, load=load, flexibility=np.ones(mesh.y.size))


def _peaks(spans: Spans, coarse: Response) -> tuple[float, ...]:
    """Places of zero shear (linear between stations) and, by a parabola, of zero slope, inside fields."""
    count, y = len(spans.fields), coarse.y
    places = []
    for pattern in {tuple(range(count)), tuple(range(0, count, 2)), tuple(range(1, count, 2))}:
        shear, sag = (v[list(pattern)].sum(axis=0) for v in (coarse.shear, coarse.deflection))
        for k in np.flatnonzero((shear[:-1] * shear[1:] < 0) & (np.diff(y) > 0)):
            places.append(y[k] + shear[k] / (shear[k] - shear[k + 1]) * (y[k + 1] - y[k]))
        rise, fall = sag[1:-1] - sag[:-2], sag[1:-1] - sag[2:]
        even = np.isclose(y[1:-1] - y[:-2], y[2:] - y[1:-1])
        for k in np.flatnonzero((rise * fall > 0) & even) + 1:
            before, after = sag[k] - sag[k - 1], sag[k] - sag[k + 1]
            places.append(y[k] + 0.5 * (before - after) / (before + after) * (y[k + 1] - y[k]))
    return tuple(sorted({float(v) for v in places}))
