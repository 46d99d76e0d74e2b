"""Compiled envelope of transverse slices: each candidate is solved and looked at while it is at hand.

One candidate a call; formulas and their source in `slice_checks`.
"""

import numpy as np
from numba import njit

from longvault.constraints.slice_kernel import FREEDOMS, one_slice, room


@njit(cache=True, error_model="numpy")
def _envelope(rows, n_s, m_s, over, pull, total, bent, use):
    """Fill the largest moment ``bent`` and ``use`` of the mesh (2 e,) over the combinations ``rows`` (R, P).

    ``n_s, m_s`` (P, 2 e); ``over`` (2 e,) is 1 / m_R, ``pull`` 1 / (a_s f_yd); ``total`` (2, 2 e) is room.
    What is no number stays none.
    """
    bent[:] = 0.0
    use[:] = 0.0
    for r in range(rows.shape[0]):
        total[:] = 0.0
        for p in range(rows.shape[1]):
            factor = rows[r, p]
            if factor == 0.0:
                continue
            for q in range(bent.size):
                total[0, q] += factor * m_s[p, q]
                total[1, q] += factor * n_s[p, q]
        for q in range(bent.size):
            moment, force = abs(total[0, q]), total[1, q]
            share = moment * over[q] + pull * (0.0 if force <= 0.0 else force)
            bent[q] = moment if moment > bent[q] or moment != moment else bent[q]
            use[q] = share if share > use[q] or share != share else use[q]


@njit(cache=True, error_model="numpy")
def _movement(rows, moved, slots):
    """Largest sideways movement of the nodes ``slots`` over the combinations."""
    largest = 0.0
    for n in slots:
        for r in range(rows.shape[0]):
            total = 0.0
            for p in range(rows.shape[1]):
                total += rows[r, p] * moved[p, n, 0]
            if not abs(total) <= largest:
                largest = abs(total)
            if np.isnan(largest):
                return largest
    return largest


@njit(cache=True, error_model="numpy")
def _largest(values, surface):
    """Largest of ``values`` (2 e,) at both ends of the strips ``surface``, NaN if there is one."""
    largest = 0.0
    for e in surface:
        for q in range(2 * e, 2 * e + 2):
            if not values[q] <= largest:
                largest = values[q]
            if np.isnan(largest):
                return largest
    return largest


@njit(cache=True, error_model="numpy", nogil=True)
def slice_peak_rows(given, surface, slots, resistance, force, ultimate, service, peaks):
    """Fill ``peaks`` (D, 3): moment across, use of the mesh, movement of the ``slots``.

    ``given`` holds what `slice.Slices` lists; ``surface`` strips looked at, ``resistance`` (D, e) of the mesh
    to bending [N m/m], ``force`` at its yield [N/m]; ``ultimate, service`` (D or 1, R, P) factors on the
    cases.
    """
    cases, designs, nodes = given[14].shape
    strips = resistance.shape[1]
    space, torque, held = room(given), np.empty(cases), np.empty((cases, nodes, 4))
    n_s, m_s = np.empty((cases, strips, 2)), np.empty((cases, strips, 2))
    moved, total = np.empty((cases, nodes, FREEDOMS)), np.empty((2, 2 * strips))
    over, bent, use = np.empty(2 * strips), np.empty(2 * strips), np.empty(2 * strips)
    for d in range(designs):
        one_slice(given, d, space, n_s, m_s, moved, held, torque)
        for e in range(strips):
            over[2 * e] = over[2 * e + 1] = 1.0 / resistance[d, e]
        flat_n, flat_m = n_s.reshape(cases, -1), m_s.reshape(cases, -1)
        own = min(d, ultimate.shape[0] - 1)
        _envelope(ultimate[own], flat_n, flat_m, over, 1.0 / force, total, bent, use)
        peaks[d, 0], peaks[d, 1] = _largest(bent, surface), _largest(use, surface)
        peaks[d, 2] = _movement(service[min(d, service.shape[0] - 1)], moved, slots)
