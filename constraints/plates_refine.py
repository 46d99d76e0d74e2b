"""Correct a folded plate for round-off: narrow strips and long spans cost digits in any stiffness method."""

from dataclasses import replace

import numpy as np

from longvault.constraints.plates import FoldedPlate, elimination_order, lanes_of
from longvault.constraints.plates_kernel import Lanes
from longvault.constraints.plates_records import locked
from longvault.constraints.plates_results import support_forces
from longvault.constraints.plates_solve import solve_lanes
from longvault.sections.symbols import Array

SETTLED = 1e-12
"""A correction below this share of the movement is round-off of the correction itself."""


def refined(solved: FoldedPlate, rounds: int = 8) -> FoldedPlate:
    """Return the solution corrected for round-off, for strips that are very narrow for their span.

    The forces out of balance, taken without loss of digits, are solved for and added until nothing changes,
    at most ``rounds`` times.
    """
    lanes = lanes_of([solved], elimination_order(solved.strips, solved.links))
    spring = np.broadcast_to(solved.supports.spring, solved.nodal_load.shape)[..., None, :, :]
    fast = np.isinf(spring)
    for _ in range(rounds):
        sprung = np.where(fast, 0.0, spring) * solved.displacement
        left = np.where(fast, 0.0, -support_forces(solved) - sprung)
        more = _answer(lanes, left.reshape(-1, *left.shape[-3:])).reshape(left.shape)
        solved = replace(solved, displacement=locked(solved.displacement + more))
        if np.abs(more).max() <= SETTLED * np.abs(solved.displacement).max():
            break
    return solved


def _answer(lanes: Lanes, forces: Array) -> Array:
    """Return the movement (designs, H, n, 4) under forces that differ from harmonic to harmonic."""
    found = np.empty_like(forces)
    for h in range(forces.shape[1]):
        load = np.ascontiguousarray(forces[None, :, h])
        one = lanes._replace(wave=lanes.wave[h : h + 1], load=load, amplitude=np.ones(1))
        found[:, h] = solve_lanes(one)[0, :, 0]
    return found
