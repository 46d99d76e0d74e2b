"""Design strengths and stress blocks by EN 1992-1-1 and ACI 318."""

from dataclasses import dataclass

from longvault.constraints.materials import MPA, Concrete, Steel


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
        Reinforcement stress under ultimate loads, in bending and tension [Pa].
    shear_steel : float
        The same of mesh and stirrups that take shear [Pa].
    words_shear_steel : str
        Symbol and size of the latter for formulas.
    """

    compression: float
    compression_service: float
    strut: float
    steel: float
    shear_steel: float
    words_shear_steel: str
    source_compression: str
    source_service: str
    source_strut: str
    source_steel: str
    source_shear_steel: str


def eurocode_strengths(concrete: Concrete, steel: Steel) -> DesignStrengths:
    """Design strengths by EN 1992-1-1:2004 with alpha_cc and gamma_c of the concrete, 1.15 for steel.

    Examples
    --------
    >>> s = eurocode_strengths(Concrete(30e6), Steel())
    >>> round(s.compression / 1e6, 2), round(s.strut / 1e6, 2), round(s.steel / 1e6, 1)
    (20.0, 5.28, 434.8)
    """
    fcd = concrete.fcd
    return DesignStrengths(
        compression=fcd,
        compression_service=0.6 * concrete.fck,
        strut=0.5 * 0.6 * (1 - concrete.fck / (250 * MPA)) * fcd,
        steel=steel.fyk / 1.15,
        shear_steel=steel.fyk / 1.15,
        words_shear_steel="f_yd",
        source_compression=f"EN 1992-1-1:2004, 3.1.6 (fcd = {_design(concrete)})",
        source_service="EN 1992-1-1:2004, 7.2(2) (0.6 fck)",
        source_strut="EN 1992-1-1:2004, 6.2.3(3), struts at 45 degrees (from memory)",
        source_steel="EN 1992-1-1:2004, 3.2.7 (fyd = fyk / 1.15)",
        source_shear_steel="EN 1992-1-1:2004, 3.2.7 (fyd = fyk / 1.15)",
    )


def _design(concrete: Concrete) -> str:
    share = "" if concrete.alpha == 1.0 else f"{concrete.alpha:g} "
    return f"{share}fck / {concrete.gamma:g}"


def american_strengths(concrete: Concrete, steel: Steel) -> DesignStrengths:
    """Design strengths by ACI 318-19 (from memory), reduction factors on the resistance side.

    Compression 0.65 x 0.85 f'c, steel 0.9 fy, in shear 0.75 fy with fy at most 550 MPa (welded mesh, 20.2.2),
    section limit in shear 0.75 x 0.83 sqrt(f'c) MPa, service compression 0.45 f'c (the working-stress value
    of older editions).

    Examples
    --------
    >>> s = american_strengths(Concrete(30e6), Steel(420e6))
    >>> round(s.compression / 1e6, 2), round(s.strut / 1e6, 2), round(s.steel / 1e6, 1)
    (16.57, 3.41, 378.0)
    >>> s.shear_steel / 1e6
    315.0
    """
    return DesignStrengths(
        compression=0.65 * 0.85 * concrete.fck,
        compression_service=0.45 * concrete.fck,
        strut=0.75 * 0.83 * (concrete.fck / MPA) ** 0.5 * MPA,
        steel=0.9 * steel.fyk,
        shear_steel=0.75 * min(steel.fyk, 550 * MPA),
        words_shear_steel="(0.75 f_y)",
        source_compression="ACI 318-19, 22.2.2 and 21.2 (0.65 x 0.85 f'c, from memory)",
        source_service="0.45 f'c, working-stress practice (from memory)",
        source_strut="ACI 318-19, 22.5.1.2 (0.75 x 0.83 sqrt f'c, from memory)",
        source_steel="ACI 318-19, 21.2 (0.9 fy, from memory)",
        source_shear_steel="ACI 318-19, 21.2 and 20.2.2 (0.75 fy, fy <= 550 MPa, from memory)",
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
    """Block of EN 1992-1-1:2004, 3.1.7(3) with fcd of the concrete, strain eps_cu3 of table 3.1.

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
        stress=(1.0 - over / 200.0) * concrete.fcd,
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
