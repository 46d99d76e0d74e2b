"""Compiled recovery of what the checks ask of a solved folded plate, and nothing else."""

from collections.abc import Callable
from functools import cache
from importlib import import_module
from importlib.util import find_spec
from typing import Any

import numpy as np


def _mid_span_loops(
    x: Any,
    z: Any,
    thickness: Any,
    ends: Any,
    wave: Any,
    sine: Any,
    amplitude: Any,
    moved: Any,
    load: Any,
    modulus: Any,
    poisson: Any,
    out: Any,
    movement: Any,
) -> None:
    """Sum forces over the harmonics, strip by strip; formulas and source as `plates_results.strip_forces`.

    ``moved`` (designs, H, n, 4), ``load`` (designs, e), ``sine`` (H,) at mid-span; ``out``
    (4, designs, e, 2): n_y, m_y, m_s at mid-span, n_ys at the first support; signs of moments and shear
    still follow each strip's own direction. ``movement`` (2, designs, n): right, up.
    """
    designs, harmonics = moved.shape[:2]
    e_in = modulus / (1.0 - poisson * poisson)
    g_in = 0.5 * modulus / (1.0 + poisson)
    for d in range(designs):
        for n in range(moved.shape[2]):
            right, up = 0.0, 0.0
            for h in range(harmonics):
                right += sine[h] * moved[d, h, n, 0]
                up += sine[h] * moved[d, h, n, 2]
            movement[0, d, n], movement[1, d, n] = right, up
        for n in range(ends.shape[0]):
            i, j = ends[n, 0], ends[n, 1]
            dx, dz = x[d, j] - x[d, i], z[d, j] - z[d, i]
            b = np.sqrt(dx * dx + dz * dz)
            c, s, t = dx / b, dz / b, thickness[d, n]
            e1, g = e_in * t, g_in * t
            bending = e1 * t * t / 12.0
            n_y0, n_y1, m_y0, m_y1, m_s0, m_s1, q0, q1 = 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0
            for h in range(harmonics):
                k = wave[d, h]
                one, two = moved[d, h, i], moved[d, h, j]
                u0, u1 = c * one[0] + s * one[2], c * two[0] + s * two[2]
                w0, w1 = c * one[2] - s * one[0], c * two[2] - s * two[0]
                v0, v1, r0, r1 = one[1], two[1], one[3], two[3]
                cross = 2.0 / 3.0 * k * (poisson * e1 + g)
                mid_u = (g * k * k * b / 3.0 * (u0 + u1) + cross * (v1 - v0)) / -(
                    16.0 / 3.0 * e1 / b + 8.0 / 15.0 * g * k * k * b
                )
                mid_v = (e1 * k * k * b / 3.0 * (v0 + v1) + cross * (u0 - u1)) / -(
                    16.0 / 3.0 * g / b + 8.0 / 15.0 * e1 * k * k * b
                )
                q = load[d, n] * amplitude[h]
                own = -0.5 * s * q * b / e1
                pull, slope = (u1 - u0) / b, (v1 - v0) / b
                across0, across1 = pull + 4.0 * mid_u / b + own, pull - 4.0 * mid_u / b - own
                rise, turn = 6.0 * (w1 - w0) / (b * b), c * q * b * b / (12.0 * bending)
                bent0 = rise - (4.0 * r0 + 2.0 * r1) / b - turn
                bent1 = (4.0 * r1 + 2.0 * r0) / b - rise - turn
                long0, long1 = -k * k * w0, -k * k * w1
                f = sine[h]
                n_y0 += f * (poisson * across0 - k * v0)
                n_y1 += f * (poisson * across1 - k * v1)
                m_y0 += f * (long0 + poisson * bent0)
                m_y1 += f * (long1 + poisson * bent1)
                m_s0 += f * (bent0 + poisson * long0)
                m_s1 += f * (bent1 + poisson * long1)
                q0 += k * u0 + slope + 4.0 * mid_v / b
                q1 += k * u1 + slope - 4.0 * mid_v / b
            out[0, d, n, 0], out[0, d, n, 1] = e1 * n_y0, e1 * n_y1
            out[1, d, n, 0], out[1, d, n, 1] = -bending * m_y0, -bending * m_y1
            out[2, d, n, 0], out[2, d, n, 1] = -bending * m_s0, -bending * m_s1
            out[3, d, n, 0], out[3, d, n, 1] = g * q0, g * q1


@cache
def compiled() -> Callable[..., None] | None:
    """Compile `_mid_span_loops` (kept on disk), or return None where numba is not installed."""
    if find_spec("numba") is None:
        return None
    numba = import_module("numba")
    kernel: Callable[..., None] = numba.njit(nogil=True, cache=True, error_model="numpy")(_mid_span_loops)
    return kernel
