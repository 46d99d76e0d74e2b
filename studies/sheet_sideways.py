"""Wind from the side on the sheet: what pushes, and bending both ways with its numbers."""

import numpy as np

from longvault.constraints.actions import CHARACTERISTIC, ULTIMATE
from longvault.constraints.along import influences
from longvault.constraints.combinations import all_combined
from longvault.constraints.load_cases import wind_push
from longvault.constraints.sideways_pairs import Pairs, pairs_of
from longvault.sections.properties import section_properties
from longvault.sections.strips import Strips
from longvault.sections.symbols import Array
from longvault.studies.checked import Checked
from longvault.studies.sheet_table import SheetTable, digits, kilo, mm

KEYS = {
    "compression": (ULTIMATE, 1.0),
    "compression_service": (CHARACTERISTIC, 1.0),
    "tension_service": (CHARACTERISTIC, -1.0),
}
"""Measure that moments of both ways may govern -> its state, and the sign of M f - H g there."""


def wind_tables(checked: Checked) -> list[SheetTable]:
    """Table of what pushes sideways and what it does; none where no wind does."""
    loads, m = checked.basis.loads, checked.measures
    if not loads.pushes:
        return []
    rows = []
    for wind in loads.wind:
        push = float(wind_push(wind, checked.section.strips, pitch=checked.basis.pitch)[0])
        rows.append((f"push, {wind.name}", "sum of p (z_end - z_start) of its zones", kilo(push, "kN/m")))
    rows.append(
        ("largest push on a support", "ultimate; the end structure holds it", kilo(m["wind_reaction"]))
    )
    if checked.basis.pushed:
        rows.append(
            ("largest sideways moment", "ultimate, as the vertical beam", kilo(m["side_moment"], "kNm"))
        )
        for key, words in (("compression", "ultimate"), ("compression_service", "characteristic")):
            numbers = both_ways(checked, key)
            if numbers:
                rows.append((f"compression, both ways, {words}", numbers, f"{m[key] / 1e6:.2f} MPa"))
        rows.append(("sideways movement", "elastic, characteristic", mm(m["sideways"])))
    note = (
        "Nothing holds the module sideways: stress -M f + H g, f = (z I_zz - x I_xz) / D, g = (x I_xx - "
        "z I_xz) / D, D = I_xx I_zz - I_xz² (Megson, Aircraft Structures, ch. 16); H of load to the right."
        if checked.basis.pushed
        else "Neighbours along both valleys, or a declared restraint, hold the module sideways: the push "
        "goes into them and into the end structure; the module does not bend by it."
    )
    return [
        SheetTable("Wind from the side", ("item", "formula", "value"), tuple(rows), (note,), words=(0, 1))
    ]


def both_ways(checked: Checked, key: str) -> str:
    """Write the stress of moments of both ways with its numbers, where they govern; else nothing.

    Parameters
    ----------
    checked : Checked
        A section.
    key : str
        One of `KEYS`.
    """
    if not checked.basis.pushed or checked.member is not None:
        return ""
    state, sign = KEYS[key]
    strips, pairs = checked.section.strips, _pairs(checked, state)
    f, g = corner_fields(strips)
    stress = sign * (pairs.upright.reshape(-1, 1) * f - pairs.level.reshape(-1, 1) * g)
    pair, corner = np.unravel_index(int(stress.argmax()), stress.shape)
    if not stress[pair, corner] >= checked.measures[key] * (1.0 - 1e-9):
        return ""
    m, h = (v.reshape(-1)[pair] for v in (pairs.upright, pairs.level))
    return (
        f"|M f - H g| = {digits(m / 1e3)} kNm x {f[corner]:.4f} 1/m³ - "
        f"({digits(h / 1e3)} kNm x {g[corner]:.4f} 1/m³)"
    )


def aside_words(checked: Checked, key: str, per_force: float) -> str:
    """Say so where shear forces of both ways govern a measure that is ``per_force`` of the vertical one."""
    if not checked.basis.pushed or checked.member is not None:
        return ""
    alone = checked.measures["ultimate_shear"] * per_force
    return ", more with the sideways one" if checked.measures[key] > alone * (1.0 + 1e-9) else ""


def _pairs(checked: Checked, state: str) -> Pairs:
    basis, variable = checked.basis, checked.variable
    if variable is None:
        raise ValueError("checked: has no variable cases")
    rules = all_combined(basis.combinations, variable.cases)[state]
    moment = influences(basis.line).moment
    return pairs_of(
        moment, rules, loads=basis.loads, permanent=np.asarray(checked.loads.permanent), variable=variable
    )


def corner_fields(strips: Strips) -> tuple[Array, Array]:
    """Stress of a unit moment either way, f and g, at the four corners of every strip (4 e,) [1/m3].

    Examples
    --------
    >>> wall = Strips.chain([0.0, 0.0], [0.0, 2.0], 0.2, "web")
    >>> f, g = corner_fields(wall)  # z / I_xx, x / I_zz
    >>> float(f.max().round(3)), float(g.max().round(3))
    (7.5, 75.0)
    """
    p = section_properties(strips)
    dx, dz = strips.span_vectors()
    length = np.hypot(dx, dz)
    off = 0.5 * strips.thickness / length
    places = [
        (end(strips.x) - side * off * dz - p.centroid_x, end(strips.z) + side * off * dx - p.centroid_z)
        for end in (strips.at_first, strips.at_second)
        for side in (1.0, -1.0)
    ]
    x, z = (np.concatenate([place[k] for place in places]) for k in (0, 1))
    d = p.ixx * p.izz - p.ixz**2
    return (z * p.izz - x * p.ixz) / d, (x * p.ixx - z * p.ixz) / d
