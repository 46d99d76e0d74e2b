"""Every way a section leaves the tool as a file, by the name of its format."""

from collections.abc import Callable
from pathlib import Path

from longvault.sections.export.dxf import export_dxf
from longvault.sections.export.section_json import export_json
from longvault.sections.export.svg import export_svg
from longvault.sections.export.table_csv import export_csv
from longvault.sections.section_file import Section

EXPORTERS: dict[str, Callable[[Section, Path], None]] = {
    "svg": export_svg,
    "dxf": export_dxf,
    "csv": export_csv,
    "json": export_json,
}
"""Format, which is also the file's ending -> writer of one section; every file carries the caution."""
