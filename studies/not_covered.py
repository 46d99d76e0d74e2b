"""What the tool does not speak about, in words for sheet, page and JSON; the sentence of a short vault."""

from longvault.constraints.plates_beam import length_label, mean_radius
from longvault.sections import Strips
from longvault.studies.checked import Checked

NOT_PROVED = (
    "bending across the curve, loss of shape: the folded plate covers simple spans only",
    "buckling of thin compressed parts and of free edges; end frames and ties",
)
"""Joins the list where no folded plate stands beside the beam."""

NOT_COVERED = (
    "short vaults, span below the radius: they thrust between their ends; another method",
    "double curvature: sections are straight along the span, or a beam with a slight rise",
    "torsion and warping of lone modules under load on one side along the span",
    "earthquake and fatigue",
    "fire beyond the least thickness",
    "wind and snow other than the cases listed; temperature and shrinkage beyond the table",
    "prestress, bars cut off along the span",
    "laps and anchorage of bars",
    "columns, foundations, bracing of the row; states during building beyond the module alone",
)
"""What no line of a sheet speaks about."""


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
    cracks = () if any(key.startswith("crack") for key in checked.measures) else ("crack width",)
    proved = () if checked.plates else NOT_PROVED
    return ((short,) if short else ()) + proved + cracks + NOT_COVERED
