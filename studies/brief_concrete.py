"""Tables of a brief for steel, prices and carbon, prestress and daylight, and what they say in SI units."""

# ruff: noqa: N815 - keys carry their unit in its own spelling

from dataclasses import replace
from math import radians
from typing import TYPE_CHECKING

from pydantic import Field

from longvault.constraints.concrete_settings import ConcreteSettings, SteelPractice
from longvault.constraints.daylight_factor import Room
from longvault.constraints.daylight_settings import DaylightSettings
from longvault.constraints.glazing import Glazing
from longvault.constraints.materials import Strand
from longvault.constraints.prestress import Tensioning
from longvault.constraints.quantities import Factors
from longvault.studies.brief_table import Table, number

if TYPE_CHECKING:
    from longvault.studies.brief_model import Brief

_practice = SteelPractice()
_factors = Factors()
_use = Tensioning()
_glazing, _room = Glazing(), Room()
MEMORY = "(default from memory)"
PRACTICE = "(default common practice)"


class SteelTable(Table):
    """Habits of detailing, for the amount of steel."""

    curtailed: float = number(
        0.3, 1, f"mean over the span of the main bars over the most {MEMORY}", _practice.curtailed
    )
    stock_m: float = number(8, 30, f"longest bar delivered: longer ones lap {PRACTICE}", _practice.stock)
    sheet_length_m: float = number(
        0, 12, f"sheets of mesh, length across the vault; 0 for loose bars {PRACTICE}", _practice.sheet_length
    )
    sheet_width_m: float = number(0, 6, f"their width along the span {PRACTICE}", _practice.sheet_width)
    allowance: float = number(
        0, 1, f"spacers, chairs, trimmers, any waste over all other steel {PRACTICE}", _practice.allowance
    )
    stirrup_bar_mm: float = number(
        4, 20, f"least stirrups in beams and kerbs {MEMORY}", _practice.stirrup_bar * 1e3
    )
    stirrup_spacing_mm: float = number(50, 500, f"their spacing {MEMORY}", _practice.stirrup_spacing * 1e3)
    skin_ratio: float = number(
        0, 0.02, f"bars along beams and kerbs besides main bars, over their section {MEMORY}",
        _practice.skin_ratio,
    )  # fmt: skip
    corner_bar_mm: float = number(
        0, 25, f"least bar in each corner of their stirrups {PRACTICE}", _practice.corner_bar * 1e3
    )
    shell_ratio: float = number(
        0.001, 0.02, "least mesh each way, over the section of the shell (default ACI 318.2, from memory)",
        _practice.shell_ratio,
    )  # fmt: skip
    spacing_thicknesses: float = number(
        1, 10, "largest spacing of the mesh over the thickness (default ACI 318.2, from memory)",
        _practice.spacing_thicknesses,
    )  # fmt: skip
    spacing_max_mm: float = number(
        50, 1000, "largest spacing of the mesh (default ACI 318.2, from memory)", _practice.spacing * 1e3
    )


class CostsTable(Table):
    """Prices in your money and carbon factors: put in your own, they differ more than designs do."""

    concrete_price: float = number(0, 1e6, f"per m³ placed {MEMORY}", _factors.concrete_price)
    steel_price: float = number(0, 1e6, f"per kg fixed {MEMORY}", _factors.steel_price)
    strand_price: float = number(0, 1e6, f"per kg stressed {MEMORY}", _factors.strand_price)
    open_form: float = number(0, 1e6, f"per m² of new form below 30° {MEMORY}", _factors.open_form)
    inclined_form: float = number(0, 1e6, f"per m² of new form, 30 to 45° {MEMORY}", _factors.inclined_form)
    steep_form: float = number(0, 1e6, f"per m² and face of new form above 45° {MEMORY}", _factors.steep_form)
    beam_form: float = number(0, 1e6, f"per m² of new form of beams and kerbs {MEMORY}", _factors.beam_form)
    form_use: float = number(
        0, 1e6, f"per m² for each use: setting, cleaning, striking {MEMORY}", _factors.form_use
    )
    form_uses: float | None = number(
        1, 1000, "mean uses of one form; leave out for one form for all bays", None
    )
    concrete_carbon: float = number(0, 5000, f"kgCO2e per m³ placed {MEMORY}", _factors.concrete_carbon)
    steel_carbon: float = number(0, 50, f"kgCO2e per kg {MEMORY}", _factors.steel_carbon)
    strand_carbon: float = number(0, 50, f"kgCO2e per kg {MEMORY}", _factors.strand_carbon)
    form_carbon: float = number(0, 500, f"kgCO2e per m² of new form {MEMORY}", _factors.form_carbon)


