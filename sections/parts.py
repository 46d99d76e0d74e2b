"""What the labels of strips mean for building: which are cast as open surface, which as beams."""

import numpy as np

from longvault.sections.strips import Strips
from longvault.sections.symbols import BoolArray

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
