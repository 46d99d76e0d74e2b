"""Loads on one module and their combinations."""

from collections.abc import Callable
from dataclasses import dataclass

from longvault.constraints.combinations import (
    AMERICAN,
    CHARACTERISTIC,
    EQUILIBRIUM,
    FREQUENT,
    SNOW_PSI,
    SUSTAINED,
    ULTIMATE,
    Combination,
    european,
)
from longvault.constraints.design_strengths import DesignStrengths, american_strengths, eurocode_strengths
from longvault.constraints.materials import AmericanConcrete, Concrete, Steel
from longvault.sections.symbols import Array

__all__ = [
    "CHARACTERISTIC",
    "DRIFTS",
    "EQUILIBRIUM",
    "FREQUENT",
    "STANDARDS",
    "SUSTAINED",
    "ULTIMATE",
    "Combination",
    "LineLoads",
    "Loads",
    "Standard",
    "Wind",
    "european_standard",
    "line_loads",
]

DRIFTS = ("", "cylindrical", "valley")
"""Which drifted snow goes with the uniform one: none, that of curved roofs, that of the valleys of a row."""


@dataclass(frozen=True, slots=True)
class Wind:
    """One case of wind, as pressures the user gives: no standard's zones are generated.

    Parameters
    ----------
    name : str
        How tables call it.
    zones : tuple of (from, to, pressure)
        Ends of each zone as shares of the bay from its left edge, and the net pressure square to the
        surface, onto its upper face positive (suction is negative) [N/m2].

    Examples
    --------
    >>> Wind("uplift", ((0.0, 1.0, -1300.0),)).zones[0][2]
    -1300.0
    """

    name: str
    zones: tuple[tuple[float, float, float], ...]

    def __post_init__(self) -> None:
        for low, high, _ in self.zones:
            if not 0.0 <= low < high <= 1.0:
                raise ValueError(
                    f"zones of wind {self.name!r}: got {low:g} to {high:g}; must rise within 0 to 1"
                )

    @property
    def jumps(self) -> tuple[tuple[float, float], ...]:
        """Places where the pressure changes, as shares of the bay, and by how much it falls there [N/m2].

        The two edges of the bay, where neighbours are alike, count as one place, the first.

        Examples
        --------
        >>> Wind("one side", ((0.0, 0.5, -1300.0),)).jumps
        ((0.0, 1300.0), (0.5, -1300.0))
        """
        falls: dict[float, float] = {0.0: 0.0}
        for low, high, pressure in self.zones:
            for place, fall in ((low, -pressure), (0.0 if high == 1.0 else high, pressure)):
                falls[place] = falls.get(place, 0.0) + fall
        return tuple(sorted(falls.items()))

    @property
    def one_sided(self) -> bool:
        """Whether it presses otherwise on one part of the bay than on another, and so pushes sideways."""
        return any(fall != 0.0 for place, fall in self.jumps if place > 0.0)


@dataclass(frozen=True, slots=True)
class Loads:
    """Characteristic loads, all vertical but for wind.

    Parameters
    ----------
    finish : float
        Insulation and membrane, per square metre of **surface** (developed) [N/m2].
    snow : float
        Snow on the roof, shape factor included, per square metre of **plan** [N/m2].
    maintenance : float
        Imposed load on the roof, per square metre of plan; not taken together with snow [N/m2].
    glass : float
        Glazing with its frame, per square metre of glass [N/m2].
    services : float
        Pipes, cables, lights hung from the module, per metre of span [N/m].
    services_x : float
        Where they hang, from the middle of the module [m].
    drift : str
        One of `DRIFTS`: which drifted snow is looked at beside the uniform one (EN 1991-1-3).
    ground_snow : float
        Snow on the ground, for the drifted cases [N/m2].
    wind : tuple of Wind
        Cases of wind, each by itself.
    gutter_fall : float
        Fall of the gutters (0.01 is 1 in 100), made with screed; 0 for none.
    outlets : int
        Outlets along a gutter: one at an end, two at the ends, more evenly between.
    water : float
        Depth of water over the lowest place when the outlets are blocked, up to the overflow [m]; 0 leaves
        that case out.
    erection : float or None
        Load on plan while a module stands alone, unpropped, under its own weight [N/m2]; None leaves that
        state out.
    """

    finish: float = 0.0
    snow: float = 0.0
    maintenance: float = 0.0
    glass: float = 0.0
    services: float = 0.0
    services_x: float = 0.0
    drift: str = ""
    ground_snow: float = 0.0
    wind: tuple[Wind, ...] = ()
    gutter_fall: float = 0.0
    outlets: int = 2
    water: float = 0.0
    erection: float | None = None

    def __post_init__(self) -> None:
        if self.drift not in DRIFTS:
            raise ValueError(f"drift: got {self.drift!r}; must be one of {', '.join(map(repr, DRIFTS))}")

    @property
    def pushes(self) -> bool:
        """Whether any wind pushes sideways."""
        return any(wind.one_sided for wind in self.wind)


