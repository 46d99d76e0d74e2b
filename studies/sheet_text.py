"""The calculation sheet as plain text, for the terminal."""

from textwrap import wrap

from longvault.studies.sheet import HEAD, Sheet
from longvault.studies.sheet_table import SheetTable

WIDTH = 110


def sheet_text(sheet: Sheet) -> str:
    """Write a sheet as plain text, at most about 110 columns wide, the caution first and last."""
    lines = [*_filled(sheet.caution), "", f"{HEAD}: {sheet.title}", *_filled(sheet.subtitle), ""]
    lines += [*wrap(sheet.verdict, WIDTH), ""]
    for table in sheet.tables:
        lines += [table.title, "-" * len(table.title)]
        lines += limit_lines(table) if table.title == "Limits" else table_lines(table)
        for note in table.notes:
            lines += _filled(note)
        lines.append("")
    lines.append("Not covered by this sheet:")
    for item in sheet.not_covered:
        lines += wrap(f"- {item}", WIDTH, subsequent_indent="  ")
    return "\n".join([*lines, "", *_filled(sheet.caution)]) + "\n"


def _filled(text: str) -> list[str]:
    return wrap(text, WIDTH)


def table_lines(table: SheetTable) -> list[str]:
    """Columns padded to their widest cell; a marked row begins with an arrow."""
    every = [table.header, *table.rows]
    widths = [max(len(row[i]) for row in every) for i in range(len(table.header))]
    lines = []
    for number, row in enumerate(every, -1):
        cells = [
            cell.ljust(width) if i in table.words else cell.rjust(width)
            for i, (cell, width) in enumerate(zip(row, widths, strict=True))
        ]
        lines.append(("> " if number in table.marked else "  ") + "  ".join(cells).rstrip())
    return lines


def limit_lines(table: SheetTable) -> list[str]:
    """Limits take two or more lines each: the comparison, then formula with numbers, then source."""
    lines = []
    wide = max((len(row[0]) for row in table.rows), default=0)
    for number, (title, formula, demand, allowed, margin, kept, source) in enumerate(table.rows):
        mark = "> " if number in table.marked else "  "
        lines.append(
            f"{mark}{title.ljust(wide)}  {demand.rjust(12)}  {allowed.rjust(15)}  {margin.rjust(9)}  {kept}"
        )
        for text in (formula, f"source: {source}"):
            lines += wrap(text, WIDTH, initial_indent="      ", subsequent_indent="        ")
    return lines
