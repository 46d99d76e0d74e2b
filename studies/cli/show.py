"""``longvault show``: the front of a run as a table, or one design of it."""

import json
from math import inf, nan
from pathlib import Path
from textwrap import fill
from typing import TYPE_CHECKING, Any

import click

from longvault.studies.cli.choice import chosen, column_of, kept, prices, representatives
from longvault.studies.cli.common import BadInput

if TYPE_CHECKING:
    from longvault.studies.record import Run

ROWS = 25
"""Rows shown unless all are asked for: picks, and designs spread over the table."""

SHORT = {
    "area": "A",
    "section_modulus": "S",
    "height": "h",
    "slenderness": "L/h",
    "steel_area": "A_s",
    "shape_efficiency": "k",
    "beam_share_stress": "share",
}
"""Measure -> its symbol, where the trade has one."""


@click.command(short_help="The front of a run as a table; --pick one design.")
@click.argument("folder", metavar="DIR", type=click.Path(path_type=Path))
@click.option("--pick", metavar="knee|ID", help='One design: its ID, "knee", or a pick such as "least area".')
@click.option("--sort", metavar="MEASURE", help="Sort by a measure, for instance height_m.")
@click.option(
    "--at-most",
    "most",
    metavar="MEASURE=VALUE",
    multiple=True,
    help="Only designs with no more of it, for instance beam_share_stress=1.05.",
)
@click.option(
    "--at-least",
    "least",
    metavar="MEASURE=VALUE",
    multiple=True,
    help="Only designs with no less of it.",
)
@click.option("--best", metavar="MEASURE", help="One design: the best in it of those that keep the bounds.")
@click.option(
    "--weights",
    metavar="MEASURE=WEIGHT,...",
    help="One design: the best by weights, for instance area=2,opening=1.",
)
@click.option("--groups", type=click.IntRange(1), metavar="N", help="One design for each of N groups.")
@click.option(
    "--by",
    type=click.Choice(["measures", "shape"]),
    default="measures",
    help="What groups are alike in: what is traded off, or the shape of the section.",
)
@click.option(
    "--price",
    is_flag=True,
    help="With one design: what 100 mm more or less of height or slot costs or saves; minutes.",
)
@click.option("--all", "everything", is_flag=True, help=f"Every delivered design, not {ROWS} of them.")
@click.option("--json", "as_json", is_flag=True, help="Print one JSON document and nothing else.")
def command(
    folder: Path,
    pick: str | None,
    sort: str | None,
    most: tuple[str, ...],
    least: tuple[str, ...],
    best: str | None,
    weights: str | None,
    groups: int | None,
    by: str,
    price: bool,
    everything: bool,
    as_json: bool,
) -> None:
    """Show the delivered designs of the run in DIR.

    Preliminary design only: local codes and a licensed engineer decide.
    """
    from longvault.studies.record import RecordError, open_run

    try:
        run = open_run(folder)
    except RecordError as error:
        raise BadInput(str(error)) from None
    if sum(one is not None for one in (pick, best, weights, groups)) > 1:
        raise BadInput("--pick, --best, --weights and --groups: give one of them")
    order = kept(run, _order(run, sort), most, least)
    name = _picked(run, pick) if pick is not None else chosen(run, order, best, weights)
    if price and name is None:
        raise BadInput("--price: say of which design, for instance with --pick knee")
    if name is not None:
        _show_one(run, name, as_json, price)
        return
    if groups is not None and order:
        order, everything = representatives(run, order, groups, by), True
    if as_json:
        click.echo(json.dumps(_document(run, order), indent=1, allow_nan=False, ensure_ascii=False))
    else:
        _show_table(run, order, sort, everything)


def _order(run: "Run", sort: str | None) -> list[int]:
    import numpy as np

    places = list(range(len(run.ids)))
    if sort is None:
        return places
    column = column_of(run, sort)
    return [int(i) for i in np.argsort(run.front[column], kind="stable")]


def _picked(run: "Run", pick: str) -> str:
    """Name of the design a pick means."""
    picks = {key.replace("_", " "): name for key, name in run.manifest.get("picks", {}).items()}
    name = str(picks.get(pick.replace("_", " "), pick))
    if name in run.ids:
        return name
    if not run.ids:
        raise BadInput(f"--pick: the run in {run.folder} has no feasible design")
    raise BadInput(
        f"--pick: got {pick!r}; must be {', '.join(picks)}, or an ID from {run.ids[0]} to {run.ids[-1]}"
    )


def _document(run: "Run", order: list[int]) -> dict[str, Any]:
    from longvault.sections.symbols import CAUTION

    rows = [run.row(run.ids[place]) for place in order]
    shown = (
        "name",
        "status",
        "sentence",
        "seed",
        "evaluations",
        "delivered",
        "archive",
        "picks",
        "objectives",
    )
    return {"caution": CAUTION, **{key: run.manifest.get(key) for key in shown}, "designs": rows}


def _show_one(run: "Run", name: str, as_json: bool, price: bool) -> None:
    path = run.path_of(name)
    try:
        data = json.loads(path.read_text(encoding="utf-8"))
        text = _one_text(run, name, data)
    except (OSError, ValueError, KeyError, TypeError) as error:
        reason = f"it has no {error}" if isinstance(error, KeyError) else error
        raise BadInput(f"{path}: cannot be read as a design ({reason})") from None
    if price:
        lines, found = prices(run, name, data)
        data, text = data | {"prices": found}, "\n".join([*lines, "", text])
    click.echo(json.dumps(data, indent=1, ensure_ascii=False) if as_json else text)


