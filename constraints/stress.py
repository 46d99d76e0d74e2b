"""Stresses of the module as a beam: bending, shear flow, torsion with warping, principal stresses."""

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from longvault.constraints import stress_kernels
from longvault.sections.properties import Properties
from longvault.sections.rows import side_by_side, strip_rows
from longvault.sections.strips import Strips
from longvault.sections.symbols import Array, IntArray
from longvault.sections.topology import tree_order
from longvault.sections.torsion import TorsionProperties


@dataclass(frozen=True, slots=True, eq=False)
class SectionForces:
    """Internal forces at k stations along the span; every field broadcasts to (..., k).

    Parameters
    ----------
    moment : array
        Bending moment about the horizontal axis, sagging positive [N m].
    shear : array
        Vertical shear force through the shear centre, V = dM / dy [N].
    bimoment : array
        B = -E Gamma phi'' (`longvault.constraints.torsion.span_torsion`) [N m2].
    warping_torque, uniform_torque : array
        The two parts of the torque, B' and G J phi', positive from x to z [N m].
    axial : array
        Normal force, tension positive [N].
    load : array
        Vertical load, down positive, -V' [N/m]; with ``warping_change``, B'' [N], it gives the stress that
        shear strain adds. Leave both 0 at fixed ends and inner supports, where that correction is not valid.
    side_moment, side_shear : array
        Of loads to the right on a section free to move sideways: the moment that pulls the right side and
        the shear force through the shear centre, its rate of change along the span [N m], [N].
    """

    moment: Array
    shear: Array
    bimoment: ArrayLike = 0.0
    warping_torque: ArrayLike = 0.0
    uniform_torque: ArrayLike = 0.0
    axial: ArrayLike = 0.0
    load: ArrayLike = 0.0
    warping_change: ArrayLike = 0.0
    side_moment: ArrayLike = 0.0
    side_shear: ArrayLike = 0.0

    @property
    def pushed(self) -> bool:
        """Whether there are sideways forces."""
        return bool(np.any(self.side_moment) or np.any(self.side_shear))

    def table(self, batch: tuple[int, ...]) -> Array:
        """Lay the forces out as (N, k, 10), in the order in which the kernels read them."""
        fields = (
            self.axial,
            self.moment,
            self.shear,
            self.bimoment,
            self.warping_torque,
            self.uniform_torque,
            -np.asarray(self.load),
            self.warping_change,
            self.side_moment,
            self.side_shear,
        )
        arrays = [np.asarray(value, dtype=np.float64) for value in fields]
        stations = np.broadcast_shapes(*(a.shape for a in arrays), (1,))[-1]
        rows = np.stack([np.broadcast_to(a, (*batch, stations)) for a in arrays], axis=-1)
        return np.ascontiguousarray(rows).reshape(-1, stations, len(fields))


class Mohr(NamedTuple):
    """Principal stresses of a plane state; fields (...)."""

    major: Array
    minor: Array
    shear: Array
    """Largest shear stress in the plane [Pa]."""
    angle: Array
    """From the first axis to the direction of ``major``, in (-pi/2, pi/2] [rad]."""


def mohr(first: ArrayLike, second: ArrayLike, shear: ArrayLike) -> Mohr:
    """Principal stresses from two normal stresses and their shear stress (Mohr's circle; any textbook).

    Parameters
    ----------
    first, second, shear : array (...)
        Normal stresses along two square axes, tension positive, and the shear stress between them [Pa].

    Examples
    --------
    >>> m = mohr(3.0, -1.0, 2.0)
    >>> round(float(m.major), 6), round(float(m.minor), 6), round(float(np.degrees(m.angle)), 6)
    (3.828427, -1.828427, 22.5)
    """
    a, b, tau = (np.asarray(v, dtype=np.float64) for v in (first, second, shear))
    centre, half = 0.5 * (a + b), 0.5 * (a - b)
    radius = np.sqrt(half * half + tau * tau)
    return Mohr(centre + radius, centre - radius, radius, 0.5 * np.arctan2(tau, half))


@dataclass(frozen=True, slots=True, eq=False)
class StressShapes:
    """How stress spreads over a section per unit of each internal force.

    The three points of a strip are its first end, its middle and its second end.

    Parameters
    ----------
    fibre : array (..., e, 3)
        f with sigma = -M f [1/m3].
    flow : array (..., e, 3)
        Shear flow over V, positive from first to second end [1/m].
    lag : array (..., e, 3)
        Warping of the shear strain of that flow, G v / V: integral of q / t, its parts in 1, x, z and omega
        taken off [1/m].
    omega : array (..., e, 3)
        Sectorial coordinate about the shear centre [m2].
    omega_flow : array (..., e, 3)
        Integral of omega t ds from the free ends [m4].
    omega_lag : array (..., e, 3)
        The same as ``lag`` of ``omega_flow`` [m4].
    fibre_across : array (..., e)
        Change of f per distance off the mid-line, to the left of the strip's direction [1/m4].
    omega_across : array (..., e, 3)
        The same of omega: distance along the strip from the foot of the shear centre [m].
    side, side_flow : array (..., e, 3)
        g with sigma = H g for a free moment H that pulls the right side [1/m3], and its shear flow over a
        sideways shear force, with the other sign [1/m].
    side_across : array (..., e)
        Change of g per distance off the mid-line [1/m4].
    """

    fibre: Array
    flow: Array
    lag: Array
    omega: Array
    omega_flow: Array
    omega_lag: Array
    fibre_across: Array
    omega_across: Array
    side: Array
    side_flow: Array
    side_across: Array


