"""``longvault light``: daylight under any section file, no brief needed.

Keys of the JSON document (percentages of the light on open level ground under the same sky; null where
they do not apply):

``caution``, ``section``, ``floor_m``, ``pitch_m``, ``span_m``
    What was asked.
``modules``
    How many modules stand on either side, or ``"endless"``.
``points``
    One entry a point: ``x_m``; ``sky_component_overcast_pct`` and ``sky_component_uniform_pct`` through
    the bare openings (no glass) of endless slots. With glass also ``through_glass_overcast_pct`` and
    ``through_glass_uniform_pct``; with a span also ``finite_overcast_pct`` and ``finite_uniform_pct``,
    bare, at mid-span between opaque end walls.
``glass_factor``
    Transmittance x dirt x frame, 1 without glass.
``slot``
    ``clear_opening_m``, ``glass_slope_deg`` (0 flat), ``glass_per_floor``, ``sky_angle_deg`` of the slot
    between a module and the next; null without a pitch.
``bay``
    With reflectances, over 50 points of one bay under the overcast sky: ``internally_reflected_pct``,
    ``daylight_factor_mean_pct``, ``daylight_factor_least_pct``, ``uniformity`` (least over mean),
    ``span_share`` (what a room of the given span and bays keeps of the sky component, mean over its
    length), ``average_daylight_factor_formula_pct``, ``en17037_level`` (none, minimum, medium, high) and
    ``meaning``.
"""

import json
import math
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from longvault.sections.symbols import CAUTION

if TYPE_CHECKING:
    from longvault.constraints.glazing import Glazing
    from longvault.sections import Section


TITLES = {
    "x_m": "x m",
    "sky_component_overcast_pct": "overcast %",
    "sky_component_uniform_pct": "uniform %",
    "through_glass_overcast_pct": "glass, overcast %",
    "through_glass_uniform_pct": "glass, uniform %",
    "finite_overcast_pct": "mid-span, overcast %",
    "finite_uniform_pct": "mid-span, uniform %",
}
"""Column of the table -> its head."""


class BadInput(click.ClickException):
    """One clear message, exit status 2."""

    exit_code = 2


class Numbers(click.ParamType):  # type: ignore[type-arg,unused-ignore]
    """Numbers parted by commas, as many as wanted or exactly ``count``."""

    name = "numbers"

    def __init__(self, count: int | None = None) -> None:
        self.count = count

    def convert(
        self, value: Any, param: click.Parameter | None, ctx: click.Context | None
    ) -> tuple[float, ...]:
        """Read ``-1.5,0,2``."""
        if isinstance(value, tuple):
            return value
        try:
            numbers = tuple(float(word) for word in str(value).split(","))
        except ValueError:
            self.fail(f"got {value!r}; must be numbers parted by commas, for example -1.5,0,1.5", param, ctx)
        if not all(math.isfinite(number) for number in numbers):
            self.fail(f"got {value!r}; every number must be finite", param, ctx)
        if self.count is not None and len(numbers) != self.count:
            self.fail(f"got {len(numbers)} numbers; must be {self.count}", param, ctx)
        return numbers


@click.command(short_help="Daylight of any section file, no brief needed.")
@click.argument("section", type=click.Path(path_type=Path))
@click.option("--floor-m", "floor", type=float, required=True,
              help="Height z of the floor or table top [m], in the section's own coordinates.")  # fmt: skip
@click.option("--pitch-m", "pitch", type=float,
              help="Bay at which the section repeats [m]; without it the section stands alone.")  # fmt: skip
@click.option("--x-m", "points", type=Numbers(), help="Points x1,x2,... [m]; default 11 across the bay.")
@click.option("--modules", type=click.IntRange(0, 200),
              help="Modules on either side; default a row without end.")  # fmt: skip
@click.option("--glass", type=click.FloatRange(0, 1), help="Diffuse transmittance of the glass, 0 to 1.")
@click.option("--dirt", type=click.FloatRange(0, 1), default=1.0, show_default=True,
              help="Share of light left by dirt.")  # fmt: skip
@click.option("--frame", type=click.FloatRange(0, 1), default=1.0, show_default=True,
              help="Share of the opening that is not frame.")  # fmt: skip
@click.option("--span-m", "span", type=float, help="Length of the slots [m]: adds the light at mid-span.")
@click.option("--reflectances", type=Numbers(3),
              help="Floor,walls,ceiling, 0 to 1: adds reflected light and the daylight factor.")  # fmt: skip
@click.option("--bays", type=click.IntRange(1, 1000),
              help="Number of bays: with --span-m the walls take part in the reflection.")  # fmt: skip