def _one_text(run: "Run", name: str, data: dict[str, Any]) -> str:
    """Measures and limits of one design, and what to do with it."""
    from longvault.constraints.measures import MEASURES
    from longvault.sections.symbols import CAUTION
    from longvault.studies.brief_units import UNITS
    from longvault.studies.sheet_limits import percent
    from longvault.studies.sheet_table import digits, quantity

    lines = [str(data["name"]), ""]
    for measure in MEASURES.values():
        value = data["measures"].get(measure.column)
        if value is not None:
            unit = UNITS.get(measure.unit, "")
            lines.append(f"  {measure.title.ljust(54)} {digits(value).rjust(10)} {unit}".rstrip())
    lines += ["", "  limits, the tightest first"]
    wide = max(len(limit["title"]) for limit in data["limits"])
    for limit in sorted(data["limits"], key=lambda one: -_number(one["margin"], inf)):
        sign = "<=" if limit["sense"] == "cap" else ">="
        demand, capacity = (quantity(_number(limit[key]), limit["unit"]) for key in ("demand", "capacity"))
        margin = percent(_number(limit["margin"])).rjust(10)
        lines.append(f"  {limit['title'].ljust(wide)} {f'{demand} {sign} {capacity}'.rjust(30)} {margin}")
        if limit.get("case"):
            lines.append(f"      {limit['case']}, y = {_number(limit.get('place_m')):.2f} m")
    lines += [f"  {data['note']}"] if data.get("note") else []
    where = f"{run.folder}:{name}"
    lines += ["", f"Sheet: longvault check {run.folder}/brief.toml --section {where}"]
    lines += [f"Files: longvault export {where} --as dxf,svg,csv,json", CAUTION]
    return "\n".join(lines)


def _number(value: float | None, otherwise: float = nan) -> float:
    """Read a number of a design file, where one that was not finite is written as null."""
    return otherwise if value is None else value


def _show_table(run: "Run", order: list[int], sort: str | None, everything: bool) -> None:
    from longvault.sections.symbols import CAUTION
    from longvault.studies.ideal_share import COLUMN, ideal_lines
    from longvault.studies.sheet_table import SheetTable, digits
    from longvault.studies.sheet_text import WIDTH, table_lines

    columns = _shown_columns(run, sort)
    heads = [_head(column) for column in columns]
    shown = order if everything or len(order) <= ROWS else _some(run, order)
    words = ["governing", "pick"] + (["family"] if len(set(run.front.get("family", ()))) > 1 else [])
    rows = [("", *(unit for _, unit, _ in heads), *("" for _ in words))]
    for place in shown:
        values = [digits(float(run.front[column][place])) for column in columns]
        said = [str(run.front[word][place]).replace("_", " ") for word in words]
        rows.append((run.ids[place], *values, *said))
    header = ("id", *(name for name, _, _ in heads), "governs", *words[1:])
    last = range(len(heads) + 1, len(header))
    table = SheetTable("front", header, tuple(rows), words=(0, *last))
    kept = f"{run.manifest.get('archive')} designs on the front, {len(run.ids)} delivered, {len(shown)} shown"
    kept += f" of {len(order)} that keep the bounds" if len(order) < len(run.ids) else ""
    click.echo(f"{run.manifest.get('name', run.folder)}: {kept}")
    click.echo("\n".join(table_lines(table)))
    click.echo(fill("; ".join(f"{name}: {meaning}" for name, _, meaning in heads), WIDTH))
    if COLUMN in run.front and len(run.ids):
        binding = [str(key) for key in run.front["governing"]]
        click.echo("\n".join(ideal_lines(run.front[COLUMN], binding)))
    click.echo(f"Next: longvault show {run.folder} --pick knee")
    click.echo(CAUTION)


def _head(column: str) -> tuple[str, str, str]:
    """Short name, unit and meaning of a column."""
    from longvault.constraints.measures import MEASURES
    from longvault.studies.brief_units import UNITS, unit_of

    measure = next((one for one in MEASURES.values() if one.column == column), None)
    if measure is None:
        return column, UNITS.get(unit_of(column), ""), "variable"
    return SHORT.get(measure.key, measure.key.replace("_", " ")), UNITS.get(measure.unit, ""), measure.title


def _shown_columns(run: "Run", sort: str | None) -> list[str]:
    """Objectives, the sorted measure, and what a designer asks first."""
    wanted = [objective["column"] for objective in run.manifest.get("objectives", [])]
    wanted += [column_of(run, sort)] if sort else []
    wanted += ["height_m", "slenderness", "steel_area_cm2", "deflection_mm", "shape_efficiency"]
    wanted += ["beam_share_stress"]
    return [column for column in dict.fromkeys(wanted) if column in run.front]


def _some(run: "Run", order: list[int]) -> list[int]:
    """Keep the picks, and rows evenly spread over the sorted table."""
    import numpy as np

    picked = {place for place in order if run.front["pick"][place]}
    keep = picked | {order[i] for i in np.linspace(0, len(order) - 1, ROWS - len(picked)).astype(int)}
    return [place for place in order if place in keep]
