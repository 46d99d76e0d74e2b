"""Beam-arch: a module with a slight rise along its span, whose thrust a tie takes."""

from dataclasses import dataclass

import numpy as np

from longvault.sections.symbols import Array


@dataclass(frozen=True, slots=True)
class BeamArch:
    """A parabolic rise along a simple span, between ends that a tie holds together.

    Parameters
    ----------
    rise : float
        Of the centroid line at mid-span above its ends [m].
    tie_area : float
        Steel of the tie [m2]; it runs straight between the centroids of the end sections.

    Raises
    ------
    ValueError
        If either is not above 0.
    """

    rise: float
    tie_area: float

    def __post_init__(self) -> None:
        for name in ("rise", "tie_area"):
            if not getattr(self, name) > 0:
                raise ValueError(f"{name}: got {getattr(self, name):g}; must be above 0")

    def share(self, *, inertia: Array, area: Array, modular_ratio: float) -> Array:
        """Share of the moment that thrust times rise takes away (...), 0 to 1.

        Two-hinged parabolic arch with a tie under a uniform load (derived: least work in bending, in
        compressing the arch and in the tie): H = w L^2 / (8 f) / (1 + 15/8 I / f^2 (1/A + n/A_tie)), n the
        modulus of the concrete over that of the tie; the moment everywhere is that of the beam times what is
        left.

        Examples
        --------
        >>> arch = BeamArch(rise=1.0, tie_area=20e-4)
        >>> left = 1 - arch.share(inertia=np.array(0.5), area=np.array(0.9), modular_ratio=1 / 6)
        >>> round(float(left), 4)
        0.9875
        """
        soft = 15.0 / 8.0 * inertia / self.rise**2 * (1.0 / area + modular_ratio / self.tie_area)
        return np.asarray(1.0 / (1.0 + soft))
