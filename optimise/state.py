"""The state of a search between two generations: one value, saved without pickle, atomically."""

import json
import os
from collections.abc import Callable
from dataclasses import asdict, dataclass, field, fields
from hashlib import sha256
from pathlib import Path
from typing import IO, Any, cast

import numpy as np

from longvault.optimise.archive import Archive, empty_archive
from longvault.optimise.history import Record, Recorder
from longvault.optimise.problem import Designs, Problem
from longvault.optimise.settings import SearchSettings
from longvault.sections.symbols import AnyArray

FORMAT = "longvault-search-state"
VERSION = 3
"""Raised whenever the rules of the search change: an older run goes on by none of them."""


class StateError(ValueError):
    """A state file cannot be used; the message names the file and the reason."""


@dataclass(frozen=True, slots=True, eq=False)
class SearchState:
    """Everything the next generation depends on.

    Parameters
    ----------
    problem : dict
        Fingerprint of the problem (see `fingerprint`).
    settings : SearchSettings
        As resolved when the run began.
    rng : dict
        State of the bit generator.
    population, waiting, nearest : Designs
        Designs sorted by quality; non-dominated newcomers not yet in the archive; the least violation met.
    archive : Archive
    recorder : Recorder
    generation, evaluations, feasible : int
        Counts over the whole run.
    start : int
        Which start the population belongs to; ``settings.restarts`` once they are evolved together.
    start_evaluations : int
        Evaluations made in this start.
    polished : int
        Evaluations of this start that polishing made.
    idle : int
        Generations in a row that found no new design to try.
    rates : (float, float)
        Running success of differential variation and of crossover.
    """

    problem: dict[str, Any]
    settings: SearchSettings
    rng: dict[str, Any]
    population: Designs
    waiting: Designs
    nearest: Designs
    archive: Archive
    recorder: Recorder = field(default_factory=Recorder)
    generation: int = 0
    evaluations: int = 0
    feasible: int = 0
    start: int = 0
    start_evaluations: int = 0
    polished: int = 0
    idle: int = 0
    rates: tuple[float, float] = (0.5, 0.5)


COUNTS = ("generation", "evaluations", "feasible", "start", "start_evaluations", "polished", "idle")
SETS = ("population", "waiting", "nearest", "archive")


def begin(problem: Problem, settings: SearchSettings) -> SearchState:
    """Return the state before the first generation."""
    settings = settings.resolved()
    nothing = problem.empty
    archive = empty_archive(nothing, settings.archive_max)
    rng = np.random.default_rng(settings.seed)
    return SearchState(
        fingerprint(problem), settings, dict(rng.bit_generator.state), nothing, nothing, nothing, archive
    )


def generator(state: SearchState) -> np.random.Generator:
    """Return a generator that goes on where the state left off."""
    bits = np.random.PCG64(0)
    bits.state = cast(Any, state.rng)
    return np.random.Generator(bits)


def fingerprint(problem: Problem) -> dict[str, Any]:
    """Describe a problem so that a saved run is only ever resumed on the same one."""
    seeds = np.asarray(problem.seeds)
    return {
        "key": problem.key,
        "lower": problem.lower.tolist(),
        "upper": problem.upper.tolist(),
        "step": np.asarray(problem.step).tolist(),
        "objectives": [[objective.name, objective.sense] for objective in problem.objectives],
        "margin_names": list(problem.margin_names),
        "seeds": sha256(seeds.tobytes()).hexdigest() if len(seeds) else "",
        "reference": None if problem.reference is None else problem.reference.tolist(),
        "preference": None if problem.preference is None else problem.preference.document,
    }


def check_problem(state: SearchState, problem: Problem) -> None:
    """Refuse to go on with another problem, naming what differs."""
    now = fingerprint(problem)
    for name, then in state.problem.items():
        if now[name] != then:
            raise StateError(f"{name}: the run to go on with had {then!r}, the problem now has {now[name]!r}")


