"""``longvault search``: find the trade-off set of a brief and write it into a run folder."""

import sys
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from longvault.studies.cli.common import BadInput, brief_from

if TYPE_CHECKING:
    from longvault.optimise import Outcome, SearchState
    from longvault.studies.brief import Brief
    from longvault.studies.record_designs import Delivered, ProofNote
    from longvault.studies.run import Job

SHOWN = 12
"""Differences of briefs that are named at most."""


@click.command(short_help="Find the trade-off set of a brief; write a run folder.")
@click.argument("brief", type=click.Path(path_type=Path))
@click.option(
    "--out", type=click.Path(path_type=Path), metavar="DIR", help="Run folder; default runs/NAME-OF-BRIEF."
)
@click.option(
    "--seed", type=click.IntRange(0, 2**63 - 1), help="Seed of the random draws; default from the brief."
)
@click.option(
    "--evaluations", type=click.IntRange(100, 100_000_000), help="Designs to try; default from the brief."
)
@click.option(
    "--workers",
    type=click.IntRange(1, 64),
    help="Processes that evaluate, to the same results; default one a core in long runs.",
)
@click.option("--resume", is_flag=True, help="Go on with the stopped run in the folder, to the same bits.")
@click.option(
    "--extend",
    type=click.IntRange(1),
    metavar="N",
    help="Go on with the run in the folder for N more designs.",
)
@click.option("--overwrite", is_flag=True, help="Replace the run in the folder.")
@click.option("--quiet", is_flag=True, help="No progress.")
def command(
    brief: Path,
    out: Path | None,
    seed: int | None,
    evaluations: int | None,
    workers: int | None,
    resume: bool,
    extend: int | None,
    overwrite: bool,
    quiet: bool,
) -> None:
    """Search the whole trade-off of BRIEF and write designs, table, figures and sheet into a folder.

    The same seed gives the same front, bit for bit, for any number of workers. Ctrl-C stops with a valid
    result. Exit status 1: no design holds every limit; the nearest one is kept.

    Preliminary design only: local codes and a licensed engineer decide.
    """
    if (resume or extend) and (overwrite or (resume and extend)):
        raise BadInput(
            "--resume and --extend N go on with a run as it began: not together, nor with --overwrite"
        )
    if resume and evaluations is not None:
        raise BadInput("--evaluations: a resumed run keeps its budget; use --extend N to go further")
    read = _as_asked(brief_from(brief), seed, evaluations, workers)
    folder = out or Path("runs") / brief.stem
    if resume or extend:
        job, state, settings = _going_on(read, brief.parent, folder, extend)
    else:
        job, state, settings = _starting(read, brief.parent, folder, overwrite), None, None
    run(job, folder, state=state, settings=settings, quiet=quiet)


def _as_asked(brief: "Brief", seed: int | None, evaluations: int | None, workers: int | None) -> "Brief":
    """Put what the command line says in the place of what the brief says."""
    given = {"seed": seed, "evaluations": evaluations, "workers": workers}
    changes = {key: value for key, value in given.items() if value is not None}
    return brief.model_copy(update={"search": brief.search.model_copy(update=changes)})


def _starting(brief: "Brief", beside: Path, folder: Path, overwrite: bool) -> "Job":
    from longvault.studies.brief import BriefError
    from longvault.studies.record import RecordError, fresh_folder
    from longvault.studies.run import make_job

    try:
        job = make_job(brief, folder=beside)
        fresh_folder(folder, overwrite=overwrite)
    except (BriefError, RecordError) as error:
        raise BadInput(str(error)) from None
    return job


def _going_on(
    brief: "Brief", beside: Path, folder: Path, extend: int | None
) -> "tuple[Job, SearchState | None, Any]":
    """Read the run to go on with, from its start if it kept no state yet; refuse that of another brief."""
    from longvault.optimise import StateError, load_state
    from longvault.studies.brief import BriefError, load_brief
    from longvault.studies.record import BRIEF, CHECKPOINT, broken_off
    from longvault.studies.run import make_job, settings_of

    kept_state = (folder / CHECKPOINT).is_file()
    if not (kept_state or (broken_off(folder) and (folder / BRIEF).is_file())):
        raise BadInput(f"{folder}: holds no run to go on with ({CHECKPOINT} is missing)")
    try:
        before = load_brief(folder / BRIEF)
        _refuse_another(before, folder, brief, beside)
        state = load_state(folder / CHECKPOINT) if kept_state else None
    except (BriefError, StateError) as error:
        raise BadInput(str(error)) from None
    settings = settings_of(before) if state is None else state.settings
    tried = 0 if state is None else state.evaluations
    if extend:
        settings = replace(settings, evaluations=max(tried, settings.evaluations) + extend)
    elif settings.evaluations != brief.search.evaluations:
        click.echo(
            f"search.evaluations: the run goes on to its {settings.evaluations}, not to the "
            f"{brief.search.evaluations} of the brief; use --extend N to go further",
            err=True,
        )
    changes = {"evaluations": settings.evaluations, "seed": before.search.seed}
    kept = brief.model_copy(
        update={"section": before.section, "search": brief.search.model_copy(update=changes)}
    )
    return make_job(kept, folder=folder), state, settings


def _refuse_another(before: "Brief", folder: Path, brief: "Brief", beside: Path) -> None:
    """End with what differs, if a brief is not that of the run in the folder."""
    from longvault.studies.brief_differences import brief_differences

    lines = brief_differences(before, folder, brief, beside)
    if lines:
        more = [f"and {len(lines) - SHOWN} more"] if len(lines) > SHOWN else []
        raise BadInput(
            "\n  ".join([f"{folder}: its run began with another brief:", *lines[:SHOWN], *more])
            + f"\nSearch this one into another folder, or go on with {folder / 'brief.toml'}"
        )


