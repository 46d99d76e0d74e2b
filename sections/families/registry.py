"""Families by the name a brief gives them."""

from collections.abc import Callable, Mapping
from functools import partial
from types import MappingProxyType

from longvault.sections.families.assembly import NamedFamily
from longvault.sections.families.base import Family, Setting
from longvault.sections.families.folds import fold_trapezoid, fold_v, fold_z, folded_bottom, wave
from longvault.sections.families.freed import Freed
from longvault.sections.families.freeform import GullWing, OneSided, Vault
from longvault.sections.families.sided import light_scoop, north_light
from longvault.sections.families.tapered import Tapered
from longvault.sections.families.vaults import CURVES, EDGES, curve_vault, slotted_vault
from longvault.sections.families.wings import (
    butterfly,
    cantilever_gull_wing,
    gull_wing_flange,
    gull_wing_gutter,
    gull_wing_keel,
)


def _edged(edge: str, setting: Setting) -> NamedFamily:
    return curve_vault("segment-vault", setting, edge)


def _freed(make: Callable[[Setting], NamedFamily], setting: Setting) -> Freed:
    return Freed(make(setting))


_CURVED: dict[str, Callable[[Setting], NamedFamily]] = {key: partial(curve_vault, key) for key in CURVES}
_EDGED: dict[str, Callable[[Setting], NamedFamily]] = {
    f"segment-vault-{'bare' if edge == 'none' else edge.replace(' ', '-')}": partial(_edged, edge)
    for edge in EDGES[1:]
}

NAMED: Mapping[str, Callable[[Setting], NamedFamily]] = MappingProxyType(
    _CURVED
    | _EDGED
    | {
        "slotted-vault": slotted_vault,
        "fold-v": fold_v,
        "fold-trapezoid": fold_trapezoid,
        "fold-z": fold_z,
        "folded-bottom": folded_bottom,
        "wave": wave,
        "north-light": north_light,
        "light-scoop": light_scoop,
        "butterfly": butterfly,
        "gull-wing-keel": gull_wing_keel,
        "gull-wing-gutter": gull_wing_gutter,
        "gull-wing-flange": gull_wing_flange,
        "cantilever-gull-wing": cantilever_gull_wing,
    }
)
"""Families of known curves and folds, each with three to six plain parameters."""


def _tapered(make: Callable[[Setting], Family], setting: Setting) -> Tapered:
    return Tapered(make(setting))


FAMILIES: dict[str, Callable[[Setting], Family]] = {
    "gull-wing": GullWing,
    "vault": Vault,
    "one-sided": OneSided,
    **NAMED,
    **{f"free-{key}": partial(_freed, make) for key, make in NAMED.items()},
    "tapered-gull-wing": partial(_tapered, GullWing),
    "tapered-cantilever-gull-wing": partial(_tapered, NAMED["cantilever-gull-wing"]),
}
"""All families: free profiles, named ones, ``free-`` versions that start from a named one; ``tapered-`` ones
are deep at the root of a cantilever and shallow at its tip."""


def make_family(key: str, setting: Setting) -> Family:
    """Make the family called ``key`` for a roof.

    Raises
    ------
    ValueError
        If there is no such family; the message lists those there are.

    Examples
    --------
    >>> len(make_family("gull-wing", Setting(pitch=7.5, height=2.65, thickness=0.08)).variables)
    19
    """
    if key not in FAMILIES:
        raise ValueError(f"family: got {key!r}; must be one of {', '.join(FAMILIES)}")
    return FAMILIES[key](setting)
