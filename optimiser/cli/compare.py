"""`rockwright compare`: a built car beside its file."""

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from optimiser.report.compare.record import Comparison
    from optimiser.study.study import Study

HELP = """\
Sets readings of a built car, taken by jacking both wheels, one, and opposite ones, beside a study
or a hand-off: what each reading misses, which deviations of pivots, arms and rods explain it, how
surely, and what these readings cannot see. --measuring-sheet writes the sheet to fill in (CSV): of
each row the length or the compression of an element [mm], and the instrument's error (one standard
deviation) where it is not --error. -o writes the axle as fitted, a hand-off that `analyse` reads.
Ends with 1 where build and instrument do not explain the readings."""
EXAMPLE = """rockwright compare configs/front_room.yaml --measuring-sheet sheet.csv
  rockwright compare configs/front_room.yaml sheet.csv
  rockwright compare configs/front_room.yaml sheet.csv --error 0.05 -o as-built.yaml"""


_SIDES = {"mean": "the mean of left and right", "left": "its left side's", "right": "its right side's"}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the two files, the sheet to write, and the corrected file."""
    parser.add_argument("file", type=Path, metavar="FILE", help="a study or a hand-off file (YAML)")
    parser.add_argument("measured", type=Path, metavar="MEASURED", nargs="?", help="the sheet, filled in (CSV)")
    parser.add_argument("--measuring-sheet", type=Path, metavar="CSV", help="write the sheet to fill in, and end")
    parser.add_argument("--error", type=float, metavar="MM", help="one standard deviation of the instrument (0.1)")
    parser.add_argument("-o", "--output", type=Path, metavar="YAML", help="write the axle as fitted")
    parser.add_argument(
        "--side",
        choices=("mean", "left", "right"),
        default="mean",
        help="which side's deviations it has, for a file's sides are alike: the mean of both (default), or one side's",
    )
    parser.add_argument("--force", action="store_true", help="overwrite what is there already, but never an input")
    form = parser.add_mutually_exclusive_group()
    form.add_argument("--all", action="store_true", help="every reading, deviation and direction")
    form.add_argument("--json", action="store_true", help="one JSON document instead of tables")


def run(args: argparse.Namespace) -> int:
    """Write the sheet, or compare: 0, and 1 where build and instrument do not explain the readings."""
    from optimiser.errors import RockwrightError
    from optimiser.study.read import read_study

    inputs = [path for path in (args.file, args.measured) if path is not None]
    for target in (args.measuring_sheet, args.output):
        _refuse(target, inputs, args.force)
    study = read_study(args.file)
    if args.measuring_sheet is not None:
        _write_sheet(study, args.measuring_sheet)
        return 0
    if args.measured is None:
        raise RockwrightError("no readings: give the sheet, filled in, or --measuring-sheet CSV to have one written")
    found = _compare(study, args)
    if args.output is not None:
        _write_corrected(study, found, args)
    _show(found, args)
    return int(found.doubtful)


def _refuse(target: Path | None, inputs: list[Path], force: bool) -> None:
    """Raise where a file would be written over an input, or over another one without --force."""
    from optimiser.report.handoff.document import HandOffError, refuse_existing

    if target is None:
        return
    if any(path.exists() and target.exists() and target.samefile(path) for path in inputs):
        raise HandOffError(f"{target} is an input; name another file to write")
    refuse_existing(target, force=force)


def _write_sheet(study: "Study", path: Path) -> None:
    from optimiser.report.compare.sheet import measuring_sheet
    from optimiser.report.results.files import write_durably

    text = measuring_sheet(study.axle, study.travel)
    write_durably(path.parent, path.name, text.encode())
    sys.stdout.write(f"{path}: {text.count(chr(10)) - 1} rows; fill in `length` or `compression` [mm] of each\n")


def _compare(study: "Study", args: argparse.Namespace) -> "Comparison":
    import math

    from optimiser.errors import RockwrightError
    from optimiser.report.compare.measured import INSTRUMENT_ERROR, SMALLEST_ERROR, read_measured
    from optimiser.report.compare.record import compare

    error = INSTRUMENT_ERROR if args.error is None else float(args.error)
    if not (math.isfinite(error) and error >= SMALLEST_ERROR):
        raise RockwrightError(f"--error {args.error:g}: give one standard deviation of the instrument, above 0 mm")
    if not study.axle.struts:
        raise RockwrightError(
            f"{args.file}: no strut to measure; `compare` reads lengths of struts, and bars have none"
        )
    return compare(study, read_measured(args.measured, study, error))


def _show(found: "Comparison", args: argparse.Namespace) -> None:
    if args.json:
        import json

        from optimiser.report.compare.document import comparison_json

        sys.stdout.write(json.dumps(comparison_json(found), allow_nan=False) + "\n")
        return
    from optimiser.report.compare.tables import comparison_tables
    from optimiser.report.tables.cells import View
    from optimiser.report.tables.screen import width

    for line in comparison_tables(found, View(every_step=args.all, width=width())):
        sys.stdout.write(f"{line}\n")
    if args.output is not None:
        sys.stdout.write(f"\n{args.output}: the axle as fitted ({_SIDES[args.side]})\n")


def _write_corrected(study: "Study", found: "Comparison", args: argparse.Namespace) -> None:
    import time

    from optimiser.report.compare.record import corrected
    from optimiser.report.handoff.document import Origin, handoff_document, write_handoff

    written = time.strftime("%Y-%m-%dT%H:%M:%S%z")
    origin = Origin(study.name, study.fingerprint, study.seed, f"as measured, {args.side} side", written)
    document = handoff_document(study, corrected(study.axle, found.fit, args.side), origin)
    write_handoff(document, args.output, force=args.force)
