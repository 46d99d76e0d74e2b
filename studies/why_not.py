"""Nothing is feasible: which limits the nearest design fails, by how much, and where the brief sets them."""

from collections.abc import Iterable

from longvault.studies.checked import LimitRow
from longvault.studies.sheet_limits import percent
from longvault.studies.sheet_table import quantity

BRIEF_KEYS = {
    "height": "limits.height_max_m",
    "span-to-depth": "limits.span_to_depth_max, or give more height",
    "span-to-depth-least": "limits.span_to_depth_min",
    "opening": "limits.opening_min_m",
    "compression": "materials.fck_MPa, or give more height",
    "compression-service": "materials.fck_MPa, or give more height",
    "steel-fits": "detailing.main_bar_mm and bar_zone, wider or thicker parts, or give more height",
    "shear": "materials.fck_MPa, or thicker parts",
    "web-steel": "detailing.mesh_bar_mm, mesh_layers, support_spacing_mm",
    "deflection": "limits.deflection_ratio, or give more height",
    "thickness": "section.ranges of the thicknesses, detailing covers",
    "slope": "limits.slope_max_deg",
    "steep-share": "limits.steep_share_max_pct",
    "bend": "limits.bend_radius_min_m",
    "taper": "limits.taper_max",
    "neighbour": "roof.bay_m",
    "buckling": "thicker or more curved parts, kerbs at free edges, limits.buckling_knock_down",
    "transverse": "detailing.mesh_layers, mesh_spacing_mm, thicker parts, slot_strut_MN_m2, collar_MN_m2",
    "slot-movement": "limits.slot_movement_max_mm, roof.slot_strut_MN_m2",
}
"""Key of a limit -> where in a brief it comes from, or what eases it."""

OWN_KEYS = {"most": "limits.at_most", "least": "limits.at_least"}
"""First word of the key of an own limit -> where in a brief it stands."""


def failing_lines(rows: Iterable[LimitRow]) -> list[str]:
    """Say for each limit that is not kept, the worst first, what it asks and what would ease it.

    Examples
    --------
    >>> from longvault.constraints.limits import CAP, Limit
    >>> limit = Limit("height", "overall height", "height", 2.0, CAP, "h <= h_max", "brief")
    >>> failing_lines([LimitRow(limit, "m", 2.5, 2.0, 0.25, True)])[0]
    'overall height (governs): 2.500 m, allowed at most 2.000 m, 25.0 % off; see limits.height_max_m'
    """
    broken = sorted((row for row in rows if not row.margin <= 0), key=lambda row: -row.margin)
    lines = []
    for row in broken:
        sign = "at most" if row.limit.sense == "cap" else "at least"
        governs = " (governs)" if row.governs else ""
        own = OWN_KEYS.get(row.limit.key.split("-")[0])
        eased = BRIEF_KEYS.get(row.limit.key.removeprefix("plate-"), own)
        lines.append(
            f"{row.limit.title}{governs}: {quantity(row.demand, row.unit)}, allowed {sign} "
            f"{quantity(row.capacity, row.unit)}, {percent(row.margin).lstrip('+')} off"
            + (f"; see {eased}" if eased else "")
        )
    return lines
