"""Where the beam method holds for a barrel: shell over beam.

Half-angle 40 degrees, R/t = 100, nu 0, dead load.

Derived for this project: Ritz solution of the thin cylindrical shell against closed-form beam theory of the
thin arc; to 0.2 %. It agrees with the textbook limits (L/R > 5 for a single barrel without edge beams, > 3
for a row: Chronowicz; Billington; from memory).
"""

import numpy as np
import pytest

from longvault.constraints.plates import PlateLoads, Supports, folded_plate
from longvault.constraints.plates_beam import beam_share, beam_theory, verdict
from longvault.constraints.plates_checks import equilibrium
from longvault.constraints.plates_results import displacements, smoothed, strip_forces
from longvault.sections import Strips

# L/R; free: Nx edge, Nx crown, edge deflection, M crown / (g R^2); interior: Nx valley, Nx crown, deflection.
TABLE = np.array(
    [
        [1, 4.009, -0.847, 39.7, 0.0027, 1.790, 0.146, 3.44],
        [2, 2.141, 0.089, 13.6, 0.0366, 1.112, 0.872, 1.41],
        [3, 1.358, 0.707, 5.31, 0.0641, 1.026, 0.975, 1.137],
        [4, 1.112, 0.907, 2.66, 0.0760, 1.012, 0.989, 1.066],
        [5, 1.036, 0.969, 1.733, 0.0800, 1.007, 0.993, 1.039],
        [6, 1.012, 0.988, 1.367, 0.0808, 1.005, 0.994, 1.026],
        [8, 1.002, 0.996, 1.121, 0.0802, 1.002, 0.996, 1.013],
        [10, 1.001, 0.997, 1.052, 0.0797, 1.001, 0.997, 1.008],
    ]
)
R, T, E, LOAD, HALF = 10.0, 0.1, 30e9, 2500.0, np.radians(40.0)


def solve(interior):
    """Solve all spans at once: the span is the batch axis."""
    angle = np.linspace(-HALF, HALF, 193)
    count = len(TABLE)
    x, z = (np.tile(R * f(angle), (count, 1)) for f in (np.sin, np.cos))
    spring = np.zeros((193, 4))
    if interior:
        spring[[0, -1], 0] = spring[[0, -1], 3] = np.inf
    return folded_plate(
        Strips.chain(x, z, T, "wing"), PlateLoads(surface=LOAD), span=TABLE[:, 0] * R, modulus=E,
        supports=Supports(spring), harmonics=tuple(range(1, 80, 2)),
    )  # fmt: skip


def arc_beam(spans):
    """Return N_y at edge and crown and deflection of the thin arc as a beam, closed form."""
    second = R**3 * T * (HALF + np.sin(HALF) * np.cos(HALF) - 2 * np.sin(HALF) ** 2 / HALF)
    centre = R * np.sin(HALF) / HALF
    w = LOAD * 2 * HALF * R
    moment = w * spans**2 / 8
    return (
        moment * (centre - R * np.cos(HALF)) / second * T,
        -moment * (R - centre) / second * T,
        5 * w * spans**4 / (384 * E * second),
    )


@pytest.mark.parametrize("interior", [False, True])
def test_ratios(interior):
    solved = solve(interior)
    forces = smoothed(solved.strips, strip_forces(solved))
    edge, crown, sag = arc_beam(TABLE[:, 0] * R)
    found = np.stack(
        [
            forces.n_y[:, 0, 0, 0] / edge,
            forces.n_y[:, 0, 96, 0] / crown,
            -displacements(solved)[:, 0, 0, 2] / sag,
        ],
        axis=-1,
    )
    expected = TABLE[:, 5:8] if interior else TABLE[:, 1:4]
    sags = [0.005, 0.005] + [5e-4] * 6 if interior else [0.05, 0.05, 0.005, 0.005] + [5e-4] * 4
    half_digit = np.array([[5e-4, 5e-4, half] for half in sags])  # of the last one printed
    assert (np.abs(found - expected) <= 2e-3 * np.abs(expected) + half_digit).all()
    assert equilibrium(solved).worst.max() < 1e-6
    if not interior:
        moment = forces.m_s[:, 0, 96, 0] / (LOAD * R * R)
        np.testing.assert_allclose(moment, TABLE[:, 4], rtol=2e-3, atol=6e-5)


def test_the_beam_share_says_so_by_itself():
    solved = solve(interior=False)
    share = beam_share(solved, beam_theory(solved))
    # the beam here counts the plates' own thickness (0.1 % of I); half a unit of the last printed digit
    half_digit = np.array([0.05, 0.05, 0.005, 0.005, 5e-4, 5e-4, 5e-4, 5e-4])
    assert np.all(np.abs(share.stress - TABLE[:, 1]) < 3e-3 * TABLE[:, 1] + 5e-4)
    assert np.all(np.abs(share.deflection - TABLE[:, 3]) < 3e-3 * TABLE[:, 3] + half_digit)


def test_beam_theory_is_the_closed_form():
    solved = solve(interior=True)
    beam = beam_theory(solved, held=True)
    edge, crown, sag = arc_beam(TABLE[:, 0] * R)
    # the tool counts the plates' own thickness (0.1 % of I here) and 40 of all harmonics
    np.testing.assert_allclose(beam.n_y[:, 0, 0], edge, rtol=1.5e-3)
    np.testing.assert_allclose(beam.n_y[:, 96, 0], crown, rtol=1.5e-3)
    np.testing.assert_allclose(-beam.up, sag, rtol=1.5e-3)


def test_words():
    solved = solve(interior=False)
    share = beam_share(solved, beam_theory(solved))
    pick = lambda i: verdict(type(share)(share.stress[i], share.deflection[i]))  # noqa: E731
    assert pick(1).startswith("does not act as a beam: beam theory low by x2.14 in stress")
    assert pick(7).startswith("acts as a beam: beam theory right in stress")
    assert pick(5).startswith("acts as a beam in stress, but loses its shape")
