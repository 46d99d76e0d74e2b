"""Compiled inner loop of the envelopes along the span (sources stand in the public functions)."""

import numpy as np
from numba import njit


@njit(cache=True, error_model="numpy")
def envelope_rows(
    permanent,
    variable,
    on_variable,
    start,
    unfavourable,
    favourable,
    positive,
    negative,
    extreme,
    case,
    station,
):
    """Largest and smallest response over combinations and stations, with where they come from.

    ``variable`` (N or 1, K); combinations in groups of equal factors on permanent load, group t is
    ``start[t]:start[t + 1]``: within one only its largest and smallest variable load can govern, because a
    response is piecewise linear and convex in that load. Influences (S,); outputs (2, N): max, min.
    """
    one = variable.shape[0] == 1
    for i in range(permanent.size):
        g, row = permanent[i], 0 if one else i
        high, low = -np.inf, np.inf
        bad = np.isnan(g)
        for t in range(start.size - 1):
            up, down = g * unfavourable[t], g * favourable[t]
            most, least, c_most, c_least = -np.inf, np.inf, 0, 0
            for c in range(start[t], start[t + 1]):
                q = 0.0
                for k in range(variable.shape[1]):
                    q += on_variable[c, k] * variable[row, k]
                bad = bad or np.isnan(q)
                if q > most:
                    most, c_most = q, c
                if q < least:
                    least, c_least = q, c
            for end in range(2 if least < most else 1):
                q, c = (most, c_most) if end == 0 else (least, c_least)
                on, off = (q, 0.0) if q > 0.0 else (0.0, q)
                a, b = up + on, down + off
                for s in range(positive.size):
                    p, n = positive[s], negative[s]
                    top = a * p + b * n
                    bottom = b * p + a * n
                    if top > high:
                        high = top
                        case[0, i], station[0, i] = c, s
                    if bottom < low:
                        low = bottom
                        case[1, i], station[1, i] = c, s
        extreme[0, i] = np.nan if bad else high
        extreme[1, i] = np.nan if bad else low


@njit(cache=True, error_model="numpy")
def load_rows(permanent, variable, on_permanent, on_variable, start, extreme, case):
    """Largest and smallest factored load in each group of combinations, and which of the group it is.

    ``variable`` (N or 1, K), factors (C,) and (C, K), group t is ``start[t]:start[t + 1]``; out (T, 2, N).
    """
    one = variable.shape[0] == 1
    for i in range(permanent.size):
        row = 0 if one else i
        for t in range(start.size - 1):
            high, low = -np.inf, np.inf
            for c in range(start[t], start[t + 1]):
                w = on_permanent[c] * permanent[i]
                for k in range(variable.shape[1]):
                    w += on_variable[c, k] * variable[row, k]
                if not w <= high:
                    high = w
                    case[t, 0, i] = c - start[t]
                if not w >= low:
                    low = w
                    case[t, 1, i] = c - start[t]
            extreme[t, 0, i], extreme[t, 1, i] = high, low
