"""``longvault check``: every limit of a brief on one section, with its numbers, margin and source."""

import json
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from longvault.studies.cli.common import BadInput, brief_from, section_from, section_path, write_file

if TYPE_CHECKING:
    from longvault.studies.brief import Brief


@click.command(short_help="Calculation sheet of one section: every limit, margin and source.")
@click.argument("brief", type=click.Path(path_type=Path))
@click.option(
    "--section", "reference", required=True, metavar="FILE|DIR:ID", help="Section file, or design of a run."
)
@click.option("--json", "as_json", is_flag=True, help="Print one JSON document and nothing else.")
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    metavar="SHEET.html",
    help="Write the sheet as a page that prints on A4.",
)
@click.option(
    "--mend",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="Find the least change that holds every limit; write the mended section.",
)
def command(brief: Path, reference: str, as_json: bool, out: Path | None, mend: Path | None) -> None:
    """Check a section against BRIEF and print its calculation sheet.

    The exit status is 0 whether or not the limits are kept; the sheet, and "feasible" in the JSON document,
    say which.

    Preliminary design only: local codes and a licensed engineer decide.
    """
    from longvault.sections.topology import section_walk
    from longvault.studies.brief_basis import basis_of, proving_of
    from longvault.studies.checked import check_section
    from longvault.studies.sheet import make_sheet
    from longvault.studies.sheet_text import sheet_text
    from longvault.studies.stations import read_member

    read = brief_from(brief)
    section = section_from(reference)
    if section_walk(section.strips).cells:
        raise BadInput(
            f"{reference}: the strips form a closed cell; the beam checks need an open section "
            "(longvault measure and longvault prove take closed cells)"
        )
    try:
        member = read_member(section_path(reference))
        checked = check_section(section, basis_of(read), proving_of(read), member=member)
    except ValueError as error:
        raise BadInput(f"{reference}: {error}") from None
    sheet = make_sheet(checked, project=read.name, bays=read.roof.bays)
    if out is not None:
        from longvault.studies.sheet_html import drawings_of, sheet_html

        write_file(out, sheet_html(sheet, drawings_of(checked)))
        click.echo(f"{out}: the sheet as a page", err=True)
    extra = {} if mend is None else _mended(checked, reference, read, mend)
    if as_json:
        shown = document(checked, read.name) | extra
        click.echo(json.dumps(shown, indent=1, allow_nan=False, ensure_ascii=False))
    else:
        click.echo(sheet_text(sheet), nl=False)


def _mended(checked: Any, reference: str, brief: "Brief", path: Path) -> dict[str, Any]:
    """Say on stderr which limits fail and what mends them; write the mended section; return it as JSON."""
    from longvault.sections.export.section_json import export_json
    from longvault.studies.mending import mend_document, mend_lines, mend_section
    from longvault.studies.why_not import failing_lines

    if checked.feasible:
        click.echo("Every limit is kept: there is nothing to mend.", err=True)
        return {"mend": None}
    data = json.loads(section_path(reference).read_text(encoding="utf-8"))
    found = mend_section(checked.section, data, brief)
    lines = [f"  {line}" for line in failing_lines(checked.rows)]
    click.echo("\n".join(["Limits that fail, the worst first:", *lines, *mend_lines(found)]), err=True)
    if found is not None:
        about = {"family": found.design.scores.family.key, "variables": found.design.variables}
        try:
            export_json(found.checked.section, path, about)
        except OSError as error:
            raise BadInput(f"{path}: cannot be written ({error.strerror or error})") from None
        click.echo(f"{path}: the mended section", err=True)
    return {"mend": mend_document(found)}


def document(checked: Any, project: str) -> dict[str, Any]:
    """Return the JSON document: properties and measures by flat keys with units, then every limit."""
    from longvault.sections.symbols import CAUTION
    from longvault.studies.checked import limit_document, measure_document
    from longvault.studies.cli.measure import measures
    from longvault.studies.combinations_document import combinations_document, load_cases_document
    from longvault.studies.headline import said_first
    from longvault.studies.not_covered import not_covered
    from longvault.studies.other_bays import broken_elsewhere
    from longvault.studies.sheet_ends import ends_document
    from longvault.studies.sheet_plates import slices_document
    from longvault.studies.sheet_remedies import remedies_document, remedies_of

    properties = measures(checked.section.strips)
    return {
        "caution": CAUTION,
        "brief": project,
        "name": checked.section.name,
        "standard": checked.basis.standard.key,
        "held_straight": checked.basis.held,
        "feasible": checked.feasible,
        "governing": checked.governing.limit.key,
        **properties,
        **measure_document(checked.measures),
        "note": " ".join(said_first(checked)) or None,
        "load_cases": load_cases_document(checked),
        "combinations": combinations_document(checked),
        "limits": [limit_document(row) for row in checked.rows],
        "folded_plate": {bay: measure_document(found) for bay, found in checked.plates.items()},
        "proved_bays": list(checked.proved_bays),
        "broken_in_other_bays": {
            bay: [limit_document(row) for row in rows] for bay, rows in broken_elsewhere(checked).items()
        },
        "transverse_slice": slices_document(checked),
        "end_structure": ends_document(checked),
        "remedies": remedies_document(remedies_of(checked)),
        "not_covered": list(not_covered(checked)),
    }
