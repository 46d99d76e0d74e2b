"""Faults of a brief in words: where it stands, what was found, what is allowed, what was likely meant."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from difflib import get_close_matches
from typing import Any

from pydantic import ValidationError
from pydantic.fields import FieldInfo

from longvault.constraints.measures import MEASURES
from longvault.studies.brief_model import TABLES, Brief, WindTable
from longvault.studies.brief_table import Table
from longvault.studies.brief_units import WORDS, likely_slip, unit_of, with_unit
from longvault.studies.toml_lines import KeyPath


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong with a brief: the path of its key and the sentence."""

    path: KeyPath
    text: str


class BriefError(ValueError):
    """A brief cannot be used; the message lists every fault with file, line, key and what is allowed.

    Parameters
    ----------
    message : str
        One line a fault.
    count : int
        Number of faults.
    """

    def __init__(self, message: str, count: int = 1) -> None:
        super().__init__(message)
        self.count = count


def fault_lines(name: str, faults: Iterable[Fault], lines: Mapping[KeyPath, int]) -> str:
    """Write faults as ``file:line: table.key: sentence``, in the order of the file."""
    placed = sorted((_line_of(fault.path, lines), i, fault) for i, fault in enumerate(faults))
    return "\n".join(
        f"{name}{f':{line}' if line else ''}: {dotted(fault.path)}: {fault.text}" for line, _, fault in placed
    )


def _line_of(path: KeyPath, lines: Mapping[KeyPath, int]) -> int:
    """Line of the key, else of the table it should stand in, else 0."""
    for length in range(len(path), 0, -1):
        if path[:length] in lines:
            return lines[path[:length]]
    return 0


def dotted(path: KeyPath) -> str:
    """Path of a key as written in a brief: ``section.ranges.rise_m``, ``search.objectives[2]``."""
    text = ""
    for name in path:
        text += f"[{name}]" if isinstance(name, int) else f".{name}" if text else name
    return text


