"""All limits of one section, reckoned again from the formulas: plain numpy, one candidate a call.

Written for the tests, apart from the code it checks: nothing of the package is imported. It covers a module
that is the same all along, on a simple span or as a cantilever, under permanent load, snow (drifted too) and
maintenance; and a canopy that tapers, under wind beside them. Arrays run over strips and nodes; loops run
over the branches of a section alone.
"""

from .canopy import canopy_margins
from .module import module_margins

__all__ = ["canopy_margins", "module_margins"]