def stress_shapes(
    strips: Strips, properties: Properties, torsion: TorsionProperties, *, held: bool = False
) -> StressShapes:
    """Stress shapes of an open section at three points of each strip.

    Bending and its shear flow as in `longvault.sections.bending` and `longvault.sections.shear_flow`;
    warping by Vlasov, Thin-Walled Elastic Beams (from memory): sigma = B omega / Gamma,
    q = -(T_w / Gamma) integral of omega t ds.

    Parameters
    ----------
    strips : Strips
        Open section, batch (...).
    properties, torsion : Properties, TorsionProperties
        Of the same strips.
    held : bool
        Bending held straight sideways, or free.

    Raises
    ------
    ValueError
        If the strips form a closed cell or separate pieces.

    Examples
    --------
    >>> from longvault.sections.properties import section_properties
    >>> from longvault.sections.torsion import torsion_properties
    >>> web = Strips.chain([0.0, 0.0], [0.0, 2.0], [0.1], "web")
    >>> s = stress_shapes(web, section_properties(web), torsion_properties(web))
    >>> s.flow[0].round(6).tolist()  # -3 / (2 h) at mid-height, but for the web's own thickness
    [0.0, -0.75, 0.0]
    """
    count = strips.thickness.shape[-1]
    rows = int(np.prod(strips.batch))
    points = [np.empty((rows, count, 3)) for _ in range(6)]
    fibre_across, omega_across = np.empty((rows, count)), np.empty((rows, count, 3))
    side = np.empty((rows, count, 3)), np.empty((rows, count, 3)), np.empty((rows, count))
    stress_kernels.shapes_rows(
        *_geometry(strips),
        *_section(properties, torsion, 0.0)[:2],
        np.ascontiguousarray(torsion.omega).reshape(rows, -1),
        held,
        *points,
        fibre_across,
        omega_across,
        *side,
    )
    arrays = (*points, fibre_across, omega_across, *side)
    return StressShapes(*(a.reshape(*strips.batch, *a.shape[1:]) for a in arrays))


@dataclass(frozen=True, slots=True, eq=False)
class StressField:
    """Stress at three points of each strip, on the mid-line and on both faces.

    Parameters
    ----------
    normal, shear : array (..., k, e, 3)
        Along the span on the mid-line, and the membrane shear stress q / t [Pa].
    normal_across, shear_across : array (..., k, e, 3), (..., k, e)
        Change from the mid-line to the left face (with the other sign to the right face): bending and
        warping through the thickness, and St Venant torsion [Pa].
    """

    normal: Array
    shear: Array
    normal_across: Array
    shear_across: Array


def stress_field(
    strips: Strips,
    properties: Properties,
    torsion: TorsionProperties,
    forces: SectionForces,
    *,
    held: bool = False,
    ratio: float = 2.4,
) -> StressField:
    """Stress over the section at k stations.

    sigma = N / A - M f + H g + B omega / Gamma;  tau = (V q_1 - T_w S_omega / Gamma) / t, and on the faces
    +- T_s t / J more (Vlasov, Thin-Walled Elastic Beams; Megson, Aircraft Structures, ch. 16-18, 27).

    Where ``forces`` hold the load, the strain of the shear flow adds sigma = (E / G) (V' psi - B'' psi_w /
    Gamma), psi the integral of q / t along the mid-line freed of 1, x, z and omega: 5 % of the edge stress
    where the span is four times the height, in proportion to (h / L)^2 (derived; checked against finite
    strips that keep the shape of the section).

    Parameters
    ----------
    strips, properties, torsion, held
        As for `stress_shapes`.
    forces : SectionForces
        At k stations, (..., k).
    ratio : float
        E / G; 2.4 for concrete with Poisson's ratio 0.2 (EN 1992-1-1, 3.1.3(4)).

    Examples
    --------
    >>> from longvault.sections.properties import section_properties
    >>> from longvault.sections.torsion import torsion_properties
    >>> web = Strips.chain([0.0, 0.0], [0.0, 2.0], [0.1], "web")
    >>> at = SectionForces(np.array([1e3]), np.array([0.0]))
    >>> field = stress_field(web, section_properties(web), torsion_properties(web), at)
    >>> field.normal[0, 0].round(3).tolist()  # 6 M / (t h^2) = 15 kPa, tension below
    [15000.0, 0.0, -15000.0]
    """
    s = stress_shapes(strips, properties, torsion, held=held)
    table = forces.table(strips.batch).reshape(*strips.batch, -1, 10)[..., None, None, :]
    axial, moment, shear, bimoment, warping, uniform, change, warping_change, side, push = (
        table[..., i] for i in range(10)
    )
    area, gamma, constant = (
        np.asarray(v)[..., None, None, None]
        for v in (properties.area, torsion.warping_constant, torsion.torsion_constant)
    )
    t = strips.thickness[..., None, :, None]
    normal = axial / area - moment * _up(s.fibre) + bimoment / gamma * _up(s.omega)
    normal = normal + ratio * (change * _up(s.lag) - warping_change / gamma * _up(s.omega_lag))
    tau = (shear * _up(s.flow) - warping / gamma * _up(s.omega_flow)) / t
    across = 0.5 * t * (bimoment / gamma * _up(s.omega_across) - moment * _up(s.fibre_across[..., None]))
    if forces.pushed:
        normal, tau = normal + side * _up(s.side), tau - push * _up(s.side_flow) / t
        across = across + 0.5 * t * side * _up(s.side_across[..., None])
    skin = (uniform / constant * t)[..., 0]
    return StressField(normal, tau, across, skin)


