"""Basis of design: everything a check needs to know besides the section itself, in SI units."""

from dataclasses import dataclass, field
from math import pi

from longvault.constraints.actions import STANDARDS, Combination, Loads, Standard
from longvault.constraints.arch import BeamArch
from longvault.constraints.beam import SUPPORTS, Support, spans_of
from longvault.constraints.concrete_settings import ConcreteSettings
from longvault.constraints.daylight_settings import DaylightSettings
from longvault.constraints.design_strengths import DesignStrengths
from longvault.constraints.limit import Limit
from longvault.constraints.materials import Concrete, Steel
from longvault.constraints.proving import Proving
from longvault.constraints.spans import Spans
from longvault.sections import Joint


@dataclass(frozen=True, slots=True)
class Detailing:
    """How steel lies in the concrete [m].

    ``mesh_layers`` meshes of ``mesh_bar`` at ``mesh_spacing`` (at ``support_spacing`` near the supports);
    main bars of ``main_bar`` in the outermost ``bar_zone`` of the height on the tension side. A fifth of the
    height puts their centroid at about 0.1 h, so d = 0.9 h, the usual preliminary assumption (common
    practice). Where bars lap, a band holds fewer of them: room is counted over ``lap_factor`` (common
    practice). ``fire_floor`` is the least thickness the fire class asks for.

    Examples
    --------
    >>> round(Detailing().mesh_area * 1e4, 3)  # 8 mm at 150 mm, cm2/m
    3.351
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
    bar_zone: float = 0.20
    lap_factor: float = 1.5

    @property
    def thickness_floor(self) -> float:
        """Least thickness: covers + two bars a mesh + placing tolerance, or what fire asks for [m]."""
        stack = self.cover_top + self.cover_bottom + 2 * self.mesh_layers * self.mesh_bar + self.tolerance
        return max(stack, self.fire_floor)

    @property
    def bar_area(self) -> float:
        """Area of one main bar [m2]."""
        return 0.25 * pi * self.main_bar**2

    @property
    def mesh_area(self) -> float:
        """Steel of all meshes, each way, per metre [m2/m]."""
        return self._meshes(self.mesh_spacing)

    @property
    def support_mesh_area(self) -> float:
        """The same near the supports [m2/m]."""
        return self._meshes(self.support_spacing)

    def _meshes(self, spacing: float) -> float:
        return self.mesh_layers * 0.25 * pi * self.mesh_bar**2 / spacing


CAMBER_RATIO = 250.0
"""A camber is at most the span over this (EN 1992-1-1, 7.4.1(4))."""
LONG_TERM = ("factor", "cracked")
"""How the long-term deflection is found."""
CRACK_WIDTHS = {"X0": 0.4e-3, "XC1": 0.4e-3} | dict.fromkeys(
    ("XC2", "XC3", "XC4", "XD1", "XD2", "XD3", "XS1", "XS2", "XS3"), 0.3e-3
)
"""Crack width of reinforced concrete by exposure class, quasi-permanent (EN 1992-1-1, table 7.1N) [m]."""


@dataclass(frozen=True, slots=True)
class Requirements:
    """Limits the brief sets. Ratios are common practice unless a source is named beside the limit.

    Those that are None set no limit. ``glass_slope_min`` is the least angle of the glass from the
    horizontal; ``camber`` is built in and taken off the long-term deflection;
    ``glass_difference_max`` bounds the movement between a module under variable load and an empty
    neighbour; ``sideways_ratio`` is a share of the span like ``deflection_ratio``; ``pond_depth_max`` bounds
    the water in low places that no gutter drains; ``tie_down_max`` the pull on any support. ``long_term``
    is ``cracked`` (states of the section by EN 1992-1-1, 7.4.3, with the coefficient ``creep`` and the strain
    ``shrinkage``, by default that of C30 at 70 % humidity, drying from both sides (3.1.4, from memory); or by
    ACI 318, 24.2) or ``factor`` (elastic deflection times ``long_term_factor``: perhaps on the unsafe side).
    ``exposure`` is the class of EN 206 and EN 1992-1-1, table 4.1, that sets the crack width; XC1, the dry
    inside, is what the least covers are made for. ``crack_width_max`` stands in its place.
    ``own`` are limits that the user sets on measures of any kind
    (`longvault.constraints.own_limits.own_limit`).
    """

    height_max: float
    opening_min: float = 0.0
    glass_slope_min: float | None = None
    span_to_depth_max: float = 18.0
    span_to_depth_min: float | None = None
    deflection_ratio: float = 250.0
    long_term_factor: float = 4.0
    slope_max: float = 0.7853981633974483
    steep_slope: float = 0.7853981633974483
    steep_share_max: float = 1.0
    bend_radius_min: float = 0.5
    taper_max: float = 0.25
    camber: float = 0.0
    long_term: str = "cracked"
    creep: float = 2.5
    shrinkage: float = 4e-4
    exposure: str = "XC1"
    crack_width_max: float | None = None
    glass_difference_max: float | None = None
    sideways_ratio: float | None = None
    pond_depth_max: float | None = None
    tie_down_max: float | None = None
    own: tuple[Limit, ...] = ()

    def __post_init__(self) -> None:
        if self.long_term not in LONG_TERM:
            raise ValueError(f"long_term: got {self.long_term!r}; must be one of {', '.join(LONG_TERM)}")
        if self.exposure not in CRACK_WIDTHS:
            raise ValueError(f"exposure: got {self.exposure!r}; must be one of {', '.join(CRACK_WIDTHS)}")

    @property
    def width_allowed(self) -> float:
        """Crack width allowed under the quasi-permanent combination [m].

        Examples
        --------
        >>> Requirements(2.5).width_allowed, Requirements(2.5, exposure="XC4").width_allowed
        (0.0004, 0.0003)
        """
        return CRACK_WIDTHS[self.exposure] if self.crack_width_max is None else self.crack_width_max


@dataclass(frozen=True, slots=True)
class Basis:
    """One bay of a roof: span, loads, materials, detailing and requirements.

    Parameters
    ----------
    span, pitch : float
        Span (or length of the cantilever) and bay [m].
    support : Support
        One of `longvault.constraints.beam.SUPPORTS`, or of `longvault.constraints.beam.support_of`.
    spans : Spans or None
        Where the module rests along its length; None for what ``support`` and ``span`` say.
    arch : BeamArch or None
        Rise along a simple span with a tie; None for a straight module.
    held : bool
        Whether the module is held straight sideways (a declared restraint); else bending is free.
    prismatic : bool
        Whether the module is one section from end to end; a taper is looked at station by station instead
        (`longvault.constraints.member_details` sets this).
    frame : float
        Width lost to the glazing frame in the clear opening [m].
    concrete_settings : ConcreteSettings or None
        What the closer checks of concrete take from practice and prices; None leaves them out.
    daylight : DaylightSettings or None
        Room and glass for the daylight factor; None leaves it out.
    concrete, standard
        Whatever concrete is given is taken over into that of the standard in force.
    crosswise : Proving or None
        Bays and struts that the transverse slice looks at; None leaves it out.
    joints : tuple of Joint
        What joins the module to its neighbours, for the slice.
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
    prismatic: bool = True
    frame: float = 0.0
    spans: Spans | None = None
    arch: BeamArch | None = None
    concrete_settings: ConcreteSettings | None = field(default_factory=ConcreteSettings)
    daylight: DaylightSettings | None = None
    crosswise: Proving | None = None
    joints: tuple[Joint, ...] = ()

    def __post_init__(self) -> None:
        kind, c = self.standard.concrete, self.concrete
        if type(c) is not kind:  # stiffness and cracking go by the standard in force
            object.__setattr__(self, "concrete", kind(c.fck, c.weight, c.alpha, c.gamma))
        most, camber = self.depth_span / CAMBER_RATIO, self.requirements.camber
        if camber > most:
            raise ValueError(
                f"camber: got {1e3 * camber:g} mm; at most L_eq / {CAMBER_RATIO:g} = {1e3 * most:.0f} mm "
                "(EN 1992-1-1, 7.4.1(4))"
            )
        if self.arch is not None and self.line != Spans.simple(self.span):
            raise ValueError("arch: a rise along the span with a tie needs one simple span")

    @property
    def line(self) -> Spans:
        """Where the module rests along its length."""
        return self.spans or spans_of(self.support.key, self.span)

    @property
    def sagging(self) -> bool:
        """Whether the largest moment under load everywhere puts tension at the bottom."""
        return self.support.moment > 0

    @property
    def twist_held(self) -> bool:
        """Whether neighbours on both sides keep every bay looked at from twisting.

        They do along shared valleys, which go down by the same in every bay of a long row: loads on one side
        go into the valleys. A lone module, an end bay and one between slots are free to twist.
        """
        if self.crosswise is None or set(self.crosswise.bays) != {"interior"}:
            return False
        return {joint.side for joint in self.joints if joint.kind == "valley"} == {"left", "right"}

    @property
    def alone(self) -> bool:
        """Whether nothing keeps a module from twisting and from bending sideways by itself."""
        return not (self.held or self.twist_held)

    @property
    def pushed(self) -> bool:
        """Whether the sideways part of wind bends the module; else it goes into what holds it."""
        return self.alone and self.loads.pushes

    @property
    def plain(self) -> bool:
        """Whether snow and maintenance, each everywhere, are the only variable loads that can govern."""
        loads = self.loads
        return len(self.line.fields) == 1 and not (loads.drift or loads.wind or loads.water > 0)

    @property
    def combinations(self) -> tuple[Combination, ...]:
        """The combinations that are looked at: the short list where it suffices, else the full one."""
        return self.standard.combinations if self.plain else self.standard.every

    @property
    def strengths(self) -> DesignStrengths:
        """Design strengths by the standard in force."""
        return self.standard.strengths(self.concrete, self.steel)

    @property
    def depth_span(self) -> float:
        """Span for span-to-depth and deflection limits [m]: the longest L, or 2 L of a cantilever."""
        return self.line.depth_span if self.spans else self.support.depth_span * self.span
