"""Compiled envelope of a beam that varies along the span (formulas stand in `taper`)."""

import numpy as np
from numba import njit


@njit(cache=True, error_model="numpy")
def extreme_rows(plus, minus, gain, loss, numbers, up, down, extreme, case):
    """Fill the largest and the smallest response (2, N), and the combination each comes from.

    ``plus, minus`` (N,) permanent load where it adds and where it takes away, ``gain, loss`` (C, N) variable
    load likewise; ``numbers`` (C,) of the combinations, ``up, down`` (C,) their factors on permanent load.
    """
    extreme[0], extreme[1] = -np.inf, np.inf
    case[:] = 0
    for c in range(gain.shape[0]):
        for i in range(plus.size):
            high = up[c] * plus[i] + down[c] * minus[i] + gain[c, i]
            low = down[c] * plus[i] + up[c] * minus[i] + loss[c, i]
            if not high <= extreme[0, i]:
                extreme[0, i], case[0, i] = high, numbers[c]
            if not low >= extreme[1, i]:
                extreme[1, i], case[1, i] = low, numbers[c]
