"""The transverse slice: one metre of the roof as a frame under its load and the change of the shear flow."""

from dataclasses import dataclass, replace

import numpy as np

from longvault.constraints.plates import FoldedPlate, Links, PlateLoads, Supports, solved_plates
from longvault.constraints.plates_kernel import DOFS
from longvault.constraints.plates_records import locked
from longvault.constraints.plates_results import smoothed, strip_forces, support_forces
from longvault.sections import Strips
from longvault.sections.bending import bending_field
from longvault.sections.shear_flow import shear_flow, sideways_field
from longvault.sections.symbols import Array, BoolArray

ACROSS, ALONG, UP, TURN = range(DOFS)

LEVEL = 1e-6
"""Sideways supports within this share of the section's height of each other do not stop it turning."""


@dataclass(frozen=True, slots=True, eq=False)
class Slice:
    """What a transverse slice says; per metre of span.

    Parameters
    ----------
    n_s : array (..., e, 2)
        Force across at both ends of each strip, tension positive [N/m].
    m_s : array (..., e, 2)
        Transverse moment, + with tension on the upper face (the left one, in a vertical strip) [N m/m].
        Ends of equally thick strips are averaged at two-strip nodes.
    moved : array (..., n, 3)
        Movement of the nodes right, up [m] and turned from x to z [rad]; what the section moves as a whole,
        where nothing holds it, is taken out.
    support : array (..., n, 4)
        Force right, -, up [N/m] and moment [N m/m] of the supports on the section; round-off elsewhere.
    torque : array (...)
        Moment per metre of span that load and shear flow leave over [N m/m]: the load times its distance to
        the shear centre. Where no support takes it, twisting couples in proportion to b t^3 balance it.
    """

    n_s: Array
    m_s: Array
    moved: Array
    support: Array
    torque: Array


def transverse_slice(
    strips: Strips,
    loads: PlateLoads,
    *,
    modulus: float,
    poisson: float = 0.0,
    supports: Supports | None = None,
    links: Links | None = None,
) -> Slice:
    """Solve a slice one metre long, cut from a long roof, as a plane frame (the beam-arch method).

    The load is carried by the change of the beam's shear flow along the span, a tangential force w Q / I on
    the slice; the two are in balance, so a lone slice needs no support. Bending and axial deformation.

    Parameters
    ----------
    strips : Strips, batch (...)
    loads : PlateLoads
    modulus, poisson : float
        Of the plates [Pa]; forces of a free slice do not depend on them.
    supports : Supports, optional
        As for the folded plate (`plates_row.bay_supports`): an interior bay does not move sideways or turn
        at its valleys and is free to go down.
    links : Links, optional
        Struts and collars.

    Notes
    -----
    Method: Lundgren, Cylindrical Shells, vol. 1, 1949; Chinn, ACI Journal, May 1959. Beam stresses are those
    of free biaxial bending, or of straight bending where a support holds the section sideways. Shear flow of
    the mid-line without the plates' own thickness, so that it balances the load exactly.

    Examples
    --------
    Transverse moment at the crown of a lone barrel over g R^2 (derived: 0.0797 for 40 degrees).

    >>> angle = np.radians(np.linspace(-40.0, 40.0, 81))
    >>> barrel = Strips.chain(np.sin(angle), np.cos(angle), 0.01, "wing")
    >>> found = transverse_slice(barrel, PlateLoads(surface=1.0), modulus=30e9)
    >>> round(float(found.m_s[40, 0]), 4)
    0.0797
    """
    supports = Supports.free(strips.x.shape[-1]) if supports is None else supports
    links = Links.none() if links is None else links
    springs = supports.spring.reshape(-1, *supports.spring.shape[-2:])
    holds: BoolArray = np.greater(springs.max(axis=0), 0.0)
    nodal = loads.nodal(strips)
    first, second = _shear_loads(strips, nodal, held=bool(holds[:, ACROSS].any()))
    _add_along(nodal, strips, first, second)
    torque = _torque(strips, nodal)
    turns = not (holds[:, TURN].any() or _levers(strips, holds[:, ACROSS]))
    if turns:
        _add_couples(nodal, strips, torque)
    spring = np.array(np.broadcast_to(supports.spring, nodal.shape))
    spring[..., ALONG] = np.inf
    # A body in balance needs one node at rest to be solved; no force arises there.
    at_rest = [
        d
        for d, loose in ((ACROSS, not holds[:, ACROSS].any()), (UP, not holds[:, UP].any()), (TURN, turns))
        if loose
    ]
    spring[..., 0, at_rest] = np.inf
    (solved,) = solved_plates([_asked(strips, loads, nodal, modulus, poisson, Supports(spring), links)])
    forces = strip_forces(solved)
    own = np.stack([first, -second], axis=-1)[..., None, :, :]
    forces = smoothed(strips, replace(forces, n_s=forces.n_s + own))
    moved = solved.displacement[..., 0, :, :][..., [ACROSS, UP, TURN]]
    moved = _without_rigid(strips, np.ascontiguousarray(moved), at_rest)
    return Slice(
        locked(forces.n_s[..., 0, :, :]), locked(forces.m_s[..., 0, :, :]), locked(moved),
        locked(support_forces(solved)[..., 0, :, :]), locked(torque),
    )  # fmt: skip


