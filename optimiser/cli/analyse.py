"""`rockwright analyse`: what one geometry does."""

import argparse
import sys
from pathlib import Path

HELP = """Shows what one geometry does, a study's own or a hand-off's: which motion works which strut, motion
ratios through heave and roll, camber and toe, and what is left of each goal. Ends with 0 even where
goals are missed."""
EXAMPLE = """rockwright analyse configs/front.yaml
  rockwright analyse configs/front.yaml --all
  rockwright analyse configs/front.yaml --json > front.json"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the file and the two forms of output."""
    parser.add_argument("file", type=Path, metavar="FILE", help="a study or a hand-off file (YAML)")
    form = parser.add_mutually_exclusive_group()
    form.add_argument("--all", action="store_true", help="every step of the travel, not only what reads at a glance")
    form.add_argument("--json", action="store_true", help="one JSON document instead of tables")


def run(args: argparse.Namespace) -> int:
    """Analyse the file and print tables or JSON; always 0, for a faulty file raises."""
    from optimiser.report.analysis.record import analyse
    from optimiser.study.read import read_study

    analysis = analyse(read_study(args.file))
    if args.json:
        import json

        from optimiser.report.analysis.document import to_json

        sys.stdout.write(json.dumps(to_json(analysis), allow_nan=False) + "\n")
        return 0
    from optimiser.report.analysis.tables import analysis_tables
    from optimiser.report.tables.cells import View
    from optimiser.report.tables.screen import width

    for line in analysis_tables(analysis, View(every_step=args.all, width=width())):
        sys.stdout.write(f"{line}\n")
    return 0
