"""``longvault light``: daylight under any section file, no brief needed.

The keys of the JSON document stand in `longvault.studies.light_document` and in the command's help.
"""

import json
import math
from pathlib import Path
from typing import Any

import click

from longvault.sections.symbols import CAUTION
from longvault.studies.cli.common import BadInput, judged_section

TITLES = {
    "x_m": "x m",
    "sky_component_overcast_pct": "overcast %",
    "sky_component_uniform_pct": "uniform %",
    "through_glass_overcast_pct": "glass, overcast %",
    "through_glass_uniform_pct": "glass, uniform %",
    "finite_overcast_pct": "mid-span, overcast %",
    "finite_uniform_pct": "mid-span, uniform %",
    "month": "month",
    "sun_up_h": "sun up h",
    "glass_h": "on glass h",
    "floor_mean_h": "floor, mean h",
    "radius_m": "radius m",
    "radius_per_height": "radius / height",
    "in_zone": "within H/2 to 2H",
}
"""Column of a table -> its head."""

UNITS = {"m": "m", "deg": "°", "pct": "%", "lx": "lx"}


FARTHEST = 10_000.0
"""No measure of a roof is larger [m]."""


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
@click.argument("section", metavar="FILE|DIR:ID")
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
@click.option("--screen", type=click.FloatRange(0, 1), default=1.0, show_default=True,
              help="Share of light left by a baffle or reflector under the slot.")  # fmt: skip
@click.option("--open-sides", is_flag=True, help="Sky also shows past the two ends of the row (a canopy).")
@click.option("--span-m", "span", type=float, help="Length of the slots [m]: adds the light at mid-span.")
@click.option("--bays", type=click.IntRange(1, 1000),
              help="Number of bays: with --span-m the walls take part in the reflection.")  # fmt: skip
@click.option("--reflectances", type=Numbers(3),
              help="Floor,walls,ceiling, 0 to 1: adds reflected light and the daylight factor.")  # fmt: skip
@click.option("--latitude-deg", "latitude", type=click.FloatRange(-90, 90),
              help="Latitude, north positive: adds hours of direct sun by month.")  # fmt: skip
@click.option("--x-azimuth-deg", "azimuth", type=float, default=0.0, show_default=True,
              help="Compass direction of the section's +x, clockwise from north.")  # fmt: skip
@click.option(
    "--speaker-m", "speaker", type=float, help="x of a speaker [m]: adds sound foci of concave parts."
)
@click.option("--draw", type=click.Path(path_type=Path), help="Write the drawing as .png or .svg.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON document and nothing else.")
def command(section: str, draw: Path | None, as_json: bool, **options: Any) -> None:
    """Light from the sky at points of a level plane under a section (file, or design DIR:ID of a run).

    Every strip of the section is opaque and as thick as the file says; sky shows through the gaps between
    pieces of the section and, with a pitch, between neighbouring modules. Beyond the ends of the row
    stand walls. A bare slot is a section file too: two pieces of ceiling, or one piece a module. Sky
    component: share of the light on open level ground under a CIE overcast and under a uniform sky, exact
    in the section, for slots that run without end along the span (--span-m tells what the ends take).

    \b
    JSON: note, caution, section, floor_m, pitch_m, span_m, modules, glass_factor,
      points [x_m, sky_component_overcast_pct, sky_component_uniform_pct,
        through_glass_overcast_pct, through_glass_uniform_pct  (--glass),
        finite_overcast_pct, finite_uniform_pct                (--span-m)],
      slot {clear_opening_m, glass_slope_deg, glass_per_floor, sky_angle_deg},
      bay {internally_reflected_pct, daylight_factor_mean_pct,
        daylight_factor_least_pct, uniformity, span_share,
        average_daylight_factor_formula_pct, en17037_level,
        illuminance_mean_lx, meaning},
      sun {latitude_deg, glass_faces_deg, noon_cut_off_slope_deg, advice,
        months [month, sun_up_h, glass_h, floor_mean_h]},
      sound {height_m, focusing_score, stretches [radius_m,
        radius_per_height, in_zone], foci [x_m, z_m, focus_x_m, focus_z_m]}

    Preliminary design only: local codes and a licensed engineer decide.
    """  # noqa: D301
    from longvault.studies.light_document import LightQuestion, light_document

    _check(options)
    options["latitude"] = None if options["latitude"] is None else math.radians(options["latitude"])
    question = LightQuestion(x_azimuth=math.radians(options.pop("azimuth")), **options)
    read, said = judged_section(section, question.pitch, one_piece=False)
    _check_pitch(read, question.pitch)
    try:
        document = {"note": said or None} | light_document(read, question)
    except ValueError as error:
        raise BadInput(str(error)) from None
    if draw is not None:
        from longvault.studies.light_figures import light_figure
        from longvault.studies.plots import save

        try:
            save(light_figure(read, question), draw)
        except (ValueError, OSError) as error:
            raise BadInput(f"--draw: {error}") from None
    click.echo(json.dumps(document, indent=1) if as_json else _table(document))


