"""What a roof section is: its strips, families, properties and files."""

from longvault.sections.section_file import Joint, Section, SectionFileError, read_section
from longvault.sections.strips import Strips
from longvault.sections.symbols import CAUTION

__all__ = ["CAUTION", "Joint", "Section", "SectionFileError", "Strips", "read_section"]
