"""`rockwright car`: the whole car on its four wheels."""

import argparse
import sys
from pathlib import Path

HELP = """Joins two axles, each a study or a hand-off file with springs, to a car: vibration with seven
degrees of freedom, load transfer, roll and pitch from the links' own kinematics, ride height
against speed, a kerb under one wheel; what its targets ask of wheel rates, ratios, springs and
dampers; and, beside it, the same car on corner springs and a bar. The paths of the axles count
from the car file's folder."""
EXAMPLE = """rockwright car configs/car.yaml
  rockwright car configs/car.yaml --all
  rockwright car configs/car.yaml --json > car.json"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the file and the two forms of output."""
    parser.add_argument("file", type=Path, metavar="CAR", help="a car file (YAML)")
    form = parser.add_mutually_exclusive_group()
    form.add_argument("--all", action="store_true", help="every step of the travel, not only what reads at a glance")
    form.add_argument("--json", action="store_true", help="one JSON document instead of tables")


def run(args: argparse.Namespace) -> int:
    """Analyse the car and print tables or JSON; always 0, for a faulty file raises."""
    from optimiser.report.car.analyse import analyse_car
    from optimiser.study.car import read_car

    analysis = analyse_car(read_car(args.file))
    if args.json:
        import json

        from optimiser.report.car.document import to_json

        sys.stdout.write(json.dumps(to_json(analysis), allow_nan=False) + "\n")
        return 0
    from optimiser.report.car.tables import car_tables
    from optimiser.report.tables.cells import View
    from optimiser.report.tables.screen import width

    for line in car_tables(analysis, View(every_step=args.all, width=width())):
        sys.stdout.write(f"{line}\n")
    return 0
