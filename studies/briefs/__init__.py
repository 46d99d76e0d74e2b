"""Starter briefs, one for each kind of job."""

from importlib import resources

KINDS = {
    "workshop": "north-light workshop: free one-sided profile, steep glass to the north",
    "reading-hall": "reading hall with crown slots: gull-wing module",
    "canopy": "bus-station canopy: tapered gull-wing on a back span",
    "market-hall": "market hall: shallow vaults on shared valley beams",
    "classroom": "classroom exercise: vaults of equal concrete",
}
"""Kind of starter brief -> what it is, in a few words."""


def starter_text(kind: str) -> str:
    """Return the text of a starter brief.

    Raises
    ------
    ValueError
        If there is no such kind; the message lists those there are.

    Examples
    --------
    >>> starter_text("workshop").splitlines()[2]
    'name = "Workshop with north light"'
    """
    if kind not in KINDS:
        raise ValueError(f"kind: got {kind!r}; must be one of {', '.join(KINDS)}")
    return resources.files(__name__).joinpath(f"{kind}.toml").read_text(encoding="utf-8")
