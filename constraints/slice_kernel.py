"""Compiled plane frame of a transverse slice: all load cases of one candidate on one factorisation.

One candidate a call; formulas and their source in the public functions of `slice` that call it.
"""

import numpy as np
from numba import njit

FREEDOMS = 3
"""Of a node of the slice: right, up, turn from x to z."""


CHAIN = 2 * FREEDOMS - 1
"""Half-bandwidth of a chain."""

ROWS, COLUMNS = np.triu_indices(2 * FREEDOMS)
"""Row and column of each value of `_stiffness`."""


@njit(cache=True, error_model="numpy")
def _stiffness(k, dx, dz, b, stretch, bending):
    """Fill ``k`` (21,) with the upper triangle of a straight bar, row by row: x1 z1 r1 x2 z2 r2."""
    c, s = dx / b, dz / b
    pull, turn = stretch / b, bending / b
    lift = 12.0 * turn / (b * b)
    xx, xz, zz = c * c * pull + s * s * lift, c * s * (pull - lift), s * s * pull + c * c * lift
    xr, zr = -s * 6.0 * turn / b, c * 6.0 * turn / b
    k[0], k[1], k[2], k[3], k[4], k[5] = xx, xz, xr, -xx, -xz, xr
    k[6], k[7], k[8], k[9], k[10] = zz, zr, -xz, -zz, zr
    k[11], k[12], k[13], k[14] = 4.0 * turn, -xr, -zr, 2.0 * turn
    k[15], k[16], k[17] = xx, xz, -xr
    k[18], k[19], k[20] = zz, -zr, 4.0 * turn


@njit(cache=True, error_model="numpy")
def _assemble(a, k, lines, entry, link, joined_entry):
    """Fill the flat band ``a`` with the strips and the links, each value at its ``entry``."""
    a[:] = 0.0
    for e in range(entry.shape[0]):
        _stiffness(k, lines[0, e], lines[1, e], lines[2, e], lines[3, e], lines[4, e])
        for v in range(21):
            a[entry[e, v]] += k[v]
    for n in range(joined_entry.shape[0]):
        for v in range(10):
            a[joined_entry[n, v]] += link[v, n]


@njit(cache=True, error_model="numpy")
def _hold(a, y, spring, place, band):
    """Add springs; what is held fast leaves the system (unit pivot, no load)."""
    for n in range(place.size):
        for d in range(FREEDOMS):
            i, stiffness = FREEDOMS * place[n] + d, spring[n, d + (1 if d else 0)]
            if stiffness == np.inf:
                a[i] = 0.0
                for v in range(1, min(band, i) + 1):
                    a[i - v, v] = 0.0
                a[i, 0] = 1.0
                y[i] = 0.0
            else:
                a[i, 0] += stiffness


@njit(inline="always", error_model="numpy")
def _eliminate(a, y, size, band):
    """Solve in place by LDL^T, down the band and back up; both arrays have ``band`` spare rows."""
    cases = y.shape[1]
    for i in range(size):
        over = 1.0 / a[i, 0]
        for v in range(1, band + 1):
            share = a[i, v] * over
            for w in range(v, band + 1):
                a[i + v, w - v] -= share * a[i, w]
            for p in range(cases):
                y[i + v, p] -= share * y[i, p]
        a[i, 0] = over
    for i in range(size - 1, -1, -1):
        for p in range(cases):
            left = y[i, p]
            for v in range(1, band + 1):
                left -= a[i, v] * y[i + v, p]
            y[i, p] = left * a[i, 0]


@njit(cache=True, error_model="numpy")
def _solve(a, y, size, band):
    """Solve in place; a chain's short loops, told to the compiler as numbers, take half the time."""
    if band == CHAIN:
        _eliminate(a, y, size, CHAIN)
    else:
        _eliminate(a, y, size, band)


