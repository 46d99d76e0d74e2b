"""Loads of a roof as they lie on the strips of a folded plate."""

from dataclasses import replace

import numpy as np

from longvault.constraints.actions import Wind
from longvault.constraints.basis import Basis
from longvault.constraints.drainage import water_on_strips
from longvault.constraints.load_cases import WATER, plan_loads, wind_push
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
    both. Glass, and what falls on it, hangs on the joints in equal parts; water weighs where it stands;
    services given beside the middle hang there. The sums equal those of the beam checks, those of the
    sideways part of wind too.
    """
    surface = basis.concrete.weight * strips.thickness + basis.loads.finish * roof_surface(strips)
    glass = _on_joints(strips, joints, basis.loads.glass * opening)
    if basis.loads.services and basis.loads.services_x:
        permanent = PlateLoads(surface=surface, line_down=glass + _hung(strips, basis))
    else:
        on_plan, on_surface = _services(strips, basis)
        permanent = PlateLoads(surface=surface + on_surface, plan=on_plan, line_down=glass)
    if basis.plain:
        return permanent, spread_on_plan(
            strips, joints, np.ones_like(strips.thickness), np.array(basis.pitch)
        )
    spread = plan_loads(basis.loads, roof_line(strips), pitch=basis.pitch)
    variable = [spread_on_plan(strips, joints, load.on(strips), load.total) for load in spread.values()]
    first = len(variable) - len(basis.loads.wind)
    for k, wind in enumerate(basis.loads.wind, first):
        if wind.one_sided:
            variable[k] = _pushed(strips, joints, variable[k], wind, basis.pitch)
    if basis.loads.water > 0:
        variable.append(_water(strips, basis.loads.water))
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


def spread_on_plan(strips: Strips, joints: tuple[Joint, ...], plan: Array, total: Array) -> PlateLoads:
    """Put a plan load on the strips; what the total has beyond them (glass, tops of beams) on the joints.

    Parameters
    ----------
    strips, joints
        Module, batch (...), and what joins it to its neighbours.
    plan : array (..., e)
        Load per plan area of each strip [N/m2].
    total : array (...)
        All of it, per metre of span [N/m].

    Examples
    --------
    >>> wing = Strips.chain([0.0, 2.0], [0.0, 1.0], 0.1, "wing")
    >>> ends = (Joint(0, "slot", "left"), Joint(1, "slot", "right"))
    >>> spread_on_plan(wing, ends, np.array([500.0]), np.array(1600.0)).line_down.tolist()  # 1600 - 500 x 2
    [300.0, 300.0]
    """
    carried = np.einsum("...e,...e->...", plan, np.abs(strips.span_vectors()[0]))
    return PlateLoads(plan=plan, line_down=_on_joints(strips, joints, total - carried))


def _pushed(
    strips: Strips, joints: tuple[Joint, ...], down: PlateLoads, wind: Wind, pitch: float
) -> PlateLoads:
    """Add the sideways part of a wind: p dz of each strip of the surface on its ends, the rest on the joints.

    The rest is what glass, kerbs and upright strips take.
    """
    dx, dz = strips.span_vectors()
    half = np.where(roof_surface(strips), 0.5 * np.asarray(down.plan) * dz * np.sign(dx), 0.0)
    line = np.zeros_like(strips.x)
    if strips.is_chain:
        line[..., :-1] += half
        line[..., 1:] += half
    for e, ends in enumerate(() if strips.is_chain else strips.ends):
        line[..., ends] += half[..., e, None]
    right = wind_push(wind, strips, pitch=pitch)[0]
    rest = _on_joints(strips, joints, right - line.sum(axis=-1))
    return replace(down, line_right=line + rest)


def _on_joints(strips: Strips, joints: tuple[Joint, ...], load: Array) -> Array:
    """Line loads (..., n) that share ``load`` (...) [N/m] out to the joints, or to all nodes without any."""
    nodes = sorted({joint.node for joint in joints}) or list(range(strips.x.shape[-1]))
    line = np.zeros_like(strips.x)
    line[..., nodes] = np.asarray(load / len(nodes))[..., None]
    return line


def _hung(strips: Strips, basis: Basis) -> Array:
    """Services as line loads (..., n) on the ends of the roof strip that they hang from [N/m]."""
    middle = roof_line(strips).middle
    place = (middle + basis.loads.services_x)[..., None]
    x1, x2 = strips.at_first(strips.x), strips.at_second(strips.x)
    beyond = np.maximum(np.maximum(np.minimum(x1, x2) - place, place - np.maximum(x1, x2)), 0.0)
    beyond = np.where(roof_surface(strips) & (np.abs(x2 - x1) > UPRIGHT * strips.length), beyond, np.inf)
    strip = np.argmin(beyond, axis=-1)[..., None]
    start, end = (np.take_along_axis(x, strip, axis=-1) for x in (x1, x2))
    width = np.where(end == start, 1.0, end - start)
    share = np.clip((place - start) / width, 0.0, 1.0)
    line = np.zeros_like(strips.x)
    for which, part in ((0, 1.0 - share), (1, share)):
        np.put_along_axis(line, strips.ends[strip, which], basis.loads.services * part, axis=-1)
    return line


def _water(strips: Strips, depth: float) -> PlateLoads:
    """Standing water as load per plan area of the strips it stands on."""
    width = np.abs(strips.span_vectors()[0])
    weight = WATER * water_on_strips(strips, depth=depth)
    return PlateLoads(plan=np.where(weight > 0.0, weight / np.where(weight > 0.0, width, 1.0), 0.0))
