"""Properties of a thin-walled section, for one section or a batch."""

from dataclasses import dataclass

import numpy as np

from longvault.sections import kernels
from longvault.sections.rows import by_field, rows_and_chain
from longvault.sections.strips import Strips
from longvault.sections.symbols import Array


@dataclass(frozen=True, slots=True, eq=False)
class Properties:
    """What `section_properties` finds; every field is an array of the batch shape (...).

    ``s_top`` and ``s_bottom`` are I_xx over the distance to the outer fibre (bending held straight).
    ``s_free_compression`` and ``s_free_tension`` are M over the largest stress of that sign at any corner
    of the strips when the section may move sideways; ``s_free`` is the smaller and the one to design with.
    ``i1 >= i2`` are the principal values; ``principal_angle`` turns x onto the nearest principal axis, in
    [-pi/4, pi/4]: tan(2 angle) = 2 I_xz / (I_zz - I_xx) (Mohr's circle of inertia; Peery, Aircraft
    Structures, 7.2). A product of area below 1e-12 of I_xx + I_zz counts as zero: symmetrical reads 0.
    """

    area: Array
    centroid_x: Array
    centroid_z: Array
    ixx: Array
    izz: Array
    ixz: Array
    i1: Array
    i2: Array
    principal_angle: Array
    top: Array
    bottom: Array
    height: Array
    left: Array
    right: Array
    width: Array
    developed_length: Array
    s_top: Array
    s_bottom: Array
    s_free_compression: Array
    s_free_tension: Array
    s_free: Array
    kern_top: Array
    kern_bottom: Array
    stress_efficiency: Array
    shape_efficiency: Array


def section_properties(strips: Strips) -> Properties:
    """Area, centroid, second moments, section moduli and shape figures of thin-walled strips.

    Each strip is a rectangle length x thickness about its mid-line: its own bending through the
    thickness is counted (Megson, Aircraft Structures, ch. 16: I = A (z^2 + (b^2 sin^2 + t^2 cos^2) / 12)).
    Corners are not mitred: what overlaps inside a corner of equal strips is what is missing outside it.

    Parameters
    ----------
    strips : Strips
        Batch shape (...). A candidate with a value that is not finite, a thickness <= 0 or a strip without
        length is a NaN row.

    Returns
    -------
    Properties
        SI units: m, m2, m3, m4, rad. ``top`` and ``bottom`` are the heights z of the outermost fibres,
        ``kern_top = s_bottom / A`` and ``kern_bottom = s_top / A`` the kern above and below the centroid.

    Examples
    --------
    >>> import numpy as np
    >>> angle = np.linspace(np.pi, 0, 721)
    >>> ring = Strips.chain(np.cos(angle), np.sin(angle), 1e-6, "wing")
    >>> p = section_properties(ring)
    >>> float((p.ixx / 1e-6).round(4))  # pi/2 - 4/pi for a semicircular line
    0.2976
    """
    return strips.kept(_properties)


def _properties(strips: Strips) -> Properties:
    batch = strips.batch
    out = np.empty((int(np.prod(batch)), kernels.SECTION_FIELDS))
    kernels.section_rows(
        *rows_and_chain(strips),
        out,
    )
    fields = by_field(out, batch)
    fields.flags.writeable = False
    return Properties(*fields)