@njit(cache=True, error_model="numpy")
def _loads(force, lines, ends, x, z, flow, along, turns):
    """Add to the nodal loads ``force`` (n, 4) the change of the shear flow, and couples where nothing turns.

    ``flow`` (k, 2, e): tangential load of each strip at its ends for a unit load up, then right; ``along``
    (2, e) takes those of this case. Returns the torque that is left over.
    """
    total = np.zeros(2)
    for n in range(force.shape[0]):
        total[0] += force[n, 2]
        total[1] += force[n, 0]
    for e in range(ends.shape[0]):
        c, s = lines[0, e] / lines[2, e], lines[1, e] / lines[2, e]
        for end in range(2):
            along[end, e] = 0.0
            for k in range(flow.shape[0]):
                along[end, e] += total[k] * flow[k, end, e]
            force[ends[e, end], 0] += along[end, e] * c
            force[ends[e, end], 2] += along[end, e] * s
    torque, stiffness = 0.0, 0.0
    for n in range(force.shape[0]):
        torque += x[n] * force[n, 2] - z[n] * force[n, 0] + force[n, 3]
    if turns:
        for e in range(ends.shape[0]):
            stiffness += lines[2, e] * lines[4, e]
        for e in range(ends.shape[0]):
            # A couple spread along a strip does the work of normal forces -+ couple / b at its ends.
            couple = torque * lines[4, e] / (stiffness * lines[2, e])
            right, up = couple * lines[1, e], -couple * lines[0, e]
            force[ends[e, 0], 0] -= right
            force[ends[e, 0], 2] -= up
            force[ends[e, 1], 0] += right
            force[ends[e, 1], 2] += up
    return torque


@njit(cache=True, error_model="numpy")
def _recover(u, force, lines, ends, down, along, n_s, m_s):
    """Fill forces and moments at the ends of the strips; ``force`` becomes what holds each node."""
    for n in range(force.shape[0]):
        for d in range(4):
            force[n, d] = -force[n, d]
    for e in range(ends.shape[0]):
        i, j = ends[e, 0], ends[e, 1]
        dx, dz, b, stretch, bending = lines[0, e], lines[1, e], lines[2, e], lines[3, e], lines[4, e]
        c, s = dx / b, dz / b
        right, up = u[j, 0] - u[i, 0], u[j, 1] - u[i, 1]
        pull, chord = stretch / b * (c * right + s * up), (c * up - s * right) / b
        first, second = u[i, 2] - chord, u[j, 2] - chord
        one = bending / b * (4.0 * first + 2.0 * second)
        two = bending / b * (2.0 * first + 4.0 * second)
        across = (one + two) / b
        own, turn = 0.5 * s * down[e] * b, c * down[e] * b * b / 12.0
        n_s[e, 0], n_s[e, 1] = pull - own + along[0, e], pull + own - along[1, e]
        m_s[e, 0], m_s[e, 1] = one + turn, turn - two
        level, lift = c * pull + s * across, s * pull - c * across
        force[i, 0] -= level
        force[i, 2] -= lift
        force[i, 3] += one
        force[j, 0] += level
        force[j, 2] += lift
        force[j, 3] += two


@njit(cache=True, error_model="numpy")
def _without_rigid(u, x, z, weight, rest):
    """Take out of ``u`` (n, 3) what the section moves as a whole in the directions marked in ``rest``."""
    if rest[2]:
        angle, polar = 0.0, 0.0
        for n in range(weight.size):
            angle += weight[n] * (x[n] * u[n, 1] - z[n] * u[n, 0])
            polar += weight[n] * (x[n] * x[n] + z[n] * z[n])
        angle /= polar
        for n in range(weight.size):
            u[n, 0] += angle * z[n]
            u[n, 1] -= angle * x[n]
            u[n, 2] -= angle
    for d in range(2):
        if rest[d]:
            mean = 0.0
            for n in range(weight.size):
                mean += weight[n] * u[n, d]
            for n in range(weight.size):
                u[n, d] -= mean


