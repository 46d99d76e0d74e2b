"""The innermost loop of the folded plate: strip stiffness, banded LDL^T, many small systems side by side.

Written for the compiler; `plates_solve` calls it.

Every system (one candidate, one harmonic) is a *lane*. Lanes are the last, contiguous axis, so one
instruction serves many systems, and each lane sees the same operations in the same order whatever the
batch: results do not depend on block size or on threads.
"""

from typing import Any, NamedTuple

import numpy as np
from numba import njit
from numba.extending import register_jitable

from longvault.sections.symbols import Array, IntArray

LANES = 32
"""Systems factorised side by side in the compiled solver (measured: 8 and 16 are slower, 64 no quicker)."""

DOFS = 4
"""Degrees of freedom of a node: x (across), y (along), z (up), rotation (from x to z)."""


class Lanes(NamedTuple):
    """A batch of systems that share their connectivity. Lane h D + d is harmonic h of design d of D."""

    x: Array
    z: Array
    thickness: Array
    """Node coordinates (designs, n) and thickness of the strips (designs, e) [m]."""
    ends: IntArray
    """First and second node of each strip (e, 2)."""
    wave: Array
    """m pi / L, (harmonics, designs) [1/m]."""
    entry: IntArray
    """Where each of the 36 values of a strip goes: band row and distance (strips, 36, 2)."""
    link_entry: IntArray
    link: Array
    """The 10 values of each link (10, links, designs) [N/m2] and where they go."""
    load: Array
    """Line loads of each load case (cases, designs, n, 4) [N/m]."""
    supported: IntArray
    support: Array
    """Supported degrees of freedom, in the order of elimination, and their spring (supported, designs)
    [N/m2]; inf holds fast."""
    modulus: float
    poisson: float
    band: int
    """Half-bandwidth: the furthest coupled degree of freedom."""
    inside: IntArray
    """The node at each place of the order of elimination, (n,)."""
    amplitude: Array
    """Load amplitude of each harmonic, (harmonics,)."""


