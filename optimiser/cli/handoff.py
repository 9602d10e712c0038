"""`rockwright handoff`: one geometry of a set, complete, in a file of its own."""

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from geometry.arrays import Array
    from optimiser.report.handoff.document import Origin
    from optimiser.report.results.loading import Results
    from optimiser.study.study import Study

HELP = """\
Hands one member of a set over: a YAML file with every point, figure, goal, table and eye length,
where it comes from, and the caution that goes with it. Anyone can check it with `rockwright
verify`; `analyse`, `check` and `draw` read it as they read a study. --points writes the points of
both sides as a table too, for CAD."""
EXAMPLE = """rockwright handoff results/front 12 -o front-12.yaml
  rockwright handoff results/front knee -o front-knee.yaml --points front-knee.csv
  rockwright handoff results/front base -o front-as-drawn.yaml"""

BASE = ("base", "0")
"""Names of the study's own geometry."""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the folder, the member and the file."""
    parser.add_argument("results", metavar="RESULTS", help="the results folder of a search")
    parser.add_argument("id", metavar="ID", help="a member's id, `knee`, or `base` for the study's own geometry")
    parser.add_argument("-o", "--output", metavar="FILE", required=True, help="the file to write (YAML)")
    parser.add_argument("--points", type=Path, metavar="CSV", help="write the points of both sides, a line each, too")
    parser.add_argument(
        "--measuring-sheet", type=Path, metavar="CSV", help="write a sheet to measure the built car by, for `compare`"
    )
    parser.add_argument("--force", action="store_true", help="overwrite what is there already")


def run(args: argparse.Namespace) -> int:
    """Write the file; 0."""
    from optimiser.report.handoff.document import handoff_document, refuse_existing, write_handoff
    from optimiser.report.results.loading import load
    from optimiser.study.variables import candidates

    path = Path(args.output)
    for target in (path, args.points, args.measuring_sheet):
        if target is not None:
            refuse_existing(target, force=args.force)
    results = load(Path(args.results))
    study = results.study()
    x, member = _member(results, study, args.id)
    axle = candidates(study, x)
    document = handoff_document(study, axle, _origin(results, member))
    if args.points is not None:
        from optimiser.report.handoff.points import points_csv
        from optimiser.report.results.files import write_durably

        write_durably(args.points.parent, args.points.name, points_csv(axle).encode())
    if args.measuring_sheet is not None:
        from optimiser.report.compare.sheet import measuring_sheet
        from optimiser.report.results.files import write_durably

        write_durably(
            args.measuring_sheet.parent, args.measuring_sheet.name, measuring_sheet(axle, study.travel).encode()
        )
    write_handoff(document, path, force=args.force)
    sys.stdout.write(_summary(document["goals"], member, path))
    return 0


def _member(results: "Results", study: "Study", name: str) -> "tuple[Array, str]":
    """The member's variables (V,) in the study's units, and its id."""
    import numpy as np

    from optimiser.report.front.frame import frame
    from optimiser.study.variables import base_point

    if name in BASE:
        return base_point(study), "base"
    front = frame(results.store)
    row = front.row(name)
    return np.array(front.x(row)), str(front.table.ids[row])


def _origin(results: "Results", member: str) -> "Origin":
    import time

    from optimiser.report.handoff.document import Origin

    manifest = results.manifest
    return Origin(
        study=manifest.study,
        fingerprint=manifest.fingerprint,
        seed=manifest.seed,
        member=member,
        written=time.strftime("%Y-%m-%dT%H:%M:%S%z"),
        versions=manifest.versions,
    )


def _summary(goals: object, member: str, path: Path) -> str:
    from optimiser.report.handoff.caution import CAUTION

    judged = [goal for goal in goals.values() if isinstance(goal, dict)] if isinstance(goals, dict) else []
    held = [bool(goal["met"]) for goal in judged if "met" in goal]
    name = "the study's own geometry" if member == "base" else f"member {member}"
    return f"{path}: {name}, {sum(held)} of {len(held)} held goals met.\n\n{_wrapped(CAUTION)}\n"


def _wrapped(text: str) -> str:
    import textwrap

    from optimiser.report.tables.screen import width

    return textwrap.fill(text, min(width(), 100))