@njit(cache=True, error_model="numpy")
def _centred(x, z, lines, thickness, ends, about):
    """Fill ``about`` (3, n): places from the centroid of the nodes' shares of area, and those shares."""
    whole, mid_x, mid_z = 0.0, 0.0, 0.0
    for n in range(x.size):
        about[2, n] = 0.0
    for e in range(ends.shape[0]):
        area = lines[2, e] * thickness[e]
        whole += area
        for end in range(2):
            about[2, ends[e, end]] += 0.5 * area
    for n in range(x.size):
        about[2, n] /= whole
        mid_x += about[2, n] * x[n]
        mid_z += about[2, n] * z[n]
    for n in range(x.size):
        about[0, n], about[1, n] = x[n] - mid_x, z[n] - mid_z


@njit(cache=True, error_model="numpy", nogil=True)
def slice_rows(
    x, z, thickness, ends, place, band, entry, spring, link,
    joined, joined_entry, nodal, down, flow, plane, rest,
    n_s, m_s, moved, torque,
):  # fmt: skip
    """Solve each candidate (D,) under each case (P,).

    ``nodal`` (P, D, n, 4) and ``down`` (P, D, e) are the loads; ``nodal`` becomes what holds each node.
    ``entry`` (e, 21) and ``joined_entry`` (k, 10) say where stiffness goes in the flat band.
    ``spring`` (D, n, 4), ``link`` (D, 10, k) stiffness of the links ``joined`` (k, 2), ``flow``
    (k, 2, D, e) the shear flow's change, ``plane`` E / (1 - nu^2), ``rest`` (3,) what nothing holds.
    Filled: ``n_s, m_s`` (P, D, e, 2), ``moved`` (P, D, n, 3), ``torque`` (P, D).
    """
    cases, designs, nodes, _ = nodal.shape
    strips, size = ends.shape[0], FREEDOMS * nodes
    a, y = np.empty((size + band, band + 1)), np.empty((size + band, cases))
    lines, about, along = np.empty((5, strips)), np.empty((3, nodes)), np.empty((cases, 2, strips))
    k, flat = np.empty(21), a.reshape(-1)
    for d in range(designs):
        for e in range(strips):
            i, j, t = ends[e, 0], ends[e, 1], thickness[d, e]
            lines[0, e], lines[1, e] = x[d, j] - x[d, i], z[d, j] - z[d, i]
            lines[2, e] = np.sqrt(lines[0, e] ** 2 + lines[1, e] ** 2)
            lines[3, e], lines[4, e] = plane * t, plane * t * t * t / 12.0
        _centred(x[d], z[d], lines, thickness[d], ends, about)
        y[:] = 0.0
        for p in range(cases):
            torque[p, d] = _loads(nodal[p, d], lines, ends, x[d], z[d], flow[:, :, d], along[p], rest[2])
            for n in range(nodes):
                row = FREEDOMS * place[n]
                y[row, p], y[row + 1, p] = nodal[p, d, n, 0], nodal[p, d, n, 2]
                y[row + 2, p] = nodal[p, d, n, 3]
        _assemble(flat, k, lines, entry, link[d], joined_entry)
        _hold(a, y, spring[d], place, band)
        _solve(a, y, size, band)
        for p in range(cases):
            u = moved[p, d]
            for n in range(nodes):
                for i in range(FREEDOMS):
                    u[n, i] = y[FREEDOMS * place[n] + i, p]
            _recover(u, nodal[p, d], lines, ends, down[p, d], along[p], n_s[p, d], m_s[p, d])
            for n in range(joined.shape[0]):
                _link_forces(nodal[p, d], u, link[d, :, n], joined[n])
            _without_rigid(u, about[0], about[1], about[2], rest)


@njit(cache=True, error_model="numpy")
def _link_forces(force, u, link, pair):
    """Add what a link does to its nodes: symmetric stiffness of x1 z1 x2 z2, upper triangle row by row."""
    v = 0
    for i in range(4):
        for j in range(i, 4):
            p, q = pair[i // 2], pair[j // 2]
            force[p, 2 * (i % 2)] += link[v] * u[q, j % 2]
            if i != j:
                force[q, 2 * (j % 2)] += link[v] * u[p, i % 2]
            v += 1
