"""`rockwright check`: reads a file and lists every fault, or prints the axle as understood."""

import argparse
import sys
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from rich.console import Console

    from optimiser.study.portrait import LinkPortrait, Portrait

HELP = """Reads a study or a hand-off file. Lists every fault with its place in the file (exit code 2), or prints the
axle as understood: points, lengths, the rocker's axis and arms, travel, variables, goals."""
EXAMPLE = "rockwright check configs/front.yaml"

FAULTY = 2


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the file and the form of the output."""
    parser.add_argument("file", metavar="FILE", help="a study or a hand-off file (YAML)")
    parser.add_argument("--json", action="store_true", help="one JSON document, of a faulty file too")


def run(args: argparse.Namespace) -> int:
    """Print the file as understood; 0. Its faults are raised, or, with `--json`, printed: then 2."""
    from dataclasses import asdict
    from pathlib import Path

    from optimiser.study.faults import FaultsError
    from optimiser.study.read import read_study

    try:
        study = read_study(Path(args.file))
    except FaultsError as error:
        if not args.json:
            raise
        _write_json({"file": args.file, "sound": False, "faults": [asdict(fault) for fault in error.faults]})
        return FAULTY
    from optimiser.study.portrait import portray

    portrait = portray(study)
    if args.json:
        units = {"length": "mm", "angle": "deg"}
        _write_json({"file": args.file, "sound": True, "units": units, **asdict(portrait)})
    else:
        _write_tables(portrait)
    return 0


def _write_json(document: dict[str, object]) -> None:
    import json

    sys.stdout.write(json.dumps(document, allow_nan=False, indent=1) + "\n")


def _write_tables(portrait: "Portrait") -> None:
    from optimiser.report.tables.screen import console

    screen = console()
    for note in portrait.notes:
        screen.print(f"note: {note}")
    _points(screen, portrait)
    _rocker(screen, portrait)
    _travel(screen, portrait)
    _asked(screen, portrait)


def _points(screen: "Console", portrait: "Portrait") -> None:
    screen.print(portrait.name, style="bold")
    screen.print("left side at static; x forward, y left, z up; mm and deg; the right side is its mirror\n")
    screen.print(
        f"wheel   centre {_point(portrait.wheel_centre)}   toe {portrait.toe:.3f}   camber {portrait.camber:.3f}   "
        f"loaded radius {portrait.loaded_radius:.2f}"
    )
    screen.print(
        f"rod     outboard {_point(portrait.rod_outboard)}   length {portrait.rod_length:.3f}   "
        f"carried by {portrait.rod_carrier}"
    )
    rows = [
        (one.name, _point(one.inboard), _point(one.outboard), f"{one.length:.3f}", _remark(one))
        for one in portrait.links
    ]
    _table(screen, ("link", "inboard", "outboard", "length", ""), rows, left=(0, 4))


def _remark(link: "LinkPortrait") -> str:
    remarks = {"moves with the rack": link.moves_with_rack, "bends": link.bends}
    return "; ".join(remark for remark, holds in remarks.items() if holds)


def _rocker(screen: "Console", portrait: "Portrait") -> None:
    axis = ", ".join(f"{value:.5f}" for value in portrait.axis)
    screen.print(
        f"rocker  pivot {_point(portrait.pivot)}   axis ({axis}), written as {portrait.axis_written}\n"
        f"        azimuth {portrait.axis_azimuth:.3f}   elevation {portrait.axis_elevation:.3f}"
    )
    rows = [
        (
            one.name,
            f"{one.length:.3f}",
            f"{one.angle:.3f}",
            f"{one.offset:.3f}",
            _point(one.point),
            "rides" if one.rides else "stays",
            "" if one.used else "no element uses it",
        )
        for one in portrait.ends
    ]
    columns = ("rocker's end", "length", "angle", "offset", "point", "with pivot", "")
    _table(screen, columns, rows, left=(0, 5, 6))
    elements = [(one.name, one.kind, one.ends, one.serves or "-", f"{one.length:.3f}") for one in portrait.elements]
    _table(screen, ("element", "kind", "between", "serves", "length"), elements, left=(0, 1, 2, 3))


def _travel(screen: "Console", portrait: "Portrait") -> None:
    rows = [(one.name, f"{one.low:g}", f"{one.high:g}", f"{one.points}") for one in portrait.travel]
    _table(screen, ("travel", "lowest", "highest", "points"), rows, left=(0,))
    screen.print(f"{portrait.states} states of heave and roll, in steps of {portrait.step:g} mm\n")


def _asked(screen: "Console", portrait: "Portrait") -> None:
    if portrait.variables:
        rows = [
            (one.path, f"{one.low:g}", f"{one.value:g}", f"{one.high:g}", _within(one.low, one.value, one.high))
            for one in portrait.variables
        ]
        _table(screen, ("varied", "lowest", "now", "highest", ""), rows, left=(0, 4))
    else:
        screen.print("nothing is varied\n")
    screen.print("goals" if portrait.goals else "no goals", style="bold")
    for goal in portrait.goals:
        screen.print(f"  {goal}", soft_wrap=True)


def _within(low: float, value: float, high: float) -> str:
    return "" if low <= value <= high else "outside"


def _table(screen: "Console", columns: "Sequence[str]", rows: "Iterable[Sequence[str]]", left: tuple[int, ...]) -> None:
    from optimiser.report.tables.screen import grid

    table = grid()
    for index, name in enumerate(columns):
        table.add_column(name, justify="left" if index in left else "right", overflow="fold")
    for row in rows:
        table.add_row(*row)
    screen.print(table)


def _point(point: "Sequence[float]") -> str:
    return "(" + ", ".join(f"{value:.2f}" for value in point) + ")"
