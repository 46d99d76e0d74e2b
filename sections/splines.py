"""Clamped B-splines as matrices: control values in, values at stations out."""

from functools import lru_cache

import numpy as np
from scipy.interpolate import BSpline

from longvault.sections import kernels
from longvault.sections.symbols import Array


@lru_cache(maxsize=64)
def basis_matrix(controls: int, stations: tuple[float, ...], degree: int = 3) -> Array:
    """Values of the clamped uniform B-spline basis at parameters in [0, 1], shape (stations, controls).

    Rows add up to one and no entry is negative, so a spline stays within its control values (de Boor,
    A Practical Guide to Splines, 1978).

    Raises
    ------
    ValueError
        If there are not more controls than the degree.

    Examples
    --------
    >>> basis_matrix(4, (0.0, 0.5, 1.0)).tolist()
    [[1.0, 0.0, 0.0, 0.0], [0.125, 0.375, 0.375, 0.125], [0.0, 0.0, 0.0, 1.0]]
    """
    if controls <= degree:
        raise ValueError(f"controls: got {controls}; a spline of degree {degree} needs more than {degree}")
    inner = np.linspace(0.0, 1.0, controls - degree + 1)
    knots = np.concatenate([np.zeros(degree), inner, np.ones(degree)])
    matrix: Array = BSpline.design_matrix(np.asarray(stations), knots, degree).toarray()
    matrix.flags.writeable = False
    return matrix


def combine(controls: Array, matrix: Array) -> Array:
    """Spline values (..., s) from control values (..., k) and a basis matrix (s, k).

    Examples
    --------
    >>> import numpy as np
    >>> combine(np.array([0.0, 1.0, 1.0, 0.0]), basis_matrix(4, (0.5,))).tolist()
    [0.75]
    """
    controls = np.ascontiguousarray(controls)
    values = np.empty((*controls.shape[:-1], matrix.shape[0]))
    kernels.combine_rows(controls.reshape(-1, matrix.shape[1]), matrix, values.reshape(-1, matrix.shape[0]))
    return values


def fit_controls(matrix: Array, points: Array, *, fixed_ends: bool = True) -> Array:
    """Least-squares control values (k,) for points (s,), the end values kept when ``fixed_ends``.

    Examples
    --------
    >>> import numpy as np
    >>> u = tuple(np.linspace(0, 1, 21))
    >>> float(fit_controls(basis_matrix(4, u), np.array(u) ** 2)[2].round(6))
    0.333333
    """
    if not fixed_ends:
        return np.asarray(np.linalg.lstsq(matrix, points, rcond=None)[0], dtype=np.float64)
    rest = points - matrix[:, 0] * points[0] - matrix[:, -1] * points[-1]
    inner = np.linalg.lstsq(matrix[:, 1:-1], rest, rcond=None)[0]
    return np.concatenate([[points[0]], inner, [points[-1]]])
