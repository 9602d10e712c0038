"""`rockwright search`: the Pareto set of a study, into a results folder."""

import argparse
import sys
from dataclasses import dataclass
from typing import TYPE_CHECKING

from optimiser.cli.durations import duration

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping
    from pathlib import Path

    from optimiser.report.results.earlier import Earlier
    from optimiser.report.results.folder import ResultsFolder
    from optimiser.search.crew import Tools
    from optimiser.search.island import Budget
    from optimiser.search.share import Share
    from optimiser.search.snapshot import Snapshot
    from optimiser.study.study import Study

HELP = """\
Searches a study's variables for rockers that meet its held goals, and keeps those of which no other
is better in every objective. What is found is saved into the results folder every few seconds:
Ctrl-C ends the search, keeps all of it and exits with 130, and --resume goes on from there. Without
--for and --evaluations it searches for 60 seconds. Where nothing is feasible, the closest candidate
is kept and shown with every goal that it misses, and with the smallest set of goals and bounds
that exclude each other (exit code 1). A study that has held goals alone gets the geometry that
meets them all with the most room. Held goals hold between the travel points too: every member is
solved again on a grid ten times finer, and goes where it misses one. One study, seed and
--evaluations give the same front on the same machine, with any number of workers, stopped and
resumed or not; how far --for comes depends on the machine and its load."""

EXAMPLE = """\
rockwright search configs/front.yaml --for 10m
  rockwright search configs/front.yaml --for 1h30m --resume
  rockwright search configs/front.yaml --evaluations 20000 --seed 7 --out results/seed-7
  rockwright search configs/front.yaml --plan --for 8h
  rockwright search configs/front.yaml --for 10m --out results/second --start-from results/front"""

DEFAULT_SECONDS = 60.0
"""How long a search runs where nothing is said [s]."""
SAVE_EVERY = 2.0
"""A search saves at most this often [s],"""
SAVE_SHARE = 0.05
"""and spends at most this share of its time on saving."""
NOTICEABLE = 2.0
"""Compiling that takes longer is told [s]."""
HEAD = 10
"""Members shown at the end."""
INTERRUPTED = 130
SEEKING_WHY = "nothing feasible: looking for what excludes itself, some seconds (all is saved, Ctrl-C ends it) ..."


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare the command's arguments."""
    parser.add_argument("study", metavar="STUDY", help="the study file (YAML)")
    parser.add_argument(
        "--for", dest="seconds", metavar="TIME", type=duration, help="how long this run lasts: 30s, 10m, 1h30m, seconds"
    )
    parser.add_argument(
        "--evaluations", metavar="N", type=_count, help="candidates in all, over every run into the same folder"
    )
    parser.add_argument(
        "--until-flat",
        metavar="TIME",
        type=duration,
        help="end when the front's hypervolume has grown by less than a thousandth in that time",
    )
    parser.add_argument(
        "--workers", metavar="W", type=_count, help="processes that search (default: one for each core)"
    )
    parser.add_argument(
        "--islands",
        metavar="K/N",
        type=_share,
        help="this run is share K of N that know nothing of each other, as in an array job: "
        "each writes its own folder, `front A B C` and `merge A B C -o D` read them together",
    )
    parser.add_argument(
        "--storage",
        metavar="URL",
        help="take part in the campaign that other machines search by the same command, and meet in this PostgreSQL "
        "database: postgresql+psycopg://USER@HOST/DATABASE (password: ~/.pgpass or PGPASSWORD)",
    )
    parser.add_argument("--seed", metavar="S", type=_seed, help="in place of the study's own seed")
    parser.add_argument("--out", metavar="FOLDER", help="the results folder (default: results/NAME-OF-THE-STUDY-FILE)")
    parser.add_argument("--resume", action="store_true", help="go on from what the folder holds")
    parser.add_argument(
        "--start-from",
        metavar="DESIGNS",
        help="begin with the members of this results folder, or with the geometry of this hand-off, "
        "whatever study they come from: measured anew, what no longer fits is told",
    )
    parser.add_argument(
        "--plan",
        action="store_true",
        help="look first: evaluate 1,000 candidates, tell how many are feasible and what the search would do; "
        "writes nothing",
    )
    parser.add_argument("--json", action="store_true", help="with --plan: one JSON document instead of tables")


