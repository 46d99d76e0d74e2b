"""The variable cases a roof is checked under, their load per metre of span and where it acts."""

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from longvault.constraints.actions import LineLoads, Loads, Wind
from longvault.constraints.combinations import VariableCase
from longvault.constraints.drainage import water_area
from longvault.constraints.plan_load import PlanLoad, RoofLine, roof_line
from longvault.constraints.roof_kernels import height_rows
from longvault.constraints.snow import cylinder_drift, valley_drift
from longvault.constraints.torsion import surface_centre
from longvault.sections.opening import KERB
from longvault.sections.parts import roof_surface
from longvault.sections.properties import Properties
from longvault.sections.strips import Strips
from longvault.sections.symbols import Array

WATER = 10e3
"""Weight density of water (EN 1991-1-1, table A.10; from memory) [N/m3]."""


@lru_cache(maxsize=256)
def variable_cases(loads: Loads) -> tuple[VariableCase, ...]:
    """List the variable cases of a set of loads, in the order of the arrays that `case_loads` gives.

    Uniform snow and maintenance always stand there, so that their combinations exist.

    Examples
    --------
    >>> [case.name for case in variable_cases(Loads(drift="cylindrical", ground_snow=800.0))]
    ['uniform', 'drift to the right', 'drift to the left', 'maintenance']
    """
    cases = [VariableCase("uniform", "snow")]
    if loads.drift == "cylindrical":
        cases += [VariableCase("drift to the right", "snow"), VariableCase("drift to the left", "snow")]
    if loads.drift == "valley":
        cases.append(VariableCase("drift in the valleys", "snow"))
    cases.append(VariableCase("maintenance", "maintenance"))
    cases += [VariableCase(wind.name, "wind") for wind in loads.wind]
    if loads.water > 0:
        cases.append(VariableCase("blocked outlets", "water"))
    return tuple(cases)


def wind_load(wind: Wind, line: RoofLine, *, pitch: float) -> PlanLoad:
    """Vertical part of a wind case: a pressure p square to any surface pushes p down per plan area.

    Derived: p ds on a strip (dx, dz) has the parts p dx down and p dz sideways; the resultant of a uniform
    pressure on an arc is p times its chord.

    Examples
    --------
    >>> line = roof_line(Strips.chain([-2.0, 0.0, 2.0], [0.0, 1.0, 0.0], 0.1, "crown"))
    >>> float(wind_load(Wind("lee side", ((0.5, 1.0, -500.0),)), line, pitch=5.0).total)
    -1250.0
    """
    left = line.middle - 0.5 * pitch
    zero, x, q = np.zeros_like(left), [], []
    for low, high, pressure in sorted(wind.zones):
        x += [left + low * pitch] * 2 + [left + high * pitch] * 2
        q += [zero, zero + pressure, zero + pressure, zero]
    return PlanLoad(np.stack(x, axis=-1), np.stack(q, axis=-1))


def wind_push(wind: Wind, strips: Strips, *, pitch: float) -> tuple[Array, Array]:
    """Sideways part of a wind case, to the right (...) [N/m], and its first moment in height (...) [N].

    Derived: a pressure p square to a piece (dx, dz) of the surface pushes it p dz to the right, at its mid
    height; over a zone that is p times its projected height, p (z_end - z_start), with the first moment
    p (z_end^2 - z_start^2) / 2, whatever runs between. The surface runs over the whole bay: the glass,
    straight from edge to edge or from the tops of kerbs, hangs half on either module and hands on what it
    takes; a kerb takes it on its side of the roof. A uniform pressure over a bay so has no sideways resultant
    and no moment, whatever the shape: the bays of a row close on themselves.

    Examples
    --------
    A shed that rises 2 m to glass almost upright; the first quarter of the bay sees 600 N/m2: 0.5 m of roof
    pushed to the right, and to the left half of the height of the glass on the left.

    >>> shed = Strips.chain([-2.0, 2.0], [0.0, 2.0], 1e-4, "wing")
    >>> west = Wind("west", ((0.0, 0.25, 600.0),))
    >>> right, moment = wind_push(west, shed, pitch=4.001)
    >>> round(float(right)), round(float(moment))  # 600 (0.5 - 1.0), 600 (0.5 x 0.25 - 1.0 x 0.5)
    (-300, -225)
    """
    return strips.kept(_wind_push, wind, pitch)


def _wind_push(strips: Strips, wind: Wind, pitch: float) -> tuple[Array, Array]:
    places, falls = np.array(wind.jumps).T
    nodes = strips.x.shape[-1]
    x, z = (np.ascontiguousarray(v).reshape(-1, nodes) for v in (strips.x, strips.z))
    out = np.empty((len(x), places.size))
    ends, kerbs = strips.ends[roof_surface(strips)], np.unique(strips.ends[strips.of_part(KERB)])
    height_rows(x, z, np.ascontiguousarray(ends), kerbs, pitch, np.ascontiguousarray(places), out)
    height = out.reshape(*strips.batch, -1)
    push, moment = np.einsum("...s,s->...", height, falls), 0.5 * np.einsum("...s,s->...", height**2, falls)
    return np.asarray(push), np.asarray(moment)