def run(
    job: "Job",
    folder: Path,
    *,
    state: "SearchState | None" = None,
    settings: Any = None,
    quiet: bool = False,
    demo: bool = False,
) -> "tuple[Outcome, Delivered]":
    """Search, write, say what was found; end with status 1 when nothing is feasible."""
    from longvault.optimise import StateError
    from longvault.studies.cli.progress import told
    from longvault.studies.run import run_job
    from longvault.studies.warm import is_cold, warm

    if is_cold():
        if not quiet:
            click.echo("First run: compiling, about a minute; later runs start at once.", err=True)
        warm(job.problem)
    budget = settings.evaluations if settings is not None else job.brief.search.evaluations
    try:
        with told(budget, quiet=quiet) as tell:
            outcome, delivered = run_job(job, folder, state=state, settings=settings, tell=tell, demo=demo)
    except StateError as error:
        raise BadInput(f"{folder}: {error}") from None
    except OSError as error:
        raise BadInput(f"{folder}: cannot be written ({error.strerror or error})") from None
    if not delivered.feasible:
        _say_nearest(outcome, delivered, folder)
        sys.exit(1)
    _say_found(outcome, delivered, folder)
    return outcome, delivered


def _say_found(outcome: "Outcome", delivered: "Delivered", folder: Path) -> None:
    from longvault.constraints.measures import MEASURES
    from longvault.sections.symbols import CAUTION
    from longvault.studies.ideal_share import ideal_lines
    from longvault.studies.sheet_table import quantity

    for line in found_lines(outcome, delivered):
        click.echo(line)
    for pick, name in delivered.picks.items():
        place = delivered.names.index(name)
        values = delivered.measures(place)
        shown = [
            f"{key.replace('_', ' ')} {quantity(values[key] * MEASURES[key].per_si, MEASURES[key].unit)}"
            for key in delivered.objectives
        ]
        click.echo(f"  {pick.replace('_', ' ').ljust(22)} {name}  {', '.join(shown)}")
    limits = delivered.evaluation.limits
    binding = [limits[int(i)].key for i in delivered.evaluation.governing]
    for line in [*ideal_lines(delivered.ideal_ratios, binding), *proof_lines(delivered.proof)]:
        click.echo(line)
    click.echo(f"{folder}: front.csv, designs, figures, sheet.html")
    click.echo(f"Next: longvault show {folder}")
    click.echo(CAUTION)


def found_lines(outcome: "Outcome", delivered: "Delivered") -> list[str]:
    """Say how many designs were found, proved and delivered, and why the search ended."""
    from longvault.studies.record_write import status_of

    proof, count = delivered.proof, len(delivered.names)
    lines = [
        f"{len(outcome.front)} designs on the front after {outcome.evaluations} tried (seed {outcome.seed}); "
        f"{count} delivered. {outcome.stopped.sentence}"
    ]
    if proof.refused:
        lines.append(f"{_judge(proof)} refused {proof.refused} of the {proof.tried} chosen from the front.")
    if not len(outcome.front):
        lines.append(status_of(outcome, delivered)[1])
    return lines


def _judge(proof: "ProofNote") -> str:
    return "The folded plate at fine resolution" if proof.covered else "The last check, of all limits,"


def proof_lines(proof: "ProofNote") -> list[str]:
    """Say how the delivered designs were proved, and what beam theory alone would have let through."""
    if not proof.covered:
        return ["Proved at beam level only: the folded plate covers simple spans."]
    bays = " and ".join(proof.bays)
    lines = [f"Each delivered design is proved as a folded plate at fine resolution, {bays} bay."]
    if proof.row and "end" not in proof.bays:
        lines.append("The end bays of a row stand otherwise: the sheet says whether they hold.")
    if proof.beam_alone and proof.beam_alone[1]:
        refused, tried = proof.beam_alone
        lines.append(f"Of {tried} designs found by beam theory alone the folded plate refuses {refused}.")
    if proof.beam_left_out:
        lines.append("Stopped, so left out: how many designs of beam theory alone the folded plate refuses.")
    return lines


def _say_nearest(outcome: "Outcome", delivered: "Delivered", folder: Path) -> None:
    from longvault.sections.symbols import CAUTION
    from longvault.studies.checked import limit_rows
    from longvault.studies.record import DESIGNS
    from longvault.studies.why_not import failing_lines

    result = delivered.evaluation
    rows = limit_rows(
        result.limits, delivered.measures(0), result.margins[0].tolist(), int(result.governing[0])
    )
    lines = failing_lines(rows)
    click.echo(
        f"No design holds every limit, of {outcome.evaluations} tried (seed {outcome.seed}).", err=True
    )
    if len(outcome.front):
        click.echo(
            f"{len(outcome.front)} hold what the search looks at. {_judge(delivered.proof)} refused "
            f"{delivered.proof.refused} of the {delivered.proof.tried} chosen from them.",
            err=True,
        )
    click.echo(f"The nearest one fails {len(lines)} of {len(rows)} limits:", err=True)
    for line in lines:
        click.echo(f"  {line}", err=True)
    click.echo(
        f"{folder / DESIGNS / (delivered.names[0] + '.json')}: the nearest design; its sheet is beside",
        err=True,
    )
    click.echo(CAUTION, err=True)
