"""What every family of sections offers: named variables, strips for a batch, designs to start from."""

from dataclasses import dataclass
from typing import Protocol, runtime_checkable

from longvault.sections.section_file import Joint
from longvault.sections.strips import Strips
from longvault.sections.symbols import Array


@dataclass(frozen=True, slots=True)
class Variable:
    """One number a family is shaped by.

    Parameters
    ----------
    name : str
        Identifier, used in briefs and tables: ``keel_width``.
    lower, upper : float
        Range in SI units.
    unit : str
        SI unit (``m``, ``rad``) or ``""`` for a ratio.
    meaning : str
        One plain sentence fragment for tables and help.
    step : float
        Values are rounded to multiples of this inside the search; 0 for a continuous variable.
    """

    name: str
    lower: float
    upper: float
    unit: str
    meaning: str
    step: float = 0.0

    def __post_init__(self) -> None:
        if not self.lower <= self.upper:
            raise ValueError(f"variable {self.name}: range {self.lower} to {self.upper} is empty")


@runtime_checkable
class Family(Protocol):
    """A family of sections for one bay of given pitch; implementations are frozen dataclasses."""

    @property
    def key(self) -> str:
        """Name in briefs: ``gull-wing``, ``vault`` ..."""

    @property
    def variables(self) -> tuple[Variable, ...]:
        """The d variables, in the order of the columns of ``x``."""

    def strips(self, x: Array) -> Strips:
        """Section strips for variables x (..., d); every row uses the same connectivity and parts."""

    @property
    def joints(self) -> tuple[Joint, ...]:
        """Joints of the strips with the neighbours in a row."""

    def starts(self) -> Array:
        """Designs (k, d) on named curves from which a search may start."""


@dataclass(frozen=True, slots=True)
class Setting:
    """What a family must know of the roof to offer sensible ranges.

    Parameters
    ----------
    pitch : float
        Bay, the distance at which modules repeat [m].
    height : float
        Largest overall height [m].
    thickness : float
        Least thickness of roof surface [m].
    """

    pitch: float
    height: float
    thickness: float