def plan_loads(loads: Loads, line: RoofLine, *, pitch: float) -> dict[str, PlanLoad]:
    """Every variable case but water as a load on plan, by its name.

    Snow and maintenance fall on the whole bay: what lies on the glass hangs on the module too.
    """
    edges = line.middle[..., None] + pitch * np.array([-0.5, 0.5])
    level = np.ones_like(edges)
    found = {"uniform": PlanLoad(edges, loads.snow * level)}
    if loads.drift == "cylindrical":
        for name, towards in (("drift to the right", 1), ("drift to the left", -1)):
            found[name] = cylinder_drift(line, ground=loads.ground_snow, pitch=pitch, towards=towards)
    if loads.drift == "valley":
        found["drift in the valleys"] = valley_drift(line, ground=loads.ground_snow, pitch=pitch)
    found["maintenance"] = PlanLoad(edges, loads.maintenance * level)
    found |= {wind.name: wind_load(wind, line, pitch=pitch) for wind in loads.wind}
    return found


@dataclass(frozen=True, slots=True, eq=False)
class CaseLoads:
    """Load per metre of span of every variable case.

    Parameters
    ----------
    cases : tuple of VariableCase, length K
        What the columns are.
    down : array (..., K) or (K,)
        Down positive [N/m]; (K,) where no case depends on the section.
    about : array (..., K) or None
        Moment about the origin, from z to x [N]: of the load down its first moment in x, of wind the first
        moment in z of its sideways part too. The torque about a shear centre (x_s, z_s) is ``about - x_s down
        - z_s right``. None where it was not asked for.
    right : array (..., K) or None
        Sideways part of wind, to the right [N/m]; None where no wind pushes sideways and the place was not
        asked for.
    """

    cases: tuple[VariableCase, ...]
    down: Array
    about: Array | None
    right: Array | None = None


def _everywhere(loads: Loads) -> list[float]:
    """Mean load on the bay of the cases that are the same for all sections [N/m2]."""
    wind = [sum((high - low) * pressure for low, high, pressure in one.zones) for one in loads.wind]
    return [loads.snow, loads.maintenance, *wind]


def case_loads(
    loads: Loads, strips: Strips, *, pitch: float, place: bool = False, line: RoofLine | None = None
) -> CaseLoads:
    """Sum every variable case of one module per metre of span.

    Parameters
    ----------
    loads : Loads
        Characteristic loads.
    strips : Strips
        Module, batch shape (...).
    pitch : float
        Bay [m].
    place : bool
        Whether to find where the loads act across too.
    line : RoofLine, optional
        Of the same strips, where it is known.

    Examples
    --------
    >>> roof = Strips.chain([-2.0, 0.0, 2.0], [0.0, 1.0, 0.0], 0.1, "crown")
    >>> found = case_loads(Loads(snow=640.0, maintenance=400.0), roof, pitch=4.0)
    >>> [case.name for case in found.cases], found.down.tolist()
    (['uniform', 'maintenance'], [2560.0, 1600.0])
    """
    cases = variable_cases(loads)
    if not (place or loads.drift or loads.water > 0 or loads.pushes):
        return CaseLoads(cases, pitch * np.array(_everywhere(loads)), None)
    right, turned = _pushes(loads, strips, pitch, len(cases))
    if not (place or loads.drift or loads.water > 0):
        return CaseLoads(cases, pitch * np.array(_everywhere(loads)), None, right)
    line = roof_line(strips) if line is None else line
    spread = plan_loads(loads, line, pitch=pitch)
    down, about = [v.total for v in spread.values()], [v.about for v in spread.values()]
    if loads.water > 0:
        pool = water_area(strips, depth=loads.water)
        down.append(WATER * pool.area)
        about.append(WATER * pool.about)
    if not place:
        return CaseLoads(cases, np.stack(down, axis=-1), None, right if loads.pushes else None)
    return CaseLoads(cases, np.stack(down, axis=-1), np.stack(about, axis=-1) + turned, right)


def _pushes(loads: Loads, strips: Strips, pitch: float, count: int) -> tuple[Array, Array]:
    """Sideways part of each of ``count`` variable cases (..., K), and its first moment in height."""
    right = np.zeros((*strips.batch, count))
    moment = right.copy()
    first = [case.kind for case in variable_cases(loads)].index("wind") if loads.wind else 0
    for k, wind in enumerate(loads.wind, first):
        if wind.one_sided:
            right[..., k], moment[..., k] = wind_push(wind, strips, pitch=pitch)
    return right, moment


def permanent_about(
    lines: LineLoads, loads: Loads, strips: Strips, p: Properties, line: RoofLine | None = None
) -> Array:
    """First moment of the permanent load about x = 0, per metre of span (...) [N].

    Own weight acts at the centroid, finish at the middle of the roof surface, glass at the middle of the bay
    (half on either slot edge), services where they hang, screed in the lowest place.

    Examples
    --------
    >>> from longvault.sections.properties import section_properties
    >>> roof = Strips.chain([0.0, 2.0, 4.0], [0.0, 1.0, 1.0], 0.1, "wing")
    >>> p = section_properties(roof)
    >>> lines = LineLoads(np.array(1e3), np.array(0.0), np.array(0.0), 500.0, 0.0, 0.0)
    >>> round(float(permanent_about(lines, Loads(services=500.0, services_x=1.0), roof, p)), 1)
    3444.3
    """
    line = roof_line(strips) if line is None else line
    return np.asarray(
        lines.self_weight * p.centroid_x
        + lines.finish * surface_centre(strips)
        + lines.glass * line.middle
        + lines.services * (line.middle + loads.services_x)
        + lines.screed * line.low_x
    )
