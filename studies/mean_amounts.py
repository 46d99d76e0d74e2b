"""Steel and quantities of one module; of a taper the means along the span, as its measures tell them."""

from collections.abc import Mapping
from dataclasses import dataclass, fields
from functools import lru_cache
from typing import Any

import numpy as np

from longvault.constraints.bars import gathered_bars
from longvault.constraints.basis import Basis
from longvault.constraints.concrete_checks import Demand, concrete_measures, layout_of, provided
from longvault.constraints.concrete_settings import ConcreteSettings
from longvault.constraints.details import demand_of
from longvault.constraints.forms import FormAreas, form_areas
from longvault.constraints.member_acting import acting_at
from longvault.constraints.member_along import Along
from longvault.constraints.member_details import as_taper, station_loads
from longvault.constraints.quantities import Quantities, quantities
from longvault.constraints.steel_layout import SteelLayout
from longvault.sections.member import Member
from longvault.sections.properties import Properties
from longvault.sections.strips import Strips
from longvault.sections.symbols import Array
from longvault.studies.checked import Checked


@dataclass(frozen=True, slots=True, eq=False)
class Amounts:
    """Steel by bands, form areas and quantities per plan area; of a taper, means along the span."""

    layout: SteelLayout
    forms: FormAreas
    quantities: Quantities


@lru_cache(maxsize=2)
def amounts_of(checked: Checked) -> Amounts:
    """Amounts of a checked section; of a taper, means along the span."""
    return root_amounts(checked) if checked.member is None else _along(checked.member, checked.basis)


@lru_cache(maxsize=2)
def root_amounts(checked: Checked) -> Amounts:
    """Amounts of the section itself, which is the root of a taper."""
    settings, strands = _settings(checked.basis), 0.0
    if settings.tensioning is not None:
        strands = checked.measures.get("strands", 0.0) * settings.tensioning.strand.area
    found = _arrays(checked)
    demand = demand_of(checked.section.strips, checked.properties, found, checked.basis)
    return _amounts(checked.section.strips, checked.properties, checked.basis, demand, found, strands)


def provided_of(checked: Checked) -> Demand:
    """Return what the checks of concrete start from, with the steel that the cracked section asks for."""
    found = _arrays(checked)
    return provided(demand_of(checked.section.strips, checked.properties, found, checked.basis), found)


def _arrays(checked: Checked) -> dict[str, Array]:
    return {key: np.asarray(value) for key, value in checked.measures.items()}


def _settings(basis: Basis) -> ConcreteSettings:
    if basis.concrete_settings is None:
        raise ValueError("basis: has no concrete_settings; amounts of steel need them")
    return basis.concrete_settings


def _along(member: Member, basis: Basis) -> Amounts:
    """Means along the span of the amounts at the stations, each with the bars it asks for."""
    taper, strips = as_taper(basis), member.sections
    along = Along.measure(member, taper)
    p = along.properties
    with np.errstate(all="ignore"):  # a tip without moment
        demand = demand_of(strips, p, station_loads(along), taper)
        cracked, _ = concrete_measures(strips, p, taper, demand, _settings(taper), acting_at(along))
        every = _amounts(strips, p, taper, demand, cracked, 0.0)
    return Amounts(*(_mean(getattr(every, one.name), along) for one in fields(every)))


def _mean(amounts: Any, along: Along) -> Any:
    """Take the mean along the span of every field (K,) of a dataclass."""
    return type(amounts)(*(along.mean(getattr(amounts, one.name)) for one in fields(amounts)))


def _amounts(
    strips: Strips,
    p: Properties,
    basis: Basis,
    demand: Demand,
    cracked: Mapping[str, Array],
    strand_area: float,
) -> Amounts:
    settings, forms = _settings(basis), form_areas(strips)
    laid = gathered_bars(strips, p, area=demand.steel, detailing=basis.detailing, sagging=basis.sagging)
    layout = layout_of(strips, p, basis, provided(demand, cracked), settings, laid)
    found = quantities(
        area=p.area,
        steel_volume=layout.volume,
        forms=forms,
        pitch=basis.pitch,
        uses=settings.uses,
        strand_area=strand_area,
        factors=settings.factors,
    )
    return Amounts(layout, forms, found)