@register_jitable(error_model="numpy")
def strip_stiffness(
    c: Any, s: Any, b: Any, t: Any, k: Any, modulus: Any, poisson: Any, straining: Any = 1.0
) -> Any:
    """Return the upper triangle (36 values, row by row) of one strip's stiffness per half span.

    Degrees of freedom x1 y1 z1 r1 x2 y2 z2 r2. In plane: u and v quadratic, their middle terms condensed;
    out of plane: the cubic Hermite polynomials; along the span sin(k y) for u, w and cos(k y) for v,
    k = m pi / L. ``c, s`` are the direction cosines of the strip, ``b`` its width [m], ``t`` its thickness
    [m]. ``straining`` 0 leaves out what stretches and bends a strip across, to be added from differences of
    the movement without loss of digits. Plain arithmetic: serves arrays and, compiled, single numbers.

    Source: Cheung, Finite Strip Method in Structural Analysis, 1976 (from memory); the integrals of the
    Hermite polynomials are closed forms, checked by quadrature.
    """
    e1 = modulus / (1.0 - poisson * poisson) * t
    g = 0.5 * modulus / (1.0 + poisson) * t
    kk = k * k
    # Membrane: u-u, v-v for equal and for opposite ends, u-v.
    kb = kk * b / 6.0
    stretch = straining * e1 / b
    uu1 = stretch + 2.0 * g * kb
    uu2 = g * kb - stretch
    vv1 = g / b + 2.0 * e1 * kb
    vv2 = e1 * kb - g / b
    pe = 0.5 * poisson * e1 * k
    ge = 0.5 * g * k
    # Less the middle terms 4 xi (1 - xi) of u and v: K - p p^T / a - q q^T / d, and p, q share one value.
    pq = (pe + ge) * (4.0 / 3.0)
    pu = 2.0 * g * kb
    qv = 2.0 * e1 * kb
    over_u = 1.0 / (16.0 / 3.0 * e1 / b + 3.2 * g * kb)
    over_v = 1.0 / (16.0 / 3.0 * g / b + 3.2 * e1 * kb)
    square_u = pu * pu * over_u
    square_v = qv * qv * over_v
    cross_u = pq * pq * over_u
    cross_v = pq * pq * over_v
    mixed_u = pu * pq * over_u
    mixed_v = qv * pq * over_v
    uu1 = uu1 - square_u - cross_v
    uu2 = uu2 - square_u + cross_v
    vv1 = vv1 - square_v - cross_u
    vv2 = vv2 - square_v + cross_u
    u1v1 = pe - ge + mixed_u - mixed_v
    u1v2 = pe + ge - mixed_u - mixed_v
    # Bending: D [ int N''N''^T + k^4 int N N^T + 2 k^2 int N'N'^T - nu k^2 (end terms) ].
    d = e1 * t * t / 12.0
    d3 = straining * d / (b * b * b)
    d2 = d3 * b
    d1 = d2 * b
    f = d * kk * kk * b / 420.0
    h = d * kk / (15.0 * b)
    nu = d * poisson * kk
    ww1 = 12.0 * d3 + 156.0 * f + 36.0 * h
    ww2 = 54.0 * f - 12.0 * d3 - 36.0 * h
    wr1 = 6.0 * d2 + 22.0 * f * b + 3.0 * h * b + nu
    wr2 = 6.0 * d2 - 13.0 * f * b + 3.0 * h * b
    rr1 = (4.0 * d1 + 4.0 * f * b * b) + 4.0 * h * b * b
    rr2 = (2.0 * d1 - 3.0 * f * b * b) - h * b * b
    # Turn (u, w) to (x, z): x = c u - s w, z = s u + c w.
    cc = c * c
    ss = s * s
    cs = c * s
    xx1 = cc * uu1 + ss * ww1
    xz1 = cs * (uu1 - ww1)
    zz1 = ss * uu1 + cc * ww1
    xx2 = cc * uu2 + ss * ww2
    xz2 = cs * (uu2 - ww2)
    zz2 = ss * uu2 + cc * ww2
    o = 0.0 * b
    return (
        *(xx1, c * u1v1, xz1, -s * wr1, xx2, c * u1v2, xz2, -s * wr2),
        *(vv1, s * u1v1, o, -c * u1v2, vv2, -s * u1v2, o),
        *(zz1, c * wr1, xz2, s * u1v2, zz2, c * wr2),
        *(rr1, s * wr2, o, -c * wr2, rr2),
        *(xx1, -c * u1v1, xz1, s * wr1),
        *(vv1, -s * u1v1, o),
        *(zz1, -c * wr1),
        rr1,
    )


ROWS, COLUMNS = np.triu_indices(2 * DOFS)
"""Row and column of each of the 36 values of `strip_stiffness`."""


LINK_ROWS, LINK_COLUMNS = np.triu_indices(4)
"""Row and column of each of the 10 values of a link (x1 z1 x2 z2)."""


def band_entries(
    first: IntArray, second: IntArray, link_first: IntArray, link_second: IntArray
) -> tuple[Any, Any]:
    """Say where each stiffness value goes: (strips, 36, 2) and (links, 10, 2) band row and distance."""

    def places(dofs: IntArray, rows: IntArray, columns: IntArray) -> IntArray:
        one, two = dofs[:, rows], dofs[:, columns]
        return np.stack([np.minimum(one, two), np.abs(one - two)], axis=-1)

    node = DOFS * np.stack([first, second], axis=-1)[..., None]
    pair = DOFS * np.stack([link_first, link_second], axis=-1)[..., None]
    strips = (node + np.arange(DOFS)).reshape(len(first), 2 * DOFS)
    links = (pair + np.array([0, 2])).reshape(len(link_first), 4)
    return places(strips, ROWS, COLUMNS), places(links, LINK_ROWS, LINK_COLUMNS)