@click.option("--json", "as_json", is_flag=True, help="Print one JSON document and nothing else.")
def command(
    section: Path,
    floor: float,
    pitch: float | None,
    points: tuple[float, ...] | None,
    modules: int | None,
    glass: float | None,
    dirt: float,
    frame: float,
    span: float | None,
    reflectances: tuple[float, ...] | None,
    bays: int | None,
    as_json: bool,
) -> None:
    """Light from the sky at points of a level plane under SECTION (a section file).

    Every strip of the section is opaque and as thick as the file says; sky shows through the gaps between
    pieces of the section and, with a pitch, between neighbouring modules. Beyond the ends of the row
    stand walls. A bare slot is a section file too: two pieces of ceiling, or one piece a module. Sky
    component: share of the light on open level ground under a CIE overcast and under a uniform sky, exact
    in the section, for slots that run without end along the span (--span-m tells what the ends take).

    \b
    JSON: caution, section, floor_m, pitch_m, span_m, modules, glass_factor,
      points [x_m, sky_component_overcast_pct, sky_component_uniform_pct,
        through_glass_overcast_pct, through_glass_uniform_pct  (--glass),
        finite_overcast_pct, finite_uniform_pct                (--span-m)],
      slot {clear_opening_m, glass_slope_deg, glass_per_floor, sky_angle_deg},
      bay {internally_reflected_pct, daylight_factor_mean_pct,
        daylight_factor_least_pct, uniformity, span_share,
        average_daylight_factor_formula_pct, en17037_level, meaning}

    Preliminary design only: local codes and a licensed engineer decide.
    """  # noqa: D301
    from longvault.constraints.glazing import Glazing
    from longvault.sections import SectionFileError, read_section

    for name, value in (("--floor-m", floor), ("--pitch-m", pitch), ("--span-m", span)):
        _check(name, value, positive=name != "--floor-m")
    if reflectances is not None:
        _check_room(reflectances, pitch)
    try:
        read = read_section(section)
    except SectionFileError as error:
        raise BadInput(str(error)) from None
    glazing = Glazing(glass if glass is not None else 1.0, dirt, frame)
    if pitch is None and modules:
        raise BadInput("--modules: needs --pitch-m, the distance at which they repeat")
    document = {
        "caution": CAUTION,
        "section": read.name,
        "floor_m": floor,
        "pitch_m": pitch,
        "span_m": span,
        "modules": "endless" if modules is None else modules,
        "glass_factor": glazing.transmittance * dirt * frame,
        "points": _points(read, floor, pitch, points, modules, glass is not None, glazing, span),
        "slot": _slot(read, pitch),
        "bay": _bay(read, floor, pitch, glazing, reflectances, span, bays),
    }
    click.echo(json.dumps(document, indent=1) if as_json else _table(document))


def _check(name: str, value: float | None, *, positive: bool) -> None:
    if value is not None and not (math.isfinite(value) and (value > 0 or not positive)):
        raise BadInput(f"{name}: got {value:g}; must be a finite number" + (" above 0" if positive else ""))


def _check_room(reflectances: tuple[float, ...], pitch: float | None) -> None:
    if pitch is None:
        raise BadInput("--reflectances: needs --pitch-m; a bay's surfaces share the light")
    if not all(0 <= value < 1 for value in reflectances):
        raise BadInput(f"--reflectances: got {reflectances}; each must be from 0 to below 1")


def _pct(value: float) -> float | None:
    return 100.0 * float(value) if math.isfinite(value) else None


def _points(
    section: "Section",
    floor: float,
    pitch: float | None,
    points: tuple[float, ...] | None,
    modules: int | None,
    glazed: bool,
    glazing: "Glazing",
    span: float | None,
) -> list[dict[str, Any]]:
    """Light at each point."""
    from longvault.constraints.daylight import sky_component

    strips = section.strips
    if points is None:
        middle, half = (
            0.5 * (strips.x.max() + strips.x.min()),
            0.5 * (pitch or float(strips.x.max() - strips.x.min())),
        )
        points = tuple(float(middle + half * i / 5) for i in range(-5, 6))
    light = sky_component(strips, points, floor, pitch=pitch, neighbours=modules)
    factor = glazing.transmittance * (glazing.dirt if glazing.dirt is not None else 1.0) * glazing.frame
    finite = _finite(section, floor, pitch, points, modules, span)
    entries = []
    for i, x in enumerate(points):
        bare = {"overcast": float(light.overcast[i]), "uniform": float(light.uniform[i])}
        if math.isnan(bare["uniform"]):
            raise BadInput(f"--x-m: the point x = {x:g} m, z = {floor:g} m lies inside the concrete")
        entry: dict[str, Any] = {"x_m": x}
        entry |= {f"sky_component_{sky}_pct": _pct(value) for sky, value in bare.items()}
        if glazed:
            entry |= {f"through_glass_{sky}_pct": _pct(factor * value) for sky, value in bare.items()}
        entries.append(entry | {key: _pct(values[i]) for key, values in finite.items()})
    return entries


