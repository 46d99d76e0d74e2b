"""Settings of the reinforced-concrete checks: practice of detailing, prices and carbon, post-tensioning."""

from dataclasses import dataclass, field

from longvault.constraints.prestress import Tensioning
from longvault.constraints.quantities import Factors


@dataclass(frozen=True, slots=True)
class SteelPractice:
    """What the layout takes from practice; every value is a setting, from memory unless a source is named.

    Parameters
    ----------
    curtailed : float
        Mean over the span of the main bars over those at the governing station, shifted moment line included.
    stock : float
        Longest bar delivered: longer ones lap (common practice) [m].
    sheet_length, sheet_width : float
        Sheets of mesh, the length across the vault (common practice) [m]; 0, or a width that two laps use up,
        means loose bars of ``stock``.
    allowance : float
        Spacers, chairs, trimmers round openings, over all other steel; the default holds no waste of cutting.
    stirrup_bar, stirrup_spacing : float
        Least stirrups in beams and kerbs, two legs [m].
    skin_ratio : float
        Bars along beams and kerbs besides the main ones, over their section.
    corner_bar : float
        At least four of these stand in the corners of the stirrups of each beam or kerb [m].
    shell_ratio : float
        Least steel of the shell each way, over its section (ACI 318.2: 0.0018); thick parts get more mesh.
    spacing_thicknesses, spacing : float
        Largest spacing of the mesh over the shell's thickness, and in metres (ACI 318.2: 5 t, 18 in).
    """

    curtailed: float = 0.80
    stock: float = 12.0
    sheet_length: float = 6.0
    sheet_width: float = 2.4
    allowance: float = 0.05
    stirrup_bar: float = 0.008
    stirrup_spacing: float = 0.200
    skin_ratio: float = 0.003
    corner_bar: float = 0.010
    shell_ratio: float = 0.0018
    spacing_thicknesses: float = 5.0
    spacing: float = 0.457


@dataclass(frozen=True, slots=True)
class ConcreteSettings:
    """What the reinforced-concrete checks ask beyond a basis of design.

    Parameters
    ----------
    practice : SteelPractice
        Detailing habits and least steel of shells.
    factors : Factors
        Prices and carbon.
    uses : float
        Mean uses of one form (`longvault.constraints.forms.form_sets`): the number of bays for one form.
    tensioning : Tensioning or None
        Post-tensioning; None for reinforced concrete only.
    """

    practice: SteelPractice = field(default_factory=SteelPractice)
    factors: Factors = field(default_factory=Factors)
    uses: float = 1.0
    tensioning: Tensioning | None = None
