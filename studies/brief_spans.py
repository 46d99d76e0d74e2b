"""Where a roof rests along its length, from the keys of a brief; and what contradicts itself there."""

from itertools import pairwise

from longvault.constraints.arch import LEAST_RISE, BeamArch
from longvault.constraints.basis import CAMBER_RATIO
from longvault.constraints.beam import SUPPORTS, Support, spans_of, support_of
from longvault.constraints.spans import Spans
from longvault.studies.brief_faults import Fault
from longvault.studies.brief_model import Brief, Roof

NEEDS = {
    "canopy": ("back_span_m",),
    "overhanging": ("overhang_left_m", "overhang_right_m"),
    "continuous": ("spans_m",),
}
"""Support -> keys that belong to it alone; one of them at least must be given."""

MOST_WIND = 10.0
"""Largest net pressure or suction of wind that is taken [kN/m2]: the corners of coastal roofs see less."""


def spans_of_roof(roof: Roof) -> Spans:
    """Return where the modules rest [m].

    Raises
    ------
    ValueError
        If a length the support needs is missing (`span_faults` names it first).
    """
    if roof.support == "canopy":
        return Spans.canopy(back=roof.back_span_m or 0.0, arm=roof.span_m)
    if roof.support == "overhanging":
        return Spans.overhanging(roof.span_m, left=roof.overhang_left_m, right=roof.overhang_right_m)
    if roof.support == "continuous":
        return Spans.continuous(*roof.spans_m)
    return spans_of(roof.support, roof.span_m)


def support_of_roof(roof: Roof) -> tuple[Support, Spans | None]:
    """Coefficients of the support, and where it stands unless its name alone says that."""
    if roof.support in SUPPORTS:
        return SUPPORTS[roof.support], None
    spans = spans_of_roof(roof)
    return support_of(roof.support, spans, roof.span_m), spans


def arch_of_roof(roof: Roof) -> BeamArch | None:
    """Rise along the span and its tie, where there is one."""
    return BeamArch(roof.arch_rise_m, roof.tie_area_cm2 / 1e4) if roof.arch_rise_m > 0 else None


def span_faults(brief: Brief) -> list[Fault]:
    """Contradictions between the support and the lengths that go with it."""
    return [
        *_length_faults(brief.roof),
        *_arch_faults(brief),
        *_taper_faults(brief),
        *_camber_faults(brief),
        *_prestress_faults(brief),
    ]


def _length_faults(roof: Roof) -> list[Fault]:
    faults = []
    for support, keys in NEEDS.items():
        given = [key for key in keys if getattr(roof, key)]
        if support != roof.support:
            text = f'goes with support = "{support}"; the support is "{roof.support}"'
            faults += [Fault(("roof", key), text) for key in given]
        elif not given:
            faults.append(Fault(("roof", "support"), f'"{support}" needs {" or ".join(keys)}'))
    if roof.support == "continuous" and roof.spans_m:
        if not 2 <= len(roof.spans_m) <= 4:
            faults.append(Fault(("roof", "spans_m"), f"got {len(roof.spans_m)} spans; must be 2 to 4"))
        elif max(roof.spans_m) != roof.span_m:
            text = f"{roof.span_m:g} m must be the longest of spans_m, {max(roof.spans_m):g} m"
            faults.append(Fault(("roof", "span_m"), text))
    return faults


def _camber_faults(brief: Brief) -> list[Fault]:
    """Refuse a camber that no deflection calls for."""
    if _length_faults(brief.roof):
        return []
    support, spans = support_of_roof(brief.roof)
    length = spans.depth_span if spans else support.depth_span * brief.roof.span_m
    most, camber = 1e3 * length / CAMBER_RATIO, brief.limits.camber_mm
    if camber <= most:
        return []
    text = (
        f"{camber:g} mm is more than {length:g} m / {CAMBER_RATIO:g} = {most:.0f} mm (EN 1992-1-1, 7.4.1(4))"
    )
    return [Fault(("limits", "camber_mm"), text)]


