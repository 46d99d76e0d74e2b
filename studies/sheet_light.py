"""Daylight, sun and sound on the sheet, and the question that the picture of light answers."""

from math import degrees, isfinite

import numpy as np

from longvault.constraints.basis import Basis
from longvault.constraints.daylight_factor import daylight
from longvault.constraints.daylight_settings import DaylightSettings
from longvault.constraints.daylight_targets import band, target_level
from longvault.constraints.direct_sun import MONTHS, direct_sun
from longvault.constraints.sound import ZONE, concave_stretches
from longvault.sections import Section
from longvault.sections.properties import section_properties
from longvault.studies.checked import Checked
from longvault.studies.light_document import FLAT, LEVELS, LightQuestion
from longvault.studies.sheet_table import SheetTable, digits


def light_tables(checked: Checked) -> list[SheetTable]:
    """Tables of light and sun, where the brief gives a working plane."""
    wish = checked.basis.daylight
    if wish is None or "daylight_mean" not in checked.measures:
        return []
    sun = [] if wish.latitude is None else [sun_table(checked, wish)]
    return [daylight_table(checked, wish), *sun]


def _level(checked: Checked, wish: DaylightSettings) -> float:
    return float(checked.properties.bottom) + wish.level


def daylight_table(checked: Checked, wish: DaylightSettings) -> SheetTable:
    """Daylight factor by the curve and by the average formula, with what goes into them."""
    m, basis, strips = checked.measures, checked.basis, checked.section.strips
    level, room, glazing = _level(checked, wish), wish.room, wish.glazing
    found = daylight(strips, pitch=basis.pitch, level=level, glazing=glazing, room=room, points=wish.points)
    slope, width = float(found.glass_slope), max(float(found.clear_opening), 0.0)
    dirt = float(glazing.dirt_share(slope)) if isfinite(slope) else float("nan")
    factor = glazing.transmittance * glazing.frame * glazing.screen * dirt
    curve = found.sky_component * found.span_share + found.internally_reflected
    reached = int(target_level(curve, roof=not slope > FLAT))
    even, mean, least = float(found.internally_reflected), m["daylight_mean"], m["daylight_least"]
    rows = (
        ("working plane", f"{wish.level:g} m from the lowest point of the section", f"z = {level:.3f} m"),
        ("glass per floor area", f"{width:.3f} m / {basis.pitch:g} m", f"{100 * m['glass_per_floor']:.1f} %"),
        (
            "light through the glass",
            f"glass {glazing.transmittance:g} x frame {glazing.frame:g} x dirt {digits(dirt, 3)}",
            digits(factor, 3),
        ),
        (
            "sky component, mean",
            f"exact in the section, overcast sky, {wish.points} points; "
            f"end walls leave {digits(float(found.span_share), 3)}",
            _pct(mean - even),
        ),
        ("light reflected inside", "first bounce / (A (1 - R)), even", _pct(even)),
        ("daylight factor, mean", "sum of the two", _pct(mean)),
        ("daylight factor, least", "darkest point", _pct(least)),
        ("uniformity", "least / mean", digits(m["daylight_uniformity"])),
        (
            "mean by the average formula",
            f"T W theta / (A (1 - R²)), theta = {digits(degrees(float(found.sky_angle)), 3)}°",
            _pct(m["daylight_formula"]),
        ),
        ("meaning", band(mean) if isfinite(mean) else "-", f"EN 17037: {LEVELS[reached]}"),
        (
            "focusing of sound",
            f"share of the soffit with a radius of {ZONE[0]:g} to {ZONE[1]:g} x the height above the "
            "working plane; no limit",
            digits(m["sound_focusing"]),
        ),
    )
    radii = [f"{s.radius:.2f} m" for s in concave_stretches(strips, floor=level) if s.in_zone]
    notes = (
        "Inner bay. The average formula (BRE Digest 310) spreads light evenly and reads lower under slots "
        f"overhead. Reflectances: floor {room.floor:g}, walls {room.walls:g}, roof {room.ceiling:g}.",
        f"Concave soffit in the zone to avoid where people speak: radius {', '.join(radii)}."
        if radii
        else "No concave soffit gathers sound near the listeners.",
    )
    return SheetTable("Daylight and sound", ("item", "how", "value"), rows, notes, marked=(5,), words=(0, 1))


def _pct(share: float) -> str:
    return f"{digits(100 * share, 3)} %"


def sun_table(checked: Checked, wish: DaylightSettings) -> SheetTable:
    """Hours of direct sun by month under a clear sky."""
    latitude = 0.0 if wish.latitude is None else wish.latitude
    found = direct_sun(
        checked.section.strips, pitch=checked.basis.pitch, latitude=latitude, x_azimuth=wish.x_azimuth
    )
    columns = np.stack([found.above_horizon, found.glass, found.floor], axis=-1)
    rows = tuple(
        (month, *(f"{value:.1f}" for value in row)) for month, row in zip(MONTHS, columns, strict=True)
    )
    notes = (
        f"Latitude {degrees(latitude):g}°, the section's +x looks to {degrees(wish.x_azimuth):g}° "
        "from north; hours of each month under a clear sky; no limit.",
    )
    header = ("month", "sun up [h]", "on the glass [h]", "on the floor, mean [h]")
    return SheetTable("Direct sun", header, rows, notes)


def light_question(section: Section, basis: Basis) -> LightQuestion | None:
    """Return what the picture of light shows under a basis of design; None without a working plane."""
    wish = basis.daylight
    if wish is None:
        return None
    level = float(section_properties(section.strips).bottom) + wish.level
    room, glazing = wish.room, wish.glazing
    found = daylight(section.strips, pitch=basis.pitch, level=level, points=2)
    slope = float(found.glass_slope)
    return LightQuestion(
        floor=level,
        pitch=basis.pitch,
        glass=glazing.transmittance,
        dirt=float(glazing.dirt_share(slope)) if isfinite(slope) else 1.0,
        frame=glazing.frame,
        screen=glazing.screen,
        span=room.length,
        bays=room.bays,
        reflectances=(room.floor, room.walls, room.ceiling),
        latitude=wish.latitude,
        x_azimuth=wish.x_azimuth,
        speaker=wish.speaker,
    )
