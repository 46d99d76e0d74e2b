"""A section file as JSON, with measures and margins beside it when they are known."""

import json
import math
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from longvault.sections.export.atomic import write_text
from longvault.sections.section_file import Section, section_to_dict


def export_json(section: Section, path: str | Path, extra: Mapping[str, Any] | None = None) -> None:
    """Write a section file that `longvault.sections.read_section` reads back to the same bits.

    Parameters
    ----------
    section : Section
    path : str or Path
    extra : mapping, optional
        Further keys, for example ``{"measures": {"area_m2": 0.7}, "margins": {"height": -0.1}}``.
        A number that is not finite is written as null, since JSON has no other word for it.
    """
    write_text(path, json_text(section_to_dict(section, extra)))


def json_text(document: Any) -> str:
    r"""Strict JSON text, indented, numeric rows on one line; NaN and infinities become null.

    Examples
    --------
    >>> json_text({"area_m2": float("nan")})
    '{\n  "area_m2": null\n}\n'
    """
    return _write(_plain(document), "") + "\n"


def _plain(value: Any) -> Any:
    if isinstance(value, Mapping):
        return {str(key): _plain(item) for key, item in value.items()}
    if hasattr(value, "tolist"):
        value = value.tolist()
    if isinstance(value, list | tuple):
        return [_plain(item) for item in value]
    if isinstance(value, float) and not math.isfinite(value):
        return None
    return value


def _write(value: Any, indent: str) -> str:
    """Indent objects and lists of lists or objects; keep short rows such as [x, z] on one line."""
    inner = indent + "  "
    if isinstance(value, dict) and value and indent.count("  ") < 2:
        items = [f"{inner}{json.dumps(key)}: {_write(item, inner)}" for key, item in value.items()]
        return "{\n" + ",\n".join(items) + f"\n{indent}}}"
    if isinstance(value, list) and any(isinstance(item, list | dict) for item in value):
        return "[\n" + ",\n".join(inner + _write(item, inner) for item in value) + f"\n{indent}]"
    return json.dumps(value, allow_nan=False, ensure_ascii=False)
