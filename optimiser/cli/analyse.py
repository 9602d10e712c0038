"""`rockwright analyse`: what one geometry does."""

import argparse
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from optimiser.report.tables.cells import View
    from optimiser.study.study import Study

HELP = """Shows what one geometry does, a study's own or a hand-off's: which motion works which strut, motion
ratios through heave and roll, camber and toe, the steering axis, and what is left of each goal.
Ends with 0 even where goals are missed. With --sensitivity, in place of that: by how much each
goal's figure changes per mm and per degree of every dimension, largest first."""
EXAMPLE = """rockwright analyse configs/front.yaml
  rockwright analyse configs/front.yaml --all
  rockwright analyse configs/front.yaml --sensitivity
  rockwright analyse configs/front.yaml --json > front.json"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the file, what is asked, and the two forms of output."""
    parser.add_argument("file", type=Path, metavar="FILE", help="a study or a hand-off file (YAML)")
    parser.add_argument(
        "--sensitivity",
        action="store_true",
        help="what each dimension does to each goal's figure; with --json beside all else, under `sensitivity`",
    )
    form = parser.add_mutually_exclusive_group()
    form.add_argument("--all", action="store_true", help="every step of the travel, not only what reads at a glance")
    form.add_argument("--json", action="store_true", help="one JSON document instead of tables")


def run(args: argparse.Namespace) -> int:
    """Analyse the file and print tables or JSON; always 0, for a faulty file raises."""
    from optimiser.study.read import read_study

    study = read_study(args.file)
    if args.json:
        sys.stdout.write(_document(study, args.sensitivity) + "\n")
        return 0
    from optimiser.report.tables.cells import View
    from optimiser.report.tables.screen import width

    view = View(every_step=args.all, width=width())
    for line in _sensitivity(study, view) if args.sensitivity else _analysis(study, view):
        sys.stdout.write(f"{line}\n")
    return 0


def _document(study: "Study", sensitive: bool) -> str:
    import json

    from optimiser.report.analysis.document import to_json
    from optimiser.report.analysis.record import analyse

    document = to_json(analyse(study))
    if sensitive:
        from optimiser.report.analysis.sensitivity import sensitivity
        from optimiser.report.analysis.sensitivity_tables import sensitivity_json

        document["sensitivity"] = sensitivity_json(sensitivity(study))
    return json.dumps(document, allow_nan=False)


def _analysis(study: "Study", view: "View") -> Iterator[str]:
    from optimiser.report.analysis.record import analyse
    from optimiser.report.analysis.tables import analysis_tables

    return analysis_tables(analyse(study), view)


def _sensitivity(study: "Study", view: "View") -> Iterator[str]:
    from optimiser.report.analysis.sensitivity import sensitivity
    from optimiser.report.analysis.sensitivity_tables import sensitivity_tables

    return sensitivity_tables(sensitivity(study), view)
