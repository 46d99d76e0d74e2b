"""Checks across the keys of a brief: contradictions, unknown families, variables and measures."""

from math import ceil, floor
from pathlib import Path

from longvault.constraints.daylight_settings import DAYLIGHT_MEASURES
from longvault.constraints.details import TENSIONED
from longvault.constraints.measures import MEASURES
from longvault.sections.families import Variable
from longvault.sections.families.registry import FAMILIES, make_family
from longvault.studies.brief_basis import basis_of, families_of, proving_of, setting_of, variable_key
from longvault.studies.brief_faults import Fault, nearest_key
from longvault.studies.brief_model import Brief
from longvault.studies.brief_own import own_faults, unmeasured_faults
from longvault.studies.brief_spans import span_faults, spans_of_roof, wind_faults
from longvault.studies.brief_units import likely_slip, unit_of, with_unit

WIDER = 3.0
"""A range may reach this many times beyond the family's own."""


def contradictions(brief: Brief, folder: Path) -> list[Fault]:
    """Every fault that takes more than one key to see."""
    spans = span_faults(brief)
    faults = [
        *spans,
        *wind_faults(brief),
        *([] if spans else _depth_faults(brief)),
        *_limit_faults(brief),
        *_objective_faults(brief),
        *_daylight_faults(brief),
        *_family_faults(brief),
        *own_faults(brief),
        *_start_faults(brief, folder),
    ]
    return faults or unmeasured_faults(brief, basis_of(brief), proved=proving_of(brief) is not None)


def _limit_faults(brief: Brief) -> list[Fault]:
    need, roof = brief.limits, brief.roof
    faults = []
    least, most = need.span_to_depth_min, need.span_to_depth_max
    if least is not None and least > most:
        text = f"{least:g} is above span_to_depth_max = {most:g}; no height can satisfy both"
        faults.append(Fault(("limits", "span_to_depth_min"), text))
    if need.opening_min_m >= roof.bay_m:
        text = f"{need.opening_min_m:g} m leaves nothing of the bay of {roof.bay_m:g} m"
        faults.append(Fault(("limits", "opening_min_m"), text))
    return faults


def _depth_faults(brief: Brief) -> list[Fault]:
    need, most, spans = brief.limits, brief.limits.span_to_depth_max, spans_of_roof(brief.roof)
    span = spans.depth_span
    if span / need.height_max_m <= most:
        return []
    twice = span > max(b - a for a, b in spans.fields)
    text = (
        f"{need.height_max_m:g} m contradicts span_to_depth_max = {most:g}: "
        f"a span of {span:g} m{' (twice the cantilever)' if twice else ''} "
        f"needs a height of at least {span / most:.3g} m"
    )
    return [Fault(("limits", "height_max_m"), text)]


def _daylight_faults(brief: Brief) -> list[Fault]:
    wish = brief.daylight
    if wish.daylight_min_pct is None or wish.level_m is not None:
        return []
    text = f"{wish.daylight_min_pct:g} % needs the working plane, daylight.level_m"
    return [Fault(("daylight", "daylight_min_pct"), text)]


def _objective_faults(brief: Brief) -> list[Fault]:
    wanted = brief.search.objectives
    usable = [key for key, measure in MEASURES.items() if measure.sense]
    faults = []
    if len(wanted) < 2:
        faults.append(Fault(("search", "objectives"), f"got {len(wanted)}; a trade-off needs two or more"))
    for i, key in enumerate(wanted):
        path = ("search", "objectives", i)
        if key in wanted[:i]:
            faults.append(Fault(path, f'"{key}" stands there twice'))
        elif key in DAYLIGHT_MEASURES and brief.daylight.level_m is None:
            faults.append(Fault(path, f'"{key}" needs the working plane, daylight.level_m'))
        elif key in TENSIONED and not brief.prestress.enabled:
            faults.append(Fault(path, f'"{key}" needs prestress.enabled = true'))
        elif key in MEASURES and key not in usable:
            faults.append(Fault(path, f'"{key}" has no better and worse by itself; limit it instead'))
        elif key not in MEASURES:
            near = nearest_key(key, usable)
            hint = f'did you mean "{near}"?' if near else f"use two or more of {', '.join(usable)}"
            faults.append(Fault(path, f'there is no measure "{key}"; {hint}'))
    return faults


