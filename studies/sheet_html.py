"""The calculation sheet as one self-contained HTML page that prints on A4."""

from collections.abc import Sequence
from html import escape

from longvault.sections.export.scene import Scene
from longvault.sections.export.section_drawing import draw_section
from longvault.sections.export.svg import svg_text
from longvault.studies.checked import Checked
from longvault.studies.end_figure import draw_end_structure
from longvault.studies.sheet import HEAD, Sheet
from longvault.studies.sheet_ends import ends_of
from longvault.studies.sheet_table import SheetTable
from longvault.studies.steel_drawing import draw_steel
from longvault.studies.taper_drawing import draw_taper

AT_SCALE = "The scale bar holds at any size of print; the stated scale at 100 % on A4."
SHRUNK = "Shrunk to the page: measure by the scale bars."
ROOM = (276.0, 160.0)
"""Width and height [mm] that a landscape page of A4 leaves for a drawing; its first page less."""
HEAD_ROOM = 40.0
"""Height [mm] of what stands over the first drawing."""

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
figure svg { max-width: 100%; max-height: 160mm; height: auto; }
.first svg { max-height: 120mm; }
figcaption { font-size: 8.5pt; color: #333; }
.wide { overflow-x: auto; }
table { border-collapse: collapse; width: 100%; font-size: 8pt; font-variant-numeric: tabular-nums; }
th { text-align: left; border-bottom: 0.4mm solid #333; padding: 0.6mm 1mm; vertical-align: bottom; }
td { border-bottom: 0.1mm solid #bbb; padding: 0.6mm 1mm; vertical-align: top; }
tr { break-inside: avoid; }
.number { text-align: right; }
td.number { white-space: nowrap; }
li { break-inside: avoid; }
tr.marked td { font-weight: bold; background: #f1f1f1; print-color-adjust: exact; }
tr.broken td { color: #8a1c00; font-weight: bold; }
@media print { body { margin: 0; padding: 0; max-width: none; } .wide { overflow: visible; } }
"""


def sheet_html(sheet: Sheet, drawings: Sequence[Scene]) -> str:
    """Write a sheet as HTML; each of the ``drawings`` (see `drawings_of`) stands on a page of its own."""
    caution = f'<p class="caution">{escape(sheet.caution)}</p>'
    name = escape(f"{HEAD}: {sheet.title}")
    head = [
        caution,
        f"<h1>{name}</h1>",
        f"<p>{escape(sheet.subtitle)}</p>",
        f'<p class="verdict">{escape(sheet.verdict)}</p>',
    ]
    body = [
        *(_page(drawing, [] if number else head) for number, drawing in enumerate(drawings)),
        *(_table(table) for table in sheet.tables),
        "<h2>Not covered by this sheet</h2>",
        f"<ul>{''.join(f'<li>{escape(item)}</li>' for item in sheet.not_covered)}</ul>",
        caution,
    ]
    meta = f'<meta charset="utf-8"><meta name="viewport" content="width=device-width"><title>{name}</title>'
    content = "\n".join(body)
    return (
        f'<!DOCTYPE html>\n<html lang="en">\n<head>{meta}\n<style>{STYLE}</style></head>\n'
        f"<body>\n{content}\n</body>\n</html>\n"
    )


def _page(drawing: Scene, head: list[str]) -> str:
    """One landscape page: a drawing, and on the first page the ``head`` over it."""
    width, height = ROOM[0], ROOM[1] - (HEAD_ROOM if head else 0.0)
    note = AT_SCALE if drawing.width <= width and drawing.height <= height else SHRUNK
    figure = f"<figure>\n{svg_text(drawing)}\n<figcaption>{note}</figcaption>\n</figure>"
    kind = "front first" if head else "front"
    return "\n".join([f'<section class="{kind}">', *head, figure, "</section>"])


def drawings_of(checked: Checked) -> list[Scene]:
    """Draw the section with its neighbours and its ultimate stresses, its steel, the end of the roof.

    Of a taper that is the root; a drawing of all of it along the span stands between.
    """
    basis = checked.basis
    moment = checked.measures["ultimate_moment"] * (1.0 if basis.sagging else -1.0)
    scenes = [draw_section(checked.section, bay=basis.pitch, moment=moment)]
    if checked.member is not None:
        scenes.append(draw_taper(checked))
    scenes.append(draw_steel(checked))
    ends = ends_of(checked)
    if ends is not None:
        scenes.append(draw_end_structure(checked, ends))
    return scenes


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
