"""Tension along a member: what shear in a truss with inclined struts adds to that of the moment."""

import numpy as np

from longvault.constraints.basis import Basis
from longvault.constraints.reinforcement import BeamSection
from longvault.constraints.strength import ROUND_OFF
from longvault.constraints.taper import Envelope, Places
from longvault.sections.symbols import Array, IntArray

STRUTS = 1.0
"""cot theta of the struts: 45 degrees, as the shear steel of this package has them."""


def shift_of(arm: Array) -> Array:
    """Return how far the line of tension is moved, a_l = z cot(theta) / 2 (...) [m].

    EN 1992-1-1, 9.2.1.3(2), upright stirrups (from memory).

    Examples
    --------
    >>> float(shift_of(np.array(1.2)))
    0.6
    """
    return 0.5 * STRUTS * np.asarray(arm)


def shifted(tension: Array, y: Array, shift: Array) -> Array:
    """Return the largest of ``tension`` (..., S) within ``shift`` (..., S) of each of the places ``y`` (S,).

    Straight lines between the places; beyond the ends there is nothing. Any quantity that goes with the force
    in the tension chord can be given: force or steel.

    Examples
    --------
    >>> y, line = np.array([0.0, 1.0, 2.0, 3.0]), np.array([8.0, 4.0, 1.0, 0.0])
    >>> shifted(line, y, np.full(4, 0.5)).tolist()
    [8.0, 6.0, 2.5, 0.5]
    """
    within = np.abs(y - y[:, None]) <= shift[..., :, None]
    found = np.where(within, tension[..., None, :], -np.inf).max(axis=-1)
    for place in (y - shift, y + shift):
        inside = (place > y[0]) & (place < y[-1])
        after = np.clip(np.searchsorted(y, place, side="left"), 1, y.size - 1)
        found = np.where(inside, np.maximum(found, _between(tension, y, place, after)), found)
    moved: Array = found + 0.0 * tension.sum(axis=-1, keepdims=True)  # NaN rows stay NaN
    return moved


def _between(values: Array, y: Array, place: Array, after: IntArray) -> Array:
    """Values (..., S) on the straight line up to the node ``after`` (..., S)."""
    before = after - 1
    width = y[after] - y[before]
    share = np.where(width > 0.0, (place - y[before]) / np.where(width > 0.0, width, 1.0), 1.0)
    low, high = (np.take_along_axis(values, at, axis=-1) for at in (before, after))
    found: Array = low + share * (high - low)
    return found


def steel_along(
    ultimate: Envelope, sections: tuple[BeamSection, BeamSection | None], basis: Basis, where: Places
) -> dict[str, Array]:
    """Return the main steel of both signs of moment at each station (..., S) [m2], its line moved.

    Parameters
    ----------
    ultimate : Envelope
        Ultimate moments at the stations (..., S).
    sections : tuple of BeamSection or None
        The sections of the taper (..., K) as cracked beams, for the main sign of moment and for the other.
    basis, where : Basis, Places
        Strength of steel, main sign; where the sections stand.
    """
    found, y = {}, where.mesh.y
    sizes = (ultimate.most, -ultimate.least) if basis.sagging else (-ultimate.least, ultimate.most)
    most = np.maximum(*sizes).max(axis=-1, keepdims=True)
    for section, size, key in zip(sections, sizes, ("steel_area", "steel_area_reverse"), strict=True):
        if section is not None:
            arm = np.take(np.minimum(section.arm_block, section.arm_bars), where.section, axis=-1)
            steel = np.where(size <= ROUND_OFF * most, 0.0, size) / (arm * basis.strengths.steel)
            found[key] = shifted(steel, y, shift_of(arm))
    return found