class PrestressTable(Table):
    """Post-tensioning along the tension edge."""

    enabled: bool = Field(False, description="true to post-tension the module: adds its force and limits")
    strand_cm2: float = number(0.3, 5, "steel of one strand (default 15.7 mm, from memory)", 1.5)
    strand_strength_MPa: float = number(
        1000, 2500, "its characteristic strength (default prEN 10138-3, from memory)", 1860.0
    )
    strand_proof_MPa: float = number(
        800, 2400, "its 0.1 % proof stress (default prEN 10138-3, from memory)", 1640.0
    )
    duct_mm: float = number(10, 200, f"outer diameter of a duct {MEMORY}", _use.duct * 1e3)
    cover_mm: float = number(10, 200, f"concrete over the duct {MEMORY}", _use.cover * 1e3)
    immediate_loss_pct: float = number(
        0, 50, f"friction, wedges, elastic shortening {MEMORY}", _use.immediate_loss * 100
    )
    later_loss_pct: float = number(0, 50, f"creep, shrinkage, relaxation {MEMORY}", _use.later_loss * 100)
    tension_service_MPa: float = number(0, 10, "tension allowed in service", _use.tension_service / 1e6)
    tension_transfer_MPa: float = number(0, 10, "tension allowed at transfer", _use.tension_transfer / 1e6)
    anchor_mm: float = number(50, 1000, f"anchor plate with edge distance {MEMORY}", _use.anchor * 1e3)


class DaylightTable(Table):
    """The room under the roof: light, sun and sound."""

    level_m: float | None = number(
        -30, 0, "working plane from the lowest point of the section, -4: 4 m below; leave out for no light",
        None,
    )  # fmt: skip
    daylight_min_pct: float | None = number(
        0.01, 50, "least mean daylight factor; leave out for no limit", None
    )
    transmittance: float = number(
        0, 1, "of the clean glass, diffuse (default double glazing, common practice)", _glazing.transmittance
    )
    dirt: float | None = number(
        0, 1, "share that dirt leaves; leave out for 0.7 flat to 0.9 upright (BRE Digest 310)", None
    )
    frame: float = number(
        0, 1, "share of the opening that is glass, not bars (default common practice)", _glazing.frame
    )
    floor_reflectance: float = number(0, 0.95, "of the floor (default common practice)", _room.floor)
    wall_reflectance: float = number(0, 0.95, "of the walls (default common practice)", _room.walls)
    ceiling_reflectance: float = number(
        0, 0.95, "of the roof inside (default common practice)", _room.ceiling
    )
    walls: bool = Field(True, description="false for an open roof: no walls, no end of the room")
    latitude_deg: float | None = number(
        -90, 90, "north positive, for the sun on glass and floor; leave out for no sun", None
    )
    x_azimuth_deg: float = number(-360, 360, "compass direction of the section's +x, 0 north, 90 east", 0.0)
    speaker_m: float | None = number(
        -50, 50, "x of a speaker, for the picture of sound foci; leave out for none", None
    )


def concrete_settings_of(brief: "Brief") -> ConcreteSettings:
    """Return what the closer checks of concrete take from the brief, SI."""
    s, c = brief.steel, brief.costs
    practice = SteelPractice(
        curtailed=s.curtailed,
        stock=s.stock_m,
        sheet_length=s.sheet_length_m,
        sheet_width=s.sheet_width_m,
        allowance=s.allowance,
        stirrup_bar=s.stirrup_bar_mm / 1e3,
        stirrup_spacing=s.stirrup_spacing_mm / 1e3,
        skin_ratio=s.skin_ratio,
        corner_bar=s.corner_bar_mm / 1e3,
        shell_ratio=s.shell_ratio,
        spacing_thicknesses=s.spacing_thicknesses,
        spacing=s.spacing_max_mm / 1e3,
    )
    prices = Factors(**{name: getattr(c, name) for name in Factors.__dataclass_fields__})
    uses = float(brief.roof.bays) if c.form_uses is None else c.form_uses
    return ConcreteSettings(
        practice, prices, uses, _tensioning_of(brief) if brief.prestress.enabled else None
    )


def _tensioning_of(brief: "Brief") -> Tensioning:
    p = brief.prestress
    return Tensioning(
        strand=Strand(p.strand_cm2 / 1e4, p.strand_strength_MPa * 1e6, p.strand_proof_MPa * 1e6),
        duct=p.duct_mm / 1e3,
        cover=p.cover_mm / 1e3,
        immediate_loss=p.immediate_loss_pct / 100.0,
        later_loss=p.later_loss_pct / 100.0,
        tension_service=p.tension_service_MPa * 1e6,
        tension_transfer=p.tension_transfer_MPa * 1e6,
        anchor=p.anchor_mm / 1e3,
    )


def daylight_settings_of(brief: "Brief") -> DaylightSettings | None:
    """Return room, glass and wish of the brief, SI; None where it gives no working plane.

    Walls reach from the working plane to the lowest point of the roof.
    """
    d, roof = brief.daylight, brief.roof
    if d.level_m is None:
        return None
    room = Room(d.floor_reflectance, d.wall_reflectance, d.ceiling_reflectance)
    if d.walls:
        room = replace(room, bays=roof.bays, length=roof.span_m, wall_height=-d.level_m)
    return DaylightSettings(
        level=d.level_m,
        glazing=Glazing(d.transmittance, d.dirt, d.frame),
        room=room,
        mean_least=None if d.daylight_min_pct is None else d.daylight_min_pct / 100.0,
        latitude=None if d.latitude_deg is None else radians(d.latitude_deg),
        x_azimuth=radians(d.x_azimuth_deg),
        speaker=d.speaker_m,
    )
