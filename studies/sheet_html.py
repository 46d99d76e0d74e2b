"""The calculation sheet as one self-contained HTML page that prints on A4."""

from html import escape

from longvault.sections.export.section_drawing import draw_section
from longvault.sections.export.svg import svg_text
from longvault.sections.section_file import Section
from longvault.studies.checked import Checked
from longvault.studies.sheet import HEAD, Sheet
from longvault.studies.sheet_table import SheetTable

STYLE = """
@page { size: A4; margin: 14mm 12mm; }
:root { color-scheme: light; }
body { font: 10pt/1.4 "DejaVu Sans", Verdana, Helvetica, Arial, sans-serif; color: #111; background: #fff;
  max-width: 186mm; margin: 8mm auto; padding: 0 4mm; }
h1 { font-size: 15pt; margin: 3mm 0 1mm; }
h2 { font-size: 11pt; margin: 6mm 0 1.5mm; break-after: avoid; }
p { margin: 1mm 0; }
.caution { border: 0.4mm solid #333; padding: 1.5mm 3mm; font-weight: bold; }
.verdict { font-weight: bold; margin: 2mm 0; }
.note { font-size: 8.5pt; color: #333; }
@page front { size: A4 landscape; margin: 10mm; }
.front { page: front; break-after: page; }
figure { margin: 4mm 0; break-inside: avoid; }
figure svg { max-width: 100%; height: auto; }
figcaption { font-size: 8.5pt; color: #333; }
.wide { overflow-x: auto; }
table { border-collapse: collapse; width: 100%; font-size: 8pt; font-variant-numeric: tabular-nums; }
th { text-align: left; border-bottom: 0.4mm solid #333; padding: 0.6mm 1mm; vertical-align: bottom; }
td { border-bottom: 0.1mm solid #bbb; padding: 0.6mm 1mm; vertical-align: top; }
tr { break-inside: avoid; }
.number { text-align: right; white-space: nowrap; }
tr.marked td { font-weight: bold; background: #f1f1f1; print-color-adjust: exact; }
tr.broken td { color: #8a1c00; font-weight: bold; }
@media print { body { margin: 0; padding: 0; max-width: none; } .wide { overflow: visible; } }
"""


def sheet_html(sheet: Sheet, drawing: str) -> str:
    """Write a sheet as HTML; ``drawing`` is the section as SVG text (see `drawing_of`)."""
    caution = f'<p class="caution">{escape(sheet.caution)}</p>'
    name = escape(f"{HEAD}: {sheet.title}")
    body = [
        '<section class="front">',
        caution,
        f"<h1>{name}</h1>",
        f"<p>{escape(sheet.subtitle)}</p>",
        f'<p class="verdict">{escape(sheet.verdict)}</p>',
        "<figure>",
        drawing,
        "<figcaption>The scale bar holds at any size of print; the stated scale at 100 % on A4.</figcaption>",
        "</figure>",
        "</section>",
        *(_table(table) for table in sheet.tables),
        "<h2>Not covered by this sheet</h2>",
        f"<ul>{''.join(f'<li>{escape(item)}</li>' for item in sheet.not_covered)}</ul>",
        caution,
    ]
    head = f'<meta charset="utf-8"><meta name="viewport" content="width=device-width"><title>{name}</title>'
    content = "\n".join(body)
    return (
        f'<!DOCTYPE html>\n<html lang="en">\n<head>{head}\n<style>{STYLE}</style></head>\n'
        f"<body>\n{content}\n</body>\n</html>\n"
    )


def drawing_of(checked: Checked) -> str:
    """Draw the section with its neighbours and the stress diagram of the ultimate moment, as SVG text.

    Of a taper the root is drawn with the largest moment, and the tip below it.
    """
    basis = checked.basis
    moment = checked.measures["ultimate_moment"] * (1.0 if basis.sagging else -1.0)
    root = svg_text(draw_section(checked.section, bay=basis.pitch, moment=moment))
    if checked.member is None:
        return root
    tip = Section(f"{checked.section.name}, tip", checked.member.tip, checked.section.joints)
    return root + svg_text(draw_section(tip, bay=basis.pitch))


def _table(table: SheetTable) -> str:
    head = "".join(f"<th{_side(table, i)}>{escape(cell)}</th>" for i, cell in enumerate(table.header))
    rows = []
    for number, row in enumerate(table.rows):
        names = [
            name for name, chosen in (("marked", table.marked), ("broken", table.broken)) if number in chosen
        ]
        kind = f' class="{" ".join(names)}"' if names else ""
        cells = "".join(f"<td{_side(table, i)}>{escape(cell)}</td>" for i, cell in enumerate(row))
        rows.append(f"<tr{kind}>{cells}</tr>")
    notes = "".join(f'<p class="note">{escape(note)}</p>' for note in table.notes)
    body = "\n".join(rows)
    return (
        f'<h2>{escape(table.title)}</h2>\n<div class="wide"><table>\n<thead><tr>{head}</tr></thead>\n'
        f"<tbody>\n{body}\n</tbody></table></div>\n{notes}"
    )


def _side(table: SheetTable, column: int) -> str:
    return "" if column in table.words else ' class="number"'
