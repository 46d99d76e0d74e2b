"""Torsion of thin-walled sections: shear centre, St Venant constant, sectorial coordinate, warping."""

from dataclasses import dataclass

import numpy as np

from longvault.sections import torsion_kernels
from longvault.sections.rows import by_field, strip_rows
from longvault.sections.strips import Strips
from longvault.sections.symbols import Array
from longvault.sections.topology import section_walk


@dataclass(frozen=True, slots=True, eq=False)
class TorsionProperties:
    """What `torsion_properties` finds; fields are arrays of the batch shape (...), except ``omega``.

    Parameters
    ----------
    shear_centre_x, shear_centre_z : array (...)
        Where a shear force causes no twist [m].
    torsion_constant : array (...)
        St Venant constant J: torque = G J times twist per metre [m4].
    torsion_cells : array (...)
        The part of J that closed cells give (Bredt); 0 for an open section [m4].
    warping_constant : array (...)
        Integral of the squared warping about the shear centre [m6].
    omega : array (..., n)
        Sectorial coordinate of each node about the shear centre, mean zero [m2]: warping = -twist * omega.
    """

    shear_centre_x: Array
    shear_centre_z: Array
    torsion_constant: Array
    torsion_cells: Array
    warping_constant: Array
    omega: Array


def torsion_properties(strips: Strips) -> TorsionProperties:
    """Shear centre, torsion constant and warping of an open, branched or closed section.

    Along a strip the sectorial coordinate grows by ``d omega = (x dz - z dx) - phi ds / t``, phi Bredt's
    flow per unit of G times twist (0 outside cells); through the thickness by n p, p the distance along the
    strip from the foot of the pole (Vlasov, Thin-Walled Elastic Beams; Megson, Aircraft Structures, ch. 17,
    18, 27; the through-thickness part derived and checked against a finite-element solution). The pole is the
    shear centre when omega is orthogonal to x and z over the section.

    J = sum of b t^3 / 3 over strips outside cells, plus for the cells the solution of
    ``sum over walls of phi ds / t = 2 A_cell``: J_cells = sum of 2 A_cell phi_cell.

    Parameters
    ----------
    strips : Strips
        Connected; batch shape (...). A candidate that cannot be measured is a NaN row.

    Raises
    ------
    ValueError
        If the strips are separate pieces or close too many cells.

    Notes
    -----
    Valid for strips thin against the section: J of an open section reads some 1 % high at t / length 1/50
    (the 0.63 t of end effect is not taken off); corners of cells are sharp here, so J of a cell reads low:
    1.6 % for a box 4 x 2 with walls 0.1, half that with walls half as thick (finite elements).

    Examples
    --------
    >>> box = Strips([0, 4, 4, 0], [0, 0, 2, 2], [[0, 1], [1, 2], [2, 3], [3, 0]], [0.1] * 4, ["web"] * 4)
    >>> float(torsion_properties(box).torsion_constant.round(6))  # 4 A^2 / sum(ds / t)
    2.133333
    """
    return strips.kept(_torsion_properties)


def _torsion_properties(strips: Strips) -> TorsionProperties:
    walk = section_walk(strips)
    batch, nodes = strips.batch, strips.x.shape[-1]
    rows = int(np.prod(batch))
    out, omega = np.empty((rows, torsion_kernels.TORSION_FIELDS)), np.empty((rows, nodes))
    in_cell = np.zeros(len(strips.ends), dtype=np.bool_)
    in_cell[walk.cell_strip] = True
    torsion_kernels.torsion_rows(
        *strip_rows(strips),
        walk.order,
        walk.tip,
        walk.root,
        walk.forward,
        walk.cell_start,
        walk.cell_strip,
        walk.cell_sign,
        in_cell,
        out,
        omega,
    )
    fields = by_field(out, batch)
    omega = omega.reshape(*batch, nodes)
    for array in (fields, omega):
        array.flags.writeable = False
    return TorsionProperties(fields[0], fields[1], fields[2], fields[3], fields[4], omega)
