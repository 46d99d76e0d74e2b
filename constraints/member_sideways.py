"""The sideways part of wind along a taper: moments that stand together at each station, movements."""

from dataclasses import dataclass

import numpy as np

from longvault.constraints.actions import CHARACTERISTIC, ULTIMATE
from longvault.constraints.basis import Basis
from longvault.constraints.combinations import Combined
from longvault.constraints.load_cases import CaseLoads
from longvault.constraints.sideways_pairs import Pairs, pushing_rows, without_noise
from longvault.constraints.spans import Response, respond
from longvault.constraints.taper import Places, TaperedBeam
from longvault.sections.properties import Properties
from longvault.sections.symbols import Array, BoolArray


@dataclass(frozen=True, slots=True, eq=False)
class Sidelong:
    """A taper under the sideways part of wind, beside its vertical loads.

    Parameters
    ----------
    basis : Basis
        Of design.
    where : Places
        Stations.
    beam : TaperedBeam
        Responses to vertical loads.
    side : Response
        To the push to the right of each variable case on each field (R = K_v F).
    rules : mapping of state to Combined
        Combinations.
    variable : CaseLoads
        Cases.
    """

    basis: Basis
    where: Places
    beam: TaperedBeam
    side: Response
    rules: dict[str, Combined]
    variable: CaseLoads

    @classmethod
    def solve(
        cls,
        p: Properties,
        basis: Basis,
        where: Places,
        beam: TaperedBeam,
        rules: dict[str, Combined],
        variable: CaseLoads,
    ) -> "Sidelong":
        """Bend a module (..., K) sideways on its supports: stiffness E D / I_xx, D = I_xx I_zz - I_xz^2."""
        soft = p.ixx / (basis.concrete.ecm * (p.ixx * p.izz - p.ixz * p.ixz))
        right = np.ascontiguousarray(np.swapaxes(np.asarray(variable.right), -1, -2))
        on = where.mesh.field[None, :] == np.arange(len(basis.line.fields))[:, None]
        load = np.take(right, where.section, axis=-1)[..., :, None, :] * on
        load = load.reshape(*load.shape[:-3], -1, load.shape[-1])
        flexibility = np.take(soft, where.section, axis=-1)
        side = respond(basis.line, mesh=where.mesh, load=load, flexibility=flexibility)
        return cls(basis, where, beam, side, rules, variable)

    def pairs(self) -> tuple[Pairs, Pairs, Pairs]:
        """Pairs of ultimate and characteristic moments, and of ultimate shear forces (`Pairs`)."""
        wanted = (("moment", ULTIMATE), ("moment", CHARACTERISTIC), ("shear", ULTIMATE))
        strong, service, shear = (self._pairs(kind, state) for kind, state in wanted)
        return strong, service, shear

    def _pairs(self, kind: str, state: str) -> Pairs:
        """Load the fields that add to the vertical response, or those that take away, with both parts."""
        rules, beam = self.rules[state], self.beam
        rows = pushing_rows(rules, self.variable.cases, self.basis.loads)
        dead, live = getattr(beam.permanent, kind), getattr(beam.variable, kind)
        factors = rules.variable[rows]
        adds = dead >= 0.0
        vertical = self._by_sign(live, adds)
        own = factors if beam.cases is None else (factors @ beam.cases)[:, None]
        upright = np.einsum("ck,...kts->...sct", own, vertical)
        upright = upright + (rules.permanent[rows][:, None] * dead.sum(axis=-2)[..., :, None, None])
        level = np.einsum("ck,...kts->...sct", factors, self._by_sign(getattr(self.side, kind), adds))
        shape = (*upright.shape[:-2], -1)
        y, section = self.where.mesh.y, self.where.section
        upright, level = upright.reshape(shape), without_noise(level.reshape(shape), (-2, -1))
        return Pairs(rules.names, np.repeat(rows, 2), y, section, upright, level)

    def _by_sign(self, response: Array, adds: BoolArray) -> Array:
        """Sum responses (..., K_v F, S) over the fields that add, and over the others (..., K_v, 2, S)."""
        fields = adds.shape[-2]
        by_case = response.reshape(*response.shape[:-2], -1, fields, response.shape[-1])
        sets = (np.where(one[..., None, :, :], by_case, 0.0).sum(axis=-2) for one in (adds, ~adds))
        return np.stack(list(sets), axis=-2)

    def movement(self) -> Array:
        """Largest movement by the push alone, characteristic, where it is largest for its field (...) [m]."""
        size = self._size(self.side.deflection, CHARACTERISTIC)
        at = (size * self.where.scale).argmax(axis=-1)
        return np.asarray(np.take_along_axis(size, at[..., None], axis=-1)[..., 0])

    def reaction(self) -> Array:
        """Largest push on a support, ultimate (...) [N]."""
        return np.asarray(self._size(self.side.reaction, ULTIMATE).max(axis=-1))

    def _size(self, response: Array, state: str) -> Array:
        """Largest size of a response to the push over combinations, on the fields where it adds (..., S)."""
        rules, fields = self.rules[state], len(self.basis.line.fields)
        rows = pushing_rows(rules, self.variable.cases, self.basis.loads)
        by_case = response.reshape(*response.shape[:-2], -1, fields, response.shape[-1])
        each = np.einsum("ck,...kfs->...cfs", rules.variable[rows], by_case)
        up, down = np.maximum(each, 0.0).sum(axis=-2), np.maximum(-each, 0.0).sum(axis=-2)
        return np.asarray(np.maximum(up, down).max(axis=-2))
