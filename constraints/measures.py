"""The numbers a design is judged by: what each is called, its unit, and which way is better."""

from dataclasses import dataclass

import numpy as np


@dataclass(frozen=True, slots=True)
class Measure:
    """One number of a design.

    Parameters
    ----------
    key : str
        Identifier in briefs and code.
    title : str
        Words for tables and axes.
    unit : str
        Unit shown, in the spelling of column names (``m2``, ``MPa``, ``deg``, ``""``).
    per_si : float
        Shown value = SI value times this.
    sense : str
        ``min``, ``max``, or ``""`` when neither way is better by itself.
    """

    key: str
    title: str
    unit: str = ""
    per_si: float = 1.0
    sense: str = ""

    @property
    def column(self) -> str:
        """Column name with its unit: ``area_m2``."""
        return f"{self.key}_{self.unit}" if self.unit else self.key


DEG = float(180.0 / np.pi)

_ALL = (
    Measure("area", "concrete area of one module", "m2", 1.0, "min"),
    Measure("section_modulus", "section modulus", "m3", 1.0, "max"),
    Measure("opening", "clear daylight opening", "m", 1.0, "max"),
    Measure("glass_slope", "slope of the glass from the horizontal", "deg", DEG, "max"),
    Measure("height", "overall height", "m", 1.0, "min"),
    Measure("width", "width of the module", "m"),
    Measure("equivalent_thickness", "concrete per plan area", "mm", 1e3, "min"),
    Measure("centroid_height", "centroid above the lowest fibre", "m"),
    Measure("ixx", "second moment of area about the horizontal axis", "m4", 1.0, "max"),
    Measure("izz", "second moment of area about the vertical axis", "m4"),
    Measure("ixz", "product of area", "m4"),
    Measure("s_top", "section modulus, top fibre, held", "m3", 1.0, "max"),
    Measure("s_bottom", "section modulus, bottom fibre, held", "m3", 1.0, "max"),
    Measure("shape_efficiency", "shape efficiency S / (A h)", "", 1.0, "max"),
    Measure("ideal_share", "share of the two-flange ideal S / (A h / 2)", "", 1.0, "max"),
    Measure("slenderness", "span over overall height", "", 1.0),
    Measure("permanent_load", "permanent load per metre of span", "kN_m", 1e-3, "min"),
    Measure("ultimate_load", "ultimate load per metre of span", "kN_m", 1e-3, "min"),
    Measure("characteristic_load", "characteristic load per metre of span", "kN_m", 1e-3, "min"),
    Measure("ultimate_moment", "largest moment, ultimate", "kNm", 1e-3, "min"),
    Measure("characteristic_moment", "largest moment, characteristic", "kNm", 1e-3, "min"),
    Measure("sustained_moment", "largest moment, quasi-permanent", "kNm", 1e-3, "min"),
    Measure("side_moment", "largest moment about the vertical axis, wind, ultimate", "kNm", 1e-3, "min"),
    Measure("main_moment", "largest moment of the main sign, ultimate", "kNm", 1e-3, "min"),
    Measure("oblique_moment", "moment that stands with the sideways one, main steel", "kNm", 1e-3),
    Measure("oblique_side", "sideways moment in the main steel", "kNm", 1e-3),
    Measure("oblique_moment_reverse", "moment that stands with the sideways one, other sign", "kNm", 1e-3),
    Measure("oblique_side_reverse", "sideways moment in the steel of the other sign", "kNm", 1e-3),
    Measure("wind_push", "sideways push of wind per metre of span", "kN_m", 1e-3, "min"),
    Measure("wind_reaction", "sideways push of wind on a support, ultimate", "kN", 1e-3, "min"),
    Measure("ultimate_shear", "largest shear force, ultimate", "kN", 1e-3, "min"),
    Measure("compression", "concrete compression, ultimate", "MPa", 1e-6, "min"),
    Measure("compression_service", "concrete compression, characteristic", "MPa", 1e-6, "min"),
    Measure("tension_service", "tension in uncracked concrete, characteristic", "MPa", 1e-6, "min"),
    Measure("arm_block", "lever arm, elastic tension block", "m", 1.0, "max"),
    Measure("arm_bars", "lever arm, bars gathered at the edge", "m", 1.0, "max"),
    Measure("steel_area", "main steel, less favourable lever arm", "cm2", 1e4, "min"),
    Measure("bar_room", "main steel that fits the tension zone", "cm2", 1e4, "max"),
    Measure("shear_stress", "largest shear stress, ultimate", "MPa", 1e-6, "min"),
    Measure("web_steel", "mesh needed at the supports, each way", "cm2_m", 1e4, "min"),
    Measure("deflection_short", "deflection nearest its limit, characteristic, elastic", "mm", 1e3, "min"),
    Measure(
        "deflection_sustained", "deflection nearest its limit, quasi-permanent, elastic", "mm", 1e3, "min"
    ),
    Measure("deflection", "deflection nearest its limit, long term, cracked", "mm", 1e3, "min"),
    Measure("upward", "camber less the elastic deflection, quasi-permanent", "mm", 1e3, "min"),
    Measure("sideways", "sideways movement, elastic, characteristic", "mm", 1e3),
    Measure("holding_force", "sideways force that holds it straight, or would, per metre", "kN_m", 1e-3),
    Measure("thickness", "least thickness", "mm", 1e3),
    Measure("slope", "steepest roof surface", "deg", DEG, "min"),
    Measure("steep_share", "roof surface steeper than open forms allow", "pct", 100.0, "min"),
    Measure("bend", "curvature times smallest bend radius", "", 1.0, "min"),
    Measure("taper", "change of thickness per metre of profile", "", 1.0, "min"),
    Measure("clearance", "distance of the profile from itself over its thickness", ""),
    Measure("surface", "roof surface per metre of span", "m", 1.0, "min"),
    Measure("sideways_size", "sideways movement, whichever way", "mm", 1e3),
    Measure("glass_difference", "movement against an empty neighbour, variable load", "mm", 1e3, "min"),
    Measure("reaction", "largest push on a support, ultimate", "kN", 1e-3, "min"),
    Measure("tie_down", "largest pull on a support, ultimate and equilibrium", "kN", 1e-3, "min"),
    Measure("tie_force", "thrust of the beam-arch in its tie, cracked and crept, ultimate", "kN", 1e-3),
    Measure("thrust", "thrust of the beam-arch at first, ultimate", "kN", 1e-3),
    Measure("steel_area_reverse", "steel for the other sign of moment", "cm2", 1e4),
    Measure("bar_room_reverse", "steel that fits on that side", "cm2", 1e4),
    Measure("reverse_moment", "moment of the other sign, ultimate", "kNm", 1e-3),
    Measure("sustained_moment_reverse", "moment of the other sign, quasi-permanent", "kNm", 1e-3),
    Measure("deflection_allowed", "deflection allowed at that place", "mm", 1e3),
    Measure("deflection_place", "place of that deflection, from the start of the module", "m"),
    Measure("deflection_tip", "deflection of the tip of the overhang, long term, cracked", "mm", 1e3, "min"),
    Measure("fall_headroom", "height that the fall of the gutters takes", "mm", 1e3),
    Measure("pond_depth", "deepest water in a low place without gutter", "mm", 1e3),
    Measure("erection_moment", "moment of the module alone, ultimate", "kNm", 1e-3),
    Measure("erection_compression", "compression, module alone, ultimate", "MPa", 1e-6),
    Measure("erection_tension", "tension, module alone, characteristic", "MPa", 1e-6),
    Measure("erection_deflection", "deflection, module alone, elastic", "mm", 1e3),
    Measure("erection_sideways", "sideways movement, module alone, elastic", "mm", 1e3),
    Measure("plate_compression", "concrete compression, ultimate, folded plate", "MPa", 1e-6, "min"),
    Measure("plate_steel_area", "main steel, folded plate", "cm2", 1e4, "min"),
    Measure("plate_shear_stress", "largest shear stress, ultimate, folded plate", "MPa", 1e-6, "min"),
    Measure("plate_web_steel", "mesh needed at the supports, folded plate", "cm2_m", 1e4, "min"),
    Measure("transverse_moment", "largest bending moment across, ultimate", "kNm_m", 1e-3, "min"),
    Measure("transverse", "bending across over the mesh's resistance", "", 1.0, "min"),
    Measure("buckling", "compression over the design buckling stress", "", 1.0, "min"),
    Measure("plate_deflection", "deflection, long term, folded plate", "mm", 1e3, "min"),
    Measure("slot_movement", "sideways movement of the slot edges", "mm", 1e3, "min"),
    Measure("beam_share_stress", "beam share: folded plate over beam, stress", "", 1.0, "min"),
    Measure("beam_share_deflection", "beam share: folded plate over beam, deflection", "", 1.0, "min"),
    Measure("beam_buckling", "compression over the design buckling stress, beam", "", 1.0, "min"),
    Measure("slice_moment", "largest bending moment across, ultimate, slice", "kNm_m", 1e-3, "min"),
    Measure("slice_use", "bending across over the mesh's resistance, slice", "", 1.0, "min"),
    Measure("slice_movement", "sideways movement of the slot edges, slice", "mm", 1e3, "min"),
    Measure("erection_use", "bending across over the mesh's resistance, module alone", "", 1.0, "min"),
)

