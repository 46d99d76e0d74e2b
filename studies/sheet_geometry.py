"""Geometry on the sheet: the section in a dozen pieces, whose sums give A, centroid, I and S by hand."""

from dataclasses import dataclass

import numpy as np

from longvault.sections.strips import Strips
from longvault.sections.symbols import IntArray
from longvault.studies.checked import Checked
from longvault.studies.sheet_table import SheetTable, quantity

MOST_PIECES = 16
PIECES = (
    "piece", "from x, z [m]", "to x, z [m]", "s [m]", "t [mm]", "A [m²]", "z [m]", "A z [m³]", "z - z_c [m]",
    "A (z - z_c)² [m⁴]", "I_own [m⁴]",
)  # fmt: skip
SIDEWAYS = (
    "piece", "x [m]", "x - x_c [m]", "A x [m³]", "A (x - x_c)² [m⁴]", "I_own,zz [m⁴]",
    "A (x - x_c)(z - z_c) [m⁴]", "I_own,xz [m⁴]",
)  # fmt: skip
"""Heads of the two tables of pieces."""


@dataclass(frozen=True, slots=True)
class Piece:
    """Neighbouring strips of one part taken together; sums over pieces are exact.

    Parameters
    ----------
    part : str
    first, second : tuple of float
        Ends (x, z) [m].
    length, area, x, z : float
        Developed length [m], area [m2], centroid [m].
    own_xx, own_zz, own_xz : float
        Second moments about the piece's own centroid [m4].
    """

    part: str
    first: tuple[float, float]
    second: tuple[float, float]
    length: float
    area: float
    x: float
    z: float
    own_xx: float
    own_zz: float
    own_xz: float

    @property
    def thickness(self) -> float:
        """Mean thickness [m]."""
        return self.area / self.length


def pieces(strips: Strips, most: int = MOST_PIECES) -> list[Piece]:
    """Take the strips of one section together into at most about ``most`` pieces, in their own order."""
    runs = _runs(strips)
    curved = sum(len(run) for run in runs if not _straight(strips, run))
    spare = max(1, most - sum(_straight(strips, run) for run in runs))
    found = []
    for run in runs:
        count = 1 if _straight(strips, run) else max(1, round(spare * len(run) / curved))
        found += [_piece(strips, part) for part in np.array_split(run, min(count, len(run)))]
    return found


def _runs(strips: Strips) -> list[IntArray]:
    """Split the strips into those that follow one another within one part."""
    ends, parts = strips.ends, strips.parts
    cuts = [e for e in range(1, len(ends)) if parts[e] != parts[e - 1] or ends[e, 0] != ends[e - 1, 1]]
    return np.split(np.arange(len(ends)), cuts)


def _straight(strips: Strips, run: IntArray) -> bool:
    dx, dz = (v[run] for v in strips.span_vectors())
    cross = np.abs(dx * dz[0] - dz * dx[0])
    return bool((cross <= 1e-6 * strips.length[run] * strips.length[run[0]]).all())


def _piece(strips: Strips, run: IntArray) -> Piece:
    i, j = strips.ends[run].T
    x, z, t, length = strips.x, strips.z, strips.thickness[run], strips.length[run]
    dx, dz, area = x[j] - x[i], z[j] - z[i], length * t
    mid_x, mid_z, total = 0.5 * (x[i] + x[j]), 0.5 * (z[i] + z[j]), float(area.sum())
    cx, cz = float((area * mid_x).sum() / total), float((area * mid_z).sum() / total)
    thin = (t / length) ** 2
    # rectangle of length x thickness, turned: t l^3 sin^2 / 12 + l t^3 cos^2 / 12 (parallel-axis rule)
    own_xx = float((area * ((mid_z - cz) ** 2 + (dz * dz + thin * dx * dx) / 12)).sum())
    own_zz = float((area * ((mid_x - cx) ** 2 + (dx * dx + thin * dz * dz) / 12)).sum())
    own_xz = float((area * ((mid_x - cx) * (mid_z - cz) + (1 - thin) * dx * dz / 12)).sum())
    start, end = (float(x[i[0]]), float(z[i[0]])), (float(x[j[-1]]), float(z[j[-1]]))
    part = strips.parts[int(run[0])]
    return Piece(part, start, end, float(length.sum()), total, cx, cz, own_xx, own_zz, own_xz)


