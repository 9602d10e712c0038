"""Renew the best-known fronts that searches are measured against: merge what long runs find with what is kept.

    python tests/benchmarks/best_known/renew.py [--study front|thirteen] [--seconds 300] [--seeds 3] [--only ours,nsga3]
    python tests/benchmarks/best_known/renew.py --study front --runs FOLDER

The first line makes the runs; the second takes those that `bench_search.py --keep FOLDER` kept. A kept front never
gets worse: thinning may lose a thousandth of what was won, but never falls below the hypervolume that was kept before.
A front of another version of the study is refused: remove the file to begin anew.
"""

import argparse
import sys
import tempfile
from collections.abc import Sequence
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[3]))

from geometry.arrays import Array
from objectives.goals import objectives
from optimiser.study.read import read_study
from tests.benchmarks.bench_search import kept_front, run_all
from tests.benchmarks.one_run import KINDS
from tests.benchmarks.studies import NAMED, study_file
from tests.benchmarks.traces import load
from tests.benchmarks.yardstick import Yardstick, write_best, yardstick_of

HERE = Path(__file__).resolve().parent


def renewed(kept: Array, fronts: Sequence[Array]) -> tuple[Yardstick, Array]:
    """The yardstick that a kept front (N, M) and new ones come to, and the part of it to be kept from now on."""
    yardstick = yardstick_of([kept, *fronts])
    return yardstick, yardstick.thinned(least=yardstick.volume(kept))


def main(argv: list[str] | None = None) -> int:
    """Renew the file of one study, and say what came of it."""
    parser = argparse.ArgumentParser(description="renew a best-known front")
    parser.add_argument("--study", choices=NAMED, default="front")
    parser.add_argument("--seconds", type=float, default=300.0, help="length of each run (default 300)")
    parser.add_argument("--seeds", type=int, default=3, help="runs of each kind (default 3)")
    parser.add_argument("--only", default="ours,nsga2,nsga3", help=f"some of {','.join(KINDS)}")
    parser.add_argument("--runs", type=Path, help="take the runs that this folder keeps instead of making any")
    parser.add_argument("--out", type=Path, default=HERE, help=argparse.SUPPRESS)
    args = parser.parse_args(argv)
    with tempfile.TemporaryDirectory() as temporary:
        path = study_file(args.study, Path(temporary))
        study = read_study(path)
        kept = kept_front(args.study, study, args.out)
        if args.runs is None:
            run_all(path, args.only.split(","), args.seeds, args.seconds, Path(temporary))
        traces = [load(one) for one in sorted((args.runs or Path(temporary)).glob(f"{path.stem}-*.npz"))]
    yardstick, front = renewed(kept, [front for one in traces for front in one.fronts])
    names = [goal.figure for goal in objectives(study.goals)]
    write_best(args.out / f"{args.study}.csv", yardstick, front, names, study.fingerprint)
    volumes = " -> ".join(f"{yardstick.volume(one):.5f}" for one in (kept, front))
    sys.stdout.write(f"{args.study}: {len(traces)} runs; {len(kept)} -> {len(front)} members; hypervolume {volumes}, ")
    sys.stdout.write(f"{yardstick.volume(yardstick.best):.5f} before thinning ({len(yardstick.best)} members)\n")
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
