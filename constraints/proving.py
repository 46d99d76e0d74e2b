"""How sections are proved as folded plates: bays, struts, settings."""

from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from longvault.constraints.collars import collars
from longvault.constraints.plates_records import Links
from longvault.constraints.plates_row import Bay, neighbour_struts
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
        Stiffness of struts across the slot, from each edge to mid-slot, per metre of span [N/m2]; 0 leaves
        the slot free.
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

    def collars(self, strips: Strips, joints: tuple[Joint, ...]) -> Links:
        """Return the collars of a module."""
        return collars(strips, joints, stiffness=self.collar, at=self.collar_at)

    def links(self, strips: Strips, joints: tuple[Joint, ...], bay: Bay, pitch: float) -> Links:
        """Return the collars of a module, and the struts to its neighbours in this bay.

        Struts stand at joints said to be struts, and at slots where `strut` is above 0
        (`longvault.constraints.plates_row.neighbour_struts`).
        """
        struts = neighbour_struts(strips, self._strutted(joints), bay, pitch)
        return self.collars(strips, joints).and_also(struts)

    def _strutted(self, joints: tuple[Joint, ...]) -> tuple[Joint, ...]:
        if self.strut == 0.0:
            return joints
        return tuple(Joint(j.node, "strut", j.side, self.strut) if j.kind == "slot" else j for j in joints)


def covered(basis: "Basis") -> bool:
    """Whether the folded plate covers this roof: simple spans of one section between diaphragms."""
    return basis.prismatic and basis.line == Spans.simple(basis.span) and basis.arch is None
