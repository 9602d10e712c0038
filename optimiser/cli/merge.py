"""`rockwright merge`: several results folders of one study, as one new folder."""

import argparse
import sys
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pathlib import Path

    from optimiser.report.results.union import Union
    from optimiser.search.snapshot import Snapshot

HELP = """\
Writes a new results folder with the union of several: of all their members, those that no other
dominates, with their figures as the folders hold them (every file is checked, nothing is measured
anew). Candidates and time are summed. The folders hold one and the same study file, searched with
any seeds, or as shares of an array job. front, handoff and search --resume take the new folder as
any other. A member keeps its id unless an earlier folder has it for another member; front A B
shows the same ids without writing anything."""

EXAMPLE = """\
rockwright merge results/seed-1 results/seed-2 -o results/both
  rockwright merge results/share-* -o results/all"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the folders and the new one."""
    parser.add_argument("results", metavar="RESULTS", nargs="+", help="the results folders, two or more")
    parser.add_argument("-o", "--output", metavar="FOLDER", required=True, help="the new results folder")


def run(args: argparse.Namespace) -> int:
    """Write the new folder; 0. Where no folder has a member, neither has the new one."""
    import shlex
    from pathlib import Path

    from optimiser.report.results.merge import merge

    out = Path(args.output)
    command = shlex.join(["rockwright", "merge", *args.results, "-o", args.output])
    union, snapshot = merge([Path(path) for path in args.results], out, command)
    sys.stdout.writelines(f"{line}\n" for line in _told(union, snapshot, out))
    return 0


def _told(union: "Union", snapshot: "Snapshot", out: "Path") -> list[str]:
    from optimiser.report.front.folders import folder_lines
    from optimiser.report.tables.screen import width

    crowded = len(union.origins) - len(snapshot.ids)
    thinned = f", {crowded:,} of the most crowded left out" if crowded else ""
    return [
        *folder_lines(union, width()),
        f"{out}: {len(snapshot.ids):,} members from {snapshot.evaluations:,} candidates{thinned}",
        "",
        f"next: rockwright front {out}",
        f"      rockwright handoff {out} ID -o FILE.yaml",
    ]