def _arch_faults(brief: Brief) -> list[Fault]:
    roof, faults = brief.roof, []
    rise, tie = roof.arch_rise_m > 0, roof.tie_area_cm2 > 0
    if rise and not tie:
        faults.append(Fault(("roof", "arch_rise_m"), "a rise along the span needs a tie: give tie_area_cm2"))
    if tie and not rise:
        faults.append(Fault(("roof", "tie_area_cm2"), "a tie without a rise is idle: give arch_rise_m"))
    least = LEAST_RISE * roof.span_m
    if rise and roof.arch_rise_m < least:
        text = (
            f"{roof.arch_rise_m:g} m is no arch: over a span of {roof.span_m:g} m it rises at least span/"
            f"{1 / LEAST_RISE:g} = {least:.3g} m; leave it out, or give camber_mm for a camber"
        )
        faults.append(Fault(("roof", "arch_rise_m"), text))
    if rise and brief.prestress.enabled:
        text = "tendons are not worked out with the thrust of a beam-arch (arch_rise_m); leave one out"
        faults.append(Fault(("prestress", "enabled"), text))
    if rise and roof.support != "simple":
        text = f'a rise along the span needs support = "simple"; got "{roof.support}"'
        faults.append(Fault(("roof", "arch_rise_m"), text))
    return faults


def _prestress_faults(brief: Brief) -> list[Fault]:
    """Tendons are worked out at one station for one sign of moment, without secondary moments."""
    if not brief.prestress.enabled or brief.roof.support in ("simple", "cantilever"):
        return []
    text = (
        f'prestress is worked out for a simple span or a cantilever; the support is "{brief.roof.support}", '
        "where both signs of moment and secondary moments count"
    )
    return [Fault(("prestress", "enabled"), text)]


def _taper_faults(brief: Brief) -> list[Fault]:
    roof, path = brief.roof, ("section", "family")
    if not any(key.startswith("tapered-") for key in brief.section.all_families):
        return []
    faults = []
    if roof.support in ("fixed", "propped", "continuous"):
        text = f'a taper needs an overhang, a cantilever or a simple span; the support is "{roof.support}"'
        faults.append(Fault(path, text))
    if roof.arch_rise_m > 0:
        faults.append(Fault(path, "a beam-arch (arch_rise_m) is one section from end to end: no taper"))
    return faults


def wind_faults(brief: Brief) -> list[Fault]:
    """Zones that do not rise within the bay, overlap or press too hard; names twice; drift without snow."""
    faults, seen = [], set()
    for i, wind in enumerate(brief.loads.wind):
        if wind.name in seen:
            faults.append(Fault(("loads", "wind", i, "name"), f'"{wind.name}" stands there twice'))
        seen.add(wind.name)
        faults += [Fault(("loads", "wind", i, "zones"), text) for text in _zone_faults(wind.zones)]
    if brief.loads.drift != "none" and not brief.loads.snow_ground_kN_m2:
        text = f'"{brief.loads.drift}" needs snow on the ground: give snow_ground_kN_m2'
        faults.append(Fault(("loads", "drift"), text))
    return faults


def _zone_faults(zones: tuple[tuple[float, float, float], ...]) -> list[str]:
    """Say what is wrong with the zones of one case of wind."""
    faults = []
    for low, high, pressure in zones:
        if not 0.0 <= low < high <= 1.0:
            faults.append(f"zone from {low:g} to {high:g}: must rise within 0 to 1 (shares of the bay)")
        if not abs(pressure) <= MOST_WIND:
            allowed = f"-{MOST_WIND:g} to {MOST_WIND:g} kN/m²; is it in kN per square metre?"
            faults.append(f"zone from {low:g} to {high:g}: {pressure:g} kN/m² is outside {allowed}")
    for one, two in pairwise(sorted(zones)):
        if two[0] < one[1]:
            faults.append(
                f"zones {one[0]:g} to {one[1]:g} and {two[0]:g} to {two[1]:g} overlap, and would add up; "
                "give each place one pressure, or two cases of wind"
            )
    return faults
