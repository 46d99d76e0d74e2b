"""St Venant constant, shear centre and warping against an independent finite-element solution.

The warping function w of Saint-Venant torsion solves a Neumann problem on the thick section,
laplace(w) = 0, dw/dn = z n_x - x n_z, with J = integral of (x^2 + z^2 + x dw/dz - z dw/dx); the pole for
which w is orthogonal to x and z is the centre of twist, and the integral of its square is the warping
constant (Pilkey, Analysis and Design of Elastic Beams, 2002, ch. 5-7). Quadratic elements, scikit-fem.
"""

from itertools import pairwise

import numpy as np
import pytest
from skfem import Basis, BilinearForm, ElementQuad2, Functional, LinearForm, MeshQuad, condense, solve

from longvault.sections.strips import Strips
from longvault.sections.torsion import torsion_properties


def grid(columns, rows, keep):
    mesh = MeshQuad.init_tensor(np.unique(columns), np.unique(rows))
    middle = mesh.p[:, mesh.t].mean(axis=1)
    return mesh.restrict(np.flatnonzero(keep(*middle)))


def lines(*breaks, most):
    """Grid lines through the breaks, none further apart than ``most``."""
    steps = [int(np.ceil((b - a) / most - 1e-9)) for a, b in pairwise(breaks)]
    return np.concatenate(
        [np.linspace(a, b, n + 1) for (a, b), n in zip(pairwise(breaks), steps, strict=True)]
    )


def solution(mesh):
    basis = Basis(mesh, ElementQuad2(), intorder=6)

    @BilinearForm
    def stiffness(u, v, w):
        return u.grad[0] * v.grad[0] + u.grad[1] * v.grad[1]

    @LinearForm
    def twist(v, w):  # weak form of dw/dn = z n_x - x n_z
        return w.x[1] * v.grad[0] - w.x[0] * v.grad[1]

    warping = solve(*condense(stiffness.assemble(basis), twist.assemble(basis), D=np.array([0])))
    field = basis.interpolate(warping)

    def integral(f):
        return Functional(lambda w: f(w.x[0], w.x[1], w["u"])).assemble(basis, u=field)

    area = integral(lambda x, z, u: 1 + 0 * x)
    cx, cz = integral(lambda x, z, u: x) / area, integral(lambda x, z, u: z) / area
    ixx = integral(lambda x, z, u: (z - cz) ** 2)
    izz = integral(lambda x, z, u: (x - cx) ** 2)
    ixz = integral(lambda x, z, u: (x - cx) * (z - cz))
    by_x, by_z = integral(lambda x, z, u: u * (x - cx)), integral(lambda x, z, u: u * (z - cz))
    # w about a pole (a, c) is w - c x + a z + constant with w taken about the origin of the mesh
    a, c = np.linalg.solve([[ixz, -izz], [ixx, -ixz]], [-by_x, -by_z])
    mean = integral(lambda x, z, u: u + a * z - c * x) / area
    return {
        "torsion": integral(lambda x, z, u: x**2 + z**2 + x * u.grad[1] - z * u.grad[0]),
        "x": a,
        "z": c,
        "warping": integral(lambda x, z, u: (u + a * z - c * x - mean) ** 2),
    }


def channel(t=1.0):
    strips = Strips.chain([8, 0, 0, 8], [9, 9, -9, -9], t, ["flange", "web", "flange"])
    h = t / 2
    columns, rows = lines(-h, h, 8, most=t / 4), lines(-9 - h, h - 9, 9 - h, 9 + h, most=t / 4)
    return strips, grid(columns, rows, lambda x, z: (x < h) | (abs(z) > 9 - h))


def angle_arc():
    radius, t, a = 16.0, 0.5, np.pi / 3
    turn = np.linspace(-a, a, 721)
    strips = Strips.chain(radius * np.sin(turn), radius * np.cos(turn), t, "wing")
    mesh = MeshQuad.init_tensor(lines(-a, a, most=0.25 / 16), lines(-t / 2, t / 2, most=0.125))
    angle, out = mesh.p
    return strips, MeshQuad(
        np.array([(radius + out) * np.sin(angle), (radius + out) * np.cos(angle)]), mesh.t
    )


