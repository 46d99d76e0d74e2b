"""Concrete and reinforcing steel: characteristic values and design strengths."""

from dataclasses import dataclass
from math import log
from typing import ClassVar

MPA = 1e6


@dataclass(frozen=True, slots=True)
class Concrete:
    """Normal-weight concrete named by its cylinder strength, by EN 1992-1-1.

    Parameters
    ----------
    fck : float
        Characteristic cylinder strength [Pa], 12 to 90 MPa.
    weight : float
        Weight density of reinforced concrete [N/m3]; 25 kN/m3 by EN 1991-1-1 table A.1 (24 + 1, from memory).
    alpha, gamma : float
        Factors of the design strength alpha_cc fck / gamma_c: 1.0 and 1.5 are the recommended values (EN
        1992-1-1, 3.1.6 and 2.4.2.4); national annexes choose alpha_cc from 0.8 to 1.0.

    Examples
    --------
    >>> c = Concrete(30e6)
    >>> round(c.fctm / 1e6, 3), round(c.ecm / 1e9, 3), c.fcd / 1e6
    (2.896, 32.837, 20.0)
    """

    fck: float
    weight: float = 25e3
    alpha: float = 1.0
    gamma: float = 1.5

    modulus_words: ClassVar[str] = "E_cm of EN 1992-1-1:2004, table 3.1"
    cracking_words: ClassVar[str] = "mean tensile strength f_ctm"
    cracking_source: ClassVar[str] = "EN 1992-1-1:2004, table 3.1"
    least_words: ClassVar[str] = "max(0.26 f_ctm / f_yk, 0.0013) b_t d"
    least_source: ClassVar[str] = "EN 1992-1-1, 9.2.1.1(1)"

    def __post_init__(self) -> None:
        if not 12 * MPA <= self.fck <= 90 * MPA:
            raise ValueError(f"fck: got {self.fck / MPA:g} MPa; EN 1992-1-1 table 3.1 covers 12 to 90 MPa")
        for name, low, high in (("alpha", 0.5, 1.0), ("gamma", 1.0, 3.0)):
            if not low <= getattr(self, name) <= high:
                raise ValueError(f"{name}: got {getattr(self, name):g}; must be {low:g} to {high:g}")

    @property
    def fcm(self) -> float:
        """Mean strength, fck + 8 MPa (EN 1992-1-1 table 3.1) [Pa]."""
        return self.fck + 8 * MPA

    @property
    def fcd(self) -> float:
        """Design strength in compression, alpha_cc fck / gamma_c (EN 1992-1-1, 3.1.6) [Pa]."""
        return self.alpha * self.fck / self.gamma

    @property
    def fctm(self) -> float:
        """Mean axial tensile strength (EN 1992-1-1 table 3.1) [Pa]."""
        fck = self.fck / MPA
        mean: float = 0.30 * fck ** (2 / 3) if fck <= 50 else 2.12 * log(1 + self.fcm / MPA / 10)
        return mean * MPA

    @property
    def fctk(self) -> float:
        """Tensile strength that 5 % fall below, 0.7 fctm (EN 1992-1-1 table 3.1) [Pa]."""
        return 0.7 * self.fctm

    @property
    def cracking(self) -> float:
        """Tension at which the concrete is taken to crack, fctm [Pa]."""
        return self.fctm

    @property
    def ecm(self) -> float:
        """Secant modulus, 22 (fcm/10)^0.3 GPa (EN 1992-1-1 table 3.1) [Pa]."""
        modulus: float = 22e9 * (self.fcm / MPA / 10) ** 0.3
        return modulus

    def shear_modulus(self, poisson: float = 0.2) -> float:
        """Shear modulus of uncracked concrete, E / 2(1 + nu), nu = 0.2 (EN 1992-1-1 3.1.3(4)) [Pa]."""
        return self.ecm / (2.0 * (1.0 + poisson))

    def least_tension(self, fyk: float) -> float:
        """Least ratio of tension steel, 0.26 fctm / fyk >= 0.0013 (EN 1992-1-1, 9.2.1.1(1))."""
        return max(0.26 * self.fctm / fyk, 0.0013)

    def least_sum(self, fyk: float) -> str:
        """Write that ratio with its numbers."""
        return f"max(0.26 x {self.fctm / MPA:.2f} / {fyk / MPA:g}, 0.0013)"