def _check(options: dict[str, Any]) -> None:
    """Refuse numbers that make no sense and options that need others."""
    for name in ("floor", "pitch", "span", "azimuth", "speaker"):
        value, positive = options[name], name in ("pitch", "span")
        flag = "--x-azimuth-deg" if name == "azimuth" else f"--{name}-m"
        if value is not None and FARTHEST < abs(value) < math.inf:
            raise BadInput(f"{flag}: got {value:g}; must be at most {FARTHEST:g} (is it in metres?)")
        if value is not None and not (math.isfinite(value) and (value > 0 or not positive)):
            need = "must be a finite number" + (" above 0" if positive else "")
            raise BadInput(f"{flag}: got {value:g}; {need}")
    reflectances = options["reflectances"]
    if reflectances is not None and not all(0 <= value < 1 for value in reflectances):
        raise BadInput(f"--reflectances: got {reflectances}; each must be from 0 to below 1")
    flags = {"modules": "--modules", "reflectances": "--reflectances", "latitude": "--latitude-deg"}
    for name, flag in flags.items():
        if options[name] is not None and options["pitch"] is None:
            raise BadInput(f"{flag}: needs --pitch-m, the distance at which modules repeat")

    if options["open_sides"] and options["pitch"] is not None and options["modules"] is None:
        raise BadInput("--open-sides: needs --modules; a row without end has no sides")
    if options["open_sides"] and options["span"] is not None:
        raise BadInput("--open-sides: leaves no end walls, so --span-m cannot be given with it")


def _check_pitch(section: Any, pitch: float | None) -> None:
    """Refuse modules that would stand in each other."""
    from longvault.constraints.limits import TOUCH
    from longvault.sections.outline import outline

    left, _, right, _ = outline(section.strips).bounds
    if pitch is not None and pitch < right - left - TOUCH:
        raise BadInput(
            f"--pitch-m: got {pitch:g} m, but the section is {right - left:.3f} m wide; modules that repeat "
            "closer would overlap (is it in metres?)"
        )


def _table(document: dict[str, Any]) -> str:
    """Write the document as text."""
    lines = [
        f"Daylight under {document['section']}, floor at z = {document['floor_m']:g} m",
        "Sky component: share of the light on open level ground; bare openings, slots without end.",
        *_rows(document["points"]),
    ]
    for name in ("slot", "bay", "sun", "sound"):
        part = document[name]
        if part is None:
            continue
        lines += ["", name.capitalize()]
        lines += [f"  {_words(k):<44}{_value(v):>12}" for k, v in part.items() if not isinstance(v, list)]
        for key in ("months", "stretches"):
            lines += _rows(part.get(key, []))
    note = [f"{document['note']}."] if document["note"] else []
    return "\n".join([*lines, "", *note, CAUTION])


def _rows(rows: list[dict[str, Any]]) -> list[str]:
    """Write entries with one set of keys as a table."""
    keys = list(rows[0]) if rows else []
    width = {key: max(10, len(TITLES[key])) for key in keys}
    head = "  ".join(f"{TITLES[key]:>{width[key]}}" for key in keys)
    body = ["  ".join(f"{_value(row[key]):>{width[key]}}" for key in keys) for row in rows]
    return [head, *body] if rows else []


def _words(key: str) -> str:
    stem, _, unit = key.rpartition("_")
    return f"{stem.replace('_', ' ')} [{UNITS[unit]}]" if unit in UNITS else key.replace("_", " ")


def _value(value: object) -> str:
    if value is None:
        return "-"
    if isinstance(value, bool):
        return "yes" if value else "no"
    return f"{value:.3f}" if isinstance(value, float) else str(value)