def run(args: argparse.Namespace) -> int:
    """Search, and show the head of what was found: 0; 1 where nothing is feasible; 130 where it was interrupted."""
    from dataclasses import replace
    from pathlib import Path

    from optimiser.cli.planning import refuse_resuming
    from optimiser.cli.starting import earlier_designs
    from optimiser.report.results.folder import open_for_search
    from optimiser.search.crew import cores
    from optimiser.search.island import Budget
    from optimiser.search.problem import refuse_empty
    from optimiser.study.read import read_study

    refuse_resuming(plan=args.plan, resume=args.resume, as_json=args.json)
    study = read_study(Path(args.study))
    refuse_empty(study)
    if args.seed is not None:
        study = replace(study, seed=args.seed)
    ends = args.seconds is not None or args.evaluations is not None or args.until_flat is not None
    budget = Budget(args.evaluations, args.seconds if ends else DEFAULT_SECONDS)
    out = _folder(args)
    earlier = earlier_designs(args.start_from, out, resume=args.resume, storage=args.storage)
    asked = _Asked(budget, args.workers or cores(), args.until_flat, args.storage, earlier)
    if args.plan:
        return _plan(study, asked, as_json=args.json)
    with open_for_search(out, study, resume=args.resume, command=_command(args), share=args.islands) as folder:
        if folder.before and args.seed is None:
            study = replace(study, seed=folder.before.manifest.seed)
        interrupted = _search(study, folder, asked)
    return _tell(out, interrupted)


@dataclass(frozen=True)
class _Asked:
    """What a run is asked to do.

    `workers`: processes; `until_flat`: to end when the front is flat for so many seconds; `storage`: to take part in
    the campaign there; `earlier`: designs to begin with.
    """

    budget: "Budget"
    workers: int
    until_flat: float | None
    storage: str | None
    earlier: "Earlier | None"


def _plan(study: "Study", asked: "_Asked", *, as_json: bool) -> int:
    """Show what the search would do, and what would become of the designs that it begins with."""
    from optimiser.cli.planning import show_plan
    from optimiser.cli.starting import first_designs

    tools = _compiled(study)
    if asked.earlier is not None:
        first_designs(study, tools.problem, asked.earlier)
    return show_plan(study, tools, asked.budget, asked.workers, asked.until_flat, as_json=as_json)


def _folder(args: argparse.Namespace) -> "Path":
    from pathlib import Path

    share = "" if args.islands is None else f"-{args.islands.number + 1}"
    return Path(args.out) if args.out else Path("results") / f"{Path(args.study).stem}{share}"


def _search(study: "Study", folder: "ResultsFolder", asked: "_Asked") -> bool:
    """Search and save; whether it was interrupted."""
    from optimiser.cli.interrupts import Interrupts
    from optimiser.cli.progress import SearchProgress
    from optimiser.report.results.conclusions import conclusions
    from optimiser.search.flat import is_flat

    tools = _compiled(study)
    snapshot = start = _start(study, tools, folder, asked.earlier)
    saver = _Saver(study, folder)
    if len(start.population) and not start.evaluations:
        saver.save(start)  # whatever ends this run, a later one begins with the same designs
    with Interrupts() as interrupts:

        def stop() -> bool:
            flat = asked.until_flat is not None and is_flat(snapshot.growth, asked.until_flat)
            return interrupts.asked or flat

        with SearchProgress(asked.budget) as progress:
            try:
                for snapshot in _states(study, tools, folder, asked, start, stop):
                    progress.show(snapshot)
                    saver.offer(snapshot)
            finally:
                if snapshot is not start:
                    saver.save(snapshot)
        if not interrupts.asked:
            if not len(snapshot.ids):
                sys.stderr.write(f"{SEEKING_WHY}\n")
            saver.save(snapshot, conclusions(study, tools.parts, snapshot, lambda: interrupts.asked))
        return interrupts.asked


def _states(
    study: "Study",
    tools: "Tools",
    folder: "ResultsFolder",
    asked: "_Asked",
    start: "Snapshot",
    stop: "Callable[[], bool]",
) -> "Iterator[Snapshot]":
    """The states of the search, here or together with other machines."""
    from optimiser.cli.together import together
    from optimiser.search.explore import explored
    from optimiser.search.island import Settings

    if asked.storage is not None:
        return together(asked.storage, study, tools, folder, asked.budget, asked.workers, stop)
    return explored(
        study,
        tools,
        asked.budget,
        Settings(study.seed, islands=study.islands),
        start,
        asked.workers,
        stop,
        folder.share,
    )


def _start(study: "Study", tools: "Tools", folder: "ResultsFolder", earlier: "Earlier | None") -> "Snapshot":
    """What the search goes on from: all that the folder holds, or nothing yet but designs to begin with."""
    from optimiser.cli.starting import first_designs
    from optimiser.search.campaign import unbegun
    from optimiser.search.island import measured_anew

    problem, before = tools.problem, folder.before
    if before is None or earlier is not None:
        designs = None if earlier is None else first_designs(study, problem, earlier)
        return unbegun(len(problem.lower), problem.objectives, designs)
    found = before.snapshot
    same = before.manifest.versions == folder.versions and found.objectives.shape[1] == problem.objectives
    return found if same else measured_anew(problem, found)


