"""The tables and keys of a brief: ranges, defaults and one plain sentence about each, in trade units."""

# ruff: noqa: N815 - keys carry their unit in its own spelling

from typing import Annotated, Literal

from pydantic import Field

from longvault.constraints.basis import Detailing, Requirements
from longvault.constraints.combinations import SNOW_PSI
from longvault.constraints.proof import Proving
from longvault.studies.brief_concrete import CostsTable, DaylightTable, PrestressTable, SteelTable
from longvault.studies.brief_table import Table, number

MM = 1e3
_detailing = Detailing()
_need = Requirements(height_max=1.0)
_proving = Proving()


class Roof(Table):
    """The room to roof."""

    span_m: float = number(3, 100, "clear span between supports; for a cantilever or canopy its free length")
    bay_m: float = number(1, 40, "bay: distance at which modules repeat across the roof")
    bays: int = number(1, 200, "how many bays stand side by side (only for quantities)", 1)
    support: Literal["simple", "fixed", "propped", "cantilever", "canopy", "overhanging", "continuous"] = (
        Field(
            "simple",
            description="simple, fixed, propped, cantilever, canopy (arm and back span), overhanging or "
            "continuous",
        )
    )
    spans_m: Annotated[
        tuple[Annotated[float, Field(ge=3, le=100)], ...],
        Field(strict=False, json_schema_extra={"low": 3, "high": 100}),
    ] = Field((), description="continuous: its 2 to 4 spans in order; span_m is the longest")
    back_span_m: float | None = number(0.5, 100, "canopy: span behind the arm, tied down at its end", None)
    overhang_left_m: float = number(0, 50, "overhanging: beyond the first support", 0.0)
    overhang_right_m: float = number(0, 50, "overhanging: beyond the last support", 0.0)
    arch_rise_m: float = number(0, 5, "rise of the module along a simple span; needs a tie", 0.0)
    tie_area_cm2: float = number(0, 500, "steel of the tie that takes the thrust of that rise", 0.0)
    held_sideways: bool = Field(
        False, description="true only where something holds the module straight sideways all along"
    )
    glazing_frame_mm: float = number(0, 500, "width that frames take out of the clear opening", 0.0)
    proved_bays: Annotated[
        tuple[Literal["interior", "end", "lone"], ...], Field(strict=False, min_length=1)
    ] = Field(("interior",), description="bays that must pass as folded plates: interior, end, lone")
    slot_strut_MN_m2: float = number(
        0, 1e4, "stiffness of struts across the slot, edge to mid-slot, per metre of span; 0: free slot", 0.0
    )
    strut_spacing_m: float = number(
        0.1, 50, "distance of struts and collars along the span; gives the force in each", 3.0
    )
    collar_MN_m2: float = number(
        0, 1e5, "stiffness of collars over the middle of a module, per metre of span; 0: none", 0.0
    )
    collar_at: float = number(
        0, 0.9, "where they meet the profile: 0 at its edges, 0.5 halfway to its middle", 0.5
    )


class SectionTable(Table):
    """The kind of section and the ranges the search may use."""

    family: str = Field("", description="family of sections: gull-wing, vault or one-sided")
    families: Annotated[tuple[str, ...], Field(strict=False)] = Field(
        (), description="several families in one search, in the place of family"
    )
    thickness_step_mm: float = number(0, 100, "thicknesses are whole multiples of this; 0 for any value", 0.0)
    start_sections: Annotated[tuple[str, ...], Field(strict=False)] = Field(
        (), description="design files of an earlier run to start from, beside this brief"
    )
    ranges: dict[str, Annotated[tuple[float, float], Field(strict=False)]] = Field(
        default_factory=dict,
        description="least and greatest value of shape variables; the others keep the family's own range",
    )

    @property
    def all_families(self) -> tuple[str, ...]:
        """Names of the families searched, one or several."""
        return self.families or (self.family,)


class WindTable(Table):
    """One case of wind, as net pressures the user gives."""

    name: str = Field(min_length=1, description="how tables call this case")
    zones: Annotated[
        tuple[Annotated[tuple[float, float, float], Field(strict=False)], ...],
        Field(strict=False, min_length=1),
    ] = Field(
        description="[from, to, pressure]: shares of the bay from its left, kN/m² onto the roof, suction -"
    )


