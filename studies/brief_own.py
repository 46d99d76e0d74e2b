"""Limits, wishes and weights on any measure, named in a brief by the columns of ``front.csv``."""

from collections.abc import Callable, Iterator, Mapping

import numpy as np

from longvault.constraints.basis import Basis
from longvault.constraints.details import detail_keys
from longvault.constraints.effects import signs_of
from longvault.constraints.limit import CAP, FLOOR, Limit
from longvault.constraints.measures import MEASURES
from longvault.constraints.member_details import member_keys
from longvault.constraints.own_limits import own_limit, stage_of
from longvault.optimise.preferences import Preference
from longvault.studies.brief_faults import Fault, nearest_key
from longvault.studies.brief_model import Brief
from longvault.studies.toml_lines import KeyPath

COLUMNS = {measure.column: measure for measure in MEASURES.values()}
"""Measures by the name a column gives them: ``steel_weight_kg_m2``."""

SENSES = {"at_most": CAP, "at_least": FLOOR}

_GIVEN: dict[str, Callable[[Brief], bool]] = {
    "glass_slope": lambda b: b.limits.glass_slope_min_deg is not None,
    "pond_depth": lambda b: b.limits.pond_depth_max_mm is not None,
    "fall_headroom": lambda b: b.loads.gutter_fall_pct > 0,
    "sideways_size": lambda b: b.limits.sideways_ratio is not None,
    "tie_force": lambda b: b.roof.arch_rise_m > 0,
    "upward": lambda b: b.limits.camber_mm > 0,
    "thrust": lambda b: b.roof.arch_rise_m > 0,
    **{
        f"erection_{what}": lambda b: b.loads.erection_kN_m2 is not None
        for what in ("moment", "compression", "tension", "deflection", "sideways", "use")
    },
}
"""Beam measures that are reckoned only where a key of the brief asks for them."""


def own_limits_of(brief: Brief) -> tuple[Limit, ...]:
    """Return the limits the brief sets on measures by name, SI."""
    need = brief.limits
    return tuple(
        own_limit(COLUMNS[column].key, value / COLUMNS[column].per_si, SENSES[table])
        for table in SENSES
        for column, value in getattr(need, table).items()
    )


def preference_of(brief: Brief) -> Preference | None:
    """Return the wishes and weights of the brief in the order of its objectives, SI; None without any."""
    wanted = brief.preferences
    if not (wanted.at_most or wanted.at_least or wanted.weights):
        return None
    wishes = {COLUMNS[c].key: v / COLUMNS[c].per_si for c, v in (wanted.at_most | wanted.at_least).items()}
    weights = {COLUMNS[column].key: value for column, value in wanted.weights.items()}
    keys = brief.search.objectives
    return Preference(
        np.array([wishes.get(key, np.nan) for key in keys]), np.array([weights.get(key, 0.0) for key in keys])
    )


def measure_fault(column: str) -> str:
    """Say what is wrong with the name of a measure, or nothing.

    Examples
    --------
    >>> measure_fault("area_m2"), measure_fault("area")
    ('', 'write it with its unit, area_m2')
    """
    if column in COLUMNS:
        return ""
    if column in MEASURES:
        return f"write it with its unit, {MEASURES[column].column}"
    near = nearest_key(column, COLUMNS)
    hint = f"did you mean {near}?" if near else "see the columns of a front.csv"
    return f"there is no such measure; {hint}"


def not_measured(brief: Brief, basis: Basis, key: str, *, proved: bool) -> str:
    """Say why a measure is not known for the roof of a brief, or nothing; ``proved`` as folded plates."""
    stage = stage_of(key)
    tapered = any(name.startswith("tapered-") for name in brief.section.all_families)
    closer = member_keys(basis) if tapered else detail_keys(basis)
    if stage == "plate" and not proved:
        return "the folded plate, which gives it, does not cover this roof"
    if stage == "closer" and key not in closer:
        return "it is not worked out for this roof"
    if (key.endswith("_reverse") or key == "reverse_moment") and not signs_of(basis).both:
        return "it needs a support with moments of both signs"
    if key in ("deflection_allowed", "deflection_place") and len(basis.line.fields) == 1:
        return "it needs more than one span"
    if key == "deflection_tip" and (len(basis.line.fields) == 1 or not any(basis.line.overhangs)):
        return "it needs an overhang beside a span"
    given = _GIVEN.get(key)
    return "no key of this brief asks for it" if given is not None and not given(brief) else ""


def own_faults(brief: Brief) -> list[Fault]:
    """Say what is wrong with the names and values of own limits, wishes and weights."""
    faults = []
    for path, value in _entries(brief):
        text = measure_fault(path[-1])
        if not text and not value > 0:
            text = f"got {value:g}; must be above 0"
        if not text and path[0] == "preferences":
            text = _wish_fault(brief, path[1], path[2])
        if text:
            faults.append(Fault(path, text))
    return faults + _both_ends(brief)


def unmeasured_faults(brief: Brief, basis: Basis, *, proved: bool) -> list[Fault]:
    """Say which own limits and objectives are on measures that this roof has no value of."""
    wanted = {path: COLUMNS[path[-1]].key for path, _ in _entries(brief)}
    places: dict[KeyPath, str] = {path: key for path, key in wanted.items() if path[0] == "limits"}
    places |= {("search", "objectives", i): key for i, key in enumerate(brief.search.objectives)}
    found = ((path, not_measured(brief, basis, key, proved=proved)) for path, key in places.items())
    return [Fault(path, text) for path, text in found if text]


def _entries(brief: Brief) -> Iterator[tuple[tuple[str, str, str], float]]:
    tables = (("limits", "at_most"), ("limits", "at_least"))
    wishes = (("preferences", "at_most"), ("preferences", "at_least"), ("preferences", "weights"))
    for title, table in (*tables, *wishes):
        values: Mapping[str, float] = getattr(getattr(brief, title), table)
        for column, value in values.items():
            yield (title, table, column), value


def _wish_fault(brief: Brief, table: str, column: str) -> str:
    measure, wanted = COLUMNS[column], brief.search.objectives
    if measure.key not in wanted:
        return "is no objective of this search; add it to search.objectives, or set it as a limit"
    better = {"min": "at_most", "max": "at_least"}[measure.sense]
    if table not in ("weights", better):
        return f"its better way is {measure.sense}: a wish on it goes under preferences.{better}"
    return ""


def _both_ends(brief: Brief) -> list[Fault]:
    most, least = brief.limits.at_most, brief.limits.at_least
    return [
        Fault(("limits", "at_least", key), f"{least[key]:g} is above at_most, {most[key]:g}")
        for key in least
        if key in most and least[key] > most[key]
    ]
