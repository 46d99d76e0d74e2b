"""Concrete and reinforcing steel: characteristic values and design strengths."""

from dataclasses import dataclass
from math import log

MPA = 1e6


@dataclass(frozen=True, slots=True)
class Concrete:
    """Normal-weight concrete named by its cylinder strength.

    Parameters
    ----------
    fck : float
        Characteristic cylinder strength [Pa], 12 to 90 MPa.
    weight : float
        Weight density of reinforced concrete [N/m3]; 25 kN/m3 by EN 1991-1-1 table A.1 (24 + 1, from memory).

    Examples
    --------
    >>> c = Concrete(30e6)
    >>> round(c.fctm / 1e6, 3), round(c.ecm / 1e9, 3)
    (2.896, 32.837)
    """

    fck: float
    weight: float = 25e3

    def __post_init__(self) -> None:
        if not 12 * MPA <= self.fck <= 90 * MPA:
            raise ValueError(f"fck: got {self.fck / MPA:g} MPa; EN 1992-1-1 table 3.1 covers 12 to 90 MPa")

    @property
    def fcm(self) -> float:
        """Mean strength, fck + 8 MPa (EN 1992-1-1 table 3.1) [Pa]."""
        return self.fck + 8 * MPA

    @property
    def fctm(self) -> float:
        """Mean axial tensile strength (EN 1992-1-1 table 3.1) [Pa]."""
        fck = self.fck / MPA
        mean: float = 0.30 * fck ** (2 / 3) if fck <= 50 else 2.12 * log(1 + self.fcm / MPA / 10)
        return mean * MPA

    @property
    def ecm(self) -> float:
        """Secant modulus, 22 (fcm/10)^0.3 GPa (EN 1992-1-1 table 3.1) [Pa]."""
        return 22e9 * (self.fcm / MPA / 10) ** 0.3


@dataclass(frozen=True, slots=True)
class Steel:
    """Reinforcing steel by its characteristic yield strength [Pa]."""

    fyk: float = 500e6
    modulus: float = 200e9


@dataclass(frozen=True, slots=True)
class DesignStrengths:
    """What the checks compare with, and the clause each value comes from.

    Parameters
    ----------
    compression : float
        Concrete compression under ultimate loads [Pa].
    compression_service : float
        Concrete compression under characteristic loads [Pa].
    strut : float
        Shear stress at which inclined struts at 45 degrees crush [Pa].
    steel : float
        Reinforcement stress under ultimate loads [Pa].
    """

    compression: float
    compression_service: float
    strut: float
    steel: float
    source_compression: str
    source_service: str
    source_strut: str
    source_steel: str


def eurocode_strengths(concrete: Concrete, steel: Steel) -> DesignStrengths:
    """Design strengths by EN 1992-1-1:2004 with the recommended partial factors 1.5 and 1.15, alpha_cc = 1.0.

    Examples
    --------
    >>> s = eurocode_strengths(Concrete(30e6), Steel())
    >>> round(s.compression / 1e6, 2), round(s.strut / 1e6, 2), round(s.steel / 1e6, 1)
    (20.0, 5.28, 434.8)
    """
    fcd = concrete.fck / 1.5
    return DesignStrengths(
        compression=fcd,
        compression_service=0.6 * concrete.fck,
        strut=0.5 * 0.6 * (1 - concrete.fck / (250 * MPA)) * fcd,
        steel=steel.fyk / 1.15,
        source_compression="EN 1992-1-1:2004, 3.1.6 (fcd = fck / 1.5)",
        source_service="EN 1992-1-1:2004, 7.2(2) (0.6 fck)",
        source_strut="EN 1992-1-1:2004, 6.2.3(3), struts at 45 degrees (from memory)",
        source_steel="EN 1992-1-1:2004, 3.2.7 (fyd = fyk / 1.15)",
    )


def american_strengths(concrete: Concrete, steel: Steel) -> DesignStrengths:
    """Design strengths by ACI 318-19 (from memory), reduction factors on the resistance side.

    Compression 0.65 x 0.85 f'c, steel 0.9 fy, section limit in shear 0.75 x 0.83 sqrt(f'c) MPa,
    service compression 0.45 f'c (the working-stress value of older editions).

    Examples
    --------
    >>> s = american_strengths(Concrete(30e6), Steel(420e6))
    >>> round(s.compression / 1e6, 2), round(s.strut / 1e6, 2), round(s.steel / 1e6, 1)
    (16.57, 3.41, 378.0)
    """
    return DesignStrengths(
        compression=0.65 * 0.85 * concrete.fck,
        compression_service=0.45 * concrete.fck,
        strut=0.75 * 0.83 * (concrete.fck / MPA) ** 0.5 * MPA,
        steel=0.9 * steel.fyk,
        source_compression="ACI 318-19, 22.2.2 and 21.2 (0.65 x 0.85 f'c, from memory)",
        source_service="0.45 f'c, working-stress practice (from memory)",
        source_strut="ACI 318-19, 22.5.1.2 (0.75 x 0.83 sqrt f'c, from memory)",
        source_steel="ACI 318-19, 21.2 (0.9 fy, from memory)",
    )
