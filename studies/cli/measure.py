"""``longvault measure``: properties of a section file, nothing else."""

import json
import math
from typing import TYPE_CHECKING

import click

from longvault.sections.symbols import CAUTION
from longvault.studies.cli.common import BadInput, judged_section

if TYPE_CHECKING:
    from longvault.sections import Section, Strips

ROWS = (
    ("area_m2", "area A", "m2"),
    ("height_m", "overall height h", "m"),
    ("width_m", "overall width", "m"),
    ("centroid_x_m", "centroid x", "m"),
    ("centroid_z_m", "centroid z", "m"),
    ("ixx_m4", "Ixx about the horizontal axis", "m4"),
    ("izz_m4", "Izz about the vertical axis", "m4"),
    ("ixz_m4", "product of area Ixz", "m4"),
    ("principal_angle_deg", "principal axis from x", "deg"),
    ("s_top_m3", "S top, held straight", "m3"),
    ("s_bottom_m3", "S bottom, held straight", "m3"),
    ("s_free_compression_m3", "S compression, free sideways", "m3"),
    ("s_free_tension_m3", "S tension, free sideways", "m3"),
    ("s_free_m3", "S free, the smaller: design with this", "m3"),
    ("kern_top_m", "kern above the centroid", "m"),
    ("kern_bottom_m", "kern below the centroid", "m"),
    ("stress_efficiency_rho", "stress efficiency I / (A z_top z_bottom)", ""),
    ("shape_efficiency", "shape efficiency S free / (A h)", ""),
    ("shear_centre_x_m", "shear centre x", "m"),
    ("shear_centre_z_m", "shear centre z", "m"),
    ("torsion_constant_m4", "torsion constant J", "m4"),
    ("warping_constant_m6", "warping constant", "m6"),
)
"""Key of the JSON document, title and unit of the table."""

TORSION_KEYS = ("shear_centre_x_m", "shear_centre_z_m", "torsion_constant_m4", "warping_constant_m6")
ROUNDING = 1e-12
"""The table shows 0 for a value this small against the size of the section."""


@click.command(short_help="Properties of a section file, nothing else.")
@click.argument("file", metavar="FILE|DIR:ID")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON document and nothing else.")
def command(file: str, as_json: bool) -> None:
    """Measure the section in FILE (JSON section file) or design DIR:ID of a run: area, moduli, torsion.

    Nodes at one place count as one; separate pieces are refused.

    S under a sagging moment: "held straight" is Ixx over the distance to the outer fibre; "free sideways" is
    M over the largest stress of that sign when the section may also move sideways.

    Preliminary design only: local codes and a licensed engineer decide.
    """
    section, said = judged_section(file)
    values = measures(section.strips)
    if None in values.values():
        raise BadInput(
            f"{file}: nodes_m, strips: the section has no finite properties; sizes must be those of a roof "
            "in metres (say 0.001 to 1000)"
        )
    if as_json:
        shown = {"caution": CAUTION, "note": said or None, "name": section.name, **values}
        click.echo(json.dumps(shown, indent=1, allow_nan=False))
    else:
        _show(section, values, said)


def measures(strips: "Strips") -> dict[str, float | None]:
    """Flat keys with units -> value of one connected section, None where a value is not finite."""
    from longvault.sections.properties import section_properties
    from longvault.sections.torsion import torsion_properties

    values = _values(section_properties(strips), [key for key, _, _ in ROWS if key not in TORSION_KEYS])
    return values | _values(torsion_properties(strips), list(TORSION_KEYS))


def _values(source: object, keys: list[str]) -> dict[str, float | None]:
    found: dict[str, float | None] = {}
    for key in keys:
        field = key if hasattr(source, key) else key.rsplit("_", 1)[0]
        value = float(getattr(source, field))
        value = math.degrees(value) if key.endswith("_deg") else value
        found[key] = value if math.isfinite(value) else None
    return found


def _show(section: "Section", values: dict[str, float | None], said: str) -> None:
    from rich.console import Console
    from rich.table import Table
    from rich.text import Text

    from longvault.sections.export.scene import printable
    from longvault.studies.brief_units import UNITS

    table = Table(title=Text(printable(section.name)), title_justify="left", box=None, pad_edge=False)
    table.add_column("property")
    table.add_column("value", justify="right", no_wrap=True)
    table.add_column("unit")
    size = (values["height_m"] or 0.0) + (values["width_m"] or 0.0)
    inertia = (values["ixx_m4"] or 0.0) + (values["izz_m4"] or 0.0)
    for key, title, unit in ROWS:
        scale = {"m": size, "m4": inertia}.get(unit, 0.0) if key != "torsion_constant_m4" else 0.0
        table.add_row(title, number_text(values[key], ROUNDING * scale), UNITS.get(unit, unit))
    console = Console(highlight=False)
    console.print(table)
    if said:
        console.print(f"{said}.", soft_wrap=True)
    console.print(CAUTION, style="italic", soft_wrap=True)


def number_text(value: float | None, nothing: float = 0.0) -> str:
    """Five digits, no exponent where a person would write none; 0 up to ``nothing``, a dash for no value.

    Examples
    --------
    >>> number_text(1.14779), number_text(1e-16, 1e-12), number_text(2.5e-7), number_text(None)
    ('1.1478', '0', '2.5000e-07', '-')
    """
    if value is None:
        return "-"
    if abs(value) <= nothing or value == 0.0:
        return "0"
    if 1e-3 <= abs(value) < 1e5:
        return f"{value:.{max(0, 4 - math.floor(math.log10(abs(value))))}f}"
    return f"{value:.4e}"
