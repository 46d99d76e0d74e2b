"""Loads on one module and their combinations."""

from collections.abc import Callable
from dataclasses import dataclass

from longvault.constraints.materials import (
    Concrete,
    DesignStrengths,
    Steel,
    american_strengths,
    eurocode_strengths,
)
from longvault.sections.symbols import Array


@dataclass(frozen=True, slots=True)
class Loads:
    """Characteristic loads, all vertical.

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
    """

    finish: float = 0.0
    snow: float = 0.0
    maintenance: float = 0.0
    glass: float = 0.0
    services: float = 0.0


@dataclass(frozen=True, slots=True)
class Combination:
    """Factors on permanent load, snow and maintenance load; ``state`` says what it is for."""

    name: str
    state: str
    permanent: float
    snow: float
    maintenance: float


@dataclass(frozen=True, slots=True)
class Standard:
    """A family of standards: combinations of actions and the design strengths that go with them."""

    key: str
    combinations: tuple[Combination, ...]
    strengths: Callable[[Concrete, Steel], DesignStrengths]


ULTIMATE, CHARACTERISTIC, SUSTAINED = "ultimate", "characteristic", "sustained"

STANDARDS = {
    # EN 1990:2002, (6.10), (6.14b), (6.16b); psi_2 of snow = 0 below 1000 m (table A1.1); snow and imposed
    # roof load are not taken together (EN 1991-1-1, 3.3.2). From memory.
    "EN 1990:2002": Standard(
        "EN 1990:2002",
        (
            Combination("1.35 G + 1.5 snow", ULTIMATE, 1.35, 1.5, 0.0),
            Combination("1.35 G + 1.5 maintenance", ULTIMATE, 1.35, 0.0, 1.5),
            Combination("G + snow", CHARACTERISTIC, 1.0, 1.0, 0.0),
            Combination("G + maintenance", CHARACTERISTIC, 1.0, 0.0, 1.0),
            Combination("G (quasi-permanent)", SUSTAINED, 1.0, 0.0, 0.0),
        ),
        eurocode_strengths,
    ),
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

    @property
    def permanent(self) -> Array:
        """Everything that is always there (...) [N/m]."""
        return self.self_weight + self.finish + self.glass + self.services

    def combined(self, combination: Combination) -> Array:
        """Factored load per metre of span (...) [N/m]."""
        variable = combination.snow * self.snow + combination.maintenance * self.maintenance
        return combination.permanent * self.permanent + variable


def line_loads(
    loads: Loads, *, area: Array, surface: Array, opening: Array, pitch: float, weight: float
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
    )
