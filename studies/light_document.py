"""Light, sun and sound of one section as a plain document: what ``longvault light`` prints.

Keys (percentages are shares of the light on open level ground under the same sky; null where one does not
apply):

``caution``, ``section``, ``floor_m``, ``pitch_m``, ``span_m``
    What was asked.
``modules``
    How many modules stand on either side, or ``"endless"``.
``glass_factor``
    Transmittance x dirt x frame x screen, 1 without glass.
``points``
    One entry a point: ``x_m``; ``sky_component_overcast_pct`` and ``sky_component_uniform_pct`` through
    the bare openings (no glass) of endless slots. With glass also ``through_glass_overcast_pct`` and
    ``through_glass_uniform_pct``; with a span also ``finite_overcast_pct`` and ``finite_uniform_pct``,
    bare, at mid-span between opaque end walls.
``slot``
    ``clear_opening_m``, ``glass_slope_deg`` (0 flat), ``glass_per_floor``, ``sky_angle_deg`` of the slot
    between a module and the next; null without a pitch.
``bay``
    With reflectances, over 50 points of one bay under the overcast sky: ``internally_reflected_pct``,
    ``daylight_factor_mean_pct``, ``daylight_factor_least_pct``, ``uniformity`` (least over mean),
    ``span_share`` (what a room of the given span and bays keeps of the sky component, mean over its
    length), ``average_daylight_factor_formula_pct``, ``en17037_level`` (none, minimum, medium, high),
    ``illuminance_mean_lx`` (under a sky of 10 000 lx) and ``meaning``.
``sun``
    With a latitude and a pitch: ``latitude_deg``, ``glass_faces_deg`` (clockwise from north),
    ``noon_cut_off_slope_deg``, ``advice`` and ``months``: ``month``, ``sun_up_h``, ``glass_h`` (some
    of the glass), ``floor_mean_h`` (mean over the bay) under a clear sky.
``sound``
    With a speaker: ``height_m`` (floor to crown), ``focusing_score`` (0 to 1), ``stretches``
    (``radius_m``, ``radius_per_height``, ``in_zone``) and ``foci`` (``x_m``, ``z_m`` of the soffit,
    ``focus_x_m``, ``focus_z_m``).
"""

import math
from dataclasses import dataclass
from typing import Any

import numpy as np

from longvault.constraints.daylight import sky_component
from longvault.constraints.daylight_factor import Room, daylight
from longvault.constraints.daylight_targets import band, illuminance, target_level
from longvault.constraints.direct_sun import MONTHS, direct_sun, north_light_advice
from longvault.constraints.finite_span import finite_span_light
from longvault.constraints.glazing import Glazing, glass_sky
from longvault.constraints.sky import SKIES
from longvault.constraints.sound import concave_stretches, focusing_score, sound_foci
from longvault.constraints.visibility import NEIGHBOURS
from longvault.sections import CAUTION, Section

LEVELS = ("none", "minimum", "medium", "high")
FLAT = math.radians(15.0)
"""Glass flatter than this counts as a horizontal opening [rad]."""


