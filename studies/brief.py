"""Briefs: one TOML file in trade units, read with every fault named at once."""

import re
import tomllib
from pathlib import Path

from pydantic import ValidationError

from longvault.studies.brief_basis import basis_of, family_of, setting_of, variables_of
from longvault.studies.brief_checks import contradictions
from longvault.studies.brief_faults import BriefError, Fault, fault_lines, schema_faults
from longvault.studies.brief_model import Brief
from longvault.studies.toml_lines import key_lines

__all__ = [
    "Brief",
    "BriefError",
    "basis_of",
    "family_of",
    "load_brief",
    "read_brief",
    "setting_of",
    "variables_of",
]

LARGEST = 1_000_000
"""A brief is a short text; a longer file is something else [bytes]."""


def load_brief(path: str | Path) -> Brief:
    """Read and check a brief file.

    Raises
    ------
    BriefError
        One message that lists every fault with file, line, key, what it got and what is allowed.
    """
    path = Path(path)
    name = str(path)
    hint = 'write one with "longvault new workshop brief.toml"'
    if path.is_dir():
        raise BriefError(f"{name}: is a folder; give the TOML file of a brief in it")
    try:
        with open(path, "rb") as file:
            raw = file.read(LARGEST + 1)
    except FileNotFoundError:
        raise BriefError(f"{name}: there is no such file; {hint}") from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or error
        raise BriefError(f"{name}: cannot be read ({reason})") from None
    if len(raw) > LARGEST:
        raise BriefError(f"{name}: is longer than {LARGEST // 1000} kB; a brief is a short TOML text")
    try:
        text = raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = raw.count(b"\n", 0, error.start) + 1
        raise BriefError(f"{name}:{line}: is not UTF-8 text; save the brief as UTF-8") from None
    if not text.strip():
        raise BriefError(f"{name}: is empty; {hint}")
    return read_brief(text, name=name, folder=path.parent)


def read_brief(text: str, *, name: str = "brief.toml", folder: str | Path = ".") -> Brief:
    """Check the text of a brief; ``name`` is how messages call it, ``folder`` where its files lie.

    Examples
    --------
    >>> from longvault.studies.briefs import starter_text
    >>> read_brief(starter_text("workshop")).roof.span_m
    12.0
    >>> text = starter_text("workshop").replace("span_m = 12.0", "span_m = 12000")
    >>> try:
    ...     read_brief(text, name="mine.toml")
    ... except BriefError as error:
    ...     print(str(error)[-51:])
    3 to 100 m; did you mean 12 m? the key is in metres
    """
    try:
        data = tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError, ValueError) as error:
        raise BriefError(_broken(name, text, error)) from None
    faults: list[Fault] = []
    try:
        brief = Brief.model_validate(data)
        faults = contradictions(brief, Path(folder))
    except ValidationError as error:
        faults = schema_faults(error)
    if faults:
        raise BriefError(fault_lines(name, faults, key_lines(text)), len(faults))
    return brief


def _broken(name: str, text: str, error: Exception) -> str:
    """Say where TOML breaks, with the line as written."""
    message = str(error) or "nested too deeply"
    found = re.search(r"\(at (?:line (\d+), column (\d+)|end of document)\)", message)
    if not found:
        return f"{name}: is not TOML: {message}"
    lines = text.splitlines()
    number = int(found[1]) if found[1] else max(len(lines), 1)
    written = lines[number - 1].strip() if number <= len(lines) else ""
    shown = f' in "{written[:60]}"' if written else ""
    column = f", column {found[2]}" if found[2] else ""
    return f"{name}:{number}: is not TOML: {message[: found.start()].strip()}{column}{shown}"
