"""`rockwright verify`: does a hand-off file say what follows from its points?"""

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from optimiser.report.handoff.verify import Verification

HELP = """\
Recomputes every figure, goal, table, eye length and right-side point of a hand-off file from the
points that it gives, by a second and independent reading of the definitions, and compares. Seals
show entries that were edited though nothing follows from them; they catch accidents, not intent.
Ends with 1, naming each entry that differs."""
EXAMPLE = "rockwright verify front-12.yaml"

DIFFERS = 1


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the file and the form of the output."""
    parser.add_argument("file", metavar="FILE", help="a hand-off file (YAML)")
    parser.add_argument("--json", action="store_true", help="one JSON document instead of lines")


def run(args: argparse.Namespace) -> int:
    """Verify the file; 0 where everything agrees, 1 where something differs."""
    from optimiser.report.handoff.verify import verify
    from optimiser.study.document import load_tree

    found = verify(load_tree(Path(args.file)), args.file)
    sys.stdout.write(_json(found, args.file) if args.json else _text(found, args.file))
    return 0 if found.agrees else DIFFERS


def _text(found: "Verification", file: str) -> str:
    if found.agrees:
        return (
            f"{file}: {found.entries} entries recomputed and {found.sealed} seals compared, all agree, largest "
            f"relative difference {found.largest:.1e}\n"
        )
    count = len(found.differences)
    rows = [("entry", "says", "recomputed"), *((d.path, d.says, d.recomputed) for d in found.differences)]
    first, second = (max(len(row[k]) for row in rows) for k in (0, 1))
    lines = [f"  {path:<{first}}  {says:<{second}}  {recomputed}" for path, says, recomputed in rows]
    head = f"{file}: {count} {'entry differs' if count == 1 else 'entries differ'}"
    return "\n".join([head, *lines]) + "\n"


def _json(found: "Verification", file: str) -> str:
    import json
    from dataclasses import asdict

    from optimiser.report.handoff.differences import RELATIVE

    record = {"file": file, "agrees": found.agrees, "tolerance": RELATIVE, **asdict(found)}
    return json.dumps(record, allow_nan=False) + "\n"
