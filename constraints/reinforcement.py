"""The section as a cracked beam: lever arms, room for bars, shear flow, stiffness."""

from dataclasses import dataclass

import numpy as np

from longvault.constraints import kernels
from longvault.constraints.basis import Detailing
from longvault.sections.parts import roof_surface, shared
from longvault.sections.properties import Properties
from longvault.sections.rows import by_field, rows_and_chain, side_by_side
from longvault.sections.strips import Strips
from longvault.sections.symbols import Array
from longvault.sections.topology import tree_order


@dataclass(frozen=True, slots=True, eq=False)
class BeamSection:
    """What the beam checks need of a section; every field is (...).

    Parameters
    ----------
    arm_block : array
        Lever arm between the elastic compression and tension blocks, M / T [m].
    arm_bars : array
        Height of the elastic compression resultant above the main bars gathered at the tension edge [m].
    bar_room : array
        Area of main bars that fits in the tension zone with cover and clear spacing [m2].
    bars_z : array
        Height of those bars [m].
    flow : array
        Largest shear flow in the roof surface per unit shear force, which its mesh must carry (beams and
        kerbs have stirrups of their own) [1/m].
    shear_stress : array
        Largest shear stress per unit shear force [1/m2].
    inertia : array
        Second moment that governs vertical deflection: I_xx held, (I_xx I_zz - I_xz^2) / I_zz free [m4].
    sway : array
        Sideways over vertical deflection, I_xz / I_zz free, 0 held.
    """

    arm_block: Array
    arm_bars: Array
    bar_room: Array
    bars_z: Array
    flow: Array
    shear_stress: Array
    inertia: Array
    sway: Array


def clear_spacing(detailing: Detailing, bar: float | None = None) -> float:
    """Least clear distance of main bars or others: bar, aggregate + 5 mm, 20 mm (EN 1992-1-1, 8.2(2)) [m].

    Examples
    --------
    >>> clear_spacing(Detailing(main_bar=0.025, aggregate=0.016))
    0.025
    """
    return max(detailing.main_bar if bar is None else bar, detailing.aggregate + 0.005, 0.020)


def beam_section(
    strips: Strips, properties: Properties, *, detailing: Detailing, sagging: bool = True, held: bool = False
) -> BeamSection:
    """Lever arms, bar room, shear flow and stiffness of an open section.

    Two lever arms are in use: the elastic tension block, M / T with T the integral of the tensile stress;
    and bars gathered at the edge, as in the design of long barrels as beams (Lundgren 1949; ASCE Manual 31,
    titles only). The steel follows from the less favourable of the two. A slab so flat that its mid-line
    gives no lever arm within its height is a solid section: 2 h / 3, d - h / 6, shear 1.5 V / A.

    Parameters
    ----------
    strips : Strips
        Open section, batch shape (...).
    properties : Properties
        Of the same strips.
    detailing : Detailing
        Covers, bars, zone.
    sagging : bool
        Sign of the governing moment: True puts tension at the bottom.
    held : bool
        Bending held straight sideways, or free.

    Examples
    --------
    >>> from longvault.sections.properties import section_properties
    >>> web = Strips.chain([0.0, 0.0], [0.0, 3.0], [0.2], "web")
    >>> b = beam_section(web, section_properties(web), detailing=Detailing())
    >>> round(float(b.arm_block), 6), round(float(b.shear_stress), 3)  # 2h/3 and 3/(2 A)
    (2.0, 2.5)
    """
    p = properties
    columns = (p.centroid_x, p.centroid_z, p.ixx, p.izz, p.ixz, p.top, p.bottom)
    props = side_by_side(columns)
    out = np.empty((props.shape[0], kernels.BEAM_FIELDS))
    cover = detailing.cover_bottom if sagging else detailing.cover_top
    kernels.beam_rows(
        *rows_and_chain(strips),
        roof_surface(strips),
        shared(strips),
        tree_order(strips).steps,
        props,
        1.0 if sagging else -1.0,
        held,
        (cover, detailing.mesh_bar, detailing.main_bar, clear_spacing(detailing), detailing.bar_zone),
        out,
    )
    return BeamSection(*by_field(out, strips.batch))
