"""How sections are proved as folded plates: bays, struts, settings."""

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from longvault.constraints.collars import collars
from longvault.constraints.plates_records import Links
from longvault.constraints.plates_row import Bay
from longvault.constraints.spans import Spans
from longvault.constraints.stability import BucklingSettings
from longvault.sections import Joint, Strips

if TYPE_CHECKING:
    from longvault.constraints.basis import Basis


@dataclass(frozen=True, slots=True)
class Proving:
    """How sections are proved as folded plates.

    Parameters
    ----------
    bays : tuple of str
        Among ``interior``, ``end`` and ``lone``: whose neighbours hold the joints. Every demand is the
        largest of these bays.
    strut : float
        Stiffness of struts across the slot, from each edge to the plane of symmetry, per metre of span
        [N/m2]; 0 leaves the slot free.
    collar, collar_at : float
        Stiffness of collars over the module, per metre of span [N/m2], and where they meet the profile: 0 at
        its edges, 0.5 halfway to its middle (`longvault.constraints.collars`).
    spacing : float
        Distance of struts and collars along the span [m]: gives the force in each. They are reckoned as
        continuous, which tells that force to a few hundredths where several stand along the span.
    poisson : float
        Poisson's ratio; 0.2 for uncracked concrete (EN 1992-1-1, 3.1.3(4)).
    slot_movement : float
        Sideways movement of a slot edge that the glazing bears [m]; common practice.
    stability : BucklingSettings
        What stands between the classical buckling stress and the one to design with.
    allowance : float
        Demands are raised by this share, for the resolution of the analysis in the search.
    harmonics : tuple of int
        Half-waves along the span.
    """

    bays: tuple[Bay, ...] = ("interior",)
    strut: float = 0.0
    collar: float = 0.0
    collar_at: float = 0.5
    spacing: float = 3.0
    poisson: float = 0.2
    slot_movement: float = 0.010
    stability: BucklingSettings = field(default_factory=BucklingSettings)
    allowance: float = 0.02
    harmonics: tuple[int, ...] = (1, 3, 5, 7, 9)

    def strutted(self, joints: tuple[Joint, ...]) -> tuple[Joint, ...]:
        """Return the joints with struts across the slots, where there are any."""
        if self.strut == 0.0:
            return joints
        return tuple(Joint(j.node, "strut", j.side, self.strut) if j.kind == "slot" else j for j in joints)

    def collars(self, strips: Strips, joints: tuple[Joint, ...]) -> Links:
        """Return the collars of a module."""
        return collars(strips, joints, stiffness=self.collar, at=self.collar_at)

    def standing(
        self, strips: Strips, joints: tuple[Joint, ...], bay: Bay, pitch: float
    ) -> tuple[tuple[Joint, ...], Links]:
        """Return the joints with their struts, and what else ties the module to itself and its neighbours.

        Struts are springs to the plane of symmetry. An interior module that is not its own mirror image, a
        north-light, stands in a row by shift: a strut joins it to the left edge of the next one, which moves
        as its own left edge does. The last one of such a row is taken to stand alone: no plane holds it, and
        how far its neighbour goes with it is not asked (`longvault.constraints.plates_row.row` tells).
        """
        own = self.collars(strips, joints)
        if self.strut == 0.0 or alike_on_both_sides(strips):
            return self.strutted(joints), own
        if bay != "interior":
            return joints, own
        sides = [[j.node for j in joints if j.side == s and j.kind == "slot"] for s in ("right", "left")]
        pairs = np.array(list(zip(*sides, strict=False)), dtype=np.intp).reshape(-1, 2)
        struts = np.full(len(pairs), 0.5 * self.strut)
        return joints, Links(
            np.concatenate([own.ends, pairs]),
            np.concatenate([own.stiffness, struts]),
            np.concatenate([own.shift, np.full(len(pairs), pitch)]),
        )


def alike_on_both_sides(strips: Strips) -> bool:
    """Whether a profile is built alike from both ends, strip by strip: nodes, what they join, and parts.

    Examples
    --------
    >>> alike_on_both_sides(Strips.chain([0.0, 1.0, 2.0], [0.0, 1.0, 0.0], 0.1, "wing"))
    True
    >>> alike_on_both_sides(Strips.chain([0.0, 1.0, 2.0], [0.0, 1.0, 0.0], 0.1, ["gutter", "wing"]))
    False
    """
    last = strips.x.shape[-1] - 1
    here = {(frozenset(pair), part) for pair, part in zip(strips.ends.tolist(), strips.parts, strict=True)}
    there = {(frozenset(last - node for node in pair), part) for pair, part in here}
    return here == there


def covered(basis: "Basis") -> bool:
    """Whether the folded plate covers this roof: simple spans of one section between diaphragms."""
    return basis.prismatic and basis.line == Spans.simple(basis.span) and basis.arch is None
