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
    def fctk(self) -> float:
        """Tensile strength that 5 % fall below, 0.7 fctm (EN 1992-1-1 table 3.1) [Pa]."""
        return 0.7 * self.fctm

    @property
    def ecm(self) -> float:
        """Secant modulus, 22 (fcm/10)^0.3 GPa (EN 1992-1-1 table 3.1) [Pa]."""
        modulus: float = 22e9 * (self.fcm / MPA / 10) ** 0.3
        return modulus

    def shear_modulus(self, poisson: float = 0.2) -> float:
        """Shear modulus of uncracked concrete, Ecm / 2(1 + nu), nu = 0.2 (EN 1992-1-1 3.1.3(4)) [Pa]."""
        return self.ecm / (2.0 * (1.0 + poisson))


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


@dataclass(frozen=True, slots=True)
class StressBlock:
    """Rectangular block of concrete compression under ultimate loads.

    Parameters
    ----------
    depth_ratio : float
        Depth of the block over depth of the neutral axis.
    stress : float
        Stress in the block [Pa].
    strain : float
        Strain of the outermost fibre.
    """

    depth_ratio: float
    stress: float
    strain: float
    source: str


def eurocode_block(concrete: Concrete) -> StressBlock:
    """Block of EN 1992-1-1:2004, 3.1.7(3) with fcd = fck / 1.5, strain eps_cu3 of table 3.1.

    Examples
    --------
    >>> b = eurocode_block(Concrete(30e6))
    >>> b.depth_ratio, b.stress / 1e6, b.strain
    (0.8, 20.0, 0.0035)
    """
    over = max(concrete.fck / MPA - 50.0, 0.0)
    strain = 3.5e-3 if over == 0.0 else 2.6e-3 + 35e-3 * ((90.0 - concrete.fck / MPA) / 100.0) ** 4
    return StressBlock(
        depth_ratio=0.8 - over / 400.0,
        stress=(1.0 - over / 200.0) * concrete.fck / 1.5,
        strain=strain,
        source="EN 1992-1-1:2004, 3.1.7(3) and table 3.1",
    )


def american_block(concrete: Concrete) -> StressBlock:
    """Block of ACI 318-19, 22.2.2.4 (from memory), the factor 0.9 of tension-controlled bending on it.

    Depth ratio beta_1 = 0.85 up to 28 MPa, less 0.05 for each further 7 MPa, at least 0.65. Steel takes
    0.9 fy of `american_strengths`, so that the moment carries 0.9 as a whole.

    Examples
    --------
    >>> b = american_block(Concrete(35e6))
    >>> round(b.depth_ratio, 6), round(b.stress / 1e6, 3)
    (0.8, 26.775)
    """
    return StressBlock(
        depth_ratio=min(max(0.85 - 0.05 * (concrete.fck / MPA - 28.0) / 7.0, 0.65), 0.85),
        stress=0.9 * 0.85 * concrete.fck,
        strain=3.0e-3,
        source="ACI 318-19, 22.2.2.4 (from memory)",
    )


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
    """Least ratio of tension steel, 0.26 fctm / fyk >= 0.0013 (EN 1992-1-1, 9.2.1.1(1)).

    Examples
    --------
    >>> round(100 * least_tension_steel(Concrete(30e6), Steel()), 4)
    0.1506
    """
    return max(0.26 * concrete.fctm / steel.fyk, 0.0013)


def least_stirrups(concrete: Concrete, steel: Steel) -> float:
    """Least ratio of shear steel in beams, 0.08 sqrt(fck) / fyk (EN 1992-1-1, 9.2.2(5)).

    Examples
    --------
    >>> round(1e4 * least_stirrups(Concrete(25e6), Steel()), 6)
    8.0
    """
    ratio: float = 0.08 * (concrete.fck / MPA) ** 0.5 / (steel.fyk / MPA)
    return ratio
