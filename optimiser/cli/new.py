"""`rockwright new`: a study to begin from."""

import argparse
import sys
from pathlib import Path

HELP = """\
Writes a study to begin from: complete, its own geometry meets its held goals, every section is
explained, and the sections that may be left out stand in it commented out. Put your own axle in,
and run `rockwright check` after each change. Never writes over a file."""
EXAMPLE = """rockwright new -o study.yaml
  rockwright check study.yaml"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the file."""
    parser.add_argument("-o", "--output", type=Path, metavar="FILE", required=True, help="the file to write (YAML)")


def run(args: argparse.Namespace) -> int:
    """Write the file; 0. Raises StudyThereError where it is there already."""
    from optimiser.study.beginning import StudyThereError, beginning

    try:
        with args.output.open("x", encoding="utf-8") as file:
            file.write(beginning())
    except FileExistsError as there:
        raise StudyThereError(f"{args.output} is there already; name another file with -o") from there
    sys.stdout.write(f"{args.output}: a study to begin from; next: rockwright check {args.output}\n")
    return 0
