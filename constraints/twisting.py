"""Loads beside the shear centre: what twists a module, and the forces along the span that come with it."""

from dataclasses import dataclass, fields

import numpy as np

from longvault.constraints.actions import ULTIMATE, LineLoads, Loads
from longvault.constraints.basis import Basis
from longvault.constraints.combinations import Combined, VariableCase, combined
from longvault.constraints.load_cases import CaseLoads, case_loads, permanent_about
from longvault.constraints.plan_load import RoofLine, roof_line
from longvault.constraints.span_forces import Twist, patterned_twist, span_forces
from longvault.constraints.stress import SectionForces
from longvault.constraints.torsion import load_torque, surface_centre
from longvault.sections.properties import Properties
from longvault.sections.strips import Strips
from longvault.sections.symbols import Array, BoolArray, IntArray
from longvault.sections.torsion import TorsionProperties

FULL, ONE_WAY, OTHER_WAY = range(3)
"""Combinations looked at: the heaviest load, the most torque, the least torque. Behind them stand, where
there is snow, most and least torque with snow on one half, and where wind bends the module sideways, the
most push either way."""


def twisting_cases(loads: Loads, strips: Strips, *, pitch: float, line: RoofLine | None = None) -> CaseLoads:
    """Every variable case with the place where it acts, and snow and maintenance on either half of the bay.

    People and tools may stand on any part of a roof (EN 1991-1-1, 6.3.4, from memory). Snow may be cleared
    from one bay and lie on the next (EN 1991-1-3, 5.2(5), removed on purpose; from memory): the vault over a
    slot lies half on either module, so a module beside a cleared one has snow on one half. Along the span
    that is never more than snow on both halves; what it adds is torque.

    Examples
    --------
    >>> roof = Strips.chain([-2.0, 0.0, 2.0], [0.0, 1.0, 0.0], 0.1, "crown")
    >>> found = twisting_cases(Loads(maintenance=400.0), roof, pitch=4.0)
    >>> found.cases[-1].name, found.down[-2:].tolist(), found.about[-2:].tolist()
    ('maintenance on the right half', [800.0, 800.0], [-800.0, 800.0])
    """
    line = roof_line(strips) if line is None else line
    found = case_loads(loads, strips, pitch=pitch, place=True, line=line)
    cases = half_cases(loads)
    if not cases or found.about is None:
        return found
    whole = np.array([loads.snow if case.kind == "snow" else loads.maintenance for case in cases])
    half, sides = 0.5 * pitch * whole, np.tile([-0.25, 0.25], len(cases) // 2)
    about = half * (line.middle[..., None] + pitch * sides)
    return CaseLoads(
        found.cases + cases,
        np.concatenate([found.down, half + np.zeros_like(about)], axis=-1),
        np.concatenate([found.about, about], axis=-1),
        np.concatenate([np.asarray(found.right), np.zeros_like(about)], axis=-1),
    )


def half_cases(loads: Loads) -> tuple[VariableCase, ...]:
    """List snow and maintenance on either half of the bay, left before right.

    Examples
    --------
    >>> [case.name for case in half_cases(Loads(snow=640.0))]
    ['snow on the left half', 'snow on the right half']
    """
    kinds = [kind for kind, load in (("snow", loads.snow), ("maintenance", loads.maintenance)) if load]
    return tuple(VariableCase(f"{k} on the {side} half", k) for k in kinds for side in ("left", "right"))


def load_centre(
    strips: Strips, properties: Properties, loads: LineLoads, *, services_x: float = 0.0
) -> Array:
    """Line in which the characteristic load acts (...) [m].

    Own weight in the centroid, finishes in the middle of the roof surface, services ``services_x`` [m] beside
    the middle between the two edges, the rest in that middle: what falls on the glass goes half to the module
    on either side of it.
    """
    middle = 0.5 * (properties.left + properties.right)
    rest = loads.glass + loads.services + np.maximum(loads.snow, loads.maintenance)
    moment = loads.self_weight * properties.centroid_x + loads.finish * surface_centre(strips) + rest * middle
    moment = moment + loads.services * services_x
    centre: Array = moment / (loads.self_weight + loads.finish + rest)
    return centre


@dataclass(frozen=True, slots=True, eq=False)
class Turning:
    """Ultimate loads of every combination with their torque about the shear centre, per metre of span.

    Parameters
    ----------
    cases : tuple of VariableCase
        Cases.
    rules : Combined
        The combinations, C of them.
    permanent, variable : array (..., C)
        Factored loads [N/m].
    fixed, swing : array (..., C)
        Torques of the two from x to z [N].
    right : array (..., C) or None
        Load to the right that bends the module [N/m]; None where there is none or something holds it.
    """

    cases: tuple[VariableCase, ...]
    rules: Combined
    permanent: Array
    variable: Array
    fixed: Array
    swing: Array
    right: Array | None = None

    @property
    def cleared(self) -> BoolArray:
        """Which combinations (C,) have snow on one half."""
        halves = [k for k, case in enumerate(self.cases) if case.half and case.kind == "snow"]
        return np.asarray((self.rules.variable[:, halves] != 0.0).any(axis=1))

    @classmethod
    def of(
        cls, strips: Strips, p: Properties, torsion: TorsionProperties, basis: Basis, lines: LineLoads
    ) -> "Turning":
        """Work out the combinations of one section, or of a batch (...)."""
        line = roof_line(strips)
        found = twisting_cases(basis.loads, strips, pitch=basis.pitch, line=line)
        rules = combined(basis.combinations, found.cases, ULTIMATE)
        about = np.asarray(found.about)
        permanent = rules.permanent * lines.permanent[..., None]
        variable = np.einsum("ck,...k->...c", rules.variable, found.down)
        right = np.einsum("ck,...k->...c", rules.variable, np.asarray(found.right))
        moment = rules.permanent * permanent_about(lines, basis.loads, strips, p, line)[..., None]
        turned = np.einsum("ck,...k->...c", rules.variable, about)
        x, z = torsion.shear_centre_x[..., None], torsion.shear_centre_z[..., None]
        torques = x * permanent - moment, x * variable + z * right - turned
        return cls(found.cases, rules, permanent, variable, *torques, right if basis.pushed else None)

    @property
    def torque(self) -> Array:
        """Torque of both loads (..., C) [N]."""
        return self.fixed + self.swing

    @property
    def pools(self) -> tuple[BoolArray, ...]:
        """Combinations (C,) of which most and least torque are looked at: without and with `cleared`."""
        cleared = self.cleared
        return (~cleared, cleared) if cleared.any() else (~cleared,)

    def swings(self, pool: BoolArray) -> tuple[Array, Array]:
        """Largest and smallest torque of variable load, which may also be left out (...) [N]."""
        of = self.swing[..., pool]
        return np.maximum(of.max(axis=-1), 0.0), np.minimum(of.min(axis=-1), 0.0)

    def picked(self) -> IntArray:
        """Heaviest combination, those of most and least torque and what stands behind them (..., 3 to 7)."""
        whole, torque = self.permanent + self.variable, self.torque
        places = [whole.argmax(axis=-1)]
        for pool in self.pools:
            places.append(np.where(pool, torque, -np.inf).argmax(axis=-1))
            places.append(np.where(pool, torque, np.inf).argmin(axis=-1))
        if self.right is not None:
            most = np.abs(self.right).max(axis=-1, keepdims=True)
            more = 1e-6 * most * whole / np.abs(whole).max(axis=-1, keepdims=True)  # of alike, the heavier
            places += [(self.right + more).argmax(axis=-1), (more - self.right).argmax(axis=-1)]
        index: IntArray = np.stack(places, axis=-1)
        return index


@dataclass(frozen=True, slots=True, eq=False)
class Acting:
    """Internal forces a section is looked at under, ultimate, and the torques at the supports.

    Parameters
    ----------
    forces : SectionForces
        (..., k).
    part : int array (k,)
        Which of the combinations looked at each of them belongs to.
    names : tuple of str
        Combinations.
    index : int array (..., 3 to 7)
        Those combinations: `Turning.picked`.
    end_torque, side_torque : array (...)
        Largest torque at a support under the heaviest load, and under those two [N m].
    """

    forces: SectionForces
    part: IntArray
    names: tuple[str, ...]
    index: IntArray
    end_torque: Array
    side_torque: Array

    def governing(self, values: Array) -> IntArray:
        """Find where the largest of ``values`` (..., k) comes from (...); -1: the heaviest load."""
        part = self.part[values.argmax(axis=-1)]
        found = np.take_along_axis(self.index, part[..., None], axis=-1)[..., 0]
        return np.where(part == FULL, -1, found)


def acting_along(
    strips: Strips,
    p: Properties,
    torsion: TorsionProperties,
    basis: Basis,
    *,
    lines: LineLoads,
    heaviest: Array,
    centre: Array,
) -> Acting:
    """Find forces along a prismatic module under the heaviest load and those that twist and push it most.

    On several fields the loads that twist lie where they add (`patterned_twist`), at every station. A module
    held straight sideways is not twisted. What twists one module of a row that neighbours hold along shared
    valleys (`Basis.twist_held`) goes into those valleys: its torque is told, its stress left out.

    Parameters
    ----------
    strips, p, torsion, basis
        Batch (...).
    lines : LineLoads
        Loads of the module by source.
    heaviest, centre : array (...)
        Heaviest ultimate load [N/m] and the line in which it acts [m].
    """
    turning, free = Turning.of(strips, p, torsion, basis, lines), 0.0 if basis.held else 1.0
    index = turning.picked()
    permanent, variable, torque = (
        np.take_along_axis(v, index, axis=-1) for v in (turning.permanent, turning.variable, turning.torque)
    )
    torque[..., FULL] = load_torque(torsion, down=heaviest, x=centre)
    parts = range(index.shape[-1])
    twists = _patterns(turning, index, torsion, basis)
    right = np.zeros_like(torque)
    if turning.right is not None:
        right = np.take_along_axis(turning.right, index, axis=-1)
    found = [
        span_forces(
            torsion, spans=basis.line, load=permanent[..., i], variable=variable[..., i],
            torque=torque[..., i] * free, twist=twists[i], modulus=basis.concrete.ecm,
            shear_modulus=basis.concrete.shear_modulus(), right=right[..., i],
        )
        for i in parts
    ]  # fmt: skip
    ends = [
        largest_torque(one) if twist is None else np.abs(twist.torque).max(axis=-1)
        for one, twist in zip(found, twists, strict=True)
    ]
    counted = found if basis.alone else found[:1]
    part = np.repeat(np.arange(len(counted)), counted[0].moment.shape[-1])
    side = np.maximum.reduce(ends[ONE_WAY:])
    return Acting(joined_forces(counted), part, turning.rules.names, index, ends[FULL], side)


def _patterns(
    turning: Turning, index: IntArray, torsion: TorsionProperties, basis: Basis
) -> tuple[Twist | None, ...]:
    """Torsion of the three parts where loads that twist lie on some fields; None: as loads everywhere."""
    if len(basis.line.fields) == 1:
        return tuple(None for _ in range(index.shape[-1]))
    free = 0.0 if basis.held else 1.0
    found: list[Twist] = []
    for k, pool in enumerate(turning.pools):
        most, least = turning.swings(pool)
        own = index[..., ONE_WAY + 2 * k : OTHER_WAY + 2 * k + 1]
        found += patterned_twist(
            torsion, spans=basis.line, most=free * most, least=free * least,
            fixed=free * np.take_along_axis(turning.fixed, own, axis=-1),
            modulus=basis.concrete.ecm, shear_modulus=basis.concrete.shear_modulus(),
        )  # fmt: skip
    return (None, *found, *(None,) * (index.shape[-1] - 1 - len(found)))  # what pushes lies everywhere


def largest_torque(forces: SectionForces) -> Array:
    """Largest torque along the span (...) [N m]."""
    torque: Array = np.abs(np.asarray(forces.warping_torque) + np.asarray(forces.uniform_torque)).max(axis=-1)
    return torque


def joined_forces(parts: list[SectionForces]) -> SectionForces:
    """Put the stations of several states side by side."""
    if len(parts) == 1:
        return parts[0]

    def row(name: str) -> Array:
        return np.concatenate(
            [np.broadcast_to(getattr(one, name), one.moment.shape) for one in parts], axis=-1
        )

    return SectionForces(**{field.name: row(field.name) for field in fields(SectionForces)})
