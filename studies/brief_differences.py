"""What differs between the brief a run began with and one that is given to go on with it."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

from longvault.studies.brief_model import Brief

FREE = ("name", "scenario", "search.workers", "search.deliver", "search.evaluations")
"""Keys that may change while a run goes on: they do not say what is searched, or how."""
STARTS = "section.start_sections"
MISSING = "left out"


def brief_differences(began: Brief, folder: Path, given: Brief, beside: Path) -> list[str]:
    """Name every key that makes another run of a brief, with its old and its new value.

    A seed that the given brief leaves out is the one that was drawn. Files a search starts from are compared
    by what they hold; those of ``began`` lie in ``folder``, those of ``given`` in ``beside``.

    Examples
    --------
    >>> from longvault.studies.brief import read_brief
    >>> from longvault.studies.briefs import starter_text
    >>> text = starter_text("workshop")
    >>> other = read_brief(text.replace("span_m = 12.0", "span_m = 13.0"))
    >>> brief_differences(read_brief(text), Path(), other, Path())
    ['roof.span_m: 12.0 in the run, now 13.0']
    """
    before, after = dict(_flat(began)), dict(_flat(given))
    if given.search.seed is None:
        before.pop("search.seed")
        after.pop("search.seed")
    lines = [
        f"{key}: {before.get(key, MISSING)} in the run, now {after.get(key, MISSING)}"
        for key in dict.fromkeys((*before, *after))
        if before.get(key, MISSING) != after.get(key, MISSING)
    ]
    names, old = given.section.start_sections, _contents(began, folder)
    if old != _contents(given, beside):
        count = f"{len(old)} file{'' if len(old) == 1 else 's'}"
        lines.append(f"{STARTS}: {count} in the run, now others: {[*names]}")
    return lines


def _flat(brief: Brief) -> Iterator[tuple[str, str]]:
    """Every key with its value as text, but for those that may change."""
    for key, value in _pairs("", brief.model_dump()):
        if key != STARTS and key not in FREE:
            yield key, MISSING if value is None else str(value)


def _pairs(prefix: str, values: dict[str, Any]) -> Iterator[tuple[str, Any]]:
    for key, value in values.items():
        if isinstance(value, dict):
            yield from _pairs(f"{prefix}{key}.", value)
        else:
            yield f"{prefix}{key}", list(value) if isinstance(value, tuple) else value


def _contents(brief: Brief, folder: Path) -> list[bytes | None]:
    """Read the files a search starts from; None for one that is not there."""
    paths = [folder / name for name in brief.section.start_sections]
    return [path.read_bytes() if path.is_file() else None for path in paths]
