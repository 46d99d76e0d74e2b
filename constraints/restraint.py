"""Temperature and shrinkage along long rows: how much a row moves, what holding it costs, where joints go."""

from dataclasses import dataclass

from longvault.constraints.materials import Concrete


@dataclass(frozen=True, slots=True)
class Climate:
    """What shortens and lengthens a roof; all of it the user's to change.

    Parameters
    ----------
    expansion : float
        Per kelvin; 1e-5 by EN 1992-1-1, 3.1.3(5).
    warming, cooling : float
        Mean temperature above and below that of casting [K]; common practice.
    shrinkage : float
        Final shrinkage strain, positive; 0.3 per mille for a thin outdoor member (from memory, of the order
        of EN 1992-1-1, table 3.2).
    creep : float
        Creep coefficient that relieves slow strains (EN 1992-1-1, 3.1.4; from memory).
    """

    expansion: float = 1e-5
    warming: float = 20.0
    cooling: float = 25.0
    shrinkage: float = 3e-4
    creep: float = 2.5

    @property
    def shortening(self) -> float:
        """Largest shortening strain: cooling and shrinkage.

        Examples
        --------
        >>> round(Climate().shortening, 9)
        0.00055
        """
        return self.expansion * self.cooling + self.shrinkage

    @property
    def lengthening(self) -> float:
        """Largest lengthening strain: warming of young concrete."""
        return self.expansion * self.warming


@dataclass(frozen=True, slots=True)
class Restraint:
    """A row of bays between two lines that hold it.

    Parameters
    ----------
    length : float
        Of the row [m].
    movement : float
        Shortening of the whole row when nothing holds it [m].
    force : float
        Tension when it is held, by the degree of restraint, creep counted [N].
    stress : float
        Of the concrete under that force [Pa].
    cracks : bool
        Whether that is more than the mean tensile strength: then steel carries it and the force drops.
    joint_spacing : float
        Largest distance of joints that keeps the movement at each joint within the limit [m].
    """

    length: float
    movement: float
    force: float
    stress: float
    cracks: bool
    joint_spacing: float

    @property
    def note(self) -> str:
        """Sentence for the sheet."""
        held = "cracks where it is held" if self.cracks else "may be held without cracking"
        return (
            f"{self.length:.0f} m shorten by {1e3 * self.movement:.0f} mm if free; held, "
            f"{1e-3 * self.force:.0f} kN ({1e-6 * self.stress:.1f} MPa): {held}; "
            f"joints at most {self.joint_spacing:.0f} m apart."
        )


def restraint(
    *,
    length: float,
    area: float,
    concrete: Concrete,
    climate: Climate | None = None,
    degree: float = 1.0,
    movement_max: float = 0.020,
) -> Restraint:
    """Movement, force and joint spacing of a row that temperature and shrinkage shorten.

    Shrinkage and cooling come slowly: stress = degree x strain x E_cm / (1 + creep) (EN 1992-1-1, (7.20);
    a screen: the degree of restraint is the user's, 1 for ends that do not give). A joint takes the movement
    of one length between joints; 20 mm is common practice.

    Parameters
    ----------
    length : float
        Length of the row, across the bays or along several spans [m].
    area : float
        Concrete cut across that direction [m2].
    degree : float
        Share of the movement that is prevented, 0 to 1.
    movement_max : float
        What a joint may open [m].

    Examples
    --------
    >>> row = restraint(length=54.0, area=2.0, concrete=Concrete(30e6))
    >>> round(row.movement, 4), round(row.stress / 1e6, 2), row.cracks, round(row.joint_spacing, 1)
    (0.0297, 5.16, True, 36.4)
    """
    climate = climate or Climate()
    if not 0.0 <= degree <= 1.0:
        raise ValueError(f"degree: got {degree:g}; must be 0 (free) to 1 (held)")
    for name, value in (("length", length), ("area", area), ("movement_max", movement_max)):
        if not value > 0:
            raise ValueError(f"{name}: got {value:g}; must be above 0")
    strain = climate.shortening
    stress = degree * strain * concrete.ecm / (1.0 + climate.creep)
    return Restraint(
        length=length,
        movement=strain * length,
        force=stress * area,
        stress=stress,
        cracks=stress > concrete.cracking,
        joint_spacing=movement_max / strain,
    )