def _finite(
    section: "Section",
    floor: float,
    pitch: float | None,
    points: tuple[float, ...],
    modules: int | None,
    span: float | None,
) -> dict[str, Any]:
    """Light at mid-span of slots of finite length, a list for each sky."""
    if span is None:
        return {}
    from longvault.constraints.finite_span import finite_span_light
    from longvault.constraints.sky import SKIES
    from longvault.constraints.visibility import NEIGHBOURS

    near = NEIGHBOURS if modules is None else modules
    return {
        f"finite_{sky}_pct": finite_span_light(
            section.strips, points, floor, span=span, sky=sky, pitch=pitch, neighbours=near
        )[0]
        for sky in SKIES
    }


def _slot(section: "Section", pitch: float | None) -> dict[str, Any] | None:
    """Measures of the slot between this module and the next."""
    if pitch is None:
        return None
    from longvault.constraints.glazing import glass_sky

    seen = glass_sky(section.strips, pitch=pitch)
    width, slope = float(seen.slot.width), math.degrees(float(seen.slot.slope))
    return {
        "clear_opening_m": width,
        "glass_slope_deg": None if math.isnan(slope) else slope,
        "glass_per_floor": max(width, 0.0) / pitch,
        "sky_angle_deg": math.degrees(float(seen.sky_angle)),
    }


def _bay(
    section: "Section",
    floor: float,
    pitch: float | None,
    glazing: "Glazing",
    reflectances: tuple[float, ...] | None,
    span: float | None,
    bays: int | None,
) -> dict[str, Any] | None:
    """Daylight factor over one bay."""
    if reflectances is None or pitch is None:
        return None
    from longvault.constraints.daylight_factor import Room, daylight
    from longvault.constraints.daylight_targets import band, target_level

    light, wall, ceiling = reflectances
    strips = section.strips
    room = Room(light, wall, ceiling)
    if span is not None and bays is not None:
        middle = 0.5 * (strips.at_first(strips.z) + strips.at_second(strips.z))
        height = float((middle * strips.length).sum() / strips.length.sum()) - floor
        room = Room(light, wall, ceiling, bays=bays, length=span, wall_height=max(height, 0.0))
    found = daylight(section.strips, pitch=pitch, level=floor, glazing=glazing, room=room)
    upright = float(found.glass_slope) > math.radians(15.0)
    level = int(target_level(found.daylight_factor, roof=not upright))
    uniformity = float(found.uniformity)
    return {
        "internally_reflected_pct": _pct(float(found.internally_reflected)),
        "daylight_factor_mean_pct": _pct(float(found.mean)),
        "daylight_factor_least_pct": _pct(float(found.least)),
        "uniformity": uniformity if math.isfinite(uniformity) else None,
        "span_share": float(found.span_share),
        "average_daylight_factor_formula_pct": _pct(float(found.average_formula)),
        "en17037_level": ("none", "minimum", "medium", "high")[level],
        "meaning": band(float(found.mean)),
    }


def _table(document: dict[str, Any]) -> str:
    """Write the document as text."""
    rows = document["points"]
    keys = [key for key in TITLES if key in rows[0]]
    lines = [f"Daylight under {document['section']}, floor at z = {document['floor_m']:g} m"]
    lines += ["Sky component: share of the light on open level ground; bare openings, slots without end."]
    lines += ["  ".join(f"{TITLES[key]:>{max(10, len(TITLES[key]))}}" for key in keys)]
    for row in rows:
        lines.append("  ".join(f"{row[key]:>{max(10, len(TITLES[key]))}.3f}" for key in keys))
    for name in ("slot", "bay"):
        if document[name] is not None:
            lines += ["", name.capitalize()]
            lines += [f"  {_words(key):<44}{_value(value):>12}" for key, value in document[name].items()]
    return "\n".join([*lines, "", CAUTION])


def _words(key: str) -> str:
    stem, _, unit = key.rpartition("_")
    named = {"m": "m", "deg": "deg", "pct": "%"}
    if unit in named:
        return f"{stem.replace('_', ' ')} [{named[unit]}]"
    return key.replace("_", " ")


def _value(value: object) -> str:
    if value is None:
        return "-"
    return f"{value:.3f}" if isinstance(value, float) else str(value)