@register_jitable(error_model="numpy")
def _assemble(
    a: Any,
    y: Any,
    m: Any,
    start: Any,
    count: Any,
    x: Any,
    z: Any,
    thickness: Any,
    ends: Any,
    wave: Any,
    entry: Any,
    link_entry: Any,
    link: Any,
    load: Any,
    modulus: Any,
    poisson: Any,
    inside: Any,
) -> None:
    """Fill the bands ``a`` and right-hand sides ``y`` of ``count`` lanes from ``start``."""
    cases, designs, nodes, _ = load.shape
    a[:] = 0.0
    y[:] = 0.0
    for p in range(cases):
        for i in range(DOFS * nodes):
            for q in range(count):
                y[i, p, q] = load[p, (start + q) % designs, inside[i // DOFS], i % DOFS]
    for n in range(entry.shape[0]):
        first, second = ends[n]
        for q in range(count):
            j = (start + q) % designs
            m[0, q] = x[j, second] - x[j, first]
            m[1, q] = z[j, second] - z[j, first]
            m[2, q] = thickness[j, n]
            m[3, q] = wave[(start + q) // designs, j]
        for q in range(m.shape[1]):
            dx, dz = m[0, q], m[1, q]
            b = np.sqrt(dx * dx + dz * dz)
            values = strip_stiffness(dx / b, dz / b, b, m[2, q], m[3, q], modulus, poisson)
            for v in range(36):
                m[v, q] = values[v]
        for v in range(36):
            i, j = entry[n, v]
            for q in range(count):
                a[i, j, q] += m[v, q]
    for n in range(link_entry.shape[0]):
        for v in range(10):
            i, j = link_entry[n, v]
            for q in range(count):
                a[i, j, q] += link[v, n, (start + q) % designs]


@register_jitable(error_model="numpy")
def _hold(a: Any, y: Any, start: Any, count: Any, band: Any, supported: Any, support: Any) -> None:
    """Add springs; a dof with an infinite spring leaves the system (unit pivot, no load)."""
    designs = support.shape[1]
    for n in range(supported.size):
        i = supported[n]
        for q in range(count):
            stiffness = support[n, (start + q) % designs]
            if stiffness == np.inf:
                for v in range(band + 1):
                    a[i, v, q] = 0.0
                for v in range(1, min(band, i) + 1):
                    a[i - v, v, q] = 0.0
                a[i, 0, q] = 1.0
                y[i, :, q] = 0.0
            else:
                a[i, 0, q] += stiffness


@register_jitable(error_model="numpy")
def _eliminate(a: Any, y: Any, f: Any, size: Any, band: Any) -> None:
    """Solve in place by LDL^T down the band, then back up; lanes innermost."""
    cases, lanes = y.shape[1:]
    for i in range(size):
        for q in range(lanes):
            f[0, q] = 1.0 / a[i, 0, q]
        for v in range(1, band + 1):
            for q in range(lanes):
                f[v, q] = a[i, v, q] * f[0, q]
        for v in range(1, band + 1):
            for w in range(v, band + 1):
                for q in range(lanes):
                    a[i + v, w - v, q] -= f[v, q] * a[i, w, q]
            for p in range(cases):
                for q in range(lanes):
                    y[i + v, p, q] -= f[v, q] * y[i, p, q]
    for i in range(size - 1, -1, -1):
        for p in range(cases):
            for v in range(1, band + 1):
                for q in range(lanes):
                    y[i, p, q] -= a[i, v, q] * y[i + v, p, q]
            for q in range(lanes):
                y[i, p, q] = y[i, p, q] / a[i, 0, q]


@njit(nogil=True, cache=True, error_model="numpy")
def solve_loops(
    x: Any,
    z: Any,
    thickness: Any,
    ends: Any,
    wave: Any,
    entry: Any,
    link_entry: Any,
    link: Any,
    load: Any,
    supported: Any,
    support: Any,
    modulus: Any,
    poisson: Any,
    band: Any,
    inside: Any,
    amplitude: Any,
    out: Any,
    low: Any,
    high: Any,
) -> None:
    """Solve lanes ``low`` to ``high`` in blocks; written for the compiler."""
    cases, designs, nodes, _ = load.shape
    size = DOFS * nodes
    a = np.empty((size + band, band + 1, LANES))
    m = np.empty((36, LANES))
    f = np.empty((band + 1, LANES))
    y = np.empty((size + band, cases, LANES))
    for start in range(low, high, LANES):
        count = min(LANES, high - start)
        _assemble(
            a, y, m, start, count, x, z, thickness, ends, wave,
            entry, link_entry, link, load, modulus, poisson, inside,
        )  # fmt: skip
        _hold(a, y, start, count, band, supported, support)
        _eliminate(a, y, f, size, band)
        for q in range(count):
            h, j = (start + q) // designs, (start + q) % designs
            for p in range(cases):
                for i in range(size):
                    out[p, j, h, inside[i // DOFS], i % DOFS] = y[i, p, q] * amplitude[h]