def box(t=0.1):
    strips = Strips([0, 4, 4, 0], [0, 0, 2, 2], [[0, 1], [1, 2], [2, 3], [3, 0]], [t] * 4, ["web"] * 4)
    h = t / 2
    columns, rows = lines(-h, h, 4 - h, 4 + h, most=t / 3), lines(-h, h, 2 - h, 2 + h, most=t / 3)
    return strips, grid(columns, rows, lambda x, z: (x < h) | (x > 4 - h) | (z < h) | (z > 2 - h))


def two_cells_with_a_fin(t=0.1):
    """Two unequal cells side by side and a flange that stands out on the left."""
    x, z = [-2.0, 0, 1.5, 4, 4, 1.5, 0], [0.0, 0, 0, 0, 2, 2, 2]
    ends = [[0, 1], [1, 2], [2, 3], [3, 4], [4, 5], [5, 6], [6, 1], [2, 5]]
    strips = Strips(x, z, ends, [t] * 8, ["web"] * 8)
    h = t / 2
    columns = lines(-2, -h, h, 1.5 - h, 1.5 + h, 4 - h, 4 + h, most=t / 3)
    rows = lines(-h, h, 2 - h, 2 + h, most=t / 3)

    def keep(x, z):
        walls = (abs(x) < h) | (abs(x - 1.5) < h) | (x > 4 - h) | (z < h) | (z > 2 - h)
        return walls & ((x > -h) | (z < h))

    return strips, grid(columns, rows, keep)


# J, shear centre, warping constant: Pilkey, Analysis and Design of Elastic Beams, 2002, B.2, B.7, p. 437, 451
PUBLISHED = {channel: (11.28862, "x", -2.86769, 12763.15), angle_arc: (1.38355, "z", 17.83662, 1046.49)}


@pytest.mark.parametrize("section", PUBLISHED)
def test_the_oracle_itself_gives_the_published_values(section):
    torsion, axis, centre, warping = PUBLISHED[section]
    exact = solution(section()[1])
    assert exact["torsion"] == pytest.approx(torsion, rel=2e-3)
    assert exact[axis] == pytest.approx(centre, rel=5e-4)
    assert exact["warping"] == pytest.approx(warping, rel=5e-4)


@pytest.mark.parametrize("section", PUBLISHED)
def test_thin_theory_stays_near_the_published_thick_values(section):
    torsion, axis, centre, warping = PUBLISHED[section]
    found = torsion_properties(section()[0])
    assert found.torsion_constant == pytest.approx(torsion, rel=0.01)
    assert getattr(found, f"shear_centre_{axis}") == pytest.approx(centre, rel=0.015)
    assert found.warping_constant == pytest.approx(warping, rel=0.01)


@pytest.mark.parametrize(
    "section", [lambda: channel(0.5), angle_arc, lambda: box(0.05), lambda: two_cells_with_a_fin(0.05)]
)
def test_torsion_constant_to_one_percent(section):
    strips, mesh = section()
    assert torsion_properties(strips).torsion_constant == pytest.approx(solution(mesh)["torsion"], rel=0.01)


@pytest.mark.parametrize("section", [lambda: channel(0.5), angle_arc])
def test_shear_centre_and_warping_constant_to_one_percent(section):
    strips, mesh = section()
    found, exact = torsion_properties(strips), solution(mesh)
    assert found.shear_centre_x == pytest.approx(exact["x"], rel=0.01, abs=1e-8)
    assert found.shear_centre_z == pytest.approx(exact["z"], rel=0.01, abs=1e-8)
    assert found.warping_constant == pytest.approx(exact["warping"], rel=0.01)


def test_shear_centre_of_cells_to_a_thousandth_of_the_width():
    strips, mesh = two_cells_with_a_fin()
    found, exact = torsion_properties(strips), solution(mesh)
    assert found.shear_centre_x == pytest.approx(exact["x"], abs=6e-3)
    assert found.shear_centre_z == pytest.approx(exact["z"], abs=6e-3)
    assert found.warping_constant == pytest.approx(exact["warping"], rel=0.02)