def _asked(
    strips: Strips,
    loads: PlateLoads,
    nodal: Array,
    modulus: float,
    poisson: float,
    supports: Supports,
    links: Links,
) -> FoldedPlate:
    """Return the slice as a folded plate of infinite span: k = 0, nothing varies along it."""
    one, span = np.ones(1, dtype=np.intp), locked(np.full(strips.batch, np.inf))
    return FoldedPlate(
        strips, span, modulus, poisson, one, locked(np.ones(1)), (0.0, 1.0), locked(nodal),
        locked(loads.down(strips)), np.zeros(0), supports, links,
    )  # fmt: skip


def _shear_loads(strips: Strips, nodal: Array, *, held: bool) -> tuple[Array, Array]:
    """Return the tangential load of each strip, + from first to second end, shared to its ends (..., e).

    d(N_ys)/dy = P integral of f t ds, since dN_y/dy balances dN_ys/ds and M'' = P (load up). It is quadratic
    along a strip, so Simpson's rule shares it exactly.
    """
    strip = _LineSection.of(strips)
    vertical = bending_field(
        strips, x=strip.x, z=strip.z, ixx=strip.ixx, izz=strip.izz, ixz=strip.ixz, held=held
    )
    fields = [(nodal[..., UP], vertical)]
    if not held:
        sideways = sideways_field(strips, x=strip.x, z=strip.z, ixx=strip.ixx, izz=strip.izz, ixz=strip.ixz)
        fields.append((nodal[..., ACROSS], sideways))
    b, area = strips.length, strips.length * strips.thickness
    first, second = np.zeros((2, *area.shape))
    for load, field in fields:
        flow = shear_flow(strips, field)
        middle = 0.5 * (flow.first + flow.second) + area * (field.first - field.second) / 8.0
        total = load.sum(axis=-1)[..., None] * b / 6.0
        first += total * (flow.first + 2.0 * middle)
        second += total * (flow.second + 2.0 * middle)
    return first, second


