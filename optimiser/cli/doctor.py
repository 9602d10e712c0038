"""`rockwright doctor`: is a results folder whole, and how to go on where it is not."""

import argparse
import sys
from pathlib import Path

HELP = """\
Looks at every file of a results folder: against its checksum, and whether all go together. Then it
recomputes members, chosen at random, from their variables alone, and compares every figure and
objective. A folder keeps its last two saves, each complete; where the last one is damaged, the one
before is the last good state. Without --mend nothing is written. --mend puts the folder back to
that state, from which search --resume goes on; what is damaged is moved into RESULTS/torn. Ends
with 0 where all is well, 1 where something is wrong, 2 where this is no results folder."""

EXAMPLE = """\
rockwright doctor results/front
  rockwright doctor results/front --members 200 --seed 7
  rockwright doctor results/front --mend"""

WRONG = 1


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.add_argument("results", metavar="RESULTS", help="the results folder")
    parser.add_argument("--members", metavar="N", type=_number, help="how many members are recomputed (default 20)")
    parser.add_argument("--seed", metavar="S", type=_number, help="another choice of members (default 0)")
    parser.add_argument("--mend", action="store_true", help="put the folder back to its last good state")
    parser.add_argument("--json", action="store_true", help="one JSON document instead of lines")


def run(args: argparse.Namespace) -> int:
    """Examine the folder, after mending it where that is asked: 0 where all is well, 1 where something is wrong."""
    from optimiser.report.doctor.examine import MEMBERS, SEED, examine
    from optimiser.report.doctor.mend import mend

    folder = Path(args.results)
    done = (mend(folder) or ("nothing was to be put back",)) if args.mend else ()
    members, seed = MEMBERS if args.members is None else args.members, SEED if args.seed is None else args.seed
    health = examine(folder, members, seed)
    if args.json:
        from optimiser.report.doctor.document import health_json

        sys.stdout.write(health_json(health, done))
    else:
        from optimiser.report.doctor.lines import health_lines

        sys.stdout.writelines(f"{line}\n" for line in [*done, *health_lines(health)])
    return 0 if health.well else WRONG


def _number(text: str) -> int:
    """A whole number from 0, as argparse asks for it."""
    if not text.isdecimal() or len(text) > 9:
        raise argparse.ArgumentTypeError(f"{text!r} is no whole number from 0")
    return int(text)
