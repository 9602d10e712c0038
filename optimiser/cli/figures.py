"""`rockwright figures`: the catalogue of figures."""

import argparse
import sys

from optimiser.errors import RockwrightError

HELP = """Prints the catalogue of figures: name, unit, definition. With NAME it explains one: its source, when
it is null, a goal that asks for it. NAME as in the catalogue (E.motion_ratio) or as in a study
(heave.motion_ratio)."""
EXAMPLE = """rockwright figures
  rockwright figures heave.motion_ratio
  rockwright figures --json"""


class UnknownNameError(RockwrightError):
    """A figure's name that the catalogue does not hold."""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the figure's name and the form of output."""
    parser.add_argument("name", nargs="?", metavar="NAME", help="one figure's name; without it, all of them")
    parser.add_argument("--json", action="store_true", help="one JSON document instead of a table")


def run(args: argparse.Namespace) -> int:
    """Print the catalogue or one figure; raises for an unknown name."""
    from objectives.catalogue.catalogue import FIGURES, UnknownFigureError, describe

    try:
        chosen = (describe(args.name),) if args.name else FIGURES
    except UnknownFigureError as unknown:
        raise UnknownNameError(f"{unknown}; rockwright figures lists them all") from unknown
    if args.json:
        import json

        keys = ("name", "unit", "definition", "source")
        figures = [{key: getattr(figure, key) for key in keys} for figure in chosen]
        sys.stdout.write(json.dumps({"figures": figures}, ensure_ascii=False) + "\n")
        return 0
    from optimiser.report.tables.catalogue import catalogue_table, explained
    from optimiser.report.tables.screen import width

    lines = explained(chosen[0], args.name, width()) if args.name else catalogue_table(width())
    for line in lines:
        sys.stdout.write(f"{line}\n")
    return 0
