"""What a goal on built axles costs a search: candidates a second with `roll.crosstalk.p99`, beside those without.

    python tests/benchmarks/bench_built.py [--turns N]

Both problems evaluate the same batches of the front study in turns, by the processor's time. Ends with exit code 1
where the search for built axles takes more than `AT_MOST` times as long.
"""

import argparse
import sys
import time
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from objectives.goals import Limit
from objectives.tolerance.build import Build, Spread
from optimiser.search.problem import problem_of
from optimiser.study.read import read_study

ROOT = Path(__file__).resolve().parents[2]
AT_MOST = 5.0
"""How many times as long a search may take for built axles."""
BATCH = 256
BUILD = Build(0.25, 0.05, 0.25, {}, Spread.ONE_SIGMA)


@dataclass(frozen=True)
class Costs:
    """Shortest time a candidate [s], as drawn and as built."""

    drawn: float
    built: float


def measure(turns: int, batch: int = BATCH) -> Costs:
    """The shortest of some turns at batches of candidates spread over the whole range."""
    drawn = read_study(ROOT / "configs" / "front.yaml")
    kept = tuple(goal for goal in drawn.goals if goal.figure != "roll.crosstalk")
    built = replace(
        drawn, goals=(*kept, Limit("roll.crosstalk.p99", 1.0, None)), fittings=replace(drawn.fittings, build=BUILD)
    )
    problems = [problem_of(study) for study in (drawn, built)]
    low, high = problems[0].lower, problems[0].upper
    points = low + (high - low) * np.random.default_rng(1).random((batch, len(low)))
    best = [np.inf, np.inf]
    for turn in range(turns + 1):
        for place, problem in enumerate(problems):
            begun = time.process_time()
            problem.evaluate(points)
            if turn:
                best[place] = min(best[place], time.process_time() - begun)
    return Costs(best[0] / batch, best[1] / batch)


def main() -> int:
    """Measure and tell; 1 where it costs too much."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--turns", type=int, default=40)
    costs = measure(parser.parse_args().turns)
    ratio = costs.built / costs.drawn
    sys.stdout.write(
        f"as drawn {1e6 * costs.drawn:.1f} us a candidate, as built {1e6 * costs.built:.1f} us: {ratio:.2f} times\n"
    )
    return int(ratio > AT_MOST)


if __name__ == "__main__":
    sys.exit(main())
