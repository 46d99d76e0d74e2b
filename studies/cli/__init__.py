"""The ``longvault`` command. Each subcommand lives in its own module and is imported only when it runs."""

from longvault.studies.cli.group import main

__all__ = ["main"]