class LoadsTable(Table):
    """Characteristic loads; the self-weight follows from the section."""

    standard: Literal["EN 1990:2002", "ASCE 7-16"] = Field(
        "EN 1990:2002", description="standard of the load combinations: EN 1990:2002 or ASCE 7-16"
    )
    finish_kN_m2: float = number(0, 10, "insulation and membrane, per square metre of surface", 0.0)
    snow_ground_kN_m2: float = number(0, 20, "snow on the ground", 0.0)
    snow_psi: Annotated[
        tuple[Annotated[float, Field(ge=0, le=1)], ...],
        Field(strict=False, min_length=3, max_length=3, json_schema_extra={"low": 0, "high": 1}),
    ] = Field(
        SNOW_PSI,
        description="psi_0, psi_1, psi_2 of snow, EN 1990: [0.5, 0.2, 0] up to 1000 m, else [0.7, 0.5, 0.2]",
    )
    snow_factor: float = number(0, 4, "snow on the roof over snow on the ground (shape factor)", 0.8)
    maintenance_kN_m2: float = number(
        0, 10, "people and tools, per square metre of plan; not together with snow", 0.0
    )
    glass_kN_m2: float = number(0, 5, "glazing with its frame, per square metre of glass", 0.0)
    services_kN_m: float = number(0, 50, "pipes, cables and lights, per metre of span", 0.0)
    services_x_m: float = number(-20, 20, "where they hang, from the middle of the module", 0.0)
    drift: Literal["none", "cylindrical", "valley"] = Field(
        "none", description="drifted snow by EN 1991-1-3 beside the uniform one: none, cylindrical or valley"
    )
    water_depth_mm: float = number(
        0, 1000, "water over the lowest place with blocked outlets; 0 for none", 0.0
    )
    gutter_fall_pct: float = number(0, 5, "fall of the gutters, made with screed", 0.0)
    outlets: int = number(1, 20, "outlets along a gutter", 2)
    erection_kN_m2: float | None = number(
        0, 10, "load on a module alone, unpropped; leave out to skip that state", None
    )
    wind: Annotated[tuple[WindTable, ...], Field(strict=False)] = Field(
        (), description="cases of wind, one [[loads.wind]] each, with name and zones"
    )


class MaterialsTable(Table):
    """Concrete and steel."""

    fck_MPa: float = number(12, 90, "cylinder strength of the concrete")
    alpha_cc: float = number(
        0.8, 1, "strength that lasts over that of a test, EN 1992-1-1 (default recommended)", 1.0
    )
    gamma_c: float = number(1, 2, "partial factor of the concrete, EN 1992-1-1 (default recommended)", 1.5)
    fyk_MPa: float = number(200, 700, "yield strength of the steel", 500.0)
    weight_kN_m3: float = number(15, 30, "weight of reinforced concrete", 25.0)


class DetailingTable(Table):
    """How the steel lies in the concrete; with it follows the least thickness."""

    cover_top_mm: float = number(5, 100, "concrete cover on the upper face", _detailing.cover_top * MM)
    cover_bottom_mm: float = number(5, 100, "concrete cover on the lower face", _detailing.cover_bottom * MM)
    mesh_bar_mm: float = number(4, 20, "bar of the mesh in the shell", _detailing.mesh_bar * MM)
    mesh_layers: int = number(1, 3, "layers of mesh", _detailing.mesh_layers)
    mesh_spacing_mm: float = number(50, 400, "spacing of the mesh", _detailing.mesh_spacing * MM)
    support_spacing_mm: float = number(
        30, 400, "spacing of the mesh near the supports", _detailing.support_spacing * MM
    )
    main_bar_mm: float = number(8, 50, "main bars along the span", _detailing.main_bar * MM)
    aggregate_mm: float = number(4, 40, "largest stone in the concrete", _detailing.aggregate * MM)
    tolerance_mm: float = number(0, 50, "placing tolerance inside the thickness", _detailing.tolerance * MM)
    fire_floor_mm: float = number(
        0, 300, "least thickness the fire class asks for", _detailing.fire_floor * MM
    )
    bar_zone: float = number(
        0.02, 0.5, "share of the height, from the tension edge, in which main bars lie", _detailing.bar_zone
    )
    lap_factor: float = number(
        1, 3, "room for main bars is counted over this, for laps", _detailing.lap_factor
    )