@dataclass(frozen=True, slots=True)
class LightQuestion:
    """What to find for a section. Lengths in m, angles in rad.

    Parameters
    ----------
    floor : float
        Height z of the floor or table top.
    pitch : float, optional
        Bay; without it the section stands alone.
    points : tuple of float, optional
        x of the points; by default eleven across the bay.
    modules : int, optional
        Modules on either side; by default a row without end.
    glass : float, optional
        Transmittance of the glass; without it the openings are bare.
    dirt, frame, screen : float
        Shares of the light left by dirt, frames and a baffle under the slot.
    open_sides : bool
        Whether sky shows past the two ends of the row.
    span, bays : optional
        Length of the slots, number of bays.
    reflectances : tuple of float, optional
        Floor, walls, ceiling.
    latitude, x_azimuth : float
        Positive north; compass direction of +x. The sun is looked at if a latitude is given.
    speaker : float, optional
        x of a speaker.
    """

    floor: float
    pitch: float | None = None
    points: tuple[float, ...] | None = None
    modules: int | None = None
    glass: float | None = None
    dirt: float = 1.0
    frame: float = 1.0
    screen: float = 1.0
    open_sides: bool = False
    span: float | None = None
    bays: int | None = None
    reflectances: tuple[float, float, float] | None = None
    latitude: float | None = None
    x_azimuth: float = 0.0
    speaker: float | None = None

    @property
    def glazing(self) -> Glazing:
        """Glass, dirt, frame and screen; all 1 for bare openings."""
        return Glazing(1.0 if self.glass is None else self.glass, self.dirt, self.frame, self.screen)

    @property
    def factor(self) -> float:
        """Share of light that passes glass, dirt, frame and screen."""
        return self.glazing.transmittance * self.dirt * self.frame * self.screen


def light_document(section: Section, question: LightQuestion) -> dict[str, Any]:
    """Answer a question about a section (the keys stand in the module's text).

    Raises
    ------
    ValueError
        If a point lies inside the concrete or the floor above the roof.
    """
    top = float(section.strips.z.max())
    if question.floor >= top:
        raise ValueError(f"the floor, z = {question.floor:g} m, must lie below the roof's top, z = {top:g} m")
    return {
        "caution": CAUTION,
        "section": section.name,
        "floor_m": question.floor,
        "pitch_m": question.pitch,
        "span_m": question.span,
        "modules": "endless" if question.modules is None else question.modules,
        "glass_factor": question.factor,
        "points": _points(section, question),
        "slot": _slot(section, question),
        "bay": _bay(section, question),
        "sun": _sun(section, question),
        "sound": _sound(section, question),
    }


def _number(value: float, scale: float = 1.0) -> float | None:
    return scale * float(value) if math.isfinite(value) else None


def _default_points(section: Section, pitch: float | None) -> tuple[float, ...]:
    """Eleven points across the bay, or across a section that stands alone."""
    low, high = float(section.strips.x.min()), float(section.strips.x.max())
    half = 0.5 * (pitch or high - low)
    return tuple(0.5 * (low + high) + half * i / 5 for i in range(-5, 6))


def _points(section: Section, question: LightQuestion) -> list[dict[str, Any]]:
    """Light at each point."""
    points = question.points or _default_points(section, question.pitch)
    strips, floor = section.strips, question.floor
    light = sky_component(
        strips,
        points,
        floor,
        pitch=question.pitch,
        neighbours=question.modules,
        open_sides=question.open_sides,
    )
    columns = {f"sky_component_{sky}_pct": getattr(light, sky) for sky in SKIES}
    buried = [x for x, value in zip(points, light.uniform, strict=True) if math.isnan(value)]
    if buried:
        raise ValueError(f"the point x = {buried[0]:g} m, z = {floor:g} m lies inside the concrete")
    if question.glass is not None:
        columns |= {f"through_glass_{sky}_pct": question.factor * getattr(light, sky) for sky in SKIES}
    if question.span is not None:
        near = NEIGHBOURS if question.modules is None else question.modules
        for sky in SKIES:
            columns[f"finite_{sky}_pct"], _ = finite_span_light(
                strips, points, floor, span=question.span, sky=sky, pitch=question.pitch, neighbours=near
            )
    return [
        {"x_m": x} | {key: _number(v[i], 100.0) for key, v in columns.items()} for i, x in enumerate(points)
    ]


def _slot(section: Section, question: LightQuestion) -> dict[str, Any] | None:
    """Measures of the slot between this module and the next."""
    if question.pitch is None:
        return None
    seen = glass_sky(section.strips, pitch=question.pitch)
    width = float(seen.slot.width)
    return {
        "clear_opening_m": width,
        "glass_slope_deg": _number(math.degrees(float(seen.slot.slope))),
        "glass_per_floor": max(width, 0.0) / question.pitch,
        "sky_angle_deg": math.degrees(float(seen.sky_angle)),
    }


