"""What goals on built axles cost a search: time a candidate with each of several, beside that without any.

    python tests/benchmarks/bench_built.py [--turns N] [--batch N]

All problems evaluate the same batches of the front study in turns, by the processor's time; of each the shortest turn
counts. Ends with exit code 1 where a search for built axles takes more than `AT_MOST` times as long as one without.
"""

import argparse
import sys
import time
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from objectives.goals import Best, Goal, Limit
from objectives.tolerance.build import Build, Spread
from optimiser.search.problem import Problem, problem_of
from optimiser.study.read import read_study
from optimiser.study.study import Study

ROOT = Path(__file__).resolve().parents[2]
AT_MOST = 5.0
"""How many times as long a search may take for built axles."""
BATCH = 256
BUILD = Build(0.25, 0.05, 0.25, {}, Spread.ONE_SIGMA)
GOALS: tuple[tuple[Goal, ...], ...] = (
    (Best("heave.motion_ratio.rss", "minimise"),),
    (Best("roll.motion_ratio.sensitivity", "minimise"),),
    (Limit("heave.progressivity.p01", None, 5.0),),
    (Limit("roll.coupling.worst", 0.05, None),),
    (Limit("heave.length_static.p99", 450.0, None),),
    (Limit("roll.crosstalk.p99", 1.0, None),),
    (Best("roll.crosstalk.rss", "minimise"),),
    (Limit("roll.left_right_split.p99", 3.0, None),),
    (Limit("heave.ratio_spread.p99", 30.0, None),),
    (Best("heave.ratio_spread.worst", "minimise"),),
    (Limit("heave.ratio_drift.p99", 5.0, None),),
    (Limit("roll.crosstalk.p99", 1.0, None), Limit("heave.progressivity.p01", None, 5.0)),
)
"""What is asked of built axles, one set after the other."""


@dataclass(frozen=True)
class Costs:
    """Shortest time a candidate [s]: of the study as it is, and with each set of goals on built axles besides."""

    drawn: float
    built: Mapping[str, float]


def measure(turns: int, batch: int = BATCH, goals: tuple[tuple[Goal, ...], ...] = GOALS) -> Costs:
    """The shortest of some turns at batches of candidates spread over the whole range."""
    drawn = read_study(ROOT / "configs" / "front.yaml")
    problems = {" + ".join(goal.figure for goal in some): _problem(drawn, some) for some in ((), *goals)}
    low, high = problems[""].lower, problems[""].upper
    points = low + (high - low) * np.random.default_rng(1).random((batch, len(low)))
    best = dict.fromkeys(problems, np.inf)
    for turn in range(turns + 1):
        for name, problem in problems.items():
            begun = time.process_time()
            problem.evaluate(points)
            if turn:
                best[name] = min(best[name], time.process_time() - begun)
    costs = {name: seconds / batch for name, seconds in best.items()}
    return Costs(costs.pop(""), costs)


def main() -> int:
    """Measure and tell; 1 where any costs too much."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--turns", type=int, default=40)
    parser.add_argument("--batch", type=int, default=BATCH, help="candidates in a batch")
    given = parser.parse_args()
    costs = measure(given.turns, given.batch)
    sys.stdout.write(f"{1e6 * costs.drawn:7.1f} us a candidate, as drawn\n")
    for name, seconds in costs.built.items():
        sys.stdout.write(f"{1e6 * seconds:7.1f} us, {seconds / costs.drawn:5.2f} times, with {name}\n")
    return int(max(costs.built.values()) > AT_MOST * costs.drawn)


def _problem(drawn: Study, goals: tuple[Goal, ...]) -> Problem:
    return problem_of(replace(drawn, goals=(*drawn.goals, *goals), fittings=replace(drawn.fittings, build=BUILD)))


if __name__ == "__main__":
    sys.exit(main())
