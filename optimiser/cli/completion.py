"""`rockwright completion`: the shell's Tab key."""

import argparse
import sys
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

HELP = """\
Prints a script by which your shell completes commands, options and files at the Tab key. bash finds
it in the folder of the example where bash-completion is installed, and takes it by `source` from
~/.bashrc elsewhere; zsh finds it as a file called _rockwright in a folder of its $fpath; tcsh takes
it by `source` from ~/.tcshrc."""
EXAMPLE = """rockwright completion bash > ~/.local/share/bash-completion/completions/rockwright
  rockwright completion zsh > ~/.zfunc/_rockwright
  rockwright completion tcsh > ~/.rockwright.tcsh"""

SHELLS = ("bash", "zsh", "tcsh")
FILES = ("CAR", "CSV", "DESIGNS", "FILE", "FOLDER", "MEASURED", "OTHER", "OUT", "RESULTS", "STUDY", "YAML")
"""What arguments are called that are files or folders."""
FILLED_BY = "complete"
"""Attribute of an argument by which the completion library knows what fills it."""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the shell."""
    parser.add_argument("shell", choices=SHELLS, help="your shell")


def run(args: argparse.Namespace) -> int:
    """Print the script; 0."""
    import shtab

    from optimiser.cli.main import COMMANDS, parser_with

    parser = parser_with(tuple(COMMANDS))
    for name, child in _commands(parser).items():
        child.description = COMMANDS[name]
        for action in child._actions:
            if action.metavar in FILES:
                setattr(action, FILLED_BY, shtab.FILE)
    sys.stdout.write(shtab.complete(parser, args.shell) + "\n")
    return 0


def _commands(parser: argparse.ArgumentParser) -> "Mapping[str, argparse.ArgumentParser]":
    """The parser of each command. argparse has no public way to them, nor to a parser's arguments."""
    return next(action.choices for action in parser._actions if isinstance(action, argparse._SubParsersAction))
