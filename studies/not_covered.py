"""What the tool does not speak about, in words for sheet, page and JSON; the sentence of a short vault."""

from longvault.constraints.plates_beam import length_label, mean_radius
from longvault.sections import Strips
from longvault.studies.checked import Checked
from longvault.studies.other_bays import broken_elsewhere
from longvault.studies.sheet_cracks import cracks_said

PLATE = (
    "loss of shape along the span, end frames and ties: the folded plate covers simple spans of one section"
)
ACROSS = "bending across the curve"
BUCKLING = "buckling of thin compressed parts and of free edges"
"""Join the list where no folded plate stands beside the beam; the last two where nothing else does."""

SIDEWAYS_WIND = (
    "wind from the side in prestress, in the strain of the shear flow and in the supports across it"
)
"""Joins the list where wind pushes sideways."""

PUSHED_BUCKLING = "compression by wind from the side in buckling under the stress of the beam"
"""Joins the list where wind bends the module sideways and no folded plate stands beside the beam."""

NEXT_BAY = (
    "snow on every other bay across the curve: the folded plate looks at it, and does not cover this roof"
)
"""Joins the list where bays share valleys or struts and no folded plate stands beside the beam."""

NOT_COVERED = (
    "short vaults, span below the radius: they thrust between their ends; another method",
    "double curvature: sections are straight along the span, or a beam with a slight rise",
    "earthquake and fatigue",
    "fire beyond the least thickness",
    "durability beyond the cover the brief gives: its exposure class sets the width of cracks and names a "
    "cover below that of slabs",
    "wind and snow other than the cases listed; temperature and shrinkage beyond the table",
    "width of cracks away from the main bars: along and across the shell its mesh is looked at for strength",
    "where bars are cut off, lapped and anchored: their steel is weighed, their places are not given",
    "columns, foundations, bracing of the row; states during building beyond the module alone",
)
"""What no line of a sheet speaks about."""


CLOSER = {
    "side_torque": "torsion about the shear centre and warping",
    "cracked_steel": "cracked bending at the ultimate state, amounts of steel, cost and carbon",
    "prestress_force": "prestress: the brief does not ask for it",
    "daylight_mean": "daylight and sound: the brief gives no working plane",
}
"""Measure -> what is not covered where it is missing."""


CRACKS = "width of cracks"


def short_vault(strips: Strips, span: float) -> str | None:
    """Say that a vault is short, if it is: span below the radius of its curved part.

    Examples
    --------
    >>> import numpy as np
    >>> a = np.linspace(-0.6, 0.6, 13)
    >>> vault = Strips.chain(10.0 * np.sin(a), 10.0 * np.cos(a), 0.08, "crown")
    >>> short_vault(vault, 24.0) is None, short_vault(vault, 8.0)[:42]
    (True, 'This is a short vault (L/R 0.8): it thrust')
    """
    radius = mean_radius(strips)
    if not span < radius < float("inf"):
        return None
    ratio = length_label(span, radius).split(":")[0].removeprefix("short, ")
    return (
        f"This is a short vault ({ratio}): it thrusts between its ends like an arch, and neither beam theory "
        "nor the limits here speak for it; another method is needed."
    )


def not_covered(checked: Checked) -> tuple[str, ...]:
    """List what no line of the sheet of this section speaks about; a short vault comes first."""
    short = short_vault(checked.section.strips, checked.basis.span)
    left_out = tuple(words for key, words in CLOSER.items() if key not in checked.measures)
    left_out += () if cracks_said(checked) else (CRACKS,)
    instead = (("slice_use", ACROSS), ("beam_buckling", BUCKLING))
    missing = tuple(words for key, words in instead if key not in checked.measures)
    proved = () if checked.plates else (PLATE, *missing)
    others = tuple(
        f"{bay} bay: it breaks limits that are kept here; see above" for bay in broken_elsewhere(checked)
    )
    shared = any(joint.kind != "slot" for joint in checked.section.joints)
    proved += (NEXT_BAY,) if shared and checked.basis.loads.snow and not checked.plates else ()
    wind: tuple[str, ...] = (SIDEWAYS_WIND,) if checked.basis.loads.pushes else ()
    wind += (PUSHED_BUCKLING,) if checked.basis.pushed and "beam_buckling" in checked.measures else ()
    return ((short,) if short else ()) + others + proved + left_out + wind + NOT_COVERED
