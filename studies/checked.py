"""One section under one basis of design: everything a sheet, a table or a file says about it."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np

from longvault.constraints.actions import LineLoads, line_loads
from longvault.constraints.basis import Basis
from longvault.constraints.details import evaluate_closely
from longvault.constraints.drainage import fall_weight, gutter_width
from longvault.constraints.effects import Effects, Governing, effects
from longvault.constraints.evaluate import headroom
from longvault.constraints.limit import CAP, governing_limit
from longvault.constraints.limits import Limit
from longvault.constraints.load_cases import CaseLoads, case_loads
from longvault.constraints.measures import MEASURES
from longvault.constraints.member_details import evaluate_member_closely
from longvault.constraints.own_limits import OWN
from longvault.constraints.plates_row import BAYS, Bay
from longvault.constraints.proof import Proving, fine_proof, proof_limits
from longvault.constraints.reinforcement import BeamSection, beam_section
from longvault.sections.member import Member
from longvault.sections.plausible import check_joints, judged_parts
from longvault.sections.properties import Properties, section_properties
from longvault.sections.section_file import Section
from longvault.sections.strips import Strips
from longvault.sections.symbols import Array
from longvault.studies.sheet_table import quantity


@dataclass(frozen=True, slots=True)
class LimitRow:
    """One limit with the numbers of one section, in the unit shown.

    Parameters
    ----------
    limit : Limit
        The object the search reads too.
    unit : str
        Unit as spelled in column names: ``MPa``, ``m``, ``""``.
    demand, capacity : float
        In that unit.
    margin : float
        <= 0 holds.
    governs : bool
        Whether this is the largest margin of the section.
    case : str
        The combination of actions that governs it; empty where no load enters.
    place : float or None
        Where along the span that is, from the start of the module [m].
    """

    limit: Limit
    unit: str
    demand: float
    capacity: float
    margin: float
    governs: bool
    case: str = ""
    place: float | None = None

    @property
    def holds(self) -> bool:
        """Whether the limit is kept; NaN is not."""
        return self.margin <= 0.0


@dataclass(frozen=True, slots=True, eq=False)
class Checked:
    """A section with its measures (SI), limits and the steps between.

    Parameters
    ----------
    measures : mapping of str to float
        By the keys of `longvault.constraints.measures.MEASURES`, SI.
    rows : tuple of LimitRow
        In the order of the calculation sheet.
    proving : Proving, optional
        How the section was proved as a folded plate, if it was.
    proved_bays : tuple of str
        Bays whose demands the limits look at.
    plates : mapping of str to mapping
        Folded-plate measures (SI) for every bay the joints describe, also those no limit looks at.
    variable : CaseLoads, optional
        Variable load cases of the section (of the root, for a taper).
    effects : Effects, optional
        Largest effects along the span, for a module that is the same all along.
    member : Member, optional
        All sections of a taper; the section is its root.
    note : str
        What the reader must know of the level of the analysis.
    """

    section: Section
    basis: Basis
    properties: Properties
    beam: BeamSection
    loads: LineLoads
    measures: Mapping[str, float]
    rows: tuple[LimitRow, ...]
    proving: Proving | None = None
    proved_bays: tuple[Bay, ...] = ()
    plates: Mapping[str, Mapping[str, float]] = field(default_factory=dict)
    variable: CaseLoads | None = None
    effects: Effects | None = None
    member: Member | None = None
    note: str = ""

    @property
    def governing(self) -> LimitRow:
        """The limit with the largest margin."""
        return next(row for row in self.rows if row.governs)

    @property
    def feasible(self) -> bool:
        """Whether every limit holds."""
        return all(row.holds for row in self.rows)

    def shown(self, key: str) -> float:
        """Value of a measure in the unit it is shown in."""
        return self.measures[key] * MEASURES[key].per_si


def check_section(
    section: Section, basis: Basis, proving: Proving | None = None, *, member: Member | None = None
) -> Checked:
    """Measure one section and compare it with every limit of the basis of design.

    With ``proving`` the section is solved as a folded plate too, at fine resolution, and its limits join
    the others. Bays that the section's joints do not describe are left out; a section without joints is
    proved as a lone module. With ``member`` the module varies along the span and the section is its root:
    it is checked at every station, at beam level.

    Raises
    ------
    ValueError
        If the section has no finite properties, is closed or in pieces (the beam checks need one open
        section), or is a batch.

    Examples
    --------
    >>> from longvault.constraints.basis import Requirements
    >>> from longvault.sections import Strips
    >>> fold = Section("fold", Strips.chain([-3.0, 0.0, 3.0], [0.0, 2.0, 0.0], 0.1, ["wing", "crown"]))
    >>> done = check_section(fold, Basis(span=20.0, pitch=6.2, requirements=Requirements(height_max=1.5)))
    >>> done.governing.limit.key, done.feasible, round(done.shown("equivalent_thickness"), 1)
    ('height', False, 116.3)
    """
    if section.strips.batch:
        raise ValueError(f"section: got a batch of shape {section.strips.batch}; one is checked at a time")
    section, member, taken = _judged(section, member, basis.pitch)
    strips = section.strips
    if basis.crosswise is not None:
        looked = replace(basis.crosswise, bays=described_bays(section, basis.crosswise.bays))
        basis = replace(basis, joints=section.joints, crosswise=looked)
    result = evaluate_closely(strips, basis) if member is None else evaluate_member_closely(member, basis)
    measures = {key: float(value) for key, value in result.measures.items()}
    if not math.isfinite(measures["area"]):
        raise ValueError("the section has no finite properties; sizes must be those of a roof in metres")
    p = section_properties(strips)
    beam = beam_section(strips, p, detailing=basis.detailing, sagging=basis.sagging, held=basis.held)
    loads = _permanent(section, measures, basis)
    variable = case_loads(basis.loads, strips, pitch=basis.pitch)
    along = effects(basis, permanent=loads.permanent, variable=variable) if member is None else None
    limits, margins = result.limits, result.margins.tolist()
    bays: tuple[Bay, ...] = ()
    plates: dict[str, Mapping[str, float]] = {}
    if proving is not None:
        bays = described_bays(section, proving.bays)
        plates = _plates(section, dict(result.measures), basis, proving, bays)
        measures |= {key: max(plates[bay][key] for bay in bays) for key in plates[bays[0]]}
        extra = proof_limits(basis, replace(proving, bays=bays))
        margins += [float(limit.margin({k: np.array(v) for k, v in measures.items()})) for limit in extra]
        limits = limits + extra
    rows = limit_rows(
        limits, measures, margins, int(governing_limit(limits, np.array(margins))), result.cases
    )
    return Checked(
        section, basis, p, beam, loads, measures, rows, proving, bays, plates, variable, along, member,
        "; ".join(said for said in (result.note, taken) if said),
    )  # fmt: skip


def _judged(section: Section, member: Member | None, pitch: float) -> tuple[Section, Member | None, str]:
    """Return section and taper with the parts that they are looked at with, and what is said of that."""
    s = None if member is None else member.sections
    stations = () if s is None else tuple(s[k] for k in range(s.batch[0]))
    for one in (section.strips, *stations):
        check_joints(replace(section, strips=one), pitch)
    section, taken = judged_parts(section, pitch, stations)
    if s is not None:
        member = Member(Strips(s.x, s.z, s.ends, s.thickness, section.strips.parts))
    return section, member, taken


def _plates(
    section: Section, measures: Mapping[str, Array], basis: Basis, proving: Proving, bays: Sequence[Bay]
) -> dict[str, Mapping[str, float]]:
    """Folded-plate measures of the bays asked for, and of every other one that the joints describe."""
    found: dict[str, Mapping[str, float]] = {}
    for bay in dict.fromkeys((*bays, *described_bays(section, BAYS))):
        one = fine_proof(section.strips, section.joints, measures, basis, replace(proving, bays=(bay,)))
        found[bay] = {key: float(value) for key, value in one.items()}
    return found


def _permanent(section: Section, measures: Mapping[str, float], basis: Basis) -> LineLoads:
    """Weigh one module per metre of span, with the sums the loads come from."""
    return line_loads(
        basis.loads,
        **{key: np.asarray(measures[key]) for key in ("area", "surface", "opening")},
        pitch=basis.pitch,
        weight=basis.concrete.weight,
        screed=_screed(section, basis),
    )


def _screed(section: Section, basis: Basis) -> float:
    """Weight of what makes the fall of the gutters [N/m]."""
    fall = headroom(basis)
    return float(fall_weight(gutter_width(section.strips), headroom=fall)) if fall else 0.0


def described_bays(section: Section, bays: Sequence[Bay]) -> tuple[Bay, ...]:
    """Those of ``bays`` whose neighbours the section's joints describe; a lone module needs none."""
    sides = {joint.side for joint in section.joints}
    needed = {"lone": set(), "end": {"right"}, "interior": {"left", "right"}}
    kept = tuple(bay for bay in bays if needed[bay] <= sides)
    return kept or ("lone",)


