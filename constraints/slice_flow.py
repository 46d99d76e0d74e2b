"""The change of a beam's shear flow along the span: what carries the load of a transverse slice."""

from dataclasses import dataclass

import numpy as np

from longvault.sections import Strips
from longvault.sections.bending import bending_field
from longvault.sections.shear_flow import shear_flow, sideways_field
from longvault.sections.symbols import Array


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


def tangential_load(strips: Strips, *, held: bool, sideways: bool) -> Array:
    """Return the tangential load of each strip, + from first to second end, shared to its ends.

    (k, 2, ..., e) for a unit load up and, where asked, to the right. d(N_ys)/dy = P integral of f t ds, since
    dN_y/dy balances dN_ys/ds and M'' = P (load up). It is quadratic along a strip, so Simpson's rule shares
    it exactly.
    """
    strip = _LineSection.of(strips)
    about = {"x": strip.x, "z": strip.z, "ixx": strip.ixx, "izz": strip.izz, "ixz": strip.ixz}
    with np.errstate(all="ignore"):  # a straight line has no field of its own across: NaN
        fields = [bending_field(strips, **about, held=held)]
        if sideways and not held:
            fields.append(sideways_field(strips, **about))
        b = strips.length
        area = b * strips.thickness / 8.0
        out = np.empty((len(fields), 2, *b.shape))
        for row, field in zip(out, fields, strict=True):
            flow = shear_flow(strips, field)
            middle = (flow.first + flow.second) + 2.0 * area * (field.first - field.second)
            row[0], row[1] = b / 6.0 * (flow.first + middle), b / 6.0 * (flow.second + middle)
    return out
