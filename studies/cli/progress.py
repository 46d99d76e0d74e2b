"""Progress of a search: a bar on a terminal, plain lines otherwise, nothing when asked to be quiet."""

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

import click

STEPS = 10
"""Plain lines at most."""


@contextmanager
def told(budget: int, *, quiet: bool) -> Iterator[Callable[[Any], object] | None]:
    """Yield what a search tells its progress to; everything goes to stderr."""
    if quiet:
        yield None
    elif sys.stderr.isatty():
        with _bar(budget) as tell:
            yield tell
    else:
        yield _lines(budget)


@contextmanager
def _bar(budget: int) -> Iterator[Callable[[Any], object]]:
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn, TimeRemainingColumn

    text = "{task.completed:.0f} of {task.total:.0f} designs, {task.fields[members]} on the front"
    columns = (BarColumn(bar_width=30), TextColumn(text), TimeRemainingColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as bar:
        task = bar.add_task("search", total=budget, members=0)

        def tell(state: Any) -> None:
            bar.update(task, completed=state.evaluations, total=state.budget, members=state.members)

        yield tell


def _lines(budget: int) -> Callable[[Any], object]:
    passed = 0

    def tell(state: Any) -> None:
        nonlocal passed
        step = STEPS * state.evaluations // max(budget, 1)
        if step > passed:
            passed = step
            share = f"{state.feasible_share:.0%} of those tried feasible".replace("%", " %")
            click.echo(
                f"{state.evaluations} of {budget} designs: {state.members} on the front, {share}", err=True
            )

    return tell
