"""Recipe of ``plates_solid.json``: roofs as three-dimensional solids, by a general-purpose library.

Independent of the folded plate in everything: no plates, no series, no strips, but 27-node bricks of
scikit-fem (quadratic, full elasticity), half a span, diaphragm at y = 0 (held across and up, free along),
symmetry at L/2. One brick through the thickness, corners mitred. Run it as a script; about two minutes.
"""

import json
import sys
from pathlib import Path

import numpy as np
from skfem import Basis, BilinearForm, ElementHex2, ElementVector, LinearForm, MeshHex, condense, solve
from skfem.helpers import ddot, eye, sym_grad, trace

MODULUS, POISSON, LOAD = 30e9, 0.2, 4000.0
HERE = Path(__file__).parent


def refined(nodes, thickness, pieces):
    """Cut strip i into pieces[i] strips that crowd towards its two corners."""
    points, t = [nodes[0]], []
    for i, count in enumerate(pieces):
        for part in np.arange(1, count + 1) / count:
            points.append(nodes[i] + 0.5 * (1 - np.cos(np.pi * part)) * (nodes[i + 1] - nodes[i]))
        t += [thickness[i]] * count
    return np.array(points), np.array(t)


def roofs():
    """Name -> (nodes, thickness of each strip, span); thickness changes at sharp corners only."""
    wing = np.stack([0.7 + 2.3 * np.linspace(0, 1, 13), 1.9 * np.sin(np.linspace(0, np.pi / 2, 13))], axis=1)
    half = np.concatenate([[[0.0, 0.0]], wing, [[3.0, 2.4]]])
    gull = np.concatenate([half[:0:-1] * [-1, 1], half])
    gull_t = np.r_[0.14, np.full(12, 0.1), 0.14, 0.14, np.full(12, 0.1), 0.14]

    rise = np.linspace(0.35, 1.35, 13)
    light = np.stack([5.8 * (np.cos(0.35) - np.cos(rise)), 5.8 * (np.sin(rise) - np.sin(0.35))], axis=1)
    light = np.concatenate([[[-0.6, 0.0]], light])

    trough = np.array([[-2.2, 1.5], [-1.6, 1.5], [-0.8, 0.0], [0.8, 0.0], [1.6, 1.5], [2.2, 1.5]])

    angle = np.linspace(-np.arcsin(0.6), np.arcsin(0.6), 25)
    shell = 7.5 * np.stack([np.sin(angle), np.cos(angle)], axis=1)
    depth, reach = np.array([0.0, 0.75]), np.array([0.75, 0.0])
    down = np.stack([shell[0] - depth, *shell, shell[-1] - depth])
    flat = np.stack([shell[0] - reach, *shell, shell[-1] + reach])
    down_t = np.r_[0.14, np.full(24, 0.09), 0.14]

    def bands(first, count, last):
        return np.r_[first, np.full(count, 2), last]

    middle = np.r_[8, np.full(12, 2), 4, 4, np.full(12, 2), 8]
    return {
        "gull-wing with keel and kerb": (*refined(gull, gull_t, middle), 18.0),
        "north-light with two free edges": (
            *refined(light, np.full(13, 0.08), np.r_[8, np.full(12, 2)]),
            12.0,
        ),
        "trough": (*refined(trough, np.full(5, 0.06), [10, 14, 14, 14, 10]), 15.0),
        "barrel with vertical edge beams": (*refined(down, down_t, bands(8, 24, 8)), 18.0),
        "barrel with horizontal edge beams": (*refined(flat, np.full(26, 0.09), bands(8, 24, 8)), 18.0),
    }


def faces(nodes, thickness):
    """Return the two faces of a chain (2, n, 2): offset lines that meet at each node (mitred corners)."""
    step = np.diff(nodes, axis=0)
    tangent = step / np.linalg.norm(step, axis=1)[:, None]
    normal = np.stack([-tangent[:, 1], tangent[:, 0]], axis=1)
    found = []
    for side in (-0.5, 0.5):
        offset = side * thickness[:, None] * normal
        points = [nodes[0] + offset[0]]
        for i in range(1, len(nodes) - 1):
            before, after = nodes[i] + offset[i - 1], nodes[i] + offset[i]
            system = np.stack([tangent[i - 1], -tangent[i]], axis=1)
            straight = abs(np.linalg.det(system)) < 1e-3
            reach = 0.0 if straight else np.linalg.solve(system, after - before)[0]
            points.append(0.5 * (before + after) if straight else before + tangent[i - 1] * reach)
        found.append([*points, nodes[-1] + offset[-1]])
    return np.array(found)


