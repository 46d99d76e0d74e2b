"""Limits that the user sets on any measure: `Limit` objects like all others, each at its own stage."""

from collections.abc import Iterable
from typing import Literal

from longvault.constraints.daylight_settings import DAYLIGHT_MEASURES
from longvault.constraints.limit import CAP, FLOOR, Limit
from longvault.constraints.measures import (
    CONCRETE_MEASURES,
    ERECTION_USE,
    MEASURES,
    PROOF_MEASURES,
    SLICE_MEASURES,
)
from longvault.constraints.stability_checks import BUCKLING

OWN = "brief (own limit)"
"""Source of a limit of the user's own."""

Stage = Literal["beam", "closer", "plate"]

_CLOSER = {one.key for one in CONCRETE_MEASURES} | {
    *DAYLIGHT_MEASURES,
    *SLICE_MEASURES,
    BUCKLING,
    ERECTION_USE,
}


def stage_of(key: str) -> Stage:
    """Say which analysis gives a measure: that of the beam, the closer checks, or the folded plate.

    Examples
    --------
    >>> stage_of("area"), stage_of("steel_weight"), stage_of("slot_movement")
    ('beam', 'closer', 'plate')
    """
    if key in PROOF_MEASURES:
        return "plate"
    return "closer" if key in _CLOSER else "beam"


def own_limit(key: str, allowed: float, sense: str) -> Limit:
    """Limit of the user on a measure; ``allowed`` is an SI value above 0, ``sense`` is ``cap`` or ``floor``.

    Examples
    --------
    >>> one = own_limit("area", 0.9, "cap")
    >>> one.key, one.formula
    ('most-area', 'at most 0.9 m2')
    """
    if key not in MEASURES:
        raise ValueError(f"key: got {key!r}; must be a measure, for instance area or steel_weight")
    if sense not in (CAP, FLOOR):
        raise ValueError(f"sense: got {sense!r}; must be {CAP} or {FLOOR}")
    if not 0.0 < allowed < float("inf"):
        raise ValueError(f"allowed: got {allowed!r}; must be above 0 and finite: margins are shares of it")
    measure, word = MEASURES[key], "most" if sense == CAP else "least"
    return Limit(
        f"{word}-{key.replace('_', '-')}",
        f"{measure.title}, at {word}",
        key,
        allowed,
        sense,
        f"at {word} {allowed * measure.per_si:g} {measure.unit}".rstrip(),
        OWN,
    )


def own_limits(limits: Iterable[Limit], stage: Stage) -> tuple[Limit, ...]:
    """Those of the user's limits whose measure a stage gives."""
    return tuple(limit for limit in limits if stage_of(limit.demand) == stage)
