"""Compiled plane frame of a transverse slice: all load cases of one candidate on one factorisation.

One candidate a call; formulas and their source in the public functions of `slice` that call it.
"""

import numpy as np
from numba import njit

from longvault.constraints.slice_loads_kernel import loads, placed, pushes

FREEDOMS = 3
"""Of a node of the slice: right, up, turn from x to z."""


CHAIN = 2 * FREEDOMS - 1
"""Half-bandwidth of a chain."""

ROWS, COLUMNS = np.triu_indices(2 * FREEDOMS)
"""Row and column of each value of `_stiffness`."""


@njit(cache=True, error_model="numpy")
def _lines(x, z, thickness, ends, plane, lines):
    """Fill ``lines`` (8, e): direction c, s, width b, 1 / b, E t / b, E t^3 / 12 b, and dx, dz."""
    for e in range(ends.shape[0]):
        i, j, t = ends[e, 0], ends[e, 1], thickness[e]
        dx, dz = x[j] - x[i], z[j] - z[i]
        b = np.sqrt(dx * dx + dz * dz)
        over = 1.0 / b
        lines[0, e], lines[1, e], lines[2, e], lines[3, e] = dx * over, dz * over, b, over
        lines[4, e], lines[5, e] = plane * t * over, plane * t * t * t / 12.0 * over
        lines[6, e], lines[7, e] = dx, dz


@njit(cache=True, error_model="numpy")
def _stiffness(k, c, s, over, pull, turn):
    """Fill ``k`` (21,) with the upper triangle of a straight bar, row by row: x1 z1 r1 x2 z2 r2."""
    lift = 12.0 * turn * (over * over)
    xx, xz, zz = c * c * pull + s * s * lift, c * s * (pull - lift), s * s * pull + c * c * lift
    xr, zr = -s * 6.0 * turn * over, c * 6.0 * turn * over
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
        _stiffness(k, lines[0, e], lines[1, e], lines[3, e], lines[4, e], lines[5, e])
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
def _movement(u, y, place, case):
    """Fill the movement ``u`` (n, 3) of a case, in the order of the nodes."""
    for n in range(place.size):
        for i in range(FREEDOMS):
            u[n, i] = y[FREEDOMS * place[n] + i, case]


@njit(cache=True, error_model="numpy")
def _recover(u, force, lines, ends, down, along, n_s, m_s):
    """Fill forces and moments at the ends of the strips; ``force`` becomes what holds each node."""
    for n in range(force.shape[0]):
        for d in range(4):
            force[n, d] = -force[n, d]
    for e in range(ends.shape[0]):
        i, j = ends[e, 0], ends[e, 1]
        c, s, b, over = lines[0, e], lines[1, e], lines[2, e], lines[3, e]
        stiff, bending = lines[4, e], lines[5, e]
        right, up = u[j, 0] - u[i, 0], u[j, 1] - u[i, 1]
        pull, chord = stiff * (c * right + s * up), (c * up - s * right) * over
        first, second = u[i, 2] - chord, u[j, 2] - chord
        one, two = bending * (4.0 * first + 2.0 * second), bending * (2.0 * first + 4.0 * second)
        across = (one + two) * over
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


@njit(cache=True, error_model="numpy")
def room(given):
    """Room for one candidate, as `one_slice` takes it apart."""
    ends, band, flow = given[3], given[5], given[16]
    cases, _, nodes = given[14].shape
    strips, rows = ends.shape[0], FREEDOMS * nodes + band
    return (
        np.empty((rows, band + 1)), np.zeros((rows, cases)), np.empty((8, strips)),
        np.empty((3, nodes)), np.empty((cases, 2, strips)), np.empty((cases, strips)),
        np.empty((flow.shape[1], nodes, 2)), np.empty(21),
    )  # fmt: skip


@njit(cache=True, error_model="numpy")
def one_slice(given, d, space, n_s, m_s, moved, force, torque):
    """Solve candidate ``d`` under each case; ``space`` from `room`.

    ``given`` holds what `slice.Slices` lists. Filled: ``n_s, m_s`` (P, e, 2), ``moved`` (P, n, 3), ``force``
    (P, n, 4) that holds each node, ``torque`` (P,) that load and flow leave over.
    """
    x, z, thickness, ends, place, band, entry, spring, link = given[:9]
    joined, joined_entry, chain, surface, plan, line_down, line_right, flow, plane, rest = given[9:]
    a, y, lines, about, along, own, push, k = space
    cases, _, nodes = line_down.shape
    _lines(x[d], z[d], thickness[d], ends, plane, lines)
    _centred(x[d], z[d], lines, thickness[d], ends, about)
    pushes(lines, ends, flow[d], push)
    y[:] = 0.0
    for p in range(cases):
        placed(
            force[p], own[p], lines, ends, chain, surface[p, d], plan[p, d], line_down[p, d], line_right[p, d]
        )
        torque[p] = loads(force[p], lines, ends, x[d], z[d], flow[d], push, along[p], rest[2])
        for n in range(nodes):
            row = FREEDOMS * place[n]
            y[row, p], y[row + 1, p], y[row + 2, p] = force[p, n, 0], force[p, n, 2], force[p, n, 3]
    _assemble(a.reshape(-1), k, lines, entry, link[d], joined_entry)
    _hold(a, y, spring[d], place, band)
    _solve(a, y, FREEDOMS * nodes, band)
    for p in range(cases):
        u = moved[p]
        _movement(u, y, place, p)
        _recover(u, force[p], lines, ends, own[p], along[p], n_s[p], m_s[p])
        for n in range(joined.shape[0]):
            _link_forces(force[p], u, link[d, :, n], joined[n])
        _without_rigid(u, about[0], about[1], about[2], rest)


@njit(cache=True, error_model="numpy", nogil=True)
def slice_rows(given, n_s, m_s, moved, force, torque):
    """Run `one_slice` over the candidates `given`: (D, P, ...) are filled."""
    space = room(given)
    for d in range(given[0].shape[0]):
        one_slice(given, d, space, n_s[d], m_s[d], moved[d], force[d], torque[d])
