"""Compiled recovery of what the checks ask of a solved folded plate, and nothing else."""

from typing import Any

import numpy as np
from numba import njit


@njit(nogil=True, cache=True, error_model="numpy")
def mid_span_loops(
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
    (5, designs, e, 2): n_y, n_s, m_y, m_s at mid-span, n_ys at the first support; signs of moments and shear
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
            per_b, per_e1, per_bending = 1.0 / b, 1.0 / e1, 1.0 / (12.0 * bending)
            soft_u, soft_v = 16.0 / 3.0 * e1 * per_b, 16.0 / 3.0 * g * per_b
            n_y0, n_y1, n_s0, n_s1, m_y0, m_y1 = 0.0, 0.0, 0.0, 0.0, 0.0, 0.0
            m_s0, m_s1, q0, q1 = 0.0, 0.0, 0.0, 0.0
            for h in range(harmonics):
                k = wave[d, h]
                x0, z0, x1, z1 = moved[d, h, i, 0], moved[d, h, i, 2], moved[d, h, j, 0], moved[d, h, j, 2]
                v0, r0, v1, r1 = moved[d, h, i, 1], moved[d, h, i, 3], moved[d, h, j, 1], moved[d, h, j, 3]
                u0, u1, w0, w1 = c * x0 + s * z0, c * x1 + s * z1, c * z0 - s * x0, c * z1 - s * x1
                cross = 2.0 / 3.0 * k * (poisson * e1 + g)
                wide = k * k * b
                mid_u = (g * wide / 3.0 * (u0 + u1) + cross * (v1 - v0)) / -(soft_u + 8.0 / 15.0 * g * wide)
                mid_v = (e1 * wide / 3.0 * (v0 + v1) + cross * (u0 - u1)) / -(soft_v + 8.0 / 15.0 * e1 * wide)
                q = load[d, n] * amplitude[h]
                own = 4.0 * mid_u * per_b - 0.5 * s * q * b * per_e1
                pull, slope = (u1 - u0) * per_b, (v1 - v0) * per_b
                across0, across1 = pull + own, pull - own
                rise, turn = 6.0 * (w1 - w0) * per_b * per_b, c * q * b * b * per_bending
                bent0 = rise - (4.0 * r0 + 2.0 * r1) * per_b - turn
                bent1 = (4.0 * r1 + 2.0 * r0) * per_b - rise - turn
                long0, long1 = -k * k * w0, -k * k * w1
                f = sine[h]
                n_y0 += f * (poisson * across0 - k * v0)
                n_y1 += f * (poisson * across1 - k * v1)
                n_s0 += f * (across0 - poisson * k * v0)
                n_s1 += f * (across1 - poisson * k * v1)
                m_y0 += f * (long0 + poisson * bent0)
                m_y1 += f * (long1 + poisson * bent1)
                m_s0 += f * (bent0 + poisson * long0)
                m_s1 += f * (bent1 + poisson * long1)
                bow = 4.0 * mid_v * per_b
                q0 += k * u0 + slope + bow
                q1 += k * u1 + slope - bow
            out[0, d, n, 0], out[0, d, n, 1] = e1 * n_y0, e1 * n_y1
            out[1, d, n, 0], out[1, d, n, 1] = e1 * n_s0, e1 * n_s1
            out[2, d, n, 0], out[2, d, n, 1] = -bending * m_y0, -bending * m_y1
            out[3, d, n, 0], out[3, d, n, 1] = -bending * m_s0, -bending * m_s1
            out[4, d, n, 0], out[4, d, n, 1] = g * q0, g * q1
