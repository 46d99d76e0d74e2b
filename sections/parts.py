"""What the labels of strips mean for building: which are cast as open surface, which as beams."""

from functools import lru_cache

import numpy as np

from longvault.sections.strips import Strips
from longvault.sections.symbols import Array, BoolArray

BEAM_PARTS = ("kerb", "edge beam", "valley beam")
"""Cast between two-sided forms; they carry no roof finish and have no slope class."""

SHARED_PARTS = ("valley beam",)
"""The strips hold this bay's half of a member shared with the neighbour: full thickness is twice theirs."""


def roof_surface(strips: Strips) -> BoolArray:
    """Mark the strips that are roof surface (e,): everything but beams and kerbs."""
    return strips.kept(_roof_surface)


def _roof_surface(strips: Strips) -> BoolArray:
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
    """Share of the length of its beam or kerb that each strip has (..., e); 0 for roof surface.

    A beam or kerb is a run of strips of one part.

    Examples
    --------
    >>> x, z = [0.0, 0.0, 0.0, 4.0, 8.0], [-0.5, -0.2, 0.0, 1.0, 0.0]
    >>> member_shares(Strips.chain(x, z, 0.1, ["kerb", "kerb", "wing", "wing"])).round(2).tolist()
    [0.6, 0.4, 0.0, 0.0]
    """
    length = strips.length
    shares = np.zeros_like(length)
    for run in members(strips):
        own = np.ascontiguousarray(length[..., run])
        shares[..., run] = own / own.sum(axis=-1, keepdims=True)
    return shares


def members(strips: Strips) -> tuple[list[int], ...]:
    """List the strips of each beam or kerb: a run of strips of one part that hang together.

    Examples
    --------
    >>> members(Strips.chain([0, 0, 0, 2, 2], [2, 1, 0, 0, 1], 0.2, ["kerb", "kerb", "wing", "kerb"]))
    ([0, 1], [3])
    """
    return _members(strips.ends.tobytes(), strips.parts)


@lru_cache(maxsize=256)
def _members(packed: bytes, parts: tuple[str, ...]) -> tuple[list[int], ...]:
    """List the strips of each beam or kerb."""
    ends = np.frombuffer(packed, dtype=np.intp).reshape(-1, 2).tolist()
    beams = [e for e, part in enumerate(parts) if part in BEAM_PARTS]
    member = {e: {e} for e in beams}
    for at, e in enumerate(beams):
        for g in beams[:at]:
            if parts[e] == parts[g] and set(ends[e]) & set(ends[g]):
                joined = member[e] | member[g]
                member.update(dict.fromkeys(joined, joined))
    return tuple(sorted(run) for run in {min(run): run for run in member.values()}.values())