def _up(shape: Array) -> Array:
    """Make room for the axis of stations: (..., e, p) to (..., 1, e, p)."""
    return shape[..., None, :, :]


@dataclass(frozen=True, slots=True, eq=False)
class StressExtremes:
    """Largest stresses over the section at each station, (..., k); all >= 0 [Pa].

    Parameters
    ----------
    tension, compression : array
        Along the span, at corner points.
    principal_tension, principal_compression : array
        Anywhere on the faces of the strips, transverse normal stress left out.
    shear : array
        Membrane shear plus St Venant's on the face.
    strip : int array
        Strip where the principal tension is largest; -1 where there is none.
    """

    tension: Array
    compression: Array
    principal_tension: Array
    principal_compression: Array
    shear: Array
    strip: IntArray


def stress_extremes(
    strips: Strips,
    properties: Properties,
    torsion: TorsionProperties,
    forces: SectionForces,
    *,
    held: bool = False,
    ratio: float = 2.4,
) -> StressExtremes:
    """Largest normal, principal and shear stresses at each station; the quick form of `stress_field`.

    Every strip is looked at in three points, on both faces, with the shear stresses of bending and torsion
    taken in the same direction (safe side). Formulas as for `stress_field`.

    Parameters
    ----------
    strips, properties, torsion, forces, held, ratio
        As for `stress_field`. A candidate that cannot be measured is a NaN row (strip -1).

    Examples
    --------
    >>> from longvault.sections.properties import section_properties
    >>> from longvault.sections.torsion import torsion_properties
    >>> web = Strips.chain([0.0, 0.0], [0.0, 2.0], [0.1], "web")
    >>> at = SectionForces(np.array([0.0]), np.array([100e3]))
    >>> s = stress_extremes(web, section_properties(web), torsion_properties(web), at)
    >>> round(float(s.shear[0]) / 1e6, 4), round(float(s.principal_tension[0]) / 1e6, 4)  # 1.5 V / A
    (0.75, 0.75)
    """
    table = forces.table(strips.batch)
    out = np.empty((*table.shape[:2], stress_kernels.STRESS_FIELDS))
    geometry, (props, poles, stiff) = _geometry(strips), _section(properties, torsion, ratio)
    omega = np.ascontiguousarray(torsion.omega).reshape(len(table), -1)
    stress_kernels.extremes_rows(*geometry, props, poles, stiff, omega, held, forces.pushed, table, out)
    fields = np.ascontiguousarray(np.moveaxis(out, -1, 0)).reshape(-1, *strips.batch, table.shape[1])
    strip = np.where(np.isnan(fields[5]), -1.0, fields[5]).astype(np.intp)
    return StressExtremes(fields[0], fields[1], fields[2], fields[3], fields[4], strip)


def _geometry(strips: Strips) -> tuple[object, ...]:
    """Arguments that every kernel here starts with."""
    return *strip_rows(strips), tree_order(strips).steps


def _section(p: Properties, torsion: TorsionProperties, ratio: float) -> tuple[Array, Array, Array]:
    """Bending properties (N, 6), shear centre (N, 2), warping and St Venant constants with E / G (N, 3)."""
    around = torsion.torsion_constant
    return (
        side_by_side((p.centroid_x, p.centroid_z, p.ixx, p.izz, p.ixz, p.area)),
        side_by_side((torsion.shear_centre_x, torsion.shear_centre_z)),
        side_by_side((torsion.warping_constant, around, np.full_like(around, ratio))),
    )
