"""How much of the best-known front a search finds, and when: the house's own beside the usual ways.

    python tests/benchmarks/bench_search.py [--study front|thirteen|FILE] [--seconds 60] [--seeds 3] [--only ours,nsga2]

Every run has a process of its own, one after the other. Its time holds everything but start-up: imports, and in the
house's own the compiling of its kernel, which are stated. A run's front at a moment is the last that it had handed out
by then; peers, which have no archive, are credited with everything feasible that they met, at no cost. Fractions are
of the hypervolume of the best-known front: all runs at hand, and the kept front of a named study, together. The scalar
script serves only the named studies.

Ends with exit code 1 where the house's own search misses one of its targets that the runs at hand can show.
"""

import argparse
import os
import sys
import tempfile
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from statistics import median

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from geometry.arrays import Array
from objectives.goals import held, objectives
from optimiser.study.read import read_study
from optimiser.study.study import Study
from tests.benchmarks.one_run import KINDS, OURS, run_apart
from tests.benchmarks.studies import NAMED, study_file
from tests.benchmarks.traces import Trace, marks_within
from tests.benchmarks.yardstick import REFERENCE, read_best, yardstick_of

BEST_KNOWN = Path(__file__).resolve().parent / "best_known"
TARGETS = {5.0: 0.97, 10.0: 0.99}
"""What the house's own search must have reached by a moment [s], with the worst of its seeds."""
HEAD_START, PEERS_END = 2.0, 60.0
"""What the best peer has at its end [s], the house's own must have so early [s], with the worst of its seeds."""

Runs = Mapping[str, Sequence[Trace]]
"""The runs of each kind, one a seed."""


@dataclass(frozen=True)
class Score:
    """One kind of search: `fractions` of the best-known hypervolume by moment [s], each seed's; candidates a second;
    start-up [s] of the first run, which compiles where anything is to be compiled, and the median of the others; cores'
    worth of processor time that the runs got."""

    fractions: Mapping[float, Sequence[float]]
    speed: float
    first_start: float
    start: float
    cores: float

    def median(self, mark: float) -> float:
        """The middle seed's fraction at a moment."""
        return median(self.fractions[mark])

    def worst(self, mark: float) -> float:
        """The worst seed's fraction at a moment."""
        return min(self.fractions[mark])


def compare(study: Study, runs: Runs, seconds: float, kept: Array) -> dict[str, Score]:
    """The score of each kind against all runs and the `kept` front (N, M) together."""
    marks = marks_within(seconds)
    yardstick = yardstick_of([kept, *(front for traces in runs.values() for one in traces for front in one.fronts)])
    scores = {}
    for kind, traces in runs.items():
        by_seed = [yardstick.fractions(one.at(mark) for mark in marks) for one in traces]
        starts = [one.start_up for one in traces]
        scores[kind] = Score(
            dict(zip(marks, zip(*by_seed, strict=True), strict=True)),
            median(one.speed for one in traces),
            starts[0],
            median(starts[1:] or starts),
            median(one.cores for one in traces),
        )
    return scores


def kept_front(name: str, study: Study, folder: Path = BEST_KNOWN) -> Array:
    """The best-known front (N, M) that a folder keeps of a named study; none of another."""
    path = folder / f"{name if name in NAMED else 'none'}.csv"
    return read_best(path, [goal.figure for goal in objectives(study.goals)], study.fingerprint)


def table(scores: Mapping[str, Score]) -> Iterator[str]:
    """The scores as lines, two for each kind."""
    marks = next(iter(scores.values())).fractions
    head = "".join(f"{f'{mark:g} s':>8s}" for mark in marks)
    yield f"{'':8s} {'':6s}{head}  candidates/s  cores  start-up: first, later"
    for kind, score in scores.items():
        middle = "".join(f"{score.median(mark):8.3f}" for mark in marks)
        worst = "".join(f"{score.worst(mark):8.3f}" for mark in marks)
        pace = f"{score.speed:12.0f}  {score.cores:5.2f}"
        yield f"{kind:8s} median{middle}  {pace}  {score.first_start:12.1f} s {score.start:5.1f} s"
        yield f"{'':8s} worst {worst}"