def unsymmetrical(checked: Checked) -> bool:
    """Whether the product of area matters: bending then moves the section sideways."""
    p = checked.properties
    return abs(float(p.ixz)) > 1e-6 * float(p.ixx + p.izz)


def pieces_table(checked: Checked) -> SheetTable:
    """Table of pieces with what A, centroid and I_xx are summed from."""
    found = pieces(checked.section.strips)
    centre = float(checked.properties.centroid_z)
    rows = []
    for number, p in enumerate(found, 1):
        arm = p.z - centre
        ends = (f"{p.first[0]:.3f}, {p.first[1]:.3f}", f"{p.second[0]:.3f}, {p.second[1]:.3f}")
        sums = (f"{p.area:.5f}", f"{p.z:.4f}", f"{p.area * p.z:.5f}", f"{arm:.4f}")
        second = (f"{p.area * arm**2:.6f}", f"{p.own_xx:.6f}")
        rows.append(
            (f"{number} {p.part}", *ends, f"{p.length:.3f}", f"{p.thickness * 1e3:.1f}", *sums, *second)
        )
    total = sum(p.area for p in found)
    moment = sum(p.area * p.z for p in found)
    far = sum(p.area * (p.z - centre) ** 2 for p in found)
    own = sum(p.own_xx for p in found)
    totals = (f"{total:.5f}", "", f"{moment:.5f}", "", f"{far:.6f}", f"{own:.6f}")
    rows.append(("sum", "", "", f"{sum(p.length for p in found):.3f}", "", *totals))
    notes = (
        "Each piece is a stretch of the mid-line: developed length s, mean thickness t, A = s t, centroid z, "
        "second moment about its own centroid I_own.",
        f"z_c = sum(A z) / sum(A) = {moment:.5f} / {total:.5f} = {moment / total:.4f} m;  "
        f"I_xx = sum(A (z - z_c)²) + sum(I_own) = {far:.6f} + {own:.6f} = {far + own:.6f} m⁴",
    )
    return SheetTable("Geometry", PIECES, tuple(rows), notes, marked=(len(rows) - 1,))


def sideways_table(checked: Checked) -> SheetTable:
    """Table of what I_zz and I_xz are summed from, for a section without symmetry."""
    found = pieces(checked.section.strips)
    cx, cz = float(checked.properties.centroid_x), float(checked.properties.centroid_z)
    rows, sums = [], np.zeros(5)
    for number, p in enumerate(found, 1):
        arm_x, arm_z = p.x - cx, p.z - cz
        values = np.array([p.area * p.x, p.area * arm_x**2, p.own_zz, p.area * arm_x * arm_z, p.own_xz])
        sums += values
        rows.append((f"{number} {p.part}", f"{p.x:.4f}", f"{arm_x:.4f}", *(f"{v:.6f}" for v in values)))
    rows.append(("sum", "", "", *(f"{v:.6f}" for v in sums)))
    izz, ixz, area = sums[1] + sums[2], sums[3] + sums[4], sum(p.area for p in found)
    notes = (
        f"x_c = {sums[0]:.6f} / {area:.5f} = {sums[0] / area:.4f} m;  I_zz = {izz:.6f} m⁴;  "
        f"I_xz = {ixz:.6f} m⁴",
        "The section has no symmetry: a vertical load also moves it sideways unless it is held straight.",
    )
    return SheetTable("Geometry, sideways", SIDEWAYS, tuple(rows), notes, marked=(len(rows) - 1,))


