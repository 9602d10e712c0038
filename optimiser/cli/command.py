"""What the module of a command offers (see `optimiser.cli.main`)."""

import argparse
from typing import Protocol


class CommandModule(Protocol):
    """A module of `optimiser.cli` that is a command."""

    HELP: str
    EXAMPLE: str

    def add_arguments(self, parser: argparse.ArgumentParser) -> None:
        """Declare the command's arguments."""

    def run(self, args: argparse.Namespace) -> int:
        """Do the command's work; the exit code."""
