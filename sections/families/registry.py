"""Families by the name a brief gives them."""

from collections.abc import Callable

from longvault.sections.families.base import Family, Setting
from longvault.sections.families.freeform import GullWing, OneSided, Vault

FAMILIES: dict[str, Callable[[Setting], Family]] = {
    "gull-wing": GullWing,
    "vault": Vault,
    "one-sided": OneSided,
}


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
