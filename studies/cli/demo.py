"""``longvault demo``: the main job on a built-in brief, in well under a minute."""

from pathlib import Path

import click

from longvault.studies.cli.common import BadInput

KIND = "reading-hall"
FOLDER = "longvault-demo"
EXPORTS = "exports"
EVALUATIONS = 20_000
"""Enough for a front worth looking at; the brief itself asks for more."""


@click.command(short_help="The main job on a built-in brief: search, check, draw, export.")
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    default=Path(FOLDER),
    show_default=True,
    metavar="DIR",
    help="Folder for everything.",
)
@click.option("--quiet", is_flag=True, help="No progress.")
def command(out: Path, quiet: bool) -> None:
    """Search a reading hall with crown slots, check and draw the winners and export them.

    A folder of an earlier demo is replaced; any other is left alone.

    Preliminary design only: local codes and a licensed engineer decide.
    """
    from longvault.studies.brief import read_brief
    from longvault.studies.briefs import starter_text
    from longvault.studies.cli.search import run
    from longvault.studies.record import RecordError, fresh_folder
    from longvault.studies.run import make_job

    brief = read_brief(starter_text(KIND))
    budget = min(EVALUATIONS, brief.search.evaluations)
    job = make_job(
        brief.model_copy(update={"search": brief.search.model_copy(update={"evaluations": budget})})
    )
    exports = out / EXPORTS
    try:
        again = _earlier_demo(out)
        if not again and out.is_dir() and any(out.iterdir()):
            raise BadInput(f"{out}: is not empty and holds no earlier demo; give another folder with --out")
        if again and exports.is_dir():
            for path in exports.iterdir():
                path.unlink()
            exports.rmdir()
        fresh_folder(out, overwrite=again)
    except OSError as error:
        raise BadInput(f"{out}: cannot be written ({error.strerror or error})") from None
    except RecordError as error:
        raise BadInput(str(error)) from None
    click.echo(
        f"{job.brief.name}: span {job.brief.roof.span_m:g} m, bay {job.brief.roof.bay_m:g} m", err=True
    )
    _, delivered = run(job, out, quiet=quiet, demo=True)
    _export(delivered, exports)
    knee = delivered.picks["knee"]
    click.echo("")
    click.echo("Look at")
    click.echo(f"  {out}/figures/front.png             the trade-off: concrete, strength, daylight")
    click.echo(f"  {out}/figures/section-{knee}.png      the knee of it, to scale, with its stresses")
    click.echo(f"  {out}/sheet.html                    its calculation sheet, to check by hand")
    click.echo(f"  {out}/{EXPORTS}/                      the winners as DXF, SVG, CSV, JSON")
    click.echo("Then")
    click.echo(f"  longvault show {out}")
    click.echo("  longvault lesson deeper")
    click.echo("  longvault new workshop")


def _earlier_demo(folder: Path) -> bool:
    """Whether the folder holds a demo: only that may be replaced unasked."""
    import json

    from longvault.studies.record import MANIFEST

    try:
        manifest = json.loads((folder / MANIFEST).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return False
    return isinstance(manifest, dict) and manifest.get("demo") is True


def _export(delivered: object, folder: Path) -> None:
    """Export the picked designs in every format."""
    from longvault.sections.export import EXPORTERS
    from longvault.studies.record_designs import Delivered

    if not isinstance(delivered, Delivered):
        raise TypeError("delivered: must be the designs of a run")
    folder.mkdir(exist_ok=True)
    for name in dict.fromkeys(delivered.picks.values()):
        section = delivered.section(delivered.names.index(name))
        for kind, export in EXPORTERS.items():
            export(section, folder / f"{name}.{kind}")
