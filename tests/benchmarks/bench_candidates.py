"""Candidates a second: the batch evaluator on the front study's goal figures, beside a scalar root-finding script; and
uprights a second where every candidate has links of its own, numpy beside compiled.

    python tests/benchmarks/bench_candidates.py [--seconds S]

Both of a pair are timed in turns, so that a noisy machine troubles both alike. Ends with exit code 1 where the
evaluator is not at least `AT_LEAST` times as fast as the script, or the compiled uprights `UPRIGHTS_AT_LEAST` times as
fast as numpy's, or where a pair differs by more than `NEAR`.
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
from geometry.upright import trace_upright
from geometry.upright_compiled import trace_upright_compiled
from objectives.evaluate import Evaluator
from objectives.survey import plan_states
from optimiser.study.read import read_study
from optimiser.study.study import Study
from optimiser.study.variables import base_point, candidates
from tests.batches import scatter
from tests.benchmarks.scalar_twin import WheelTable, front_figures, wheel_table

ROOT = Path(__file__).resolve().parents[2]
AT_LEAST = 50.0
"""How many times the scalar script's speed the evaluator must reach."""
UPRIGHTS_AT_LEAST = 8.0
"""How many times numpy's speed the compiled uprights must reach."""
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


@dataclass(frozen=True)
class UprightSpeeds:
    """Uprights a second through the states of the front study, and the largest difference [mm]."""

    numpy: float
    compiled: float
    difference: float

    @property
    def ratio(self) -> float:
        """The compiled speed over numpy's."""
        return self.compiled / self.numpy


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


def measure_uprights(seconds: float, size: int = 256, turns: int = TURNS) -> UprightSpeeds:
    """Time both ways of following uprights for about `seconds` in all, on a batch whose links all differ."""
    study = read_study(ROOT / "configs" / "front.yaml")
    axle, tree = scatter(study.axle, (size,), links=True), plan_states(study.travel).tree
    plain, compiled = (trace(axle.wheel, axle.links, tree).centre for trace in (trace_upright, trace_upright_compiled))

    def by_numpy() -> int:
        trace_upright(axle.wheel, axle.links, tree)
        return size

    def by_compiled() -> int:
        trace_upright_compiled(axle.wheel, axle.links, tree)
        return size

    share = seconds / (2 * turns)
    speeds = np.median([(speed(by_numpy, share), speed(by_compiled, share)) for _ in range(turns)], axis=0)
    return UprightSpeeds(float(speeds[0]), float(speeds[1]), float(np.abs(compiled - plain).max()))


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
    seconds = parser.parse_args(argv).seconds
    speeds, uprights = measure(0.7 * seconds), measure_uprights(0.3 * seconds)
    for size, value in speeds.batch.items():
        sys.stdout.write(f"batch of {size:5d}   {value:10.0f} candidates/s\n")
    sys.stdout.write(f"scalar script    {speeds.scalar:10.0f} candidates/s\n")
    sys.stdout.write(f"ratio            {speeds.ratio:10.1f} (at least {AT_LEAST:.0f})\n")
    sys.stdout.write(f"difference       {speeds.difference:10.1e} (at most {NEAR:.0e})\n")
    sys.stdout.write(f"uprights, numpy  {uprights.numpy:10.0f} candidates/s, each with its own links\n")
    sys.stdout.write(f"uprights, compiled {uprights.compiled:8.0f} candidates/s\n")
    sys.stdout.write(f"ratio            {uprights.ratio:10.1f} (at least {UPRIGHTS_AT_LEAST:.0f})\n")
    sys.stdout.write(f"difference [mm]  {uprights.difference:10.1e} (at most {NEAR:.0e})\n")
    fast = speeds.ratio >= AT_LEAST and uprights.ratio >= UPRIGHTS_AT_LEAST
    return 0 if fast and max(speeds.difference, uprights.difference) <= NEAR else 1


if __name__ == "__main__":
    raise SystemExit(main())