@dataclass(frozen=True, slots=True, eq=False)
class _LineSection:
    """Centroid and second moments of the mid-line times its thickness, (...)."""

    x: Array
    z: Array
    ixx: Array
    izz: Array
    ixz: Array

    @classmethod
    def of(cls, strips: Strips) -> "_LineSection":
        """Integrate exactly along straight strips."""
        area = strips.length * strips.thickness
        whole = area.sum(axis=-1)
        x = 0.5 * (area * (strips.at_first(strips.x) + strips.at_second(strips.x))).sum(axis=-1) / whole
        z = 0.5 * (area * (strips.at_first(strips.z) + strips.at_second(strips.z))).sum(axis=-1) / whole
        from_x, from_z = strips.x - x[..., None], strips.z - z[..., None]
        x1, x2 = strips.at_first(from_x), strips.at_second(from_x)
        z1, z2 = strips.at_first(from_z), strips.at_second(from_z)

        def product(a1: Array, a2: Array, b1: Array, b2: Array) -> Array:
            total: Array = (area * (2.0 * (a1 * b1 + a2 * b2) + a1 * b2 + a2 * b1)).sum(axis=-1) / 6.0
            return total

        return cls(x, z, product(z1, z2, z1, z2), product(x1, x2, x1, x2), product(x1, x2, z1, z2))


def _add_along(nodal: Array, strips: Strips, first: Array, second: Array) -> None:
    """Add tangential strip loads to the nodal loads."""
    dx, dz = strips.span_vectors()
    b = strips.length
    for i, pair in enumerate(strips.ends):
        for node, load in zip(pair, (first, second), strict=True):
            nodal[..., node, ACROSS] += load[..., i] * dx[..., i] / b[..., i]
            nodal[..., node, UP] += load[..., i] * dz[..., i] / b[..., i]


def _torque(strips: Strips, nodal: Array) -> Array:
    """Return the moment of all nodal loads, which balance in both directions (...) [N m/m]."""
    parts = strips.x * nodal[..., UP] - strips.z * nodal[..., ACROSS] + nodal[..., TURN]
    total: Array = parts.sum(axis=-1)
    return total


def _levers(strips: Strips, held: BoolArray) -> bool:
    """Say whether sideways supports at different heights stop the section from turning."""
    heights = strips.z[..., held]
    return heights.shape[-1] > 1 and bool(
        np.all(np.ptp(heights, axis=-1) > LEVEL * np.ptp(strips.z, axis=-1))
    )


def _add_couples(nodal: Array, strips: Strips, torque: Array) -> None:
    """Balance a torque by the twisting moments of thin strips, in proportion to b t^3 (St Venant; Megson)."""
    dx, dz = strips.span_vectors()
    stiffness = strips.length * strips.thickness**3
    couple = torque[..., None] * stiffness / stiffness.sum(axis=-1, keepdims=True)
    # A couple spread along a strip does the work of normal forces -+ couple / b at its ends, (-dz, dx) / b^2.
    right, up = couple * dz / (dx * dx + dz * dz), -couple * dx / (dx * dx + dz * dz)
    for i, (first, second) in enumerate(strips.ends):
        nodal[..., first, ACROSS] -= right[..., i]
        nodal[..., first, UP] -= up[..., i]
        nodal[..., second, ACROSS] += right[..., i]
        nodal[..., second, UP] += up[..., i]


def _without_rigid(strips: Strips, moved: Array, at_rest: list[int]) -> Array:
    """Take out what the section moves as a whole (weighted by area) in the directions that nothing holds."""
    weight, half = np.zeros_like(strips.x), 0.5 * strips.length * strips.thickness
    for i, pair in enumerate(strips.ends):
        weight[..., pair] += half[..., i, None]
    weight /= weight.sum(axis=-1, keepdims=True)

    def mean(values: Array) -> Array:
        found: Array = (weight * values).sum(axis=-1)[..., None]
        return found

    x, z = strips.x - mean(strips.x), strips.z - mean(strips.z)
    right, up, turn = (np.array(moved[..., i]) for i in range(3))
    if TURN in at_rest:
        angle = mean(x * up - z * right) / mean(x * x + z * z)
        right, up, turn = right + angle * z, up - angle * x, turn - angle
    right = right - mean(right) if ACROSS in at_rest else right
    up = up - mean(up) if UP in at_rest else up
    return np.stack([right, up, turn], axis=-1)
