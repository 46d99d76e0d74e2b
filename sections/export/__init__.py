"""Drawings and files of a section for other tools."""

from longvault.sections.export.atomic import write_bytes, write_text
from longvault.sections.export.exporters import EXPORTERS
from longvault.sections.export.table_csv import read_table, write_table

__all__ = ["EXPORTERS", "read_table", "write_bytes", "write_table", "write_text"]
