"""Tables as CSV: one comment line with the caution, one header line with units, then the rows.

The caution is the first line and starts with ``#``. Common readers skip it:
``pandas.read_csv(path, comment="#")``,
``numpy.genfromtxt(path, delimiter=",", names=True, skip_header=1)``, `read_table`; a spreadsheet shows it
above the table. Numbers are written in the fewest digits that read back to the same bits; a missing one is
``nan``.
"""

import csv
import io
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

import numpy as np

from longvault.sections.export.atomic import write_text
from longvault.sections.section_file import Section
from longvault.sections.symbols import CAUTION, AnyArray


def write_table(
    path: str | Path, columns: Mapping[str, Iterable[Any]], units: Mapping[str, str] | None = None
) -> None:
    """Write columns of equal length as CSV, atomically.

    Parameters
    ----------
    path : str or Path
    columns : mapping of name to values
        Numbers or text. Order is kept.
    units : mapping of name to unit, optional
        A column ``area`` with unit ``m2`` is headed ``area_m2``; a column without one keeps its name.

    Raises
    ------
    ValueError
        If there is no column, lengths differ or a unit names no column.

    Examples
    --------
    >>> print(table_text({"id": ["a1"], "area": [0.5]}, {"area": "m2"}).splitlines()[1:])
    ['id,area_m2', 'a1,0.5']
    """
    write_text(path, table_text(columns, units))


def table_text(columns: Mapping[str, Iterable[Any]], units: Mapping[str, str] | None = None) -> str:
    """Text of the table that `write_table` writes."""
    units = dict(units or {})
    values = {name: list(column) for name, column in columns.items()}
    lengths = {name: len(column) for name, column in values.items()}
    if len(set(lengths.values())) != 1:
        raise ValueError(f"columns must hold one or more columns of equal length; got lengths {lengths}")
    unknown = sorted(set(units) - set(values))
    if unknown:
        raise ValueError(f"units: {', '.join(unknown)} names no column; columns are {', '.join(values)}")
    out = io.StringIO()
    out.write(f"# {CAUTION}\n")
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow([f"{name}_{units[name]}" if units.get(name) else name for name in values])
    writer.writerows([_cell(v) for v in row] for row in zip(*values.values(), strict=True))
    return out.getvalue()


def _cell(value: Any) -> str:
    if isinstance(value, np.generic):
        value = value.item()
    return repr(value) if isinstance(value, float) else str(value)


def read_table(path: str | Path) -> dict[str, AnyArray]:
    """Read a table written by `write_table`: header name -> array of floats, or of text.

    A column is text as soon as one of its cells is no number.

    Examples
    --------
    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     write_table(Path(folder) / "t.csv", {"area": [0.1, 0.2]}, {"area": "m2"})
    ...     read_table(Path(folder) / "t.csv")["area_m2"].tolist()
    [0.1, 0.2]
    """
    lines = Path(path).read_text(encoding="utf-8").splitlines(keepends=True)
    start = next((i for i, line in enumerate(lines) if not line.startswith("#")), len(lines))
    rows = list(csv.reader(lines[start:]))
    if not rows or any(len(row) != len(rows[0]) for row in rows):
        raise ValueError(f"{path}: is not a table with a header line and rows of equal length")
    header, body = rows[0], rows[1:]
    return {name: _column([row[i] for row in body]) for i, name in enumerate(header)}


def _column(cells: list[str]) -> AnyArray:
    try:
        return np.array([float(cell) for cell in cells])
    except ValueError:
        return np.array(cells, dtype=np.str_)


def export_csv(section: Section, path: str | Path) -> None:
    """Write the mid-line with thickness and part, one row a strip: any section can be rebuilt from it."""
    strips = section.strips
    first, second = strips.ends[:, 0], strips.ends[:, 1]
    x, z = strips.x, strips.z
    columns = {
        "strip": range(len(first)),
        "first_node": first,
        "second_node": second,
        "x_first": x[first],
        "z_first": z[first],
        "x_second": x[second],
        "z_second": z[second],
        "thickness": np.round(strips.thickness * 1e3, 9),
        "part": strips.parts,
    }
    units = dict.fromkeys(("x_first", "z_first", "x_second", "z_second"), "m") | {"thickness": "mm"}
    write_table(path, columns, units)
