"""Families that vary along the span: deep at the root, shallow at the tip, of constant thickness."""

from dataclasses import dataclass

import numpy as np

from longvault.sections.families.base import Family, Variable
from longvault.sections.member import Member, taper_shares
from longvault.sections.section_file import Joint
from longvault.sections.strips import Strips
from longvault.sections.symbols import Array

STATIONS = 7
"""Sections along the taper that are looked at."""

FALLING = ("rise", "depth", "springing", "kerb_height", "edge_height", "keel_thickness")
"""Variables that shrink towards the tip where a family has them; all others keep their value."""


@dataclass(frozen=True, slots=True)
class Tapered:
    """A family whose heights shrink in straight lines from the root to the tip.

    Its variables are those of the base family, which shape the root, and for each one that shrinks the
    share of it that is left at the tip. The curve keeps its form: it is stated in shares of the rise.

    Parameters
    ----------
    base : Family
        What is tapered.
    least : float
        Least share that may be left at the tip.
    stations : int
        Sections along the taper, odd.

    Examples
    --------
    >>> from longvault.sections.families import Setting
    >>> from longvault.sections.families.freeform import GullWing
    >>> canopy = Tapered(GullWing(Setting(pitch=4.8, height=1.5, thickness=0.08)))
    >>> canopy.key, [v.name for v in canopy.variables[-3:]]
    ('tapered-gull-wing', ['tip_rise', 'tip_keel_thickness', 'tip_kerb_height'])
    """

    base: Family
    least: float = 0.2
    stations: int = STATIONS

    def __post_init__(self) -> None:
        if not self._falling:
            known = ", ".join(FALLING)
            raise ValueError(f"base: {self.base.key} has nothing to shrink; it needs one of {known}")

    @property
    def key(self) -> str:
        """Name in briefs."""
        return f"tapered-{self.base.key}"

    @property
    def _falling(self) -> tuple[int, ...]:
        return tuple(i for i, v in enumerate(self.base.variables) if v.name in FALLING)

    @property
    def variables(self) -> tuple[Variable, ...]:
        """Variables of the root, then what is left of the shrinking ones at the tip."""
        own = self.base.variables
        shares = tuple(
            Variable(
                f"tip_{own[i].name}", self.least, 1.0, "", f"at the tip over at the root: {own[i].meaning}"
            )
            for i in self._falling
        )
        return own + shares

    def strips(self, x: Array) -> Strips:
        """Section at the root (...), for drawings and files."""
        return self.base.strips(np.asarray(x, dtype=np.float64)[..., : len(self.base.variables)])

    def member(self, x: Array) -> Member:
        """Return all sections (..., K) for variables x (..., d)."""
        x = np.asarray(x, dtype=np.float64)
        count, falling = len(self.base.variables), list(self._falling)
        share = taper_shares(self.stations)[:, None]
        along = np.repeat(x[..., None, :count], self.stations, axis=-2)
        along[..., falling] *= 1.0 - share * (1.0 - x[..., None, count:])
        return Member(self.base.strips(along))

    @property
    def joints(self) -> tuple[Joint, ...]:
        """Those of the base family."""
        return self.base.joints

    def starts(self) -> Array:
        """Return starts of the base family, prismatic and tapered to three tenths."""
        root = self.base.starts()
        left = [
            np.concatenate([root, np.full((len(root), len(self._falling)), s)], axis=1) for s in (1.0, 0.3)
        ]
        return np.concatenate(left)
