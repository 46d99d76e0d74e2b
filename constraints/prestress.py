"""Post-tensioning: where the tendon lies, the force it needs, stresses at transfer and in service."""

from dataclasses import dataclass, field
from math import floor, pi

import numpy as np
from numpy.typing import ArrayLike

from longvault.constraints import prestress_kernels
from longvault.constraints.materials import Strand
from longvault.sections.parts import shared
from longvault.sections.properties import Properties
from longvault.sections.rows import by_field, one_each, side_by_side, strip_rows
from longvault.sections.strips import Strips
from longvault.sections.symbols import Array

WALL = 0.005
"""Outer diameter of a corrugated duct over its inner one (common practice) [m]."""
FILLED = 0.4
"""Strands over the inside of a duct at most, or the grout does not pass (common practice)."""
APART = 0.050
"""Least clear distance of ducts beside each other, or their diameter (EN 1992-1-1, 8.10.1.3, memory) [m]."""


@dataclass(frozen=True, slots=True)
class Tensioning:
    """Settings of post-tensioning; from memory unless a source is named.

    Parameters
    ----------
    strand : Strand
        Steel of the tendons.
    duct : float
        Outer diameter of a duct [m].
    cover : float
        Concrete over the duct: at least its diameter, 80 mm at most (EN 1992-1-1, 4.4.1.2(3)) [m].
    immediate_loss, later_loss : float
        Friction, wedge draw-in and elastic shortening; creep, shrinkage and relaxation, as shares.
    tension_service, tension_transfer : float
        Tension allowed in service and at transfer [Pa].
    anchor : float
        Side of the anchor plate with its edge distance: least thickness of the member at the tendon [m].
    """

    strand: Strand = field(default_factory=Strand)
    duct: float = 0.060
    cover: float = 0.060
    immediate_loss: float = 0.08
    later_loss: float = 0.15
    tension_service: float = 0.0
    tension_transfer: float = 0.0
    anchor: float = 0.160

    @property
    def member(self) -> float:
        """Least thickness of the member around the tendon: duct and two covers [m]."""
        return self.duct + 2.0 * self.cover

    @property
    def apart(self) -> float:
        """Distance of ducts that lie beside each other, centre to centre [m]."""
        return self.duct + max(self.duct, APART)

    @property
    def per_duct(self) -> float:
        """Strands that one duct takes: 40 % of its inside, at least one strand in its own sheath.

        Examples
        --------
        >>> Tensioning().per_duct  # 0.4 x pi / 4 x 55^2 mm2 / 150 mm2 = 6.3
        6.0
        """
        inside = 0.25 * pi * max(self.duct - WALL, 0.0) ** 2
        return max(float(floor(FILLED * inside / self.strand.area + 1e-9)), 1.0)

    @property
    def strand_force(self) -> float:
        """Force of one strand in service, after all losses (EN 1992-1-1, 5.10.2, 5.10.3) [N]."""
        after = min(self.strand.jacking_stress * (1.0 - self.immediate_loss), self.strand.transfer_stress)
        return self.strand.area * after * (1.0 - self.later_loss)


@dataclass(frozen=True, slots=True, eq=False)
class Prestress:
    """What `prestress` finds; every field is (...). Forces are those in service, after losses.

    Parameters
    ----------
    x, z : array
        Tendon at the governing station, the centroid of its ducts [m].
    rise : array
        How far it rises (falls, for a hogging member) to the ends inside its member, at most to the
        centroid [m].
    seat_thickness : array
        Thickness of that member [m].
    duct_room : array
        Ducts that lie there beside each other; half of them in a member shared with the neighbour.
    least, most : array
        Least force that leaves no more tension in service than allowed, most force that leaves no more
        tension at transfer than allowed [N]. Nothing fits where ``least > most``. Where more force hardly
        helps (below a fiftieth of what it does at the centroid) ``least`` is a large figure to grade by, and
        ``tension_service`` shows what is left.
    force : array
        Force reckoned with: as given, or ``least`` [N].
    tension_service, compression_service, tension_transfer, compression_transfer : array
        Extreme stresses at the governing station, tension and compression positive [Pa].
    tension_end : array
        Tension at the ends at transfer, where no load helps [Pa].
    """

    x: Array
    z: Array
    rise: Array
    seat_thickness: Array
    duct_room: Array
    least: Array
    most: Array
    force: Array
    tension_service: Array
    compression_service: Array
    tension_transfer: Array
    compression_transfer: Array
    tension_end: Array

    def strands(self, tensioning: Tensioning) -> Array:
        """Whole strands that give the force (...)."""
        return np.ceil(self.force / tensioning.strand_force - 1e-9)

    @property
    def window(self) -> Array:
        """Force over most force (...): above 1 too much; it grows on, straight, where most falls to 0."""
        force = np.maximum(self.force, 1e-9)
        straight = 4.0 - 4.0 * np.minimum(self.most, force) / force
        share: Array = np.where(self.most > 0.5 * force, force / np.maximum(self.most, 0.5 * force), straight)
        return share

    def balanced_load(self, span: float) -> Array:
        """Load that the curved tendon carries, 8 P a / L^2 for a parabola of sag a (...) [N/m]."""
        load: Array = 8.0 * self.force * self.rise / span**2
        return load


