"""Compiled loads of a transverse slice: on its nodes, and from the change of the beam's shear flow.

One candidate a call; formulas and their source in the public functions of `slice` that call it.
"""

import numpy as np
from numba import njit


@njit(cache=True, error_model="numpy")
def placed(force, own, lines, ends, chain, surface, plan, line_down, line_right):
    """Fill the nodal loads ``force`` (n, 4) of one case, as `PlateLoads.nodal` has them, and ``own`` (e,).

    ``own`` is the vertical load of each strip per metre of its width; ``surface, plan`` (e,), lines (n,).
    """
    for n in range(force.shape[0]):
        force[n, 0], force[n, 1], force[n, 2], force[n, 3] = line_right[n], 0.0, 0.0 - line_down[n], 0.0
    for end in range(2 if chain else 1):  # of a chain all first ends come first
        for e in range(ends.shape[0]):
            i, j, dx, width = ends[e, 0], ends[e, 1], lines[6, e], lines[2, e]
            down = surface[e] * width + plan[e] * abs(dx)
            half, turn = 0.5 * down, down * dx / 12.0
            if end == 0:
                own[e] = surface[e] + plan[e] * abs(dx) / width
                force[i, 2] -= half
                force[i, 3] -= turn
            if end == 1 or not chain:
                force[j, 2] -= half
                force[j, 3] += turn


@njit(cache=True, error_model="numpy")
def pushes(lines, ends, flow, push):
    """Fill ``push`` (k, n, 2): what flow of a unit load up, then right, puts on the nodes, right and up."""
    push[:] = 0.0
    for k in range(flow.shape[0]):
        for e in range(ends.shape[0]):
            c, s = lines[0, e], lines[1, e]
            for end in range(2):
                push[k, ends[e, end], 0] += flow[k, end, e] * c
                push[k, ends[e, end], 1] += flow[k, end, e] * s


@njit(cache=True, error_model="numpy")
def loads(force, lines, ends, x, z, flow, push, along, turns):
    """Add to the nodal loads ``force`` (n, 4) the change of the shear flow, and couples where nothing turns.

    ``flow`` (k, 2, e): tangential load of each strip at its ends for a unit load up, then right, ``push``
    what it puts on the nodes; ``along`` (2, e) takes those of this case. Returns the torque left over.
    """
    total = np.zeros(2)
    for n in range(force.shape[0]):
        total[0] += force[n, 2]
        total[1] += force[n, 0]
    along[:] = 0.0
    for k in range(flow.shape[0]):
        for end in range(2):
            for e in range(ends.shape[0]):
                along[end, e] += total[k] * flow[k, end, e]
        for n in range(force.shape[0]):
            force[n, 0] += total[k] * push[k, n, 0]
            force[n, 2] += total[k] * push[k, n, 1]
    torque, stiffness = 0.0, 0.0
    for n in range(force.shape[0]):
        torque += x[n] * force[n, 2] - z[n] * force[n, 0] + force[n, 3]
    if turns:
        for e in range(ends.shape[0]):
            stiffness += lines[2, e] * lines[2, e] * lines[5, e]
        for e in range(ends.shape[0]):
            # A couple spread along a strip does the work of normal forces -+ couple / b at its ends.
            couple = torque * lines[5, e] / stiffness
            right, up = couple * lines[7, e], -couple * lines[6, e]
            force[ends[e, 0], 0] -= right
            force[ends[e, 0], 2] -= up
            force[ends[e, 1], 0] += right
            force[ends[e, 1], 2] += up
    return torque
