"""Points refined a second on test problems and on a study, and how they ended, all in one process.

    python tests/benchmarks/bench_refinement.py [STUDY ...] [--starts N]

Each problem's random starts are brought to what is held, then refined towards random weights with half of the
objectives shifted. Times are of this process, compiling left out; one core.
"""

import argparse
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from optimiser.search.parts import PartsProblem
from optimiser.search.problem import parts_problem_of
from optimiser.search.refinement import Refined, reach, refine
from optimiser.search.sqp import Ending
from optimiser.study.read import read_study
from tests.problems import bnh, dtlz2, osy, tnk
from tests.smooth import of_problem, ribbon, welded_beam

ROOT = Path(__file__).resolve().parents[2]
STARTS = 200
SHIFT = 0.1
"""Shifts are so much of each objective's range over the starts."""


@dataclass(frozen=True)
class Speed:
    """Of one phase: time [ms], evaluations and steps a start, and which share of the starts met what is held, and
    which share converged."""

    time: float
    evaluations: float
    steps: float
    met: float
    converged: float


def speeds(problem: PartsProblem, starts: int, seed: int = 1) -> tuple[Speed, Speed]:
    """Of reaching what is held, and of refining from there."""
    rng = np.random.default_rng(seed)
    x = rng.uniform(problem.lower, problem.upper, (starts, len(problem.lower)))
    reach(problem, x[:2])
    reached, first = _timed(lambda: reach(problem, x))
    span = np.maximum(np.ptp(reached.objectives, axis=0), 1e-9)
    weights = span * rng.uniform(0.1, 1.0, reached.objectives.shape)
    shifts = SHIFT * span * rng.normal(size=weights.shape) * (rng.random(weights.shape) < 0.5)
    _, second = _timed(lambda: refine(problem, reached.x, weights, shifts))
    return first, second


def problems(studies: list[Path]) -> dict[str, PartsProblem]:
    """The test problems and the studies, by name."""
    own = {
        "bnh": of_problem(bnh()),
        "osy": of_problem(osy()),
        "tnk": of_problem(tnk()),
        "dtlz2, 3 objectives": of_problem(dtlz2(3, 12)),
        "welded beam": welded_beam(),
        "ribbon, 40 variables": ribbon(1e-2, variables=40),
    }
    return {**own, **{path.stem: parts_problem_of(read_study(path)) for path in studies}}


def main(argv: list[str] | None = None) -> int:
    """Measure and print a table."""
    parser = argparse.ArgumentParser(description="points refined a second")
    parser.add_argument("studies", type=Path, nargs="*", default=[ROOT / "configs" / "front.yaml"])
    parser.add_argument("--starts", type=int, default=STARTS, help=f"random starts of each problem (default {STARTS})")
    args = parser.parse_args(argv)
    sys.stdout.write(f"{'':24s}{'ms a start':>12s}{'evaluations':>13s}{'steps':>7s}{'met':>7s}{'converged':>11s}\n")
    for name, problem in problems(args.studies).items():
        for phase, speed in zip(("reach", "refine"), speeds(problem, args.starts), strict=True):
            sys.stdout.write(
                f"{name if phase == 'reach' else '':24s}{phase:>6s}{speed.time:6.2f}{speed.evaluations:13.0f}"
                f"{speed.steps:7.1f}{speed.met:7.2f}{speed.converged:11.2f}\n"
            )
    return 0


def _timed(phase: Callable[[], Refined]) -> tuple[Refined, Speed]:
    start = time.process_time()
    refined = phase()
    elapsed = time.process_time() - start
    count = len(refined.x)
    met = np.asarray((refined.violations <= 0.0).all(axis=1))
    converged = float((refined.ending == Ending.CONVERGED).mean())
    speed = Speed(
        1e3 * elapsed / count, refined.evaluations / count, float(refined.steps.mean()), float(met.mean()), converged
    )
    return refined, speed


if __name__ == "__main__":
    raise SystemExit(main())
