"""Write a brief as TOML with a comment on every key."""

import json
from collections.abc import Mapping

from longvault.sections.symbols import CAUTION
from longvault.studies.brief_model import TABLES, Brief, LoadsTable, WindTable
from longvault.studies.brief_units import UNITS, unit_of

WIDE = 34
"""Column at which comments begin, where the value leaves room."""

HEADINGS = {
    "roof": "The room to roof.",
    "section": "The kind of section and the ranges the search may use.",
    "loads": "Characteristic loads; the self-weight follows from the section.",
    "materials": "Concrete and reinforcing steel.",
    "detailing": "How the steel lies in the concrete; the least thickness follows from it.",
    "steel": "Habits of detailing, for the amount of steel.",
    "prestress": "Post-tensioning along the tension edge.",
    "daylight": "The room under the roof: light, sun and sound.",
    "costs": "Prices in your money, carbon factors: put in your own, they differ more than designs do.",
    "limits": "What a design must satisfy.",
    "preferences": "Where to look harder, without hiding the rest of the trade-off.",
    "search": "What to look for, and how long.",
}


def brief_text(brief: Brief) -> str:
    """Text of a brief: every key with its value, meaning and unit; a key left out stands as a comment.

    Reading it back gives the same brief.

    Examples
    --------
    >>> from longvault.studies.brief import read_brief
    >>> from longvault.studies.briefs import starter_text
    >>> brief = read_brief(starter_text("workshop"))
    >>> read_brief(brief_text(brief)) == brief
    True
    """
    lines = [f"# {CAUTION}", "", f"name = {_value(brief.name)}", f"scenario = {_long_text(brief.scenario)}"]
    for title, table in TABLES.items():
        lines += ["", f"# {HEADINGS[title]}", f"[{title}]"]
        values = getattr(brief, title)
        for key, field in table.model_fields.items():
            if key == "wind":
                lines += _wind(brief)
            elif not isinstance(getattr(values, key), dict):
                lines.append(_line(key, getattr(values, key), field.description or ""))
        for key, field in table.model_fields.items():
            if isinstance(getattr(values, key), dict):
                lines += _pairs(f"{title}.{key}", getattr(values, key), field.description or "")
    return "\n".join(lines) + "\n"


def _line(key: str, value: object, meaning: str) -> str:
    unit = unit_of(key)
    words = UNITS.get(unit, "")
    comment = f"# {meaning}{f' [{words}]' if words else ''}"
    start = f"# {key} =" if value is None else f"{key} = {_value(value)}"
    return f"{start.ljust(WIDE)} {comment}"


def _wind(brief: Brief) -> list[str]:
    meaning = LoadsTable.model_fields["wind"].description or ""
    lines = [f"{'# wind ='.ljust(WIDE)} # {meaning}"]
    for case in brief.loads.wind:
        lines += ["", "[[loads.wind]]"]
        for key, field in WindTable.model_fields.items():
            lines.append(f"{f'{key} = {_value(getattr(case, key))}'.ljust(WIDE)} # {field.description}")
    return lines


def _pairs(title: str, values: Mapping[str, object], meaning: str) -> list[str]:
    """Write a table of names that the user chooses."""
    lines = ["", f"# {meaning[0].upper()}{meaning[1:]}.", f"[{title}]"]
    return lines + [f"{key} = {_value(value)}" for key, value in values.items()]


def _value(value: object) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
    if isinstance(value, tuple):
        return f"[{', '.join(_value(v) for v in value)}]"
    return repr(value)


def _long_text(text: str) -> str:
    if "\n" not in text:
        return _value(text)
    body = "\n".join(_value(line)[1:-1] for line in text.split("\n"))
    return f'"""\n{body}"""'
