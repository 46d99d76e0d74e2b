"""Folded plate against three-dimensional solids solved by a general-purpose finite-element library.

The figures, and what they were made from, are in ``tests/benchmarks/plates_solid.json``; the recipe stands
beside it (27-node bricks of scikit-fem, quadratic, no plate theory). A solid has corners of real size, which
plates do not: they agree to 0.1 % where only equal plates meet, to 1 % of the largest value elsewhere.
"""

import json
from pathlib import Path

import numpy as np
import pytest

from longvault.constraints.plates import PlateLoads, folded_plate
from longvault.constraints.plates_checks import equilibrium
from longvault.constraints.plates_results import displacements
from longvault.sections import Strips

DATA = json.loads((Path(__file__).parents[1] / "benchmarks" / "plates_solid.json").read_text())


def solve(roof, harmonics=25):
    nodes, thickness = np.array(roof["nodes_m"]), np.array(roof["thickness_m"])
    setting = DATA["setting"]
    return folded_plate(
        Strips.chain(nodes[:, 0], nodes[:, 1], thickness, "wing"),
        PlateLoads(surface=setting["surface_load_N_m2"]),
        span=roof["span_m"],
        modulus=setting["modulus_Pa"],
        poisson=setting["poisson"],
        harmonics=tuple(range(1, 2 * harmonics, 2)),
    )


def movement_and_strain(solved):
    """Movement across and up and strain along the span of the nodes at mid-span, (n, 3)."""
    moved = displacements(solved)[0]
    strain = (
        -solved.wave[:, None] * solved.displacement[:, :, 1] * np.sin(np.pi / 2 * solved.harmonics)[:, None]
    )
    return np.stack([moved[:, 0], moved[:, 2], strain.sum(axis=0)], axis=1)


@pytest.mark.parametrize("name", DATA["roofs"])
def test_same_movement_and_strain_as_a_solid(name):
    roof = DATA["roofs"][name]
    solved = solve(roof)
    found, solid = movement_and_strain(solved), np.array(roof["ux_uz_strain"])
    off = np.abs(found - solid).max(axis=0) / np.abs(solid).max(axis=0)
    assert equilibrium(solved).worst < 1e-6
    assert off[0] < 0.02, f"sideways movement {off[0]:.4f}"
    assert off[1] < 0.01, f"vertical movement {off[1]:.4f}"
    assert off[2] < 0.01, f"strain along {off[2]:.4f}"


def test_without_corners_of_unequal_plates_they_agree_to_a_thousandth():
    roof = DATA["roofs"]["barrel with horizontal edge beams"]
    found, solid = movement_and_strain(solve(roof)), np.array(roof["ux_uz_strain"])
    assert np.all(np.abs(found - solid).max(axis=0) < 1.2e-3 * np.abs(solid).max(axis=0))
