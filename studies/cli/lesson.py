"""``longvault lesson``: a teaching figure, with the numbers to redo by hand."""

from importlib import import_module
from pathlib import Path
from pkgutil import iter_modules
from types import ModuleType
from typing import Any

import click

from longvault.studies import lessons
from longvault.studies.cli.common import BadInput


@click.command(short_help="Teaching figures with the numbers to redo by hand.")
@click.argument("name", required=False)
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="Figure, .png or .svg; default lesson-NAME.png.",
)
def command(name: str | None, out: Path | None) -> None:
    """Draw the lesson NAME and print its numbers; without NAME, list the lessons.

    Preliminary design only: local codes and a licensed engineer decide.
    """
    names = {info.name.replace("_", "-"): info.name for info in iter_modules(lessons.__path__)}
    if name is None:
        for key, module in names.items():
            click.echo(f"  {key.ljust(16)} {_lesson(module).TITLE}")
        click.echo("Draw one: longvault lesson NAME")
        return
    if name not in names:
        raise BadInput(f"NAME: there is no lesson {name!r}; must be one of {', '.join(names)}")
    path = out or Path(f"lesson-{name}.png")
    if path.suffix.lower() not in (".png", ".svg"):
        raise BadInput(f"--out: got {path}; must end in .png or .svg")
    try:
        result = _lesson(names[name]).draw(path)
    except OSError as error:
        raise BadInput(f"{path}: cannot be written ({error.strerror or error})") from None
    _say(_lesson(names[name]).TITLE, result)
    click.echo(f"{path}: the figure")


def _lesson(module: str) -> ModuleType:
    return import_module(f"longvault.studies.lessons.{module}")


def _say(title: str, result: dict[str, Any]) -> None:
    """Print title, table, notes; a lesson without a table prints what single numbers it returns."""
    from longvault.sections.symbols import CAUTION
    from longvault.studies.sheet_table import SheetTable, digits
    from longvault.studies.sheet_text import table_lines

    def cell(value: Any) -> str:
        return digits(float(value)) if isinstance(value, float) else str(value)

    click.echo(title)
    table = result.get("table", {})
    if table:
        rows = tuple(tuple(cell(value) for value in row) for row in zip(*table.values(), strict=True))
        words = tuple(i for i, column in enumerate(table.values()) if column and isinstance(column[0], str))
        click.echo("\n".join(table_lines(SheetTable(title, tuple(table), rows, words=words))))
    for key, value in result.items():
        if isinstance(value, int | float | str) and key != "title":
            click.echo(f"  {key.replace('_', ' ')}: {cell(value)}")
    for note in result.get("notes", []):
        click.echo(note)
    click.echo(CAUTION)