@dataclass(frozen=True, slots=True)
class Standard:
    """A family of standards: combinations of actions, design strengths, concrete that go with them.

    ``combinations`` are those that can govern a single span under snow and maintenance alone; ``every``
    holds the full list, with wind, standing water, relieving permanent load and equilibrium; ``note`` is what
    a reader must know of its factors.
    """

    key: str
    combinations: tuple[Combination, ...]
    strengths: Callable[[Concrete, Steel], DesignStrengths]
    every: tuple[Combination, ...] = ()
    concrete: type[Concrete] = Concrete
    note: str = ""


def european_standard(snow_psi: tuple[float, float, float] = SNOW_PSI) -> Standard:
    """EN 1990 and EN 1992-1-1 with psi_0, psi_1, psi_2 of snow.

    Snow and imposed roof load are not taken together (EN 1991-1-1, 3.3.2).

    Examples
    --------
    >>> european_standard((0.7, 0.5, 0.2)).combinations[-1].name
    'G + 0.2 snow (quasi-permanent)'
    """
    every = european(snow_psi)
    short = {"1.35 G + 1.5 snow", "1.35 G + 1.5 maintenance", "G + snow", "G + maintenance"}
    shown = ", ".join(f"{psi:g}" for psi in snow_psi)
    return Standard(
        "EN 1990:2002",
        tuple(c for c in every if c.state == SUSTAINED or (c.name in short and c.state != EQUILIBRIUM)),
        eurocode_strengths,
        every,
        note=f"psi_0, psi_1, psi_2 of EN 1990, table A1.1: snow {shown} (0.5, 0.2, 0 for sites up to 1000 m; "
        "0.7, 0.5, 0.2 above, and in northern Europe), wind 0.6, 0.2, 0, maintenance 0. Equilibrium by table "
        "A1.2(A): 1.1 G or 0.9 G, field by field.",
    )


STANDARDS = {
    "EN 1990:2002": european_standard(),
    # ASCE 7-16, 2.3.1 (1, 3); service D + S and D + Lr as its commentary to appendix C. From memory.
    "ASCE 7-16": Standard(
        "ASCE 7-16",
        (
            Combination("1.4 D", ULTIMATE, 1.4, 0.0, 0.0),
            Combination("1.2 D + 1.6 S", ULTIMATE, 1.2, 1.6, 0.0),
            Combination("1.2 D + 1.6 Lr", ULTIMATE, 1.2, 0.0, 1.6),
            Combination("D + S", CHARACTERISTIC, 1.0, 1.0, 0.0),
            Combination("D + Lr", CHARACTERISTIC, 1.0, 0.0, 1.0),
            Combination("D (sustained)", SUSTAINED, 1.0, 0.0, 0.0),
        ),
        american_strengths,
        AMERICAN,
        AmericanConcrete,
        note="ASCE 7-16, 2.3.1 for strength, 2.4.1 for service; R: rain behind blocked outlets.",
    ),
}


@dataclass(frozen=True, slots=True, eq=False)
class LineLoads:
    """Load of one module per metre of span, by source; each (...) [N/m]."""

    self_weight: Array
    finish: Array
    glass: Array
    services: float
    snow: float
    maintenance: float
    screed: Array | float = 0.0

    @property
    def permanent(self) -> Array:
        """Everything that is always there (...) [N/m]."""
        return self.self_weight + self.finish + self.glass + self.services + self.screed

    def combined(self, combination: Combination) -> Array:
        """Factored load per metre of span (...) [N/m]."""
        variable = combination.snow * self.snow + combination.maintenance * self.maintenance
        return combination.permanent * self.permanent + variable


def line_loads(
    loads: Loads,
    *,
    area: Array,
    surface: Array,
    opening: Array,
    pitch: float,
    weight: float,
    screed: Array | float = 0.0,
) -> LineLoads:
    """Sum the loads of one module per metre of span.

    Self-weight follows the section, finishes its developed surface, snow and maintenance the plan of the
    whole bay (what falls on the glass hangs on the module too), glazing the clear opening.

    Parameters
    ----------
    loads : Loads
        Characteristic loads.
    area, surface, opening : array (...)
        Concrete area [m2], developed roof surface per metre of span [m], clear opening [m].
    pitch : float
        Bay [m].
    weight : float
        Weight density of concrete [N/m3].
    screed : array (...) or float
        What makes the fall of the gutters [N/m].

    Examples
    --------
    >>> import numpy as np
    >>> q = line_loads(Loads(finish=600.0, snow=640.0), area=np.array(0.5), surface=np.array(6.0),
    ...                opening=np.array(0.0), pitch=5.0, weight=25e3)
    >>> float(q.permanent), q.snow
    (16100.0, 3200.0)
    """
    return LineLoads(
        self_weight=weight * area,
        finish=loads.finish * surface,
        glass=loads.glass * opening,
        services=loads.services,
        snow=loads.snow * pitch,
        maintenance=loads.maintenance * pitch,
        screed=screed,
    )