def _family_faults(brief: Brief) -> list[Fault]:
    """Families that there are not, that do not suit the roof or each other; ranges that suit none of them."""
    section, names = brief.section, brief.section.all_families
    faults = _choice_faults(section.family, section.families)
    for i, name in enumerate([] if faults else names):
        place = ("families", i) if section.families else ("family",)
        faults += [Fault(("section", *place), text) for text in _name_fault(brief, name)]
    if faults:
        return faults
    sets = [{variable_key(v)[0]: v for v in family.variables} for family in families_of(brief)]
    for key, pair in section.ranges.items():
        known = [keys for keys in sets if key in keys] or [{k: v for keys in sets for k, v in keys.items()}]
        found = (_range_fault(key, pair, keys, section.thickness_step_mm) for keys in known)
        text = next((one for one in found if one), "")
        if text:
            faults.append(Fault(("section", "ranges", key), text))
    return faults


def _choice_faults(one: str, several: tuple[str, ...]) -> list[Fault]:
    path = ("section", "families" if several else "family")
    if not one and not several:
        return [Fault(path, 'missing; name a family, or several as families = ["gull-wing", "vault"]')]
    tapered = {name.startswith("tapered-") for name in several}
    faults = {
        "give family or families, not both": bool(one and several),
        "one of them stands there twice": len(set(several)) < len(several),
        "tapered families and others are not judged alike; search them apart": len(tapered) > 1,
    }
    return [Fault(path, text) for text, wrong in faults.items() if wrong]


def _name_fault(brief: Brief, name: str) -> list[str]:
    if name not in FAMILIES:
        near = nearest_key(name, FAMILIES)
        hint = f'did you mean "{near}"?' if near else f"use one of {', '.join(FAMILIES)}"
        return [f'there is no family "{name}"; {hint}']
    try:
        make_family(name, setting_of(brief))
    except ValueError as error:
        return [f"the roof does not suit this family: {error}"]
    if name.startswith("tapered-") and brief.prestress.enabled:
        return ["one prestressing force does not suit all sections of a taper; set prestress.enabled = false"]
    return []


def _range_fault(key: str, pair: tuple[float, float], keys: dict[str, Variable], step: float) -> str:
    """Say what is wrong with one range, or nothing."""
    if key not in keys:
        near = nearest_key(key, keys)
        hint = f'did you mean "{near}"?' if near else f"this family has {', '.join(keys)}"
        return f"unknown variable; {hint}"
    variable, unit = keys[key], unit_of(key)
    per_si = variable_key(variable)[1]
    reach = WIDER * (variable.upper - variable.lower)
    low = per_si * (variable.lower / WIDER if variable.lower >= 0 else variable.lower - reach)
    high = per_si * (variable.upper + reach)
    for value in pair:
        if not low <= value <= high:
            slip = likely_slip(value, unit, low, high)
            allowed = f"{low:.3g} to {with_unit(float(f'{high:.3g}'), unit)}"
            return f"{with_unit(value, unit)} is outside {allowed}" + (f"; {slip}" if slip else "")
    if pair[0] > pair[1]:
        return f"[{pair[0]:g}, {pair[1]:g}] is the wrong way round; the least value comes first"
    if "thickness" in key and step > 0 and ceil(pair[0] / step - 1e-9) > floor(pair[1] / step + 1e-9):
        return f"no multiple of thickness_step_mm = {step:g} lies in [{pair[0]:g}, {pair[1]:g}]"
    return ""


def _start_faults(brief: Brief, folder: Path) -> list[Fault]:
    faults = []
    for i, name in enumerate(brief.section.start_sections):
        if not (folder / name).is_file():
            text = (
                f'"{name}": there is no such file beside the brief; name one like runs/hall/designs/d001.json'
            )
            faults.append(Fault(("section", "start_sections", i), text))
    return faults
