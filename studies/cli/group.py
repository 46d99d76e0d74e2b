"""The command group: lazy subcommands, one clear message for bad input."""

import sys
from importlib import import_module
from importlib.metadata import version
from typing import Any

import click

COMMANDS = {
    "demo": "The main job on a built-in brief: search, check, draw, export.",
    "new": "Write a commented starter brief.",
    "search": "Find the trade-off set of a brief; write a run folder.",
    "show": "The front of a run as a table; --pick one design.",
    "check": "Calculation sheet of one section: every limit, margin and source.",
    "export": "One design, or any section file, as DXF, SVG, CSV, JSON.",
    "lesson": "Teaching figures with the numbers to redo by hand.",
    "prove": "Folded-plate analysis of any section file, no brief needed.",
    "light": "Daylight of any section file, no brief needed.",
    "measure": "Properties of a section file, nothing else.",
}
"""Subcommand -> one-line help. Command ``name`` is ``command`` in ``longvault.studies.cli.<name>``."""

INTERRUPTED = 130
"""Exit status after Ctrl-C: 128 and the number of the signal."""


class LazyGroup(click.Group):
    """A group that imports a subcommand's module only when it is called (help stays quick)."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Name the subcommands in the order of the job."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Import and return one subcommand."""
        if cmd_name not in COMMANDS:
            return None
        module = import_module(f"longvault.studies.cli.{cmd_name.replace('-', '_')}")
        command: click.Command = module.command
        return command

    def invoke(self, ctx: click.Context) -> Any:
        """Run a subcommand; Ctrl-C ends it with a status of its own, not with that of a result."""
        try:
            return super().invoke(ctx)
        except KeyboardInterrupt:
            click.echo("Stopped.", err=True)
            raise click.exceptions.Exit(INTERRUPTED) from None

    def format_commands(self, ctx: click.Context, formatter: click.HelpFormatter) -> None:
        """Write the table of subcommands without importing them."""
        with formatter.section("Commands"):
            formatter.write_dl(list(COMMANDS.items()))


@click.group(cls=LazyGroup, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(version("longvault"), prog_name="longvault")
def cli() -> None:
    """Search for efficient cross-sections of long concrete vaults, and prove the ones it keeps.

    Preliminary design only: local codes and a licensed engineer decide.
    """


def main() -> None:
    """Run the command line: exit 0 done, 1 nothing feasible, 2 bad input (one message, no traceback)."""
    try:
        cli.main(prog_name="longvault")
    except BrokenPipeError:
        sys.stderr.close()
        sys.exit(0)
