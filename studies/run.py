"""Run a brief: search, deliver, draw and write everything into one folder."""

import json
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from hashlib import sha256
from pathlib import Path

import numpy as np

from longvault.constraints.proof import Proving
from longvault.constraints.threads import cores
from longvault.optimise import (
    Outcome,
    Problem,
    Progress,
    SearchSettings,
    SearchState,
    Status,
    process_workers,
    search,
)
from longvault.optimise.families import united
from longvault.optimise.section_designs import scores_of
from longvault.optimise.section_problem import section_problem
from longvault.sections.export import write_bytes, write_text
from longvault.sections.symbols import Array
from longvault.studies import record
from longvault.studies.brief_basis import basis_of, families_of, proving_of, variables_of
from longvault.studies.brief_faults import BriefError
from longvault.studies.brief_model import Brief, SearchTable
from longvault.studies.brief_own import preference_of
from longvault.studies.brief_write import brief_text
from longvault.studies.record_designs import Delivered, deliver
from longvault.studies.record_write import (
    write_archive,
    write_begun,
    write_brief,
    write_designs,
    write_front,
    write_history,
    write_manifest,
)

LONG_RUN, MOST_WORKERS = 50_000, 4
"""Designs from which several processes are worth their start, and how many share a generation well."""
Tell = Callable[[Progress], object]

BEAM_ALONE_EVALUATIONS, BEAM_ALONE_DESIGNS = 20_000, 30
"""Size of the search by beam theory alone that shows what the folded plate is for."""


@dataclass(frozen=True, slots=True, eq=False)
class Job:
    """A brief made ready to search.

    Parameters
    ----------
    brief : Brief
        As run: the seed filled in.
        Designs it starts from are named as they lie in the run folder.
    problem : Problem
    starts : mapping of str to bytes
        Files the search starts from, by their name in the run folder.
    """

    brief: Brief
    problem: Problem
    starts: Mapping[str, bytes]


def make_job(brief: Brief, *, folder: Path = Path()) -> Job:
    """Make the search problem of a brief; files it starts from lie beside ``folder``.

    A seed is drawn where the brief gives none.

    Raises
    ------
    BriefError
        If a start section is no design of this family.
    """
    if brief.search.seed is None:
        seed = int(np.random.SeedSequence().generate_state(1)[0])
        brief = brief.model_copy(update={"search": brief.search.model_copy(update={"seed": seed})})
    mode, proving = brief.search.folded_plate, proving_of(brief)
    proving = None if mode == "front-only" else proving
    problem = replace(roof_problem(brief, proving, always=mode == "always"), key=problem_key(brief))
    paths = [folder / name for name in brief.section.start_sections]
    rows = [_start(path, problem) for path in paths]
    if rows:
        problem = replace(problem, seeds=np.vstack([*rows, np.asarray(problem.seeds)]))
    starts = {f"{record.STARTS}/{i}.json": path.read_bytes() for i, path in enumerate(paths, 1)}
    section = brief.section.model_copy(update={"start_sections": tuple(starts)})
    return Job(brief.model_copy(update={"section": section}), problem, starts)


def roof_problem(brief: Brief, proving: Proving | None = None, *, always: bool = False) -> Problem:
    """Make the search problem of the families of a brief, with its preferences."""
    problems = [
        section_problem(
            family,
            variables_of(brief, family),
            basis_of(brief),
            brief.search.objectives,
            proving=proving,
            always=always,
        )
        for family in families_of(brief)
    ]
    problem = problems[0] if len(problems) == 1 else united(problems)
    return replace(problem, preference=preference_of(brief))


def problem_key(brief: Brief) -> str:
    """Identify the problem a brief poses, whatever its budget: a hash of all but name, starts, search."""
    plain = brief.model_copy(
        update={
            "name": "-",
            "scenario": "",
            "section": brief.section.model_copy(update={"start_sections": ()}),
            "search": type(brief.search)(
                objectives=brief.search.objectives, folded_plate=brief.search.folded_plate
            ),
        }
    )
    return sha256(brief_text(plain).encode("utf-8")).hexdigest()


def _start(path: Path, problem: Problem) -> Array:
    """Read the variables of a design file, as the problem has them."""
    families = [scores.family for scores in scores_of(problem)]
    keys = [family.key for family in families]
    try:
        data = json.loads(path.read_text(encoding="utf-8"))
        if data["family"] not in keys:
            raise ValueError(f"it is a {data['family']}, the brief asks for a {' or '.join(keys)}")
        number = keys.index(data["family"])
        own = np.array([[float(data["variables"][v.name]) for v in families[number].variables]])
        return own if problem.kinds is None else problem.kinds.rows_of(number, own)
    except (OSError, ValueError, KeyError, TypeError) as error:
        reason = f"it has no {error}" if isinstance(error, KeyError) else str(error)
        raise BriefError(
            f"section.start_sections: {path}: cannot be started from ({reason}); give a design file of a run"
        ) from None


def settings_of(brief: Brief) -> SearchSettings:
    """Return the settings of the search that a brief asks for."""
    s = brief.search
    return SearchSettings(
        evaluations=s.evaluations, seed=s.seed, population=s.population, archive_max=s.archive_max
    )


