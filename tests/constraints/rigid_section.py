"""A finite-strip solution whose cross-section keeps its shape: the oracle for bending with torsion.

Strips with linear membrane displacements and cubic plate bending, sine series along the span, ends on
diaphragms that hold the section in its plane and let it warp (Cheung, Finite Strip Method in Structural
Analysis, 1976). Every node is tied to one rigid movement (U, W, rotation) of the section; the warping of
each node stays free. No shear centre, no sectorial coordinate and no principal axis enters.
"""

import numpy as np


def strip_matrix(b, t, k, modulus, poisson, stiffer=1.0, twist=1.0):
    """Stiffness per half span for (u1, v1, w1, r1, u2, v2, w2, r2), axes along and across the strip."""
    e1, g = modulus * t / (1 - poisson**2), 0.5 * modulus * t / (1 + poisson) * stiffer
    plate = modulus * t**3 / 12 / (1 - poisson**2)
    out = np.zeros((8, 8))
    sign = (-1.0, 1.0)
    for i in range(2):
        for j in range(2):
            c = 2.0 if i == j else 1.0
            out[4 * i, 4 * j] = e1 * sign[i] * sign[j] / b + g * k**2 * b * c / 6
            out[4 * i + 1, 4 * j + 1] = g * sign[i] * sign[j] / b + e1 * k**2 * b * c / 6
            out[4 * i, 4 * j + 1] = -poisson * e1 * k * sign[i] / 2 + g * k * sign[j] / 2
            out[4 * j + 1, 4 * i] = out[4 * i, 4 * j + 1]
    node, weight = np.polynomial.legendre.leggauss(5)
    s, weight = 0.5 * (node + 1), 0.5 * weight * b
    n = np.array([1 - 3 * s**2 + 2 * s**3, b * (s - 2 * s**2 + s**3), 3 * s**2 - 2 * s**3, b * (s**3 - s**2)])
    n1 = (
        np.array([6 * s**2 - 6 * s, b * (1 - 4 * s + 3 * s**2), 6 * s - 6 * s**2, b * (3 * s**2 - 2 * s)]) / b
    )
    n2 = np.array([12 * s - 6, b * (6 * s - 4), 6 - 12 * s, b * (6 * s - 2)]) / b**2
    mixed = (n2 * weight) @ n.T
    bend = (
        (n2 * weight) @ n2.T
        + k**4 * (n * weight) @ n.T
        + 2 * twist * (1 - poisson) * k**2 * (n1 * weight) @ n1.T
    )
    rows = [2, 3, 6, 7]
    out[np.ix_(rows, rows)] = plate * (bend - poisson * k**2 * (mixed + mixed.T))
    return out


def rigid_section_stress(
    strips, *, span, load, x, modulus, right=0.0, z=0.0, poisson=0.0, harmonics=199, at=0.5, stiffer=1.0,
    twist=1.0,
):  # fmt: skip
    """Stress along the span at every node and at ``at`` of the span, and the movement (U, W, rotation).

    ``load`` acts down in the line ``x``, ``right`` to the right at the height ``z``.

    ``stiffer`` multiplies the membrane's shear modulus, ``twist`` the plates' twisting stiffness.
    """
    nodes = strips.x.shape[-1]
    tie = np.zeros((4 * nodes, 3 + nodes))
    for i in range(nodes):
        tie[4 * i, [0, 2]] = 1.0, -strips.z[i]
        tie[4 * i + 1, 3 + i] = 1.0
        tie[4 * i + 2, [1, 2]] = 1.0, strips.x[i]
        tie[4 * i + 3, 2] = 1.0
    stress, moved = np.zeros(nodes), np.zeros(3)
    for m in range(1, harmonics + 1, 2):
        k = m * np.pi / span
        whole = np.zeros((4 * nodes, 4 * nodes))
        for (i, j), t in zip(strips.ends, strips.thickness, strict=True):
            dx, dz = strips.x[j] - strips.x[i], strips.z[j] - strips.z[i]
            b = np.hypot(dx, dz)
            turn = np.eye(8)
            for first in (0, 4):
                turn[first, [first, first + 2]] = dx / b, dz / b
                turn[first + 2, [first, first + 2]] = -dz / b, dx / b
            rows = np.r_[4 * i : 4 * i + 4, 4 * j : 4 * j + 4]
            whole[np.ix_(rows, rows)] += (
                turn.T @ strip_matrix(b, t, k, modulus, poisson, stiffer, twist) @ turn
            )
        force = np.zeros(3 + nodes)
        force[1:3] = np.array([-1.0, -x]) * 4 * load / (m * np.pi)
        force[[0, 2]] += np.array([1.0, -z]) * 4 * right / (m * np.pi)
        found = np.linalg.solve(tie.T @ whole @ tie, force)
        stress -= modulus * k * found[3:] * np.sin(m * np.pi * at)
        moved += found[:3] * np.sin(m * np.pi * at)
    return stress, moved
