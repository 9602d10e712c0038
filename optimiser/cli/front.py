"""`rockwright front`: the set that a search has found, read from its results folder."""

import argparse
import sys
from typing import TYPE_CHECKING

from optimiser.errors import RockwrightError

if TYPE_CHECKING:
    from pathlib import Path

    from optimiser.report.front.frame import Frame
    from optimiser.report.results.store import Store
    from optimiser.report.results.union import Union

HELP = """\
Shows the set that a search has found: one line a member, its objectives (the best of each marked),
its held figures, the held goal with the least left, and the variables that sit on a bound. The
study's own geometry (base) and the knee are always listed. Members that differ in no objective and
no variable by as much as counts stand as one line: 17 (+4) has four like it. --where takes
comparisons of figures, objectives and variables (<, <=, >, >=, =) with numbers, joined by and, or,
and brackets. --prices tells what each bound and held goal costs a member: by how much every
objective would gain, the others no worse, if that one gave way (1 mm more rocker.pivot.y: 0.4 mm
less rocker.top_height). Several folders of one study are shown as their union: of all members,
those that no other dominates. --against tells what another folder has that this one lacks, --growth
how the front grew."""

EXAMPLE = """\
rockwright front results/front --sort rocker.arm_sum --top 10
  rockwright front results/front --where "heave.crosstalk < 3 and rocker.pivot.y > 200"
  rockwright front results/front --compare base knee
  rockwright front results/front --prices knee
  rockwright front results/seed-1 results/seed-2
  rockwright front results/front --against results/wider
  rockwright front results/front --growth
  rockwright front results/front --csv > front.csv"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.add_argument("results", metavar="RESULTS", nargs="+", help="the results folder, or several of one study")
    parser.add_argument("--sort", metavar="FIGURE", help="order: a figure, objective (best first) or variable")
    parser.add_argument("--where", metavar="CONDITION", help='which members, such as "heave.crosstalk < 3"')
    parser.add_argument("--top", metavar="N", type=_count, help="how many members (default 25; --json, --csv: all)")
    parser.add_argument("--every", action="store_true", help="a line for every member, near-twins too")
    instead = parser.add_mutually_exclusive_group()
    instead.add_argument("--compare", nargs=2, metavar="ID", help="two members, or base, or knee: what differs")
    instead.add_argument("--prices", metavar="ID", help="what a member would gain if a bound or held goal gave way")
    instead.add_argument("--against", metavar="OTHER", help="what another results folder has that this one lacks")
    instead.add_argument("--growth", action="store_true", help="the log of the front's growth, and a plot of it")
    form = parser.add_mutually_exclusive_group()
    form.add_argument("--json", action="store_true", help="one JSON document with every figure at full precision")
    form.add_argument("--csv", action="store_true", help="the list for a spreadsheet: every figure at full precision")
    form.add_argument("--markdown", action="store_true", help="the list as a Markdown table, for a report")


class ListAloneError(RockwrightError):
    """A form of the list asked for something that is no list."""


class SeveralLogsError(RockwrightError):
    """The growth of several folders asked for at once."""


def run(args: argparse.Namespace) -> int:
    """Show the front; 0. Raises NothingFoundError (exit code 1) where it has no member."""
    from dataclasses import replace
    from pathlib import Path

    from optimiser.report.front.frame import NothingFoundError, frame
    from optimiser.report.results.store import read_store

    _refuse_other_than_list(args)
    stores = [read_store(Path(path)) for path in args.results]
    union = _union(stores)
    store = union.store if union else stores[0]
    if args.growth:
        _write(_growth(stores, args.json))
    if args.against:
        _write(_against(store, Path(args.against), args))
        return 0
    try:
        front = frame(store)
    except NothingFoundError:
        if not (args.json or args.csv or args.markdown or args.growth):
            from optimiser.report.front.closest import closest_lines

            _write(closest_lines(store))
        raise
    if union:
        front = replace(front, origins={name: origin.folder + 1 for name, origin in union.origins.items()})
    if not args.growth:
        _write(_lines(front, args, union))
    return 0


def _refuse_other_than_list(args: argparse.Namespace) -> None:
    if (args.csv or args.markdown) and (args.compare or args.prices or args.against or args.growth):
        raise ListAloneError(
            "--csv and --markdown write the list of members: leave out --compare, --prices, --against and --growth, "
            "or take --json"
        )


def _union(stores: "list[Store]") -> "Union | None":
    """The folders as one; None where there is one folder, of which every member counts."""
    if len(stores) == 1:
        return None
    from optimiser.report.results.union import united

    return united(stores)


def _growth(stores: "list[Store]", as_json: bool) -> list[str]:
    from optimiser.report.front.growth import growth_json, growth_lines
    from optimiser.report.tables.screen import width

    if len(stores) > 1:
        raise SeveralLogsError("--growth shows the log of one results folder: name one")
    return [growth_json(stores[0])] if as_json else growth_lines(stores[0], width())


def _against(store: "Store", other: "Path", args: argparse.Namespace) -> list[str]:
    from optimiser.report.front.against import TOP, against, against_json, against_lines
    from optimiser.report.results.store import read_store
    from optimiser.report.tables.screen import width

    found = against(store, read_store(other), TOP if args.top is None else args.top)
    return [against_json(found)] if args.json else against_lines(found, width())


def _lines(front: "Frame", args: argparse.Namespace, union: "Union | None") -> list[str]:
    from optimiser.report.front.listing import DEFAULT_TOP, selection, shown

    if args.compare:
        return _compared(front, args)
    if args.prices:
        return _priced(front, args)
    rows = selection(front, args.sort, args.where)
    members = [row for row in rows if row < front.members]
    if args.json:
        from optimiser.report.front.document import front_json

        return [front_json(front, members[: args.top], union)]
    if args.csv:
        from optimiser.report.front.exported import front_csv

        return front_csv(front, shown(front, rows, args.top)).splitlines()
    from optimiser.report.front.twins import folded

    top = DEFAULT_TOP if args.top is None else args.top
    like = dict.fromkeys(rows, 0) if args.every else folded(front, rows)
    chosen = shown(front, list(like), top)
    if args.markdown:
        from optimiser.report.front.exported import front_markdown

        return list(front_markdown(front, chosen, like))
    from optimiser.report.front.table import front_lines
    from optimiser.report.tables.screen import width

    lines = front_lines(front, chosen, args.sort, len(members), width(), like)
    return [*lines, *_folders(union)]


def _folders(union: "Union | None") -> list[str]:
    """What each of several folders brings, and how to hand over one of their members."""
    if union is None:
        return []
    from optimiser.report.front.folders import folder_lines
    from optimiser.report.tables.screen import width

    return [
        "",
        *folder_lines(union, width()),
        "",
        f"to hand one over: rockwright merge {union.store.folder} -o results/NAME",
    ]


def _compared(front: "Frame", args: argparse.Namespace) -> list[str]:
    from optimiser.report.front.compare import compare_json, compare_lines

    a, b = (front.row(name) for name in args.compare)
    return [compare_json(front, a, b)] if args.json else compare_lines(front, a, b)


def _priced(front: "Frame", args: argparse.Namespace) -> list[str]:
    from pathlib import Path

    from optimiser.report.front.prices import member_prices, price_json, price_lines
    from optimiser.report.results.loading import load

    row = front.row(args.prices)
    prices = member_prices(front, row, load(Path(args.results[0])).study())
    return [price_json(front, row, prices)] if args.json else price_lines(front, row, prices)


def _write(lines: list[str]) -> None:
    sys.stdout.writelines(f"{line}\n" for line in lines)


def _count(text: str) -> int:
    """A whole number from 0, as argparse asks for it."""
    if not text.isdecimal() or len(text) > 9:
        raise argparse.ArgumentTypeError(f"{text!r} is no whole number from 0")
    return int(text)