def room_of(section: Section, question: LightQuestion) -> Room:
    """Room with the question's reflectances; walls as high as the roof's mean if span and bays are given."""
    floor, walls, ceiling = question.reflectances or (0.3, 0.5, 0.5)
    if question.span is None or question.bays is None:
        return Room(floor, walls, ceiling)
    strips = section.strips
    middle = 0.5 * (strips.at_first(strips.z) + strips.at_second(strips.z))
    height = float((middle * strips.length).sum() / strips.length.sum()) - question.floor
    return Room(floor, walls, ceiling, question.bays, question.span, max(height, 0.0))


def _bay(section: Section, question: LightQuestion) -> dict[str, Any] | None:
    """Daylight factor over one bay."""
    if question.reflectances is None or question.pitch is None:
        return None
    room = room_of(section, question)
    found = daylight(
        section.strips, pitch=question.pitch, level=question.floor, glazing=question.glazing, room=room
    )
    level = int(target_level(found.daylight_factor, roof=not float(found.glass_slope) > FLAT))
    return {
        "internally_reflected_pct": _number(float(found.internally_reflected), 100.0),
        "daylight_factor_mean_pct": _number(float(found.mean), 100.0),
        "daylight_factor_least_pct": _number(float(found.least), 100.0),
        "uniformity": _number(float(found.uniformity)),
        "span_share": _number(float(found.span_share)),
        "average_daylight_factor_formula_pct": _number(float(found.average_formula), 100.0),
        "en17037_level": LEVELS[level],
        "illuminance_mean_lx": _number(float(illuminance(found.mean))),
        "meaning": band(float(found.mean)),
    }


def _sun(section: Section, question: LightQuestion) -> dict[str, Any] | None:
    """Direct sun by month and advice."""
    if question.latitude is None or question.pitch is None:
        return None
    found = direct_sun(
        section.strips, pitch=question.pitch, latitude=question.latitude, x_azimuth=question.x_azimuth
    )
    slope = float(glass_sky(section.strips, pitch=question.pitch).slot.slope)
    advice = north_light_advice(question.latitude, slope) if math.isfinite(slope) else None
    columns = {"sun_up_h": found.above_horizon, "glass_h": found.glass, "floor_mean_h": found.floor}
    return {
        "latitude_deg": math.degrees(question.latitude),
        "glass_faces_deg": math.degrees(found.faces) if advice else None,
        "noon_cut_off_slope_deg": _number(math.degrees(advice.least_slope)) if advice else None,
        "advice": advice.words if advice else "The modules touch: there is no glass.",
        "months": [
            {"month": name} | {key: float(hours[i]) for key, hours in columns.items()}
            for i, name in enumerate(MONTHS)
        ],
    }


def _sound(section: Section, question: LightQuestion) -> dict[str, Any] | None:
    """Where concave stretches gather a voice."""
    if question.speaker is None:
        return None
    foci = sound_foci(section.strips, floor=question.floor, speaker_x=question.speaker, pitch=question.pitch)
    spots = np.stack([foci.x, foci.z, foci.focus_x, foci.focus_z], axis=-1)
    spots = spots[np.isfinite(spots).all(axis=1)]
    return {
        "height_m": foci.height,
        "focusing_score": _number(float(focusing_score(section.strips, floor=question.floor))),
        "stretches": [
            {"radius_m": s.radius, "radius_per_height": s.ratio, "in_zone": s.in_zone}
            for s in concave_stretches(section.strips, floor=question.floor)
        ],
        "foci": [
            dict(zip(("x_m", "z_m", "focus_x_m", "focus_z_m"), row, strict=True)) for row in spots.tolist()
        ],
    }
