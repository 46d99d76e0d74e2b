"""A module whose section varies along the span: its sections from the deepest place to the shallowest."""

from dataclasses import dataclass

import numpy as np

from longvault.sections.strips import Strips
from longvault.sections.symbols import Array

NOT_PROVED = "beam level, not proved by the folded plate"
"""What every result of such a module says: the folded plate wants one section from end to end."""


@dataclass(frozen=True, slots=True, eq=False)
class Member:
    """Sections of a module at even shares of its taper: 0 at the root (deepest), 1 at the tip.

    Parameters
    ----------
    sections : Strips, batch (..., K)
        The last batch axis runs from root to tip; K is odd and at least 5.

    Raises
    ------
    ValueError
        If there are not that many sections.

    Examples
    --------
    >>> root, tip = (Strips.chain([-2, 0, 2], [d, 0, d], 0.1, "wing") for d in (1.5, 0.4))
    >>> Member.between(root, tip, stations=5).sections.z[:, 0].round(9).tolist()
    [1.5, 1.225, 0.95, 0.675, 0.4]
    """

    sections: Strips

    def __post_init__(self) -> None:
        count = self.sections.batch[-1] if self.sections.batch else 1
        if count < 5 or count % 2 == 0:
            raise ValueError(f"sections: got {count} along the taper; must be an odd number, 5 or more")

    @classmethod
    def between(cls, root: Strips, tip: Strips, *, stations: int = 9) -> "Member":
        """Join two sections of the same strips by straight lines along the span."""
        if not np.array_equal(root.ends, tip.ends) or root.parts != tip.parts:
            raise ValueError("root and tip must have the same strips and parts")
        share = taper_shares(stations)[:, None]

        def mixed(a: Array, b: Array) -> Array:
            return a[..., None, :] * (1.0 - share) + b[..., None, :] * share

        x, z = mixed(root.x, tip.x), mixed(root.z, tip.z)
        return cls(Strips(x, z, root.ends, mixed(root.thickness, tip.thickness), root.parts))

    @property
    def batch(self) -> tuple[int, ...]:
        """Shape of the batch, without the stations."""
        return self.sections.batch[:-1]

    @property
    def stations(self) -> int:
        """Number of sections along the taper."""
        return self.sections.batch[-1]

    @property
    def root(self) -> Strips:
        """Deepest section (...)."""
        return self._at(0)

    @property
    def tip(self) -> Strips:
        """Shallowest section (...)."""
        return self._at(-1)

    def _at(self, k: int) -> Strips:
        s = self.sections
        return Strips(s.x[..., k, :], s.z[..., k, :], s.ends, s.thickness[..., k, :], s.parts)


def taper_shares(stations: int) -> Array:
    """Shares of the taper at which sections stand (K,)."""
    return np.linspace(0.0, 1.0, stations)