def run_job(
    job: Job,
    folder: Path,
    *,
    state: SearchState | None = None,
    settings: SearchSettings | None = None,
    tell: Tell | None = None,
    demo: bool = False,
) -> tuple[Outcome, Delivered]:
    """Search and write the run into its folder (made by `longvault.studies.record.fresh_folder`).

    Raises
    ------
    KeyboardInterrupt
        If the search is stopped before its first generation: there is nothing to write; it can be resumed.
    """
    began, clock = datetime.now(UTC).isoformat(timespec="seconds"), time.monotonic()
    brief = job.brief
    write_begun(folder, brief, demo=demo)
    brief_hash = write_brief(folder, brief)
    for name, raw in job.starts.items():
        (folder / record.STARTS).mkdir(exist_ok=True)
        write_bytes(folder / name, raw)
    outcome = searched(job, settings or settings_of(brief), folder / record.CHECKPOINT, state, tell)
    if not outcome.evaluations:
        raise KeyboardInterrupt
    delivered = delivery(job, outcome)
    write_found(job, folder, outcome, delivered)
    write_manifest(
        folder,
        brief=brief,
        brief_hash=brief_hash,
        outcome=outcome,
        delivered=delivered,
        objectives=brief.search.objectives,
        began=began,
        seconds=time.monotonic() - clock,
        demo=demo,
    )
    draw_run(job, folder, outcome, delivered)  # last: what was found is safe whatever becomes of a figure
    return outcome, delivered


def searched(
    job: Job, settings: SearchSettings, checkpoint: Path, state: SearchState | None, tell: Tell | None
) -> Outcome:
    """Search with the workers of the brief, the state kept in a file."""
    workers = workers_of(job.brief.search)
    with process_workers(job.problem, workers) as map_blocks:
        return search(
            job.problem,
            settings,
            state=state,
            map_blocks=map_blocks,
            blocks=workers,
            progress=tell,
            checkpoint=checkpoint,
        )


def workers_of(asked: SearchTable) -> int:
    """Return how many processes evaluate: as asked, else one a core where a run is worth their start.

    Examples
    --------
    >>> workers_of(SearchTable(workers=3)), workers_of(SearchTable(evaluations=2000))
    (3, 1)
    """
    if asked.workers is not None:
        return asked.workers
    return min(cores(), MOST_WORKERS) if asked.evaluations >= LONG_RUN else 1


def write_found(job: Job, folder: Path, outcome: Outcome, delivered: Delivered) -> None:
    """Write designs, front, growth and archive."""
    write_designs(folder, delivered)
    columns = delivered.columns()
    write_front(folder, columns if delivered.feasible else {key: [] for key in columns})
    write_history(folder, outcome)
    write_archive(folder, job.problem, outcome)


def delivery(job: Job, outcome: Outcome) -> Delivered:
    """Deliver the front, each design proved at fine resolution; or the nearest design, if none is left.

    The demands of the search are a little higher than those of the proof: with an empty front the nearest
    design is proved too, and delivered if it holds every limit. After a stop by the user the search at beam
    level is left out.
    """
    brief, proving = job.brief, proving_of(job.brief)
    found = outcome.front if len(outcome.front) else outcome.nearest
    delivered = deliver(brief.name, job.problem, found, brief.search.deliver, proving)
    if proving is None or not len(outcome.front) or brief.search.folded_plate == "front-only":
        return delivered
    if outcome.stopped is Status.USER:
        return replace(delivered, proof=replace(delivered.proof, beam_left_out=True))
    return replace(delivered, proof=replace(delivered.proof, beam_alone=beam_alone(job, proving)))


def beam_alone(job: Job, proving: Proving) -> tuple[int, int]:
    """How many designs of a front searched by beam theory alone the folded plate refuses, of how many."""
    brief = job.brief
    problem = roof_problem(brief)
    budget = min(brief.search.evaluations, BEAM_ALONE_EVALUATIONS)
    front = search(problem, SearchSettings(evaluations=budget, seed=brief.search.seed)).front
    if not len(front):
        return 0, 0
    proof = deliver(brief.name, problem, front, BEAM_ALONE_DESIGNS, proving).proof
    return proof.refused, proof.tried


def chosen(delivered: Delivered) -> int:
    """Row of the design to look at first: the knee, or the only one."""
    return delivered.names.index(delivered.picks.get("knee", delivered.names[0]))


def draw_run(job: Job, folder: Path, outcome: Outcome, delivered: Delivered) -> None:
    """Draw front, growth and the picked sections; write the sheet of the first one to look at."""
    from longvault.studies.checked import check_section
    from longvault.studies.run_figures import draw_figures
    from longvault.studies.sheet import make_sheet
    from longvault.studies.sheet_html import drawings_of, sheet_html

    brief = job.brief
    place = chosen(delivered)
    checked = check_section(
        delivered.section(place), basis_of(brief), proving_of(brief), member=delivered.member(place)
    )
    sheet = make_sheet(checked, project=brief.name, bays=brief.roof.bays)
    write_text(folder / record.SHEET, sheet_html(sheet, drawings_of(checked)))
    draw_figures(job, folder / record.FIGURES, outcome, delivered, checked)
