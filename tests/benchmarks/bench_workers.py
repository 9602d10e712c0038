"""What more workers bring: candidates a second and the front at equal time, and where more of them stop paying.

python tests/benchmarks/bench_workers.py [--study STUDY] [--seconds S] [--workers 1,2]

The first table is measured: one search for each number of workers, for the same time, their start included. The
hypervolumes are shares of what all of them together have found.

The second is a model fitted to times measured here: what an island takes a candidate, what it takes to pass an
island's state to its worker and back, and to put an epoch together and save it. An epoch of I islands of Q candidates
takes W workers ceil(I / W) Q t + I (pass + merge) + save. Of machines that share a campaign in a database, W with a
worker each, every one reads every island as text, and the database takes one island after the other: Q t + write +
I (store + read + merge) + save. It says how many of the candidates a second that W workers
could do in the best case they do, for epochs of as many islands as workers (`search: {islands: W}`), of the largest
size; the number of workers from which less than half of them is of use comes last.
"""

import argparse
import pickle
import sys
import time
from bisect import bisect_left
from collections.abc import Callable
from dataclasses import dataclass, replace
from math import ceil
from pathlib import Path
from tempfile import TemporaryDirectory

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from optimiser.report.results.folder import open_for_search
from optimiser.report.results.member_figures import MemberFigures
from optimiser.search.campaign import unbegun
from optimiser.search.crew import Tools, tools_of
from optimiser.search.explore import explored
from optimiser.search.island import Budget, Settings
from optimiser.search.merging import merged
from optimiser.search.plan import LARGEST
from optimiser.search.shared.text import found_of, found_text
from optimiser.search.snapshot import Epoch, Snapshot
from optimiser.search.volume import reference_of, volume
from optimiser.study.read import read_study
from optimiser.study.study import Study

ROOT = Path(__file__).resolve().parents[2]
CROWDS = (1, 2, 10, 100, 1000)
STORED = 0.05
"""What a database takes to keep one island [s]: 20 a second, measured once with eight processes and PostgreSQL on two
cores that they shared."""


@dataclass(frozen=True)
class Costs:
    """Times [s]: of a candidate; of an island, to pass its state there and back, merge it, write and read it as
    text; of a save."""

    candidate: float
    passing: float
    merging: float
    writing: float
    reading: float
    saving: float


def main(argv: list[str] | None = None) -> int:
    """Measure, and print both tables."""
    parser = argparse.ArgumentParser(description="what more workers bring")
    parser.add_argument("--study", type=Path, default=ROOT / "configs" / "front.yaml")
    parser.add_argument("--seconds", type=float, default=20.0)
    parser.add_argument("--workers", default="1,2")
    args = parser.parse_args(argv)
    study = read_study(args.study)
    tools = tools_of(study)
    tools.problem.evaluate(tools.problem.start[None])
    ends = {int(count): searched(study, tools, int(count), args.seconds) for count in args.workers.split(",")}
    sys.stdout.write(
        "\n".join([*measured_lines(ends, args.seconds), "", *model_lines(costs(study, tools, ends))]) + "\n"
    )
    return 0


def searched(study: Study, tools: Tools, workers: int, seconds: float) -> Snapshot:
    """The end of a search of so much time."""
    begin = unbegun(len(tools.problem.lower), tools.problem.objectives)
    *_, end = explored(study, tools, Budget(seconds=seconds), Settings(study.seed), begin, workers)
    return end


def measured_lines(ends: dict[int, Snapshot], seconds: float) -> list[str]:
    """The first table."""
    reference = reference_of(np.concatenate([end.objectives for end in ends.values()]))
    union = volume(np.concatenate([end.objectives for end in ends.values()]), reference)
    lines = [f"{seconds:g} s each", "workers  candidates/s  hypervolume  members"]
    for count, end in ends.items():
        share = volume(end.objectives, reference) / union
        lines.append(f"{count:7d}  {end.evaluations / end.seconds:12.0f}  {share:11.4f}  {len(end.ids):7d}")
    return lines


def costs(study: Study, tools: Tools, ends: dict[int, Snapshot]) -> Costs:
    """The times that the model goes by, measured on the largest front found."""
    alone, end = ends[min(ends)], max(ends.values(), key=lambda one: len(one.ids))
    state = replace(end, growth=end.growth[-1:], epoch=None)
    epoch = Epoch(state, (1,) * 8, (1,) * 8, (0,) * 8, (replace(state, next_id=state.next_id + 1),) * 8)
    found = replace(state, ids=state.ids + state.next_id)  # as much as an island can find: all members are new
    text = found_text(state, found)
    with TemporaryDirectory() as folder, open_for_search(Path(folder) / "r", study) as results:
        figures = MemberFigures(study)
        figures.of(state)
        saving = timed(lambda: results.save(state, figures.of(state)))
    return Costs(
        candidate=min(ends) * alone.seconds / alone.evaluations,
        passing=2.0 * timed(lambda: pickle.loads(pickle.dumps(state))),  # noqa: S301 - what a pipe does with its own
        merging=timed(lambda: merged(epoch, len(state.ids))) / 8.0,
        writing=timed(lambda: found_text(state, found)),
        reading=timed(lambda: found_of(state, text)),
        saving=saving,
    )


def timed(work: Callable[[], object]) -> float:
    """The shortest of five times [s]."""
    times = []
    for _ in range(5):
        began = time.perf_counter()
        work()
        times.append(time.perf_counter() - began)
    return min(times)


def model_lines(known: Costs) -> list[str]:
    """The second table."""
    lines = [
        f"a candidate {1e6 * known.candidate:.1f} us; an island's state there and back {1e3 * known.passing:.1f} ms, "
        f"merged {1e3 * known.merging:.1f} ms; a save {1e3 * known.saving:.0f} ms",
        f"as text written {1e3 * known.writing:.0f} ms, read {1e3 * known.reading:.0f} ms",
        "workers  epoch [s]  candidates/s  of the best  shared by machines",
    ]
    for count in CROWDS:
        whole = epoch_time(known, count, count)
        one, many = best_share(known, whole), best_share(known, shared_time(known, count))
        lines.append(f"{count:7d}  {whole:9.1f}  {count * LARGEST / whole:12.0f}  {one:11.1%}  {many:18.1%}")
    alone = first(lambda count: best_share(known, epoch_time(known, count, count)) < 0.5)
    shared = first(lambda count: best_share(known, shared_time(known, count)) < 0.5)
    return [*lines, f"less than half of the best from {alone} workers on, from {shared} machines on"]


def first(holds: Callable[[int], bool]) -> int:
    """The first of the numbers from 1 to a million for which something holds, that holds for all above it too."""
    return bisect_left(range(1, 1_000_000), True, key=holds) + 1


def epoch_time(known: Costs, islands: int, workers: int) -> float:
    """How long [s] an epoch of the largest islands takes."""
    return (
        ceil(islands / workers) * LARGEST * known.candidate + islands * (known.passing + known.merging) + known.saving
    )


def shared_time(known: Costs, machines: int) -> float:
    """How long [s] an epoch of as many of the largest islands takes machines that share it in a database."""
    each = STORED + known.reading + known.merging
    return LARGEST * known.candidate + known.writing + machines * each + known.saving


def best_share(known: Costs, time: float) -> float:
    """What workers get done in an epoch of so much time [s], as a share of what they would with nothing beside it."""
    return LARGEST * known.candidate / time


if __name__ == "__main__":
    raise SystemExit(main())
