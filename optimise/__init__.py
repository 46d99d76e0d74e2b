"""The search: variables, archive, fronts and outcomes.

A search knows nothing of roofs: it takes a `Problem` (bounds, steps, objectives with their sense, limits
as margins, one batched function) and returns an `Outcome` (front, history, nearest design, reason).
"""

from longvault.optimise.archive import Archive
from longvault.optimise.front import hypervolume, nondominated
from longvault.optimise.history import History
from longvault.optimise.outcome import Outcome, Status
from longvault.optimise.picks import best_under, by_weights, clusters, knee, medoids, spread
from longvault.optimise.problem import DELIVERED_MARGIN, Designs, Objective, Problem, Scores
from longvault.optimise.search import Progress, search
from longvault.optimise.settings import SearchSettings
from longvault.optimise.state import SearchState, StateError, load_state, save_state, write_atomically
from longvault.optimise.workers import MapBlocks, process_workers

__all__ = [
    "DELIVERED_MARGIN",
    "Archive",
    "Designs",
    "History",
    "MapBlocks",
    "Objective",
    "Outcome",
    "Problem",
    "Progress",
    "Scores",
    "SearchSettings",
    "SearchState",
    "StateError",
    "Status",
    "best_under",
    "by_weights",
    "clusters",
    "hypervolume",
    "knee",
    "load_state",
    "medoids",
    "nondominated",
    "process_workers",
    "save_state",
    "search",
    "spread",
    "write_atomically",
]
