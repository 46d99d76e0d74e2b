"""Compiled inner loops of beam torsion: one candidate a call (sources stand in the public functions)."""

import numpy as np
from numba import njit

LINE_FIELDS = 6


@njit(cache=True, error_model="numpy")
def stiffness_shapes(x):
    """Four shapes of the stiffness of a tensioned beam, 12, 6, 4, 2 at x = k h = 0.

    x^3 s / D, x^2 (c - 1) / D, x (x c - s) / D, x (s - x) / D with D = 2 - 2 c + x s; power series below 1,
    and above it everything over e^x, so that neither cancels nor overflows.
    """
    if x < 1.0:
        y, term = x * x, 1.0
        n1 = n2 = n3 = n4 = d = 0.0
        for n in range(9):  # term = x^2n / (2n + 1)!
            n1 += term
            n2 += term / (2 * n + 2)
            after = term / ((2 * n + 2) * (2 * n + 3))
            n3 += (2 * n + 2) * after
            n4 += after
            d += (2 * n + 2) * after / (2 * n + 4)
            term = after * y
        return n1 / d, n2 / d, n3 / d, n4 / d
    small = np.exp(-x)
    s, c = 0.5 * (1.0 - small * small), 0.5 * (1.0 + small * small)
    d = 2.0 * small - 2.0 * c + x * s
    return x**3 * s / d, 0.5 * x * x * (1.0 - small) ** 2 / d, x * (x * c - s) / d, x * (s - x * small) / d


@njit(cache=True, error_model="numpy")
def end_share(x):
    """Fixed-end bimoment over m h^2 / 12: 12 / x^2 ((x/2) coth(x/2) - 1)."""
    if x < 1.0:
        y, term = 0.25 * x * x, 1.0
        up = down = 0.0
        for n in range(9):
            down += term
            after = term / ((2 * n + 2) * (2 * n + 3))
            up += (2 * n + 2) * after
            term = after * y
        return 3.0 * up / down
    return 12.0 / (x * x) * (0.5 * x / np.tanh(0.5 * x) - 1.0)


@njit(cache=True, error_model="numpy")
def element(h, warping, uniform, k):
    """Fill the stiffness (4, 4) of one piece for (phi, phi') at its two ends; return `end_share`."""
    x = h * np.sqrt(uniform / warping)
    a, b, c, d = stiffness_shapes(x)
    r = warping / h
    k[0, 0], k[0, 1], k[0, 2], k[0, 3] = a * r / (h * h), b * r / h, -a * r / (h * h), b * r / h
    k[1, 1], k[1, 2], k[1, 3] = c * r, -b * r / h, d * r
    k[2, 2], k[2, 3], k[3, 3] = a * r / (h * h), -b * r / h, c * r
    for i in range(4):
        for j in range(i):
            k[i, j] = k[j, i]
    return end_share(x)


@njit(cache=True, error_model="numpy")
def stiff_row(length, warping, uniform, fast, matrix, k, share):
    """Factorise one beam into ``matrix``; ``k`` (pieces, 4, 4) and ``share`` (pieces,) are kept."""
    size = matrix.shape[0]
    matrix[:] = 0.0
    for p in range(length.size):
        share[p] = element(length[p], warping[p], uniform[p], k[p])
        for i in range(4):
            for j in range(i + 1):
                matrix[2 * p + i, i - j] += k[p, i, j]
    for i in range(size):
        if fast[i]:
            matrix[i, 0], matrix[i, 1:] = 1.0, 0.0
            for j in range(i + 1, min(i + 4, size)):
                matrix[j, j - i] = 0.0
    band_factor(matrix)


@njit(cache=True, error_model="numpy")
def line_row(length, warping, uniform, torque, fast, matrix, rhs, k, share, out):
    """Solve a factorised beam; ``out`` (pieces, 2, LINE_FIELDS): phi, phi', B, T_w, T_s, B'' at the ends."""
    pieces = length.size
    rhs[:] = 0.0
    for p in range(pieces):
        h, fixed = length[p], torque[p] * length[p] * length[p] / 12.0 * share[p]
        rhs[2 * p] += 0.5 * torque[p] * h
        rhs[2 * p + 1] += fixed
        rhs[2 * p + 2] += 0.5 * torque[p] * h
        rhs[2 * p + 3] -= fixed
    for i in range(rhs.size):
        rhs[i] = 0.0 if fast[i] else rhs[i]
    band_solve(matrix, rhs)
    for p in range(pieces):
        h, fixed = length[p], torque[p] * length[p] * length[p] / 12.0 * share[p]
        for end in range(2):
            push = twist = 0.0
            for j in range(4):
                push += k[p, 2 * end, j] * rhs[2 * p + j]
                twist += k[p, 2 * end + 1, j] * rhs[2 * p + j]
            sign = 2 * end - 1
            phi, rate = rhs[2 * p + 2 * end], rhs[2 * p + 2 * end + 1]
            whole = sign * (push - 0.5 * torque[p] * h)
            out[p, end, 0], out[p, end, 1] = phi, rate
            out[p, end, 2] = -sign * (twist + sign * fixed)
            out[p, end, 4] = uniform[p] * rate
            out[p, end, 3] = whole - out[p, end, 4]
            out[p, end, 5] = uniform[p] / warping[p] * out[p, end, 2] - torque[p]


@njit(cache=True, error_model="numpy")
def band_factor(matrix):
    """Cholesky factors in place; ``matrix[i, d]`` holds the entry of row i, column i - d."""
    n, band = matrix.shape[0], matrix.shape[1] - 1
    for i in range(n):
        for j in range(max(0, i - band), i + 1):
            total = matrix[i, i - j]
            for m in range(max(0, i - band), j):
                total -= matrix[i, i - m] * matrix[j, j - m]
            matrix[i, i - j] = np.sqrt(total) if i == j else total / matrix[j, 0]


@njit(cache=True, error_model="numpy")
def band_solve(matrix, rhs):
    """Solve in place with the factors of `band_factor`."""
    n, band = rhs.size, matrix.shape[1] - 1
    for i in range(n):
        for m in range(max(0, i - band), i):
            rhs[i] -= matrix[i, i - m] * rhs[m]
        rhs[i] /= matrix[i, 0]
    for i in range(n - 1, -1, -1):
        for m in range(i + 1, min(n, i + band + 1)):
            rhs[i] -= matrix[m, m - i] * rhs[m]
        rhs[i] /= matrix[i, 0]


@njit(cache=True, error_model="numpy")
def line_rows(length, warping, uniform, torque, fast, out):
    """Solve candidates under several torques each: length, warping, uniform (N, p), torque (N, R, p).

    ``out`` is (N, R, p, 2, LINE_FIELDS).
    """
    pieces, size = length.shape[1], 2 * length.shape[1] + 2
    matrix, rhs = np.empty((size, 4)), np.empty(size)
    k, share = np.empty((pieces, 4, 4)), np.empty(pieces)
    for c in range(length.shape[0]):
        stiff_row(length[c], warping[c], uniform[c], fast, matrix, k, share)
        for r in range(torque.shape[1]):
            line_row(length[c], warping[c], uniform[c], torque[c, r], fast, matrix, rhs, k, share, out[c, r])
