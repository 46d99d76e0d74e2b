"""What the labels of strips mean for building: which are cast as open surface, which as beams."""

import numpy as np

from longvault.sections.strips import Strips
from longvault.sections.symbols import Array, BoolArray

BEAM_PARTS = ("kerb", "edge beam", "valley beam")
"""Cast between two-sided forms; they carry no roof finish and have no slope class."""

SHARED_PARTS = ("valley beam",)
"""The strips hold this bay's half of a member shared with the neighbour: full thickness is twice theirs."""


def roof_surface(strips: Strips) -> BoolArray:
    """Mark the strips that are roof surface (e,): everything but beams and kerbs."""
    return np.array([part not in BEAM_PARTS for part in strips.parts], dtype=np.bool_)


def shared(strips: Strips) -> BoolArray:
    """Mark the strips that are half of a member shared with the neighbour (e,)."""
    return np.array([part in SHARED_PARTS for part in strips.parts], dtype=np.bool_)


def surface_edges(strips: Strips) -> int:
    """Count the edges of the roof surface: where it ends free, in a beam, or against another surface.

    Examples
    --------
    >>> x, z = [0.0, 0.0, 4.0, 8.0], [-0.5, 0.0, 1.0, 0.0]
    >>> surface_edges(Strips.chain(x, z, 0.1, ["kerb", "wing", "wing"]))
    2
    """
    meeting = np.bincount(strips.ends[roof_surface(strips)].ravel())
    return int((meeting == 1).sum() + np.maximum(meeting - 2, 0).sum())


def member_shares(strips: Strips) -> Array:
    """Share of each strip in its beam or kerb (e,), a run of strips of one part; 0 for roof surface.

    Examples
    --------
    >>> x, z = [0.0, 0.0, 0.0, 4.0, 8.0], [-0.5, -0.2, 0.0, 1.0, 0.0]
    >>> member_shares(Strips.chain(x, z, 0.1, ["kerb", "kerb", "wing", "wing"])).tolist()
    [0.5, 0.5, 0.0, 0.0]
    """
    beams = np.flatnonzero(~roof_surface(strips)).tolist()
    member = {e: {e} for e in beams}
    for at, e in enumerate(beams):
        for g in beams[:at]:
            if strips.parts[e] == strips.parts[g] and set(strips.ends[e]) & set(strips.ends[g]):
                joined = member[e] | member[g]
                member.update(dict.fromkeys(joined, joined))
    shares = np.zeros(len(strips.parts))
    shares[beams] = [1.0 / len(member[e]) for e in beams]
    return shares
