"""The command line: `rockwright COMMAND ...`.

Each command is one module of `optimiser.cli` with the same name, and offers

    HELP: str                                              what it does, in a sentence or a few
    EXAMPLE: str                                           one or more command lines that work
    def add_arguments(parser: argparse.ArgumentParser) -> None
    def run(args: argparse.Namespace) -> int               the exit code; output goes to `sys.stdout`

Such a module imports nothing heavy at its top (no numpy, yaml, rich, floors below): it imports what it needs inside
`run`. A new command is a module and a line in `COMMANDS`. What the user can mend is raised as a
`optimiser.errors.RockwrightError`; nothing else is caught inside a command. `search` alone handles Ctrl-C itself, to
keep what it has found, and returns 130.

Exit codes: 0 done; 1 the honest answer is no; 2 faulty input; 3 a defect of ours; 130 interrupted.
"""

import argparse
import gc
import importlib
import io
import os
import sys

from optimiser.errors import RockwrightError
from optimiser.threads import ONE_THREAD

TYPE_CHECKING = False  # as in `typing`, which costs a third of the start-up
if TYPE_CHECKING:
    from collections.abc import Sequence

    from optimiser.cli.command import CommandModule

COMMANDS = {
    "new": "write a commented study to begin from",
    "check": "read a study or a hand-off file: every fault, or the axle as understood",
    "figures": "the catalogue of figures, or one of them explained",
    "analyse": "one geometry: which mode works which element, motion ratios, attitudes, margins",
    "car": "two axles as a whole car: vibration, load transfer, ride height, what its targets ask for",
    "search": "search the Pareto set of a study's rockers, into a results folder",
    "front": "read the set that a search has found",
    "merge": "write the union of several results folders of one study as a new one",
    "doctor": "is a results folder whole? Recompute members of it, and put it back where it is damaged",
    "handoff": "hand one member of the set over as a complete file",
    "compare": "a built car beside its file: what its readings say of pivots, arms and rods",
    "draw": "a geometry to scale and dimensioned, with its curves; a set as a matrix; a rocker plate for CAD",
    "verify": "recompute a hand-off file from its points alone and compare",
    "schema": "the keys of a study or a car file as a JSON Schema, for an editor",
    "completion": "a script by which your shell completes commands, options and files",
}
"""Every command with its line in `rockwright -h`."""

TRACE = "--trace"
"""Word of the command line that shows the traceback of a defect."""

TRACE_VARIABLE = "ROCKWRIGHT_TRACE"
"""Environment variable that does the same."""

SELDOM = 100_000
"""New objects between two looks for circular garbage: a short command makes hardly any."""

DONE, FAULTY_INPUT, DEFECT, INTERRUPTED = 0, 2, 3, 130


def main(argv: "Sequence[str] | None" = None) -> int:
    """Run one command and return its exit code. `argv` without the program's name; None: the process's own."""
    words = list(sys.argv[1:] if argv is None else argv)
    trace = TRACE in words or bool(os.environ.get(TRACE_VARIABLE))
    try:
        code = _run([word for word in words if word != TRACE])
        sys.stdout.flush()
    except SystemExit as stop:
        code = stop.code if isinstance(stop.code, int) else FAULTY_INPUT
    except BrokenPipeError:
        _silence_stdout()
        code = DONE
    except KeyboardInterrupt:
        code = _say("interrupted", INTERRUPTED)
    except RockwrightError as error:
        code = _say(str(error), error.exit_code)
    except OSError as error:
        code = _say(_of_system(error), FAULTY_INPUT)
    except Exception as error:  # noqa: BLE001 - the one boundary: nothing leaves it as a traceback
        code = _defect(error, trace)
    return code


def parser_with(names: "Sequence[str]") -> argparse.ArgumentParser:
    """The parser of every command; only the named ones are imported, and have their arguments."""
    parser = argparse.ArgumentParser(
        prog="rockwright",
        description="Lays out rocker-actuated suspension axles: heave and roll struts between two rockers.",
        epilog="rockwright COMMAND -h explains a command with an example.",
    )
    parser.add_argument(TRACE, action="store_true", help="show the traceback of a defect")
    subparsers = parser.add_subparsers(dest="command", metavar="COMMAND", required=True)
    for name, summary in COMMANDS.items():
        child = subparsers.add_parser(name, help=summary, formatter_class=argparse.RawDescriptionHelpFormatter)
        if name in names:
            module = _load(name)
            child.description = module.HELP
            child.epilog = f"example:\n  {module.EXAMPLE.strip()}"
            module.add_arguments(child)
    return parser


def run() -> None:
    """Entry point of the console script: a process of its own, set up to start fast and to print any name."""
    os.environ |= ONE_THREAD
    gc.set_threshold(SELDOM)
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors="backslashreplace")
    sys.exit(main())


def _run(words: list[str]) -> int:
    """Parse the words with only the chosen command's module imported, and run it."""
    chosen = next((word for word in words if not word.startswith("-")), None)
    args = parser_with([name for name in COMMANDS if name == chosen]).parse_args(words)
    return _load(args.command).run(args)


def _load(name: str) -> "CommandModule":
    from typing import cast

    return cast("CommandModule", importlib.import_module(f"optimiser.cli.{name}"))


def _say(message: str, code: int) -> int:
    sys.stderr.write(f"{message}\n")
    return code


def _of_system(error: OSError) -> str:
    place = f"{error.filename}: " if error.filename else ""
    return f"{place}{error.strerror or error}; check the path, its rights and the room on the disk"


def _silence_stdout() -> None:
    """Let the interpreter's last flush go nowhere, so that a closed pipe ends silently."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _defect(error: Exception, trace: bool) -> int:
    if trace:
        import traceback

        traceback.print_exception(error)
    kind = type(error).__name__
    return _say(
        f"rockwright: a defect of ours ({kind}: {error}). Please report it with the command, its input file and the "
        f"output of the same command with {TRACE_VARIABLE}=1 set.",
        DEFECT,
    )
