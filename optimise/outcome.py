"""What a search returns: the front, why it stopped, how it grew, the nearest design if nothing holds."""

from dataclasses import dataclass
from enum import Enum

from longvault.optimise.archive import Archive
from longvault.optimise.history import History
from longvault.optimise.problem import Designs
from longvault.optimise.settings import SearchSettings
from longvault.optimise.state import SearchState


class Status(Enum):
    """How a search ended; the value is the sentence for the user."""

    BUDGET = "The budget of evaluations is spent."
    STALL = "The front has stopped growing: its hypervolume gained less than the stall limit."
    TIME = "The time limit is reached; the same number of evaluations gives the same result again."
    USER = "Stopped by the user; the result holds everything found so far and can be resumed."
    EXHAUSTED = "No design is left that has not been tried near those already found: the steps allow no more."
    NOTHING_FEASIBLE = "No design holds every limit; the nearest one is reported with the limits it fails."

    @property
    def sentence(self) -> str:
        """The full sentence for a user."""
        return self.value


@dataclass(frozen=True, slots=True, eq=False)
class Outcome:
    """Result of a search; complete whether or not anything feasible was found.

    Parameters
    ----------
    status : Status
        ``NOTHING_FEASIBLE`` when the front is empty, else the reason it stopped.
    stopped : Status
        The reason it stopped, whether or not anything was found.
    front : Designs
        Non-dominated feasible designs, sorted by the objectives, first column first.
    archive : Archive
        The same designs in the order they were met, with the resolution if they were thinned.
    history : History
        Growth over the evaluations.
    nearest : Designs
        One design: with an empty front the one of least violation; else the first of the front.
    evaluations : int
        Evaluations made. A budget of this many, with the settings as resolved, repeats the run, whatever
        stopped it.
    feasible_share : float
        Share of the evaluated designs that were found to hold every limit. Where costly checks are staged, a
        design that others beat anyway is not looked at closely, and so does not count.
    seed : int
        The seed in use, also when it was drawn.
    settings : SearchSettings
        As resolved.
    state : SearchState
        To save, resume or extend the run.
    """

    status: Status
    stopped: Status
    front: Designs
    archive: Archive
    history: History
    nearest: Designs
    evaluations: int
    feasible_share: float
    seed: int
    settings: SearchSettings
    state: SearchState
