"""The inner loop: strip stiffness against quadrature, compiled solver against its twin and a dense one."""

import numpy as np
import pytest
from plain_plates import solve_arrays

from longvault.constraints import plates_kernel as kernel
from longvault.constraints import plates_solve as solve


def by_quadrature(c, s, b, t, k, modulus, poisson):
    """Integrate the strain energy of one strip by Gauss-Legendre, condense the middle terms, turn."""
    e1, g = modulus / (1 - poisson**2), modulus / 2 / (1 + poisson)
    d = e1 * t**3 / 12
    points, weights = np.polynomial.legendre.leggauss(8)
    total = np.zeros((10, 10))
    for r, weight in zip((points + 1) / 2, weights * b / 2, strict=True):
        n, dn = np.array([1 - r, r]), np.array([-1, 1]) / b
        h = np.array(
            [1 - 3 * r**2 + 2 * r**3, b * (r - 2 * r**2 + r**3), 3 * r**2 - 2 * r**3, b * (r**3 - r**2)]
        )
        dh = (
            np.array(
                [-6 * r + 6 * r**2, b * (1 - 4 * r + 3 * r**2), 6 * r - 6 * r**2, b * (3 * r**2 - 2 * r)]
            )
            / b
        )
        ddh = np.array([-6 + 12 * r, b * (-4 + 6 * r), 6 - 12 * r, b * (6 * r - 2)]) / b**2
        es, ey, gamma, ks, ky, twist = np.zeros((6, 10))
        middle, slope = 4 * r * (1 - r), 4 * (1 - 2 * r) / b
        es[[0, 4, 8]] = *dn, slope
        ey[[1, 5, 9]] = *(-k * n), -k * middle
        gamma[[0, 4, 8]], gamma[[1, 5, 9]] = (*(k * n), k * middle), (*dn, slope)
        ks[[2, 3, 6, 7]], ky[[2, 3, 6, 7]], twist[[2, 3, 6, 7]] = ddh, -k * k * h, k * dh

        def square(one, two):
            return (
                np.outer(one, one) + np.outer(two, two) + poisson * (np.outer(one, two) + np.outer(two, one))
            )

        membrane = t * (e1 * square(es, ey) + g * np.outer(gamma, gamma))
        total += weight * (membrane + d * (square(ks, ky) + 2 * (1 - poisson) * np.outer(twist, twist)))
    total = total[:8, :8] - total[:8, 8:] @ np.linalg.solve(total[8:, 8:], total[8:, :8])
    turn = np.zeros((8, 8))
    for i in (0, 4):
        turn[i, i], turn[i, i + 2], turn[i + 2, i], turn[i + 2, i + 2] = c, s, -s, c
        turn[i + 1, i + 1] = turn[i + 3, i + 3] = 1
    return turn.T @ total @ turn


@pytest.mark.parametrize(
    "strip", [(0.6, 0.8, 0.7, 0.2, 0.9, 3.0, 0.3), (-1.0, 0.0, 0.1, 0.1, 2.0, 30e9, 0.0)]
)
def test_strip_stiffness_is_the_integral_of_the_strain_energy(strip):
    found = np.zeros((8, 8))
    found[kernel.ROWS, kernel.COLUMNS] = found[kernel.COLUMNS, kernel.ROWS] = kernel.strip_stiffness(*strip)
    expected = by_quadrature(*strip)
    np.testing.assert_allclose(found, expected, rtol=0, atol=1e-13 * np.abs(expected).max())


@pytest.fixture
def lanes():
    """Forty-one designs with a branch, a link, springs and held nodes; one of them broken."""
    rng = np.random.default_rng(7)
    designs, ends = 41, np.array([(0, 1), (1, 2), (2, 3), (2, 4), (4, 5)])
    x = np.array([0.0, 1.0, 2.0, 3.0, 2.0, 2.5]) + 0.3 * rng.random((designs, 6))
    z = np.array([0.0, 0.4, 0.6, 0.5, -0.6, -1.0]) + 0.3 * rng.random((designs, 6))
    x[3, 1], z[3, 1] = x[3, 2], z[3, 2]
    place = np.array([0, 1, 2, 3, 5, 4])
    entry, link_entry = kernel.band_entries(*place[ends].T, np.array([0]), np.array([3]))
    wave = np.array([[0.2], [0.6], [1.0]]) * (1 + rng.random(designs))
    support = np.stack([np.where(rng.random(designs) < 0.5, np.inf, 0.0), 1e9 * rng.random(designs)])
    return kernel.Lanes(
        x, z, 0.1 + 0.1 * rng.random((designs, 5)), ends, wave, entry, link_entry,
        1e6 * rng.random((10, 1, designs)), rng.random((2, designs, 6, 4)), np.array([0, 13]), support,
        30e9, 0.2, 15, np.argsort(place), np.array([1.0, 0.5, 0.25]),
    )  # fmt: skip


def test_compiled_and_plain_solvers_give_the_same_bits(lanes):
    plain = solve_arrays(lanes)
    np.testing.assert_array_equal(solve.solve_lanes(lanes), plain)
    np.testing.assert_array_equal(solve.solve_lanes(lanes, threads=2), plain)


def test_against_a_dense_solution(lanes):
    found = solve.solve_lanes(lanes)
    for lane in (0, 1, 40, 41, 122):
        harmonic, design = divmod(lane, 41)
        full = np.zeros((24, 24))
        for n, (i, j) in enumerate(lanes.ends):
            dx, dz = (v[design, j] - v[design, i] for v in (lanes.x, lanes.z))
            b, k = np.hypot(dx, dz), lanes.wave[harmonic, design]
            dofs = np.r_[4 * i : 4 * i + 4, 4 * j : 4 * j + 4]
            full[np.ix_(dofs, dofs)] += by_quadrature(
                dx / b, dz / b, b, lanes.thickness[design, n], k, 30e9, 0.2
            )
        dofs, link = np.array([0, 2, 12, 14]), np.zeros((4, 4))
        link[kernel.LINK_ROWS, kernel.LINK_COLUMNS] = lanes.link[:, 0, design]
        full[np.ix_(dofs, dofs)] += link + np.triu(link, 1).T
        full[13, 13] += lanes.support[1, design]
        keep = np.arange(24)[1:] if np.isinf(lanes.support[0, design]) else np.arange(24)
        load, expected = lanes.load[1, design].reshape(-1), np.zeros(24)
        expected[keep] = np.linalg.solve(full[np.ix_(keep, keep)], load[keep])
        expected = expected.reshape(6, 4) * lanes.amplitude[harmonic]
        atol = 1e-8 * np.abs(expected).max()
        np.testing.assert_allclose(found[1, design, harmonic], expected, rtol=0, atol=atol)
