"""What ``longvault show`` is asked for: designs within bounds, the best of them, groups, prices of wishes."""

from math import isfinite, nan
from typing import TYPE_CHECKING, Any

import click

from longvault.studies.cli.common import BadInput, NothingLeft

if TYPE_CHECKING:
    from longvault.studies.record import Run


def kept(run: "Run", order: list[int], most: tuple[str, ...], least: tuple[str, ...]) -> list[int]:
    """Rows that keep every bound; a design for which a measure was not worked out keeps none.

    Bounds that leave none of a run's designs end the command with status 1 and the value that comes nearest.
    """
    for option, bounds, way in (("--at-most", most, 1.0), ("--at-least", least, -1.0)):
        for bound in bounds:
            name, _, text = bound.partition("=")
            value = _number(text)
            if not isfinite(value):
                raise BadInput(
                    f"{option}: got {bound!r}; must be MEASURE=VALUE with a finite value, such as area_m2=0.9"
                )
            column = run.front[column_of(run, name.strip(), option)]
            within = [place for place in order if way * column[place] <= way * value]
            if order and not within:
                raise NothingLeft(f"{option} {bound}: no design is left; {_nearest(column[order], way)}")
            order = within
    return order


def _nearest(values: Any, way: float) -> str:
    """Say how near the designs come to a bound: their least value for a cap, their greatest for a floor."""
    import numpy as np

    known = values[np.isfinite(values)]
    if not len(known):
        return "it was not worked out for any of them"
    best = known.min() if way > 0 else known.max()
    return f"the {'least' if way > 0 else 'greatest'} of those before this bound is {best:.6g}"


def _number(text: str) -> float:
    """Read a number; NaN where there is none."""
    try:
        return float(text)
    except ValueError:
        return nan


def column_of(run: "Run", name: str, option: str = "--sort") -> str:
    """Column of a measure named with or without its unit."""
    from longvault.constraints.measures import MEASURES
    from longvault.studies.brief_faults import nearest_key

    column = MEASURES[name].column if name in MEASURES else name
    numbers = [key for key, values in run.front.items() if values.dtype.kind == "f" or not len(values)]
    if column in numbers:
        return column
    near = nearest_key(name, numbers)
    raise BadInput(
        f"{option}: there is no measure {name!r}; "
        + (f"did you mean {near}?" if near else f"use {', '.join(numbers)}")
    )


def chosen(run: "Run", order: list[int], best: str | None, weights: str | None) -> str | None:
    """Name the design that --best or --weights means, of those that keep the bounds."""
    from longvault.studies.choosing import pick_best, pick_by_weights

    option = "--best" if best is not None else "--weights"
    try:
        if best is not None:
            return pick_best(run, column_of(run, best, option), order)
        if weights is not None:
            return pick_by_weights(run, _weights(run, weights), order)
    except ValueError as error:
        raise BadInput(f"{option}: got {best or weights!r}; {error}") from None
    return None


def _weights(run: "Run", text: str) -> dict[str, float]:
    """Read weights by column; a measure that is named twice raises."""
    pairs = [one.partition("=") for one in text.split(",")]
    columns = [column_of(run, name.strip(), "--weights") for name, _, _ in pairs]
    for column in columns:
        if columns.count(column) > 1:
            raise ValueError(f"{column} has more than one weight; give it one")
    return {column: float(value) for column, (_, _, value) in zip(columns, pairs, strict=True)}


def representatives(run: "Run", order: list[int], groups: int, by: str) -> list[int]:
    """Rows that stand for groups; how many designs each stands for goes to stderr."""
    from longvault.studies.choosing import groups_of

    rows, sizes = groups_of(run, order, groups, by=by)
    said = ", ".join(f"{run.ids[row]} for {size}" for row, size in zip(rows, sizes, strict=True))
    click.echo(f"Groups alike in {by}: {said}", err=True)
    return [int(row) for row in rows]


def prices(run: "Run", name: str, data: dict[str, Any]) -> tuple[list[str], list[dict[str, Any]]]:
    """Prices of wishes on one design, in words and for JSON."""
    from longvault.studies.brief import load_brief
    from longvault.studies.mending import design_of
    from longvault.studies.pricing import price_document, price_lines, prices_of
    from longvault.studies.record import BRIEF

    brief = load_brief(run.folder / BRIEF)
    known = design_of(data, brief)
    if known is None:
        raise BadInput(f"{run.folder}:{name}: is no design of a family, so nothing of it can be traded")
    found = prices_of(*known, brief)
    return price_lines(found), price_document(found)
