"""One search in a process of its own, so that memory and caches are its own too; its trace goes into a file.

python tests/benchmarks/one_run.py STUDY KIND SEED SECONDS TRACE.npz --since UNIX_TIME
"""

import argparse
import os
import subprocess
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from geometry.compiled import FOLDER_VARIABLE
from tests.benchmarks.studies import ROOT
from tests.benchmarks.traces import Trace, load

OURS = "ours"
KINDS = (OURS, "nsga2", "nsga3", "scalar")
PATIENCE = 120.0
"""A run that takes so much longer than it was given [s] is ended: more than any compiling takes."""


class OverTimeError(RuntimeError):
    """A run that did not end in time."""


def run_apart(study: Path, kind: str, seed: int, seconds: float, folder: Path) -> Trace:
    """Search in a new process. Compiled code is kept in `folder`, so that its first search there compiles.

    Raises RuntimeError with what the process said where it failed, OverTimeError where it did not end.
    """
    trace = folder / f"{study.stem}-{kind}-{seed}.npz"
    line = [sys.executable, __file__, str(study.resolve()), kind, str(seed), str(seconds), str(trace.resolve())]
    environment = {**os.environ, FOLDER_VARIABLE: str((folder / "compiled").resolve())}
    line += ["--since", f"{time.time():.6f}"]
    limit = seconds + PATIENCE
    try:
        done = subprocess.run(
            line, cwd=ROOT, env=environment, capture_output=True, text=True, check=False, timeout=limit
        )
    except subprocess.TimeoutExpired as error:
        raise OverTimeError(f"{kind} with seed {seed} on {study} had not ended after {limit:g} s") from error
    if done.returncode:
        raise RuntimeError(f"the run of {kind} with seed {seed} on {study} failed:\n{done.stderr}")
    return load(trace)


def main(argv: list[str] | None = None) -> int:
    """Search, and write the trace."""
    parser = argparse.ArgumentParser(description="one search in a process of its own")
    parser.add_argument("study", type=Path)
    parser.add_argument("kind", choices=KINDS)
    parser.add_argument("seed", type=int)
    parser.add_argument("seconds", type=float)
    parser.add_argument("trace", type=Path)
    parser.add_argument("--since", type=float, required=True, help="when the process was asked for: UNIX time")
    args = parser.parse_args(argv)
    _run(args.study, args.kind, args.seed, args.seconds, args.since).save(args.trace)
    return 0


def _run(path: Path, kind: str, seed: int, seconds: float, since: float) -> Trace:
    """Only what the run itself needs is imported, so that its start-up is its own."""
    from optimiser.study.read import read_study

    study = read_study(path)

    def start_up() -> float:
        return time.time() - since

    if kind == OURS:
        from tests.benchmarks.ours import run_ours

        return run_ours(study, seed, seconds, start_up)
    from tests.benchmarks.peers import run_peer

    return run_peer(kind, study, seed, seconds, start_up)


if __name__ == "__main__":
    raise SystemExit(main())