def prestress(
    strips: Strips,
    properties: Properties,
    *,
    service: ArrayLike,
    transfer: ArrayLike,
    tensioning: Tensioning,
    force: ArrayLike | None = None,
    sagging: bool = True,
    held: bool = False,
) -> Prestress:
    """Force of a tendon in the tension edge member and the stresses with it, uncracked.

    A force P at (e_x, e_z) from the centroid gives sigma = -P (1/A + e_z f + e_x g), f and g the fibre fields
    of vertical and sideways bending (derived from Megson, Aircraft Structures, ch. 16); on a symmetrical
    section, no tension at the bottom means P (1/A + e / S_b) >= M / S_b (any text on prestressing). Every
    corner of every strip is looked at. The tendon lies as far towards the tension edge as its cover allows.

    Parameters
    ----------
    strips, properties : Strips, Properties
        Batch (...).
    service, transfer : array (...)
        Size of the moment in service (the largest) and at transfer (own weight) at the governing
        station [N m].
    tensioning : Tensioning
        Ducts, losses, allowed tension.
    force : array (...), optional
        Force in service [N]; left out, the least that will do.
    sagging, held : bool
        Sign of the moments; bending held straight sideways or free.

    Examples
    --------
    A wall 2 m high, tendon at e = 0.91 m: P = (M / S) / (1/A + e / S), S = 0.2 m3.

    >>> from longvault.sections.properties import section_properties
    >>> wall = Strips.chain([0.0, 0.0], [0.0, 2.0], [0.3], "edge beam")
    >>> p = prestress(wall, section_properties(wall), service=1e6, transfer=5e5, tensioning=Tensioning())
    >>> round(float(p.z), 3), round(float(p.least)), round(1e6 / 0.2 / (1 / 0.6 + 0.91 / 0.2))
    (0.09, 804290, 804290)
    """
    if force is not None and np.any(np.asarray(force) < 0.0):
        raise ValueError(f"force: got {np.nanmin(force):g} N; must be 0 or more")
    sign = 1.0 if sagging else -1.0
    rows = int(np.prod(strips.batch))
    p = properties
    columns = (p.centroid_x, p.centroid_z, p.ixx, p.izz, p.ixz, p.area)
    seats = np.empty((rows, prestress_kernels.SEAT_FIELDS))
    out = np.empty((rows, prestress_kernels.PRESTRESS_FIELDS))
    prestress_kernels.prestress_rows(
        *strip_rows(strips),
        shared(strips),
        side_by_side(columns),
        held,
        sign,
        tensioning.cover + 0.5 * tensioning.duct,
        tensioning.apart,
        sign * side_by_side([one_each(service, strips.batch), one_each(transfer, strips.batch)]),
        (tensioning.tension_service, tensioning.tension_transfer),
        1.0 / (1.0 - tensioning.later_loss),
        one_each(-1.0 if force is None else force, strips.batch),
        seats,
        out,
    )
    return Prestress(*by_field(np.concatenate([seats, out], axis=-1), strips.batch))


def tendon_line(found: Prestress, *, span: float, stations: int = 9, sagging: bool = True) -> Array:
    """Height of the tendon at equal stations of a simple span, a parabola (..., k) [m].

    Lowest at mid-span, ``rise`` higher at the ends: inside its member all along.

    Examples
    --------
    >>> from longvault.sections.properties import section_properties
    >>> wall = Strips.chain([0.0, 0.0], [0.0, 2.0], [0.3], "edge beam")
    >>> p = prestress(wall, section_properties(wall), service=1e6, transfer=5e5, tensioning=Tensioning())
    >>> tendon_line(p, span=20.0, stations=5).round(4).tolist()  # to the centroid at the ends
    [1.0, 0.3175, 0.09, 0.3175, 1.0]
    """
    y = np.linspace(-1.0, 1.0, stations)
    sign = 1.0 if sagging else -1.0
    line: Array = found.z[..., None] + sign * found.rise[..., None] * y * y
    return line


def friction_loss(
    *, angle: ArrayLike, length: ArrayLike, friction: float = 0.19, wobble: float = 0.01
) -> Array:
    """Share of the jacking force lost by friction, 1 - exp(-mu (theta + k x)) (EN 1992-1-1, 5.10.5.2).

    Parameters
    ----------
    angle : array (...)
        Sum of the angles the tendon turns through up to there [rad].
    length : array (...)
        Distance from the jack [m].
    friction, wobble : float
        mu = 0.19 for strand in metal ducts (table 5.1) and k = 0.01 per metre (5.10.5.2(3)), from memory.

    Examples
    --------
    >>> round(float(friction_loss(angle=0.2, length=12.0)), 4)
    0.059
    """
    turned = np.asarray(angle) + wobble * np.asarray(length)
    loss: Array = -np.expm1(-friction * turned)
    return loss
