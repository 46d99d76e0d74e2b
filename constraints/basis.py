"""Basis of design: everything a check needs to know besides the section itself, in SI units."""

from dataclasses import dataclass, field

from longvault.constraints.actions import STANDARDS, Loads, Standard
from longvault.constraints.beam import SUPPORTS, Support
from longvault.constraints.materials import Concrete, DesignStrengths, Steel


@dataclass(frozen=True, slots=True)
class Detailing:
    """How steel lies in the concrete [m].

    ``mesh_layers`` meshes of ``mesh_bar`` at ``mesh_spacing`` (at ``support_spacing`` near the supports);
    main bars of ``main_bar`` in the outermost ``bar_zone`` of the height on the tension side (common
    practice). ``fire_floor`` is the least thickness the fire class asks for.
    """

    cover_top: float = 0.025
    cover_bottom: float = 0.025
    mesh_bar: float = 0.008
    mesh_layers: int = 1
    mesh_spacing: float = 0.150
    support_spacing: float = 0.075
    main_bar: float = 0.025
    aggregate: float = 0.016
    tolerance: float = 0.010
    fire_floor: float = 0.0
    bar_zone: float = 0.10

    @property
    def thickness_floor(self) -> float:
        """Least thickness: covers + two bars a mesh + placing tolerance, or what fire asks for [m]."""
        stack = self.cover_top + self.cover_bottom + 2 * self.mesh_layers * self.mesh_bar + self.tolerance
        return max(stack, self.fire_floor)


@dataclass(frozen=True, slots=True)
class Requirements:
    """Limits the brief sets. Ratios are common practice unless a source is named beside the limit."""

    height_max: float
    opening_min: float = 0.0
    span_to_depth_max: float = 18.0
    span_to_depth_min: float | None = None
    deflection_ratio: float = 250.0
    long_term_factor: float = 4.0
    slope_max: float = 0.7853981633974483
    steep_slope: float = 0.7853981633974483
    steep_share_max: float = 1.0
    bend_radius_min: float = 0.5
    taper_max: float = 0.25


@dataclass(frozen=True, slots=True)
class Basis:
    """One bay of a roof: span, loads, materials, detailing and requirements.

    Parameters
    ----------
    span, pitch : float
        Span (or length of the cantilever) and bay [m].
    support : Support
        One of `longvault.constraints.beam.SUPPORTS`.
    held : bool
        Whether the module is held straight sideways (a declared restraint); else bending is free.
    frame : float
        Width lost to the glazing frame in the clear opening [m].
    """

    span: float
    pitch: float
    requirements: Requirements
    support: Support = SUPPORTS["simple"]
    loads: Loads = field(default_factory=Loads)
    concrete: Concrete = field(default_factory=lambda: Concrete(30e6))
    steel: Steel = field(default_factory=Steel)
    standard: Standard = STANDARDS["EN 1990:2002"]
    detailing: Detailing = field(default_factory=Detailing)
    held: bool = False
    frame: float = 0.0

    @property
    def strengths(self) -> DesignStrengths:
        """Design strengths by the standard in force."""
        return self.standard.strengths(self.concrete, self.steel)

    @property
    def depth_span(self) -> float:
        """Span for span-to-depth and deflection limits [m]: L, or 2 L for a cantilever."""
        return self.support.depth_span * self.span
