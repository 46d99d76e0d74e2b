"""Start from a design I have: a digitised mid-line from CSV or DXF, fitted by a spline, with its error."""

import csv
import math
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import ArrayLike

from longvault.sections.section_file import SectionFileError
from longvault.sections.splines import basis_matrix, fit_controls
from longvault.sections.strips import Strips
from longvault.sections.symbols import Array

MAX_POINTS = 20_000
UNITS = {"mm": 1e-3, "cm": 1e-2, "m": 1.0}
_DXF_UNITS = {4: "mm", 5: "cm", 6: "m"}
_FLAT = 1e-3
"""Curves of a drawing are followed to this share of its size."""


@dataclass(frozen=True, slots=True, eq=False)
class FittedMidline:
    """A spline through digitised points.

    Parameters
    ----------
    strips : Strips
        The mid-line at even stations with the given thickness.
    controls : array (k, 2)
        Control points [m].
    error_rms, error_max : float
        Distance of the points from the spline [m].
    worst_point : int
        Number of the point that lies furthest off.
    """

    strips: Strips
    controls: Array
    error_rms: float
    error_max: float
    worst_point: int


def read_midline(path: str | Path, *, unit: str | None = None) -> Array:
    """Read the points (n, 2) of a mid-line from a ``.csv`` or ``.dxf`` file [m].

    CSV: a header naming two columns ``x_m, z_m`` (or ``x_mm, z_mm``, ``x_cm, z_cm``), one point a row, other
    columns ignored. DXF: lines, arcs, polylines and splines of the model space that join end to end into
    one open line; its unit is taken from the drawing unless given.

    Parameters
    ----------
    path : path
        File to read.
    unit : str, optional
        ``mm``, ``cm`` or ``m``: overrides what the file says.

    Raises
    ------
    SectionFileError
        One message: what is wrong, where, and what is allowed.
    """
    path = Path(path)
    if unit is not None and unit not in UNITS:
        raise ValueError(f"unit: got {unit!r}; must be one of {', '.join(UNITS)}")
    readers = {".csv": _read_csv, ".dxf": _read_dxf}
    if path.suffix.lower() not in readers:
        raise SectionFileError(f"{path}: a mid-line is read from {' or '.join(readers)}")
    try:
        points = readers[path.suffix.lower()](path, unit)
    except SectionFileError as error:
        raise SectionFileError(f"{path}: {error}") from None
    except OSError as error:
        raise SectionFileError(f"{path}: cannot be read ({error.strerror or error})") from None
    return _checked(path, points)


def _checked(path: Path, points: Array) -> Array:
    if not np.isfinite(points).all():
        raise SectionFileError(
            f"{path}: point {int(np.flatnonzero(~np.isfinite(points).all(1))[0])} is not finite"
        )
    step = np.hypot(*np.diff(points, axis=0).T)
    points = points[np.concatenate([[True], step > 1e-12 * max(float(np.ptp(points)), 1e-300)])]  # twins
    if len(points) < 4:
        raise SectionFileError(f"{path}: holds {len(points)} different points; a fit needs at least 4")
    if len(points) > MAX_POINTS:
        raise SectionFileError(f"{path}: holds {len(points)} points; at most {MAX_POINTS} are read")
    return points


def _read_csv(path: Path, unit: str | None) -> Array:
    try:
        with path.open(newline="", encoding="utf-8-sig") as file:
            rows = [row for row in csv.reader(file) if row and not row[0].lstrip().startswith("#")]
    except UnicodeDecodeError:
        raise SectionFileError("is not UTF-8 text") from None
    if not rows:
        raise SectionFileError("is empty; a header x_m, z_m is needed")
    header = [name.strip() for name in rows[0]]
    found = [u for u in UNITS if f"x_{u}" in header and f"z_{u}" in header]
    if len(found) != 1:
        raise SectionFileError(f"header {', '.join(header)}: needs the columns x_m and z_m (or _mm, _cm)")
    columns = header.index(f"x_{found[0]}"), header.index(f"z_{found[0]}")
    points = [[_number(row, c, line) for c in columns] for line, row in enumerate(rows[1:], start=2)]
    return np.array(points, dtype=np.float64).reshape(-1, 2) * UNITS[unit or found[0]]


def _number(row: list[str], column: int, line: int) -> float:
    try:
        value = float(row[column])
    except (ValueError, IndexError):
        got = row[column] if column < len(row) else "nothing"
        raise SectionFileError(
            f"row {line}: got {got!r}; must be a number (decimal point, not comma)"
        ) from None
    if not math.isfinite(value):
        raise SectionFileError(f"row {line}: got {value}; must be a finite number")
    return value


