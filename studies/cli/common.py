"""What the subcommands share: bad input as one message, briefs, and sections named by FILE or DIR:ID."""

from pathlib import Path
from typing import TYPE_CHECKING

import click

if TYPE_CHECKING:
    from longvault.sections import Section
    from longvault.studies.brief import Brief


class BadInput(click.ClickException):
    """One clear message, exit status 2."""

    exit_code = 2


class NothingLeft(click.ClickException):
    """No design is as asked for: one clear message, exit status 1."""

    exit_code = 1


def brief_from(path: Path) -> "Brief":
    """Read a brief, or end with its faults."""
    from longvault.studies.brief import BriefError, load_brief

    try:
        return load_brief(path)
    except BriefError as error:
        head = f"{error.count} faults in the brief\n" if error.count > 1 else ""
        raise BadInput(f"{head}{error}") from None


def section_from(reference: str, *, one_piece: bool = True) -> "Section":
    """Read and tidy the section of FILE or DIR:ID, or end with what is wrong."""
    from longvault.sections import SectionFileError, read_section
    from longvault.sections.tidy import tidy_section

    try:
        return tidy_section(read_section(section_path(reference)), one_piece=one_piece)
    except SectionFileError as error:
        raise BadInput(str(error)) from None
    except ValueError as error:
        raise BadInput(f"{reference}: {error}") from None


def judged_section(
    reference: str, pitch: float | None = None, *, one_piece: bool = True
) -> tuple["Section", str]:
    """Read a section and judge its joints and labels as ``check`` does, or end with what is wrong.

    Without a bay ``pitch`` [m] the module is taken to be as wide as one. A beam alone, which is no roof, is
    not refused. Returns the section with the parts that it is looked at with, and what is said of that; empty
    where nothing is.
    """
    from longvault.sections.plausible import check_joints, judged_parts

    section = section_from(reference, one_piece=one_piece)
    width = float(section.strips.x.max() - section.strips.x.min())
    try:
        check_joints(section, pitch)
    except ValueError as error:
        raise BadInput(f"{reference}: {error}") from None
    try:
        return judged_parts(section, width if pitch is None else pitch)
    except ValueError as error:  # no roof, but a section all the same
        return section, str(error)


def section_path(reference: str) -> Path:
    """Path of the section file that FILE or DIR:ID names."""
    if Path(reference).exists():
        return Path(reference)
    folder, colon, name = reference.rpartition(":")
    if not colon or not folder:
        raise BadInput(
            f"{reference}: there is no such file; give a section file, or a design of a run as DIR:ID"
        )
    designs = Path(folder) / "designs"
    if not designs.is_dir():
        raise BadInput(f"{folder}: is no run folder with designs; longvault search makes one")
    path = designs / f"{name}.json"
    if name != Path(name).name or not path.is_file():
        found = sorted(p.stem for p in designs.glob("*.json"))
        known = f"it has {', '.join(found[:4])}{' ...' if len(found) > 4 else ''}" if found else "it is empty"
        raise BadInput(f"{reference}: the run has no design {name!r}; {known}")
    return path


def write_file(path: Path, text: str) -> None:
    """Write a text file atomically, or end with the reason."""
    from longvault.sections.export import write_text

    try:
        write_text(path, text)
    except OSError as error:
        raise BadInput(f"{path}: cannot be written ({error.strerror or error})") from None
