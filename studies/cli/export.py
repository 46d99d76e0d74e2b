"""``longvault export``: one section as drawings and data for other tools."""

from pathlib import Path

import click

from longvault.studies.cli.common import BadInput, section_from, section_path


@click.command(short_help="One design, or any section file, as DXF, SVG, CSV, JSON.")
@click.argument("section", metavar="DIR:ID|FILE")
@click.option(
    "--as",
    "kinds",
    default="dxf,svg,csv,json",
    show_default=True,
    metavar="FORMATS",
    help="Formats, with commas.",
)
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    metavar="DIR",
    help="Folder for the files; default the current one.",
)
def command(section: str, kinds: str, out: Path | None) -> None:
    """Write the section in the formats asked for; a file of the same name is replaced.

    Preliminary design only: local codes and a licensed engineer decide.
    """
    from longvault.sections.export import EXPORTERS

    wanted = [kind.strip().lower().lstrip(".") for kind in kinds.split(",") if kind.strip()]
    unknown = [kind for kind in wanted if kind not in EXPORTERS]
    if unknown or not wanted:
        got = ", ".join(unknown) or "nothing"
        raise BadInput(f"--as: got {got}; must be among {', '.join(EXPORTERS)}")
    source = section_path(section)
    read = section_from(section, one_piece=False)
    folder = out or Path()
    for kind in dict.fromkeys(wanted):
        path = folder / f"{source.stem}.{kind}"
        if path.exists() and path.samefile(source):
            raise BadInput(f"{path}: is the section itself; give another folder with --out")
        try:
            folder.mkdir(parents=True, exist_ok=True)
            EXPORTERS[kind](read, path)
        except OSError as error:
            raise BadInput(f"{path}: cannot be written ({error.strerror or error})") from None
        except ValueError as error:
            raise BadInput(f"{section}: {error}") from None
        click.echo(str(path))