ERECTION_USE = "erection_use"
"""Key of the measure of `longvault.constraints.erection_across`."""

SLICE_MEASURES = ("slice_moment", "slice_use", "slice_movement")
"""Keys of the measures that the transverse slice gives (`longvault.constraints.slice_checks`)."""

CONCRETE_MEASURES = (
    Measure("end_torque", "torque at the support, full load, ultimate", "kNm", 1e-3, "min"),
    Measure("side_torque", "torque at the support, load on one side, ultimate", "kNm", 1e-3, "min"),
    Measure("edge_compression", "compression with torsion, ultimate", "MPa", 1e-6, "min"),
    Measure("edge_tension", "tension with torsion, uncracked, characteristic", "MPa", 1e-6, "min"),
    Measure("principal_tension", "principal tension, uncracked, characteristic", "MPa", 1e-6, "min"),
    Measure("cracked_use", "principal tension over the mean tensile strength", "", 1.0, "min"),
    Measure("torsion_shear", "shear stress with torsion, ultimate", "MPa", 1e-6, "min"),
    Measure("cracked_steel", "main steel, cracked section", "cm2", 1e4, "min"),
    Measure("cracked_arm", "lever arm, cracked section", "m", 1.0, "max"),
    Measure("cracked_steel_reverse", "steel for the other sign of moment, cracked section", "cm2", 1e4),
    Measure("crack_steel", "main steel that holds the crack width", "cm2", 1e4, "min"),
    Measure("crack_steel_reverse", "steel for the other sign of moment that holds it", "cm2", 1e4),
    Measure("crack_width", "crack width, quasi-permanent", "mm", 1e3, "min"),
    Measure("bar_spacing", "distance of bars along the span, main bars or mesh", "mm", 1e3),
    Measure("neutral_depth", "depth of the neutral axis over its limit, ultimate", "", 1.0, "min"),
    Measure("least_steel", "least main steel", "cm2", 1e4, "min"),
    Measure("main_steel", "main steel to provide", "cm2", 1e4, "min"),
    Measure("main_steel_reverse", "steel to provide for the other sign of moment", "cm2", 1e4),
    Measure("bars", "main bars of both sides"),
    Measure("mesh_needed", "mesh each way that the thickest surface asks for", "cm2_m", 1e4, "min"),
    Measure("mesh_spacing", "spacing of the mesh over the largest allowed"),
    Measure("steel_weight", "all steel per plan area", "kg_m2", 1.0, "min"),
    Measure("form_area", "form area per plan area", "m2_m2", 1.0, "min"),
    Measure("cost", "cost per plan area, by the user's prices", "per_m2", 1.0, "min"),
    Measure("carbon", "embodied carbon per plan area, by the user's factors", "kgCO2e_m2", 1.0, "min"),
    Measure("prestress_force", "prestressing force in service", "kN", 1e-3, "min"),
    Measure("prestress_window", "prestressing force over the most", "", 1.0, "min"),
    Measure("strands", "strands", "", 1.0, "min"),
    Measure("ducts", "ducts for the strands"),
    Measure("duct_room", "ducts that fit beside each other"),
    Measure("transfer_compression", "compression at transfer", "MPa", 1e-6, "min"),
    Measure("end_tension", "tension at the ends at transfer", "MPa", 1e-6, "min"),
    Measure("decompression", "force for no tension, frequent, over the force", "", 1.0, "min"),
    Measure("tendon_bending", "moment over the resistance with tendons, ultimate", "", 1.0, "min"),
    Measure("bursting_steel", "steel against bursting at the anchors", "cm2", 1e4, "min"),
    Measure("bursting_room", "stirrups that fit there", "cm2", 1e4),
    Measure("seat_thickness", "thickness of the member at the tendon", "mm", 1e3),
    Measure("balanced_load", "load balanced by the curved tendon", "kN_m", 1e-3),
)
"""What the closer checks of concrete find (`longvault.constraints.concrete_checks`)."""

_LIGHT = (
    Measure("daylight_mean", "mean daylight factor", "pct", 100.0, "max"),
    Measure("daylight_formula", "mean daylight factor, average formula", "pct", 100.0, "max"),
    Measure("daylight_least", "least daylight factor", "pct", 100.0, "max"),
    Measure("daylight_uniformity", "least over mean daylight factor", "", 1.0, "max"),
    Measure("glass_per_floor", "glass per floor area", "pct", 100.0),
    Measure("sound_focusing", "share of the soffit that gathers sound (no limit)", "", 1.0, "min"),
)

MEASURES = {measure.key: measure for measure in (*_ALL, *CONCRETE_MEASURES, *_LIGHT)}

PROOF_MEASURES = (
    "plate_compression",
    "plate_steel_area",
    "plate_shear_stress",
    "plate_web_steel",
    "transverse_moment",
    "transverse",
    "buckling",
    "plate_deflection",
    "slot_movement",
    "beam_share_stress",
    "beam_share_deflection",
)
"""Keys of the measures that a folded plate gives (`longvault.constraints.proof`)."""
