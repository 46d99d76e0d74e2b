"""Loads of a roof as they lie on the strips of a folded plate."""

import numpy as np

from longvault.constraints.basis import Basis
from longvault.constraints.drainage import water_area
from longvault.constraints.load_cases import WATER, plan_loads
from longvault.constraints.plan_load import roof_line
from longvault.constraints.plates_records import PlateLoads
from longvault.constraints.plates_results import UPRIGHT
from longvault.sections import Joint, Strips
from longvault.sections.parts import roof_surface
from longvault.sections.symbols import Array

SERVICE_PARTS = ("keel", "gutter")
"""Parts that carry pipes and cables; without one the services spread over the module."""


def unit_loads(
    strips: Strips, joints: tuple[Joint, ...], opening: Array, basis: Basis
) -> tuple[PlateLoads, ...]:
    """Permanent loads, then every variable case, as they lie on the strips.

    Where only snow and maintenance everywhere can govern (`Basis.plain`), one plan load of 1 N/m2 stands for
    both. Glass, and what falls on it, hangs on the joints in equal parts; standing water on the lowest line
    of the roof. The sums equal those of the beam checks. Of wind the vertical part is taken.
    """
    surface = basis.concrete.weight * strips.thickness + basis.loads.finish * roof_surface(strips)
    glass = _on_joints(strips, joints, basis.loads.glass * opening)
    on_plan, on_surface = _services(strips, basis)
    permanent = PlateLoads(surface=surface + on_surface, plan=on_plan, line_down=glass)
    if basis.plain:
        return permanent, _on_plan(strips, joints, np.ones_like(strips.thickness), np.array(basis.pitch))
    spread = plan_loads(basis.loads, roof_line(strips), pitch=basis.pitch)
    variable = [_on_plan(strips, joints, load.on(strips), load.total) for load in spread.values()]
    if basis.loads.water > 0:
        pool = WATER * water_area(strips, depth=basis.loads.water).area
        variable.append(PlateLoads(line_down=_on_lowest(strips, pool)))
    return (permanent, *variable)


def _services(strips: Strips, basis: Basis) -> tuple[Array, Array]:
    """Services over the plan of the parts that carry them, or over the height of walls (..., e) [N/m2]."""
    carriers = strips.of_part(*SERVICE_PARTS)
    share = np.zeros(strips.thickness.shape[-1])
    share[carriers if carriers.size else slice(None)] = 1.0
    carried = np.einsum("...e,e->...", np.abs(strips.span_vectors()[0]), share)[..., None]
    length = np.einsum("...e,e->...", strips.length, share)[..., None]
    upright = carried <= UPRIGHT * length
    with np.errstate(all="ignore"):
        plan = np.where(upright, 0.0, basis.loads.services / carried)
        surface = np.where(upright, basis.loads.services / length, 0.0)
    return plan * share, surface * share


def _on_plan(strips: Strips, joints: tuple[Joint, ...], plan: Array, total: Array) -> PlateLoads:
    """Put a plan load on the strips; what the total has beyond them (glass, tops of beams) on the joints."""
    carried = np.einsum("...e,...e->...", plan, np.abs(strips.span_vectors()[0]))
    return PlateLoads(plan=plan, line_down=_on_joints(strips, joints, total - carried))


def _on_joints(strips: Strips, joints: tuple[Joint, ...], load: Array) -> Array:
    """Line loads (..., n) that share ``load`` (...) [N/m] out to the joints, or to all nodes without any."""
    nodes = sorted({joint.node for joint in joints}) or list(range(strips.x.shape[-1]))
    line = np.zeros_like(strips.x)
    line[..., nodes] = np.asarray(load / len(nodes))[..., None]
    return line


def _on_lowest(strips: Strips, load: Array) -> Array:
    lowest = np.argmin(strips.z, axis=-1)[..., None]
    line = np.zeros_like(strips.x)
    np.put_along_axis(line, lowest, load[..., None], axis=-1)
    return line
