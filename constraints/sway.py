"""Movements, and forces on the supports, of a module that wind pushes sideways."""

from dataclasses import replace

import numpy as np

from longvault.constraints.actions import CHARACTERISTIC, ULTIMATE
from longvault.constraints.along import influences
from longvault.constraints.basis import Basis
from longvault.constraints.combinations import ALONE, all_combined
from longvault.constraints.effects import Governing, sag_extremes
from longvault.constraints.load_cases import CaseLoads
from longvault.constraints.reinforcement import BeamSection
from longvault.sections.properties import Properties
from longvault.sections.symbols import Array


def swayed(
    p: Properties, section: BeamSection, basis: Basis, *, permanent: Array, variable: CaseLoads
) -> tuple[dict[str, Array], dict[str, Governing]]:
    """Elastic movements (...) [m] of a module free to move sideways, and what governs them.

    Down (w + h I_xz / I_zz) and to the right (w I_xz + h I_xx) / I_zz, times what unit load does over E D /
    I_zz, D = I_xx I_zz - I_xz^2 (Megson, Aircraft Structures, ch. 16), w down and h to the right. Against an
    empty neighbour the largest of both count together (safe side).

    Examples
    --------
    A wall 0.2 x 2 m across 10 m, pushed at 500 N/m: 5/384 h L^4 / (E I_zz), on the tender side.

    >>> from longvault.constraints.actions import Loads, Wind
    >>> from longvault.constraints.basis import Requirements
    >>> from longvault.constraints.load_cases import variable_cases
    >>> from longvault.constraints.reinforcement import beam_section
    >>> from longvault.sections.properties import section_properties
    >>> from longvault.sections.strips import Strips
    >>> wall, loads = Strips.chain([0.0, 0.0], [0.0, 2.0], 0.2, "web"), Loads(
    ...     wind=(Wind("gust", ((0.0, 0.5, 1.0),)),))
    >>> basis = Basis(span=10.0, pitch=5.0, requirements=Requirements(height_max=2.5), loads=loads)
    >>> gust = CaseLoads(variable_cases(loads), np.zeros(3), None, np.array([0.0, 0.0, 500.0]))
    >>> p = section_properties(wall)
    >>> found, _ = swayed(p, beam_section(wall, p, detailing=basis.detailing), basis,
    ...                   permanent=np.array(0.0), variable=gust)
    >>> round(float(found["sideways"]) * 1e3, 2)
    1.49
    """
    right, lean = np.asarray(variable.right), section.sway[..., None]
    stiffness, across = basis.concrete.ecm * section.inertia, (p.ixx / p.izz)[..., None]
    down = replace(variable, down=variable.down + right * lean)
    aside = replace(variable, down=variable.down * lean + right * across)
    states = (CHARACTERISTIC, ALONE)
    sag = sag_extremes(basis, permanent=permanent, variable=down, states=states)
    sway = sag_extremes(basis, permanent=permanent * section.sway, variable=aside, states=states)
    measures = {
        "deflection_short": np.abs(sag[CHARACTERISTIC][0]) / stiffness,
        "sideways": sway[CHARACTERISTIC][0] / stiffness,
        "glass_difference": np.hypot(sag[ALONE][0], sway[ALONE][0]) / stiffness,
    }
    measures["sideways_size"] = np.abs(measures["sideways"])
    return measures, {"sideways": sway[CHARACTERISTIC][1], "glass-difference": sag[ALONE][1]}


def wind_forces(basis: Basis, variable: CaseLoads) -> dict[str, Array]:
    """Sideways push of wind (...): per metre of span, characteristic [N/m], and on one support, ultimate [N].

    Whatever holds the module, this much has to go from it into neighbours and end structure: the largest
    push on a support by the beam that carries vertical load.
    """
    right = np.asarray(variable.right)
    rules = all_combined(basis.combinations, variable.cases)[ULTIMATE]
    at = [k for k, case in enumerate(variable.cases) if case.kind == "wind"]
    ultimate = np.abs(np.einsum("ck,...k->...c", np.unique(rules.variable[:, at], axis=0), right[..., at]))
    line = influences(basis.line).reaction
    return {
        "wind_push": np.abs(right).max(axis=-1),
        "wind_reaction": ultimate.max(axis=-1) * max(line.up, -line.down),
    }


def holding(p: Properties, basis: Basis, *, permanent: Array, variable: CaseLoads) -> tuple[Array, Governing]:
    """Force that holds a module straight, wind counted: largest of w I_xz / I_xx + h, its sign kept [N/m].

    Characteristic; to the right positive, as the module pushes on what holds it.
    """
    rules = all_combined(basis.combinations, variable.cases)[CHARACTERISTIC]
    lean = (p.ixz / p.ixx)[..., None]
    loads = np.asarray(variable.right) + variable.down * lean
    force = rules.permanent * permanent[..., None] * lean + np.einsum("ck,...k->...c", rules.variable, loads)
    case = np.abs(force).argmax(axis=-1)
    value = np.take_along_axis(force, case[..., None], axis=-1)[..., 0]
    return value, Governing(rules.names, case, 0.5 * basis.line.length)