def properties_table(checked: Checked, bays: int) -> SheetTable:
    """Section properties with the formulas they come from."""
    p = checked.properties
    up, down = float(p.top - p.centroid_z), float(p.centroid_z - p.bottom)
    rows = [
        ("area A", "sum(A)", quantity(float(p.area), "m2")),
        *_concrete_rows(checked, bays),
        ("overall height h", f"{float(p.top):.4f} - ({float(p.bottom):.4f})", quantity(float(p.height), "m")),
        (
            "centroid above the lowest fibre",
            f"z_c - z_bottom = {float(p.centroid_z):.4f} - ({float(p.bottom):.4f})",
            quantity(down, "m"),
        ),
        ("second moment I_xx", "sum(A (z - z_c)²) + sum(I_own)", quantity(float(p.ixx), "m4")),
        ("S top, held straight", f"I_xx / {up:.4f}", quantity(float(p.s_top), "m3")),
        ("S bottom, held straight", f"I_xx / {down:.4f}", quantity(float(p.s_bottom), "m3")),
        *(_free_rows(checked) if unsymmetrical(checked) else []),
        *_efficiency_rows(checked),
    ]
    return SheetTable("Section properties", ("property", "formula", "value"), tuple(rows), words=(0, 1))


def _concrete_rows(checked: Checked, bays: int) -> list[tuple[str, str, str]]:
    """Concrete per plan area and of all bays; of a taper from the mean along the span."""
    basis, m = checked.basis, checked.measures
    mean, length = m["area"], basis.line.length
    of = "A" if checked.member is None else "mean A"
    return [
        (
            "concrete per plan area",
            f"{of} / bay = {mean:.4f} / {basis.pitch:g}",
            quantity(m["equivalent_thickness"] * 1e3, "mm"),
        ),
        (
            f"concrete of {bays} bay{'s' if bays > 1 else ''}",
            f"{mean:.4f} m² x {length:g} m{f' x {bays}' if bays > 1 else ''}",
            f"{mean * length * bays:.1f} m³",
        ),
    ]


def _efficiency_rows(checked: Checked) -> list[tuple[str, str, str]]:
    """Section modulus to design with, and how well it uses area and height."""
    m = checked.measures
    modulus = m["section_modulus"]
    least = "the smaller one" if checked.member is None else "least of S(y) M_ref / M(y) over the stations"
    return [
        ("section modulus S to design with", least, quantity(modulus, "m3")),
        (
            "shape efficiency k",
            f"S / (A h) = {modulus:.4f} / ({m['area']:.4f} x {m['height']:.4f})",
            quantity(m["shape_efficiency"]),
        ),
        (
            "share of the two-flange ideal",
            "S / (A h / 2) = 2 k (no section reaches 1; derived)",
            quantity(m["ideal_share"]),
        ),
        *_slenderness_rows(checked),
    ]


def _slenderness_rows(checked: Checked) -> list[tuple[str, str, str]]:
    """Span over height, and over the height of a two-flange section of the same A and I (information)."""
    if checked.member is not None:
        return []
    span, height, p = checked.basis.depth_span, checked.measures["height"], checked.properties
    inertia = float(checked.beam.inertia)
    deep = 2.0 * float(np.sqrt(inertia / p.area))
    return [
        ("span over height L / h", f"{span:g} / {height:.4f}", quantity(span / height)),
        (
            "the same over 2 sqrt(I / A)",
            f"{span:g} / {deep:.4f}, I = {inertia:.5f} m⁴ as it may bend; no limit looks at it",
            quantity(span / deep),
        ),
    ]


def _free_rows(checked: Checked) -> list[tuple[str, str, str]]:
    p = checked.properties
    formula = "(I_xx I_zz - I_xz²) / max of "
    return [
        ("second moment I_zz", "about the vertical axis", quantity(float(p.izz), "m4")),
        ("product of area I_xz", "about the centroid", quantity(float(p.ixz), "m4")),
        (
            "S compression, free sideways",
            f"{formula}(z I_zz - x I_xz), corners",
            quantity(float(p.s_free_compression), "m3"),
        ),
        (
            "S tension, free sideways",
            f"{formula}(x I_xz - z I_zz), corners",
            quantity(float(p.s_free_tension), "m3"),
        ),
    ]
