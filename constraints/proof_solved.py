"""One section solved under the heaviest combination of a state: folded plate and slice, for the sheet."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from longvault.constraints.basis import Basis
from longvault.constraints.plates import FoldedPlate, PlateLoads, combined, folded_plates
from longvault.constraints.plates_records import Supports
from longvault.constraints.plates_row import Bay, bay_supports
from longvault.constraints.proof_demands import combinations
from longvault.constraints.proof_loads import unit_loads
from longvault.constraints.proving import Proving
from longvault.constraints.slice import Slice, transverse_slice
from longvault.sections import Section
from longvault.sections.symbols import Array

HARMONICS = tuple(range(1, 60, 2))
"""Half-waves: what the series leaves of the end shear is completed, 0.7 % of it at most."""


@dataclass(frozen=True, slots=True, eq=False)
class Solved:
    """One section in one bay under one combination.

    Parameters
    ----------
    section : Section
    bay : str
    plate : FoldedPlate
    slice : Slice
        One metre of it by the beam-arch method.
    supports : Supports
    load : float
        Vertical load per metre of span [N/m].
    """

    section: Section
    bay: Bay
    plate: FoldedPlate
    slice: Slice
    supports: Supports
    load: float


def solve_heaviest(
    section: Section, measures: Mapping[str, float], basis: Basis, proving: Proving, bay: Bay, state: str
) -> Solved:
    """Solve one section under the combination of ``state`` that weighs most.

    Parameters
    ----------
    measures : mapping
        Beam-level measures of the section: ``opening`` and ``permanent_load`` are read.
    """
    links = proving.links(section.strips, section.joints, bay, basis.pitch)
    arrays = {key: np.asarray(measures[key]) for key in ("opening", "permanent_load")}
    loads = unit_loads(section.strips, section.joints, arrays["opening"], basis)
    down = np.array([-float(one.nodal(section.strips)[..., 2].sum()) for one in loads])
    rows = [np.array([float(f) for f in row]) for row in combinations(arrays, basis, state)]
    factors = max(rows, key=lambda row: float(row @ down))
    supports = bay_supports(section, bay)
    cases = folded_plates(
        section.strips, loads, span=basis.span, modulus=basis.concrete.ecm, poisson=proving.poisson,
        supports=supports, links=links, harmonics=HARMONICS,
    )  # fmt: skip
    together = _together(loads, factors)
    cut = transverse_slice(
        section.strips, together, modulus=basis.concrete.ecm, poisson=proving.poisson, supports=supports,
        links=links,
    )  # fmt: skip
    plate = combined(cases, tuple(factors))
    return Solved(section, bay, plate, cut, supports, float(factors @ down))


def _together(loads: tuple[PlateLoads, ...], factors: Array) -> PlateLoads:
    def total(name: str) -> Array:
        whole: Array = sum(f * np.asarray(getattr(one, name)) for f, one in zip(factors, loads, strict=True))
        return whole

    return PlateLoads(total("surface"), total("plan"), total("line_down"), total("line_right"))