def shown(value: object) -> str:
    """Write a value as it stands in TOML."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, str):
        return f'"{value}"' if len(value) <= 60 else f'"{value[:57]}..."'
    if isinstance(value, Mapping):
        return "a table"
    if isinstance(value, list | tuple):
        return f"[{', '.join(shown(v) for v in value[:6])}{', ...' if len(value) > 6 else ''}]"
    return str(value)


def schema_faults(error: ValidationError) -> list[Fault]:
    """Put what the schema refused into words."""
    return [_fault(one) for one in error.errors(include_url=False)]


def field_at(path: KeyPath) -> tuple[FieldInfo | None, type[Table]]:
    """Field of the schema at a path (None if there is none) and the table it belongs to."""
    table: type[Table] = TABLES.get(str(path[0]), Brief) if len(path) > 1 else Brief
    name = str(path[1]) if len(path) > 1 else str(path[0])
    if path[:2] == ("loads", "wind") and len(path) > 3:
        table, name = WindTable, str(path[3])
    return table.model_fields.get(name), table


def _fault(error: Any) -> Fault:
    path: KeyPath = tuple(error["loc"])
    kind, value = str(error["type"]), error.get("input")
    field, table = field_at(path)
    if kind == "missing":
        return Fault(path, f"missing; {_wanted(path, field)}")
    if kind == "extra_forbidden":
        return Fault(path, _unknown(str(path[-1]), table))
    if kind in ("greater_than_equal", "less_than_equal"):
        return Fault(path, _outside(path, field, float(value)))
    if kind == "finite_number":
        return Fault(path, f"got {shown(value)}; {_wanted(path, field)}")
    return Fault(path, f"got {shown(value)}{_type_note(value)}; {_wanted(path, field)}")


def _type_note(value: object) -> str:
    if isinstance(value, str) and _reads_as_number(value):
        return f" in quotes (text); write {value.strip().replace(',', '.')}"
    if isinstance(value, str):
        return " (text)"
    return ""


def _reads_as_number(text: str) -> bool:
    try:
        float(text.strip().replace(",", "."))
    except ValueError:
        return False
    return True


def _range(field: FieldInfo | None) -> tuple[float, float] | None:
    extra = field.json_schema_extra if field is not None else None
    return (extra["low"], extra["high"]) if isinstance(extra, dict) else None  # type: ignore[return-value]


def _outside(path: KeyPath, field: FieldInfo | None, value: float) -> str:
    low, high = _range(field) or (0.0, 0.0)
    unit = unit_of([name for name in path if isinstance(name, str)][-1])
    slip = likely_slip(value, unit, low, high)
    allowed = f"{low:.10g} to {with_unit(high, unit)}"
    return f"{with_unit(value, unit)} is outside {allowed}" + (f"; {slip}" if slip else "")


def _wanted(path: KeyPath, field: FieldInfo | None) -> str:
    """Say what a key takes."""
    name = str(path[-1])
    if len(path) == 1 and name in TABLES:
        needed = [key for key, one in TABLES[name].model_fields.items() if one.is_required()]
        first = needed or list(TABLES[name].model_fields)[:1]
        return f"must be a table: a line [{name}], then {', '.join(first)}"
    if len(path) > 2 and path[1] == "ranges":
        return "must be a pair [least, greatest] of numbers"
    if len(path) > 2 and path[1] in ("at_most", "at_least", "weights"):
        return "must be a number"
    if path[:2] == ("loads", "wind"):
        if "zones" in path:
            return "must be a list of zones [from, to, pressure in kN/m²]"
        table = "a table: a line [[loads.wind]], then name and zones"
        return "must be text in quotes, not empty" if name == "name" else f"must be {table}"
    if path[:2] == ("roof", "spans_m"):
        return "must be a list of 2 to 4 numbers in metres, 3 to 100"
    if len(path) > 2:
        return "must be text in quotes"
    if field is None:
        return "must be a key of a brief"
    limits, words = _range(field), WORDS.get(unit_of(name), "")
    if limits is not None:
        whole = "a whole number" if "int" in str(field.annotation) else "a number"
        spelled = f" in {words}" if words else ""
        return f"must be {whole}{spelled}, {limits[0]:.10g} to {limits[1]:.10g} ({field.description})"
    kind = str(field.annotation)
    if "Literal" in kind:
        options = kind[kind.index("[") + 1 : kind.rindex("]")].replace("'", '"').replace(", ", " or ")
        return f"must be {options}"
    for sign, meaning in (
        ("bool", "true or false"),
        ("dict", "a table of pairs"),
        ("tuple", "a list of texts"),
    ):
        if sign in kind:
            return f"must be {meaning} ({field.description})"
    return f"must be text in quotes, not empty ({field.description})"


def _unknown(name: str, table: type[Table]) -> str:
    if name in {measure.column for measure in MEASURES.values()}:
        return "unknown key; an own limit on a measure goes under [limits.at_most] or [limits.at_least]"
    near = nearest_key(name, table.model_fields)
    if near:
        return f'unknown key; did you mean "{near}"?'
    for title, other in TABLES.items():
        if name in other.model_fields:
            return f"unknown key here; it belongs in [{title}]"
    every = [(key, title) for title, other in TABLES.items() for key in other.model_fields]
    near = nearest_key(name, [key for key, _ in every])
    if near:
        return f'unknown key; the nearest is "{near}" in [{dict(every)[near]}]'
    return f"unknown key; allowed here: {', '.join(table.model_fields)}"


def nearest_key(name: str, keys: Iterable[str]) -> str:
    """Nearest of some keys, or ``""`` when none is near.

    Examples
    --------
    >>> nearest_key("spam_m", ["span_m", "bay_m"]), nearest_key("colour", ["span_m"])
    ('span_m', '')
    """
    by_small: dict[str, str] = {key.lower(): key for key in keys}
    found: Sequence[str] = get_close_matches(name.lower(), by_small, n=1, cutoff=0.66)
    return by_small[found[0]] if found else ""
