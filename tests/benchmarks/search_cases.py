"""What the benchmarks of the search share: starter briefs, reference fronts and their fingerprints."""

import json
import time
from dataclasses import dataclass, replace
from hashlib import sha256
from importlib import resources
from pathlib import Path

import numpy as np

from longvault.optimise import Designs, hypervolume, nondominated
from longvault.optimise.archive import Archive, empty_archive
from longvault.optimise.section_designs import Design
from longvault.studies.brief import read_brief
from longvault.studies.ideal_share import ideal_ratios
from longvault.studies.run import make_job

BRIEFS = ("workshop", "reading-hall", "canopy", "market-hall", "classroom")
SAMPLES = 32
"""Designs at random, and as many of the front, whose scores tell whether a problem is still the same."""
WAITING = 2000


def brief_job(name, folded_plate):
    """Return a starter brief made ready to search."""
    text = resources.files("longvault.studies.briefs").joinpath(f"{name}.toml").read_text(encoding="utf-8")
    brief = read_brief(text)
    settings = brief.search.model_copy(update={"folded_plate": folded_plate})
    return make_job(brief.model_copy(update={"search": settings}))


def starter(name):
    """Return the problem of a starter brief, the folded plate left to the front."""
    return brief_job(name, "front-only").problem


def warm(problem):
    """Score some designs, so that nothing is compiled or first loaded in what is timed next."""
    rng = np.random.default_rng(0)
    problem.score(problem.snap(rng.uniform(problem.lower, problem.upper, (64, len(problem.lower)))))
    if len(problem.seeds):
        problem.score(problem.snap(problem.seeds))


def timed(job):
    """Return what a job returns and its processor time [s]."""
    start = time.process_time()
    result = job()
    return result, time.process_time() - start


class Kept:
    """An evaluation that archives every non-dominated feasible design it meets, whoever asks for it."""

    def __init__(self, problem, limit=20_000):
        self.problem, self.archive, self.waiting = problem, empty_archive(problem.empty, limit), []
        self.evaluations = 0
        self.pieces = problem.pieces

    def __call__(self, x):
        scores = self.problem.evaluate(x)
        new = self.problem.designs(x, scores)
        new = new.take(new.feasible)
        self.evaluations += len(x)
        self.waiting.append(new.take(nondominated(new.objectives, maximise=self.problem.maximise)))
        if sum(map(len, self.waiting)) > WAITING:
            self.flush()
        return scores

    def flush(self):
        """Put what waits into the archive and return all designs kept."""
        new = self.problem.empty.joined(*self.waiting)
        self.archive, self.waiting = self.archive.added(new, maximise=self.problem.maximise), []
        return self.archive.designs


def kept(problem, run):
    """Return all non-dominated feasible designs that ``run(problem)`` met."""
    keeper = Kept(problem)
    run(replace(problem, evaluate=keeper))
    return keeper.flush()


def section_ideals(problem, designs):
    """Section modulus of each design over the ideal of its area, height, webs and plan cover."""
    measures = problem.evaluate.evaluation(designs.x).measures
    each = [Design(problem.evaluate, x) for x in designs.x]
    return ideal_ratios(each, measures["section_modulus"], measures["area"], measures["height"])


def front_of(problem, *sets):
    """Non-dominated designs of several sets."""
    union = problem.empty.joined(*sets)
    return union.take(nondominated(union.objectives, maximise=problem.maximise))


def thinned(problem, designs, most):
    """At most so many designs, evenly."""
    if len(designs) <= most:
        return designs
    return Archive(designs, most).thinned(maximise=problem.maximise).designs


@dataclass(frozen=True, slots=True, eq=False)
class Reference:
    """A stored reference front.

    Parameters
    ----------
    front : array (N, M)
        Objectives of the front, thinned.
    point : array (M,)
        Reference point of its hypervolume.
    hypervolume : float
        Of the front before it was thinned: what shares are shares of.
    samples : Designs
        Designs with their scores, by which a changed problem is noticed.
    recipe : dict
        How it was made.
    """

    front: np.ndarray
    point: np.ndarray
    hypervolume: float
    samples: Designs
    recipe: dict

    def share(self, problem, designs):
        """Hypervolume of a front as a share of the reference's."""
        return hypervolume(designs.objectives, self.point, maximise=problem.maximise) / self.hypervolume

    def differs(self, problem):
        """Say in what the problem differs from the one the reference was made of; empty if in nothing."""
        x = self.samples.x
        if x.shape[1] != len(problem.lower) or self.samples.margins.shape[1] != len(problem.margin_names):
            return "the number of variables or limits"
        if problem.snap(x).tobytes() != x.tobytes():
            return "bounds or steps"
        now = problem.score(x)
        for what in ("objectives", "margins"):
            then = getattr(self.samples, what)
            if not np.allclose(getattr(now, what), then, rtol=1e-6, atol=1e-9, equal_nan=True):
                return what
        return ""


def digest(*arrays):
    """Hash of the numbers themselves, whatever file they lie in."""
    return sha256(b"".join(np.ascontiguousarray(a).tobytes() for a in arrays)).hexdigest()


def paths(name):
    """Files of a reference front: the numbers, and how they were made."""
    folder = Path(__file__).parent
    return folder / f"reference_front_{name}.npz", folder / f"reference_front_{name}.json"


def reference(name):
    """Read a reference front; refuses one whose numbers are not those that were stored."""
    numbers, text = paths(name)
    recipe = json.loads(text.read_text(encoding="utf-8"))
    with np.load(numbers) as data:
        arrays = [data[key] for key in ("front", "point", "x", "objectives", "margins")]
    if digest(*arrays) != recipe["sha256"]:
        raise ValueError(f"{numbers.name}: the numbers are not those that were stored; rebuild it")
    return Reference(arrays[0], arrays[1], recipe["hypervolume"], Designs(*arrays[2:]), recipe)