def _compiled(study: "Study") -> "Tools":
    """What the search works with, its kernel compiled before any time counts; says so where that takes a while."""
    from time import monotonic

    from geometry.compiled import cache_folder, is_kept
    from optimiser.search.crew import tools_of

    if not is_kept():
        sys.stderr.write("compiling the kernel, once on this machine ...\n")
    began = monotonic()
    tools = tools_of(study)
    tools.problem.evaluate(tools.problem.start[None])
    took = monotonic() - began
    if took > NOTICEABLE:
        sys.stderr.write(f"compiled in {took:.1f} s, kept in {cache_folder()}\n")
    return tools


class _Saver:
    """Saves some of the snapshots that it is offered, so that saving takes a small share of the time."""

    def __init__(self, study: "Study", folder: "ResultsFolder") -> None:
        from optimiser.report.results.member_figures import MemberFigures

        self._folder, self._figures = folder, MemberFigures(study)
        self._next = 0.0

    def offer(self, snapshot: "Snapshot") -> None:
        """Save, if it is time to."""
        from time import monotonic

        if monotonic() >= self._next:
            began = monotonic()
            self.save(snapshot)
            ended = monotonic()
            self._next = ended + max(SAVE_EVERY, (ended - began) / SAVE_SHARE)

    def save(self, snapshot: "Snapshot", more: "Mapping[str, bytes] | None" = None) -> None:
        """Save, with more data files by what they hold."""
        self._folder.save(snapshot, self._figures.of(snapshot), more)


def _tell(out: "Path", interrupted: bool) -> int:
    """Show the head of the front, or the closest candidate, and what to type next."""
    from optimiser.report.front.closest import closest_lines
    from optimiser.report.front.frame import NothingFoundError, frame
    from optimiser.report.front.listing import held_between, selection, shown
    from optimiser.report.front.table import front_lines
    from optimiser.report.front.twins import folded
    from optimiser.report.results.store import read_store
    from optimiser.report.tables.screen import width

    store = read_store(out)
    try:
        front = frame(store)
    except NothingFoundError as error:
        _write([*closest_lines(store), "", str(error)])
        return INTERRUPTED if interrupted else error.exit_code
    like = folded(front, selection(front, None, None))
    _write(front_lines(front, shown(front, list(like), HEAD), None, front.members, width(), like))
    _write(
        [
            "",
            held_between(store),
            "",
            f"next: rockwright front {out}",
            f"      rockwright handoff {out} ID -o FILE.yaml",
        ]
    )
    return INTERRUPTED if interrupted else 0


def _write(lines: list[str]) -> None:
    sys.stdout.writelines(f"{line}\n" for line in lines)


def _command(args: argparse.Namespace) -> str:
    """The command line, as it is kept in the results."""
    import shlex

    from optimiser.search.shared.address import without_secrets

    words = ["rockwright", "search", args.study]
    words += [] if args.seconds is None else ["--for", f"{args.seconds:g}"]
    words += [] if args.evaluations is None else ["--evaluations", str(args.evaluations)]
    words += [] if args.seed is None else ["--seed", str(args.seed)]
    words += [] if args.until_flat is None else ["--until-flat", f"{args.until_flat:g}"]
    words += [] if args.workers is None else ["--workers", str(args.workers)]
    words += [] if args.islands is None else ["--islands", f"{args.islands.number + 1}/{args.islands.of}"]
    words += [] if args.storage is None else ["--storage", without_secrets(args.storage)]
    words += [] if args.start_from is None else ["--start-from", args.start_from]
    words += ["--out", args.out] if args.out else []
    return shlex.join([*words, *(["--resume"] if args.resume else [])])


def _count(text: str) -> int:
    """A whole number from 1, as argparse asks for it."""
    if not text.isdecimal() or not 0 < len(text) < 13 or not int(text):
        raise argparse.ArgumentTypeError(f"{text!r} is no whole number from 1")
    return int(text)


def _share(text: str) -> "Share":
    """K/N with K from 1 to N, as argparse asks for it."""
    from optimiser.search.share import Share

    number, slash, of = text.partition("/")
    known = number.isdecimal() and of.isdecimal() and len(text) < 13
    if not slash or not known or not 1 <= int(number) <= int(of):
        raise argparse.ArgumentTypeError(f"{text!r} is no share; write such as 17/100, from 1/100 to 100/100")
    return Share(int(number) - 1, int(of))


def _seed(text: str) -> int:
    """A whole number from 0, as argparse asks for it."""
    if not text.isdecimal() or len(text) > 18:
        raise argparse.ArgumentTypeError(f"{text!r} is no whole number from 0")
    return int(text)