def brick_mesh(corner, span, along):
    """Return the mesh of half a span, one brick thick, and the strip each brick belongs to."""
    y = 0.5 * span * np.linspace(0, 1, along + 1) ** 1.3  # bricks crowd towards the diaphragm
    count = corner.shape[1]
    box = MeshHex.init_tensor(np.arange(count, dtype=float), np.array([0.0, 1.0]), y)
    node, side = box.p[0].round().astype(int), box.p[1].round().astype(int)
    place = corner[side, node]
    mesh = MeshHex(np.array([place[:, 0], box.p[2], place[:, 1]]), box.t)
    return mesh, node[box.t].min(axis=0)


def brick_loads(nodes, corner):
    """Return the weight per volume of each strip: the load per mid-surface over what its bricks hold."""
    ring = np.stack([corner[0, :-1], corner[0, 1:], corner[1, 1:], corner[1, :-1]], axis=1)
    following = np.roll(ring, -1, axis=1)
    area = 0.5 * np.abs((ring[..., 0] * following[..., 1] - ring[..., 1] * following[..., 0]).sum(axis=1))
    return LOAD * np.linalg.norm(np.diff(nodes, axis=0), axis=1) / area


def solve_roof(nodes, thickness, span, along=8):
    """Return movement across and up and the strain along of the mid-line nodes at mid-span, (n, 3)."""
    corner = faces(nodes, thickness)
    mesh, strip = brick_mesh(corner, span, along)
    basis = Basis(mesh, ElementVector(ElementHex2()), intorder=4)
    lam = MODULUS * POISSON / (1 + POISSON) / (1 - 2 * POISSON)
    mu = MODULUS / 2 / (1 + POISSON)

    @BilinearForm
    def stiffness(u, v, _):
        strain = sym_grad(u)
        return ddot(lam * eye(trace(strain), 3) + 2 * mu * strain, sym_grad(v))

    @LinearForm
    def weight(v, w):
        return -w["force"] * v[2]

    per_point = np.tile(brick_loads(nodes, corner)[strip][:, None], (1, basis.dx.shape[1]))
    a, f = stiffness.assemble(basis), weight.assemble(basis, force=per_point)
    across, along_span, up = basis.split_indices()
    y = basis.doflocs[1]
    diaphragm = [part[np.abs(y[part]) < 1e-9] for part in (across, up)]
    middle = along_span[np.abs(y[along_span] - span / 2) < 1e-9]
    u = solve(*condense(a, f, D=np.concatenate([*diaphragm, middle])))
    mid = 0.5 * (corner[0] + corner[1])  # of the mitre: the mid-line node, but for unequal strips at a corner
    found = [_values(basis, part, u, mid, span / 2) for part in (across, up)]
    stations = np.unique(y.round(9))[-3:]
    first, second, _ = (_values(basis, along_span, u, mid, station) for station in stations)
    # u_y is quadratic in the last brick and 0 at mid-span: its slope there
    h = stations[2] - stations[1]
    strain = (first - 4.0 * second) / (2.0 * h)
    return np.stack([*found, strain], axis=1)


def _values(basis, part, u, points, station):
    """Read the field at the nodes nearest to the given points of a station."""
    place = basis.doflocs[:, part]
    plane = part[np.abs(place[1] - station) < 1e-6]
    x, z = basis.doflocs[0, plane], basis.doflocs[2, plane]
    distance = (x - points[:, :1]) ** 2 + (z - points[:, 1:]) ** 2
    if distance.min(axis=1).max() > 1e-12:
        raise RuntimeError("a mid-line point is not a node of the bricks")
    return u[plane[distance.argmin(axis=1)]]


def main():
    """Solve every roof and write the data beside this file."""
    results = {}
    for name, (nodes, thickness, span) in roofs().items():
        found = solve_roof(nodes, thickness, span)
        results[name] = {
            "span_m": span,
            "nodes_m": nodes.round(9).tolist(),
            "thickness_m": thickness.tolist(),
            "ux_uz_strain": [[float(f"{v:.6e}") for v in row] for row in found],
        }
        sys.stdout.write(f"{name}: largest drop {-1e3 * found[:, 1].min():.3f} mm\n")
    setting = {"modulus_Pa": MODULUS, "poisson": POISSON, "surface_load_N_m2": LOAD, "library": "scikit-fem"}
    HERE.joinpath("plates_solid.json").write_text(json.dumps({"setting": setting, "roofs": results}) + "\n")


if __name__ == "__main__":
    main()
