"""The calculation sheet of one section: what a checker redoes by hand, as tables that HTML and text share."""

from dataclasses import dataclass

from longvault.sections.symbols import CAUTION
from longvault.studies.checked import Checked
from longvault.studies.headline import said_first
from longvault.studies.not_covered import not_covered
from longvault.studies.other_bays import other_bay_lines
from longvault.studies.sheet_along import cases_table, restraint_table, stations_table
from longvault.studies.sheet_beam import (
    effects_table,
    loads_table,
    steel_table,
    stress_table,
)
from longvault.studies.sheet_concrete import concrete_tables
from longvault.studies.sheet_deflection import deflection_table
from longvault.studies.sheet_ends import ends_of, ends_table
from longvault.studies.sheet_geometry import pieces_table, properties_table, sideways_table, unsymmetrical
from longvault.studies.sheet_light import light_tables
from longvault.studies.sheet_limits import limits_table, percent
from longvault.studies.sheet_plates import plates_table
from longvault.studies.sheet_remedies import remedies_of, remedies_table
from longvault.studies.sheet_sideways import wind_tables
from longvault.studies.sheet_supports import supports_table
from longvault.studies.sheet_symbols import symbols_table
from longvault.studies.sheet_table import SheetTable
from longvault.studies.sheet_water import water_tables

HEAD = "Calculation sheet"


@dataclass(frozen=True, slots=True, eq=False)
class Sheet:
    """A finished sheet.

    Parameters
    ----------
    title, subtitle : str
    verdict : str
        One sentence: whether all limits hold, and what governs.
    tables : tuple of SheetTable
        In the order of reading.
    not_covered : tuple of str
    caution : str
        Stands at the top and at the bottom.
    """

    title: str
    subtitle: str
    verdict: str
    tables: tuple[SheetTable, ...]
    not_covered: tuple[str, ...]
    caution: str = CAUTION


def make_sheet(checked: Checked, *, project: str = "", bays: int = 1) -> Sheet:
    """Write the calculation sheet of a checked section.

    Parameters
    ----------
    checked : Checked
        From `longvault.studies.checked.check_section`.
    project : str
        Name of the brief.
    bays : int
        How many bays the roof has, for the volume of concrete.

    Examples
    --------
    >>> from longvault.constraints.basis import Basis, Requirements
    >>> from longvault.sections import Section, Strips
    >>> from longvault.studies.checked import check_section
    >>> fold = Section("fold", Strips.chain([-3.0, 0.0, 3.0], [0.0, 2.0, 0.0], 0.1, ["wing", "crown"]))
    >>> basis = Basis(span=20.0, pitch=6.2, requirements=Requirements(height_max=1.5))
    >>> make_sheet(check_section(fold, basis)).verdict
    '1 of 21 limits is not kept; "overall height" governs, margin +38.9 %.'
    """
    tables = [pieces_table(checked)]
    if unsymmetrical(checked):
        tables.append(sideways_table(checked))
    tables += [properties_table(checked, bays), loads_table(checked)]
    if checked.member is None:
        tables += [effects_table(checked), stress_table(checked), steel_table(checked)]
    else:
        tables += [stations_table(checked), supports_table(checked)]
    tables += [*wind_tables(checked), *concrete_tables(checked), deflection_table(checked)]
    tables += [cases_table(checked)]
    tables += water_tables(checked)
    if bays > 1:
        tables.append(restraint_table(checked, bays))
    if checked.plates:
        tables.append(plates_table(checked))
    ends, mended = ends_of(checked), remedies_of(checked)
    if ends is not None:
        tables.append(ends_table(checked, ends))
    tables += [*light_tables(checked), limits_table(checked)]
    if mended:
        tables.append(remedies_table(mended, checked.proving.spacing if checked.proving else 3.0))
    tables.append(symbols_table(tables))
    name = checked.section.name
    title = f"{project}: {name}" if project and not name.startswith(project) else name
    return Sheet(title, _subtitle(checked), verdict(checked), tuple(tables), not_covered(checked))


def _subtitle(checked: Checked) -> str:
    """Support with all its spans, bay, materials, standard."""
    basis = checked.basis
    kind = "simple span" if basis.support.key == "simple" else basis.support.key
    spans = " + ".join(f"{end - start:g}" for start, end in basis.line.fields)
    sideways = "held straight sideways" if basis.held else "free to move sideways"
    return (
        f"{f'{checked.note}; ' if checked.note else ''}{kind} {spans} m, bay {basis.pitch:g} m, {sideways}; "
        f"concrete fck {basis.concrete.fck / 1e6:g} MPa, steel fyk {basis.steel.fyk / 1e6:g} MPa; "
        f"{basis.standard.key}"
    )


def verdict(checked: Checked) -> str:
    """Say whether all limits hold, what governs by how much, and what the limits do not see."""
    broken = sum(not row.holds for row in checked.rows)
    count = len(checked.rows)
    row = checked.governing
    governs = " ".join(
        [
            f'"{row.limit.title}" governs, margin {percent(row.margin)}.',
            *said_first(checked),
            *other_bay_lines(checked),
        ]
    )
    if not broken:
        return f"All {count} limits are kept; {governs}"
    return f"{broken} of {count} limits {'is' if broken == 1 else 'are'} not kept; {governs}"
