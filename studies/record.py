"""The run folder: where things lie in it, a fresh one made safely, an old one read back."""

import json
import math
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from longvault.sections.export import read_table
from longvault.sections.section_file import Section, read_section
from longvault.sections.symbols import AnyArray

BRIEF, MANIFEST, FRONT, HISTORY = "brief.toml", "manifest.json", "front.csv", "history.csv"
ARCHIVE, CHECKPOINT, SHEET = "archive.npz", "checkpoint", "sheet.html"
DESIGNS, FIGURES, STARTS = "designs", "figures", "starts"
FILES = (MANIFEST, FRONT, HISTORY, ARCHIVE, CHECKPOINT, SHEET, BRIEF)
FOLDERS = (DESIGNS, FIGURES, STARTS)
HALF_WRITTEN = ".*.part"
"""What a writer that was killed leaves behind (`longvault.sections.export.atomic`)."""
RUNNING = "RUNNING"
"""Status of a run that has not been finished."""
NEAREST = "nearest"
"""Name of the design that a run without a feasible one keeps."""


class RecordError(ValueError):
    """A run folder cannot be used; the message names it and says what to do."""


@dataclass(frozen=True, slots=True, eq=False)
class Run:
    """A finished run, read back.

    Parameters
    ----------
    folder : Path
    manifest : mapping
        What ``manifest.json`` holds.
    front : mapping of str to array
        Columns of ``front.csv`` by their names with units; empty columns when nothing was feasible.
    """

    folder: Path
    manifest: Mapping[str, Any]
    front: Mapping[str, AnyArray]

    @property
    def ids(self) -> tuple[str, ...]:
        """Names of the delivered designs, in the order of the table."""
        return tuple(str(name) for name in self.front["id"])

    def path_of(self, name: str) -> Path:
        """File of one design."""
        return self.folder / DESIGNS / f"{name}.json"

    def section(self, name: str) -> Section:
        """One design as a section."""
        return read_section(self.path_of(name))

    def row(self, name: str) -> dict[str, Any]:
        """One row of the table; a number that is not finite becomes None."""
        place = self.ids.index(name)
        cells = {key: column[place].item() for key, column in self.front.items()}
        return {k: None if isinstance(v, float) and not math.isfinite(v) else v for k, v in cells.items()}


def open_run(folder: str | Path) -> Run:
    """Read a run folder back.

    Raises
    ------
    RecordError
        If it is no finished run; the message says what is missing.
    """
    folder = Path(folder)
    if not folder.is_dir():
        raise RecordError(f"{folder}: there is no such folder; longvault search makes one")
    if not (folder / MANIFEST).is_file():
        raise RecordError(f"{folder}: is no run folder ({MANIFEST} is missing)")
    try:
        manifest = json.loads((folder / MANIFEST).read_text(encoding="utf-8"))
        if isinstance(manifest, dict) and manifest.get("status") == RUNNING:
            begun = (folder / BRIEF).is_file()
            hint = "go on with longvault search --resume" if begun else "begin it again"
            raise RecordError(f"{folder}: its search is under way or was broken off; {hint}")
        front = read_table(folder / FRONT)
        if "id" not in front or not isinstance(manifest, dict):
            raise ValueError("a table of designs and a manifest are needed")
    except RecordError:
        raise
    except (OSError, ValueError) as error:
        raise RecordError(f"{folder}: cannot be read as a run ({error})") from None
    return Run(folder, manifest, front)


def broken_off(folder: Path) -> bool:
    """Whether a run began in the folder and was not finished."""
    try:
        manifest = json.loads((folder / MANIFEST).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return False
    return isinstance(manifest, dict) and manifest.get("status") == RUNNING


def fresh_folder(folder: str | Path, *, overwrite: bool = False) -> Path:
    """Make an empty run folder; an old run in its place goes only when told, anything else never.

    Raises
    ------
    RecordError
        If the place is taken or cannot be written.
    """
    folder = Path(folder)
    if folder.exists() and not folder.is_dir():
        raise RecordError(f"{folder}: is a file; a run needs a folder")
    try:
        if folder.is_dir() and any(folder.iterdir()):
            _clear(folder, overwrite)
        (folder / DESIGNS).mkdir(parents=True, exist_ok=True)
        (folder / FIGURES).mkdir(exist_ok=True)
    except OSError as error:
        raise RecordError(f"{folder}: cannot be written ({error.strerror or error})") from None
    return folder


def _clear(folder: Path, overwrite: bool) -> None:
    """Take the files of an old run away, if told so and if there is nothing else."""
    if not overwrite:
        raise RecordError(
            f"{folder}: is not empty; give another folder with --out, or --overwrite to replace the run in it"
        )
    halves = set(folder.glob(HALF_WRITTEN))
    others = {path for path in folder.iterdir() if path.name not in (*FILES, *FOLDERS)}
    strange = sorted(path.name for path in others - halves)
    if strange or not (folder / BRIEF).is_file():
        what = f"holds {strange[0]}" if strange else f"holds no {BRIEF}"
        raise RecordError(f"{folder}: {what}, so it is no run folder and is not overwritten")
    for path in (*halves, *(folder / name for name in FILES)):
        path.unlink(missing_ok=True)
    for inner in FOLDERS:
        for path in (folder / inner).glob("*"):
            path.unlink()