def save_state(state: SearchState, path: str | Path) -> None:
    """Write a state as one .npz file, atomically; equal states give equal bytes."""
    arrays: dict[str, AnyArray] = {}
    for name in SETS:
        designs = state.archive.designs if name == "archive" else getattr(state, name)
        for part in ("x", "objectives", "margins"):
            arrays[f"{name}_{part}"] = getattr(designs, part)
    for number, record in enumerate(state.recorder.records):
        arrays[f"record_{number}"] = record.objectives
    text = json.dumps(_header(state), sort_keys=True, allow_nan=False)
    arrays["header"] = np.frombuffer(text.encode("utf-8"), dtype=np.uint8)
    write_atomically(path, lambda stream: np.savez(stream, **arrays))  # type: ignore[arg-type]


def _header(state: SearchState) -> dict[str, Any]:
    return {
        "format": FORMAT,
        "version": VERSION,
        "problem": state.problem,
        "settings": asdict(state.settings),
        "rng": state.rng,
        "counts": {name: getattr(state, name) for name in COUNTS},
        "archive": {"limit": state.archive.limit, "resolution": state.archive.resolution},
        "rates": list(state.rates),
        "spacing": state.recorder.spacing,
        "records": [[r.evaluations, r.feasible, r.members] for r in state.recorder.records],
    }


def load_state(path: str | Path) -> SearchState:
    """Read a state written by `save_state`.

    Raises
    ------
    StateError
        If the file cannot be read or is no state of this version.
    """
    try:
        with Path(path).open("rb") as stream, np.load(stream, allow_pickle=False) as data:
            arrays = {name: data[name] for name in data.files}
        header = json.loads(arrays["header"].tobytes().decode("utf-8"))
        if (header["format"], header["version"]) != (FORMAT, VERSION):
            raise StateError(
                f"{path}: is {header['format']!r} {header['version']}; this release reads {FORMAT} {VERSION}"
            )
        return _state(header, arrays)
    except StateError:
        raise
    except Exception as error:  # noqa: BLE001 - a damaged zip raises many kinds
        raise StateError(
            f"{path}: cannot be read as a saved search ({type(error).__name__}: damaged or cut short)"
        ) from None


def _state(header: dict[str, Any], arrays: dict[str, AnyArray]) -> SearchState:
    sets = {
        name: Designs(*(arrays[f"{name}_{part}"] for part in ("x", "objectives", "margins"))) for name in SETS
    }
    archive = Archive(sets.pop("archive"), header["archive"]["limit"], header["archive"]["resolution"])
    records = []
    for number, counts in enumerate(header["records"]):
        objectives = arrays[f"record_{number}"]
        objectives.flags.writeable = False
        evaluations, feasible, members = counts
        records.append(Record(evaluations, feasible, members, objectives))
    known = {item.name for item in fields(SearchSettings)}
    settings = SearchSettings(**{k: v for k, v in header["settings"].items() if k in known})
    return SearchState(
        problem=header["problem"],
        settings=settings,
        rng=header["rng"],
        archive=archive,
        recorder=Recorder(tuple(records), header["spacing"]),
        population=sets["population"],
        waiting=sets["waiting"],
        nearest=sets["nearest"],
        rates=(header["rates"][0], header["rates"][1]),
        **header["counts"],
    )


def write_atomically(path: str | Path, write: Callable[[IO[bytes]], object]) -> None:
    """Write a file beside its place, flush it to the disk, rename it: no reader sees half a file."""
    path = Path(path)
    beside = path.with_name(f".{path.name}.{os.getpid()}.part")
    try:
        with beside.open("wb") as stream:
            write(stream)
            stream.flush()
            os.fsync(stream.fileno())
        beside.replace(path)
    finally:
        beside.unlink(missing_ok=True)
    folder = os.open(path.parent, os.O_RDONLY)
    try:
        os.fsync(folder)
    finally:
        os.close(folder)
