"""Quantities of a roof: concrete, steel, forms; and what they cost in money and carbon."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from longvault.constraints.forms import FormAreas
from longvault.constraints.materials import STEEL_DENSITY
from longvault.sections.symbols import Array


@dataclass(frozen=True, slots=True)
class Factors:
    """Unit prices and carbon factors: settings of the user; every default is from memory.

    Prices are in units of money, about euros of the 2020s in western Europe; carbon covers modules A1-A5 in
    kgCO2e. They differ by country, mix and year by more than designs differ: put in your own.

    Parameters
    ----------
    concrete_price, steel_price, strand_price : float
        Per m3 placed, per kg fixed, per kg stressed.
    open_form, inclined_form, steep_form, beam_form : float
        Per m2 of form area made new; the steep price is per face.
    form_use : float
        Per m2 for each use: setting, cleaning, striking.
    concrete_carbon : float
        Per m3, with transport and placing.
    steel_carbon, strand_carbon : float
        Per kg.
    form_carbon : float
        Per m2 of form made new.
    """

    concrete_price: float = 180.0
    steel_price: float = 2.2
    strand_price: float = 6.0
    open_form: float = 90.0
    inclined_form: float = 120.0
    steep_form: float = 160.0
    beam_form: float = 70.0
    form_use: float = 35.0
    concrete_carbon: float = 320.0
    steel_carbon: float = 0.90
    strand_carbon: float = 1.9
    form_carbon: float = 6.0

    def __post_init__(self) -> None:
        for name in self.__dataclass_fields__:
            if not getattr(self, name) >= 0.0:
                raise ValueError(f"{name}: got {getattr(self, name)}; must be 0 or more")


@dataclass(frozen=True, slots=True, eq=False)
class Quantities:
    """Per plan area of one bay; every field is (...).

    Parameters
    ----------
    concrete : array
        [m3/m2]: the equivalent thickness in metres.
    steel, strand : array
        [kg/m2].
    form, form_made : array
        Form area set, and form area made new for it: set over uses [m2/m2].
    cost_concrete, cost_steel, cost_form : array
        [money/m2].
    carbon_concrete, carbon_steel, carbon_form : array
        [kgCO2e/m2].
    """

    concrete: Array
    steel: Array
    strand: Array
    form: Array
    form_made: Array
    cost_concrete: Array
    cost_steel: Array
    cost_form: Array
    carbon_concrete: Array
    carbon_steel: Array
    carbon_form: Array

    @property
    def cost(self) -> Array:
        """Whole cost (...) [money/m2]."""
        return self.cost_concrete + self.cost_steel + self.cost_form

    @property
    def carbon(self) -> Array:
        """Whole embodied carbon (...) [kgCO2e/m2]."""
        return self.carbon_concrete + self.carbon_steel + self.carbon_form


@dataclass(frozen=True, slots=True)
class Apart:
    """Concrete and steel of what stands beside the shell, with what they cost; sums, not per area.

    Parameters
    ----------
    concrete : float
        [m3].
    steel : float
        [kg].
    cost : float
        [money].
    carbon : float
        [kgCO2e].
    """

    concrete: float
    steel: float
    cost: float
    carbon: float


def apart(*, concrete: float, steel_volume: float, factors: Factors | None = None) -> Apart:
    """Quantities of a traverse or a member beside the shell, without its forms (sums of amounts x factors).

    Parameters
    ----------
    concrete, steel_volume : float
        [m3].
    factors : Factors, optional
        Prices and carbon; the defaults are from memory.

    Examples
    --------
    >>> one = apart(concrete=2.0, steel_volume=0.01)
    >>> one.steel, round(one.cost, 2), round(one.carbon, 2)
    (78.5, 532.7, 710.65)
    """
    f, steel = factors or Factors(), STEEL_DENSITY * steel_volume
    return Apart(
        concrete,
        steel,
        f.concrete_price * concrete + f.steel_price * steel,
        f.concrete_carbon * concrete + f.steel_carbon * steel,
    )


def quantities(
    *,
    area: ArrayLike,
    steel_volume: ArrayLike,
    forms: FormAreas,
    pitch: float,
    uses: float = 1.0,
    strand_area: ArrayLike = 0.0,
    factors: Factors | None = None,
) -> Quantities:
    """Quantities, cost and carbon of one bay per plan area (sums of amounts times factors).

    Parameters
    ----------
    area : array (...)
        Concrete area of the module [m2].
    steel_volume : array (...)
        Steel per metre of span [m3/m] (`longvault.constraints.steel_layout.SteelLayout.volume`).
    forms : FormAreas
        Of the same sections.
    pitch : float
        Bay [m].
    uses : float
        Mean uses of a form (`longvault.constraints.forms.form_sets`).
    strand_area : array (...)
        Prestressing steel [m2].
    factors : Factors, optional
        Prices and carbon; the defaults are from memory.

    Raises
    ------
    ValueError
        If ``pitch`` is not above 0 or ``uses`` below 1.

    Examples
    --------
    >>> one = np.array(1.0)
    >>> q = quantities(area=0.9 * one, steel_volume=0.02 * one, pitch=9.0, uses=6.0,
    ...                forms=FormAreas(9.0 * one, 0.0 * one, 0.0 * one, 1.5 * one))
    >>> float(q.concrete), round(float(q.steel), 3), round(float(q.carbon), 2)
    (0.1, 17.444, 48.87)
    """
    if not pitch > 0.0:
        raise ValueError(f"pitch: got {pitch:g} m; must be above 0")
    if not uses >= 1.0:
        raise ValueError(f"uses: got {uses:g}; must be 1 or more")
    f = factors or Factors()
    concrete = np.asarray(area) / pitch
    steel = STEEL_DENSITY * np.asarray(steel_volume) / pitch
    strand = STEEL_DENSITY * np.asarray(strand_area) / pitch + np.zeros_like(steel)
    form = forms.total / pitch
    prices = (f.open_form, f.inclined_form, 2.0 * f.steep_form, f.beam_form)
    classes = (forms.flat, forms.inclined, forms.steep, forms.beams)
    made = sum((price * one for price, one in zip(prices, classes, strict=True)), np.zeros_like(form))
    return Quantities(
        concrete=concrete,
        steel=steel,
        strand=strand,
        form=form,
        form_made=form / uses,
        cost_concrete=f.concrete_price * concrete,
        cost_steel=f.steel_price * steel + f.strand_price * strand,
        cost_form=made / (uses * pitch) + f.form_use * form,
        carbon_concrete=f.concrete_carbon * concrete,
        carbon_steel=f.steel_carbon * steel + f.strand_carbon * strand,
        carbon_form=f.form_carbon * form / uses,
    )