def verdicts(scores: Mapping[str, Score]) -> Iterator[tuple[bool, str]]:
    """Whether each target that the scores can show is reached, and a line that says so."""
    if OURS not in scores:
        return
    own = scores[OURS]
    asked = [(mark, least, f"at least {least:g}") for mark, least in TARGETS.items()]
    ends = {kind: one.median(PEERS_END) for kind, one in scores.items() if kind != OURS and PEERS_END in one.fractions}
    if ends:
        best = max(ends, key=lambda kind: ends[kind])
        asked.append((HEAD_START, ends[best], f"{best}'s {ends[best]:.3f} of {PEERS_END:g} s"))
    for mark, least, words in asked:
        if mark in own.fractions:
            reached = own.worst(mark) >= least
            yield (
                reached,
                f"{'reached' if reached else 'MISSED '} worst seed at {mark:g} s {own.worst(mark):.3f}: {words}",
            )


def run_all(path: Path, kinds: Sequence[str], seeds: int, seconds: float, folder: Path) -> dict[str, list[Trace]]:
    """Runs of every kind with seeds from 1, the kinds in turns, so that a noisy machine troubles all alike."""
    runs: dict[str, list[Trace]] = {kind: [] for kind in kinds}
    for seed in range(1, seeds + 1):
        for kind in kinds:
            runs[kind].append(run_apart(path, kind, seed, seconds, folder))
    return runs


def main(argv: list[str] | None = None) -> int:
    """Run, print the table, and say by the exit code whether the targets are reached."""
    args = _parser().parse_args(argv)
    with tempfile.TemporaryDirectory() as temporary:
        folder = args.keep or Path(temporary)
        folder.mkdir(parents=True, exist_ok=True)
        path = study_file(args.study, folder)
        study = read_study(path)
        if not objectives(study.goals):
            sys.stderr.write(f"{path} has no objective: there is no front to compare\n")
            return 2
        kinds = [kind for kind in args.only if kind != "scalar" or args.study in NAMED]
        kept = kept_front(args.study, study)
        _say(f"{study.name}: {len(study.variables)} variables, {len(objectives(study.goals))} objectives, ")
        _say(
            f"{len(held(study.goals))} held goals; {os.cpu_count()} cores, load {os.getloadavg()[0]:.1f} at the start\n"
        )
        scores = compare(study, run_all(path, kinds, args.seeds, args.seconds, folder), args.seconds, kept)
    _say(
        f"fraction of the best-known hypervolume ({len(kept)} kept members and these runs; reference {REFERENCE:g} of "
    )
    _say(f"ideal to nadir), {args.seeds} seeds; load {os.getloadavg()[0]:.1f} at the end\n")
    _say("".join(f"{line}\n" for line in table(scores)))
    found = list(verdicts(scores))
    _say("".join(f"{line}\n" for _, line in found))
    return 0 if all(reached for reached, _ in found) else 1


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(description="how much of the best-known front a search finds, and when")
    parser.add_argument("--study", default="front", help="front, thirteen, or any study file (default front)")
    parser.add_argument("--seconds", type=float, default=60.0, help="length of each run (default 60)")
    parser.add_argument("--seeds", type=int, default=3, help="runs of each kind (default 3)")
    parser.add_argument("--only", type=_kinds, default=KINDS, help=f"some of {','.join(KINDS)} (default all)")
    parser.add_argument("--keep", type=Path, help="a folder that keeps the runs, for best_known/renew.py")
    return parser


def _kinds(text: str) -> tuple[str, ...]:
    """Kinds of search, as argparse asks for them."""
    kinds = tuple(text.split(","))
    if not set(kinds) <= set(KINDS):
        raise argparse.ArgumentTypeError(f"{text!r}: name some of {', '.join(KINDS)}, with commas between")
    return kinds


def _say(text: str) -> None:
    sys.stdout.write(text)
    sys.stdout.flush()


if __name__ == "__main__":
    raise SystemExit(main())
