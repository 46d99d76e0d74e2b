"""Compiled inner loop of form areas: one candidate a call (sources stand in the public functions)."""

import numpy as np
from numba import njit

from longvault.sections.kernels import usable

FORM_FIELDS = 4


@njit(cache=True, error_model="numpy")
def forms_row(x, z, first, second, t, surface, doubled, sines, out):
    """Fill ``out`` (FORM_FIELDS,): surface up to the first slope, up to the second, steeper; beam sides."""
    out[:] = np.nan
    if not usable(x, z, first, second, t):
        return
    out[:] = 0.0
    for e in range(first.size):
        dx, dz = x[second[e]] - x[first[e]], z[second[e]] - z[first[e]]
        length = np.sqrt(dx * dx + dz * dz)
        if not surface[e]:
            # two sides and the soffit; a half of a shared member has one side and half of the soffit
            out[3] += length + t[e] if doubled[e] else 2.0 * length + t[e]
            continue
        sine = abs(dz) / length
        k = 0 if sine <= sines[0] * (1.0 + 1e-12) else (1 if sine <= sines[1] * (1.0 + 1e-12) else 2)
        out[k] += length


@njit(cache=True, error_model="numpy")
def forms_rows(x, z, first, second, t, surface, doubled, sines, out):
    """Run `forms_row` over candidates."""
    for c in range(x.shape[0]):
        forms_row(x[c], z[c], first, second, t[c], surface, doubled, sines, out[c])
