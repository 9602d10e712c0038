"""Candidates a second: the batch evaluator on the front study's goal figures, beside a scalar root-finding script.

    python tests/benchmarks/bench_candidates.py [--seconds S]

Both are timed in turns, so that a noisy machine troubles both alike. Ends with exit code 1 where the evaluator is not
at least `AT_LEAST` times as fast, or where the two differ by more than `NEAR`.
"""

import argparse
import sys
import time
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from statistics import median

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from geometry.arrays import Array
from objectives.evaluate import Evaluator
from optimiser.study.read import read_study
from optimiser.study.study import Study
from optimiser.study.variables import base_point, candidates
from tests.benchmarks.scalar_twin import WheelTable, front_figures, wheel_table

ROOT = Path(__file__).resolve().parents[2]
AT_LEAST = 50.0
"""How many times the scalar script's speed the evaluator must reach."""
NEAR = 1e-9
"""Figures of both agree to this, relative to the figure or to 1, whichever is larger."""
BATCHES = (32, 200, 1000)
TURNS = 9
"""Turns that the time given is shared among; the median of each is reported."""


@dataclass(frozen=True)
class Speeds:
    """Candidates a second of the evaluator by batch size and of the scalar script, and the largest difference."""

    batch: dict[int, float]
    scalar: float
    difference: float

    @property
    def ratio(self) -> float:
        """The evaluator's best speed over the scalar script's."""
        return max(self.batch.values()) / self.scalar


def measure(seconds: float, sizes: tuple[int, ...] = BATCHES, turns: int = TURNS) -> Speeds:
    """Time both for about `seconds` in all, and compare their figures on twelve candidates."""
    study = read_study(ROOT / "configs" / "front.yaml")
    names = tuple(goal.figure for goal in study.goals)
    table = wheel_table(study.axle, study.travel)
    evaluator = Evaluator(study.travel, names)
    points = near_base(study, max(*sizes, 12))
    difference = largest_difference(study, table, points[:12])

    def batch(size: int) -> Callable[[], int]:
        def run() -> int:
            evaluator.evaluate(candidates(study, points[:size]))
            return size

        return run

    def scalar() -> int:
        front_figures(table, candidates(study, points[0]), study.travel)
        return 1

    runs = {**{size: batch(size) for size in sizes}, 0: scalar}
    share = seconds / (turns * len(runs))
    speeds: dict[int, list[float]] = {size: [] for size in runs}
    for _ in range(turns):
        for size, run in runs.items():
            speeds[size].append(speed(run, share))
    middle = {size: median(values) for size, values in speeds.items()}
    return Speeds({size: middle[size] for size in sizes}, middle[0], difference)


def near_base(study: Study, count: int) -> Array:
    """Candidates within 3 % of their bounds around the study's own geometry, so that both have all figures to give."""
    low, high = (np.array([getattr(one, end) for one in study.variables]) for end in ("low", "high"))
    scatter = np.random.default_rng(7).uniform(-0.03, 0.03, (count, len(low)))
    return np.asarray(base_point(study) + scatter * (high - low))


def largest_difference(study: Study, table: WheelTable, points: Array) -> float:
    """Largest difference of any goal figure between both, relative to it or to 1; infinite where one is null."""
    names = tuple(goal.figure for goal in study.goals)
    values = Evaluator(study.travel, names).evaluate(candidates(study, points)).values
    worst = 0.0
    for row, point in enumerate(points):
        twin = front_figures(table, candidates(study, point), study.travel)
        for name in names:
            miss = abs(float(values[name][row]) - twin[name]) / max(1.0, abs(twin[name]))
            worst = max(worst, miss) if np.isfinite(miss) else np.inf
    return worst


def speed(run: Callable[[], int], seconds: float) -> float:
    """Candidates a second over at least `seconds`."""
    done, start = 0, time.perf_counter()
    while (elapsed := time.perf_counter() - start) < seconds or not done:
        done += run()
    return done / elapsed


def main(argv: list[str] | None = None) -> int:
    """Measure, print, and say by the exit code whether the evaluator is fast and right enough."""
    parser = argparse.ArgumentParser(description="candidates a second on the front study's goal figures")
    parser.add_argument("--seconds", type=float, default=20.0, help="time for all measurements (default 20)")
    speeds = measure(parser.parse_args(argv).seconds)
    for size, value in speeds.batch.items():
        sys.stdout.write(f"batch of {size:5d}   {value:10.0f} candidates/s\n")
    sys.stdout.write(f"scalar script    {speeds.scalar:10.0f} candidates/s\n")
    sys.stdout.write(f"ratio            {speeds.ratio:10.1f} (at least {AT_LEAST:.0f})\n")
    sys.stdout.write(f"difference       {speeds.difference:10.1e} (at most {NEAR:.0e})\n")
    return 0 if speeds.ratio >= AT_LEAST and speeds.difference <= NEAR else 1


if __name__ == "__main__":
    raise SystemExit(main())
