"""Points on the curves of the trade: circular arc, half ellipse, parabola, catenary, cycloid."""

from collections.abc import Callable
from typing import Literal, get_args

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import ellipeinc

from longvault.sections.symbols import Array

CurveKind = Literal["arc", "ellipse", "parabola", "catenary", "cycloid"]

_ITERATIONS = 6
"""Newton steps of the inversions below: to the last bits for a rise of 1/100 to 5 times the width; beyond,
points still lie on the curve and only their spacing drifts. (Monotone after the first step, quadratic.)"""
_CATENARY_ITERATIONS = 24


def curve_points(
    kind: CurveKind,
    *,
    width: ArrayLike,
    rise: ArrayLike | None = None,
    half_angle: ArrayLike | None = None,
    stations: int,
) -> tuple[Array, Array]:
    """Points on a symmetrical curve, evenly spaced in length along it, from left springing to right.

    ========== ============================================================== =====================
    kind       curve                                                          given by
    ========== ============================================================== =====================
    arc        circle; a rise of half the width is the semicircle, more is     rise or half_angle
               a horseshoe
    ellipse    upper half: (2 x / width)^2 + (z / rise)^2 = 1                 rise
    parabola   z = rise (1 - (2 x / width)^2)                                 rise
    catenary   z = rise - c (cosh(x / c) - 1), c from width and rise          rise
    cycloid    x = r (a - sin a), z = r (1 - cos a), width = 2 pi r; its      none, or a rise
               rise is width / pi. A given rise stretches it upright
    ========== ============================================================== =====================

    Parameters
    ----------
    kind : str
        One of the names above.
    width : array (...)
        Distance between the springings [m].
    rise : array (...), optional
        Crown above the springings [m].
    half_angle : array (...), optional
        For an arc, the angle from the crown to a springing [rad], between 0 and pi.
    stations : int
        Number n of points, at least 2.

    Returns
    -------
    x, z : array (..., n)
        From x = -width/2 to width/2 with z = 0 at the springings [m]. A width or rise that is not a finite
        number above 0 gives a NaN row.

    Raises
    ------
    ValueError
        For an unknown kind, too few stations, or a curve given by too little or too much.

    Notes
    -----
    Lengths are closed forms; points at equal lengths come from Newton's method on them (Lawrence, A Catalog
    of Special Plane Curves, from memory; checked against quadrature).

    Examples
    --------
    >>> x, z = curve_points("cycloid", width=6.2, stations=3)
    >>> x.tolist(), z.round(4).tolist()  # crown at 6.2 / pi
    ([-3.1, 0.0, 3.1], [0.0, 1.9735, 0.0])
    >>> x, z = curve_points("parabola", width=12.0, rise=4.0, stations=2001)
    >>> float(np.hypot(np.diff(x), np.diff(z)).sum().round(4))  # l (sqrt(1 + k^2) + asinh(k) / k), k = 4/3
    14.9438
    """
    if kind not in _CURVES:
        raise ValueError(f"kind: got {kind!r}; must be one of {', '.join(get_args(CurveKind))}")
    if stations < 2:
        raise ValueError(f"stations: got {stations}; must be 2 or more")
    width = np.asarray(width, dtype=np.float64)
    rise = _rise(kind, width, rise, half_angle)
    width, rise = (np.array(v)[..., None] for v in np.broadcast_arrays(width, rise))
    good = (width > 0) & (rise > 0) & np.isfinite(width) & np.isfinite(rise)
    half, rise = np.where(good, 0.5 * width, np.nan), np.where(good, rise, np.nan)
    share = (2.0 * np.arange(stations) - (stations - 1)) / (stations - 1)
    right = np.broadcast_to(share[stations // 2 :], (*half.shape[:-1], (stations + 1) // 2))
    x, z = _CURVES[kind](half, rise, right)
    x, z = np.where(right < 1.0, x, half), np.where(right < 1.0, z, 0.0 * rise)
    left_x, left_z = -x[..., ::-1][..., : stations // 2], z[..., ::-1][..., : stations // 2]
    return np.concatenate([left_x, x], axis=-1), np.concatenate([left_z, z], axis=-1)


def curve_length(kind: CurveKind, *, width: ArrayLike, rise: ArrayLike | None = None) -> Array:
    """Length of the curve of `curve_points` (...) [m], in closed form.

    Examples
    --------
    >>> float(curve_length("cycloid", width=2 * np.pi))  # 8 r
    8.0
    >>> float(curve_length("ellipse", width=10.0, rise=3.0).round(7))  # 2 a E(e)
    12.7634994
    """
    width = np.asarray(width, dtype=np.float64)
    half, rise = np.broadcast_arrays(0.5 * width, _rise(kind, width, rise, None))
    return 2.0 * _HALF_LENGTHS[kind](half, rise)


def _rise(kind: str, width: Array, rise: ArrayLike | None, half_angle: ArrayLike | None) -> Array:
    if half_angle is not None:
        if kind != "arc" or rise is not None:
            raise ValueError(f"half_angle: an arc without a rise takes one; got {kind!r}, rise {rise!r}")
        angle = np.asarray(half_angle, dtype=np.float64)
        inside = (angle > 0) & (angle < np.pi)
        return 0.5 * width * np.tan(0.5 * np.where(inside, angle, np.nan))
    if rise is not None:
        return np.asarray(rise, dtype=np.float64)
    if kind == "cycloid":
        return width / np.pi
    raise ValueError(f"rise: {kind} needs a rise" + (" or a half_angle" if kind == "arc" else ""))


def _newton(
    length: Callable[[Array], Array], speed: Callable[[Array], Array], wanted: Array, start: Array, end: Array
) -> Array:
    """Solve length(u) = wanted for u in [0, end]; a fixed number of steps keeps every row its own."""
    u = start
    for _ in range(_ITERATIONS):
        u = np.clip(u - (length(u) - wanted) / speed(u), 0.0, end)
    return u


def _root_integral(m: Array, u: Array) -> Array:
    """Integral of sqrt(1 + m u^2) from 0 to u, for m > -1 and u <= 1, or m >= 0."""
    k = np.sqrt(np.abs(m)) * u
    safe = np.where(k > 1e-4, k, 1.0)
    turn = np.where(m > 0, np.arcsinh(safe), np.arcsin(np.minimum(safe, 1.0))) / safe
    exact = 0.5 * u * (np.sqrt(np.maximum(1.0 + m * u * u, 0.0)) + turn)
    return np.where(k > 1e-4, exact, u * (1.0 + m * u * u / 6.0))


def _arc(half: Array, rise: Array, share: Array) -> tuple[Array, Array]:
    angle = 2.0 * np.arctan(rise / half)
    radius = (half * half + rise * rise) / (2.0 * rise)
    turn = angle * share
    # cos(turn) - cos(angle) as a product: no cancellation for shallow arcs
    return radius * np.sin(turn), 2.0 * radius * np.sin(0.5 * (angle + turn)) * np.sin(0.5 * (angle - turn))


def _ellipse(half: Array, rise: Array, share: Array) -> tuple[Array, Array]:
    m = 1.0 - (rise / half) ** 2
    quarter = np.broadcast_to(0.5 * np.pi, m.shape)
    wanted = ellipeinc(quarter, m) * share
    turn = _newton(
        lambda u: ellipeinc(u, m),
        lambda u: np.sqrt(1.0 - m * np.sin(u) ** 2),
        wanted,
        quarter * share,
        quarter,
    )
    return half * np.sin(turn), rise * np.cos(turn)


def _parabola(half: Array, rise: Array, share: Array) -> tuple[Array, Array]:
    m = (2.0 * rise / half) ** 2
    end = np.ones_like(m)
    u = _newton(
        lambda u: _root_integral(m, u),
        lambda u: np.sqrt(1.0 + m * u * u),
        _root_integral(m, end) * share,
        share,
        end,
    )
    return half * u, rise * (1.0 - u * u)


def _catenary_ratio(half: Array, rise: Array) -> Array:
    """Find half / c with rise = c (cosh(half / c) - 1); the start is an upper bound Newton falls from."""
    wanted = rise / half
    q = 2.0 * np.arcsinh(wanted)
    for _ in range(_CATENARY_ITERATIONS):
        curve = 2.0 * np.sinh(0.5 * q) ** 2
        q = q - (curve - wanted * q) / (np.sinh(q) - curve / q)
    return q


def _catenary(half: Array, rise: Array, share: Array) -> tuple[Array, Array]:
    q = _catenary_ratio(half, rise)
    u = np.arcsinh(np.sinh(q) * share)
    # cosh(q) - cosh(u) as a product
    return half * (u / q), (half / q) * 2.0 * np.sinh(0.5 * (q + u)) * np.sinh(0.5 * (q - u))


def _cycloid(half: Array, rise: Array, share: Array) -> tuple[Array, Array]:
    # with u = cos(a / 2) and upright stretch k, ds = -4 r sqrt(1 + (k^2 - 1) u^2) du (derived)
    m = (0.5 * np.pi * rise / half) ** 2 - 1.0
    end = np.ones_like(m)
    u = _newton(
        lambda u: _root_integral(m, u),
        lambda u: np.sqrt(np.maximum(1.0 + m * u * u, 1e-12)),
        _root_integral(m, end) * share,
        share,
        end,
    )
    turn = 2.0 * np.arcsin(u)
    return (half / np.pi) * (turn + np.sin(turn)), rise * (1.0 - u * u)


def _catenary_half_length(half: Array, rise: Array) -> Array:
    q = _catenary_ratio(half, rise)
    return half * np.sinh(q) / q


_CURVES: dict[str, Callable[[Array, Array, Array], tuple[Array, Array]]] = {
    "arc": _arc,
    "ellipse": _ellipse,
    "parabola": _parabola,
    "catenary": _catenary,
    "cycloid": _cycloid,
}

_HALF_LENGTHS: dict[str, Callable[[Array, Array], Array]] = {
    "arc": lambda half, rise: np.arctan(rise / half) * (half * half + rise * rise) / rise,
    "ellipse": lambda half, rise: half * ellipeinc(0.5 * np.pi, 1.0 - (rise / half) ** 2),
    "parabola": lambda half, rise: half * _root_integral((2.0 * rise / half) ** 2, np.ones_like(half)),
    "catenary": _catenary_half_length,
    "cycloid": lambda half, rise: (
        (4.0 * half / np.pi) * _root_integral((0.5 * np.pi * rise / half) ** 2 - 1.0, np.ones_like(half))
    ),
}
