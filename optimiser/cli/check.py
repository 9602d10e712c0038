"""`rockwright check`: reads a file and lists every fault, or prints the axle as understood."""

import argparse
import sys
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from optimiser.study.envelope_words import PairPortrait, RoomPortrait
    from optimiser.study.portrait import LinkPortrait, Portrait
    from optimiser.study.study import Variable

HELP = """\
Reads a study or a hand-off file. Lists every fault with its place in the file (exit code 2), or
prints the axle as understood: points, lengths, the rocker's axis and arms, what is fitted, the
room, travel, variables and goals."""
EXAMPLE = "rockwright check configs/front.yaml"

FAULTY = 2
NEAREST = 6
"""Pairs of bodies that are shown, of those that are watched."""
SIDE = "left side at static; x forward, y left, z up; mm and deg; the right side is its mirror"


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
    from optimiser.report.tables.screen import bold

    notes = [f"note: {note}" for note in portrait.notes]
    blocks = [
        [*notes, bold(portrait.name), SIDE],
        _outboard(portrait),
        _rocker(portrait),
        _elements(portrait),
        *_fitted(portrait),
        _travel(portrait),
        _varied(portrait),
        [bold("goals" if portrait.goals else "no goals"), *(f"  {goal}" for goal in portrait.goals)],
    ]
    sys.stdout.write("\n\n".join("\n".join(block) for block in blocks) + "\n")


def _outboard(portrait: "Portrait") -> list[str]:
    rows = [
        (one.name, _point(one.inboard), _point(one.outboard), f"{one.length:.3f}", _remark(one))
        for one in portrait.links
    ]
    return [
        f"wheel   centre {_point(portrait.wheel_centre)}   toe {portrait.toe:.3f}   camber {portrait.camber:.3f}   "
        f"loaded radius {portrait.loaded_radius:.2f}",
        f"rod     outboard {_point(portrait.rod_outboard)}   length {portrait.rod_length:.3f}   "
        f"carried by {portrait.rod_carrier}",
        "",
        *_table(("link", "inboard", "outboard", "length", ""), rows, left=(0, 4)),
    ]


def _remark(link: "LinkPortrait") -> str:
    remarks = {"moves with the rack": link.moves_with_rack, "bends": link.bends}
    return "; ".join(remark for remark, holds in remarks.items() if holds)


def _rocker(portrait: "Portrait") -> list[str]:
    axis = ", ".join(f"{value:.5f}" for value in portrait.axis)
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
    return [
        f"rocker  pivot {_point(portrait.pivot)}   axis ({axis})",
        f"        azimuth {portrait.axis_azimuth:.3f}   elevation {portrait.axis_elevation:.3f}   "
        f"written {portrait.axis_written}",
        "",
        *_table(columns, rows, left=(0, 5, 6)),
    ]


def _elements(portrait: "Portrait") -> list[str]:
    rows = [
        (one.name, one.kind, one.ends, one.serves or "-", "-" if one.length is None else f"{one.length:.3f}")
        for one in portrait.elements
    ]
    return _table(("element", "kind", "between", "serves", "length"), rows, left=(0, 1, 2, 3))


def _fitted(portrait: "Portrait") -> "Iterator[list[str]]":
    """Blocks of springs, dampers and loads, as far as there are any."""
    springs = [(one.name, one.on, one.said) for one in portrait.springs]
    if springs:
        yield _table(("spring", "on", "what it is"), springs, left=(0, 1, 2))
    dampers = [(one.on, one.said) for one in portrait.dampers]
    if dampers:
        yield _table(("damper on", "what it is"), dampers, left=(0, 1))
    if portrait.sprung_per_wheel is not None:
        yield [f"sprung weight on each wheel {portrait.sprung_per_wheel:g} N"]
    if portrait.cases:
        cases = [(one.name, _point(one.left), _point(one.right), one.torque_on) for one in portrait.cases]
        yield _table(("load case [N]", "left", "right", "torque on"), cases, left=(0, 3))
    if portrait.rod_tube:
        yield [f"rod     {portrait.rod_tube}"]
    if portrait.joints:
        yield _listed("joints", portrait.joints)
    if portrait.room:
        yield from _room(portrait.room)
    if portrait.build:
        yield _listed("how exactly it is built", portrait.build)
    if portrait.adjust:
        yield _listed("what can be set on the built car", portrait.adjust)


def _listed(title: str, lines: "Sequence[str]") -> list[str]:
    from optimiser.report.tables.blocks import prose
    from optimiser.report.tables.screen import width

    return [title, *(part for line in lines for part in prose(line, width(), first="  ", others="    "))]


def _room(room: "RoomPortrait") -> "Iterator[list[str]]":
    yield _listed("room", room.said)
    if not room.pairs:
        return
    near = room.pairs[:NEAREST]
    rows = [(one.name, f"{one.at_static:.2f}", f"{one.margin:g}", _remark_on_pair(one)) for one in near]
    told = "1 pair of bodies is" if len(room.pairs) == 1 else f"{len(room.pairs)} pairs of bodies are"
    yield [
        f"{told} watched over all states; nearest as the axle stands at static:",
        *_table(("pair", "apart", "margin", ""), rows, left=(0, 3)),
    ]


def _remark_on_pair(pair: "PairPortrait") -> str:
    if pair.at_static < 0.0:
        return "foul at static"
    return "under the margin at static" if pair.at_static < pair.margin else ""


def _travel(portrait: "Portrait") -> list[str]:
    rows = [(one.name, f"{one.low:g}", f"{one.high:g}", f"{one.points}") for one in portrait.travel]
    return [
        *_table(("travel", "lowest", "highest", "points"), rows, left=(0,)),
        f"{portrait.states} states of heave and roll, in steps of {portrait.step:g} mm",
    ]


def _varied(portrait: "Portrait") -> list[str]:
    if not portrait.variables:
        return ["nothing is varied"]
    rows = [
        (one.path, f"{one.low:g}", f"{one.value:g}", f"{one.high:g}", _remark_on(one)) for one in portrait.variables
    ]
    return _table(("varied", "lowest", "now", "highest", ""), rows, left=(0, 4))


def _remark_on(variable: "Variable") -> str:
    if variable.choices:
        return "one of " + ", ".join(f"{value:g}" for value in variable.choices)
    return "" if variable.low <= variable.value <= variable.high else "outside"


def _table(headings: "Sequence[str]", rows: "Sequence[Sequence[str]]", left: tuple[int, ...]) -> list[str]:
    from optimiser.report.tables.text_table import column, spread

    columns = [
        column(heading, cells, left=index in left)
        for index, (heading, cells) in enumerate(zip(headings, zip(*rows, strict=True), strict=True))
    ]
    return spread([one for one in columns if one.width], gap=3)


def _point(point: "Sequence[float]") -> str:
    return "(" + ", ".join(f"{value:.2f}" for value in point) + ")"
