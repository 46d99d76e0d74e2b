"""``longvault new``: write a commented starter brief."""

from pathlib import Path

import click

from longvault.studies.briefs import KINDS, starter_text

LIST = "\n".join(f"  {kind.ljust(13)} {words}" for kind, words in KINDS.items())


@click.command(
    epilog="Change the numbers, then run: longvault search FILE",
    help=f"Write a commented starter brief of a KIND to FILE (default KIND.toml).\n\n\b\nKinds:\n{LIST}",
)
@click.argument("kind", type=click.Choice(list(KINDS)))
@click.argument("file", type=click.Path(path_type=Path), required=False)
@click.option("--overwrite", is_flag=True, help="Replace FILE if it is there.")
def command(kind: str, file: Path | None, overwrite: bool) -> None:
    """Write the starter brief, never over a file that is there unless told so."""
    from longvault.sections.export.atomic import write_text

    path = file or Path(f"{kind}.toml")
    if path.is_dir():
        path = path / f"{kind}.toml"
    if path.exists() and not overwrite:
        raise click.UsageError(f"{path}: is there already; give another name, or --overwrite to replace it")
    try:
        write_text(path, starter_text(kind))
    except OSError as error:
        raise click.UsageError(f"{path}: cannot be written ({error.strerror or error})") from None
    click.echo(f"{path}: {KINDS[kind]}")
    click.echo(f"Next: longvault search {path}")
