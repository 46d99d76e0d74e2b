"""Beam-arch: a module with a slight rise along its span, whose thrust a tie takes."""

from dataclasses import dataclass, replace

import numpy as np

from longvault.constraints.stress import SectionForces
from longvault.sections.symbols import Array, IntArray

LEAST_RISE = 1.0 / 200.0
"""Rise over span below which a rise is a camber: common practice calls that no arch."""


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

    def relieved(self, forces: SectionForces, part: IntArray, share: Array) -> SectionForces:
        """Take from the moments along the span what the thrust carries, and add the thrust.

        Parameters
        ----------
        forces : SectionForces
            Of the straight module (..., k) under one or more combinations; shear is left in full: on the safe
            side, a rising axis carries part of it.
        part : int array (k,)
            Which combination each station belongs to.
        share : array (...)
            From `share`.

        Examples
        --------
        >>> beam = SectionForces(moment=np.array([0.0, 80.0]), shear=np.array([10.0, 0.0]))
        >>> found = BeamArch(rise=2.0, tie_area=1e-3).relieved(beam, np.array([0, 0]), np.array(0.75))
        >>> found.moment.tolist(), found.axial.tolist()
        ([0.0, 20.0], [-30.0, -30.0])
        """
        moment, share = forces.moment, np.asarray(share)[..., None]
        left, most = 1.0 - share, np.stack([moment[..., part == one].max(axis=-1) for one in part], axis=-1)
        bent = np.asarray(forces.load) * left
        return replace(forces, moment=moment * left, load=bent, axial=-share * most / self.rise)