def limit_rows(
    limits: Sequence[Limit],
    measures: Mapping[str, float],
    margins: Sequence[float],
    governing: int,
    cases: Mapping[str, Governing] | None = None,
    where: tuple[int, ...] | int = (),
) -> tuple[LimitRow, ...]:
    """Join limits with the numbers of one section; ``governing`` is the place of the largest margin.

    ``cases`` says which combination governs a limit, ``where`` which of its candidates this section is.
    """
    rows = [_row(limit, measures, margins[i], i == governing) for i, limit in enumerate(limits)]
    known = cases or {}
    return tuple(
        replace(row, case=known[key].name(where), place=known[key].place(where)) if key in known else row
        for row, key in ((row, row.limit.key) for row in rows)
    )


def _row(limit: Limit, measures: Mapping[str, float], margin: float, governs: bool) -> LimitRow:
    measure = MEASURES[limit.demand]
    allowed = measures[limit.capacity] if isinstance(limit.capacity, str) else limit.capacity
    return LimitRow(
        limit,
        measure.unit,
        measures[limit.demand] * measure.per_si,
        allowed * measure.per_si,
        margin,
        governs,
    )


def formula_of(row: LimitRow) -> str:
    """Return the formula of a limit as a person reads it, one of the user's own in trade units.

    Examples
    --------
    >>> from longvault.constraints.own_limits import own_limit
    >>> formula_of(LimitRow(own_limit("steel_weight", 20.0, "cap"), "kg_m2", 18.0, 20.0, -0.1, False))
    'at most 20.00 kg/m²'
    """
    if row.limit.source != OWN:
        return row.limit.formula
    return f"at {'most' if row.limit.sense == CAP else 'least'} {quantity(row.capacity, row.unit)}"


def limit_document(row: LimitRow) -> dict[str, Any]:
    """One limit as a JSON object; a number that is not finite becomes None."""
    limit = row.limit
    return {
        "key": limit.key,
        "title": limit.title,
        "demand": _finite(row.demand),
        "capacity": _finite(row.capacity),
        "unit": row.unit,
        "sense": limit.sense,
        "margin": _finite(row.margin),
        "formula": formula_of(row),
        "source": limit.source,
        "governing": row.governs,
        "case": row.case or None,
        "place_m": row.place,
    }


def measure_document(measures: Mapping[str, float]) -> dict[str, float | None]:
    """Name every measure (SI) by its column with unit: ``area_m2``, ``deflection_mm``."""
    known = {key: MEASURES[key] for key in measures if key in MEASURES}
    return {one.column: _finite(measures[key] * one.per_si) for key, one in known.items()}


def _finite(value: float) -> float | None:
    return value if math.isfinite(value) else None