class LimitsTable(Table):
    """What a design must satisfy."""

    height_max_m: float = number(0.3, 30, "largest overall height of the section")
    opening_min_m: float = number(0, 20, "least clear opening of the glazed slot; 0 for none", 0.0)
    glass_slope_min_deg: float | None = number(
        1, 90, "least slope of the glass; 113.45 less the latitude keeps noon sun off it; leave out for none",
        None,
    )  # fmt: skip
    span_to_depth_max: float = number(
        4, 60, "largest span over height (a cantilever counts twice its length)", _need.span_to_depth_max
    )
    span_to_depth_min: float | None = number(
        1, 60, "least span over height; leave out for none", _need.span_to_depth_min
    )
    deflection_ratio: float = number(
        100, 2000, "long-term deflection at most span over this", _need.deflection_ratio
    )
    long_term_factor: float = number(
        1, 10, "long-term cracked deflection over the elastic one", _need.long_term_factor
    )
    long_term: Literal["factor", "cracked"] = Field(
        "cracked",
        description="cracked: states of the section, EN 1992-1-1, 7.4.3; factor: long_term_factor x elastic",
    )
    creep: float = number(0, 6, "creep coefficient of the cracked states", _need.creep)
    shrinkage_mm_m: float = number(
        0, 1, "final shrinkage of the cracked states", round(_need.shrinkage * 1e3, 9)
    )
    exposure: Literal["X0", "XC1", "XC2", "XC3", "XC4", "XD1", "XD2", "XD3", "XS1", "XS2", "XS3"] = Field(
        "XC1",
        description="exposure class, for crack width, EN 1992-1-1: XC1 dry inside, XC4 in the rain",
    )
    crack_width_max_mm: float | None = number(
        0.05, 1, "crack width allowed; leave out for that of the exposure class, 0.4 or 0.3 mm", None
    )
    camber_mm: float = number(0, 500, "built in, taken off the long-term deflection", 0.0)
    glass_difference_max_mm: float | None = number(
        0.1, 200, "movement between a loaded module and an empty neighbour; leave out for none", None
    )
    sideways_ratio: float | None = number(
        100, 2000, "sideways movement at most span over this; leave out for none", None
    )
    pond_depth_max_mm: float | None = number(
        0.1, 500, "water in low places that no gutter drains; leave out for none", None
    )
    tie_down_max_kN: float | None = number(
        0.1, 100_000, "largest pull on a support; leave out for none", None
    )
    slope_max_deg: float = number(10, 90, "steepest roof surface", 45.0)
    steep_slope_deg: float = number(10, 90, "slope above which a top form is needed", 45.0)
    steep_share_max_pct: float = number(
        0, 100, "share of the surface that may need a top form", 100.0 * _need.steep_share_max
    )
    bend_radius_min_m: float = number(
        0.05, 20, "smallest radius the forms can be bent to", _need.bend_radius_min
    )
    slot_movement_max_mm: float = number(
        0.1, 200, "sideways movement of a slot edge that the glazing bears", _proving.slot_movement * MM
    )
    buckling_creep: float = number(
        0, 6, "creep coefficient in buckling: modulus over 1 + this", _proving.stability.creep
    )
    buckling_knock_down: float = number(
        0.02, 1, "share of the classical buckling stress that imperfections and cracks leave",
        _proving.stability.knock_down,
    )  # fmt: skip
    buckling_safety: float = number(
        1, 10, "factor on buckling beside the load factors", _proving.stability.safety
    )
    taper_max: float = number(
        0.01, 2, "largest change of thickness per length along the profile", _need.taper_max
    )
    at_most: dict[str, float] = Field(
        default_factory=dict,
        description="own limits on any measure, by its name in front.csv: steel_weight_kg_m2 = 60",
    )
    at_least: dict[str, float] = Field(
        default_factory=dict, description="own limits from below: daylight_mean_pct = 4"
    )


class PreferencesTable(Table):
    """Where to look harder, without hiding the rest."""

    weights: dict[str, float] = Field(
        default_factory=dict, description="how much objectives matter, as ratios: area_m2 = 2, opening_m = 1"
    )
    at_most: dict[str, float] = Field(
        default_factory=dict, description="wishes, no limits: objectives to keep at or below a value"
    )
    at_least: dict[str, float] = Field(
        default_factory=dict, description="wishes, no limits: at least this much light, opening_m = 2"
    )


class SearchTable(Table):
    """What to look for and how long."""

    objectives: Annotated[tuple[str, ...], Field(strict=False)] = Field(
        ("area", "section_modulus", "opening"),
        description="what to trade off; also height and other measures",
    )
    folded_plate: Literal["staged", "always", "front-only"] = Field(
        "staged",
        description="folded plate: staged (designs that pass as beams), always (all), front-only (delivered)",
    )
    evaluations: int = number(100, 100_000_000, "designs to try", 100_000)
    population: int | None = number(
        8, 100_000, "designs in a generation; leave out to let the search choose", None
    )
    seed: int | None = number(
        0, 2**63 - 1, "seed of the random draws; leave out to have one drawn and recorded", None
    )
    workers: int | None = number(
        1, 64, "processes that evaluate, to the same results; leave out for one a core in long runs", None
    )
    deliver: int = number(3, 20_000, "designs delivered with files of their own; the archive keeps all", 100)
    archive_max: int = number(10, 1_000_000, "designs the archive keeps at most", 20_000)


class Brief(Table):
    """One brief as read, in trade units."""

    name: str = Field(min_length=1, description="name of the project, for drawings and sheets")
    scenario: str = Field("", description="what the roof is for, in a few sentences")
    roof: Roof
    section: SectionTable
    loads: LoadsTable = LoadsTable.model_construct()
    materials: MaterialsTable
    detailing: DetailingTable = DetailingTable.model_construct()
    steel: SteelTable = SteelTable.model_construct()
    prestress: PrestressTable = PrestressTable.model_construct()
    daylight: DaylightTable = DaylightTable.model_construct()
    costs: CostsTable = CostsTable.model_construct()
    limits: LimitsTable
    preferences: PreferencesTable = PreferencesTable.model_construct()
    search: SearchTable = SearchTable.model_construct()


TABLES: dict[str, type[Table]] = {
    "roof": Roof,
    "section": SectionTable,
    "loads": LoadsTable,
    "materials": MaterialsTable,
    "detailing": DetailingTable,
    "steel": SteelTable,
    "prestress": PrestressTable,
    "daylight": DaylightTable,
    "costs": CostsTable,
    "limits": LimitsTable,
    "preferences": PreferencesTable,
    "search": SearchTable,
}
"""Tables of a brief by name, in the order they are written."""
