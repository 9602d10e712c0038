"""`rockwright schema`: the keys of a file as a JSON Schema, for an editor."""

import argparse
import sys
from pathlib import Path

HELP = """\
Prints the JSON Schema of a study, or of a car file: with it an editor completes keys and marks what
is misspelt while you write. Many editors take it from a comment at the top of the file:
# yaml-language-server: $schema=study.schema.json"""
EXAMPLE = """rockwright schema -o study.schema.json
  rockwright schema car -o car.schema.json"""

STUDY, CAR = "study", "car"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the kind of file, and where the schema goes."""
    parser.add_argument("kind", nargs="?", choices=(STUDY, CAR), default=STUDY, help="what kind of file (a study)")
    parser.add_argument("-o", "--output", type=Path, metavar="FILE", help="write it here, not to the screen")


def run(args: argparse.Namespace) -> int:
    """Write the schema; 0. A schema written before is written over: it follows from the version alone."""
    import json

    from optimiser.study.car_keys import CAR as CAR_FILE
    from optimiser.study.json_schema import schema_of
    from optimiser.study.keys import STUDY as STUDY_FILE

    form = CAR_FILE if args.kind == CAR else STUDY_FILE
    text = json.dumps(schema_of(form, f"rockwright: {form.about}"), indent=1) + "\n"
    if args.output is None:
        sys.stdout.write(text)
        return 0
    args.output.write_text(text, encoding="utf-8")
    sys.stdout.write(f"{args.output}: the keys of {form.about}, for an editor\n")
    return 0
