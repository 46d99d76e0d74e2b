"""Compiled inner loop of the envelopes along the span (sources stand in the public functions)."""

import numpy as np
from numba import njit


@njit(cache=True, error_model="numpy")
def envelope_rows(permanent, variable, unfavourable, favourable, positive, negative, extreme, case, station):
    """Largest and smallest response over combinations and stations, with where they come from.

    ``permanent`` (N,), ``variable`` (N or 1, C), factors (C,), influences (S,); outputs (N, 2): max, min.
    """
    one = variable.shape[0] == 1
    for i in range(permanent.size):
        g = permanent[i]
        row = 0 if one else i
        high, low = -np.inf, np.inf
        for c in range(unfavourable.size):
            q = variable[row, c]
            up, down = g * unfavourable[c], g * favourable[c]
            on, off = (q, 0.0) if q > 0.0 else (0.0, q)
            for s in range(positive.size):
                p, n = positive[s], negative[s]
                most = (up + on) * p + (down + off) * n
                least = (down + off) * p + (up + on) * n
                if most > high:
                    high = most
                    case[i, 0], station[i, 0] = c, s
                if least < low:
                    low = least
                    case[i, 1], station[i, 1] = c, s
        bad = np.isnan(g) or np.isnan(variable[row].sum())
        extreme[i, 0] = np.nan if bad else high
        extreme[i, 1] = np.nan if bad else low


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
