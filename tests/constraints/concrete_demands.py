"""What the beam analysis hands to the concrete checks, for one uniformly loaded span."""

import numpy as np

from longvault.constraints.actions import CHARACTERISTIC, ULTIMATE
from longvault.constraints.concrete_checks import Demand
from longvault.constraints.evaluate import evaluate, heaviest, module_loads
from longvault.constraints.making import making
from longvault.sections.opening import clear_opening
from longvault.sections.properties import section_properties


def demand_of(strips, basis):
    p, need = section_properties(strips), basis.requirements
    made = making(strips, bend_radius=need.bend_radius_min, steep_slope=need.steep_slope)
    opening = np.maximum(clear_opening(strips, basis.pitch, basis.frame), 0.0)
    loads, m = module_loads(p, made, opening, basis), evaluate(strips, basis).measures
    return p, Demand(
        moment=m["ultimate_moment"],
        service=m["characteristic_moment"],
        shear=m["ultimate_shear"],
        steel=m["steel_area"],
        ultimate=heaviest(loads, basis, ULTIMATE),
        characteristic=heaviest(loads, basis, CHARACTERISTIC),
        loads=loads,
    )