@dataclass(frozen=True, slots=True)
class AmericanConcrete(Concrete):
    """The same by ACI 318-19: modulus, cracking and least steel (from memory).

    What ACI words otherwise (mean strengths, anchorage) stays that of EN 1992-1-1.

    Examples
    --------
    >>> c = AmericanConcrete(30e6)
    >>> round(c.ecm / 1e9, 3), round(c.cracking / 1e6, 3), c.least_tension(500e6)
    (25.743, 3.396, 0.0028)
    """

    modulus_words: ClassVar[str] = "E_c = 4700 sqrt(f'c) of ACI 318-19, 19.2.2"
    cracking_words: ClassVar[str] = "modulus of rupture f_r = 0.62 sqrt(f'c)"
    cracking_source: ClassVar[str] = "ACI 318-19, 19.2.3 (from memory)"
    least_words: ClassVar[str] = "max(0.25 sqrt(f'c), 1.4 MPa) / f_y b_t d"
    least_source: ClassVar[str] = "ACI 318-19, 9.6.1.2 (from memory), b_t for b_w: a flange in tension counts"

    @property
    def ecm(self) -> float:
        """Modulus, 4700 sqrt(f'c) MPa (ACI 318-19, 19.2.2, from memory) [Pa]."""
        return american_modulus(self.fck)

    @property
    def cracking(self) -> float:
        """Modulus of rupture, 0.62 sqrt(f'c) MPa (ACI 318-19, 19.2.3, from memory) [Pa]."""
        return american_rupture(self.fck)

    def least_tension(self, fyk: float) -> float:
        """Least ratio of tension steel, max(0.25 sqrt(f'c), 1.4 MPa) / fy (ACI 318-19, 9.6.1.2, memory)."""
        stress: float = max(0.25 * (self.fck / MPA) ** 0.5, 1.4) * MPA
        return stress / fyk

    def least_sum(self, fyk: float) -> str:
        """Write that ratio with its numbers."""
        return f"max(0.25 x {(self.fck / MPA) ** 0.5:.3f}, 1.4) / {fyk / MPA:g}"


@dataclass(frozen=True, slots=True)
class Steel:
    """Reinforcing steel by its characteristic yield strength [Pa]."""

    fyk: float = 500e6
    modulus: float = 200e9

    def __post_init__(self) -> None:
        if not 200 * MPA <= self.fyk <= 700 * MPA:
            raise ValueError(f"fyk: got {self.fyk / MPA:g} MPa; reinforcing steel has 200 to 700 MPa")


STEEL_DENSITY = 7850.0
"""Density of steel (EN 1991-1-1 table A.4: 77.0 to 78.5 kN/m3, from memory) [kg/m3]."""


@dataclass(frozen=True, slots=True)
class Strand:
    """Prestressing strand; the default is seven wires, 15.7 mm, 1860 MPa (prEN 10138-3, from memory).

    Parameters
    ----------
    area : float
        Steel area of one strand [m2].
    fpk, fp01k : float
        Characteristic strength and 0.1 % proof stress [Pa].
    modulus : float
        [Pa]; 195 GPa by EN 1992-1-1 3.3.6(3).

    Examples
    --------
    >>> round(Strand().jacking_stress / 1e6, 1), round(Strand().transfer_stress / 1e6, 1)
    (1476.0, 1394.0)
    """

    area: float = 150e-6
    fpk: float = 1860e6
    fp01k: float = 1640e6
    modulus: float = 195e9

    @property
    def jacking_stress(self) -> float:
        """Largest stress at the jack, min(0.8 fpk, 0.9 fp0.1k) (EN 1992-1-1 5.10.2.1) [Pa]."""
        return min(0.8 * self.fpk, 0.9 * self.fp01k)

    @property
    def transfer_stress(self) -> float:
        """Largest stress just after transfer, min(0.75 fpk, 0.85 fp0.1k) (EN 1992-1-1 5.10.3) [Pa]."""
        return min(0.75 * self.fpk, 0.85 * self.fp01k)


PSI = 6894.757293168361
"""One pound-force per square inch [Pa]."""


def american_modulus(strength: float, *, form: str = "SI") -> float:
    """Modulus of normal-weight concrete by ACI 318, 19.2.2 (from memory) [Pa].

    SI form 4700 sqrt(f'c) MPa, US form 57 000 sqrt(f'c) psi; they differ by 0.7 %.

    Parameters
    ----------
    strength : float
        Specified strength f'c [Pa].
    form : str
        ``SI`` or ``US``.

    Examples
    --------
    >>> round(american_modulus(25e6) / 1e6), round(american_modulus(4000 * PSI, form="US") / PSI)
    (23500, 3604997)
    """
    return _american(strength, form, 4700.0, 57_000.0)


def american_rupture(strength: float, *, form: str = "SI") -> float:
    """Modulus of rupture by ACI 318, 19.2.3 (from memory): 0.62 sqrt(f'c) MPa, 7.5 sqrt(f'c) psi [Pa].

    Examples
    --------
    >>> round(american_rupture(25e6) / 1e6, 3)
    3.1
    """
    return _american(strength, form, 0.62, 7.5)


def _american(strength: float, form: str, si: float, us: float) -> float:
    units = {"SI": (si, MPA), "US": (us, PSI)}
    if form not in units:
        raise ValueError(f"form: got {form!r}; must be SI or US")
    factor, unit = units[form]
    root: float = (strength / unit) ** 0.5
    return factor * root * unit


def least_tension_steel(concrete: Concrete, steel: Steel) -> float:
    """Least ratio of tension steel by the standard that the concrete goes by.

    Examples
    --------
    >>> round(100 * least_tension_steel(Concrete(30e6), Steel()), 4)
    0.1506
    """
    return concrete.least_tension(steel.fyk)


def least_stirrups(concrete: Concrete, steel: Steel) -> float:
    """Least ratio of shear steel in beams, 0.08 sqrt(fck) / fyk (EN 1992-1-1, 9.2.2(5)).

    Examples
    --------
    >>> round(1e4 * least_stirrups(Concrete(25e6), Steel()), 6)
    8.0
    """
    ratio: float = 0.08 * (concrete.fck / MPA) ** 0.5 / (steel.fyk / MPA)
    return ratio