def _read_dxf(path: Path, unit: str | None) -> Array:
    import ezdxf
    from ezdxf import path as paths

    try:
        drawing = ezdxf.readfile(path)
    except (ezdxf.DXFError, OSError) as error:
        if not path.is_file():
            raise
        raise SectionFileError(f"is not a readable DXF drawing ({error})") from None
    unit = unit or _DXF_UNITS.get(int(drawing.header.get("$INSUNITS", 0)))
    if unit is None:
        raise SectionFileError("does not say its unit; give it as mm, cm or m")
    curves = [
        paths.make_path(e) for e in drawing.modelspace().query("LINE ARC LWPOLYLINE POLYLINE SPLINE ELLIPSE")
    ]
    if not curves:
        raise SectionFileError("holds no line, arc, polyline or spline in its model space")
    ends = np.array([[p.x, p.y] for curve in curves for p in (curve.start, curve.end)])
    flat = _FLAT * max(float(np.ptp(ends, axis=0).max()), 1e-9)
    pieces = [np.array([[p.x, p.y] for p in curve.flattening(flat)]) for curve in curves]
    return _chained(pieces, flat) * UNITS[unit]


def _chained(pieces: list[Array], near: float) -> Array:
    """Join pieces end to end, whichever way each was drawn."""
    line, rest = pieces[0], list(pieces[1:])
    while rest:
        for k, piece in enumerate(rest):
            joined = _joined(line, piece, near)
            if joined is not None:
                line = joined
                rest.pop(k)
                break
        else:
            raise SectionFileError(
                f"its {len(pieces)} curves do not join into one line; {len(rest)} are apart"
            )
    return line


def _joined(line: Array, piece: Array, near: float) -> Array | None:
    for candidate in (piece, piece[::-1]):
        if np.hypot(*(candidate[0] - line[-1])) <= near:
            return np.concatenate([line, candidate[1:]])
        if np.hypot(*(candidate[-1] - line[0])) <= near:
            return np.concatenate([candidate[:-1], line])
    return None


def fit_midline(
    points: ArrayLike, *, thickness: ArrayLike, controls: int = 8, stations: int = 65, part: str = "wing"
) -> FittedMidline:
    """Fit a clamped cubic spline to digitised points by least squares, ends kept.

    The parameter starts as the share of the chord length (de Boor, A Practical Guide to Splines, 1978) and is
    moved to the nearest place on the spline six times, so that the error is a distance. Fewer controls smooth
    a shaky line; more follow it.

    Parameters
    ----------
    points : array (n, 2)
        In order along the line, at least as many as controls [m].
    thickness : float or array (stations - 1,)
        Thickness of the strips [m].
    controls : int
        Number of control points, at least 4.
    stations : int
        Nodes of the strips.
    part : str
        Label of the strips.

    Raises
    ------
    ValueError
        If points or controls do not fit together.

    Examples
    --------
    >>> angle = np.linspace(np.pi, 0.0, 40)
    >>> fit = fit_midline(np.stack([np.cos(angle), np.sin(angle)], axis=1), thickness=0.1)
    >>> fit.error_max < 1e-3
    True
    """
    points = np.asarray(points, dtype=np.float64)
    if points.ndim != 2 or points.shape[1] != 2 or not np.isfinite(points).all():
        raise ValueError(f"points: got shape {points.shape}; must be finite, (n, 2)")
    if controls < 4 or len(points) < controls:
        raise ValueError(f"controls: got {controls}; must be 4 to the number of points, {len(points)}")
    place = _run_length(points)
    place = place / place[-1]
    dense = np.linspace(0.0, 1.0, 20 * max(controls, 50) + 1)
    dense_matrix = basis_matrix(controls, tuple(dense))
    for _ in range(6):
        matrix = basis_matrix.__wrapped__(controls, tuple(place))  # not worth keeping: one use each
        net = np.stack([fit_controls(matrix, points[:, k]) for k in (0, 1)], axis=1)
        curve = dense_matrix @ net
        place, error = _nearest(points, dense, curve)
    length = _run_length(curve)
    even = np.interp(np.linspace(0.0, length[-1], stations), length, dense)
    line = basis_matrix(controls, tuple(even)) @ net
    strips = Strips.chain(line[:, 0], line[:, 1], thickness, part)
    worst = int(np.argmax(error))
    return FittedMidline(strips, net, float(np.sqrt(np.mean(error**2))), float(error[worst]), worst)


def _run_length(points: Array) -> Array:
    return np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])


def _nearest(points: Array, parameter: Array, curve: Array) -> tuple[Array, Array]:
    """Parameter of the nearest place on a dense polyline, kept in order, and the distance to it."""
    from scipy.spatial import cKDTree

    near = cKDTree(curve).query(points)[1]
    best_place, best = parameter[near], np.full(len(points), np.inf)
    for side in (-1, 0):
        start = np.clip(near + side, 0, len(curve) - 2)
        a, along = curve[start], curve[start + 1] - curve[start]
        share = np.clip(
            np.einsum("ni,ni->n", points - a, along) / np.einsum("ni,ni->n", along, along), 0.0, 1.0
        )
        distance = np.hypot(*(a + share[:, None] * along - points).T)
        closer = distance < best
        best = np.where(closer, distance, best)
        best_place = np.where(
            closer, parameter[start] + share * (parameter[start + 1] - parameter[start]), best_place
        )
    place = np.maximum.accumulate(best_place)
    place[0], place[-1] = 0.0, 1.0
    return place, best
