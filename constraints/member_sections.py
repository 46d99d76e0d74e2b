"""What is known at the sections of a taper: what every closer look at it starts from."""

from dataclasses import dataclass
from typing import Any

import numpy as np

from longvault.constraints.actions import LineLoads
from longvault.constraints.basis import Basis
from longvault.constraints.combinations import Combined
from longvault.constraints.reinforcement import BeamSection
from longvault.constraints.taper import Envelope, Places
from longvault.sections.properties import Properties
from longvault.sections.rows import taken
from longvault.sections.strips import Strips
from longvault.sections.symbols import Array, IntArray


def taken_at(values: Array, index: IntArray) -> tuple[Array, IntArray]:
    """Take the value of one station (...) from values (..., K); the station stands beside it."""
    return _picked(values, index), index


def case_at(cases: IntArray, index: IntArray) -> IntArray:
    """Take the combination at one station (...) from those of all (..., K)."""
    found: IntArray = _picked(cases, index)
    return found


def _picked(values: Any, index: IntArray) -> Any:
    """Entry ``index`` (...) of the last axis of values (..., K)."""
    flat, at = values.reshape(-1, values.shape[-1]), index.reshape(-1)
    return flat[np.arange(at.size), at].reshape(index.shape)


def largest_station(size: Array, where: Places, section: IntArray) -> IntArray:
    """Station with the largest effect among those of one section."""
    there = where.section == section[..., None]
    station: IntArray = np.where(there, size, -np.inf).argmax(axis=-1)
    return station


def by_section(values: Array, where: Places) -> Array:
    """Largest value (..., K) among the stations of each section."""
    there = np.take(values, where.order, axis=-1)
    return np.maximum.reduceat(there, where.start, axis=-1)


@dataclass(frozen=True, slots=True, eq=False)
class AtSections:
    """The sections (..., K) of a taper and the effects at them.

    Parameters
    ----------
    basis, where : Basis, Places
        Of design; stations along the span.
    strips, lines, properties : Strips, LineLoads, Properties
        Batch (..., K).
    sections : tuple of BeamSection or None
        As cracked beams, for the main and the other sign of moment (..., K).
    local : mapping of str to array
        Measures of each section (..., K), and of the whole module (...).
    rules : mapping of state to Combined
        Combinations.
    envelopes : mapping of str to Envelope
        Of moments, shear and pushes at the stations (..., S).
    """

    basis: Basis
    where: Places
    strips: Strips
    lines: LineLoads
    properties: Properties
    sections: tuple[BeamSection, BeamSection | None]
    local: dict[str, Array]
    rules: dict[str, Combined]
    envelopes: dict[str, Envelope]

    def taken(self, rows: IntArray) -> "AtSections":
        """Return the same of some designs of a batch (N,)."""
        main, other = self.sections
        return AtSections(
            self.basis, self.where, self.strips[rows], taken(self.lines, rows), taken(self.properties, rows),
            (taken(main, rows), None if other is None else taken(other, rows)),
            {key: values[rows] for key, values in self.local.items()}, self.rules,
            {key: taken(one, rows) for key, one in self.envelopes.items()},
        )  # fmt: skip

    def mean(self, values: Array, axis: int = -1) -> Array:
        """Mean along the span of values at the sections, which stand along ``axis``."""
        rows = np.moveaxis(values, axis, -1)
        total = (np.take(rows, self.where.section, axis=-1) * self.where.mesh.weight).sum(axis=-1)
        return np.asarray(total / self.basis.line.length)

    def sized(self, effect: str, key: str) -> tuple[Array, IntArray]:
        """Size of an effect at each station and its combination; of the other sign for the steel of that."""
        env = self.envelopes[effect]
        if not key.endswith("-reverse"):
            return env.largest()
        return (-env.least, env.least_case) if self.basis.sagging else (env.most, env.most_case)
